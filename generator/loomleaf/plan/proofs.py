"""Meter readings taken on a vehicle, judged against what the function should show."""

from __future__ import annotations

from ..model.job import Job, Proof, Registration
from ..model.reference import ExpectedReading
from ..units import Reading
from .types import JobTail, JudgedProof

CONDITION_WORDS = {
    "asleep": "asleep",
    "awake": "awake",
    "accessory": "key at accessory",
    "key-on": "key on",
    "cranking": "cranking",
    "lights-on": "lights on",
    "reverse": "in reverse",
    "door-open": "door open",
    "unplugged": "radio unplugged",
    "any": "at any time",
}


def condition_text(expected: ExpectedReading) -> str:
    """How a reading is taken: "key on, lights off, 5 W lamp"."""
    return ", ".join(filter(None, (CONDITION_WORDS[expected.condition], expected.also, expected.load)))


END_OF_SCALE_OHM = 1_000_000
"""From here on a circuit counts as open, whether the meter shows a figure or its end of scale: as far as isolation is asked
for on a finished lead; common practice, no source."""

PROBES_CHANGED = "the minus says that the probes were the other way round; its size counts"
NO_MINUS = "a meter shows no minus in {unit}: look at the probes and the range, read again"


def size_of(value: float, quantity: str, low: float | None) -> tuple[float | None, str]:
    """The figure that is judged against a window, and what was done to it in words.

    In volts DC a minus means that the probes were the other way round: a drop, or a way that should be dead, is judged by its
    size; where volts are wanted (``low`` above zero) the minus stays, for the wires may be changed over. Ohms, AC volts and a
    current with the key out have no minus: None, it is no reading. Common practice, no source.

    >>> size_of(-0.5, "V", None)[0], size_of(-12.4, "V", 11.5)[0], size_of(-0.5, "Ω", None)[0]
    (0.5, -12.4, None)
    """
    if value >= 0:
        return value, ""
    if quantity != "V":
        return None, NO_MINUS.format(unit={"Vac": "AC volts"}.get(quantity, quantity))
    return (value, "") if low else (-value, PROBES_CHANGED)


def within(reading: Reading, low: float | None, high: float | None, *, open_wanted: bool = False) -> bool:
    """Whether a reading is inside a window. OL is only right where an open circuit is wanted, or above no upper limit."""
    if reading.value is None:
        return open_wanted or (high is None and low is not None)
    if open_wanted:
        return reading.unit == "Ω" and reading.value >= END_OF_SCALE_OHM
    value, _ = size_of(reading.value, reading.unit, low)
    return value is not None and (low is None or value >= low) and (high is None or value <= high)


def wanted_readings(tail: JobTail) -> tuple[ExpectedReading, ...]:
    """The readings that prove a tail: those marked needed for its pole."""
    return tuple(r for r in tail.readings if r.needed)


def _windows(tail: JobTail, proof: Proof) -> list[ExpectedReading]:
    unit = proof.reading.unit
    quantity = {"Vac": "Vac", "V": "V", "Ω": "Ω", "mA": "mA", "A": "mA"}.get(unit)
    return [
        r
        for r in tail.readings
        if r.condition in (proof.condition, "any")
        and (unit == "" or proof.reading.value is None or r.quantity == quantity)
    ]


def _milli(reading: Reading) -> Reading:
    if reading.unit == "A" and reading.value is not None:
        return Reading(written=reading.written, value=reading.value * 1000, unit="mA")
    return reading


def judge(tail: JobTail, proof: Proof) -> bool | None:
    """True or False against the windows of that condition; None when none is known.

    A proof that shows another function than the tail's is False whatever the figure.
    """
    if proof.shows is not None and proof.shows != tail.function_id:
        return False
    windows = _windows(tail, proof)
    if not windows:
        return None
    reading = _milli(proof.reading)
    if reading.value is not None and size_of(reading.value, reading.unit, None)[0] is None:
        return None  # no reading at all
    if reading.value is None:  # OL answers a question asked in ohms only
        windows = [w for w in windows if w.quantity == "Ω"]
    return any(within(reading, w.low, w.high, open_wanted=w.open) for w in windows)


def proofs_of(job: Job, registration: Registration) -> tuple[Proof, ...]:
    """The proofs that were taken on one vehicle; a job with one vehicle need not repeat its registration."""
    return tuple(proof for _, proof in placed_proofs(job, registration))


def placed_proofs(job: Job, registration: Registration) -> list[tuple[int, Proof]]:
    """The same, each with its place in the job file's list."""
    single = len(job.registrations) == 1
    return [
        (place, proof)
        for place, proof in enumerate(job.proofs)
        if proof.registration == registration.plate or (single and not proof.registration)
    ]


def judged(job: Job, registration: Registration, tails: dict[str, JobTail]) -> tuple[JudgedProof, ...]:
    """Every proof of one vehicle with its verdict, in the order of the job file."""
    out = []
    for proof in proofs_of(job, registration):
        tail = tails.get(proof.tail)
        if tail is None:
            continue
        windows = _windows(tail, proof)
        out.append(
            JudgedProof(
                tail=proof.tail,
                registration=registration.plate,
                condition=proof.condition,
                reading=proof.reading.text,
                expected=windows[0].window if windows else "no window known",
                verdict=judge(tail, proof),
                by=proof.by,
                on=proof.on,
            )
        )
    return tuple(out)


def is_proved(tail: JobTail, proofs: tuple[Proof, ...]) -> bool:
    """Every needed reading has a passing proof; a function with no needed reading is proved by any that passes.

    A supply counts only when its reading was taken under a load.
    """
    own = _not_against(tail, proofs)
    wanted = wanted_readings(tail)
    if not wanted:
        return any(judge(tail, p) or not tail.readings for p in own)
    return all(any(_meets(tail, p, r) for p in own) for r in wanted)


def missing_readings(tail: JobTail, proofs: tuple[Proof, ...]) -> tuple[ExpectedReading, ...]:
    """The needed readings that no passing proof covers yet."""
    own = _not_against(tail, proofs)
    return tuple(r for r in wanted_readings(tail) if not any(_meets(tail, p, r) for p in own))


def lacks_only_its_load(tail: JobTail, proofs: tuple[Proof, ...], wanted: ExpectedReading) -> bool:
    """Whether a proof would cover a wanted reading if it said what load it was taken under."""
    own = [p for p in _not_against(tail, proofs) if not p.load]
    return any(_meets(tail, p.model_copy(update={"load": wanted.load}), wanted) for p in own)


def _not_against(tail: JobTail, proofs: tuple[Proof, ...]) -> list[Proof]:
    """A tail's own proofs, without those that contradict it."""
    name = tail.name
    return [p for p in proofs if p.tail == name and judge(tail, p) is not False]


def _meets(tail: JobTail, proof: Proof, wanted: ExpectedReading) -> bool:
    if wanted.condition not in (proof.condition, "any"):
        return False
    shows_dead = wanted.quantity == "V" and not wanted.low and tail.function.group != "ground"
    if wanted.load and not proof.load and not shows_dead:
        return False  # unloaded, a bad feed shows full volts and a bad ground no drop
    reading = _milli(proof.reading)
    if reading.unit not in ("", wanted.quantity):
        return False
    return within(reading, wanted.low, wanted.high, open_wanted=wanted.open)
