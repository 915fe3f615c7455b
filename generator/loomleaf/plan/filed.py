"""Which readings files are of a vehicle, in what order, and whether they speak of what stands now."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from ..check.library import Entry
from ..model.job import Job
from ..model.readings import Readings


def plate_key(plate: str) -> str:
    """A registration for comparing: no spaces, capitals.

    >>> plate_key("sm16 hrn")
    'SM16HRN'
    """
    return "".join(plate.split()).upper()


def files_of(
    job: Job, plate: str, readings: Iterable[Entry[Readings]], *, every_issue: bool = False
) -> tuple[Entry[Readings], ...]:
    """The readings files of one vehicle at the job's revision, oldest first: by date, then by the number in the name.

    ``every_issue`` takes those of its other revisions along: for what stays known whatever is issued, minutes and things
    found, never for what proves anything. A file without a day is left out where another says the same with its day: the
    sheet was collected again.
    """
    own = []
    for entry in readings:
        value = entry.value
        single = not value.registration and len(job.registrations) == 1
        same = plate_key(value.registration) == plate_key(plate)
        of_it = value.job == job.job and (every_issue or value.revision == job.revision)
        if of_it and (single or same):
            own.append(entry)
    dated = [e.value for e in own if e.value.on is not None]
    own = [e for e in own if e.value.on is not None or not any(but_for_its_day(e.value, other) for other in dated)]
    return tuple(sorted(own, key=lambda e: (e.value.on.isoformat() if e.value.on else "", *_number_in(e.document.file))))


def but_for_its_day(one: Readings, other: Readings) -> bool:
    """Whether two files say the same of the same vehicle, their days and the days beside the signatures left aside."""
    return _without_days(one) == _without_days(other)


def _without_days(value: Readings) -> Readings:
    rows = tuple(row.model_copy(update={"when": ""}) for row in value.signatures)
    return value.model_copy(update={"on": None, "signatures": rows})


def _number_in(file: str) -> tuple[str, int]:
    stem = file.rsplit("/", 1)[-1].removesuffix(".yaml")
    match = re.fullmatch(r"(?P<base>.*)\.(?P<number>\d+)", stem)
    return (match["base"], int(match["number"])) if match else (stem, 1)


def taken_on(value: Readings, digest: str) -> bool:
    """Whether a file was filled in for exactly this content; at least eight characters of the digest are wanted."""
    return len(value.digest) >= 8 and digest.startswith(value.digest)


def same_digest(one: str, other: str) -> bool:
    """Whether two digests, perhaps shortened by whoever typed them, name the same content.

    >>> same_digest("0123456789abcdef", "0123456789"), same_digest("0123456", "0123456")
    (True, False)
    """
    return min(len(one), len(other)) >= 8 and (one.startswith(other) or other.startswith(one))


def counts_for(value: Readings, digest: str) -> bool:
    """Whether what passed in a file counts: it was filled in for exactly this content, and bears a day."""
    return value.on is not None and taken_on(value, digest)


def in_order(files: Sequence[Entry[Readings]]) -> tuple[Entry[Readings], ...]:
    """Oldest first, those without a day behind all others."""
    return (*(e for e in files if e.value.on is not None), *(e for e in files if e.value.on is None))
