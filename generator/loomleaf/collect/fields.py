"""What becomes of a sheet's fields: which are answers to be kept, and which stay on the paper on purpose.

The names are the sheets' own, parts joined by two underscores: ``as-found__SM21-PAA__lamps``. On a fleet's sheet the second
part is the vehicle's plate; here it is taken out first, so that a name reads the same whatever the job.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping

from ..model.readings import Signature
from ..plan.answers import GATE, TITLES
from ..sheets.views import field_name
from .pdf import FilledSheet

_NAME = re.compile(r"(?=.{1,64}$)[a-z0-9]+(?:-[a-z0-9]+)*")
SIGNATURE_ROWS = ("made-by", "fitted-by", "checked-by", "inspected-again")

LEFT_ON_THE_PAPER: Mapping[str, str] = {
    r"(made|mated|spare)__.+": "a place-keeper: the circuit's reading tells whether it is made",
    r"(step|stop|fit-step|fit-stop)__.+": "a place-keeper while working",
    r"(sleep|airbag)-\d+__(started|earliest)": "the clock of a wait, over when the wait is; the airbags' own is never copied",
    r"gate-airbag__wait": "looked up in the vehicle maker's papers every time, never copied from an earlier job",
    r"(agreed-(by|how|when|price)|authorised__\d|received__\d)": "the customer's name and word: they belong into the job file",
    r"(estimated|handed-over)__\d": "signed towards the customer; his copy keeps it",
    r"part__more-\d+__(new|used|rebuilt)": "a part of the price without wires: the customer's copy keeps it",
    r"old-parts__\d": "the customer's choice: old_parts in the job file",
}
"""Names of fields that are not collected, as patterns, each with the reason."""


WAIT_WRITTEN = "written on the sheet"
"""What a readings file says of an airbag wait: that it was looked up. The time itself stays on the paper."""


CLOCK = re.compile(r"(?:sleep|airbag)-\d+__(?:started|earliest)")
"""Names of the boxes for the clock of a wait."""


def clocks_written(sheet: FilledSheet, plate: str, others: Iterable[str], *, alone: bool) -> bool:
    """Whether the clock of a wait was written for a vehicle: it stays on the paper, and that is said."""
    return any(CLOCK.fullmatch(bare) for bare, _ in of_vehicle(sheet.texts, plate, others, alone=alone))


def left_on_the_paper(bare: str) -> bool:
    """Whether a field (its plate taken out of the name) is not collected on purpose."""
    return any(re.fullmatch(pattern, bare) for pattern in LEFT_ON_THE_PAPER)


def own_name(name: str, plate: str, others: Iterable[str]) -> tuple[str, bool] | None:
    """A field's name without its plate, and whether the plate was there; None for a field of another vehicle.

    >>> own_name("as-found__SM21-PAA__lamps", "SM21 PAA", ["SM21 PAB"])
    ('as-found__lamps', True)
    >>> own_name("end__lamps", "SM21 PAA", ["SM21 PAB"]), own_name("end__SM21-PAB__lamps", "SM21 PAA", ["SM21 PAB"])
    (('end__lamps', False), None)
    """
    parts = name.split("__")
    if field_name(plate) in parts[1:]:
        at = parts.index(field_name(plate), 1)
        return "__".join([*parts[:at], *parts[at + 1 :]]), True
    return None if {field_name(p) for p in others} & set(parts[1:]) else (name, False)


def of_vehicle(
    values: Mapping[str, str] | Mapping[str, bool], plate: str, others: Iterable[str], *, alone: bool
) -> Iterator[tuple[str, str | bool]]:
    """The filled fields that speak of one vehicle, by their bare names; those without a plate where it is the only one."""
    around = tuple(others)
    for name, value in values.items():
        own = own_name(name, plate, around) if value else None
        if own is not None and (own[1] or alone):
            yield own[0], value


def answers_of(sheet: FilledSheet, plate: str, others: Iterable[str], *, alone: bool) -> dict[str, dict[str, str]]:
    """What was answered about one vehicle, by the sheet's headings, in their order.

    A tick answers with its own word (``works``, ``no``), or with yes; two ticks of one question answer with both. What stops
    work comes along when it was left empty, so that this is seen; of a wait only that it was written.
    """
    around = tuple(others)
    out: dict[str, dict[str, str]] = {heading: {} for heading in TITLES}

    def keep(heading: str, key: str, text: str) -> None:
        if not _NAME.fullmatch(key):
            return
        there = out[heading].get(key, "")
        out[heading][key] = f"{there} and {text}" if there else text

    for bare, value in of_vehicle(sheet.texts, plate, around, alone=alone):
        heading, _, key = bare.partition("__")
        if heading in out and key and not left_on_the_paper(bare):
            keep(heading, key.lower(), str(value))
    for bare, _ in of_vehicle(sheet.ticks, plate, around, alone=alone):
        heading, *rest = bare.split("__")
        if heading.startswith("teach-") and rest:
            keep("wheel-buttons", heading.removeprefix("teach-").lower(), _TAUGHT.get(rest[0], rest[0]))
        elif heading in out and rest and not left_on_the_paper(bare):
            keep(heading, rest[0].lower(), rest[1] if len(rest) > 1 else "yes")
    for name in (*sheet.texts, *sheet.ticks):
        own = own_name(name, plate, around)
        heading, _, key = (own[0] if own is not None and (own[1] or alone) else "").partition("__")
        if heading == GATE and _NAME.fullmatch(key):
            out[GATE].setdefault(key, WAIT_WRITTEN if key == "wait" and sheet.texts.get(name) else "")
    return {heading: answers for heading, answers in out.items() if answers}


_TAUGHT = {
    "taught": "taught",
    "long": "long press taught",
    "lights": "works with lights on",
    "left": "works at full left lock",
    "right": "works at full right lock",
}


def signatures_of(sheet: FilledSheet, plate: str, others: Iterable[str], *, alone: bool) -> tuple[Signature, ...]:
    """Every signed row that is this vehicle's or the whole sheet's: who, and when as written; its hold points unsigned too."""
    around = tuple(others)
    rows: dict[str, dict[str, str]] = {}
    for name, text in sheet.texts.items():
        own = own_name(name, plate, around) if text or name.startswith("hold__") else None
        row, _, cell = (own[0] if own is not None else "").rpartition("__")
        hold = row.startswith("hold__") and _NAME.fullmatch(row.removeprefix("hold__"))
        if row in SIGNATURE_ROWS or (hold and own is not None and (own[1] or alone)):
            rows.setdefault(row.removeprefix("hold__"), {})[cell] = text
    return tuple(
        Signature(
            row=row,
            by=", ".join(dict.fromkeys(cells[c] for c in ("1", "2") if cells.get(c))),
            when=cells.get("3", ""),
        )
        for row, cells in rows.items()
    )
