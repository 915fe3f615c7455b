"""Meter readings taken on a vehicle, judged against what the function should show."""

from __future__ import annotations

import re

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
        return _at_another_time(tail, proof)
    reading = _milli(proof.reading)
    if reading.value is not None and size_of(reading.value, reading.unit, None)[0] is None:
        return None  # no reading at all
    if reading.value is None:  # OL answers a question asked in ohms only
        windows = [w for w in windows if w.quantity == "Ω"]
    return any(within(reading, w.low, w.high, open_wanted=w.open) for w in windows)


def _at_another_time(tail: JobTail, proof: Proof) -> bool | None:
    """A reading in a condition for which no window is known. On a supply or a loudspeaker it is False when the way shows such a
    figure at no time at all: a constant supply that is dead at accessory is none. Anything else proves nothing: None."""
    reading = _milli(proof.reading)
    known = [r for r in tail.readings if r.quantity == reading.unit]
    if tail.function.group not in ("supply", "speaker") or reading.value is None or not known:
        return None
    return None if any(within(reading, r.low, r.high, open_wanted=r.open) for r in known) else False


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
        return any((judge(tail, p) or not tail.readings) and not _unsigned(p) for p in own)
    return all(any(_meets(tail, p, r) for p in own) for r in wanted)


def missing_readings(tail: JobTail, proofs: tuple[Proof, ...]) -> tuple[ExpectedReading, ...]:
    """The needed readings that no passing proof covers yet."""
    own = _not_against(tail, proofs)
    return tuple(r for r in wanted_readings(tail) if not any(_meets(tail, p, r) for p in own))


def shortcoming(tail: JobTail, proofs: tuple[Proof, ...], wanted: ExpectedReading) -> str:
    """Why a proof that shows what is wanted does not count, in words; "" where none shows it."""
    shown = [p for p in _not_against(tail, proofs) if _shows(p, wanted)]
    said = [why for p in shown if (why := _short_of(tail, p, wanted))]
    return said[0] if said and len(said) == len(shown) else ""


def _not_against(tail: JobTail, proofs: tuple[Proof, ...]) -> list[Proof]:
    """A tail's own proofs, without those that contradict it."""
    name = tail.name
    return [p for p in proofs if p.tail == name and judge(tail, p) is not False]


def _meets(tail: JobTail, proof: Proof, wanted: ExpectedReading) -> bool:
    return _shows(proof, wanted) and not _short_of(tail, proof, wanted)


def _shows(proof: Proof, wanted: ExpectedReading) -> bool:
    """Whether the figure is one that was asked for, in its condition and unit."""
    if wanted.condition not in (proof.condition, "any"):
        return False
    reading = _milli(proof.reading)
    return reading.unit in ("", wanted.quantity) and within(reading, wanted.low, wanted.high, open_wanted=wanted.open)


def _short_of(tail: JobTail, proof: Proof, wanted: ExpectedReading) -> str:
    """What a proof lacks to count: its load, its probes' places, who took it and when; "" for nothing."""
    shows_dead = wanted.quantity == "V" and not wanted.low and tail.function.group != "ground"
    if wanted.load and not shows_dead and not under_load(proof.load, wanted.load):
        # unloaded, a bad feed shows full volts and a bad ground no drop
        if not is_a_load(proof.load):
            return f"has no load and does not count: measure under load, write  load: {wanted.load}"
        return f"was taken under {proof.load}, which is too little: measure again, write  load: {wanted.load}"
    if elsewhere(proof.between, wanted.between):
        return f"was taken between {proof.between} and does not count: measure between {wanted.between}"
    return _unsigned(proof)


def _unsigned(proof: Proof) -> str:
    lacking = [word for word, said in (("by", any(c.isalpha() for c in proof.by)), ("on", proof.on is not None)) if not said]
    if not lacking:
        return ""
    words = {"by": "who took it", "on": "which day"}
    return f"does not say {' and '.join(words[w] for w in lacking)} and does not count: add  {' and '.join(lacking)}"


# --- loads and places, as people write them ----------------------------------------------------------------------

_NO_LOAD = re.compile(
    r"|-+|–|—|\?+|0|n/?a|nil|none|unloaded|open|(?:no|without|not|only)\b.*|(?:the )?meter(?: only| alone)?", re.IGNORECASE
)
_AMOUNT = re.compile(r"(\d+(?:[.,]\d+)?)\s*(mA|A|amps?|W|watts?|ohms?|Ω)(?![A-Za-z])", re.IGNORECASE)
NEAR_ENOUGH = 0.9
"""Of the wanted load: a 55 W lamp stands for 5 A. Common practice, no source."""
SYSTEM_V = 12.0


def is_a_load(text: str) -> bool:
    """Whether something that draws current is named.

    >>> is_a_load("5 W lamp"), is_a_load("none"), is_a_load("0 A"), is_a_load("-")
    (True, False, False, False)
    """
    amps = load_a(text)
    return not _NO_LOAD.fullmatch(text.strip()) and (amps is None or amps > 0)


def load_a(text: str) -> float | None:
    """What a load draws from 12 V, A; None where its words hold no figure.

    >>> load_a("5 A"), load_a("10 mA"), load_a("6 W lamp"), load_a("3 ohm"), load_a("lamp")
    (5.0, 0.01, 0.5, 4.0, None)
    """
    found = _AMOUNT.search(text)
    if found is None:
        return None
    amount, unit = float(found[1].replace(",", ".")), found[2].lower()
    if unit == "ma":
        return amount / 1000
    if unit.startswith("w"):
        return amount / SYSTEM_V
    if unit.startswith("a"):
        return amount
    return SYSTEM_V / amount if amount else None


def under_load(given: str, wanted: str) -> bool:
    """Whether a load is at least about the one that was asked for. A lamp without a figure stands for a lamp.

    >>> under_load("21 W lamp", "5 W lamp"), under_load("5 W lamp", "5 A"), under_load("lamp", "5 W lamp")
    (True, False, True)
    """
    if not is_a_load(given):
        return False
    if "fuse" in wanted:  # not a load, but the way in which the current is fed
        return True
    amps, least = load_a(given), load_a(wanted)
    if amps is None or least is None:
        return "lamp" in wanted and any(word in given.lower() for word in ("lamp", "bulb"))
    return amps >= least * NEAR_ENOUGH


_PLACES = (
    ("wheel ground", ("wheel ground", "wheel-ground")),
    ("battery", ("battery",)),
    ("load", ("lamp", "load", "bulb", "resistor")),
    ("body", ("metal", "body", "chassis", "ground", "earth", "stud")),
    ("pair", ("plus", "minus", "pair", "other wire", "high", "low", "shield")),
)


def elsewhere(given: str, wanted: str) -> bool:
    """Whether the probes were surely in another place than was asked for: words that name no place say nothing.

    >>> elsewhere("this way and the minus of the same lamp", "this way and the battery's negative side")
    True
    >>> elsewhere("B.2 and body", "minus and bare metal"), elsewhere("B.1 and B.2", "plus and minus of this loudspeaker")
    (False, False)
    """
    here, there = (
        next((name for name, words in _PLACES if any(word in text.lower() for word in words)), "") for text in (given, wanted)
    )
    return bool(here and there) and here != there
