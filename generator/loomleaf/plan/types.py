"""What a plan is made of: tails as they stand in a job, circuits, spares, outcomes, states, checks, steps.

Everything here is worked out by the planner and read by drawings, sheets, the handbook and ``plan --json``.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal

from ..figure import Figure
from ..model.job import Job, Registration
from ..model.lead import Lead, ReadyEnd, Tail
from ..model.reference import GROUPS as GROUPS
from ..model.reference import ConnectorType, ExpectedReading, JoiningMethod, WireFunction
from ..model.vehicle import Vehicle
from ..problems import Location, Problem

if TYPE_CHECKING:
    from .workshop import Workshop

Outcome = Literal["joined", "shared", "mated", "wanting", "contested", "refused"]
State = Literal["held", "build", "plug-in", "verified"]
STATES: tuple[State, ...] = ("held", "build", "plug-in", "verified")
Stage = Literal["before-joining", "on-the-bench", "before-plugging-in", "after-plugging-in", "before-trim", "hand-over"]
STAGES: tuple[Stage, ...] = (
    "before-joining",
    "on-the-bench",
    "before-plugging-in",
    "after-plugging-in",
    "before-trim",
    "hand-over",
)


@dataclass(frozen=True, kw_only=True)
class JobTail:
    """A tail of one of the job's leads with its function looked up and its side of the circuit decided.

    ``known_from`` is the tail's own or its lead's. ``volts``, ``signal``, ``sense``, ``wiring``, ``carries``, ``video``
    are the tail's or the function's; None means that nothing is stated.
    """

    lead: Lead
    tail: Tail
    function: WireFunction
    role: Literal["drives", "takes"]
    known_from: Literal["leaflet", "meter", "colour"]
    volts: float | None = None
    signal: str | None = None
    sense: str | None = None
    wiring: str | None = None
    carries: str | None = None
    video: str | None = None

    @cached_property
    def name(self) -> str:
        """``lead/plug.way``, or ``lead/name`` for a tail with no plug."""
        return f"{self.lead.lead}/{self.tail.at}"

    @cached_property
    def function_id(self) -> str:
        return self.tail.function

    @cached_property
    def plug_name(self) -> str:
        """Name of the plug the tail belongs to, "" for none."""
        plug, dot, _ = self.tail.at.rpartition(".")
        return plug if dot else ""

    @cached_property
    def way(self) -> str:
        """The way's number, or the tail's own name when it has no plug."""
        return self.tail.at.rpartition(".")[2]

    @property
    def readings(self) -> tuple[ExpectedReading, ...]:
        """What a meter should show here: the function's readings for this tail's pole."""
        return tuple(r for r in self.function.readings if r.pole in (None, self.tail.pole))

    @property
    def colour_text(self) -> str:
        return self.tail.colour.text if self.tail.colour else "no colour stated"

    @property
    def size_text(self) -> str:
        return self.tail.size.text if self.tail.size else "size not stated"

    @property
    def pole_text(self) -> str:
        return {"plus": "+", "minus": "−", "shield": "shield", "high": "high", "low": "low", None: ""}[self.tail.pole]

    @property
    def title(self) -> str:
        """Function and pole in words: "Front left loudspeaker +"."""
        return f"{self.function.title} {self.pole_text}".strip()


@dataclass(frozen=True, kw_only=True)
class JobEnd:
    """A ready end of one of the job's leads."""

    lead: Lead
    end: ReadyEnd
    type: ConnectorType | None

    @property
    def name(self) -> str:
        return f"{self.lead.lead}/{self.end.name}"


@dataclass(frozen=True, kw_only=True)
class ColourNote:
    """What comparing the colours after pairing showed. ``code`` is colour-differs, colour-of-another or stripe-against-pole."""

    code: str
    text: str
    tails: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Circuit:
    """All tails that are to meet. ``mated`` circuits have ``ends`` and no tails.

    ``combine`` is the part through which several drivers are brought together ("" for one driver). ``reason`` says why
    it is wanting, contested or refused ("" otherwise); ``reason_code`` is its problem code.
    """

    id: str
    function_id: str
    function: WireFunction | None
    title: str
    group: str
    pole: str
    feed: str
    outcome: Outcome
    drivers: tuple[JobTail, ...] = ()
    takers: tuple[JobTail, ...] = ()
    ends: tuple[JobEnd, ...] = ()
    combine: str = ""
    reason: str = ""
    reason_code: str = ""
    colour_notes: tuple[ColourNote, ...] = ()
    known_from: str = ""

    @cached_property
    def tails(self) -> tuple[JobTail, ...]:
        """Drivers, then takers."""
        return self.drivers + self.takers

    @cached_property
    def made(self) -> bool:
        """True when a joint is made for it."""
        return self.outcome in ("joined", "shared")


@dataclass(frozen=True, kw_only=True)
class Spare:
    """A tail that meets nothing. ``live`` when it carries a supply or is driven."""

    id: str
    tail: JobTail
    live: bool
    why: str


FeatureResult = Literal["keeps", "keeps with a part", "changes", "loses"]


@dataclass(frozen=True, kw_only=True)
class FeatureOutcome:
    """What becomes of a feature. ``by`` is the lead that keeps it ("" for the vehicle's own wiring), ``by_title`` its title."""

    feature_id: str
    title: str
    customer: str
    outcome: FeatureResult
    by: str = ""
    by_title: str = ""
    how: str = ""
    agreed: date | None = None
    safety: bool = False
    promised: bool = False
    hand_over: str = ""
    circuits: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class JudgedProof:
    """A proof against the function's expected window. ``verdict`` None: no window for that condition is known."""

    tail: str
    registration: str
    condition: str
    reading: str
    expected: str
    verdict: bool | None
    by: str
    on: date | None


ReadingResult = Literal["pass", "fail", "missing", "unclear"]


@dataclass(frozen=True, kw_only=True)
class JudgedReading:
    """What came back for one check. ``written`` is as on the paper, ``why`` says what is wrong with it ("" when nothing).

    ``place`` is where it stands in a readings file; None when no sheet said anything about the check.
    """

    check: str
    number: int
    stage: Stage
    circuit: str
    title: str
    written: str
    expected: str
    result: ReadingResult
    why: str = ""
    initials: str = ""
    place: Location | None = None


@dataclass(frozen=True, kw_only=True)
class VehicleState:
    """One vehicle of the job: its state, every reason that holds it, and what stands before the next state.

    ``readings`` holds a verdict for every check of the plan; it is empty while no sheet has come back.
    """

    registration: Registration
    state: State
    reasons: tuple[Problem, ...]
    before_next: tuple[str, ...]
    proofs: tuple[JudgedProof, ...] = ()
    unproved: tuple[str, ...] = ()  # tails still to be proved by meter before plugging in
    readings: tuple[JudgedReading, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Check:
    """One thing to measure or watch. ``low``/``high`` None: open on that side. ``expected`` is never just "OK".

    ``key`` is a stable name for form fields and readings: letters, digits and hyphens.
    """

    number: int
    key: str
    stage: Stage
    circuit: str
    title: str
    probes: str
    meter: str
    condition: str
    expected: str
    unit: str = ""
    low: float | None = None
    high: float | None = None
    open: bool = False
    yes_no: bool = False
    on_failure: str = ""
    tails: tuple[str, ...] = ()
    feature: str = ""
    figure: Figure | None = None
    proves: ExpectedReading | None = None  # before joining: the needed reading of its tail that it takes
    alone: float | None = None  # what the vehicle shows without the new parts, in ``unit``: far less than that is doubted


@dataclass(frozen=True, kw_only=True)
class WorkStep:
    """One action. ``kind`` is step, hold (signed hold point), stop (ticked stop) or caution (``caution`` names it).

    ``row`` is a hold point's name in readings files."""

    number: int
    kind: Literal["step", "hold", "stop", "caution"]
    text: str
    stage: str
    caution: str = ""
    row: str = ""


@dataclass(frozen=True, kw_only=True)
class Joint:
    """How one circuit's tails are joined. Lengths in mm.

    ``position_mm`` is the middle of the joint along the loom, from the plug of the lead ``position_from``; ``station`` 0
    and no position where the joint does not lie in a loom (a ring at a stud). ``items`` counts the connectors it takes.
    ``equivalent`` is the total area as a gauge, rounded up.
    """

    id: str
    circuit: str
    title: str
    tails: tuple[str, ...]
    method_id: str
    method: JoiningMethod
    place: str
    total_mm2: Figure
    total_cmil: Figure
    equivalent: Figure | None = None
    item_id: str = ""
    item_title: str = ""
    items: int = 0
    strip_mm: Figure | None = None
    sleeve_id: str = ""
    sleeve_title: str = ""
    sleeve_cut_mm: Figure | None = None
    pull_n: Figure | None = None
    station: int = 0
    position_mm: float | None = None
    position_from: str = ""
    why: str = ""
    layout: str = ""  # which tails share an end, where a connector has two ends and more than two tails
    instead_of: str = ""  # the method that the job asked for and why it was not taken; "" when it was
    passed_over: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Fault:
    """A symptom and where to look first, in order.

    ``looks_at`` names the circuits of each line of ``look``. ``of_checks`` are the beginnings of the names of checks whose
    failing it answers; one that is not ``on_paper`` is there for them alone.
    """

    symptom: str
    look: tuple[str, ...]
    circuits: tuple[str, ...]
    looks_at: tuple[tuple[str, ...], ...] = ()
    of_checks: tuple[str, ...] = ()
    on_paper: bool = True


@dataclass(frozen=True, kw_only=True)
class Plan:
    """The whole job, worked out. ``digest`` is of everything it was worked out from, the clearings left out."""

    job: Job
    vehicle: Vehicle
    leads: tuple[Lead, ...]
    circuits: tuple[Circuit, ...]
    spares: tuple[Spare, ...]
    features: tuple[FeatureOutcome, ...]
    states: tuple[VehicleState, ...]
    checks: tuple[Check, ...]
    steps: tuple[WorkStep, ...]
    joints: tuple[Joint, ...]
    faults: tuple[Fault, ...]
    problems: tuple[Problem, ...]
    digest: str
    engineering: dict[str, Any] = field(
        default_factory=dict
    )  # supply, fuses, standby, loudspeakers, wheel_buttons, loom

    workshop: Workshop | None = None  # minutes, cut list, picking list, price
    earlier: tuple[str, ...] = ()  # what was read on issues before this one, in words: for the record, and it proves nothing

    @property
    def state(self) -> State:
        """The state that holds for every vehicle: the lowest."""
        return min((s.state for s in self.states), key=STATES.index, default="held")

    @property
    def held(self) -> bool:
        return self.state == "held"

    @property
    def radio(self) -> Lead | None:
        return next((lead for lead in self.leads if lead.side == "radio"), None)

    @property
    def vehicle_leads(self) -> tuple[Lead, ...]:
        return tuple(lead for lead in self.leads if lead.side == "vehicle")

    def circuit(self, circuit_id: str) -> Circuit | None:
        return next((c for c in self.circuits if c.id == circuit_id), None)
