"""The command: figure names, JSON, text, exit codes. The numbers themselves are tested with the calculations."""

from __future__ import annotations

import argparse
import json
from typing import Any

import pytest

from loomleaf import reckon
from loomleaf.reckon import TOPICS, run

# A good command of every topic and the figures it must give, in order.
GOOD: dict[str, tuple[list[str], list[str]]] = {
    "conductor": (
        ["--size", "0.75 mm2"],
        ["area_mm2", "area_cmil", "resistance_mohm_per_m", "outside_mm", "limit_a"],
    ),
    "drop": (
        ["--size", "18 AWG", "--length-m", "2", "--current-a", "5"],
        ["loop_mohm", "drop_v", "drop_percent"],
    ),
    "fuse": (
        ["--current-a", "5", "--size", "1 mm2"],
        ["minimum_a", "limit_a", "rating_a", "colour"],
    ),
    "short": (
        ["--size", "1 mm2", "--length-m", "2", "--fuse-a", "10"],
        ["prospective_a", "multiple", "clearing_s", "let_through_a2s", "withstand_a2s", "protected"],
    ),
    "sleeve": (
        ["--over-mm", "4", "--grip-mm", "2", "--bare-mm", "12", "--lined"],
        ["item", "expanded_mm", "recovered_mm", "cut_mm"],
    ),
    "joint": (
        ["--tails", "0.75 mm2, 18 AWG, 1600 cmil"],
        ["total_mm2", "total_cmil", "equivalent_awg", "method", "item", "strip_mm", "pull_n"],
    ),
    "bundle": (["--wires", "0.75 mm2*12, 20 AWG*8"], ["diameter_mm", "fill"]),
    "tape": (["--bundle-mm", "10", "--length-mm", "300", "--width-mm", "19"], ["turns", "tape_mm"]),
    "standby": (["--draw-ma", "50", "--capacity-ah", "60"], ["days"]),
    "speakers": (
        ["--load", "(4 + 4) || 8", "--power-w", "50", "--rated-ohm", "4", "--minimum-ohm", "4"],
        ["impedance_ohm", "lowest_ohm", "dc_low_ohm", "dc_high_ohm", "power_w"],
    ),
    "level": (
        ["--power-w", "50", "--impedance-ohm", "4", "--line-v", "2", "--sensitivity-v", "0.5"],
        ["volts_rms", "power_w", "volts_peak", "gain_db", "margin_db"],
    ),
    "ladder": (
        ["--buttons", "up=330, down=820", "--pull-up-ohm", "1000", "--supply-v", "5"],
        [
            *(f"button.{name}.{what}" for name in ("up", "down")
              for what in ("volts", "low", "high", "meter_low_ohm", "meter_high_ohm")),
            "smallest_gap_v",
            "clash",
        ],
    ),
}  # fmt: skip


def figures(capsys: pytest.CaptureFixture[str], *argv: str, code: int = 0) -> dict[str, Any]:
    assert run([*argv, "--json"]) == code
    read: dict[str, Any] = json.loads(capsys.readouterr().out)
    assert list(read) == ["topic", "figures", "problems"] and read["topic"] == argv[0]
    return read


def test_every_topic_has_a_case() -> None:
    assert set(GOOD) == set(TOPICS)


@pytest.mark.parametrize("topic", TOPICS)
def test_figures_of_every_topic(topic: str, capsys: pytest.CaptureFixture[str]) -> None:
    options, names = GOOD[topic]
    read = figures(capsys, topic, *options)
    assert list(read["figures"]) == names and read["problems"] == []
    for figure in read["figures"].values():
        assert list(figure) == ["value", "unit", "working", "sources", "known"]
        assert figure["working"] and figure["known"] in {"published", "common-practice", "memory"}


@pytest.mark.parametrize("topic", TOPICS)
def test_text_says_the_working_and_how_well_it_is_known(topic: str, capsys: pytest.CaptureFixture[str]) -> None:
    options, names = GOOD[topic]
    assert run([topic, *options]) == 0
    out = capsys.readouterr()
    assert out.err == "" and out.out.startswith(topic + "\n")
    assert all(name in out.out for name in names)
    assert any(word in out.out for word in ("published: ", "common practice, no source", "from memory"))


@pytest.mark.parametrize("topic", TOPICS)
def test_a_wrong_option_is_exit_2(topic: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run([topic, *GOOD[topic][0], "--no-such-option", "1"]) == 2
    assert "--no-such-option" in capsys.readouterr().err


@pytest.mark.parametrize(
    "argv",
    [
        [],
        ["weight"],
        ["drop"],
        ["drop", "--size", "1 mm2", "--length-m", "two", "--current-a", "1"],
        ["drop", "--size", "1 mm2", "--length", "2", "--current-a", "1"],  # no abbreviations
        ["drop", "--size", "1 mm2", "--length-m", "2", "--current-a", "1", "--joints", "1.5"],
        ["level", "--impedance-ohm", "4"],
        ["level", "--power-w", "4", "--volts", "4", "--impedance-ohm", "4"],
        ["bundle"],
        ["bundle", "--wires", "1 mm2", "--outside-mm", "2"],
        ["tape", "--bundle-mm", "1,5", "--length-mm", "300", "--width-mm", "19"],
    ],
)
def test_used_wrongly_is_exit_2(argv: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(argv) == 2
    out = capsys.readouterr()
    assert out.out == "" and "usage:" in out.err


@pytest.mark.parametrize(
    ("argv", "code", "said"),
    [
        (["conductor", "--size", "0.6 mm2"], "unknown-size", "0.6 mm²"),
        (["conductor", "--size", "thin"], "unknown-size", "'thin' is not a conductor size"),
        (["conductor", "--size", "1 mm2", "--temp-c", "nan"], "out-of-range", "temp-c is not a number"),
        (["drop", "--size", "1 mm2", "--length-m", "-2", "--current-a", "1"], "out-of-range", "length-m is −2 m"),
        (["drop", "--size", "1 mm2", "--length-m", "−2", "--current-a", "1"], "out-of-range", "length-m is −2 m"),
        (["drop", "--size", "1 mm2", "--length-m", "2", "--current-a", "inf"], "out-of-range", "current-a"),
        (["drop", "--size", "1 mm2", "--length-m", "2", "--current-a", "-inf"], "out-of-range", "current-a"),
        (["fuse", "--current-a", "9", "--size", "0.75 mm2"], "no-fuse", "asks for at least 15 A"),
        (["fuse", "--current-a", "12", "--size", "1.5 mm2", "--maker-a", "10"], "maker-fuse", "the load of 12 A"),
        (["short", "--size", "1 mm2", "--length-m", "2", "--fuse-a", "12"], "unknown-fuse", "12 A"),
        (["sleeve", "--over-mm", "4", "--grip-mm", "2", "--bare-mm", "9"], "no-sleeve", "do not grip 2 mm"),
        (["joint", "--tails", "1 mm2, , 1 mm2"], "unknown-size", "'' is not"),
        (["joint", "--tails", "1 mm2, 1 mm2", "--method", "glue"], "unknown-method", "glue"),
        (["joint", "--tails", "10 mm2, 16 mm2"], "no-joint", "no connector takes"),
        (["bundle", "--wires", "1 mm2*0"], "out-of-range", "counts no wire"),
        (["bundle", "--wires", "50 mm2*2"], "unknown-size", "measure the cable"),
        (["bundle", "--outside-mm", "1.9*2, wide"], "bad-list", "'wide' is not a number"),
        (["tape", "--bundle-mm", "2", "--length-mm", "300", "--width-mm", "19"], "bad-wrap", "9.5 mm"),
        (["standby", "--draw-ma", "50", "--capacity-ah", "60", "--to-soc", "90"], "out-of-range", "to-soc"),
        (["speakers", "--load", "4 ||"], "bad-expression", "missing at the end"),
        (["speakers", "--load", "4 || 4", "--minimum-ohm", "4"], "below-minimum-impedance", "2 Ω"),
        (["level", "--volts", "-3", "--impedance-ohm", "4"], "out-of-range", "volts is −3 V"),
        (["ladder", "--buttons", "up:330", "--pull-up-ohm", "1000", "--supply-v", "5"], "bad-list", "name=ohms"),
        (["ladder", "--buttons", "up=1,up=2", "--pull-up-ohm", "1000", "--supply-v", "5"], "bad-list", "stands twice"),
        (
            ["ladder", "--buttons", "up=330,down=340", "--pull-up-ohm", "1000", "--supply-v", "5"],
            "ladder-clash",
            "apart",
        ),
    ],
)
def test_what_is_wrong_is_exit_1_on_stderr_and_in_the_json(
    argv: list[str], code: str, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    read = figures(capsys, *argv, code=1)
    assert [problem["code"] for problem in read["problems"]] == [code]
    assert said in read["problems"][0]["message"] and read["problems"][0]["severity"] == "error"
    assert run(argv) == 1
    assert f"error[{code}]" in capsys.readouterr().err


def test_values_are_exact_and_only_the_text_is_rounded(capsys: pytest.CaptureFixture[str]) -> None:
    argv = ["fuse", "--current-a", "7", "--size", "1 mm2"]
    assert figures(capsys, *argv)["figures"]["minimum_a"]["value"] == 7 / 0.75
    run(argv)
    assert "9.333 A" in capsys.readouterr().out


def test_none_and_truth_are_json_values(capsys: pytest.CaptureFixture[str]) -> None:
    read = figures(capsys, "short", "--size", "0.5 mm2", "--length-m", "80", "--fuse-a", "10")["figures"]
    assert read["clearing_s"]["value"] is None and read["protected"]["value"] is False
    read = figures(capsys, "short", "--size", "2.5 mm2", "--length-m", "2", "--fuse-a", "10")["figures"]
    assert read["protected"]["value"] is True
    assert figures(capsys, "ladder", *GOOD["ladder"][0])["figures"]["clash"]["value"] is None


def test_figures_whose_inputs_were_not_given_are_left_out(capsys: pytest.CaptureFixture[str]) -> None:
    assert "power_w" not in figures(capsys, "speakers", "--load", "4")["figures"]
    assert "gain_db" not in figures(capsys, "level", "--volts", "4", "--impedance-ohm", "4")["figures"]
    soldered = figures(capsys, "joint", "--tails", "1 mm2, 1 mm2", "--method", "solder-and-sleeve")["figures"]
    assert "pull_n" not in soldered


def test_defaults_are_told_as_defaults(capsys: pytest.CaptureFixture[str]) -> None:
    run(["conductor", "--size", "1 mm2", "--ambient-c", "65"])
    out = capsys.readouterr().out
    assert "taken by default: temp-c 20, grouped 1, insulation-c 105" in out


def test_a_bundle_by_wires_stands_on_the_tables_it_used(capsys: pytest.CaptureFixture[str]) -> None:
    by_wire = figures(capsys, "bundle", "--wires", "0.75 mm2*12")["figures"]["diameter_mm"]
    by_size = figures(capsys, "bundle", "--outside-mm", "1.9*12")["figures"]["diameter_mm"]
    assert by_wire["value"] == by_size["value"]
    assert set(by_wire["sources"]) - set(by_size["sources"]) == {"thin-wall-list"}


def test_json_may_stand_before_the_topic(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--json", "tape", *GOOD["tape"][0]]) == 0
    assert json.loads(capsys.readouterr().out)["topic"] == "tape"


def test_inside_a_larger_command_line(capsys: pytest.CaptureFixture[str]) -> None:
    parser = argparse.ArgumentParser(prog="loomleaf")
    reckon.add_parser(parser.add_subparsers(dest="command"))
    options = parser.parse_args(["reckon", "standby", *GOOD["standby"][0], "--json"])
    assert reckon.answer(options) == 0
    assert json.loads(capsys.readouterr().out)["topic"] == "standby"


def test_the_same_input_gives_the_same_bytes(capsys: pytest.CaptureFixture[str]) -> None:
    run(["joint", *GOOD["joint"][0], "--json"])
    first = capsys.readouterr().out
    run(["joint", *GOOD["joint"][0], "--json"])
    assert capsys.readouterr().out == first


def test_help_is_exit_0(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--help"]) == 0
    shown = capsys.readouterr().out
    assert all(topic in shown for topic in TOPICS)
