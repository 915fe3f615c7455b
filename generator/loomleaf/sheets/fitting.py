"""The fitting sheet: the work in the vehicle, in its order, from what was found to what is handed over.

Everything that hangs on this vehicle's maker (battery procedure, waiting times, trim) is a blank to be written in, and
nothing stands in it by default. Readings have the names of their checks, so that a filled sheet can be read back.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from ..figure import Figure
from ..model.job import Registration
from ..model.reference import Reference
from ..model.shop import Shop, overdue
from ..plan.as_json import check_data
from ..plan.battery import airbag_areas, second_batteries
from ..plan.check_order import BENCH_STAGES, by_condition, of_kind, watched_order
from ..plan.minutes import timed_in_the_vehicle
from ..plan.steps import cautions_for, steps_in_the_vehicle
from ..plan.tools import tools_called_for, tools_to_have
from ..plan.types import STAGES, Check, Circuit, Plan, Stage
from .bench import limits_text, signers
from .views import CautionView, FrameView, by_severity, capital, caution_view, field_name, sentence

MOST_IN_A_BLOCK = 9
"""Items between two pauses."""

FITTING_STAGES: tuple[Stage, ...] = tuple(stage for stage in STAGES if stage not in BENCH_STAGES)
TIMED_NOTE = "Maker's time:"
STANDING = "from 80 to 65 % charge"
HELD_STOP = "Stop here while the job is held: join nothing, plug nothing in"
_CAMERAS = frozenset({"reversing-camera", "surround-camera", "camera-guide-lines"})


@dataclass(frozen=True, kw_only=True)
class BlankView:
    """A field to fill in. ``kind`` is tick, or how wide its line is (short, time, half, wide); ``known`` is printed instead
    of the line when the files say it."""

    label: str
    field: str
    kind: str = "half"
    known: str = ""


@dataclass(frozen=True, kw_only=True)
class AskView:
    """A row of a form: what is asked, what the files say of it, and where the answer goes."""

    label: str
    blanks: tuple[BlankView, ...]
    known: str = ""


@dataclass(frozen=True, kw_only=True)
class ActionView:
    """One action. ``note`` stands before a timed one. A stop has no number."""

    number: str
    text: str
    field: str
    blanks: tuple[BlankView, ...] = ()
    note: str = ""
    stop: bool = False


@dataclass(frozen=True, kw_only=True)
class RowView:
    """One check in one row. ``way`` is the largest word in it, "" for a check that is watched."""

    number: int
    circuit: str
    plug: str
    way: str
    lead: str
    title: str
    expected: str
    limits: str
    on_failure: str
    actual: str
    passed: str
    failed: str
    initials: str
    changed: bool = False


@dataclass(frozen=True, kw_only=True)
class ConditionView:
    """Checks in one condition with one meter setting."""

    title: str
    rows: tuple[RowView, ...]


@dataclass(frozen=True, kw_only=True)
class TableView:
    """A block of at most nine checks. ``reads`` when a figure is written. ``failure`` is told once when all share it.

    ``hazards`` of its section stand in its head again, where it may begin a page after the one that holds them. ``never``
    names the ways beside its own that no probe may touch.
    """

    title: str
    reads: bool
    failure: str
    groups: tuple[ConditionView, ...]
    hazards: tuple[CautionView, ...] = ()
    never: str = ""

    @property
    def columns(self) -> int:
        return 7 if self.reads else 6


@dataclass(frozen=True, kw_only=True)
class ButtonView:
    """A wheel button in learning order."""

    order: int
    name: str
    ohms: str
    volts: str
    taught: BlankView
    long_press: BlankView | None
    retests: tuple[BlankView, ...]


@dataclass(frozen=True, kw_only=True)
class ButtonsView:
    """One wire of wheel buttons."""

    title: str
    notes: tuple[str, ...]
    buttons: tuple[ButtonView, ...]
    show_volts: bool


@dataclass(frozen=True, kw_only=True)
class HoldView:
    """A signed hold point."""

    text: str
    field: str


@dataclass(frozen=True, kw_only=True)
class RunView:
    """Steps that follow one another, in one column or in two."""

    two: bool
    steps: tuple[ActionView, ...]


@dataclass(frozen=True, kw_only=True)
class BlockView:
    """A pause block: hazards, then at most nine steps; then its tables or its buttons; then what closes it.

    ``facts`` are lines the block needs to know. ``after`` are steps that follow its tables. Hazards, steps and the first
    table stay on one page; the tables after it carry the hazards that they need themselves.
    """

    title: str
    facts: tuple[str, ...] = ()
    hazards: tuple[CautionView, ...] = ()
    steps: tuple[ActionView, ...] = ()
    tables: tuple[TableView, ...] = ()
    buttons: tuple[ButtonsView, ...] = ()
    after: tuple[ActionView, ...] = ()
    hold: HoldView | None = None

    @property
    def runs(self) -> tuple[RunView, ...]:
        """The steps in runs: plain ones, four or more in a row, stand in two columns."""
        runs: list[list[ActionView]] = []
        for step in self.steps:
            if runs and _plain(runs[-1][-1]) == _plain(step):
                runs[-1].append(step)
            else:
                runs.append([step])
        return tuple(RunView(two=_plain(run[0]) and len(run) > 3, steps=tuple(run)) for run in runs)

    @property
    def tables_text(self) -> str:
        """Where the block's checks stand, for the steps that are told once: "Then checks 1 to 8, on the vehicle's pages"."""
        numbers = sorted(row.number for table in self.tables for group in table.groups for row in group.rows)
        return f"Then {_checks(numbers)}, on the vehicle's own pages."

    @property
    def covered(self) -> tuple[TableView, ...]:
        """The table that stays on the page of the hazards."""
        return self.tables[:1] if self.hazards else ()

    @property
    def free(self) -> tuple[TableView, ...]:
        """The tables that may stand on any page."""
        return self.tables[1:] if self.hazards else self.tables


def _plain(step: ActionView) -> bool:
    return not (step.blanks or step.note)


@dataclass(frozen=True, kw_only=True)
class GateView:
    """Something that is answered before step 1, with the hazard it is about. ``ticks`` and ``blanks`` are its answers."""

    title: str
    text: str
    hazards: tuple[CautionView, ...]
    ticks: tuple[BlankView, ...]
    blanks: tuple[BlankView, ...]


@dataclass(frozen=True, kw_only=True)
class WorksView:
    """A feature of the vehicle as it was found: works, or does not."""

    title: str
    works: BlankView
    dead: BlankView


@dataclass(frozen=True, kw_only=True)
class PartView:
    """A part with its serial number and firmware."""

    title: str
    serial: BlankView
    firmware: BlankView


@dataclass(frozen=True, kw_only=True)
class VehicleView:
    """All work on one vehicle. ``title`` and ``plate`` name it where there are several; ``held`` is how far a held job goes."""

    title: str
    plate: str
    held: str
    gates: tuple[GateView, ...]
    found: tuple[AskView, ...]
    works: tuple[tuple[WorksView, ...], ...]
    carries: tuple[AskView, ...]
    blocks: tuple[BlockView, ...]
    parts: tuple[PartView, ...]
    lines: tuple[BlankView, ...]
    minutes: tuple[BlankView, ...]
    complete: str
    signatures: tuple[tuple[str, str], ...]


@dataclass(frozen=True, kw_only=True)
class FaultView:
    """A symptom and where to look, in order."""

    symptom: str
    look: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class FittingView:
    """Everything on the fitting sheet. ``facts`` stand two a line.

    The steps of a fleet are told once, in ``shared``; the pages of each vehicle then name them by number.
    """

    facts: tuple[tuple[tuple[str, str], ...], ...]
    tools: str
    shared: tuple[BlockView, ...]
    vehicles: tuple[VehicleView, ...]
    faults: tuple[FaultView, ...]


class _Vehicle:
    """Names of fields for one vehicle, and the number of the next step."""

    def __init__(self, plate: str) -> None:
        self.plate = plate
        self.count = 0
        self.proved = 0  # the last step of proving the ways

    def name(self, *parts: str) -> str:
        """A field's name: with the plate behind its first part when the job has several vehicles."""
        return field_name(parts[0], *([self.plate] if self.plate else []), *parts[1:])

    def blank(self, label: str, *parts: str, kind: str = "half", known: str = "") -> BlankView:
        return BlankView(label=label, field=self.name(*parts), kind=kind, known=known)

    def step(self, text: str, *blanks: BlankView, note: str = "") -> ActionView:
        self.count += 1
        return ActionView(
            number=str(self.count),
            text=sentence(text),
            field=self.name("fit-step", str(self.count)),
            blanks=blanks,
            note=note,
        )

    def timed(self, text: str, key: str) -> ActionView:
        """A step that waits: a note before it, and blanks for its start and the earliest time to go on."""
        return self.step(
            text,
            self.blank("Started", key, "started", kind="time"),
            self.blank("Not before", key, "earliest", kind="time"),
            note=TIMED_NOTE,
        )

    def stop(self, text: str, key: str) -> ActionView:
        return ActionView(number="", text=sentence(text), field=self.name("fit-stop", key), stop=True)


def fitting_view(plan: Plan, shop: Shop, reference: Reference, head: FrameView) -> FittingView:
    """The fitting sheet of a plan."""
    several = len(plan.job.registrations) > 1
    vehicles = tuple(_vehicle(plan, shop, reference, reg, several=several) for reg in plan.job.registrations)
    return FittingView(
        facts=_facts(plan),
        tools=_tools(plan, shop),
        shared=tuple(block for block in vehicles[0].blocks if block.steps or block.after) if several else (),
        vehicles=vehicles,
        faults=tuple(
            FaultView(
                symptom=sentence(fault.symptom), look=tuple(sentence(line) for line in fault.look)
            )
            for fault in plan.faults
            if fault.on_paper
        ),
    )


def _facts(plan: Plan) -> tuple[tuple[tuple[str, str], ...], ...]:
    vehicle, radio = plan.vehicle, plan.radio
    battery = vehicle.battery
    sensor = {True: "sensor on its post", False: "no sensor on its post", None: "sensor: look"}[battery.sensor]
    capacity = f"{battery.capacity_ah:g} Ah" if battery.capacity_ah is not None else "capacity not stated"
    rows = [
        ("Vehicle", vehicle.title),
        ("Trim", vehicle.trim or "not stated"),
        ("Radio", (radio.exact or radio.title) if radio else "no radio in this job"),
        ("Sound option", vehicle.sound or "not stated"),
        ("Battery", ", ".join((battery.place or "place not stated", capacity, sensor))),
        ("Feed", vehicle.feed.place or "place of the fuse not stated"),
        ("Ground point", vehicle.ground_point or "not stated"),
        ("Work areas", ", ".join(_spoken(area) for area in plan.job.work_areas) or "none named"),
    ]
    if len(plan.job.registrations) == 1:
        reg = plan.job.registrations[0]
        own = ", ".join(part for part in (reg.plate, reg.odometer, reg.trim, reg.differs) if part)
        rows.insert(0, ("Registration", own))
        rows.append(
            ("Plugs in the dash", ", ".join(f"{p.name} ({p.type})" for lead in plan.vehicle_leads for p in lead.plugs))
        )
    return tuple(tuple(rows[i : i + 2]) for i in range(0, len(rows), 2))


def _tools(plan: Plan, shop: Shop) -> str:
    """What this sheet's checks and the joints that are made in the vehicle call for, and the instruments."""
    issued, laid = plan.job.issued, {c.id for c in laid_circuits(plan)}

    def told(item: dict[str, str]) -> str:
        if overdue(item, issued):
            return f"{item.get('name', 'instrument')} (calibration overdue since {item['due']}: use another)"
        return f"{item.get('name', 'instrument')} ({item['due']} calibration due)" if item.get("due") else item.get("name", "")

    instruments = [told(item) for item in shop.instruments]
    called_for = tools_called_for(
        (c for c in plan.checks if c.stage in FITTING_STAGES),
        (j for j in plan.joints if j.circuit in laid and all(step.where == "bench" for step in j.method.steps)),
    )
    tools = tools_to_have(called_for, shop.tools, [item.get("name", "") for item in shop.instruments])
    return "; ".join(part for part in (*tools, *instruments) if part)


def _spoken(name: str) -> str:
    return name.replace("-", " ")


def _boxes(reference: Reference, *names: str) -> tuple[CautionView, ...]:
    """Hazard boxes by their names, worst first; the standing ones stand at the top of the sheet already."""
    found = [reference.cautions[n] for n in dict.fromkeys(names) if n in reference.cautions]
    return by_severity(caution_view(c) for c in found if not c.standing_caution)


def touched_airbag_areas(plan: Plan) -> tuple[str, ...]:
    """Areas of the work that may hold an airbag, a belt tensioner or a sensor, in words."""
    return tuple(_spoken(area) for area in airbag_areas(plan.job, plan.vehicle))


def untouched(plan: Plan) -> str:
    """ "Never touch way A.6: airbag circuit (X1)." for ways of the vehicle's plugs that no probe may touch; "" for none."""
    leads = plan.vehicle_leads
    found = [
        f"{t.name if len(leads) > 1 else t.name.partition('/')[2]}: {_lower(c.title)} ({c.id})"
        for c in plan.circuits
        if c.group == "safety"
        for t in c.tails
        if t.lead.side == "vehicle"
    ]
    return f"Never touch way {'; '.join(found)}." if found else ""


def laid_circuits(plan: Plan) -> tuple[Circuit, ...]:
    """Circuits that come from the battery and are joined in the vehicle, not on the bench."""
    return tuple(c for c in plan.circuits if c.made and c.feed == "battery" and c.group in ("supply", "ground"))


# --- one vehicle -------------------------------------------------------------------------------------------------


def _vehicle(plan: Plan, shop: Shop, reference: Reference, reg: Registration, *, several: bool) -> VehicleView:
    vehicle = _Vehicle(reg.plate if several else "")
    detail = ", ".join(part for part in (reg.odometer, reg.trim, reg.differs) if part)
    title = f"{reg.plate}{', ' + detail if detail else ''}" if several else ""
    blocks = [
        *_isolate(plan, shop, reference, vehicle),
        _take_out(plan, reference, vehicle),
        *_lay(plan, reference, vehicle),
        _prove(plan, reference, vehicle),
        *_room(plan, vehicle),
        _connect(plan, reference, vehicle),
        *_camera(plan, reference, vehicle),
        *_wheel(plan, vehicle),
        _verify(plan, reference, vehicle),
        _before_trim(plan, vehicle, reg.plate if several else ""),
        _refit(plan, vehicle),
    ]
    two = bool(shop.two_signatures or plan.job.crew.apprentice)
    return VehicleView(
        title=title,
        plate=vehicle.plate,
        held=_how_far(plan, vehicle) if plan.held else "",
        gates=(_voltage_gate(plan, reference, vehicle), _airbag_gate(plan, reference, vehicle)),
        found=_as_found(vehicle),
        works=_works(plan, vehicle),
        carries=_carries(plan, vehicle),
        blocks=tuple(blocks),
        parts=tuple(
            _part(lead.lead, lead.title, lead.firmware, vehicle) for lead in plan.leads if lead.side != "vehicle"
        ),
        lines=(
            vehicle.blank("For the next fitter", "found", "2", kind="wide"),
            vehicle.blank("Found, too", "found", "3", kind="wide"),
            vehicle.blank("Note", "note", "1", kind="wide"),
        ),
        minutes=_minutes(plan, vehicle),
        complete=f"Complete{f', {reg.plate}' if several else ''}: every box ticked, every reading inside its limits, no"
        " lamp lit.",
        signatures=_signatures(plan, vehicle, two=two),
    )


def _how_far(plan: Plan, vehicle: _Vehicle) -> str:
    """What may be done of a held job: what proves the ways, since that is how some holds are answered."""
    numbers = [c.number for c in plan.checks if c.stage == "before-joining"]
    taken = f" with {_checks(numbers)}" if numbers else ""
    return f"While this job is held, only steps 1 to {vehicle.proved}{taken} may be done: they prove the ways. Then stop."


def _voltage_gate(plan: Plan, reference: Reference, vehicle: _Vehicle) -> GateView:
    """Answered by whoever stands at the vehicle; the job file's word is printed, and ticks nothing."""
    job = plan.job
    named = {"high voltage": "high-voltage", "48 V": "forty-eight-volt"}.get(job.high_voltage, "")
    trained = job.trained or job.crew.high_voltage
    return GateView(
        title="High voltage",
        text=f"The job says: {job.high_voltage}. Tick what this vehicle has. High voltage and no trained person here: stop."
        " Orange cables are not touched.",
        hazards=_boxes(reference, named) if named else (),
        ticks=tuple(
            vehicle.blank(word, "gate-voltage", key, kind="tick")
            for word, key in (("none", "none"), ("48 V", "48-v"), ("high voltage", "high"))
        ),
        blanks=(vehicle.blank("Person trained for it", "gate-voltage", "trained", known=trained),),
    )


def _airbag_gate(plan: Plan, reference: Reference, vehicle: _Vehicle) -> GateView:
    areas = touched_airbag_areas(plan)
    wait = plan.job.airbag_wait
    stated = bool(wait.value and wait.source)
    if not areas:
        return GateView(
            title="Airbags",
            text="The job names no work near an airbag. Tick that this is so. If not: stop until the job names the area.",
            hazards=(),
            ticks=(vehicle.blank("no airbag near the work", "gate-airbag", "none", kind="tick"),),
            blanks=(),
        )
    return GateView(
        title="Airbags",
        text=f"Near this work: {', '.join(areas)}. The wait is the vehicle maker's, with document and page. A blank left empty:"
        " stop.",
        hazards=_boxes(reference, "srs-area"),
        ticks=(vehicle.blank("airbags, tensioners and sensors found", "gate-airbag", "looked-up", kind="tick"),),
        blanks=(
            vehicle.blank("Wait", "gate-airbag", "wait", kind="short", known=wait.value if stated else ""),
            vehicle.blank("Document", "gate-airbag", "document", known=wait.source if stated else ""),
            vehicle.blank("Page", "gate-airbag", "page", kind="short", known=wait.page if stated else ""),
        ),
    )


def _as_found(vehicle: _Vehicle) -> tuple[AskView, ...]:
    def ask(label: str, key: str, kind: str = "wide") -> AskView:
        return AskView(label=label, blanks=(vehicle.blank("", "as-found", key, kind=kind),))

    return (
        AskView(
            label="Battery",
            blanks=(
                vehicle.blank("at rest, V", "as-found", "battery-volts", kind="short"),
                vehicle.blank("tester says", "as-found", "battery-state", kind="half"),
            ),
        ),
        ask("Warning lamps lit", "lamps"),
        ask("Stored fault codes", "fault-codes"),
        ask("Already dead", "dead"),
        ask("Marks on trim, screen", "marks"),
        AskView(
            label="Owner's codes ready",
            blanks=(
                vehicle.blank("yes", "as-found", "codes", "yes", kind="tick"),
                vehicle.blank("no", "as-found", "codes", "no", kind="tick"),
            ),
            known="Never write the code itself.",
        ),
    )


def _works(plan: Plan, vehicle: _Vehicle) -> tuple[tuple[WorksView, ...], ...]:
    """Every feature that the vehicle has today, two a line."""
    views = [
        WorksView(
            title=feature.title,
            works=vehicle.blank("works", "as-found", feature.feature_id, "works", kind="tick"),
            dead=vehicle.blank("dead", "as-found", feature.feature_id, "dead", kind="tick"),
        )
        for feature in plan.features
    ]
    return tuple(tuple(views[i : i + 2]) for i in range(0, len(views), 2))


def _carries(plan: Plan, vehicle: _Vehicle) -> tuple[AskView, ...]:
    """What leaves with the old radio."""
    old = plan.vehicle.removed_radio
    said = {True: "file: yes", False: "file: no", None: "file: not known"}
    return tuple(
        AskView(
            label=label,
            known=said[known],
            blanks=(
                vehicle.blank("yes", "old-radio", key, "yes", kind="tick"),
                vehicle.blank("no", "old-radio", key, "no", kind="tick"),
            ),
        )
        for label, key, known in (
            ("bus gateway", "gateway", old.bus_gateway),
            ("code tied to the vehicle", "code", old.codes),
            ("telematics", "telematics", old.telematics),
            ("customer's data", "data", old.customer_data),
        )
    )


def _second(plan: Plan, vehicle: _Vehicle, text: str) -> list[ActionView]:
    """A step for every second battery: "Take … off as well: under the seat"."""
    return [vehicle.step(f"{text}: {where}") for where in second_batteries(plan.job, plan.vehicle)]


def _isolate(plan: Plan, shop: Shop, reference: Reference, vehicle: _Vehicle) -> tuple[BlockView, ...]:
    cordless = any(word in tool.lower() for tool in shop.tools for word in ("cordless", "lithium"))
    steps = [
        vehicle.step("Put on eye protection and gloves"),
        vehicle.step(
            "Write down the vehicle maker's battery procedure",
            vehicle.blank("Document", "battery", "document"),
            vehicle.blank("Page", "battery", "page", kind="short"),
        ),
        vehicle.step(
            "Write down which settings and systems it loses",
            vehicle.blank("Lost", "battery", "lost", kind="half"),
        ),
        vehicle.step("Switch off every load"),
        vehicle.step("Lay the key away from the vehicle"),
        vehicle.timed("Wait until the vehicle sleeps", "sleep-1"),
        vehicle.step("Take the negative lead off first", vehicle.blank("Off at", "battery", "off-1", kind="time")),
        *_second(plan, vehicle, "Take the second battery's negative lead off as well"),
        vehicle.step("Cover the negative lead so that it cannot spring back"),
    ]
    if touched_airbag_areas(plan):
        steps.append(vehicle.timed("Wait as at the airbag gate", "airbag-1"))
    hazards = _boxes(reference, "eye-protection", *(("lithium",) if cordless else ()))
    if len(steps) <= MOST_IN_A_BLOCK:
        return (BlockView(title="Isolate", hazards=hazards, steps=tuple(steps)),)
    first = 5  # papers, loads and the key, before anybody touches a battery
    return (
        BlockView(title="Before the battery", hazards=hazards, steps=tuple(steps[:first])),
        BlockView(title="Isolate", steps=tuple(steps[first:])),
    )


def _take_out(plan: Plan, reference: Reference, vehicle: _Vehicle) -> BlockView:
    return BlockView(
        title="Take the radio out",
        hazards=_boxes(reference, "sharp-edges", "static"),
        steps=(
            vehicle.step("Cover seat, console and gear lever"),
            vehicle.step(
                "Take the trim off in the maker's order",
                vehicle.blank("Document, page", "trim", "document"),
            ),
            vehicle.step("Touch bare metal of the body before the radio"),
            vehicle.step("Photograph every plug before it is pulled"),
            vehicle.step("Pull each plug by its latch"),
            vehicle.step(
                "Write down the old radio's model and serial number", vehicle.blank("", "old-radio", "serial")
            ),
            vehicle.step("Write down earlier splices and damage", vehicle.blank("", "found", "1", kind="half")),
        ),
    )


def _lay(plan: Plan, reference: Reference, vehicle: _Vehicle) -> tuple[BlockView, ...]:
    """Cables from the battery: laid and joined in the vehicle, with the hazards of the ways of joining that they use."""
    laid = laid_circuits(plan)
    bolted = steps_in_the_vehicle(plan.circuits, plan.joints)
    if not laid:
        return _bolt_down(plan, reference, vehicle, bolted, "Bolt down") if bolted else ()
    ids = [c.id for c in laid]
    joints = [j for j in plan.joints if j.circuit in ids]
    begun = {j.method_id for j in joints if any(step.where == "vehicle" for step in j.method.steps)}
    methods = {j.method_id: j.method for j in joints if j.method_id not in begun}
    hazards = [n for m in methods.values() for n in cautions_for(m.solder, m.heat_gun, m.kind, reference)]
    if any(m.solder for m in methods.values()):
        hazards.append("lead-solder")
    at_rest = [
        c.number
        for c in plan.checks
        if c.stage == "before-plugging-in" and c.circuit in ids and "fuse out" in c.condition
    ]
    steps = [
        vehicle.step("Look at the far side of every panel before it is drilled"),
        vehicle.step("Lay the cable clear of pedals, column, seat rails and airbags"),
        vehicle.step("Fit a grommet wherever it passes metal"),
        vehicle.step("Leave the fuse of the battery feed out"),
        *(
            vehicle.step(f"Make {', '.join(j.id for j in joints if j.method_id == name)}: {_lower(method.title)}")
            for name, method in methods.items()
        ),
    ]
    lay = BlockView(
        title=f"Lay the battery feed: {', '.join(ids)}",
        hazards=_boxes(reference, "drilling", *(n for n in hazards if n != "eye-protection")),
        steps=tuple(steps),
    )
    rest = (*bolted, *((f"Take the bench sheet's {_checks(at_rest)}",) if at_rest else ()))
    title = f"{'Bolt down and read' if bolted else 'Read'} the battery feed: {', '.join(ids)}"
    return (lay, *(_bolt_down(plan, reference, vehicle, rest, title) if rest else ()))


def _bolt_down(
    plan: Plan, reference: Reference, vehicle: _Vehicle, texts: Sequence[str], title: str
) -> tuple[BlockView, ...]:
    """What is left to do in the vehicle of joints that were begun on the bench; no ground on the post of a battery with a
    sensor, or of one that nobody has looked at."""
    grounds = plan.vehicle.battery.sensor is not False and any(c.made and c.group == "ground" for c in plan.circuits)
    return (
        BlockView(
            title=title,
            hazards=_boxes(reference, "battery-sensor") if grounds else (),
            steps=tuple(vehicle.step(text) for text in texts),
        ),
    )


def _on_the_lead(plan: Plan) -> Iterable[Check]:
    """Checks before plugging in: they stand on the bench sheet, with its hold point."""
    return (c for c in plan.checks if c.stage == "before-plugging-in")


def _laid_dead(check: Check) -> bool:
    """Whether a check is made on a laid cable with the battery off."""
    return "battery lead off" in check.condition


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _checks(numbers: Sequence[int]) -> str:
    """ "check 4", "checks 4 to 7" when they follow one another, else every number."""
    if len(numbers) == 1:
        return f"check {numbers[0]}"
    if list(numbers) == list(range(numbers[0], numbers[-1] + 1)):
        return f"checks {numbers[0]} to {numbers[-1]}"
    return "checks " + ", ".join(str(n) for n in numbers)


def _prove(plan: Plan, reference: Reference, vehicle: _Vehicle) -> BlockView:
    near = bool(touched_airbag_areas(plan))
    data = any(t.function.group == "data" for c in plan.circuits for t in c.tails if t.lead.side == "vehicle")
    steps = []
    if near:
        steps.append(vehicle.step("Look that no airbag, belt or seat plug is open"))
    steps.append(
        vehicle.step(
            "Put the negative lead back for the readings", vehicle.blank("On at", "battery", "on-1", kind="time")
        )
    )
    steps += _second(plan, vehicle, "Put the second battery's negative lead back as well")
    own = [c for c in plan.checks if c.stage == "before-joining"]
    before = [c.number for c in _on_the_lead(plan) if not _laid_dead(c)]
    hazards = _boxes(reference, "data-lines") if data else ()
    tables = _hazards_again(_tables("Prove each way", own, vehicle), hazards, lambda title: "data" in title.lower())
    never = untouched(plan)
    tables = tuple(replace(table, never=never) for table in tables)
    vehicle.proved = vehicle.count
    after = [vehicle.stop(HELD_STOP, "held")] if plan.held else []
    after += [vehicle.step("Plug the finished lead into the vehicle's plug, and nothing else")]
    if before:
        after.append(vehicle.step(f"Take the bench sheet's {_checks(before)}"))
    after += [
        vehicle.stop("Stop until the bench sheet's hold point before the radio is plugged in is signed", "plug-in"),
        vehicle.step("Switch off every load"),
        vehicle.timed("Wait until the vehicle sleeps", "sleep-2"),
        vehicle.step("Take the negative lead off again", vehicle.blank("Off at", "battery", "off-2", kind="time")),
        *_second(plan, vehicle, "Take the second battery's negative lead off again as well"),
    ]
    if near:
        after.append(vehicle.timed("Wait as at the airbag gate", "airbag-2"))
    return BlockView(
        title="Prove each way at the vehicle's plug",
        facts=(never,) if never and not tables else (),
        hazards=hazards,
        steps=tuple(steps),
        tables=tables,
        after=tuple(after),
    )


def _connect(plan: Plan, reference: Reference, vehicle: _Vehicle) -> BlockView:
    near = bool(touched_airbag_areas(plan))
    cameras = _camera_ends(plan, reference)
    ends = [c.id for c in plan.circuits if c.outcome == "mated" and c.id not in cameras]
    fuses = sorted({t.tail.fuse_a for c in laid_circuits(plan) for t in c.tails if t.tail.fuse_a})
    parts = [lead.title for lead in plan.leads if lead.side in ("module", "accessory")]
    steps = [vehicle.step("Push the lead's plugs home until each latch holds")]
    if ends:
        steps.append(vehicle.step(f"Plug in the ready ends: {', '.join(ends)}"))
    if cameras:
        steps.append(vehicle.step(f"Leave {' and '.join(cameras)} open: the camera's supply is read first"))
    if parts:
        steps.append(vehicle.step("Fix each module and tie its wires"))
    steps.append(vehicle.step("Stand the radio in its opening with its plugs in reach"))
    if near:
        steps.append(vehicle.step("Look that no airbag, belt or seat plug is open"))
    steps += [
        *_second(plan, vehicle, "Put the second battery's negative lead back"),
        vehicle.step("Put the negative lead back last", vehicle.blank("On at", "battery", "on-2", kind="time")),
    ]
    if fuses:
        rating = " and ".join(f"{a:g} A" for a in fuses)
        steps.append(vehicle.step(f"Fit the fuse of the battery feed last: {rating}"))
    steps.append(
        vehicle.step("Set up the systems that the maker's procedure names", vehicle.blank("Done", "battery", "set-up"))
    )
    return BlockView(
        title="Connect",
        hazards=_boxes(reference, "fuse-rating") if fuses else (),
        steps=tuple(steps),
    )


def _room(plan: Plan, vehicle: _Vehicle) -> tuple[BlockView, ...]:
    """What was worked out in a line; what wants a ruler or an eye as steps, unless a check before the trim asks it too."""
    rows = [row for row in plan.engineering.get("room", []) if row["item"] not in ("fixings", "rattle")]
    known = [f"{row['item']} {_known(row['figure'])}" for row in rows if _known(row["figure"])]
    steps = [
        vehicle.step(row["ask"], vehicle.blank("", "room", _slug(row["item"])))
        for row in rows
        if row["ask"]
    ]
    if not known and not steps:
        return ()
    facts = (f"Worked out: {'; '.join(known)}.",) if known else ()
    return (BlockView(title="Room behind the radio", facts=facts, steps=tuple(steps[:MOST_IN_A_BLOCK])),)


def _slug(text: str) -> str:
    return field_name(text.lower())


def _known(figure: Figure) -> str:
    return figure.text if figure.value is not None else ""


def _verify(plan: Plan, reference: Reference, vehicle: _Vehicle) -> BlockView:
    own = [c for c in plan.checks if c.stage == "after-plugging-in"]
    loud = any(c.key.startswith("gain-") for c in own)
    steps = [
        vehicle.step("Set the parking brake"),
        vehicle.step("Lead the exhaust gas out of the shop"),
        vehicle.step("Start the engine"),
    ]
    moving, noise = _boxes(reference, "moving-vehicle"), _boxes(reference, "loud-test") if loud else ()
    tables = _tables("After plugging in", own, vehicle, order=watched_order("after-plugging-in"))
    tables = _hazards_again(tables, moving, lambda text: "engine running" in text)
    tables = _hazards_again(tables, noise, lambda text: "test tone" in text)
    return BlockView(
        title="Read under load, look and listen",
        hazards=by_severity((*moving, *noise)),
        steps=tuple(steps),
        tables=tables,
    )


def _wheel(plan: Plan, vehicle: _Vehicle) -> tuple[BlockView, ...]:
    tables = plan.engineering.get("wheel_buttons", [])
    if not tables:
        return ()
    numbers = [c.number for c in plan.checks if c.key.startswith("wheel-")]
    facts = [f"Resistance: {_checks(numbers)} on the bench sheet."] if numbers else []
    return (
        BlockView(
            title="Wheel buttons", facts=tuple(facts), buttons=tuple(_buttons(table, vehicle) for table in tables)
        ),
    )


def _buttons(table: Mapping[str, Any], vehicle: _Vehicle) -> ButtonsView:
    wire = str(table["wire"])
    views = []
    for order, row in enumerate(table["buttons"], start=1):
        name = str(row["button"])
        key = f"teach-{wire}-{name}"
        low, high = row["meter_low_ohm"], row["meter_high_ohm"]
        worked = low.value is not None and high.value is not None
        v_low, v_high = row["low_v"], row["high_v"]
        views.append(
            ButtonView(
                order=order,
                name=capital(_spoken(name)),
                ohms=f"{low.value:.0f} to {high.value:.0f} Ω" if worked else "not worked out",
                volts=f"{v_low.value:.2f} to {v_high.value:.2f} V"
                if v_low.value is not None and v_high.value is not None
                else "",
                taught=vehicle.blank(f"{_spoken(name)}: taught", key, "taught", kind="tick"),
                long_press=vehicle.blank(f"{_spoken(name)}: long press taught", key, "long", kind="tick")
                if row["long_press"]
                else None,
                retests=tuple(
                    vehicle.blank(f"{_spoken(name)}: {words}", key, place, kind="tick")
                    for words, place in (
                        ("lights on", "lights"),
                        ("full left lock", "left"),
                        ("full right lock", "right"),
                    )
                ),
            )
        )
    return ButtonsView(
        title=f"{table['circuit']}: read by {table['read_by']}",
        notes=tuple(table["notes"]),
        buttons=tuple(views),
        show_volts=any(view.volts for view in views),
    )


def _has_camera(plan: Plan) -> bool:
    """Whether the job leaves the vehicle with a camera."""
    return any(f.feature_id in _CAMERAS and f.outcome != "loses" for f in plan.features)


def _camera_ends(plan: Plan, reference: Reference) -> tuple[str, ...]:
    """Circuits through which a camera is plugged in, and so fed."""
    if not _has_camera(plan):
        return ()
    names = {name for f, feature in reference.features.items() if f in _CAMERAS for name in feature.ready_ends}
    return tuple(c.id for c in plan.circuits if c.outcome == "mated" and c.function_id in names)


def _camera(plan: Plan, reference: Reference, vehicle: _Vehicle) -> tuple[BlockView, ...]:
    """Its supply is read before it is plugged in; the engine stands still while somebody is behind the vehicle."""
    if not _has_camera(plan):
        return ()
    ends = " and ".join(_camera_ends(plan, reference))
    read = "Read the camera's supply" + (f" at the open plug of {ends}" if ends else " against its label")
    steps = [
        vehicle.step("Switch the key on, engine off"),
        vehicle.step("Engage reverse with the brake on"),
        vehicle.step(
            read,
            vehicle.blank("Label, V", "camera", "label", kind="short"),
            vehicle.blank("Read, V", "camera", "read", kind="short"),
        ),
    ]
    if ends:
        steps += [
            vehicle.step("Leave reverse and switch the key off"),
            vehicle.step(f"When both volts agree, plug in {ends}"),
            vehicle.step("Switch the key on and engage reverse, engine off"),
        ]
    steps += [
        vehicle.step("See the picture upright, and sides as in a mirror"),
        vehicle.step("Hold an object at each lower corner and see it"),
        vehicle.step("Leave reverse and see the picture go"),
    ]
    return (BlockView(title="Camera", hazards=_boxes(reference, "camera-volts"), steps=tuple(steps)),)


def _before_trim(plan: Plan, vehicle: _Vehicle, plate: str) -> BlockView:
    standby = plan.engineering.get("standby", {})
    own = [c for c in plan.checks if c.stage == "before-trim"]
    text = "Before the trim goes back: work stops here until this is signed."
    read = any(c.key == "standby-current" for c in own)
    blanks = () if read else (vehicle.blank("mA", "standby", "read", kind="short"),)
    return BlockView(
        title="Before the trim goes back",
        facts=_standby_facts(standby),
        steps=(
            vehicle.step("Stop the engine and take the key out"),
            vehicle.step("Zero the clamp meter beside the battery's negative lead"),
            vehicle.timed("Wait until the vehicle sleeps, doors shut", "sleep-3"),
            vehicle.step("Read the current with the key out", *blanks),
        ),
        tables=_tables("Before the trim goes back", own, vehicle),
        hold=HoldView(
            text=f"{plate}: {_lower(text)}" if plate else text,
            field=vehicle.name("hold", "before-the-trim-goes-back")
            if not plate
            else field_name("hold", "before-the-trim-goes-back", plate),
        ),
    )


def _standby_facts(standby: Mapping[str, Any]) -> tuple[str, ...]:
    def text(name: str) -> str:
        figure = standby.get(name)
        return figure.text if isinstance(figure, Figure) and figure.value is not None else ""

    if not standby:
        return ()
    added = f"New parts {text('added_ma')}" if text("added_ma") else "New parts not stated"
    if not text("total_ma"):
        why = standby["total_ma"].working.removeprefix("not worked out: ")
        return (f"Key out: {_lower(added)}. Nothing to compare with: {why}.",)
    lasts = f"; parked, about {float(standby['days'].value):.0f} days {STANDING}" if text("days") else ""
    return (f"Key out: vehicle {text('vehicle_ma')}, {_lower(added)}, together about {text('total_ma')}{lasts}.",)


def _refit(plan: Plan, vehicle: _Vehicle) -> BlockView:
    own = [c for c in plan.checks if c.stage == "hand-over"]
    return BlockView(
        title="Refit and hand over",
        steps=(
            vehicle.step("Put the trim back in reverse order, screws where they came from"),
            vehicle.step("Set the clock, the stations and the windows"),
            vehicle.step("Read the fault codes again", vehicle.blank("Codes now", "end", "fault-codes")),
            vehicle.step("Switch the key on", vehicle.blank("Lamps still lit", "end", "lamps")),
            vehicle.step("Lay the old parts out for the customer"),
        ),
        tables=_tables("Hand-over, with the customer", own, vehicle, apart=True),
    )


def _part(lead: str, title: str, firmware: str, vehicle: _Vehicle) -> PartView:
    return PartView(
        title=title,
        serial=vehicle.blank(f"{title}: serial or batch", "serial", lead),
        firmware=vehicle.blank(f"{title}: firmware", "firmware", lead, kind="short", known=firmware),
    )


def _minutes(plan: Plan, vehicle: _Vehicle) -> tuple[BlankView, ...]:
    """Minutes taken for what is done in the vehicle; the bench sheet asks for the rest."""
    if plan.workshop is None:
        return ()
    plate = [vehicle.plate] if vehicle.plate else []
    return tuple(
        BlankView(label=title, field=field_name("minutes", name, *plate), kind="short")
        for name, title in timed_in_the_vehicle(plan.workshop.minutes)
    )


def _signatures(plan: Plan, vehicle: _Vehicle, *, two: bool) -> tuple[tuple[str, str], ...]:
    names = ("fitted-by", "checked-by", "inspected-again")
    return tuple(
        (vehicle.name(name), who) for name, who in zip(names, signers("Fitted", plan.job.crew, two=two), strict=False)
    )


# --- checks ------------------------------------------------------------------------------------------------------


def _tables(
    title: str,
    checks: Sequence[Check],
    vehicle: _Vehicle,
    *,
    order: tuple[bool, bool] = (False, True),
    apart: bool = False,
) -> tuple[TableView, ...]:
    """Checks in blocks of at most nine: those that are read apart from those that are watched, condition by condition.
    ``order`` says which come first, True being those that are watched. ``apart`` gives each condition a table of its own."""
    out: list[list[tuple[str, list[Check]]]] = []
    kinds: list[bool] = []
    for watched in order:
        reads = not watched
        block: list[tuple[str, list[Check]]] = []
        for (condition, meter, probes, _), group in by_condition(of_kind(checks, watched)):
            name = _setting(condition, meter, probes)
            for part in _evenly(group):
                if block and (apart or sum(len(g) for _, g in block) + len(part) > MOST_IN_A_BLOCK):
                    out.append(block)
                    kinds.append(reads)
                    block = []
                block.append((name, part))
        if block:
            out.append(block)
            kinds.append(reads)
    return tuple(
        _table(f"{title}, block {at} of {len(out)}" if len(out) > 1 else title, block, reads, vehicle)
        for at, (block, reads) in enumerate(zip(out, kinds, strict=True), start=1)
    )


def _hazards_again(
    tables: tuple[TableView, ...], hazards: tuple[CautionView, ...], wanted: Callable[[str], bool]
) -> tuple[TableView, ...]:
    """The tables after the first with the hazards in the head of each whose words want them."""

    def words(table: TableView) -> str:
        return " ".join(part for g in table.groups for part in (g.title, *(row.title for row in g.rows))).lower()

    return tables[:1] + tuple(
        replace(table, hazards=by_severity((*table.hazards, *hazards))) if wanted(words(table)) else table
        for table in tables[1:]
    )


def _evenly(group: list[Check]) -> list[list[Check]]:
    """A group too long for one block in parts of nearly one length."""
    parts = -(-len(group) // MOST_IN_A_BLOCK)
    size = -(-len(group) // parts)
    return [group[i : i + size] for i in range(0, len(group), size)]


def _setting(condition: str, meter: str, probes: str) -> str:
    """ "Key on, 5 W lamp. Volts DC: this way and bare metal." """
    said = "" if meter == "none" else f" {meter}: {probes}" if probes else f" {meter}"
    return f"{sentence(capital(condition))}{sentence(said) and ' ' + sentence(said)}"


def _table(title: str, block: list[tuple[str, list[Check]]], reads: bool, vehicle: _Vehicle) -> TableView:
    """What most rows want on failure is told in the table's head, which every page repeats."""
    told = Counter(c.on_failure for _, group in block for c in group)
    usual, times = told.most_common(1)[0]
    if 2 * times <= told.total():
        usual = ""
    leads = {c.tails[0].partition("/")[0] for _, group in block for c in group if c.tails}
    groups = tuple(
        _told_once(
            ConditionView(
                title=name,
                rows=tuple(_row(c, vehicle, told=c.on_failure == usual, named=len(leads) > 1) for c in group),
            )
        )
        for name, group in block
    )
    return TableView(title=title, reads=reads, failure=sentence(capital(usual)), groups=groups)


def _told_once(group: ConditionView) -> ConditionView:
    """Told in the heading of a condition when all of its rows share what the table's head does not say."""
    failures = {row.on_failure for row in group.rows}
    if len(failures) != 1 or failures == {""}:
        return group
    rows = tuple(replace(row, on_failure="") for row in group.rows)
    return ConditionView(title=f"{group.title} If not: {failures.pop()}", rows=rows)


def _row(check: Check, vehicle: _Vehicle, *, told: bool, named: bool) -> RowView:
    """``told``: what to do on failure stands in the table's head. ``named``: ways of several leads stand in one table."""
    tail = check.tails[0] if check.tails and not check.yes_no else ""
    lead, _, at = tail.partition("/")
    plug, dot, way = at.rpartition(".")
    limits = limits_text(check)
    said = check.yes_no or check.expected.endswith((limits, " or less", " or more"))
    said = said or check.expected.startswith((limits, "OL"))
    same = not said and check.low is not None and f"{check.low:.1f} to {check.high:.1f}" in check.expected
    return RowView(
        number=check.number,
        circuit=check.circuit,
        plug=plug + dot,
        way=way,
        lead=lead if named and tail else "",
        title=check.title.partition(", way ")[0] if at else check.title,
        expected=capital(check.expected.removeprefix(f"{check.title}: ")) if check.yes_no else check.expected,
        limits="" if said or same else limits,
        on_failure="" if told else sentence(capital(check.on_failure)),
        actual=vehicle.name(check.key, "actual") if not check.yes_no else "",
        passed=vehicle.name(check.key, "pass"),
        failed=vehicle.name(check.key, "fail"),
        initials=vehicle.name(check.key, "initials"),
    )


# --- data --------------------------------------------------------------------------------------------------------


def fitting_data(plan: Plan) -> dict[str, Any]:
    """What the sheet shows, as plain data: carried inside its PDF. No customer, no price."""
    job = plan.job
    return {
        "sheet": "fitting",
        "job": job.job,
        "revision": job.revision,
        "issued": job.issued.isoformat(),
        "digest": plan.digest,
        "state": plan.state,
        "vehicle": plan.vehicle.title,
        "registrations": [r.plate for r in job.registrations],
        "work_areas": list(job.work_areas),
        "high_voltage": job.high_voltage,
        "checks": [check_data(c) for c in plan.checks if c.stage in FITTING_STAGES],
        "parts": [{"lead": lead.lead, "title": lead.title, "side": lead.side} for lead in plan.leads],
        "features": [{"feature": f.feature_id, "outcome": f.outcome} for f in plan.features],
        "faults": [{"symptom": f.symptom, "look": list(f.look)} for f in plan.faults if f.on_paper],
    }
