"""The fuse of a feed: chosen for an added one, checked for one that a maker gave."""

from __future__ import annotations

from dataclasses import dataclass

from ..figure import Figure, number
from ..problems import Collector
from ..units import Size
from .answer import PRACTICE, Answer, Basis, in_range, on
from .conductor import limit
from .tables import FuseKind, FuseRating, Tables, shipped_tables


@dataclass(frozen=True, kw_only=True)
class Fuse:
    """A standard rating with its kind. ``colour`` is "" where the kind has no code."""

    amps: float
    kind: FuseKind
    colour: str
    basis: Basis

    @property
    def text(self) -> str:
        said = f", {self.colour}" if self.colour else ""
        return f"{number(self.amps)} A {self.kind.title}{said}"


def minimum_rating_a(current_a: float, continuous: float = 0.75) -> float:
    """Least rating for a running current: current ÷ the part of the rating that may flow without a rest.

    ``current_a`` above 0, ``continuous`` above 0 and at most 1; raises ValueError otherwise.

    >>> minimum_rating_a(7.5)
    10.0
    """
    if not current_a > 0 or not 0 < continuous <= 1:
        raise ValueError("current_a must be above 0, continuous from above 0 to 1")
    return current_a / continuous


def carries_peak(kind: FuseKind, rating_a: float, peak_a: float) -> bool:
    """True when a peak of unknown length stays under what the fuse carries without opening."""
    return peak_a <= rating_a * kind.carry_percent / 100 * (1 + 1e-12)


def standard_fuses(tables: Tables | None = None, kind: str | None = None) -> tuple[Fuse, ...]:
    """Every standard rating by rising amperes, once each: the first kind in order of use that has it, or one kind's."""
    tables = tables or shipped_tables()
    by_amps: dict[float, Fuse] = {}
    for one in tables.fuse_kinds:
        if kind is None or one.name == kind:
            for rating in one.ratings:
                by_amps.setdefault(rating.amps, _fuse(one, rating))
    return tuple(by_amps[amps] for amps in sorted(by_amps))


def _fuse(kind: FuseKind, rating: FuseRating) -> Fuse:
    return Fuse(amps=rating.amps, kind=kind, colour=rating.colour, basis=on(rating, kind))


def find_fuse(rating_a: float, tables: Tables | None = None, kind: str | None = None) -> Fuse | None:
    """The standard fuse of exactly this rating, or None."""
    for one in (tables or shipped_tables()).fuse_kinds:
        if kind is None or one.name == kind:
            for rating in one.ratings:
                if abs(rating.amps - rating_a) < 1e-9:
                    return _fuse(one, rating)
    return None


def choose_fuse(
    *,
    current_a: float,
    limit_a: float,
    peak_a: float | None = None,
    continuous: float = 0.75,
    kind: str | None = None,
    tables: Tables | None = None,
) -> tuple[Fuse | None, str]:
    """The smallest standard fuse for an added feed, or None and which bound is in the way.

    Rating at least current ÷ continuous, a peak under what the fuse carries, and never above the conductor's limit.
    """
    fuses = standard_fuses(tables, kind)
    least = minimum_rating_a(current_a, continuous)
    big = [one for one in fuses if one.amps >= least * (1 - 1e-12)]
    if not big:
        return None, f"the largest standard rating is {number(fuses[-1].amps)} A, under the {number(least)} A asked"
    fit = [one for one in big if peak_a is None or carries_peak(one.kind, one.amps, peak_a)]
    if not fit:
        return None, f"no standard fuse carries the peak of {number(peak_a or 0)} A without opening"
    within = [one for one in fit if one.amps <= limit_a]
    if within:
        return within[0], ""
    why = "the load" if fit[0] is big[0] else "the peak"
    return None, (
        f"{why} asks for at least {number(fit[0].amps)} A, and the conductor may carry only {number(limit_a)} A"
    )


def fuse(
    *,
    current_a: float,
    size: Size,
    peak_a: float | None = None,
    continuous: float = 0.75,
    maker_a: float | None = None,
    ambient_c: float = 65,
    grouped: int = 1,
    insulation_c: float = 105,
    tables: Tables | None = None,
) -> Answer:
    """Figures ``minimum_a, limit_a, rating_a, colour``; the last two are None when no fuse fits.

    With ``maker_a`` the rating is that one, taken as it is and never uprated, if the conductor may carry it and
    neither the current nor the peak is too much for it.
    """
    tables = tables or shipped_tables()
    found = Collector()
    ok = [
        in_range(found, "current-a", current_a, 0.001, 600, "A"),
        in_range(found, "continuous", continuous, 0.1, 1, ""),
        peak_a is None or in_range(found, "peak-a", peak_a, 0.001, 3000, "A"),
        maker_a is None or in_range(found, "maker-a", maker_a, 0.1, 600, "A"),
    ]
    if all(ok) and peak_a is not None:
        ok.append(in_range(found, "peak-a", peak_a, current_a, 3000, "A"))
    may = limit(found, size=size, ambient_c=ambient_c, grouped=grouped, insulation_c=insulation_c, tables=tables)
    if not all(ok) or may is None or not isinstance(may.value, (int, float)):
        return {}, tuple(found.problems)
    least = minimum_rating_a(current_a, continuous)
    figures = {
        "minimum_a": PRACTICE.figure(least, "A", f"{number(current_a)} A running ÷ {number(continuous)}"),
        "limit_a": may,
    }
    limit_a = float(may.value)
    basis = Basis(sources=may.sources, known=may.known) + PRACTICE
    if maker_a is not None:
        figures |= _maker(found, maker_a, current_a, peak_a, least, limit_a, basis, tables)
        return figures, tuple(found.problems)
    chosen, why = choose_fuse(current_a=current_a, limit_a=limit_a, peak_a=peak_a, continuous=continuous, tables=tables)
    if chosen is None:
        found.error("no-fuse", f"no standard fuse fits: {why}", hint="a larger conductor, less load, or two feeds")
        return figures | _nothing(why), tuple(found.problems)
    peak = (
        ""
        if peak_a is None
        else (f", carries the {number(peak_a)} A peak (it carries {number(chosen.kind.carry_percent)} %)")
    )
    figures["rating_a"] = (basis + chosen.basis).figure(
        chosen.amps,
        "A",
        f"{chosen.text}: smallest standard rating from {number(least)} A, not above {number(limit_a)} A{peak}",
    )
    figures["colour"] = _colour(chosen)
    return figures, tuple(found.problems)


def check_maker_fuse(
    *, maker_a: float, current_a: float, limit_a: float, peak_a: float | None = None, tables: Tables | None = None
) -> str:
    """Why a maker's fuse on a maker's cable cannot take a load, or "" when it can. The fuse is never uprated.

    >>> check_maker_fuse(maker_a=15, current_a=16, limit_a=30)
    'the load of 16 A is more than the fuse of 15 A'
    """
    if maker_a > limit_a:
        return f"the conductor may carry only {number(limit_a)} A, less than the fuse of {number(maker_a)} A"
    if current_a > maker_a:
        return f"the load of {number(current_a)} A is more than the fuse of {number(maker_a)} A"
    own = find_fuse(maker_a, tables)
    carry = own.kind.carry_percent if own is not None else 100.0
    if peak_a is not None and peak_a > maker_a * carry / 100 * (1 + 1e-12):
        return f"the peak of {number(peak_a)} A is more than {number(carry)} % of the fuse of {number(maker_a)} A"
    return ""


def _maker(
    found: Collector,
    maker_a: float,
    current_a: float,
    peak_a: float | None,
    least: float,
    limit_a: float,
    basis: Basis,
    tables: Tables,
) -> dict[str, Figure]:
    why = check_maker_fuse(maker_a=maker_a, current_a=current_a, limit_a=limit_a, peak_a=peak_a, tables=tables)
    if why:
        own_feed = "give the added load its own fused feed; never uprate this fuse"
        hint = "a larger conductor" if maker_a > limit_a else own_feed
        found.error("maker-fuse", f"the maker's fuse does not fit: {why}", hint=hint)
        return _nothing(why)
    own = find_fuse(maker_a, tables)
    above = f"; more than the usual continuous part, which would ask {number(least)} A" if least > maker_a else ""
    rating = (basis + own.basis if own else basis).figure(
        maker_a,
        "A",
        f"the maker's fuse as it is: {number(current_a)} A ≤ {number(maker_a)} A ≤ {number(limit_a)} A{above}",
    )
    return {"rating_a": rating, "colour": _colour(own)}


def _colour(chosen: Fuse | None) -> Figure:
    if chosen is None or not chosen.colour:
        return Figure(value=None, unit="", working="no colour code in the tables; read the stamped number")
    return chosen.basis.figure(
        chosen.colour, "", f"{chosen.kind.title} {number(chosen.amps)} A; the stamped number governs"
    )


def _nothing(why: str) -> dict[str, Figure]:
    return {
        "rating_a": Figure(value=None, unit="A", working=why),
        "colour": Figure(value=None, unit="", working="no fuse"),
    }
