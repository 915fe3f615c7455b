"""One job as it stands: whose vehicle, what is asked, which parts, what is proved, what is agreed."""

from __future__ import annotations

import re
from datetime import date
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema

from .base import Amount, Content, Day, Id, LengthMm, Number, ReadingValue, Several, Text, Whole, YesNo, fault
from .reference import Condition

WORK_AREAS = (
    "dash-centre",
    "dash-left",
    "dash-right",
    "steering-wheel",
    "column",
    "console",
    "front-doors",
    "rear-doors",
    "tailgate",
    "boot",
    "seat",
    "pillar",
    "roof",
    "engine-bay",
    "floor",
    "bumper",
)
SRS_AREAS = frozenset(
    {
        "dash-centre",
        "dash-left",
        "dash-right",
        "steering-wheel",
        "column",
        "console",
        "seat",
        "pillar",
        "roof",
        "front-doors",
    }
)

RADIO_AREAS = ("dash-centre", "dash-left", "dash-right", "console", "roof")
"""Where a radio and its plugs may sit; common practice, no source."""

_NUMBER = re.compile(r"[A-Za-z0-9][A-Za-z0-9-]{0,15}")
_TAIL = re.compile(r"(?P<lead>[a-z0-9]+(?:[-.][a-z0-9]+)*)/(?P<at>[A-Za-z0-9][A-Za-z0-9+_.-]{0,40})")


def job_number(value: Any) -> str:
    """The number of a job: letters, digits and hyphens. Raises ValueError."""
    text = str(value).strip() if isinstance(value, (str, int)) else ""
    if not _NUMBER.fullmatch(text):
        raise fault("bad-id", f"'{str(value)[:60]}' cannot be a job number", "letters, digits and hyphens, at most 16")
    return text


def _tail_name(value: Any) -> str:
    text = str(value).strip() if isinstance(value, str) else ""
    if not _TAIL.fullmatch(text):
        raise fault(
            "bad-tail-name", f"'{str(value)[:60]}' does not name a tail", "write lead/plug.way, e.g. corvane-16/A.7"
        )
    return text


JobNumber = Annotated[str, BeforeValidator(job_number), WithJsonSchema({"type": "string"})]
TailName = Annotated[str, BeforeValidator(_tail_name), WithJsonSchema({"type": "string"})]


class Customer(Content):
    name: Text
    contact: Text = ""


def _registration(value: Any) -> Any:
    return {"plate": value} if isinstance(value, str) else value


class Registration(Content):
    """One vehicle of the job. ``differs`` says how it differs from the others, in words. ``second_battery`` is where this one
    has a second battery: its lead is taken off in a step of its own."""

    plate: Text = Field(min_length=1, max_length=20)
    odometer: Text = ""
    odometer_out: Text = ""
    trim: Text = ""
    differs: Text = ""
    second_battery: Text = ""


class AirbagWait(Content):
    """Only from the vehicle maker's service information; all three or none."""

    value: Text = ""
    source: Text = ""
    page: Text = ""


class GiveUp(Content):
    """A feature the customer agrees to lose. ``told_customer`` None: not told yet."""

    feature: Id
    told_customer: Day | None = None
    by: Text = ""


class Proof(Content):
    """A meter reading on a vehicle way. ``registration`` is wanted when the job has several vehicles."""

    tail: TailName
    condition: Condition
    reading: ReadingValue
    load: Text = ""
    between: Text = ""
    by: Text = ""
    on: Day | None = None
    registration: Text = ""
    shows: Id | None = None  # the function the meter showed, when it is another than the leaflet's


class Clearing(Content):
    """A person's word that the job may go on, with the digest of what it was given for.

    ``and_by`` is the second person, where the shop wants two pairs of initials.
    """

    to: Literal["build", "plug-in"]
    by: Text
    and_by: Text = ""
    on: Day
    digest: Text


class Agreement(Content):
    """The customer's go-ahead: who agreed, how, when, to what price. Several add up: ``amount`` is what this one adds."""

    who: Text = ""
    how: Text = ""
    on: Day | None = None
    amount: Text = ""
    for_: Text = Field(default="", alias="for")


class Extra(Content):
    """Work or a part that stands on the estimate beside what the plan works out, once for the whole job.

    ``price`` and ``minutes`` are for one; ``quantity`` says how many. ``rate`` and ``tax`` name other ones of shop.yaml.
    ``registration`` ties it to one vehicle of a fleet. ``added`` is set for what came after the customer's go-ahead:
    then somebody has to agree to it (``agreed_by``, ``agreed_how``, ``agreed_on``).
    """

    what: Text
    price: Text = ""
    minutes: Amount | None = None
    rate: Id | None = None
    tax: Id | None = None
    quantity: Whole = Field(default=1, ge=1, le=10000)
    registration: Text = ""
    added: Day | None = None
    agreed_by: Text = ""
    agreed_how: Text = ""
    agreed_on: Day | None = None


class Taken(Content):
    """Something the job takes from the shelf besides leads and joints: a fascia, a cage, an antenna adapter, a removal
    tool. ``quantity`` is for one vehicle; a tool is taken once and comes back."""

    item: Id  # of stock.yaml
    quantity: Amount = Field(default=1, gt=0)
    why: Text = ""


def _taken(value: Any) -> Any:
    return {"item": value} if isinstance(value, str) else value


class ComeBack(Content):
    """The vehicle came back. ``circuit`` and ``method`` say where it failed; an empty method is taken from the plan.

    ``registration`` says which vehicle of a fleet it was: then the days count from that one's readings.
    """

    on: Day
    symptom: Text
    registration: Text = ""
    circuit: Text = ""
    method: Id | None = None
    outside_c: Number | None = None
    cause: Text = ""
    put_right: Text = ""


class Crew(Content):
    fitter: Text = ""
    apprentice: Text = ""
    checker: Text = ""
    high_voltage: Text = ""


class Job(Content):
    job: JobNumber
    revision: Text = "A"
    replaces: Text = ""
    booked: Day | None = None
    issued: Day
    customer: Customer
    vehicle: Id
    registrations: Annotated[
        tuple[Annotated[Registration, BeforeValidator(_registration)], ...], Several, Field(min_length=1)
    ]
    work_areas: Annotated[tuple[Literal[WORK_AREAS], ...], Several] = ()  # type: ignore[valid-type]
    high_voltage: Literal["none", "48 V", "high voltage"]
    trained: Text = ""  # who is trained, when there is high voltage
    airbag_wait: AirbagWait = AirbagWait()
    request: Text
    parts: Annotated[tuple[Id, ...], Several, Field(min_length=1)]
    keep: Annotated[tuple[Id, ...], Several] = ()
    give_up: Annotated[tuple[GiveUp, ...], Several] = ()
    feed: dict[Text, Text] = Field(default_factory=dict)
    joining: dict[Id, Id] = Field(default_factory=dict)
    places: Annotated[tuple[Literal["dry", "damp", "flexing", "hot"], ...], Several] = ("dry",)
    route_mm: dict[Id, LengthMm] = Field(default_factory=dict)
    proofs: Annotated[tuple[Proof, ...], Several] = ()
    cleared: Annotated[tuple[Clearing, ...], Several] = ()
    crew: Crew = Crew()
    agreed: Annotated[tuple[Agreement, ...], Several] = ()
    extras: Annotated[tuple[Extra, ...], Several] = ()
    discount_percent: Amount = Field(default=0, le=100)
    deposit: Text = ""
    old_parts: Literal["returned", "kept", ""] = ""
    removed_radio_asked: YesNo = False
    minutes_spent: dict[Id, Amount] = Field(default_factory=dict)
    come_backs: Annotated[tuple[ComeBack, ...], Several] = ()
    takes: Annotated[tuple[Annotated[Taken, BeforeValidator(_taken)], ...], Several] = ()
    note: Text = ""  # internal, never on the customer's paper
    customer_note: Text = ""

    @property
    def issued_text(self) -> str:
        return long_date(self.issued)


def long_date(day: date) -> str:
    """12 May 2026: the same in every locale.

    >>> long_date(date(2026, 5, 12))
    '12 May 2026'
    """
    months = [
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ]
    return f"{day.day} {months[day.month - 1]} {day.year}"
