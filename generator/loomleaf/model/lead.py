"""Leads: sets of conductors with a plug on one end and free tails on the other, and parts that have such tails."""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema

from .base import Amount, ColourValue, Content, Id, LengthMm, Number, Several, SizeValue, Text, Whole, YesNo, fault
from .reference import Pole, Side

KnownFrom = Literal["leaflet", "meter", "colour"]

_AT = re.compile(r"[A-Za-z0-9][A-Za-z0-9+_-]{0,23}(?:\.[A-Za-z0-9+_-]{1,12})?")


def _at(value: Any) -> str:
    text = str(value).strip() if isinstance(value, (str, int)) else ""
    if not _AT.fullmatch(text):
        raise fault("bad-way", f"'{value}' is not a place on a lead", "write plug.way, for example A.4, or a name")
    return text


At = Annotated[str, BeforeValidator(_at), WithJsonSchema({"type": "string", "examples": ["A.4", "blue-white"]})]


class Plug(Content):
    """A moulded connector of the lead. ``type`` is a connector type of the reference."""

    name: Text
    type: Id
    ways: Whole = Field(ge=1, le=200)
    note: Text = ""


class Tail(Content):
    """One free conductor. ``known_from`` None takes the lead's. ``role`` None takes the function's rule by side.

    ``feed`` tells a dash supply from one that comes from the battery. The attributes from ``volts`` to ``video``
    override the function's; None means as the function says.
    """

    at: At
    function: Id
    pole: Pole | None = None
    colour: ColourValue | None = None
    size: SizeValue | None = None
    length_mm: LengthMm | None = None
    known_from: KnownFrom | None = None
    role: Literal["drives", "takes"] | None = None
    feed: Literal["dash", "battery"] = "dash"
    volts: Number | None = None
    signal: Literal["steady", "pulsed"] | None = None
    sense: Literal["to-12v", "to-ground"] | None = None
    wiring: Literal["bridged", "common-return", "balanced", "single-ended"] | None = None
    carries: Literal["wire", "data"] | None = None
    video: Literal["pal", "ntsc", "ahd", "digital"] | None = None
    gives_ma: Amount | None = None
    takes_ma: Amount | None = None
    needed: YesNo | None = None
    strands: Literal["plain", "tinned"] = "plain"
    conductor: Literal["copper", "copper-alloy", "aluminium"] = "copper"
    terminal: Id | None = None
    fuse_a: Amount | None = None
    note: Text = ""


class ReadyEnd(Content):
    """A connection that mates as it is. ``volts`` is what it gives or takes, where it carries a supply; None is not said."""

    name: Id
    type: Id
    needed: YesNo = False
    volts: Number | None = None
    note: Text = ""


class Limits(Content):
    """What a part can give or bear. None is not stated by its maker."""

    turn_on_ma: Amount | None = None
    antenna_ma: Amount | None = None
    accessory_ma: Amount | None = None
    off_delay_s: Amount | None = None
    speaker_minimum_ohm: Amount | None = None
    speaker_power_w: Amount | None = None
    line_out_v: Amount | None = None
    sensitivity_low_v: Amount | None = None
    sensitivity_high_v: Amount | None = None
    speaker_level_v: Amount | None = None
    power_w: Amount | None = None
    power_ohm: Amount | None = None
    lowest_supply_v: Amount | None = None
    highest_supply_v: Amount | None = None


class Draws(Content):
    """Current a part takes, A; ``standby_ma`` with the key off."""

    running_a: Amount = 0
    peak_a: Amount = 0
    standby_ma: Amount = 0


class WheelInput(Content):
    """The radio's wheel-button input: pull-up resistor, its supply, tolerances."""

    pull_up_ohm: Amount
    supply_v: Amount
    pull_up_tolerance_percent: Amount = 5
    tolerance_percent: Amount = 5
    contact_ohm: Amount = 20


class PartSize(Content):
    depth_mm: Amount | None = None
    width_mm: Amount | None = None
    height_mm: Amount | None = None
    clearance_mm: Amount | None = None


class Lead(Content):
    """A lead or a part with tails. ``provides`` names features it gives or keeps; ``changes`` how others are altered."""

    lead: Id
    title: Text
    side: Side
    kind: Literal["plain", "active", "data"] = "plain"
    known_from: KnownFrom
    leaflet: Text = ""
    exact: Text = ""  # exact model and firmware as printed on the part
    plugs: Annotated[tuple[Plug, ...], Several] = ()
    tails: Annotated[tuple[Tail, ...], Several] = ()
    ready_ends: Annotated[tuple[ReadyEnd, ...], Several] = ()
    limits: Limits = Limits()
    draws: Draws = Draws()
    fuse_a: Amount | None = None  # the part's own fuse; that rating is kept
    provides: Annotated[tuple[Id, ...], Several] = ()
    changes: dict[Id, Text] = Field(default_factory=dict)
    stops: Annotated[tuple[Id, ...], Several] = ()
    wheel_input: WheelInput | None = None
    load: Text = ""  # a loudspeaker's own impedances in Ω, written as in the vehicle's file
    measures: PartSize = PartSize()
    price: Text = ""
    firmware: Text = ""
    use: Annotated[tuple[Text, ...], Several] = ()  # how the customer uses it, one sentence each
    note: Text = ""
