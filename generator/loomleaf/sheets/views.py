"""What every sheet shows, ready to be laid out: the frame (head, foot, band, cautions) and the views sheets share.

Views are frozen and hold words only. A template places them; it works nothing out and looks nothing up.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from .. import __version__
from ..model.job import Clearing, Registration, long_date
from ..model.reference import Caution, Reference
from ..model.shop import Shop
from ..plan.states import valid
from ..plan.types import STATES, JudgedProof, Plan, State, VehicleState
from ..problems import Problem, Severity
from ..units import Size, gauge_text, nearest_gauge

STANDING_CAUTIONS = ("battery-disconnection", "airbag-circuits", "vehicle-maker-first")
"""The cautions that stand on every sheet, in this order. Without all three no sheet is made."""

SIGNAL_ORDER = ("DANGER", "WARNING", "CAUTION", "NOTICE")
INJURY_WORDS = frozenset({"DANGER", "WARNING", "CAUTION"})

_STATE_WORDS: dict[State, tuple[str, str]] = {
    "held": ("HELD", "Nothing may be made or connected."),
    "build": ("Cleared to make the lead", "Not cleared to connect it to the vehicle."),
    "plug-in": ("Cleared to connect", "Every way that can do harm is proved by meter."),
    "verified": ("Verified", "Read under load, within limits."),
}
_CLEARED_WORDS = {"build": "RELEASED to make the lead", "plug-in": "RELEASED to connect"}


@dataclass(frozen=True, kw_only=True)
class CautionView:
    """A hazard box. ``box`` is the style's name; ``injury`` puts the triangle beside the word."""

    word: str
    box: str
    injury: bool
    title: str
    hazard: str
    result: str
    limit: str
    short: str

    @property
    def text(self) -> str:
        """Hazard, result and limit in one run."""
        return " ".join(part for part in (self.hazard, self.result, self.limit) if part)


@dataclass(frozen=True, kw_only=True)
class RegistrationView:
    """One vehicle of the job."""

    plate: str
    odometer: str
    detail: str
    state_word: str
    held: bool
    before_next: str


@dataclass(frozen=True, kw_only=True)
class ReasonView:
    """Why a vehicle is held. ``plate`` is "" when the reason is for all."""

    number: int
    text: str
    hint: str
    plate: str
    code: str


@dataclass(frozen=True, kw_only=True)
class FrameView:
    """What the head, the band, the caution block and the foot of a sheet carry."""

    kind: str
    title: str
    heading: str
    job: str
    revision_short: str
    revision_line: str
    issued: str
    issued_iso: str
    vehicle: str
    plates: str
    state: State
    state_word: str
    state_text: str
    held: bool
    band: str
    released: tuple[str, ...]
    cautions: tuple[CautionView, ...]
    current: str
    digest: str
    customer: bool
    shop: str
    invented: str
    keywords: str
    subject: str
    generator: str
    language: str
    paper: Literal["A4", "Letter"]
    fillable: bool
    changed: str = ""


def caution_view(caution: Caution) -> CautionView:
    """A reference caution as a box."""
    return CautionView(
        word=caution.word,
        box=caution.word.lower(),
        injury=caution.word in INJURY_WORDS,
        title=caution.title,
        hazard=sentence(caution.hazard),
        result=sentence(caution.result),
        limit=sentence(caution.limit),
        short=sentence(caution.short),
    )


def sentence(text: str) -> str:
    """A stretch of text closed by a full stop; empty stays empty.

    >>> sentence("Keep clear"), sentence("Why?"), sentence("")
    ('Keep clear.', 'Why?', '')
    """
    bare = text.strip()
    return bare if not bare or bare[-1] in ".?!:" else bare + "."


def standing_cautions(reference: Reference, job: str) -> tuple[tuple[CautionView, ...], tuple[Problem, ...]]:
    """The three cautions of every sheet in their order, or the Problems that stop the sheet."""
    problems = []
    views = []
    for name in STANDING_CAUTIONS:
        caution = reference.cautions.get(name)
        if caution is None or not (caution.hazard and caution.limit and caution.short):
            problems.append(
                Problem(
                    code="no-standing-caution",
                    severity=Severity.ERROR,
                    message=f"the reference has no whole caution '{name}', and no sheet is made without it",
                    hint="give it a hazard, a result, a limit and a short form in reference/cautions.yaml",
                    job=job,
                )
            )
        else:
            views.append(caution_view(caution))
    return tuple(views), tuple(problems)


def by_severity(cautions: Iterable[CautionView]) -> tuple[CautionView, ...]:
    """Worst signal word first; the order given stands otherwise."""
    return tuple(sorted(cautions, key=lambda c: SIGNAL_ORDER.index(c.word)))


def state_word(state: State) -> str:
    """The state as the head says it."""
    return _STATE_WORDS[state][0]


def state_text(state: State) -> str:
    """One sentence about what the state allows."""
    return _STATE_WORDS[state][1]


def customer_state(state: State) -> str:
    """The state as the customer's paper says it."""
    return {"held": "HELD", "build": "In work", "plug-in": "In work", "verified": "Finished and checked"}[state]


def vehicle_line(plan: Plan) -> str:
    """Maker, model and years: enough to know the vehicle by."""
    vehicle = plan.vehicle
    return " ".join(part for part in (vehicle.maker, vehicle.model, vehicle.years) if part)


def plates_line(registrations: Iterable[Registration]) -> str:
    """Every plate for up to three vehicles, else the first, the last and how many.

    >>> plates_line([Registration(plate="A"), Registration(plate="B"), Registration(plate="C"), Registration(plate="D")])
    'A to D, 4 vehicles'
    """
    plates = [r.plate for r in registrations]
    if len(plates) <= 3:
        return ", ".join(plates)
    return f"{plates[0]} to {plates[-1]}, {len(plates)} vehicles"


def released_lines(plan: Plan) -> tuple[str, ...]:
    """A line for each clearing that was given for exactly this plan and that the state still bears out."""
    given = {c.to: c for c in plan.job.cleared if valid(c, plan.digest)}
    reached = STATES.index(plan.state)
    return tuple(
        _released(given[to]) for to in ("build", "plug-in") if to in given and STATES.index(to) <= reached
    )


def _released(clearing: Clearing) -> str:
    return f"{_CLEARED_WORDS[clearing.to]}: {clearing.by}, {long_date(clearing.on)}."


def distinct_reasons(plan: Plan) -> tuple[ReasonView, ...]:
    """Every reason that holds the job, told once; a plate is named when the reason is not every vehicle's."""
    found: dict[tuple[str, str], tuple[Problem, list[str]]] = {}
    for vehicle in plan.states:
        for reason in vehicle.reasons:
            kept = found.setdefault((reason.code, reason.message), (reason, []))
            plate = vehicle.registration.plate
            if plate not in kept[1]:
                kept[1].append(plate)
    views = []
    for number, (reason, plates) in enumerate(found.values(), start=1):
        everyone = len(plates) == len(plan.states)
        views.append(
            ReasonView(
                number=number,
                text=sentence(capital(reason.message)),
                hint=sentence(capital(reason.hint)),
                plate="" if everyone else ", ".join(plates),
                code=reason.code,
            )
        )
    return tuple(views)


def capital(text: str) -> str:
    """The first letter large; a text that begins with a name of this job (with a digit or a stroke in it) stays as it is.

    >>> capital("meter in volts"), capital("corvane-16/A.7 to ground")
    ('Meter in volts', 'corvane-16/A.7 to ground')
    """
    first = text.split(" ", 1)[0]
    return text if any(c.isdigit() or c in "/-" for c in first) else text[:1].upper() + text[1:]


def registration_views(plan: Plan) -> tuple[RegistrationView, ...]:
    """One row a vehicle of the job."""
    return tuple(_registration(plan, state) for state in plan.states)


def _registration(plan: Plan, state: VehicleState) -> RegistrationView:
    reg = state.registration
    detail = "; ".join(part for part in (reg.trim, reg.differs) if part)
    return RegistrationView(
        plate=reg.plate,
        odometer=reg.odometer or "odometer not noted",
        detail=detail,
        state_word=state_word(state.state),
        held=state.state == "held",
        before_next=_before_next(plan, state),
    )


def _before_next(plan: Plan, state: VehicleState) -> str:
    """What stands before a vehicle's next state, short enough for a cell."""
    if state.reasons:
        return counted(len(state.reasons), "reason", "reasons") + " below"
    if state.unproved:
        one_lead = len({name.partition("/")[0] for name in state.unproved}) == 1
        ways = [name.partition("/")[2] if one_lead else name for name in state.unproved]
        return f"prove {', '.join(ways)}"
    return " ".join(state.before_next) or "nothing"


def job_proofs(plan: Plan, state: VehicleState) -> tuple[JudgedProof, ...]:
    """A vehicle's proofs that the job file holds; what its sheets brought back stands among its readings."""
    held = {(p.tail, p.condition, p.reading.text, p.by, p.on) for p in plan.job.proofs}
    own = (p for p in state.proofs if (p.tail, p.condition, p.reading, p.by, p.on) in held)
    return tuple(dict.fromkeys(own))


def newest_proofs(plan: Plan, state: VehicleState) -> tuple[JudgedProof, ...]:
    """The proofs of the job file, and those read on its sheets where the job file has none of that way and condition."""
    own = job_proofs(plan, state)
    held = {(p.tail, p.condition) for p in own}
    return (*own, *(p for p in state.proofs if (p.tail, p.condition) not in held))


def counted(number: int, one: str, many: str) -> str:
    """A count in words that agree.

    >>> counted(1, "reason", "reasons"), counted(0, "reason", "reasons"), counted(3, "reason", "reasons")
    ('1 reason', 'no reasons', '3 reasons')
    """
    return f"{number or 'no'} {one if number == 1 else many}"


def size_both(size: Size | None) -> tuple[str, str]:
    """A conductor size as two short words, the written system first.

    >>> from ..units import parse_size
    >>> size_both(parse_size("0.75 mm2")), size_both(parse_size("18 AWG"))
    (('0.75 mm²', '18 AWG'), ('18 AWG', '0.823 mm²'))
    """
    if size is None:
        return ("size not stated", "")
    metric = f"{size.area_mm2:.3g} mm²"
    gauge = gauge_text(size.gauge if size.gauge is not None else nearest_gauge(size.area_mm2))
    return (gauge, metric) if size.gauge is not None else (metric, gauge)


_NOT_A_NAME = re.compile(r"[^A-Za-z0-9]+")


def field_name(*parts: str) -> str:
    """The name of a form field: letters, digits and hyphens, parts joined by two underscores.

    >>> field_name("volts-S1", "SM16 HRN", "actual")
    'volts-S1__SM16-HRN__actual'
    """
    return "__".join(_NOT_A_NAME.sub("-", part).strip("-") for part in parts)


def frame(
    plan: Plan,
    shop: Shop,
    reference: Reference,
    *,
    kind: str,
    title: str,
    paper: str | None,
    fillable: bool,
    for_customer: bool = False,
) -> tuple[FrameView | None, tuple[Problem, ...]]:
    """The frame of one sheet of one job."""
    job = plan.job
    cautions, problems = standing_cautions(reference, job.job)
    if problems:
        return None, problems
    reasons = len(distinct_reasons(plan))
    plates = plates_line(job.registrations)
    replaces = f", replaces {job.replaces}" if job.replaces else ""
    digest = plan.digest[:12]
    band = f"{state_text('held').rstrip('.')}: {counted(reasons, 'reason', 'reasons')}, on page 1"
    if for_customer:
        band = f"This paper is not final: {counted(reasons, 'point is', 'points are')} still open."
    size: Literal["A4", "Letter"] = "Letter" if (paper or shop.paper) == "Letter" else "A4"
    return (
        FrameView(
            kind=kind,
            title=title,
            heading=f"Job {job.job}: {title.lower()}",
            job=job.job,
            revision_short=f"Revision {job.revision}",
            revision_line=f"Revision {job.revision}{replaces}",
            issued=job.issued_text,
            issued_iso=job.issued.isoformat(),
            vehicle=vehicle_line(plan),
            plates=plates,
            state=plan.state,
            state_word=customer_state(plan.state) if for_customer else state_word(plan.state),
            state_text=state_text(plan.state),
            held=plan.held,
            band=band if plan.held else "",
            released=() if for_customer else released_lines(plan),
            cautions=cautions,
            current=f"Uncontrolled when printed; current revision: {shop.revisions.rstrip('.')}.",
            digest=digest,
            customer=for_customer,
            shop=shop.name,
            invented=(
                "Demonstration: every name, vehicle, part and price is invented." if shop.invented else ""
            ),
            keywords=f"job {job.job}, revision {job.revision}, digest {plan.digest}, Loomleaf {__version__}",
            subject=f"{title}, {vehicle_line(plan)}, {plates}, issued {job.issued_text}",
            generator=f"Loomleaf {__version__}",
            language=shop.language,
            paper=size,
            fillable=fillable,
        ),
        (),
    )
