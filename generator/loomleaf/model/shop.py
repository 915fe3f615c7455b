"""The shop's own settings and its stock."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from .base import Amount, Content, Id, LengthMm, Several, SizeValue, Text, Whole, YesNo


class Rates(Content):
    """Money as text with a decimal point; currency and rounding stand in ``Shop``."""

    labour_hour: Text = "0"
    others: dict[Id, Text] = Field(default_factory=dict)
    operations: dict[Id, Id] = Field(default_factory=dict)  # operation to the name of its rate, labour-hour otherwise


class Tax(Content):
    """``others`` are further taxes by name, in percent. ``uses`` says which one a kind of line has: labour, part,
    material or extra; ``percent`` otherwise."""

    name: Text = "tax"
    percent: Text = "0"
    included: YesNo = False  # prices in the files already include it
    others: dict[Id, Text] = Field(default_factory=dict)
    uses: dict[Literal["labour", "part", "material", "extra"], Id] = Field(default_factory=dict)


class SupplySettings(Content):
    """Resistances and limits of the supply network; common practice unless the shop has measured its own."""

    cabin_c: Amount = Field(default=65, ge=20, le=105)
    fuse_holder_mohm: Amount = Field(default=5, le=1000)
    fuse_mohm: Amount = Field(default=6, le=1000)
    contact_mohm: Amount = Field(default=5, le=1000)
    joint_mohm: Amount = Field(default=1, le=1000)
    ground_fixing_mohm: Amount = Field(default=2, le=1000)
    battery_mohm: Amount = Field(default=15, le=1000)
    chassis_mohm: Amount = Field(default=1, le=1000)
    weakest_v: Amount = 11.5
    running_v: Amount = 13.8
    highest_v: Amount = 15.0
    drop_limit_v: Amount = Field(default=0.5, gt=0, le=15)
    ground_offset_limit_v: Amount = Field(default=0.1, gt=0, le=1)
    continuous_factor: Amount = Field(default=0.75, gt=0, le=1)
    fuse_from_battery_mm: LengthMm = Field(default=300, le=1000)
    standby_limit_ma: Amount = 50
    standby_from_soc: Amount = Field(default=80, le=100)
    standby_to_soc: Amount = Field(default=65, le=100)
    turn_on_default_ma: Amount = 150


class LoomSettings(Content):
    station_pitch_mm: Amount = Field(default=25, ge=1)
    overlap_mm: Amount = 8
    tape_width_mm: Amount = Field(default=19, ge=1)
    tape_overlap: Amount = Field(default=0.5, lt=1)
    tie_every_mm: Amount = Field(default=150, ge=10)
    first_joint_mm: Amount = 60  # nearest to the plug
    waste_percent: Amount = Field(default=10, le=100)


class LabelSheet(Content):
    """Geometry of a die-cut label sheet, mm."""

    columns: Whole = 5
    rows: Whole = 13
    width_mm: Amount = 38.1
    height_mm: Amount = 21.2
    left_mm: Amount = 4.75
    top_mm: Amount = 10.7
    pitch_x_mm: Amount = 40.6
    pitch_y_mm: Amount = 21.2
    start: Whole = 1


LETTER_LABELS = LabelSheet(
    columns=3,
    rows=10,
    width_mm=66.7,
    height_mm=25.4,
    left_mm=4.8,
    top_mm=12.7,
    pitch_x_mm=69.85,
    pitch_y_mm=25.4,
)
"""A common sheet of 30 labels on Letter, from memory: a shop measures its own."""


class Spread(Content):
    """How far one operation's minutes may fall and rise, as a share of its standard."""

    low: Amount = Field(le=1)
    high: Amount = Field(ge=1, le=20)


OPERATIONS = (
    "spare",
    "check",
    "remove-radio",
    "fit-radio",
    "fit-module",
    "fit-accessory",
    "tape",
    "hand-over",
)
"""What a job's minutes may ask for beside the ways of joining in the reference and the opening of work areas."""


class Minutes(Content):
    """Standard minutes by operation. ``invented`` until the shop's own figures replace them.

    ``spread`` is for operations whose range is another than ``low_factor`` to ``high_factor``. ``unproved_way`` are minutes
    that each way may cost more as long as no meter has proved it: it widens the range upwards.
    """

    set_up: Amount = 30
    operations: dict[Id, Amount] = Field(default_factory=dict)
    access: dict[Id, Amount] = Field(default_factory=dict)  # opening and closing a work area, once a vehicle
    repeat_factor: Amount = 0.85
    low_factor: Amount = 0.8
    high_factor: Amount = 1.4
    spread: dict[Id, Spread] = Field(default_factory=dict)
    unproved_way: Amount = 0


def overdue(instrument: Mapping[str, str], day: date) -> bool:
    """Whether an instrument had to be calibrated before a day. One without a date, or with words for one, is not judged.

    >>> overdue({"name": "M1", "due": "2026-05-11"}, date(2026, 5, 12)), overdue({"due": "in spring"}, date(2026, 5, 12))
    (True, False)
    """
    try:
        return date.fromisoformat(instrument.get("due", "")) < day
    except ValueError:
        return False


class Shop(Content):
    """shop.yaml. ``site`` is the address of the published handbook, empty for none."""

    name: Text
    town: Text = ""
    contact: Text = ""
    invented: YesNo = False  # true for the demo: its papers say so
    currency: Text = "EUR"
    decimals: Whole = Field(default=2, ge=0, le=3)
    round_total_to: Text = ""  # smallest step of the total where there are no small coins, for example "0.05"
    rates: Rates = Rates()
    tax: Tax = Tax()
    paper: Literal["A4", "Letter"] = "A4"
    language: Text = "en"
    site: Text = ""
    warranty: Text = ""
    legal: Text = ""  # local wording for the customer's papers, off by default
    valid_days: Whole = Field(default=30, ge=0, le=3650)
    revisions: Text = "the job file in the shop's folder"  # where the current revision is found
    two_signatures: YesNo = False
    colour_codes: YesNo = False
    supply: SupplySettings = SupplySettings()
    loom: LoomSettings = LoomSettings()
    labels: LabelSheet = LabelSheet()  # on A4
    labels_letter: LabelSheet = LETTER_LABELS  # on Letter
    minutes: Minutes = Minutes()
    instruments: Annotated[tuple[dict[str, Text], ...], Several] = ()
    tools: Annotated[tuple[Text, ...], Several] = ()
    come_back: Text = ""
    after_care: Annotated[tuple[Text, ...], Several] = ()


class StockItem(Content):
    """One thing on the shelf. Size ranges in mm² of conductor area (see methods), or the sleeve item it is."""

    title: Text
    kind: Literal[
        "connector",
        "closed-end",
        "sleeve",
        "solder",
        "cable",
        "tape",
        "fuse",
        "tie",
        "relay",
        "part",
        "terminal",
        "diode",
        "fascia",
        "cage",
        "stud",
        "coat",
        "grommet",
        "adapter",
        "tool",
    ]
    method: Id | None = None
    low_mm2: Amount | None = None
    high_mm2: Amount | None = None
    outside_mm: Amount | None = None
    length_mm: LengthMm | None = None
    strip_mm: Amount | None = None
    sleeve: Text | None = None  # an entry of the sleeve table
    size: SizeValue | None = None
    rating_a: Amount | None = None
    colour: Text = ""
    price: Text = "0"
    pack: Whole = 1
    unit: Literal["each", "m", "pack"] = "each"
    on_hand: Amount = 0
    lined: YesNo = False
    part: Id | None = None


class Stock(Content):
    stock: dict[Id, StockItem] = Field(default_factory=dict)
