"""What a shop's own reference may not do: make looser what the shipped one keeps apart.

An entry of the shop's own replaces the shipped one of its name. It may be stricter in what is named here; where it is looser,
it is an error, and no job is worked out with it.
"""

from __future__ import annotations

from collections.abc import Iterator

from ...model.reference import ExpectedReading, Feature, Meeting, Reference, Refusal, WireFunction
from ...problems import Collector
from ..library import Library


def overlays_only_tighten(library: Library, found: Collector) -> None:
    """What is never joined stays so, with its group and its drivers; safety stays safety; no refusal loses a join."""
    reference = library.reference
    for (section, name), shipped in library.overlaid.items():
        own = getattr(reference, section)[name]
        said: Iterator[str] = iter(())
        if isinstance(shipped, WireFunction):
            said = _function(shipped, own)
        elif isinstance(shipped, Feature):
            said = _feature(shipped, own)
        elif isinstance(shipped, Refusal):
            said = _refusal(shipped, own, reference)
        for words in said:
            _tell(library, found, section, name, words)
    for (section, name), entry in library.reference_places.items():
        if section != "meetings" or entry.document.file.startswith("shipped/"):
            continue
        rule = _against(reference.meetings[name], reference)
        if rule is not None:
            _tell(library, found, section, name, f"the reference refuses this join ({rule.title}): {rule.reason}")


def _tell(library: Library, found: Collector, section: str, name: str, words: str) -> None:
    found.error(
        "overlay-loosens",
        f"'{name}' of {section} makes the shipped reference looser: {words}",
        library.reference_places[section, name].place(),
        hint="a shop's own entry may be stricter, never looser: put it back, or take the entry out",
    )


def _function(shipped: WireFunction, own: WireFunction) -> Iterator[str]:
    for key in ("never", "data", "prove_on_vehicle"):
        if getattr(shipped, key) and not getattr(own, key):
            yield f"{key} is yes there"
    for key in ("unfed", "unused"):
        if getattr(shipped, key) == "wanting" and getattr(own, key) != "wanting":
            yield f"{key} is wanting there"
    for key in ("group", "combine", "poles"):
        was, now = getattr(shipped, key), getattr(own, key)
        if was != now and not (key == "combine" and now == "none"):
            yield f"{key} is {' and '.join(was) if isinstance(was, tuple) else was} there"
    for key in ("volts", "signal", "sense", "wiring"):
        was = getattr(shipped, key)
        if was is not None and getattr(own, key) != was:
            yield f"{key} is {was:g} there" if isinstance(was, float) else f"{key} is {was} there"
    more = [side for side in own.drivers if side not in shipped.drivers]
    if more:
        yield f"{' and '.join(more)} drives it here (a single way that drives says  role: drives)"
    for wanted in shipped.readings:
        if wanted.needed and not any(_as_strict(reading, wanted) for reading in own.readings):
            yield f"the reading that proves it is left out or wider ({wanted.condition}, {wanted.window})"


def _as_strict(own: ExpectedReading, wanted: ExpectedReading) -> bool:
    same = all(getattr(own, key) == getattr(wanted, key) for key in ("condition", "quantity", "pole", "open"))
    low = wanted.low is None or (own.low is not None and own.low >= wanted.low)
    high = wanted.high is None or (own.high is not None and own.high <= wanted.high)
    return same and own.needed and low and high and (not wanted.load or bool(own.load))


def _feature(shipped: Feature, own: Feature) -> Iterator[str]:
    if not shipped.safety:
        return
    if not own.safety:
        yield "safety is yes there"
    for key in ("untouched", "radio_input"):
        if getattr(own, key) and not getattr(shipped, key):
            yield f"{key} is no there"
    if shipped.needs_part and not own.needs_part:
        yield "needs_part is yes there"
    for key in ("functions", "ready_ends", "woken_by"):
        gone = [name for name in getattr(shipped, key) if name not in getattr(own, key)]
        if gone:
            yield f"{key} leaves out {' and '.join(gone)}"


def _refusal(shipped: Refusal, own: Refusal, reference: Reference) -> Iterator[str]:
    """A refusal keeps its two sides, or names wider ones, the same way round or turned."""
    was = (shipped.driver, shipped.driver_pole), (shipped.taker, shipped.taker_pole)
    now = (own.driver, own.driver_pole), (own.taker, own.taker_pole)

    def covers(wide: tuple[str, str | None], narrow: tuple[str, str | None]) -> bool:
        function = reference.functions.get(narrow[0])
        words = {narrow[0], "any", *([f"group:{function.group}"] if function else [])}
        return wide[0] in words and wide[1] in (None, narrow[1])

    if not any(all(covers(w, n) for w, n in zip(turned, was, strict=True)) for turned in (now, now[::-1])):
        yield f"it refuses {shipped.driver} with {shipped.taker} there"


def _against(meeting: Meeting, reference: Reference) -> Refusal | None:
    """A refusal of two whole groups, which a meeting of the shop's own would open. Inside one group the tails' poles decide."""
    ends = [reference.functions.get(name) for name in (meeting.driver, meeting.taker)]
    groups = [f"group:{function.group}" for function in ends if function is not None]
    if len(groups) < 2 or groups[0] == groups[1]:
        return None
    sides = [{meeting.driver, groups[0], "any"}, {meeting.taker, groups[1], "any"}]
    for rule in reference.refusals.values():
        for a, b in ((rule.driver, rule.taker), (rule.taker, rule.driver)):
            if a in sides[0] and b in sides[1] and rule.driver_pole is None and rule.taker_pole is None:
                return rule
    return None
