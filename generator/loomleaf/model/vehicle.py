"""A vehicle the shop has seen: what it can do today, its battery, feed, loudspeakers and room behind the radio."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from .base import Amount, Content, Id, LengthMm, Number, Several, SizeValue, Text, Whole, YesNo
from .job import WORK_AREAS


def _feature(value: Any) -> Any:
    return {"feature": value} if isinstance(value, str) else value


class VehicleFeature(Content):
    """``required`` marks what was fitted as required equipment: it then counts as safety."""

    feature: Id
    required: YesNo = False
    note: Text = ""


class Battery(Content):
    """``place`` is where it sits; ``area`` the work area of that place, where it is one that may hold an airbag: it then stands
    at the airbag gate of every job, named there or not. ``second`` is where a second battery of every such vehicle sits."""

    capacity_ah: Amount | None = None
    type: Literal["flooded", "efb", "agm", "lithium"] = "flooded"
    sensor: YesNo | None = None  # a current sensor on the post; None is not known
    place: Text = ""
    area: Literal[WORK_AREAS] | None = None  # type: ignore[valid-type]
    second: Text = ""
    standby_ma: Amount | None = None  # the vehicle's own key-off draw
    aged: Amount = 1.0  # of the rated capacity


class RadioFeed(Content):
    """The maker's fuse and cable to the radio. ``load_a`` is what else already hangs on that fuse.

    ``switched_cable`` and ``switched_mm`` are the cable behind the switched supply; ``ground_cable`` and ``ground_mm`` are
    the maker's own ground wire, from the plug to where it is bolted to the body. ``place`` is where the fuse sits;
    ``switched_place`` where the switched one does, "" for the same.
    """

    fuse_a: Amount | None = None
    fuse_kind: Id = "blade"
    cable: SizeValue | None = None
    length_mm: LengthMm | None = None
    load_a: Amount = 0
    switched_fuse_a: Amount | None = None
    switched_cable: SizeValue | None = None
    switched_mm: LengthMm | None = None
    ground_cable: SizeValue | None = None
    ground_mm: LengthMm | None = None
    place: Text = ""
    switched_place: Text = ""


class Loudspeaker(Content):
    """``load`` is a network of impedances in Ω, e.g. "4", "4 || 4", "(4 + 4) || 8"."""

    at: Id  # front-left …
    load: Text = "4"
    crossover: YesNo = False
    note: Text = ""


class WheelButtons(Content):
    """A resistor ladder: Ω by button, measured against ``reference``."""

    wire: Id = "wheel-button-1"
    reference: Text = "wheel-ground"
    buttons: dict[Id, Amount] = Field(default_factory=dict)
    long_press: Annotated[tuple[Id, ...], Several] = ()
    source: Text = ""


class Opening(Content):
    """Room behind the radio, mm; None is not measured."""

    depth_mm: Amount | None = None
    width_mm: Amount | None = None
    height_mm: Amount | None = None
    loom_mm: Amount | None = None  # widest bundle that passes
    note: Text = ""


class RemovedRadio(Content):
    """What the radio taken out may carry; None is not known and is asked for before work."""

    bus_gateway: YesNo | None = None
    codes: YesNo | None = None
    telematics: YesNo | None = None
    customer_data: YesNo | None = None


class Vehicle(Content):
    vehicle: Id
    title: Text
    maker: Text
    model: Text
    years: Text = ""
    trim: Text = ""
    sound: Text = ""  # the exact sound option
    system_volts: Number = 12
    positive_ground: YesNo = False
    supply: Literal["plain", "start-stop", "smart-charging"] = "plain"
    body: Literal["steel", "bonded", "aluminium"] = "steel"
    high_voltage: Literal["none", "48 V", "high voltage"] = "none"
    battery: Battery = Battery()
    feed: RadioFeed = RadioFeed()
    features: Annotated[tuple[Annotated[VehicleFeature, BeforeValidator(_feature)], ...], Several] = ()
    speakers: Annotated[tuple[Loudspeaker, ...], Several] = ()
    wheel_buttons: Annotated[tuple[WheelButtons, ...], Several] = ()
    opening: Opening = Opening()
    removed_radio: RemovedRadio = RemovedRadio()
    ground_point: Text = ""
    ground_stud: Literal["prepared", "body-screw", "battery-post", "seat-belt", "airbag", "fuel-system"] | None = None
    bulbs_checked: YesNo = False
    note: Text = ""
    years_seen: Annotated[tuple[Whole, ...], Several] = ()
