"""Where each joint lies along the loom, so that it does not grow into one thick lump.

Stations are numbered from 1 at the plug. A supply joint never lies beside a ground joint: not at the same station,
not at a neighbouring one. As few joints a station as the length allows, then the fattest station (Σ d²) made as
thin as it can be.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from operator import attrgetter
from typing import Literal

from ..figure import number
from ..problems import Collector, Problem
from .answer import in_range

BUDGET = 60_000
"""Steps of the search; within it the result is exact, beyond it bounded."""


@dataclass(frozen=True, kw_only=True)
class JointAt:
    """One joint to place. ``kind`` is supply, ground or anything else; sizes over its sleeve, in mm."""

    id: str
    kind: str
    length_mm: float
    diameter_mm: float


@dataclass(frozen=True, kw_only=True)
class Stagger:
    """Station of every joint (from 1), the middle of each station in mm from the plug, and how good the result is.

    ``method`` is ``exact`` (no better spread exists) or ``bounded`` (the search was cut short: the fattest station is
    at most ``fattest_mm2 / bound_mm2`` times the best there can be). Σ d² is in mm².
    """

    station: Mapping[str, int]
    middle_mm: Mapping[int, float]
    most_joints: int
    fattest_mm2: float
    bound_mm2: float
    method: Literal["exact", "bounded"]


@dataclass
class _Bin:
    kind: str = ""
    load: float = 0.0
    items: list[JointAt] = field(default_factory=list)


def stagger(
    joints: Sequence[JointAt], *, usable_mm: float, pitch_mm: float, first_mm: float = 0.0, budget: int = BUDGET
) -> tuple[Stagger | None, tuple[Problem, ...]]:
    """Spread joints over the stations of a usable length of tail; None with problems when the rules cannot be kept.

    A station is ``pitch_mm`` long, or as long as the longest joint if that is more. ``first_mm`` is where the usable
    length begins, from the plug. The result does not depend on the order of ``joints``. Exact by branch and bound
    within ``budget`` steps (the usual one does for about 20 joints); beyond that the best found stands with a proved
    bound, and is only then not sure to beat every order that the joints could be put down in.
    """
    found = Collector()
    ok = in_range(found, "usable-mm", usable_mm, 1, 30_000, "mm")
    ok = in_range(found, "pitch-mm", pitch_mm, 1, 1000, "mm") and ok
    ok = in_range(found, "first-mm", first_mm, 0, 30_000, "mm") and ok
    for joint in joints:
        ok = in_range(found, f"{joint.id} length", joint.length_mm, 0.1, 300, "mm") and ok
        ok = in_range(found, f"{joint.id} diameter", joint.diameter_mm, 0.1, 60, "mm") and ok
    ids = [joint.id for joint in joints]
    for name in sorted({name for name in ids if ids.count(name) > 1}):
        found.error("stagger-impossible", f"two joints are named '{name}'", hint="name each joint apart")
    if not ok or found.problems:
        return None, tuple(found.problems)
    if not joints:
        return Stagger(station={}, middle_mm={}, most_joints=0, fattest_mm2=0.0, bound_mm2=0.0, method="exact"), ()
    pitch = max(pitch_mm, *(joint.length_mm for joint in joints))
    count = math.floor(usable_mm / pitch + 1e-9)
    supplies = sum(joint.kind == "supply" for joint in joints)
    grounds = sum(joint.kind == "ground" for joint in joints)
    both = supplies > 0 and grounds > 0
    if count < (3 if both else 1):
        need = 3 if both else 1
        why = "a supply joint and a ground joint with a station between them" if both else "one joint"
        found.error(
            "stagger-impossible",
            f"{number(usable_mm)} mm holds {count} stations of {number(pitch)} mm; {why} need {need}",
            hint=f"leave at least {number(need * pitch)} mm of tail, or use shorter joints",
        )
        return None, tuple(found.problems)
    most = _fewest(len(joints), supplies, grounds, count)
    search = _Search(joints, count, most, both, budget)
    bins, exact = search.run()
    station = _lay_out(bins)
    fattest = max(one.load for one in bins)
    return Stagger(
        station=dict(sorted(station.items())),
        middle_mm={number_: first_mm + (number_ - 0.5) * pitch for number_ in range(1, count + 1)},
        most_joints=most,
        fattest_mm2=fattest,
        bound_mm2=fattest if exact else search.bound,
        method="exact" if exact else "bounded",
    ), ()


def _fewest(total: int, supplies: int, grounds: int, stations: int) -> int:
    """The smallest "most joints a station" that keeps the rules: there is room, and a station between the two kinds."""
    apart = stations - 1 if supplies and grounds else stations
    for most in range(1, total + 1):
        if most * stations >= total and math.ceil(supplies / most) + math.ceil(grounds / most) <= apart:
            return most
    raise AssertionError("a single station of each kind always does")


class _Search:
    """Branch and bound over joints from fat to thin. Only how many stations hold supplies and how many hold grounds
    matters, since they can always be laid out supplies first, a neutral station, then grounds."""

    def __init__(self, joints: Sequence[JointAt], stations: int, most: int, both: bool, budget: int) -> None:
        self.joints = sorted(joints, key=lambda one: (-one.diameter_mm, one.kind not in ("supply", "ground"), one.id))
        self.stations = stations
        self.most = most
        self.typed = stations - 1 if both else stations
        squares = [one.diameter_mm**2 for one in self.joints]
        self.bound = max(squares[0], math.fsum(squares) / stations, self._pair_bound(squares))
        self.steps = 0
        self.budget = budget
        self.best: list[list[JointAt]] = []
        self.best_load = math.inf

    def _pair_bound(self, squares: list[float]) -> float:
        """With more joints than stations, two of the fattest (stations + 1) share one: at least the two thinnest."""
        if len(squares) > self.stations:
            return squares[self.stations - 1] + squares[self.stations]
        return 0.0

    def run(self) -> tuple[list[_Bin], bool]:
        """The best bins and whether nothing better can exist."""
        self._greedy()
        exact = self.best_load <= self.bound * (1 + 1e-12)
        if not exact:
            bins = [_Bin() for _ in range(self.stations)]
            exact = self._go(0, bins)
        made = []
        for items in self.best:
            kinds = {one.kind for one in items} & {"supply", "ground"}
            made.append(_Bin(kind=kinds.pop() if kinds else "", load=_load(items), items=items))
        return made, exact

    def _greedy(self) -> None:
        """Fattest first into the thinnest station it may lie at, for every split of the stations into kinds."""
        own = {kind: [one for one in self.joints if one.kind == kind] for kind in ("supply", "ground")}
        rest = [one for one in self.joints if one.kind not in own]
        for a in range(1 if own["supply"] else 0, self.typed + 1):
            for b in range(1 if own["ground"] else 0, self.typed - a + 1):
                if len(own["supply"]) > a * self.most or len(own["ground"]) > b * self.most:
                    continue
                bins = [_Bin() for _ in range(self.stations)]
                for kind, pool in (("supply", bins[:a]), ("ground", bins[a : a + b]), ("", bins)):
                    for one in own.get(kind, rest):
                        free = [station for station in pool if len(station.items) < self.most]
                        thinnest = min(free, key=lambda station: station.load)
                        thinnest.items.append(one)
                        thinnest.load += one.diameter_mm**2
                self._keep(bins)

    def _keep(self, bins: Sequence[_Bin]) -> None:
        load = max(_load(station.items) for station in bins)
        if load < self.best_load * (1 - 1e-12):
            self.best_load = load
            self.best = [list(station.items) for station in bins]

    def _go(self, index: int, bins: list[_Bin]) -> bool:
        """Try every useful place for the joints from ``index`` on. False when the budget ran out."""
        self.steps += 1
        if self.steps > self.budget:
            return False
        if index == len(self.joints):
            self._keep(bins)
            return True
        one = self.joints[index]
        square = one.diameter_mm**2
        typed = one.kind in ("supply", "ground")
        room = not typed or sum(bool(station.kind) for station in bins) < self.typed  # for one more station of a kind
        tried: set[tuple[str, float, int]] = set()
        for station in sorted(bins, key=_load_of):
            state = (station.kind, station.load, len(station.items))
            if state in tried or state[2] >= self.most:
                continue
            tried.add(state)
            if station.load + square >= self.best_load * (1 - 1e-12):
                break
            turned = typed and not station.kind
            if (turned and not room) or (typed and not turned and station.kind != one.kind):
                continue
            station.items.append(one)
            station.load += square
            if turned:
                station.kind = one.kind
            whole = self._go(index + 1, bins)
            station.items.pop()
            station.kind, station.load = state[0], state[1]
            if not whole:
                return False
            if self.best_load <= self.bound * (1 + 1e-12):
                return True
        return True


_load_of = attrgetter("load")


def _load(items: Sequence[JointAt]) -> float:
    return math.fsum(one.diameter_mm**2 for one in items)


def _lay_out(bins: Sequence[_Bin]) -> dict[str, int]:
    """Station numbers: supplies from the plug, then neutral stations, then grounds; inside a kind by the first id."""

    def first(station: _Bin) -> str:
        return min((one.id for one in station.items), default="\uffff")

    order = {"supply": 0, "": 1, "ground": 2}
    laid = sorted(bins, key=lambda station: (order[station.kind], first(station)))
    return {one.id: place for place, station in enumerate(laid, 1) for one in station.items}
