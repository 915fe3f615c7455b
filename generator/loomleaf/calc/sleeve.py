"""The sleeve that passes over a joint and grips the wire, and how long to cut it."""

from __future__ import annotations

from collections.abc import Sequence

from ..figure import number
from ..problems import Collector
from .answer import PRACTICE, Answer, in_range, on
from .tables import Sleeve, Tables, shipped_tables

_EDGE = 1e-9  # a dimension that lands on the edge of the window is inside it


def window_mm(expanded_mm: float, recovered_mm: float, shrink: float = 0.80, keep: float = 1.10) -> tuple[float, float]:
    """Thinnest and widest thing a sleeve suits, in mm: 1.10 × recovered to 0.80 × expanded (a maker's selection rule).

    Both above 0 and recovered below expanded; raises ValueError otherwise.

    >>> tuple(round(end, 1) for end in window_mm(25.4, 12.7))
    (14.0, 20.3)
    """
    if not 0 < recovered_mm < expanded_mm:
        raise ValueError("recovered_mm must be above 0 and below expanded_mm")
    return keep * recovered_mm, shrink * expanded_mm


def cut_length_mm(bare_mm: float, overlap_mm: float, length_shrink: float) -> float:
    """Length to cut so that it still covers after shrinking lengthwise: (bare + 2 overlap) / (1 − shrink).

    ``length_shrink`` 0 to under 0.5 (a fraction); lengths at least 0; raises ValueError otherwise.

    >>> round(cut_length_mm(24, 8, 0.10), 1)
    44.4
    """
    if min(bare_mm, overlap_mm) < 0 or not 0 <= length_shrink < 0.5:
        raise ValueError("lengths at least 0, length_shrink from 0 to under 0.5")
    return (bare_mm + 2 * overlap_mm) / (1 - length_shrink)


def passes(item: Sleeve, over_mm: float, tables: Tables) -> bool:
    """True when the sleeve as supplied goes over the widest thing with the rule's room."""
    return over_mm <= tables.constant("shrink_at_least").value * item.expanded_mm * (1 + _EDGE)


def grips(item: Sleeve, grip_mm: float, tables: Tables) -> bool:
    """True when the recovered sleeve still holds the thinnest thing with the rule's reserve."""
    return grip_mm >= tables.constant("keep_unshrunk").value * item.recovered_mm * (1 - _EDGE)


def choose_sleeve(
    items: Sequence[Sleeve], over_mm: float, grip_mm: float, tables: Tables | None = None
) -> Sleeve | None:
    """Of the sleeves that pass and grip, the one with the smallest expanded inside; None when none does."""
    tables = tables or shipped_tables()
    fit = [item for item in items if passes(item, over_mm, tables) and grips(item, grip_mm, tables)]
    return min(fit, key=lambda item: (item.expanded_mm, -item.recovered_mm, item.name), default=None)


def sleeve(
    *,
    over_mm: float,
    grip_mm: float,
    bare_mm: float,
    overlap_mm: float = 8,
    lined: bool = False,
    items: Sequence[Sleeve] | None = None,
    tables: Tables | None = None,
) -> Answer:
    """Figures ``item, expanded_mm, recovered_mm, cut_mm``.

    ``over_mm``: the widest thing it must pass over. ``grip_mm``: the thinnest it must hold. ``lined`` asks for an
    adhesive lining; without it only unlined sleeves count. ``items``: what the shop stocks (None: the whole table).
    """
    tables = tables or shipped_tables()
    found = Collector()
    ok = [
        in_range(found, "over-mm", over_mm, 0.2, 60, "mm"),
        in_range(found, "grip-mm", grip_mm, 0.2, 60, "mm"),
        in_range(found, "bare-mm", bare_mm, 0, 500, "mm"),
        in_range(found, "overlap-mm", overlap_mm, 0, 100, "mm"),
    ]
    if ok[0] and ok[1] and grip_mm > over_mm:
        ok.append(in_range(found, "grip-mm", grip_mm, 0.2, over_mm, "mm"))
    if not all(ok):
        return {}, tuple(found.problems)
    stock = tables.sleeves if items is None else tuple(items)
    chosen = choose_sleeve([one for one in stock if one.kind.lined == lined], over_mm, grip_mm, tables)
    if chosen is None:
        _none(found, stock, over_mm, grip_mm, lined, tables)
        return {}, tuple(found.problems)
    least, most = window_mm(
        chosen.expanded_mm,
        chosen.recovered_mm,
        tables.constant("shrink_at_least").value,
        tables.constant("keep_unshrunk").value,
    )
    basis = on(chosen, tables.constant("shrink_at_least"), tables.constant("keep_unshrunk"))
    figures = {
        "item": basis.figure(
            chosen.name,
            "",
            f"suits {number(least)} to {number(most)} mm; must pass {number(over_mm)} mm and grip {number(grip_mm)} mm",
        ),
        "expanded_mm": on(chosen).figure(chosen.expanded_mm, "mm", "least inside as supplied, from the table"),
        "recovered_mm": on(chosen).figure(
            chosen.recovered_mm, "mm", "most inside after free shrinking, from the table"
        ),
        "cut_mm": (on(chosen.kind) + PRACTICE).figure(
            cut_length_mm(bare_mm, overlap_mm, chosen.kind.length_shrink),
            "mm",
            f"({number(bare_mm)} + 2 × {number(overlap_mm)}) ÷ (1 − {number(chosen.kind.length_shrink)})",
        ),
    }
    return figures, tuple(found.problems)


def _none(
    found: Collector, stock: Sequence[Sleeve], over_mm: float, grip_mm: float, lined: bool, tables: Tables
) -> None:
    kind = "adhesive-lined" if lined else "unlined"
    own = [item for item in stock if item.kind.lined == lined]
    over = [item for item in own if passes(item, over_mm, tables)]
    hold = [item for item in own if grips(item, grip_mm, tables)]
    if not over:
        widest = max((item.expanded_mm for item in own), default=0.0) * tables.constant("shrink_at_least").value
        why = f"none passes over {number(over_mm)} mm (the widest suits {number(widest)} mm)"
    elif not hold:
        thinnest = min(item.recovered_mm for item in own) * tables.constant("keep_unshrunk").value
        why = f"none grips {number(grip_mm)} mm (the thinnest suits {number(thinnest)} mm)"
    else:
        small = min(over, key=lambda item: item.recovered_mm)
        least = small.recovered_mm * tables.constant("keep_unshrunk").value
        why = (
            f"those that pass over {number(over_mm)} mm do not grip {number(grip_mm)} mm"
            f" (the tightest, {small.name}, grips from {number(least)} mm)"
        )
    other = choose_sleeve([item for item in stock if item.kind.lined != lined], over_mm, grip_mm, tables)
    anywhere = choose_sleeve(tables.sleeves, over_mm, grip_mm, tables)
    if other is not None:
        hint = f"{other.name} would do"
    elif anywhere is not None:
        hint = f"{anywhere.name} would do; it is not in stock"
    else:
        hint = "build the thin wire up with a short sleeve first, or use a smaller joint"
    found.error("no-sleeve", f"no {kind} sleeve fits: {why}", hint=hint)
