"""Which tails meet. The rules are the design's own; what each refuses is a fact of the trade (common practice, no source)
unless a source stands beside it."""

from __future__ import annotations

import random

import pytest

from loomleaf.plan.as_text import plan_text
from loomleaf.plan.types import Plan
from tests.makers import lead, meets, plan_of

CAR = lead("car", "vehicle", "A.4 supply-constant yellow", "A.7 supply-switched red", "A.8 ground black")
RADIO = lead("radio", "radio", "M.1 supply-constant yellow", "M.2 supply-switched red", "M.3 ground black")


def by_taker(plan: Plan, name: str) -> tuple[str, str, str]:
    return meets(next(c for c in plan.circuits if name in [t.name for t in c.takers]))


def codes(plan: Plan) -> set[str]:
    return {p.code for p in plan.problems}


def test_each_supply_and_the_ground_meet_one_to_one() -> None:
    plan = plan_of(CAR, RADIO)
    assert [(c.id, *meets(c)) for c in plan.circuits] == [
        ("S1", "joined", "car/A.4", "radio/M.1"),
        ("S2", "joined", "car/A.7", "radio/M.2"),
        ("G1", "joined", "car/A.8", "radio/M.3"),
    ]
    assert plan.spares == ()


def test_one_driver_feeds_several_takers() -> None:
    box = lead("box", "module", "B.1 supply-constant yellow", "B.2 ground black")
    plan = plan_of(CAR, RADIO, box)
    assert by_taker(plan, "box/B.1") == ("shared", "car/A.4", "radio/M.1 box/B.1")


def test_colour_never_decides_a_pairing() -> None:
    """The colours of both supplies are changed over; the pairing stays by function."""
    crossed = lead("car", "vehicle", "A.4 supply-constant red", "A.7 supply-switched yellow", "A.8 ground black")
    plan = plan_of(crossed, RADIO)
    assert by_taker(plan, "radio/M.1") == ("joined", "car/A.4", "radio/M.1")
    assert by_taker(plan, "radio/M.2") == ("joined", "car/A.7", "radio/M.2")
    notes = {n.code for c in plan.circuits for n in c.colour_notes}
    assert notes == {"colour-differs", "colour-of-another"}
    assert plan.state == "held"


def test_a_constant_supply_never_stands_in_for_a_missing_switched_one() -> None:
    car = lead("car", "vehicle", "A.4 supply-constant yellow", "A.8 ground black")
    plan = plan_of(car, RADIO)
    outcome, drivers, _ = by_taker(plan, "radio/M.2")
    assert (outcome, drivers) == ("wanting", "")
    chosen = plan_of(car, RADIO, job="feed: {supply-switched: car/A.4}\n")
    assert by_taker(chosen, "radio/M.2") == ("refused", "car/A.4", "radio/M.2")
    assert "feed-refused" in codes(chosen) and chosen.state == "held"


@pytest.mark.parametrize(
    ("radio_tail", "car_tail", "feed"),
    [
        ("M.9 parking-brake", "A.8 ground black", "parking-brake"),
        ("M.9 parking-brake", "A.9 reverse", "parking-brake"),
        ("M.9 parking-brake", "A.4 supply-constant yellow", "parking-brake"),
        ("M.9 supply-switched", "A.9 unknown violet", "supply-switched"),
        ("M.9 supply-switched", "A.9 illumination orange", "supply-switched"),
        ("M.9 illumination", "A.9 dimmer-return brown", "illumination"),
        ("M.9 wheel-button-1 role=takes", "A.4 supply-constant yellow", "wheel-button-1"),
        ("M.9 mute", "A.4 supply-constant yellow", "mute"),
    ],
)
def test_a_feed_that_must_never_be_is_refused(radio_tail: str, car_tail: str, feed: str) -> None:
    car = lead("car", "vehicle", car_tail)
    radio = lead("radio", "radio", radio_tail)
    plan = plan_of(car, radio, job=f"feed: {{{feed}: car/{car_tail.split()[0]}}}\n")
    circuit = next(c for c in plan.circuits if c.takers)
    assert circuit.outcome == "refused"
    assert circuit.reason.endswith(".") or "rule" in circuit.reason or "knows" in circuit.reason
    assert plan.state == "held"


def test_a_bridged_speaker_minus_never_meets_ground_nor_another_minus() -> None:
    amp = lead("amp", "accessory", "P.1 speaker-level-front-left + white", "P.2 speaker-level-front-left - white/black")
    radio = lead("radio", "radio", "M.5 speaker-front-left + white", "M.6 speaker-front-left - white/black")
    car = lead("car", "vehicle", "A.8 ground black")
    good = plan_of(car, radio, amp)
    assert by_taker(good, "amp/P.2") == ("joined", "radio/M.6", "amp/P.2")
    grounded = plan_of(car, radio, amp, job="feed: {amp/P.2: car/A.8}\n")
    assert by_taker(grounded, "amp/P.2")[0] == "refused"
    other = lead("radio", "radio", "M.6 speaker-front-left - white/black", "M.8 speaker-front-right - grey/black")
    crossed = plan_of(car, other, amp, job="feed: {amp/P.2: radio/M.8}\n")
    assert by_taker(crossed, "amp/P.2")[0] == "refused"


def test_speaker_level_into_a_line_input_wants_a_converter() -> None:
    amp = lead("amp", "accessory", "P.1 line-front-left + white needed=yes")
    radio = lead("radio", "radio", "M.5 speaker-front-left + white", "M.6 speaker-front-left - white/black")
    plan = plan_of(radio, amp)
    circuit = next(c for c in plan.circuits if c.takers and c.takers[0].name == "amp/P.1")
    assert circuit.outcome == "wanting" and "converter" in circuit.reason
    chosen = plan_of(radio, amp, job="feed: {line-front-left: radio}\n")
    assert by_taker(chosen, "amp/P.1")[0] == "refused"


def test_common_return_loudspeakers_are_refused_to_a_bridged_output() -> None:
    """Bridge-tied outputs drive both terminals; neither may be common (TDA7560 data sheet, by topology)."""
    car = lead("car", "vehicle", "B.1 speaker-front-left + white wiring=common-return")
    radio = lead("radio", "radio", "M.5 speaker-front-left + white")
    plan = plan_of(car, radio)
    assert by_taker(plan, "car/B.1")[0] == "refused"
    assert "attributes-differ" in codes(plan)


def test_attributes_must_agree_or_a_part_must_convert() -> None:
    car = lead("car", "vehicle", "A.9 reverse sense=to-ground")
    radio = lead("radio", "radio", "M.9 reverse sense=to-12v")
    assert by_taker(plan_of(car, radio), "radio/M.9")[0] == "refused"
    module = lead("box", "module", "B.1 reverse sense=to-ground role=takes", "B.2 reverse sense=to-12v role=drives")
    plan = plan_of(car, radio, module)
    assert by_taker(plan, "box/B.1") == ("joined", "car/A.9", "box/B.1")
    assert by_taker(plan, "radio/M.9") == ("joined", "box/B.2", "radio/M.9")


def test_two_drivers_are_contested_until_the_job_says_which() -> None:
    car = lead("car", "vehicle", "B.5 speaker-front-left + white")
    radio = lead("radio", "radio", "M.5 speaker-front-left + white")
    amp = lead("amp", "accessory", "P.1 speaker-level-front-left + white", "P.5 speaker-front-left + white")
    contested = plan_of(car, radio, amp)
    assert by_taker(contested, "car/B.5")[0] == "contested"
    plan = plan_of(car, radio, amp, job="feed: {speaker-front: amp}\n")
    assert by_taker(plan, "car/B.5") == ("joined", "amp/P.5", "car/B.5")
    assert by_taker(plan, "amp/P.1") == ("joined", "radio/M.5", "amp/P.1")


def test_turn_on_drivers_are_combined_through_diodes() -> None:
    car = lead("car", "vehicle", "A.5 amplifier-turn-on blue/white")
    radio = lead("radio", "radio", "M.5 amplifier-turn-on blue/white")
    box = lead("box", "module", "B.5 amplifier-turn-on blue/white")
    plan = plan_of(car, radio, box)
    circuit = next(c for c in plan.circuits if c.takers)
    assert meets(circuit) == ("shared", "radio/M.5 box/B.5", "car/A.5")
    assert circuit.combine == "diode"


def test_dash_supply_and_battery_supply_are_two_circuits() -> None:
    kit = lead("kit", "vehicle", "red supply-constant red feed=battery", "black ground black feed=battery")
    amp = lead("amp", "accessory", "P.1 supply-constant red feed=battery", "P.2 ground black feed=battery")
    plan = plan_of(CAR, RADIO, kit, amp)
    assert by_taker(plan, "amp/P.1") == ("joined", "kit/red", "amp/P.1")
    assert by_taker(plan, "radio/M.1") == ("joined", "car/A.4", "radio/M.1")
    assert by_taker(plan, "amp/P.2") == ("joined", "kit/black", "amp/P.2")


def test_a_data_pair_meets_only_the_data_lead_of_a_module() -> None:
    car = lead("car", "vehicle", "A.5 data-can high orange", "A.6 data-can low orange/brown")
    box = lead("box", "module", "B.5 data-can high tan", "B.6 data-can low tan/black", more="kind: data\n")
    assert {meets(c) for c in plan_of(car, box).circuits} == {
        ("joined", "car/A.5", "box/B.5"),
        ("joined", "car/A.6", "box/B.6"),
    }
    plain = lead("box", "module", "B.5 data-can high tan", "B.6 data-can low tan/black")
    refused = plan_of(car, plain)
    assert {c.outcome for c in refused.circuits} == {"refused"} and "data-refused" in codes(refused)
    alone = plan_of(car, RADIO.replace("needed", "needed"))
    assert {s.tail.name for s in alone.spares} == {"car/A.5", "car/A.6"}


def test_an_airbag_tail_is_named_and_never_joined() -> None:
    car = lead("car", "vehicle", "A.20 airbag yellow", "A.7 supply-switched red", "A.8 ground black")
    plan = plan_of(car, lead("radio", "radio", "M.2 supply-switched red", "M.3 ground black"))
    circuit = next(c for c in plan.circuits if c.group == "safety")
    assert circuit.outcome == "refused" and [t.name for t in circuit.tails] == ["car/A.20"]
    assert plan.state != "held"
    line = next(text for text in plan_text(plan).splitlines() if "car/A.20" in text)
    assert "left alone" in line and "->" not in line  # nothing is said to go to it
    both = plan_of(car, lead("radio", "radio", "M.20 airbag yellow", "M.3 ground black"))
    assert "never-joined" in codes(both) and both.state == "held"


def test_a_driver_of_the_same_part_never_feeds_its_own_taker() -> None:
    box = lead("box", "module", "B.1 illumination role=takes needed=yes", "B.2 illumination role=drives")
    plan = plan_of(box)
    assert by_taker(plan, "box/B.1")[0] == "wanting"


def test_ready_ends_mate_by_type() -> None:
    car = lead("car", "vehicle", more="ready_ends: [{name: antenna, type: coax-75-plug}]\n")
    radio = lead("radio", "radio", more="ready_ends: [{name: antenna, type: coax-75-socket, needed: yes}]\n")
    plan = plan_of(car, radio)
    assert [(c.id, c.outcome) for c in plan.circuits] == [("R1", "mated")]
    same = plan_of(car, radio.replace("coax-75-socket", "coax-75-plug"))
    assert [c.outcome for c in same.circuits] == ["wanting"] and same.state == "held"


def test_live_spares_come_first_and_unknown_wires_count_as_live() -> None:
    car = lead("car", "vehicle", "A.1 reverse", "A.2 not-used", "A.3 unknown", "A.4 supply-constant yellow")
    plan = plan_of(car, lead("radio", "radio", "M.9 microphone +"))
    live = [s.tail.name for s in plan.spares if s.live]
    assert live == [s.tail.name for s in plan.spares][: len(live)]
    assert set(live) == {"car/A.1", "car/A.3", "car/A.4"}


def test_every_tail_stands_exactly_once() -> None:
    car = lead(
        "car", "vehicle", *(f"A.{i} {f}" for i, f in enumerate(["supply-constant", "ground", "reverse", "speed"], 1))
    )
    radio = lead("radio", "radio", *(f"M.{i} {f}" for i, f in enumerate(["supply-constant", "ground", "mute"], 1)))
    plan = plan_of(car, radio)
    names = [t.name for c in plan.circuits for t in c.tails] + [s.tail.name for s in plan.spares]
    assert sorted(names) == sorted(f"{part.lead}/{t.at}" for part in plan.leads for t in part.tails)


def test_the_order_of_tails_and_parts_changes_nothing() -> None:
    rows = [
        "A.4 supply-constant red",
        "A.7 supply-switched yellow",
        "A.8 ground brown",
        "A.9 reverse",
        "A.10 illumination",
    ]
    others = ["M.1 supply-constant", "M.2 supply-switched", "M.3 ground", "M.4 illumination", "M.9 reverse"]
    box = ["B.1 supply-constant", "B.2 ground", "B.3 illumination role=drives"]

    def shape(seed: int) -> list[tuple[str, ...]]:
        rng = random.Random(seed)
        parts = [
            lead("car", "vehicle", *rng.sample(rows, len(rows))),
            lead("radio", "radio", *rng.sample(others, len(others))),
            lead("box", "module", *rng.sample(box, len(box))),
        ]
        rng.shuffle(parts)
        plan = plan_of(*parts, job="feed: {illumination: box}\n")
        return [(c.id, *meets(c)) for c in plan.circuits] + [(s.id, s.tail.name) for s in plan.spares]

    first = shape(0)
    assert all(shape(seed) == first for seed in range(1, 12))
