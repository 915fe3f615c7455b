"""Plots: values where the axes say, lines told apart without colour, units and source, data in words."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomleaf.draw.plots import DASHES, Axis, Bar, Line, bar_plot, line_plot, log_ticks, nice_ticks

from .drawn import assert_well_made, overlaps, root, strokes, words

LINES = [
    Line(label=f"{size} mm²", points=tuple((float(i), i * 0.07 / size) for i in range(16)))
    for size in (0.75, 1.0, 1.5, 2.5)
]
X, Y = Axis(words="current", unit="A"), Axis(words="drop", unit="V")
SOURCE = "computed from the resistance per metre at 20 °C"


def plot(lines: list[Line] = LINES, x: Axis = X, y: Axis = Y, **more: object) -> str:
    return line_plot(title="Drop", x=x, y=y, lines=lines, source=SOURCE, **more)  # type: ignore[arg-type]


def test_a_plot_is_well_made_with_units_labels_and_source() -> None:
    svg = plot()
    assert_well_made(svg)
    assert overlaps(svg) == []
    said = [word.text for word in words(svg)]
    assert {"current, A", "drop, V", f"Source: {SOURCE}", "0.75 mm²", "2.5 mm²"} <= set(said)


def test_lines_are_black_and_told_apart_by_dash() -> None:
    drawn = [stroke for stroke in strokes(plot()) if stroke.width == 0.5]
    assert len({stroke.dash for stroke in drawn}) == len(LINES)
    assert len(set(DASHES)) == len(DASHES)
    assert all('stroke="#000"' in line for line in plot().splitlines() if 'stroke-width="0.5"' in line)
    with pytest.raises(ValueError, match="told apart"):
        plot([Line(label=str(n), points=((0, 0), (1, n))) for n in range(len(DASHES) + 1)])


def _place(svg: str, label: str, upright: bool) -> float:
    word = next(word for word in words(svg) if word.text == label and not word.bold)
    return (word.top + word.bottom - 0.25 * word.size) / 2 if upright else (word.x1 + word.x2) / 2


def test_a_point_lies_where_the_axes_say() -> None:
    svg = plot([Line(label="a", points=((0.0, 0.0), (4.0, 30.0), (10.0, 50.0)))])
    path = next(stroke for stroke in strokes(svg) if stroke.width == 0.5).d
    points = [(float(x), float(y)) for x, y in re.findall(r"[ML]([\d.]+) ([\d.]+)", path)]
    assert points[1][0] == pytest.approx(_place(svg, "4", upright=False), abs=0.02)
    assert points[1][1] == pytest.approx(_place(svg, "30", upright=True), abs=0.02)


def test_equal_ratios_are_equal_steps_on_a_log_axis() -> None:
    svg = plot(
        [Line(label="a", points=((1.0, 0.1), (10.0, 1.0), (100.0, 10.0)))],
        Axis(words="multiple", log=True),
        Axis(words="time", unit="s", log=True),
    )
    assert_well_made(svg)
    path = next(stroke for stroke in strokes(svg) if stroke.width == 0.5).d
    (x1, y1), (x2, y2), (x3, y3) = [tuple(map(float, pair)) for pair in re.findall(r"[ML]([\d.]+) ([\d.]+)", path)]
    assert x2 - x1 == pytest.approx(x3 - x2, abs=0.02) and y1 - y2 == pytest.approx(y2 - y3, abs=0.02)
    with pytest.raises(ValueError, match="above 0"):
        plot([Line(label="a", points=((0.0, 1.0), (1.0, 2.0)))], Axis(words="multiple", log=True))


def test_labels_of_lines_that_end_together_are_moved_apart() -> None:
    svg = plot([Line(label=f"line {n}", points=((0, 0), (10, 5 + n * 0.01))) for n in range(5)])
    assert overlaps(svg) == []
    assert_well_made(svg)


def test_the_data_are_told_in_words() -> None:
    told = root(plot())[1].text or ""
    assert "0.75 mm²: 0 gives 0" in told and "drop, V against current, A" in told and SOURCE in told


def test_what_cannot_be_drawn_is_refused() -> None:
    with pytest.raises(ValueError, match="two points"):
        plot([Line(label="a", points=((0, 0),))])
    with pytest.raises(ValueError, match="finite"):
        plot([Line(label="a", points=((0, 0), (1, math.inf)))])


@given(st.floats(-1e6, 1e6), st.floats(1e-3, 1e6))
def test_ticks_reach_around_the_data_in_round_steps(low: float, span: float) -> None:
    high = low + span
    ticks = nice_ticks(low, high)
    assert ticks[0] <= low + span * 1e-6 and ticks[-1] >= high - span * 1e-6
    step = ticks[1] - ticks[0]
    assert 2 <= len(ticks) <= 12
    lead = step / 10 ** math.floor(math.log10(step) + 1e-9)
    assert min(abs(lead - nice) for nice in (1, 2, 2.5, 5, 10)) < 1e-3


@given(st.floats(1e-4, 1e4), st.floats(1.01, 1e6))
def test_log_ticks_reach_around_the_data(low: float, ratio: float) -> None:
    ticks = log_ticks(low, low * ratio)
    assert len(ticks) >= 2 and ticks == sorted(ticks)
    assert ticks[0] <= low * 1.001 and ticks[-1] >= low * ratio * 0.999


BARS = [Bar(label="vehicle alone", value=18), Bar(label="with the amplifier left on", value=420, note="wrong turn-on")]


def test_bars_begin_at_nought_and_are_as_long_as_their_values() -> None:
    svg = bar_plot(
        title="Draw", axis=Axis(words="current", unit="mA"), bars=BARS, source="invented", limit=(50, "limit 50 mA")
    )
    assert_well_made(svg)
    assert overlaps(svg) == []
    lengths = [
        float(w) for stroke in strokes(svg) if stroke.fill == "#d9d9d9" for w in re.findall(r"h([\d.]+)v", stroke.d)
    ]
    assert lengths[1] / lengths[0] == pytest.approx(420 / 18, rel=0.01)
    said = [word.text for word in words(svg)]
    assert {"18 mA", "420 mA, wrong turn-on", "limit 50 mA", "current, mA", "Source: invented"} <= set(said)
    assert "vehicle alone: 18 mA." in (root(svg)[1].text or "")


def test_amounts_below_nought_and_empty_plots_are_refused() -> None:
    with pytest.raises(ValueError, match="below 0"):
        bar_plot(title="t", axis=X, bars=[Bar(label="a", value=-1)], source="s")
    with pytest.raises(ValueError, match="at least one"):
        bar_plot(title="t", axis=X, bars=[], source="s")
