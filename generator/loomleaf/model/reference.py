"""The shop's reference: wire functions, connector types, joining methods, features, cautions, rules of meeting, sources.

A reference file may hold any of the top-level keys of ``ReferenceFile``; entries of the shop's own files replace the
shipped entries of the same name, one by one.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from .base import Amount, ColourValue, Content, Id, Number, Several, StandingValue, Text, Whole, YesNo

Side = Literal["vehicle", "radio", "module", "accessory"]
Group = Literal["supply", "ground", "control", "speaker", "line", "video", "data", "safety"]
Pole = Literal["plus", "minus", "shield", "high", "low"]
Condition = Literal[
    "asleep", "awake", "accessory", "key-on", "cranking", "lights-on", "reverse", "door-open", "unplugged", "any"
]


GROUPS: tuple[tuple[str, str, str], ...] = (
    ("supply", "S", "Supply"),
    ("ground", "G", "Ground"),
    ("control", "C", "Control"),
    ("speaker", "L", "Loudspeakers"),
    ("line", "A", "Line level"),
    ("video", "V", "Video"),
    ("data", "D", "Data"),
    ("safety", "X", "Never joined"),
)
"""Group of the wire function, the letter its circuits' numbers begin with, and the heading on paper, in working order."""


class Sourced(Content):
    """Anything that says where it comes from."""

    source: Id
    standing: StandingValue


class UsualColour(Sourced):
    """A colour convention for one function (and pole). A hint, never proof."""

    colour: ColourValue
    pole: Pole | None = None


class ExpectedReading(Content):
    """What a meter shows at a tail in one condition. ``low``/``high`` are None when that side is open.

    ``open`` expects an open circuit (OL). ``needed`` readings are those without which the tail is not proved.
    """

    condition: Condition
    also: Text = ""  # what else must be so, in words: "lights off"
    quantity: Literal["V", "Vac", "Ω", "mA"]
    low: Number | None = None
    high: Number | None = None
    open: YesNo = False
    load: Text = ""
    pole: Pole | None = None
    between: Text = ""  # where the probes go, in words
    note: Text = ""
    needed: YesNo = False
    source: Id = "common-practice"
    standing: StandingValue = Field(default="common-practice")  # type: ignore[assignment]

    @property
    def window(self) -> str:
        """The window in words: "11.8 to 13.2 V"."""
        if self.open:
            return "OL (open)"
        low, high, unit = self.low, self.high, self.quantity
        if low is not None and high is not None:
            return f"{low:g} to {high:g} {unit}"
        if high is not None:
            return f"{high:g} {unit} or less"
        if low is not None:
            return f"{low:g} {unit} or more"
        return f"a reading in {unit}"


class WireFunction(Sourced):
    """What a conductor is for.

    ``drivers`` are the sides that drive it; every other side takes. ``combine`` says how several drivers may be
    brought together (none, diode, relay, or bus for a data pair). ``unfed`` says what an undriven taker is.
    ``unused`` says what a driver with no taker is. ``shown`` says when ``shows`` can be seen: as soon as the radio is
    plugged in, once buttons are taught, or on a drive (then it is tried at hand-over, trim back and lamps out).
    ``never`` entries are words for people; the rules the planner uses
    stand in ``refusals``.
    """

    title: Text
    group: Group
    order: Whole = 0  # position inside its group on paper
    does: Text
    short: Text = ""  # at most three words, for labels and drawings
    shows: Text = ""  # what is seen or heard at the radio or part when this circuit works; empty: it cannot be told apart
    shown: Literal["plugged-in", "taught", "driven"] = "plugged-in"
    drivers: Annotated[tuple[Side, ...], Several] = ()
    poles: Annotated[tuple[Pole, ...], Several] = ()
    combine: Literal["none", "diode", "relay", "bus"] = "none"
    unfed: Literal["wanting", "spare"] = "spare"
    unused: Literal["wanting", "spare"] = "spare"
    never: YesNo = False  # never joined to anything at all (airbag)
    data: YesNo = False  # only a data module's lead may meet it
    prove_on_vehicle: YesNo = False  # a vehicle tail of this function is proved by meter before plugging in
    volts: Number | None = None
    signal: Literal["steady", "pulsed"] | None = None
    sense: Literal["to-12v", "to-ground"] | None = None
    wiring: Literal["bridged", "common-return", "balanced", "single-ended"] | None = None
    colours: Annotated[tuple[UsualColour, ...], Several] = ()
    iso_10487: Annotated[tuple[Text, ...], Several] = ()
    din_72552: Annotated[tuple[Text, ...], Several] = ()
    readings: Annotated[tuple[ExpectedReading, ...], Several] = ()
    may_join: Annotated[tuple[Text, ...], Several] = ()
    must_never: Annotated[tuple[Text, ...], Several] = ()
    mistakes: Annotated[tuple[Text, ...], Several] = ()
    also_called: Annotated[tuple[Text, ...], Several] = ()
    related: Annotated[tuple[Id, ...], Several] = ()


class Meeting(Sourced):
    """A driver function that may feed a taker function of another name, and why."""

    driver: Id
    taker: Id
    why: Text
    only_when_chosen: YesNo = False  # used only when the job's ``feed`` names it


class Refusal(Sourced):
    """A join that is never made. ``driver`` and ``taker`` are function names, ``group:speaker`` or ``any``; poles optional.

    Refusals are looked at in both directions.
    """

    title: Text
    driver: Text
    driver_pole: Pole | None = None
    taker: Text
    taker_pole: Pole | None = None
    reason: Text


class Way(Content):
    way: Text
    function: Id | None = None
    colour: ColourValue | None = None
    note: Text = ""


class ConnectorType(Sourced):
    """A moulded connector or a ready-made end. ``rows`` lists the ways as seen from the mating face, row by row from the
    top with the latch up; an empty string is a blank place."""

    title: Text
    kind: Literal["plug", "coax", "line", "usb", "video", "microphone", "fuse-holder", "terminal"]
    does: Text
    ways: Whole = 1
    rows: Annotated[tuple[tuple[Text, ...], ...], Several] = ()
    latch: Text = ""
    pitch_mm: Amount | None = None
    contact_a: Amount | None = None
    mates: Annotated[tuple[Id, ...], Several] = ()
    pinout: Annotated[tuple[Way, ...], Several] = ()
    look_for: Annotated[tuple[Text, ...], Several] = ()
    mistakes: Annotated[tuple[Text, ...], Several] = ()


class Step(Content):
    """One action. ``only`` keeps it to joints of a supply or of a ground. ``where`` it is done in the vehicle it stands on
    the fitting sheet. ``takes`` is a kind of thing that it takes from the shelf, one a joint."""

    do: Text
    only: Literal["supply", "ground"] | None = None
    where: Literal["bench", "vehicle"] = "bench"
    takes: Literal["stud", "coat"] | None = None
    picture: Text = ""
    caution: Id | None = None


class JoiningMethod(Sourced):
    """How two or more tails are joined. ``suits`` names places: dry, damp, flexing, hot."""

    title: Text
    kind: Literal["crimp", "closed-end", "solder-inline", "solder-twist", "plug-in", "terminal", "sleeve"]
    does: Text
    low_mm2: Amount | None = None  # conductor area: in one end of a butt connector, of all tails elsewhere
    high_mm2: Amount | None = None
    tails_low: Whole = 2
    tails_high: Whole = 2
    suits: Annotated[tuple[Literal["dry", "damp", "flexing", "hot"], ...], Several] = ()
    sleeve: Literal["none", "plain", "lined"] = "none"
    item: YesNo = False  # made with a barrel, cap or ring of its own from stock; crimps always are
    solder: YesNo = False
    heat_gun: YesNo = False
    strip_mm: Amount | None = None
    minutes: Amount | None = None
    right_when: Annotated[tuple[Text, ...], Several] = ()
    wrong_when: Annotated[tuple[Text, ...], Several] = ()
    steps: Annotated[tuple[Step, ...], Several] = ()
    good: Annotated[tuple[Text, ...], Several] = ()
    bad: Annotated[tuple[Text, ...], Several] = ()
    fails_by: Annotated[tuple[Text, ...], Several] = ()
    inspect: Annotated[tuple[Text, ...], Several] = ()


class Feature(Sourced):
    """Something a vehicle can do today that a radio swap may touch.

    ``functions`` are the wire functions that carry it: the feature is kept when every one of them that the vehicle's
    leads bring is driven and taken. ``ready_ends`` likewise by name. With neither, it lives in the radio taken out and
    is lost unless a part provides it. ``woken_by`` are inputs that bring it up: one that a part of the job has and that
    nothing drives loses it. ``customer`` is how the customer's paper says it (a noun phrase).
    """

    title: Text
    customer: Text
    does: Text
    functions: Annotated[tuple[Id, ...], Several] = ()
    ready_ends: Annotated[tuple[Id, ...], Several] = ()
    woken_by: Annotated[tuple[Id, ...], Several] = ()
    radio_input: YesNo = False  # a radio with inputs of its own for every wire that carries it keeps it
    needs_part: YesNo = False  # joined wires alone do not keep it: a part must provide it
    untouched: YesNo = False  # a radio swap does not reach it
    safety: YesNo = False
    ask: Annotated[tuple[Text, ...], Several] = ()
    hand_over: Text = ""  # how it is shown to work at the end
    lost_in_words: Text = ""  # customer's words when it is lost
    kept_in_words: Text = ""


class Caution(Sourced):
    """A hazard: what it is, what it does, the limit. Required actions stand in ``actions`` and become numbered steps."""

    title: Text
    word: Literal["DANGER", "WARNING", "CAUTION", "NOTICE"]
    hazard: Text
    result: Text
    limit: Text
    short: Text = ""  # for the foot of every page
    standing_caution: YesNo = False  # on every sheet and page
    actions: Annotated[tuple[Text, ...], Several] = ()
    when: Annotated[
        tuple[Text, ...], Several
    ] = ()  # solder, heat-gun, crimp, lithium, srs-area, high-voltage, battery …
    customer: Text = ""  # in the customer's words, before the work
    customer_after: Text = ""  # the same when the work is finished; empty: ``customer`` holds then, too


class Source(Content):
    """An entry of the bibliography."""

    title: Text
    publisher: Text = ""
    edition: Text = ""
    part: Text = ""  # clause, page or table
    seen: Literal["text", "secondary", "memory", "none"] = "text"
    note: Text = ""


class LookChecks(Content):
    """Which checks of a job a line of a fault speaks of: those that fit every field that is written.

    ``of`` are the beginnings of their names, ``conditions`` how they are taken, ``between`` where the probes go, in the
    words of the function's reading. ``against`` keeps to checks whose other probe touches a circuit of these functions
    (``ground`` is bare metal too).
    """

    of: Annotated[tuple[Id, ...], Several]
    conditions: Annotated[tuple[Condition, ...], Several] = ()
    quantity: Literal["V", "Vac", "Ω", "mA"] | None = None
    between: Annotated[tuple[Text, ...], Several] = ()
    against: Annotated[tuple[Id, ...], Several] = ()


class LookAt(Content):
    """One thing to look at when something does not work. ``at`` names wire functions (or ready ends): the circuits of
    the job that carry them stand beside the words. Without ``at`` it is always said.

    ``side`` and ``feed`` keep to circuits with such a tail, and to checks that are read there: "the radio's ground",
    "a part with a feed of its own from the battery". ``checks`` says which checks of those circuits measure what the
    words speak of; without it none is named.
    """

    do: Text
    at: Annotated[tuple[Id, ...], Several] = ()
    side: Side | None = None
    feed: Literal["battery"] | None = None
    checks: LookChecks | None = None


class FaultPattern(Sourced):
    """A symptom and where to look, nearest cause first. It belongs to jobs that have one of ``when`` (any job without).

    ``of_checks`` are the beginnings of the names of checks whose failing it answers. One that is not ``on_paper`` answers
    failed checks only: no driver would ever tell of it.
    """

    symptom: Text
    order: Whole = 0
    when: Annotated[tuple[Id, ...], Several] = ()
    of_checks: Annotated[tuple[Id, ...], Several] = ()
    on_paper: YesNo = True
    look: Annotated[tuple[LookAt, ...], Several] = ()


class ProblemPage(Content):
    """What a problem code means, for ``loomleaf check --explain`` and the handbook."""

    title: Text
    what: Text
    why: Text
    wrong: Text
    right: Text


class ReferenceFile(Content):
    """One file of reference/: any of these sections."""

    functions: dict[Id, WireFunction] = Field(default_factory=dict)
    meetings: dict[Id, Meeting] = Field(default_factory=dict)
    refusals: dict[Id, Refusal] = Field(default_factory=dict)
    connectors: dict[Id, ConnectorType] = Field(default_factory=dict)
    methods: dict[Id, JoiningMethod] = Field(default_factory=dict)
    features: dict[Id, Feature] = Field(default_factory=dict)
    cautions: dict[Id, Caution] = Field(default_factory=dict)
    faults: dict[Id, FaultPattern] = Field(default_factory=dict)
    sources: dict[Id, Source] = Field(default_factory=dict)
    problems: dict[Id, ProblemPage] = Field(default_factory=dict)


SECTIONS = tuple(ReferenceFile.model_fields)


class Reference(ReferenceFile):
    """The whole reference after overlay."""
