"""The bench sheet: everything needed to make one job's lead and prove it, in the order of the work."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise
from typing import Any

from markupsafe import Markup

from ..draw.letters import text_width
from ..draw.svg import WORD
from ..figure import Figure, number
from ..model.job import Crew, long_date
from ..model.reference import Reference
from ..model.shop import Shop, overdue
from ..plan.as_json import check_data
from ..plan.battery import airbag_areas
from ..plan.check_order import BENCH_STAGES, sharing, under_conditions
from ..plan.minutes import timed_at_the_bench
from ..plan.tools import tools_called_for, tools_to_have
from ..plan.types import GROUPS, Check, Circuit, JobTail, Joint, Plan, Spare, Stage, WorkStep
from ..units import Size
from .fuses import fuse_data, fuse_lines
from .swatches import swatch
from .views import (
    CautionView,
    FrameView,
    ReasonView,
    RegistrationView,
    by_severity,
    capital,
    caution_view,
    counted,
    distinct_reasons,
    field_name,
    newest_proofs,
    registration_views,
    sentence,
    size_both,
)

STAGE_TITLES: dict[Stage, str] = {
    "before-joining": "before joining",
    "on-the-bench": "on the bench",
    "before-plugging-in": "before plugging in",
}
KEPT_TOGETHER = 9
"""Rows of a group of checks that stay on one page with their heading."""
FEW_STEPS = 2
"""Steps of a run that goes on under the hazards of the next."""
_PAIRED_MM = 46.0
"""Room for the ways of a check where two stand in a row: two lines."""
MOST_LEADS = 6
"""Leads of a fleet that stand beside one another in a table; more go into further tables."""
LEADS_ON_ONE_LINE = 3
"""Leads whose boxes have room on one line; with more of them the ticks stand under the reading."""


@dataclass(frozen=True, kw_only=True)
class _Section:
    """A section of the work: which steps and checks it holds, and whether a signed hold point closes it.

    ``elsewhere`` names the stages whose checks stand on the fitting sheet, with the hold before the trim goes back.
    """

    title: str
    steps: str
    checks: tuple[Stage, ...] = ()
    elsewhere: tuple[Stage, ...] = ()
    closes: bool = False


_SECTIONS = (
    _Section(title="Before joining", steps="start", elsewhere=("before-joining",)),
    _Section(title="Make the joints", steps="make"),
    _Section(title="Spares", steps="spares"),
    _Section(title="Finish the lead", steps="finish", checks=("on-the-bench",)),
    _Section(title="Before plugging in", steps="lead-in", checks=("before-plugging-in",), closes=True),
    _Section(title="Plug in and fit", steps="fit", elsewhere=("after-plugging-in", "before-trim", "hand-over")),
)
_SIDE_ORDER = ("vehicle", "module", "accessory", "radio")
_KNOWN = {"leaflet": "leaflet", "meter": "meter", "colour": "colour only"}
_OUTCOME = {
    "joined": "joined",
    "shared": "shared",
    "mated": "plugs in as it is",
    "wanting": "wanting",
    "contested": "contested",
    "refused": "refused",
}


USUAL = ("joined", "leaflet")
"""What a circuit's row leaves out, since the line above the table says it."""


@dataclass(frozen=True, kw_only=True)
class FactView:
    """A label and its value."""

    label: str
    value: str
    strong: bool = False


@dataclass(frozen=True, kw_only=True)
class TailView:
    """One conductor in one cell. ``rows`` is how many rows of its circuit the cell stands beside. ``lead`` is "" where the
    plug's letter stands for it."""

    name: str
    plug: str
    way: str
    long_way: bool
    lead: str
    long_lead: bool
    colour: str
    swatch: Markup
    size: str
    rows: int = 1


@dataclass(frozen=True, kw_only=True)
class PairView:
    """One row of a circuit: a cell is None where the one above it reaches down."""

    left: TailView | None
    right: TailView | None


@dataclass(frozen=True, kw_only=True)
class JointView:
    """How a circuit is joined, in lines."""

    method: str
    lines: tuple[str, ...]
    position: str
    position_from: str
    notes: tuple[str, ...] = ()  # which tails share an end; what was asked for and not taken


@dataclass(frozen=True, kw_only=True)
class CircuitView:
    """One circuit and the rows it takes. ``status`` is what differs from the usual, "" for nothing."""

    id: str
    function: str
    status: str
    sizes: str
    rows: tuple[PairView, ...]
    joints: tuple[JointView, ...]
    notes: tuple[str, ...]
    field: str
    changed: bool = False

    @property
    def height(self) -> int:
        """Rows of the table it takes with its joints and notes."""
        return len(self.rows) + len(self.joints) + len(self.notes)


@dataclass(frozen=True, kw_only=True)
class GroupView:
    """Circuits under one heading."""

    title: str
    circuits: tuple[CircuitView, ...]


@dataclass(frozen=True, kw_only=True)
class ReadyView:
    """Ready ends that plug together."""

    id: str
    title: str
    ends: tuple[str, ...]
    field: str
    changed: bool = False


@dataclass(frozen=True, kw_only=True)
class SpareView:
    """A tail that meets nothing."""

    id: str
    tail: TailView
    function: str
    live: str
    why: str
    field: str
    changed: bool = False


@dataclass(frozen=True, kw_only=True)
class NotMadeView:
    """A circuit that is refused, wanting or contested."""

    id: str
    title: str
    outcome: str
    tails: tuple[str, ...]
    reason: str
    changed: bool = False


@dataclass(frozen=True, kw_only=True)
class UnprovedView:
    """The ways of one lead that are still to be proved."""

    lead: str
    ways: tuple[FactView, ...]


@dataclass(frozen=True, kw_only=True)
class ProofView:
    """A reading that the job already holds."""

    plate: str
    tail: str
    condition: str
    reading: str
    verdict: str
    who: str


@dataclass(frozen=True, kw_only=True)
class LeadView:
    """A lead on the bench. ``short`` is what the checks call it, "" where they never name it or name it in full."""

    id: str
    short: str
    title: str
    side: str
    plugs: str
    known: str


@dataclass(frozen=True, kw_only=True)
class BoxesView:
    """The boxes of one check for one lead of a fleet: the names of its fields, with the plate of the vehicle it is for."""

    plate: str
    actual: str
    passed: str
    failed: str
    initials: str


@dataclass(frozen=True, kw_only=True)
class ColumnView:
    """A lead of a fleet in the head of a table: the number on its label, and the plate of the vehicle it is for."""

    number: int
    plate: str


@dataclass(frozen=True, kw_only=True)
class CheckView:
    """One reading to take. ``way`` is the way that it is read at, where one stands out in its row; ``of`` its circuit.

    ``boxes`` of a fleet's check on the bench, one set a lead, stand for the single fields.
    """

    number: int
    way: str
    of: str
    circuit: str
    title: str
    probes: str
    meter: str
    condition: str
    expected: str
    limits: str
    on_failure: str
    actual: bool
    field_actual: str
    field_pass: str
    field_fail: str
    field_initials: str
    boxes: tuple[BoxesView, ...] = ()
    changed: bool = False

    @property
    def ends(self) -> tuple[str, ...]:
        """The ways between which it is read."""
        return tuple(self.probes.removesuffix(".").split(" to "))

    @property
    def expected_text(self) -> str:
        """What is expected with its limits, in one line."""
        return f"{self.expected} (limits {self.limits})" if self.limits else self.expected


@dataclass(frozen=True, kw_only=True)
class HoldView:
    """A signed hold point."""

    text: str
    field: str


@dataclass(frozen=True, kw_only=True)
class CheckRowView:
    """A row of two checks, or of one: ``wide`` over the whole row."""

    checks: tuple[CheckView, ...]
    wide: bool


@dataclass(frozen=True, kw_only=True)
class CheckGroupView:
    """Rows under one line of a table of checks; ``title`` "" for rows that need none. ``keep`` holds them on one page."""

    title: str
    checks: tuple[CheckView, ...]

    @property
    def keep(self) -> bool:
        return len(self.checks) <= KEPT_TOGETHER

    @property
    def pairs(self) -> tuple[CheckRowView, ...]:
        """The checks two a row, in their order; one with many ways has a row for itself."""
        rows: list[CheckRowView] = []
        for check in self.checks:
            wide = not _narrow(check)
            if rows and not wide and not rows[-1].wide and len(rows[-1].checks) == 1:
                rows[-1] = replace(rows[-1], checks=(*rows[-1].checks, check))
            else:
                rows.append(CheckRowView(checks=(check,), wide=wide))
        return tuple(rows)


@dataclass(frozen=True, kw_only=True)
class CheckSetView:
    """Checks of one stage and one vehicle in one table, with what they share told once in ``shared``.

    ``new_page`` begins each vehicle of a fleet on a page of its own; ``holds`` close that vehicle's checks. A ``paired``
    table has two checks a row. ``leads`` have a column each; ``said`` is what all rows say of their circuits.
    """

    title: str
    plate: str
    new_page: bool
    shared: tuple[FactView, ...]
    show_condition: bool
    show_expected: bool
    show_failure: bool
    groups: tuple[CheckGroupView, ...]
    paired: bool = False
    said: str = ""
    leads: tuple[ColumnView, ...] = ()
    holds: tuple[HoldView, ...] = ()

    @property
    def checks(self) -> tuple[CheckView, ...]:
        return tuple(check for group in self.groups for check in group.checks)

    @property
    def columns(self) -> int:
        """Columns of its table."""
        if self.leads:
            return 1 + len(self.leads)
        return 12 if self.paired else 6 + self.show_expected

    @property
    def on_one_line(self) -> bool:
        """Whether the boxes of a lead stand on one line."""
        return len(self.leads) <= LEADS_ON_ONE_LINE


@dataclass(frozen=True, kw_only=True)
class StepView:
    """One action with the hazards that stand just before it. ``leads`` keeps a stop on the page of the step after it."""

    number: str
    text: str
    hazards: tuple[CautionView, ...]
    stop: bool
    leads: bool
    field: str


@dataclass(frozen=True, kw_only=True)
class RunView:
    """Steps that belong together: the stop above them, the hazards before the first of them, then the steps.

    A run with hazards stays on one page, so that they stand on the page of every step that they cover.
    """

    stop: StepView | None
    hazards: tuple[CautionView, ...]
    steps: tuple[StepView, ...]


@dataclass(frozen=True, kw_only=True)
class MinutesView:
    """A box for the minutes that a kind of work took."""

    label: str
    field: str


@dataclass(frozen=True, kw_only=True)
class StageView:
    """A stage of the work: its steps, its checks, then the holds that close it. ``new_page`` begins it on a new page.
    ``headed``: the head of its first table says what the title would.

    ``elsewhere`` says which checks of this stage stand on the fitting sheet.
    """

    title: str
    new_page: bool
    elsewhere: str
    steps: tuple[StepView, ...]
    check_sets: tuple[CheckSetView, ...]
    holds: tuple[HoldView, ...]
    headed: bool = False
    minutes: tuple[MinutesView, ...] = ()  # what making the lead took, where it is made

    @property
    def runs(self) -> tuple[RunView, ...]:
        """The steps in runs: a stop or a hazard begins a new one. A run of one or two steps takes those that follow with it:
        what is switched on before a hazard is in use below the next one too, so both boxes stand above all of it."""
        runs: list[RunView] = []
        for step in self.steps:
            if step.stop:
                runs.append(RunView(stop=step, hazards=(), steps=()))
            elif runs and not runs[-1].steps:
                runs[-1] = replace(runs[-1], hazards=step.hazards, steps=(step,))
            elif runs and step.hazards and runs[-1].hazards and len(runs[-1].steps) <= FEW_STEPS:
                both = tuple(dict.fromkeys((*runs[-1].hazards, *step.hazards)))
                runs[-1] = replace(runs[-1], hazards=by_severity(both), steps=(*runs[-1].steps, step))
            elif not runs or step.hazards:
                runs.append(RunView(stop=None, hazards=step.hazards, steps=(step,)))
            else:
                runs[-1] = replace(runs[-1], steps=(*runs[-1].steps, step))
        return tuple(runs)


@dataclass(frozen=True, kw_only=True)
class WorkingView:
    """One figure with its working, for the appendix."""

    what: str
    value: str
    working: str
    sources: str
    known: str


@dataclass(frozen=True, kw_only=True)
class BenchView:
    """Everything on the bench sheet. ``facts`` stand two a line."""

    facts: tuple[tuple[FactView, ...], ...]
    registrations: tuple[RegistrationView, ...]
    several: bool
    done: str
    made_times: str
    reasons: tuple[ReasonView, ...]
    before_next: tuple[str, ...]
    unproved: tuple[UnprovedView, ...]
    unproved_title: str
    not_made: tuple[NotMadeView, ...]
    proofs: tuple[ProofView, ...]
    leads: tuple[LeadView, ...]
    tools: tuple[str, ...]
    instruments: tuple[FactView, ...]
    groups: tuple[GroupView, ...]
    plugs: tuple[FactView, ...]
    positions_from: str
    positions_differ: bool
    near_radio: tuple[str, ...]
    joints_known: bool
    ready: tuple[ReadyView, ...]
    spares: tuple[SpareView, ...]
    totals: tuple[str, ...]
    sizes: str
    stages: tuple[StageView, ...]
    apprentice: str
    signatures: tuple[tuple[str, str], ...]
    working: tuple[WorkingView, ...]


@dataclass(frozen=True, kw_only=True)
class Totals:
    """Tails and circuits counted; ``reconciled`` when every tail of every lead is told of exactly once."""

    circuits: int
    made: int
    mated: int
    not_made: int
    tails: int
    in_joints: int
    in_not_made: int
    spare: int

    @property
    def reconciled(self) -> bool:
        return self.tails == self.in_joints + self.in_not_made + self.spare


def totals(plan: Plan) -> Totals:
    """The counts that the sheet prints under its tables."""
    made = [c for c in plan.circuits if c.made]
    not_made = [c for c in plan.circuits if c.outcome in ("refused", "wanting", "contested")]
    return Totals(
        circuits=len(plan.circuits),
        made=len(made),
        mated=sum(c.outcome == "mated" for c in plan.circuits),
        not_made=len(not_made),
        tails=sum(len(lead.tails) for lead in plan.leads),
        in_joints=len({t.name for c in made for t in c.tails}),
        in_not_made=len({t.name for c in not_made for t in c.tails}),
        spare=len({s.tail.name for s in plan.spares}),
    )


def bench_view(
    plan: Plan, shop: Shop, reference: Reference, head: FrameView, *, show_working: bool = False
) -> BenchView:
    """The bench sheet of a plan."""
    several = len(plan.states) > 1
    return BenchView(
        facts=_two_a_line(_facts(plan)),
        registrations=registration_views(plan),
        several=several,
        done=f"All {len(plan.states)} done" if several else "Done",
        made_times=_made_times(len(plan.states)) if several else "",
        reasons=distinct_reasons(plan),
        before_next=() if several else _before_next(plan),
        unproved=() if several else _unproved(plan),
        unproved_title=_unproved_title(plan),
        not_made=tuple(_not_made(c) for c in plan.circuits if c.outcome in ("refused", "wanting", "contested")),
        proofs=_proofs(plan),
        leads=tuple(_lead_view(plan, lead.lead) for lead in plan.leads),
        tools=_tools(plan, shop),
        instruments=tuple(_instrument(entry, plan.job.issued) for entry in shop.instruments),
        groups=_groups(plan),
        plugs=tuple(FactView(label=name, value=lead) for name, lead in sorted(plug_letters(plan).items())),
        positions_from=positions_from(plan),
        positions_differ=positions_differ(plan),
        near_radio=tuple(row["near_radio"] for row in _looms(plan) if row.get("near_radio")),
        joints_known=bool(plan.joints),
        ready=tuple(_ready(c) for c in plan.circuits if c.outcome == "mated"),
        spares=tuple(_spare(s, plug_letters(plan)) for s in sorted(plan.spares, key=lambda s: not s.live)),
        totals=_totals_text(plan),
        sizes=_sizes(plan),
        stages=_stages(plan, reference),
        apprentice=plan.job.crew.apprentice,
        signatures=_signatures(plan, two=bool(shop.two_signatures or plan.job.crew.apprentice)),
        working=_working(plan) if show_working else (),
    )


def _facts(plan: Plan) -> tuple[FactView, ...]:
    vehicle, radio = plan.vehicle, plan.radio
    return (
        FactView(label="Vehicle", value=vehicle.title, strong=True),
        FactView(label="Trim", value=vehicle.trim or "not stated"),
        FactView(label="Sound option", value=vehicle.sound or "not stated"),
        FactView(label="Radio", value=(radio.exact or radio.title) if radio else "no radio in this job", strong=True),
        FactView(label="High voltage", value=plan.job.high_voltage),
        FactView(label="Airbag areas", value=_airbag_areas(plan)),
        *(
            FactView(
                label="Registration",
                value=", ".join(part for part in (reg.plate, reg.odometer, reg.detail) if part),
                strong=True,
            )
            for reg in registration_views(plan)
            if len(plan.states) == 1
        ),
    )


def _made_times(leads: int) -> str:
    """What a box means on a fleet's sheet, and what it does not clear."""
    return (
        f"The lead is made {counted(leads, 'time', 'times')}, one a vehicle, labelled 1 to {leads} in the order above."
        f" A box here or beside a step is ticked when all {leads} are done. Each lead has its own checks: what was"
        " measured on one never clears another."
    )


def _two_a_line(facts: tuple[FactView, ...]) -> tuple[tuple[FactView, ...], ...]:
    return tuple(facts[i : i + 2] for i in range(0, len(facts), 2))


def _airbag_areas(plan: Plan) -> str:
    touched = [area.replace("-", " ") for area in airbag_areas(plan.job, plan.vehicle)]
    return ", ".join(touched) if touched else "no such area named"


def _unproved(plan: Plan) -> tuple[UnprovedView, ...]:
    """Tails still to be proved, lead by lead. A fleet's stand in its table of vehicles instead."""
    tails = {t.name: t for c in plan.circuits for t in c.tails}
    by_lead: dict[str, list[FactView]] = {}
    for name in dict.fromkeys(name for state in plan.states for name in state.unproved):
        tail = tails[name]
        title = tail.title[:1].lower() + tail.title[1:]
        by_lead.setdefault(tail.lead.lead, []).append(FactView(label=tail.tail.at, value=title))
    return tuple(UnprovedView(lead=lead, ways=tuple(ways)) for lead, ways in by_lead.items())


def _unproved_title(plan: Plan) -> str:
    numbers = [c.number for c in plan.checks if c.stage == "before-joining"]
    span = f": checks {numbers[0]} to {numbers[-1]} on the fitting sheet" if numbers else ""
    return f"Still to be proved by meter on this vehicle{span}"


def _before_next(plan: Plan) -> tuple[str, ...]:
    """What stands before the next state, unless the reasons or the list of unproved ways say it already."""
    open_states = [s for s in plan.states if not s.reasons and not s.unproved]
    return tuple(dict.fromkeys(line for state in open_states for line in state.before_next))


def _not_made(circuit: Circuit) -> NotMadeView:
    return NotMadeView(
        id=circuit.id,
        title=circuit.title,
        outcome=_OUTCOME[circuit.outcome],
        tails=tuple(f"{t.name}, {t.colour_text}" for t in circuit.tails) or tuple(e.name for e in circuit.ends),
        reason=sentence(capital(circuit.reason)) or "No reason stated.",
    )


def _proofs(plan: Plan) -> tuple[ProofView, ...]:
    said = {True: "inside", False: "OUTSIDE", None: "no window known"}
    return tuple(
        ProofView(
            plate=state.registration.plate,
            tail=proof.tail,
            condition=capital(proof.condition.replace("-", " ")),
            reading=proof.reading,
            verdict=f"{said[proof.verdict]}: {proof.expected}" if proof.expected else said[proof.verdict],
            who=", ".join(part for part in (proof.by, long_date(proof.on) if proof.on else "") if part) or "not noted",
        )
        for state in plan.states
        for proof in newest_proofs(plan, state)
    )


def _lead_view(plan: Plan, lead_id: str) -> LeadView:
    lead = next(item for item in plan.leads if item.lead == lead_id)
    plugs = "; ".join(f"{p.name}: {p.type}, {p.ways} ways" for p in lead.plugs) or "tails only"
    known = {"leaflet": lead.leaflet or "leaflet not named", "meter": "measured", "colour": "colour only"}[
        lead.known_from
    ]
    short = short_leads(plan)[lead_id]
    told = short != lead_id and f"{short}/" in " ".join(short_ways(plan).values())
    return LeadView(
        id=lead.lead,
        short=short if told else "",
        title=lead.exact or lead.title,
        side=lead.side,
        plugs=plugs,
        known=known,
    )


def _tools(plan: Plan, shop: Shop) -> tuple[str, ...]:
    """What the joints and this sheet's checks call for."""
    called_for = tools_called_for((c for c in plan.checks if c.stage in BENCH_STAGES), plan.joints)
    return tools_to_have(called_for, shop.tools, [entry.get("name", "") for entry in shop.instruments])


def _instrument(entry: dict[str, str], issued: date) -> FactView:
    name = entry.get("name", "instrument")
    does = entry.get("does", "")
    due = entry.get("due", "")
    return FactView(
        label=f"{name} ({does})" if does else name,
        value=f"calibration overdue since {due}: use another"
        if overdue(entry, issued)
        else f"calibration due {due}"
        if due
        else "calibration date not kept",
    )


def plug_letters(plan: Plan) -> dict[str, str]:
    """Plugs whose name only one lead of the job has, and that lead: "A" for A.7 of corvane-16."""
    bearers = [(plug.name, lead.lead) for lead in plan.leads for plug in lead.plugs]
    counts = Counter(name for name, _ in bearers)
    return {name: lead for name, lead in bearers if counts[name] == 1}


def _tail_view(tail: JobTail, letters: Mapping[str, str], rows: int = 1, key: str = "") -> TailView:
    return TailView(
        name=tail.name,
        plug=tail.plug_name,
        way=tail.way,
        long_way=len(tail.way) > 6,
        lead="" if letters.get(tail.plug_name) == tail.lead.lead else tail.lead.lead,
        long_lead=len(tail.lead.lead) > 22,
        colour=tail.colour_text,
        swatch=swatch(tail.tail.colour, f"{key}-{tail.name}" if key else tail.name),
        size=size_both(tail.tail.size)[0],
        rows=rows,
    )


def _two_sides(circuit: Circuit) -> tuple[list[JobTail], list[JobTail]]:
    """Vehicle's tails at left, the others at right; without both, the first tail at left."""
    tails = sorted(circuit.tails, key=lambda t: _SIDE_ORDER.index(t.lead.side))
    left = [t for t in tails if t.lead.side == "vehicle"]
    right = [t for t in tails if t.lead.side != "vehicle"]
    return (left, right) if left and right else (tails[:1], tails[1:])


def _pairs(circuit: Circuit, letters: Mapping[str, str]) -> tuple[PairView, ...]:
    left, right = _two_sides(circuit)
    count = max(len(left), len(right), 1)
    left_cells, right_cells = _cells(left, count, letters), _cells(right, count, letters)
    return tuple(PairView(left=left_cells[i], right=right_cells[i]) for i in range(count))


def _cells(tails: Sequence[JobTail], count: int, letters: Mapping[str, str]) -> list[TailView | None]:
    """One cell a tail; the last one reaches down over the rows that are left."""
    cells: list[TailView | None] = [_tail_view(t, letters) for t in tails[:-1]]
    if tails:
        cells.append(_tail_view(tails[-1], letters, rows=count - len(tails) + 1))
    return cells + [None] * (count - len(cells))


def _millimetres(figure: Figure | None) -> str:
    return f"{number(figure.value, 3)} mm" if figure is not None and isinstance(figure.value, (int, float)) else ""


def _joint_view(joint: Joint) -> JointView:
    method = joint.method.title.removesuffix(", with a sleeve") if joint.sleeve_title else joint.method.title
    what = joint.item_title or method
    lines = [f"{joint.items} × {what}" if joint.items > 1 else capital(what)]
    strip = _millimetres(joint.strip_mm)
    if strip:
        lines.append(f"strip {strip}")
    if joint.sleeve_title:
        cut = _millimetres(joint.sleeve_cut_mm)
        lines.append(f"{joint.sleeve_title}, cut {cut}" if cut else joint.sleeve_title)
    position = ""
    if joint.position_mm is not None:
        position = f"{number(joint.position_mm, 4)} mm"
    lines = [re.sub(r"\bmm2\b", "mm²", line) for line in lines]
    notes = [capital(joint.layout)] if joint.layout else []
    if joint.instead_of:
        notes.append(f"Asked for, not taken: {joint.instead_of[0].lower()}{joint.instead_of[1:]}")
    return JointView(
        method=joint.method.title,
        lines=tuple(lines),
        position=position,
        position_from=joint.position_from,
        notes=tuple(f"{note}." for note in notes),
    )


def positions_from(plan: Plan) -> str:
    """The lead from which joints' positions are measured, or most of them: the others name their own."""
    named = Counter(j.position_from for j in plan.joints if j.position_mm is not None and j.position_from)
    return named.most_common(1)[0][0] if named else ""


def positions_differ(plan: Plan) -> bool:
    """Whether some joints' positions are measured from another lead than others'."""
    return len({j.position_from for j in plan.joints if j.position_mm is not None}) > 1


def _looms(plan: Plan) -> list[dict[str, Any]]:
    found = plan.engineering.get("loom")
    return list(found.get("looms", [])) if isinstance(found, Mapping) else []


def _groups(plan: Plan) -> tuple[GroupView, ...]:
    by_circuit: dict[str, list[Joint]] = {}
    for joint in plan.joints:
        by_circuit.setdefault(joint.circuit, []).append(joint)
    letters, fuses = plug_letters(plan), fuse_lines(plan)
    groups = []
    for group, _, title in GROUPS:
        here = [c for c in plan.circuits if c.made and c.group == group]
        if here:
            groups.append(
                GroupView(
                    title=title,
                    circuits=tuple(
                        _circuit_view(c, by_circuit.get(c.id, ()), letters, fuses.get(c.id, "")) for c in here
                    ),
                )
            )
    return tuple(groups)


def _circuit_view(
    circuit: Circuit, joints: Iterable[Joint], letters: Mapping[str, str], fuses: str
) -> CircuitView:
    shown = tuple(_joint_view(j) for j in joints)
    through = f", through a {circuit.combine}" if circuit.combine and circuit.combine != "none" else ""
    how = f"{_OUTCOME[circuit.outcome]}{through}"
    known = _KNOWN.get(circuit.known_from, "source not stated")
    differ = "colours differ" if any(n.code == "colour-differs" for n in circuit.colour_notes) else ""
    return CircuitView(
        id=circuit.id,
        function=circuit.title,
        status=", ".join(part for part in (how, known, differ) if part not in ("", *USUAL)),
        sizes=_sizes_of(circuit),
        rows=_pairs(circuit, letters),
        joints=shown or (JointView(method="", lines=("method not worked out",), position="", position_from=""),),
        notes=(
            *((fuses,) if fuses else ()),
            *(sentence(note.text) for note in circuit.colour_notes if note.code != "colour-differs"),
        ),
        field=field_name("made", circuit.id),
    )


def _sizes_of(circuit: Circuit) -> str:
    """The conductors' sizes in the order of the row: "0.75 + 1 mm²", or "2 × 1 mm²" when all are one size."""
    left, right = _two_sides(circuit)
    sizes = [size_both(t.tail.size)[0] for t in (*left, *right)]
    units = {size.partition(" ")[2] for size in sizes}
    if len(sizes) > 1 and len(set(sizes)) == 1 and sizes[0] != "size not stated":
        return f"{len(sizes)} × {sizes[0]}"
    if len(units) == 1 and "size not stated" not in sizes:
        return " + ".join(size.partition(" ")[0] for size in sizes) + f" {units.pop()}"
    return " + ".join(sizes)


def _ready(circuit: Circuit) -> ReadyView:
    return ReadyView(
        id=circuit.id,
        title=circuit.title,
        ends=tuple(f"{e.name}{f' ({e.type.title})' if e.type else ''}" for e in circuit.ends),
        field=field_name("mated", circuit.id),
    )


def _spare(spare: Spare, letters: Mapping[str, str]) -> SpareView:
    return SpareView(
        id=spare.id,
        tail=_tail_view(spare.tail, letters, key=spare.id),
        function=spare.tail.title,
        live="live" if spare.live else "dead",
        why=sentence(capital(spare.why)),
        field=field_name("spare", spare.id),
    )


def _totals_text(plan: Plan) -> tuple[str, ...]:
    t = totals(plan)
    circuits = (
        f"{counted(t.circuits, 'circuit', 'circuits')}: {t.made} made, {t.mated} plugged in, {t.not_made} not made."
    )
    tails = (
        f"{counted(t.tails, 'tail', 'tails')} on {counted(len(plan.leads), 'lead', 'leads')}: "
        f"{t.in_joints} in joints, {t.spare} spare, {t.in_not_made} not joined."
    )
    return (circuits, tails)


def _sizes(plan: Plan) -> str:
    """Both systems of every size used, once."""
    sizes: dict[str, Size] = {}
    for lead in plan.leads:
        for tail in lead.tails:
            if tail.size is not None:
                sizes.setdefault(size_both(tail.size)[0], tail.size)
    ordered = sorted(sizes.values(), key=lambda s: s.area_mm2)
    return "; ".join(f"{size_both(s)[0]} is about {size_both(s)[1]}" for s in ordered)


def _stages(plan: Plan, reference: Reference) -> tuple[StageView, ...]:
    """The sections of the work in order; steps of a stage that no section names stand in the last one."""
    named = {section.steps for section in _SECTIONS}
    holds = iter([step for step in plan.steps if step.kind == "hold"])
    stages = []
    for section in _SECTIONS:
        last = section is _SECTIONS[-1]
        own = [
            step
            for step in plan.steps
            if step.stage.partition(":")[0] == section.steps or (last and step.stage.partition(":")[0] not in named)
        ]
        steps = _steps(own, reference, section.title)
        closes = [step for step in (next(holds, None),) if step] if section.closes else []
        sets, closing = _with_holds(
            plan, [view for stage in section.checks for view in _check_sets(plan, stage)], closes
        )
        headed = not steps and bool(sets) and section.title.lower() in sets[0].title.lower()
        new_page = bool(sets) and sets[0].new_page and not steps
        if new_page and not headed:
            sets[0] = replace(sets[0], new_page=False)
        if steps or sets or closing:
            stages.append(
                StageView(
                    title=section.title,
                    headed=headed,
                    new_page=new_page,
                    elsewhere=_elsewhere(plan, section.elsewhere),
                    steps=steps,
                    check_sets=tuple(sets),
                    holds=closing,
                    minutes=_minutes(plan) if section.steps == "finish" else (),
                )
            )
    return tuple(stages)


def _elsewhere(plan: Plan, stages: tuple[Stage, ...]) -> str:
    """The sentence that sends the reader to the fitting sheet: "Checks 1 to 12 stand on the fitting sheet."."""
    numbers = [check.number for check in plan.checks if check.stage in stages]
    if not numbers:
        return ""
    if len(numbers) == 1:
        return f"Check {numbers[0]} stands on the fitting sheet."
    return f"Checks {numbers[0]} to {numbers[-1]} stand on the fitting sheet."


def _with_holds(
    plan: Plan, sets: list[CheckSetView], closes: Sequence[WorkStep]
) -> tuple[list[CheckSetView], tuple[HoldView, ...]]:
    """The sets and the holds after them. Each vehicle of a fleet is held and released for itself, after its own checks."""
    plates = [r.plate for r in plan.job.registrations]
    if len(plates) == 1:
        return sets, tuple(_hold(step, "") for step in closes)
    closing: list[HoldView] = []
    for plate in plates:
        holds = tuple(_hold(step, plate) for step in closes)
        own = [i for i, view in enumerate(sets) if view.plate == plate]
        if own:
            sets[own[-1]] = replace(sets[own[-1]], holds=holds)
        else:
            closing.extend(holds)
    return sets, tuple(closing)


def _hold(step: WorkStep, plate: str) -> HoldView:
    text = step.text
    parts = ("hold", step.row, plate) if plate else ("hold", step.row)
    named = f"{plate}: {text[:1].lower()}{text[1:]}" if plate else text
    return HoldView(text=f"{named}: work stops here until this is signed.", field=field_name(*parts))


def _steps(steps: Sequence[WorkStep], reference: Reference, section: str) -> tuple[StepView, ...]:
    """Steps and ticked stops; a caution waits for the step it stands before, and a hold is drawn by its section."""
    views: list[StepView] = []
    waiting: list[CautionView] = []
    last = steps[-1] if steps else None
    for step in steps:
        caution = reference.cautions.get(step.caution) if step.caution else None
        if caution is not None and not caution.standing_caution:
            waiting.append(caution_view(caution))
        if step.kind not in ("step", "stop"):
            continue
        stop = step.kind == "stop"
        name = f"{section.lower()}-{len(views) + 1}" if stop else str(step.number)
        hazards = () if stop else by_severity(waiting)
        views.append(
            StepView(
                number="" if stop else str(step.number),
                text=sentence(step.text),
                hazards=hazards,
                stop=stop,
                leads=stop and step is not last,
                field=field_name("stop" if stop else "step", name),
            )
        )
        if not stop:
            waiting = []
    return tuple(views)


def _check_sets(plan: Plan, stage: Stage) -> tuple[CheckSetView, ...]:
    """The checks of a stage: on the bench a table for all that share their setting, condition and expected value, with a
    column for each lead of a fleet; before plugging in one table for all, vehicle by vehicle for a fleet."""
    own = [check for check in plan.checks if check.stage == stage]
    if not own:
        return ()
    title, short = f"Checks {STAGE_TITLES[stage]}", short_ways(plan)
    plates = [r.plate for r in plan.job.registrations]
    if stage == "before-plugging-in":
        each = plates if len(plates) > 1 else [""]
        return tuple(one_set(title, plate, own, new_page=bool(plate), short=short) for plate in each)
    sets = sharing(own)
    if len(plates) == 1:
        return tuple(check_set(title, "", checks, short=short) for checks in sets)
    return tuple(lead_set(title, leads, checks, short=short) for leads in side_by_side(plates) for checks in sets)


def side_by_side(plates: Sequence[str]) -> list[tuple[ColumnView, ...]]:
    """The leads of a fleet in as few tables as they need, as even as they come."""
    columns = [ColumnView(number=at, plate=plate) for at, plate in enumerate(plates, start=1)]
    tables = -(-len(columns) // MOST_LEADS)
    ends = [len(columns) * n // tables for n in range(tables + 1)]
    return [tuple(columns[start:end]) for start, end in pairwise(ends)]


def short_leads(plan: Plan) -> dict[str, str]:
    """Each lead's name and the shortest end of it, in whole words, that holds a word and that no other lead ends with."""
    names = [lead.lead for lead in plan.leads]

    def ends(name: str) -> list[str]:
        parts = name.split("-")
        return ["-".join(parts[-n:]) for n in range(1, len(parts) + 1)]

    def fits(end: str, name: str) -> bool:
        others = [e for other in names if other != name for e in ends(other)]
        return re.match(r"[a-z]{2}", end) is not None and end not in others

    return {name: next((end for end in ends(name) if fits(end, name)), name) for name in names}


def short_ways(plan: Plan) -> dict[str, str]:
    """Each way's name without its lead where no other lead of the job bears it; else with the lead's short name."""
    leads = short_leads(plan)
    tails = [(lead.lead, tail.at) for lead in plan.leads for tail in lead.tails]
    bearers = Counter(at for _, at in tails)
    return {f"{lead}/{at}": at if bearers[at] == 1 and "." in at else f"{leads[lead]}/{at}" for lead, at in tails}


def _shortened(text: str, short: Mapping[str, str]) -> str:
    """Text in which every way of ``short`` goes by its short name."""
    return re.sub(r"[\w-]+/[\w.+-]*\w", lambda found: short.get(found[0], found[0]), text)


def check_set(
    title: str,
    plate: str,
    checks: Sequence[Check],
    *,
    new_page: bool = False,
    short: Mapping[str, str] | None = None,
) -> CheckSetView:
    """A table of checks: what all of them share is told once, above the rows and again on each page.

    ``short`` holds the short names of ways (see ``short_ways``).
    """
    views = tuple(check_view(check, plate, short=short) for check in checks)
    first = views[0]
    wants = {(v.expected, v.limits) for v in views}
    one_condition = len({v.condition for v in views}) == 1
    one_want = len(wants) == 1
    one_failure = len({v.on_failure for v in views}) == 1
    shared = [FactView(label="Meter", value=first.meter)] if first.actual else []
    if one_condition:
        shared.append(FactView(label="Condition", value=sentence(first.condition)))
    if one_want:
        shared.append(FactView(label="Expected", value=first.expected_text, strong=True))
    if one_failure and first.on_failure:
        shared.append(FactView(label="If not", value=first.on_failure))
    said = _said_of_all(checks)
    paired = bool(said) and one_condition and one_want and one_failure and all(v.actual for v in views)
    paired = paired and sum(map(_narrow, views)) > 1
    if paired:
        title = f"{title}, each circuit {said}"
    return CheckSetView(
        title=f"{title}: {plate}" if plate else title,
        plate=plate,
        new_page=new_page,
        shared=tuple(shared),
        show_condition=not one_condition,
        show_expected=not one_want,
        show_failure=not one_failure,
        groups=(CheckGroupView(title="", checks=views),),
        paired=paired,
    )


def lead_set(
    title: str, leads: tuple[ColumnView, ...], checks: Sequence[Check], *, short: Mapping[str, str] | None = None
) -> CheckSetView:
    """A table of checks that share setting, condition and expected value, with a column of boxes for each lead."""
    whole = check_set(title, "", checks, short=short)
    said = _said_of_all(checks)
    rows = tuple(
        replace(view, boxes=tuple(_boxes(check_view(check, lead.plate), lead.plate) for lead in leads))
        for view, check in zip(whole.checks, checks, strict=True)
    )
    return replace(
        whole,
        title=f"{title}, each circuit {said}" if said else title,
        paired=False,
        said=said,
        leads=leads,
        groups=(CheckGroupView(title="", checks=rows),),
    )


def _boxes(check: CheckView, plate: str) -> BoxesView:
    return BoxesView(
        plate=plate,
        actual=check.field_actual,
        passed=check.field_pass,
        failed=check.field_fail,
        initials=check.field_initials,
    )


def _said_of_all(checks: Sequence[Check]) -> str:
    """What the titles of several checks say of their circuits: "is joined"; "" for one check, or where they differ."""
    if len(checks) < 2 or not all(check.circuit for check in checks):
        return ""
    titles = [check.title.split() for check in checks]
    same = 0
    while all(len(words) > same + 1 and words[-1 - same] == titles[0][-1 - same] for words in titles):
        same += 1
    ending = titles[0][len(titles[0]) - same :]
    verb = next((place for place, word in enumerate(ending) if word in ("is", "carries")), len(ending))
    return " ".join(ending[verb:])


def _narrow(check: CheckView) -> bool:
    """Whether a check's ways have room beside another check."""
    return text_width(check.probes, WORD) <= _PAIRED_MM


def one_set(
    title: str, plate: str, checks: Sequence[Check], *, new_page: bool = False, short: Mapping[str, str] | None = None
) -> CheckSetView:
    """One table of checks with different meter settings: rows of one condition, setting and place of the probes stand
    together, under a line that says them. What most rows want on failure is told in the table's head."""
    usual = Counter(check.on_failure for check in checks).most_common(1)[0][0]
    groups = tuple(
        CheckGroupView(
            title=_group_title(state, meter, probes, "" if failure == usual else failure),
            checks=tuple(_under(check_view(c, plate, short=short), c, state, probes, short or {}) for c in rows),
        )
        for (state, meter, probes, failure), rows in under_conditions(checks)
    )
    return CheckSetView(
        title=f"{title}: {plate}" if plate else title,
        plate=plate,
        new_page=new_page,
        shared=(FactView(label="If not", value=sentence(capital(usual))),) if usual else (),
        show_condition=False,
        show_expected=True,
        show_failure=False,
        groups=groups,
    )


def _group_title(state: str, meter: str, probes: str, failure: str) -> str:
    """ "Key on, 5 W lamp. Volts DC: this way and bare metal." """
    said = [sentence(capital(state)), sentence(capital(f"{meter}: {probes}" if probes else meter))]
    return " ".join([*said, f"If not: {sentence(capital(failure))}"] if failure else said)


def _under(view: CheckView, check: Check, state: str, probes: str, short: Mapping[str, str]) -> CheckView:
    """A row without what the line above it says."""
    way = short.get(check.tails[0], check.tails[0]) if check.tails and probes else ""
    own = check.condition.removeprefix(state).lstrip(", ")
    return replace(view, way=way, probes="" if probes else view.probes, condition=sentence(capital(own)) if own else "")


def check_view(check: Check, plate: str, *, short: Mapping[str, str] | None = None) -> CheckView:
    """One check; ``plate`` goes into the field names when a fleet's vehicles are read one by one."""
    parts = (check.key, plate) if plate else (check.key,)
    limits = limits_text(check)
    return CheckView(
        number=check.number,
        way="",
        of=check.circuit,
        circuit="" if not check.circuit or check.title.startswith(f"{check.circuit} ") else check.circuit,
        title=re.sub(r", way \S+$", "", check.title) if "/" in check.probes else check.title,
        probes=sentence(capital(_shortened(check.probes, short or {}))),
        meter=sentence(capital(check.meter)),
        condition=capital(check.condition.replace("-", " ")),
        expected=check.expected,
        limits="" if check.yes_no or _says_limits(check, limits) else limits,
        on_failure=sentence(capital(check.on_failure)),
        actual=not check.yes_no,
        field_actual=field_name(*parts, "actual"),
        field_pass=field_name(*parts, "pass"),
        field_fail=field_name(*parts, "fail"),
        field_initials=field_name(*parts, "initials"),
    )


def signers(work: str, crew: Crew, *, two: bool) -> tuple[str, ...]:
    """Who signs at the end of a sheet: who did it, another person who looked at it, or the same one again and later."""

    def named(role: str, name: str) -> str:
        return f"{role}: {name}" if name else role

    rows = (
        named(f"{work} by", crew.fitter),
        named("Checked by another person", checker_name(crew)),
        "If alone: inspected again by, later than above",
    )
    return rows if two else rows[:1]


def _minutes(plan: Plan) -> tuple[MinutesView, ...]:
    """Minutes taken for the work at the bench. The leads of a fleet are made together, and their time belongs to no one of
    them: it is written into the job file, for all."""
    if plan.workshop is None or len(plan.states) > 1:
        return ()
    return tuple(
        MinutesView(label=title, field=field_name("minutes", name))
        for name, title in timed_at_the_bench(plan.workshop.minutes)
    )


def _signatures(plan: Plan, *, two: bool) -> tuple[tuple[str, str], ...]:
    return tuple(
        zip(("made-by", "checked-by", "inspected-again"), signers("Made", plan.job.crew, two=two), strict=False)
    )


def checker_name(crew: Crew) -> str:
    """The checker's name, or none where it is the fitter's own: two signatures cannot be one person's."""
    return "" if crew.checker == crew.fitter else crew.checker


def limits_text(check: Check) -> str:
    """Low and high limit with their unit, or what to see instead of a number."""
    if check.yes_no:
        return "seen or not"
    low, high = _scaled(check.low, check.unit), _scaled(check.high, check.unit)
    if check.low is not None and check.high is not None:
        same_unit = low.rpartition(" ")[2] == high.rpartition(" ")[2]
        return f"{low.rpartition(' ')[0] if same_unit and check.unit else low} to {high}"
    if check.low is not None:
        return f"{low} or more" + (", or OL" if check.open else "")
    if check.high is not None:
        return f"{high} or less"
    return "OL" if check.open else "as expected"


def _scaled(value: float | None, unit: str) -> str:
    """A limit with its unit, ohms in kΩ and MΩ where that is how the meter shows them."""
    if value is None:
        return ""
    for factor, prefix in ((1e6, "M"), (1e3, "k")):
        if unit == "Ω" and abs(value) >= factor:
            return f"{number(value / factor)} {prefix}Ω"
    return f"{number(value)} {unit}".strip()


def _says_limits(check: Check, limits: str) -> bool:
    """Whether the expected value already states the limits, to the last figure that it prints."""
    expected = check.expected
    if expected.startswith(limits) or (limits == "OL" and expected.startswith("OL")):
        return True
    span = _SPAN.match(expected)
    if span is None or check.low is None or check.high is None or span["unit"] != check.unit:
        return False
    return _rounds_to(check.low, span["low"]) and _rounds_to(check.high, span["high"])


def _rounds_to(value: float, printed: str) -> bool:
    """Whether ``printed`` is the value to half of its own last figure."""
    half = 0.5 * 10.0 ** -len(printed.partition(".")[2])
    return abs(value - float(printed)) <= half * (1 + 1e-9)


_SPAN = re.compile(r"(?P<low>\d+(?:\.\d+)?) to (?P<high>\d+(?:\.\d+)?) (?P<unit>\S+)$")


def _working(plan: Plan) -> tuple[WorkingView, ...]:
    """Every figure of the joints, the checks and the engineering, each once."""
    found: dict[tuple[str, str], WorkingView] = {}
    for what, figure in _figures(plan):
        view = WorkingView(
            what=what,
            value=figure.text,
            working=figure.working or "no working",
            sources=", ".join(figure.sources) or "none",
            known=figure.known.words if figure.sources else "as stated in the shop's own files",
        )
        found.setdefault((what, figure.text), view)
    return tuple(found.values())


def _figures(plan: Plan) -> Iterator[tuple[str, Figure]]:
    for joint in plan.joints:
        named = (
            ("total area", joint.total_mm2),
            ("total area", joint.total_cmil),
            ("strip length", joint.strip_mm),
            ("sleeve cut length", joint.sleeve_cut_mm),
            ("pull value, sample only", joint.pull_n),
        )
        for what, figure in named:
            if figure is not None:
                yield f"{joint.id} {what}", figure
    for check in plan.checks:
        if check.figure is not None:
            yield f"Check {check.number}, {check.title}", check.figure
    yield from _inside(plan.engineering, "")


def _inside(value: Any, path: str) -> Iterator[tuple[str, Figure]]:
    """Figures anywhere inside plain mappings and lists, with the path of names that leads to them."""
    if isinstance(value, Figure):
        yield capital(path.replace("_", " ").strip()), value
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield from _inside(inner, f"{path} {key}")
    elif isinstance(value, (list, tuple)):
        for index, inner in enumerate(value, start=1):
            yield from _inside(inner, f"{path} {index}")


def bench_data(plan: Plan) -> dict[str, Any]:
    """What the sheet shows, as plain data: carried inside its PDF. No customer, no price, no minutes."""
    job = plan.job
    return {
        "sheet": "bench",
        "job": job.job,
        "revision": job.revision,
        "issued": job.issued.isoformat(),
        "digest": plan.digest,
        "state": plan.state,
        "vehicle": plan.vehicle.title,
        "registrations": [r.plate for r in job.registrations],
        "circuits": [
            {
                "id": c.id,
                "title": c.title,
                "outcome": c.outcome,
                "tails": [
                    {"tail": t.name, "function": t.function_id, "colour": t.colour_text, "size": t.size_text}
                    for t in c.tails
                ],
                "ends": [e.name for e in c.ends],
            }
            for c in plan.circuits
        ],
        "spares": [{"id": s.id, "tail": s.tail.name, "live": s.live} for s in plan.spares],
        "joints": [
            {"id": j.id, "circuit": j.circuit, "method": j.method_id, "item": j.item_id, "position_mm": j.position_mm}
            for j in plan.joints
        ],
        "fuses": fuse_data(plan),
        "checks": [check_data(c) for c in plan.checks if c.stage in BENCH_STAGES],
        "parts": [{"lead": lead.lead, "title": lead.title, "side": lead.side} for lead in plan.leads],
    }
