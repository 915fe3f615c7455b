"""Which joining method each circuit gets: the job's wish where it is allowed, otherwise the first that fits, with the reason."""

from __future__ import annotations

from ..figure import Figure, Standing
from ..model.job import Job
from ..model.reference import JoiningMethod, Reference
from ..units import CMIL_MM2
from .types import Circuit, Joint

FALLBACK = (
    "butt-connector",
    "solder-and-sleeve",
    "solder-twist-and-sleeve",
    "closed-end-connector",
    "lined-sleeve-butt",
)


def choose_method(
    circuit: Circuit, job: Job, reference: Reference, total_mm2: float
) -> tuple[str, JoiningMethod, str, tuple[str, ...]] | None:
    """Method id, method, why, and what was passed over with its reason; None when no method of the reference fits."""
    wish = job.joining.get(circuit.function_id) or job.joining.get(circuit.group) or job.joining.get("default") or ""
    order = dict.fromkeys([name for name in (wish, *FALLBACK, *sorted(reference.methods)) if name in reference.methods])
    passed: list[str] = []
    for name in order:
        method = reference.methods[name]
        against = objections(method, len(circuit.tails), total_mm2, job)
        if against:
            passed.append(f"{method.title}: {against}")
            continue
        if name == wish:
            why = "asked for in the job"
        elif wish and wish in reference.methods:
            why = f"{reference.methods[wish].title.lower()} does not fit here"
        else:
            why = "the first method that fits"
        return name, method, why, tuple(passed)
    return None


def objections(method: JoiningMethod, tails: int, total_mm2: float, job: Job) -> str:
    """Why a method may not be used for this many tails of this area in these places; "" when it may."""
    if method.kind in ("plug-in", "terminal", "sleeve"):
        return "not a joint between tails"
    if not method.tails_low <= tails <= method.tails_high:
        return f"takes {method.tails_low} to {method.tails_high} tails, not {tails}"
    if method.low_mm2 is not None and total_mm2 < method.low_mm2:
        return f"{total_mm2:.2f} mm² is under its {method.low_mm2:g} mm²"
    if method.high_mm2 is not None and total_mm2 > method.high_mm2:
        return f"{total_mm2:.2f} mm² is over its {method.high_mm2:g} mm²"
    if method.solder and "flexing" in job.places:
        return "no solder where the loom flexes"
    if "damp" in job.places and "damp" not in method.suits:
        return "not sealed, and the place is damp"
    return ""


def joints_for(circuits: tuple[Circuit, ...], job: Job, reference: Reference) -> tuple[Joint, ...]:
    """One joint for every made circuit, in the circuits' order."""
    out = []
    for circuit in circuits:
        if not circuit.made:
            continue
        sizes = [t.tail.size for t in circuit.tails if t.tail.size is not None]
        total = sum(s.area_mm2 for s in sizes)
        chosen = choose_method(circuit, job, reference, total)
        if chosen is None:
            continue
        name, method, why, passed = chosen
        working = " + ".join(f"{s.area_mm2:.3g}" for s in sizes) + f" = {total:.3g} mm²"
        out.append(
            Joint(
                id=circuit.id,
                circuit=circuit.id,
                title=circuit.title,
                tails=tuple(t.name for t in circuit.tails),
                method_id=name,
                method=method,
                place=", ".join(job.places),
                total_mm2=Figure(value=total, unit="mm²", working=working, known=Standing.PUBLISHED),
                total_cmil=Figure(
                    value=total / CMIL_MM2,
                    unit="cmil",
                    working=f"{total:.4g} / 0.0005067 = {total / CMIL_MM2:.0f} cmil",
                ),
                why=why,
                passed_over=passed,
            )
        )
    return tuple(out)
