"""Colours, compared after the pairing is done. They never decide what meets; they can stop a job."""

from __future__ import annotations

from dataclasses import replace

from ..model.reference import Reference
from ..units import Colour
from .changed import changed
from .circuits import Pairing
from .kept import REFERENCES, kept
from .types import Circuit, ColourNote, JobTail


def with_colour_notes(pairing: Pairing, tails: tuple[JobTail, ...], reference: Reference) -> Pairing:
    """The same pairing with the notes filled in."""
    circuits = tuple(
        changed(c, colour_notes=notes) if (notes := _notes(c, tails, reference)) else c for c in pairing.circuits
    )
    return replace(pairing, circuits=circuits)


def _notes(circuit: Circuit, tails: tuple[JobTail, ...], reference: Reference) -> tuple[ColourNote, ...]:
    out: list[ColourNote] = []
    if circuit.outcome in ("joined", "shared") and circuit.drivers:
        first = circuit.drivers[0]
        for other in circuit.tails[1:]:
            a, b = first.tail.colour, other.tail.colour
            if a is not None and b is not None and a != b:
                out.append(
                    ColourNote(
                        code="colour-differs",
                        text=f"{first.name} is {a.text}, {other.name} is {b.text}",
                        tails=(first.name, other.name),
                    )
                )
    if circuit.outcome != "mated" and circuit.reason_code not in ("never-touched", "never-joined"):
        for tail in circuit.tails:
            note = colour_of_another(tail, tails, reference)
            if note is not None:
                out.append(note)
            note = stripe_against_pole(tail, tails)
            if note is not None:
                out.append(note)
    return tuple(out)


def usual_functions(colour: Colour, pole: str | None, reference: Reference) -> frozenset[str]:
    """Functions of which this colour is a usual one, at this pole."""
    worn = _worn_by(reference).get(colour, ())
    return frozenset(name for name, usual in worn if usual is None or pole is None or usual == pole)


@kept(REFERENCES)
def _worn_by(reference: Reference) -> dict[Colour, list[tuple[str, str | None]]]:
    """The functions that usually wear a colour, each with the pole at which it does, None for any."""
    out: dict[Colour, list[tuple[str, str | None]]] = {}
    for name, function in reference.functions.items():
        for usual in function.colours:
            out.setdefault(usual.colour, []).append((name, usual.pole))
    return out


def colour_of_another(tail: JobTail, tails: tuple[JobTail, ...], reference: Reference) -> ColourNote | None:
    """The tail wears the usual colour of another function that stands in the same plug (red and yellow changed over)."""
    colour = tail.tail.colour
    if colour is None:
        return None
    usual = usual_functions(colour, tail.tail.pole, reference)
    if not usual or tail.function_id in usual:
        return None
    same_plug = {t.function_id for t in tails if t.lead.lead == tail.lead.lead and t.plug_name == tail.plug_name}
    others = sorted(usual & same_plug)
    if not others:
        return None
    title = reference.functions[others[0]].title
    return ColourNote(
        code="colour-of-another",
        text=f"{tail.name} is {colour.text}, the usual colour of {title[0].lower()}{title[1:]}, which is in the same plug",
        tails=(tail.name,),
    )


def stripe_against_pole(tail: JobTail, tails: tuple[JobTail, ...]) -> ColourNote | None:
    """In a pair of one base colour the plus wears the black stripe and the minus does not."""
    colour = tail.tail.colour
    if colour is None or tail.tail.pole != "plus" or colour.stripe != "black":
        return None
    partner = next(
        (
            t
            for t in tails
            if t.lead.lead == tail.lead.lead and t.function_id == tail.function_id and t.tail.pole == "minus"
        ),
        None,
    )
    if partner is None or partner.tail.colour is None or partner.tail.colour.base != colour.base:
        return None
    if partner.tail.colour.stripe:
        return None
    return ColourNote(
        code="stripe-against-pole",
        text=f"{tail.name} is the plus and wears the black stripe; {partner.name} is the minus and is plain",
        tails=(tail.name, partner.name),
    )
