"""How far each vehicle of a job is cleared, every reason that holds it, and what stands before the next state."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from ..model.job import Clearing, Job, Proof, Registration
from ..problems import Location, Problem, Severity
from .circuits import feed_key
from .proofs import (
    CONDITION_WORDS,
    is_proved,
    judge,
    judged,
    missing_readings,
    placed_proofs,
    proofs_of,
    shortcoming,
)
from .types import Circuit, FeatureOutcome, JobTail, State, VehicleState

Where = Callable[[JobTail], Location]


def vehicle_states(
    job: Job,
    circuits: tuple[Circuit, ...],
    features: tuple[FeatureOutcome, ...],
    tails: dict[str, JobTail],
    other_holds: Sequence[Problem],
    digest: str,
    *,
    job_place: Callable[..., Location],
    tail_place: Where,
    readings_passed: Callable[[str], bool],
) -> tuple[VehicleState, ...]:
    """One state a registration. ``other_holds`` are the holds found elsewhere (checks, engineering, readings)."""
    shared = [
        *_circuit_holds(job, circuits, tail_place, job_place),
        *_feature_holds(job, features, job_place),
        *_clearing_holds(job, digest, job_place),
    ]
    out = []
    for registration in job.registrations:
        own = [p for p in other_holds if p.registration in ("", registration.plate)]
        reasons = [*shared, *own, *_proof_holds(job, registration, circuits, tails, tail_place, job_place)]
        out.append(_state(job, registration, circuits, tails, tuple(dict.fromkeys(reasons)), readings_passed))
    return tuple(out)


def _hold(code: str, message: str, where: Location, job: Job, hint: str = "", plate: str = "") -> Problem:
    return Problem(
        code=code, severity=Severity.HOLD, message=message, hint=hint, location=where, job=job.job, registration=plate
    )


def _circuit_holds(
    job: Job, circuits: tuple[Circuit, ...], tail_place: Where, job_place: Callable[..., Location]
) -> list[Problem]:
    out = []
    for circuit in circuits:
        if circuit.reason and circuit.reason_code != "never-touched":
            where = tail_place((circuit.takers or circuit.drivers)[0]) if circuit.tails else job_place("parts")
            key = feed_key(circuit.takers[0], job) if circuit.takers else None
            if circuit.reason_code == "feed-refused" and key is not None:
                where = job_place("feed", key)
            code = "circuit-" + circuit.outcome if circuit.outcome != "refused" else circuit.reason_code
            out.append(_hold(code, f"{circuit.id} {circuit.title}: {circuit.reason}", where, job))
    return out


def _feature_holds(job: Job, features: tuple[FeatureOutcome, ...], job_place: Callable[..., Location]) -> list[Problem]:
    out = []
    for feature in features:
        name = feature.customer
        why = f": {feature.how}" if feature.how else ""
        other = "drive that input, write  needed: no  there if its leaflet does without it, or " if why else ""
        if feature.outcome == "loses" and feature.safety:
            out.append(
                _hold(
                    "safety-feature-lost",
                    f"{name} would be lost; it is there for safety and cannot be given up{why}",
                    job_place("give_up") if feature.agreed else job_place("parts"),
                    job,
                    hint=f"{other}add a part that keeps it, or do not fit this radio",
                )
            )
        elif feature.outcome == "loses" and feature.promised:
            out.append(
                _hold(
                    "promise-not-kept",
                    f"the job promises to keep {name}, and nothing keeps it{why}",
                    job_place("keep"),
                    job,
                    hint=f"{other}add a part that keeps it, or agree the loss with the customer",
                )
            )
        elif feature.outcome == "loses" and feature.agreed is None:
            out.append(
                _hold(
                    "loss-not-agreed",
                    f"{name} would be lost and the customer has not been told{why}",
                    job_place("give_up"),
                    job,
                    hint=f"{other}tell the customer, then add  give_up: [{{feature: {feature.feature_id}, told_customer: DATE}}]",
                )
            )
    return out


def _clearing_holds(job: Job, digest: str, job_place: Callable[..., Location]) -> list[Problem]:
    """A word given for other content than today's counts no more, until a later one is given for what stands now."""
    out = []
    for index, clearing in enumerate(job.cleared):
        if not valid(clearing, digest) and not _given_anew(job.cleared[index + 1 :], clearing, digest):
            out.append(
                _hold(
                    "cleared-then-changed",
                    f"{clearing.by} cleared this job to {clearing.to} on {clearing.on.isoformat()}, and it has changed since",
                    job_place("cleared", index),
                    job,
                    hint="read it through again, then add a line below:"
                    f"  {{to: {clearing.to}, by: INITIALS, on: DAY, digest: {digest}}}",
                )
            )
    return out


def _given_anew(later: Sequence[Clearing], stale: Clearing, digest: str) -> bool:
    """Whether a line further down, of the same day or a later one, clears what stands now."""
    return any(valid(c, digest) and c.on >= stale.on for c in later)


def clearing_warnings(
    job: Job, states: Sequence[VehicleState], digest: str, job_place: Callable[..., Location], *, two: bool = False
) -> tuple[Problem, ...]:
    """A word to plug in that no vehicle's proofs bear out yet: it counts as one to build. And a job of which readings came
    back, all of whose vehicles may be plugged in, with nobody's word: no copy of it is kept, so that nothing can be told of it
    once it changes.

    ``two`` is set where the shop wants two people to clear a job.
    """
    far = [s for s in states if s.state in ("plug-in", "verified")]
    if len(far) == len(states) and any(s.readings for s in far):
        return _not_cleared(job, far, digest, job_place, two=two)
    short = [s for s in states if s.state == "build"]
    if not short or far:
        return ()
    ways = tuple(dict.fromkeys(name for s in short for name in s.unproved))
    named = ", ".join(ways[:3]) + (f" and {len(ways) - 3} more" if len(ways) > 3 else "")
    return tuple(
        Problem(
            code="cleared-not-proved",
            severity=Severity.WARNING,
            message=f"{clearing.by} cleared this job to plug-in, and not proved yet: {named}; it counts as cleared to build",
            hint="prove these ways by meter first; nothing is plugged in before",
            location=job_place("cleared", index),
            job=job.job,
        )
        for index, clearing in enumerate(job.cleared)
        if clearing.to == "plug-in" and valid(clearing, digest)
    )


def _not_cleared(
    job: Job, far: Sequence[VehicleState], digest: str, job_place: Callable[..., Location], *, two: bool
) -> tuple[Problem, ...]:
    """A warning where the readings bear a job out and no line of its file clears what stands now."""
    if any(valid(clearing, digest) for clearing in job.cleared):
        return ()
    state = "verified" if all(s.state == "verified" for s in far) else "proved for plugging in"
    second = ", and_by: INITIALS" if two else ""
    line = f"{{to: plug-in, by: INITIALS{second}, on: DAY, digest: {digest}}}"
    written = f"add a line below:  - {line}" if job.cleared else f"write  cleared: [{line}]"
    return (
        Problem(
            code="not-cleared",
            severity=Severity.WARNING,
            message=f"this job is {state} and nobody cleared it: no copy of revision {job.revision} is kept, and once it"
            " changes nothing can tell what was made",
            hint=f"read it through, then {written}; the next  loomleaf print  writes the copy into issued/",
            location=job_place("cleared") if job.cleared else job_place("revision"),
            job=job.job,
        ),
    )


def valid(clearing: Clearing, digest: str) -> bool:
    """Whether a clearing was given for exactly what stands now. At least eight characters of the digest are wanted."""
    return len(clearing.digest) >= 8 and digest.startswith(clearing.digest)


def _proof_holds(
    job: Job,
    registration: Registration,
    circuits: tuple[Circuit, ...],
    tails: dict[str, JobTail],
    tail_place: Where,
    job_place: Callable[..., Location],
) -> list[Problem]:
    out = []
    plate = registration.plate if len(job.registrations) > 1 else ""
    placed = placed_proofs(job, registration)
    proofs = tuple(proof for _, proof in placed)
    for index, proof in placed:
        tail = tails.get(proof.tail)
        if tail is None or judge(tail, proof) is not False:
            continue
        windows = [r for r in tail.function.readings if r.condition in (proof.condition, "any")]
        said = f"{windows[0].window} was expected" if windows else "this way shows that at no time"
        if proof.shows is not None and proof.shows != tail.function_id:
            said = f"the meter showed {proof.shows}, the leaflet says {tail.function_id}"
        out.append(
            _hold(
                "proof-contradicts",
                f"{tail.name} {tail.title}: {proof.reading.text} {CONDITION_WORDS[proof.condition]}; {said}",
                job_place("proofs", index),
                job,
                hint="find out why before anything is joined",
                plate=plate,
            )
        )
    for circuit in circuits:
        if not circuit.made:
            continue
        for tail in circuit.tails:
            doubt = _not_known(tail, proofs)
            if doubt is not None:
                out.append(_hold(doubt.code, doubt.message, tail_place(tail), job, hint=doubt.hint, plate=plate))
        for note in circuit.colour_notes:
            tail = tails[note.tails[0]]
            if note.code != "colour-of-another" or _looked_at(tail, proofs):
                continue
            hint = _ON_THE_VEHICLE if tail.lead.side == "vehicle" else _IN_ITS_LEAFLET
            out.append(_hold("colour-of-another", note.text, tail_place(tail), job, hint=hint, plate=plate))
        for taker in circuit.takers:
            doubt = _camera_volts(circuit, taker, proofs)
            if doubt is not None:
                out.append(_hold(doubt.code, doubt.message, tail_place(taker), job, hint=doubt.hint, plate=plate))
    return out


@dataclass(frozen=True, kw_only=True)
class _Doubt:
    """What nobody has found out about one way yet, and how it is found out."""

    code: str
    message: str
    hint: str


_ON_THE_VEHICLE = "prove it by meter on this vehicle"
_IN_ITS_LEAFLET = (
    "read the part's leaflet again at this way; where the colour really is so, write  known_from: leaflet  at the way itself."
    " A reading in the vehicle says nothing about it"
)


def _looked_at(tail: JobTail, proofs: tuple[Proof, ...]) -> bool:
    """Whether a way whose colour speaks for another function was looked at by itself: the vehicle's by meter on this vehicle,
    a part's in its leaflet (or on the bench), which then stands at the way and not only at the lead."""
    if tail.lead.side == "vehicle":
        return is_proved(tail, proofs)
    return tail.tail.known_from in ("leaflet", "meter")


def _not_known(tail: JobTail, proofs: tuple[Proof, ...]) -> _Doubt | None:
    """A way known from colour or hearsay only; a reading on the vehicle answers for the vehicle's own ways and no other."""
    vehicle = tail.lead.side == "vehicle"
    if tail.known_from == "colour" and not (vehicle and is_proved(tail, proofs)):
        on_a_part = "find the part's leaflet; a reading in the vehicle says nothing about it"
        return _Doubt(
            code="colour-only",
            message=f"{tail.name} {tail.title} is known from its colour alone",
            hint=f"{_ON_THE_VEHICLE}, or find its leaflet" if vehicle else on_a_part,
        )
    if tail.known_from == "meter" and vehicle and not is_proved(tail, proofs):
        return _Doubt(
            code="meter-without-reading",
            message=f"{tail.name} {tail.title} is said to be known by meter, and this vehicle has no reading of it",
            hint="prove it by meter on this vehicle and write the reading under  proofs",
        )
    return None


def _camera_volts(circuit: Circuit, taker: JobTail, proofs: tuple[Proof, ...]) -> _Doubt | None:
    """The supply of a vehicle's camera: its volts are written at the way, or read on this vehicle, before anything feeds it.
    Many that the vehicle's maker fitted run on about 6 V (common practice, no source)."""
    if taker.function_id != "camera-supply" or taker.lead.side != "vehicle" or taker.tail.volts is not None:
        return None
    read = [p.reading for p in proofs if p.tail == taker.name and p.reading.unit == "V" and (p.reading.value or 0) >= 3]
    fed = next((d.volts for d in circuit.drivers if d.volts is not None), None)
    if not read:
        return _Doubt(
            code="camera-volts-unknown",
            message=f"{circuit.id} {circuit.title}: nobody has said how many volts the camera behind {taker.name} takes",
            hint="read it at the old radio's plug in reverse and write it under  proofs; or write  volts  there from its label",
        )
    off = next((r for r in read if fed is not None and abs((r.value or 0) - fed) > fed / 3), None)
    if off is not None:
        return _Doubt(
            code="proof-contradicts",
            message=f"{taker.name} {taker.title}: {off.text} was read here, and {circuit.drivers[0].name} gives {fed:g} V",
            hint="put an adapter between that makes the camera's volts",
        )
    return None


def _state(
    job: Job,
    registration: Registration,
    circuits: tuple[Circuit, ...],
    tails: dict[str, JobTail],
    reasons: tuple[Problem, ...],
    readings_passed: Callable[[str], bool],
) -> VehicleState:
    proofs = proofs_of(job, registration)
    to_prove = tails_to_prove(circuits)
    unproved = [t for t in to_prove if not is_proved(t, proofs)]
    state: State
    if reasons:
        state = "held"
        before = tuple(p.message for p in reasons)
    elif unproved:
        state = "build"
        before = tuple(_prove_line(t, proofs) for t in unproved)
    elif readings_passed(registration.plate):
        state = "verified"
        before = ()
    else:
        state = "plug-in"
        before = ("Readings under load, in their windows, after plugging in.",)
    return VehicleState(
        registration=registration,
        state=state,
        reasons=reasons,
        before_next=before,
        proofs=judged(job, registration, tails),
        unproved=tuple(t.name for t in unproved),
    )


def _prove_line(tail: JobTail, proofs: tuple[Proof, ...]) -> str:
    wanted = missing_readings(tail, proofs)
    if not wanted:
        return f"Prove {tail.name} ({tail.title}) by meter."
    words = "; ".join(
        f"{CONDITION_WORDS[r.condition]}{f', {r.also},' if r.also else ''} {r.window}"
        + (f" under {r.load}" if r.load else "")
        for r in wanted
    )
    short = next((why for r in wanted if (why := shortcoming(tail, proofs, r))), "")
    told = f" The reading there {short}" if short else ""
    return f"Prove {tail.name} ({tail.title}): {words}.{told}"


def tails_to_prove(circuits: tuple[Circuit, ...]) -> tuple[JobTail, ...]:
    """The vehicle's tails that must be proved by meter on each vehicle before anything is plugged in."""
    return tuple(
        tail
        for circuit in circuits
        if circuit.made
        for tail in circuit.tails
        if tail.lead.side == "vehicle" and tail.function.prove_on_vehicle
    )
