"""What came back from a filled sheet, and frozen copies of cleared revisions."""

from __future__ import annotations

import re
from typing import Annotated, Any

from pydantic import Field

from .base import Content, Day, Id, Several, Text


def check_name(text: str) -> str:
    """The stable name of a check, for form fields and readings: small letters, digits, hyphens.

    >>> check_name("loaded-gulland-8/A.4")
    'loaded-gulland-8-a-4'
    """
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")


class ReadingBack(Content):
    """One reading as it was written on the sheet, by its stable check name. Empty text: nothing was filled in."""

    check: Text
    reading: Text = ""
    result: Text = ""  # pass or fail as ticked
    initials: Text = ""
    note: Text = ""


class PartSerial(Content):
    part: Id
    serial: Text = ""
    firmware: Text = ""
    condition: Text = ""  # new, used or rebuilt, as ticked


class Signature(Content):
    """A row of the sheet that somebody signed, a hold point or who did the work; the day as written."""

    row: Id
    by: Text = ""
    when: Text = ""


class Readings(Content):
    """readings/JOB-REV.yaml: everything a filled sheet said, one file a vehicle and revision.

    ``digest`` is the one printed on the sheet: readings clear only what they were taken on. ``minutes`` are by operation.
    ``found`` are surprises that the next fitter should know of; ``notes`` stay with the job. ``answers`` are what else was
    written or ticked, by the sheet's heading and then by what was asked. ``sheet`` is the kind of sheet it came from.
    """

    job: Text
    revision: Text
    registration: Text = ""
    digest: Text = ""
    on: Day | None = None
    by: Text = ""
    checked_by: Text = ""  # the second pair of initials
    sheet: Text = ""
    readings: Annotated[tuple[ReadingBack, ...], Several] = ()
    minutes: dict[Id, Text] = Field(default_factory=dict)
    parts: Annotated[tuple[PartSerial, ...], Several] = ()
    odometer_out: Text = ""
    answers: dict[Id, dict[Id, Text]] = Field(default_factory=dict)
    signatures: Annotated[tuple[Signature, ...], Several] = ()
    found: Annotated[tuple[Text, ...], Several] = ()
    notes: Annotated[tuple[Text, ...], Several] = ()


class Issued(Content):
    """issued/JOB-REV.yaml: a frozen copy of what was cleared.

    ``inputs`` holds the job, its vehicle and its leads as they were written, without the customer and free words.
    """

    job: Text
    revision: Text
    digest: Text
    to: Text = ""
    cleared_by: Text = ""
    and_by: Text = ""
    on: Day | None = None
    inputs: dict[Text, Any] = Field(default_factory=dict)
