"""A dead short: let-through against the conductor's limit."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomleaf.calc.short import adiabatic_k, let_through, short
from loomleaf.calc.tables import shipped_tables
from loomleaf.units import parse_size

BLADE = next(kind for kind in shipped_tables().fuse_kinds if kind.name == "blade")


# k for copper as BS 7671 and IEC 60364-5-54 print it.
@pytest.mark.parametrize(("start", "final", "k"), [(70, 160, 115), (90, 160, 100), (90, 250, 143), (60, 200, 141)])
def test_k_is_the_printed_one(start: float, final: float, k: float) -> None:
    assert adiabatic_k(start, final) == pytest.approx(k, rel=0.006)


def test_worked_by_hand() -> None:
    # 0.75 mm², 2 m: 26 × (1 + 0.00393 × 50) = 31.109 mΩ/m; loop 20 + 2 × 62.218 = 144.436 mΩ; 12.6 V / that = 87.24 A.
    figures, problems = short(size=parse_size("0.75 mm2"), length_m=2, fuse_a=10)
    assert not problems
    assert list(figures) == ["prospective_a", "multiple", "clearing_s", "let_through_a2s", "withstand_a2s", "protected"]
    assert figures["prospective_a"].value == pytest.approx(12.6 / 0.144436)
    assert figures["multiple"].value == pytest.approx(8.7236, rel=1e-4)
    assert figures["withstand_a2s"].value == pytest.approx((115 * 0.75) ** 2, rel=0.002)
    # 600 % of 10 A for 0.1 s is 360 A²s, held beyond it; but at 200 % 5 s are allowed: 2000 A²s is the worst.
    assert figures["clearing_s"].value == pytest.approx(360 / 87.236**2, rel=1e-4)
    assert figures["let_through_a2s"].value == pytest.approx(2000)
    assert figures["protected"].value is True


def test_under_the_first_point_nothing_is_protected() -> None:
    figures, problems = short(size=parse_size("0.5 mm2"), length_m=60, fuse_a=10)
    assert not problems
    assert figures["multiple"].value < 1.35  # type: ignore[operator]
    assert (figures["clearing_s"].value, figures["protected"].value) == (None, False)


def test_a_large_fuse_on_a_thin_wire_is_not_protected() -> None:
    figures, _ = short(size=parse_size("0.5 mm2"), length_m=3, fuse_a=30)
    assert figures["protected"].value is False


@pytest.mark.parametrize(
    ("multiple", "clearing", "amps2s"),
    [
        (1.34, None, None),
        (1.35, 600, 13.5**2 * 600),
        (1.59, 600, 15.9**2 * 600),
        (1.6, 50, 16**2 * 50),
        (1.99, 50, 19.9**2 * 50),
        (2.0, 5, 20**2 * 5),
        (3.49, 5, 34.9**2 * 5),
        (3.5, 0.5, 20**2 * 5),  # a weaker fault at 200 % is worse than 35² × 0.5
        (5.99, 0.5, 20**2 * 5),
        (6.0, 0.1, 20**2 * 5),
        (60.0, 360 / 600**2, 20**2 * 5),
    ],
)
def test_never_interpolated(multiple: float, clearing: float | None, amps2s: float | None) -> None:
    # Between two points the longest time of the one below; past the last, I²t is held.
    found = let_through(BLADE, 10, 10 * multiple)
    if clearing is None or amps2s is None:
        assert found is None
    else:
        assert found is not None
        assert found[0] == pytest.approx(clearing)
        assert found[1] == pytest.approx(amps2s)


def test_strip_fuses_have_their_own_first_point() -> None:
    figures, _ = short(size=parse_size("35 mm2"), length_m=30, fuse_a=150, source_mohm=20, kind="small-strip")
    assert figures["multiple"].value == pytest.approx(12.6 / (0.02 + 2 * 30 * 0.554e-3 * 1.1965) / 150)
    assert figures["clearing_s"].value is None and "150 %" in figures["clearing_s"].working


def test_the_body_as_return() -> None:
    figures, _ = short(size=parse_size("2.5 mm2"), length_m=4, fuse_a=20, chassis_mohm=5)
    assert figures["prospective_a"].value == pytest.approx(12.6 / (0.020 + 4 * 7.98e-3 * 1.1965 + 0.005))


def test_the_paper_says_what_is_not_covered() -> None:
    figures, _ = short(size=parse_size("1 mm2"), length_m=2, fuse_a=10)
    assert "arcing fault is not covered" in figures["protected"].working


@pytest.mark.parametrize(
    ("options", "code", "said"),
    [
        ({"length_m": 0}, "out-of-range", "length-m"),
        ({"source_mohm": -1}, "out-of-range", "source-mohm"),
        ({"final_c": 60}, "out-of-range", "final-c is 60 °C; it must be above temp-c"),
        ({"fuse_a": 12}, "unknown-fuse", "fuse-a 12 A"),
        ({"fuse_a": math.nan}, "out-of-range", "fuse-a"),
        ({"chassis_mohm": -5}, "out-of-range", "chassis-mohm"),
        ({"supply_v": math.inf}, "out-of-range", "supply-v"),
    ],
)
def test_problems(options: dict[str, float], code: str, said: str) -> None:
    figures, problems = short(**{"size": parse_size("1 mm2"), "length_m": 2, "fuse_a": 10, **options})  # type: ignore[arg-type]
    assert figures == {}
    assert [problem.code for problem in problems] == [code] and said in problems[0].message


@given(
    st.sampled_from(["0.5 mm2", "1 mm2", "2.5 mm2", "10 mm2"]), st.floats(0.1, 80), st.sampled_from([5.0, 10, 20, 30])
)
def test_protected_means_the_fuse_clears_first(size: str, length_m: float, fuse_a: float) -> None:
    figures, _ = short(size=parse_size(size), length_m=length_m, fuse_a=fuse_a)
    got = {name: figure.value for name, figure in figures.items()}
    if got["clearing_s"] is None:
        assert got["multiple"] < 1.35 and got["protected"] is False  # type: ignore[operator]
    else:
        assert got["multiple"] >= 1.35 * (1 - 1e-9)  # type: ignore[operator]
        assert got["protected"] is (got["let_through_a2s"] <= got["withstand_a2s"])  # type: ignore[operator]
        # what flows until it clears is never more than what was counted
        assert got["prospective_a"] ** 2 * got["clearing_s"] <= got["let_through_a2s"] * (1 + 1e-9)  # type: ignore[operator]


@given(st.sampled_from(["0.5 mm2", "1 mm2", "2.5 mm2"]), st.floats(0.5, 20), st.sampled_from([5.0, 10, 20]))
def test_a_larger_conductor_stays_protected(size: str, length_m: float, fuse_a: float) -> None:
    small, _ = short(size=parse_size(size), length_m=length_m, fuse_a=fuse_a)
    large, _ = short(size=parse_size("10 mm2"), length_m=length_m, fuse_a=fuse_a)
    if small["protected"].value:
        assert large["protected"].value
