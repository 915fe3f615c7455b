"""What becomes of each feature the vehicle has today."""

from __future__ import annotations

from ..model.job import Job
from ..model.lead import Lead
from ..model.reference import Feature, Reference
from ..model.vehicle import Vehicle
from .types import Circuit, FeatureOutcome, FeatureResult


def feature_outcomes(
    job: Job, vehicle: Vehicle, leads: tuple[Lead, ...], circuits: tuple[Circuit, ...], reference: Reference
) -> tuple[FeatureOutcome, ...]:
    """One outcome a feature of the vehicle, in the order of the vehicle's file."""
    agreed = {item.feature: item.told_customer for item in job.give_up}
    out = []
    for item in vehicle.features:
        feature = reference.features.get(item.feature)
        if feature is None:
            continue
        vital = feature.safety or item.required
        result, by, how, ids = _outcome(item.feature, feature, leads, circuits, vital=vital)
        asleep = _asleep(feature, by, leads, circuits, reference) if result != "loses" else ""
        if asleep:
            result, how = "loses", asleep
        out.append(
            FeatureOutcome(
                feature_id=item.feature,
                title=feature.title,
                customer=feature.customer,
                outcome=result,
                by=by.lead if by else "",
                by_title=by.title if by else "",
                how=how,
                agreed=agreed.get(item.feature),
                safety=vital,
                promised=item.feature in job.keep,
                hand_over=feature.hand_over,
                circuits=ids,
            )
        )
    return tuple(out)


def _outcome(
    name: str, feature: Feature, leads: tuple[Lead, ...], circuits: tuple[Circuit, ...], *, vital: bool
) -> tuple[FeatureResult, Lead | None, str, tuple[str, ...]]:
    carrying = [c for c in circuits if _carries(c, feature)]
    made = [c for c in carrying if c.made or c.outcome == "mated"]
    ids = tuple(c.id for c in made)
    stopped = next((lead for lead in leads if name in lead.stops), None)
    provider = next((lead for lead in _providers(leads) if name in lead.provides), None)
    if provider is not None and not _reached(provider, feature, leads, circuits, vital=vital):
        provider = None  # the part could keep it, but a wire that carries it meets nothing
    changing = [lead for lead in leads if name in lead.changes]
    changed = next(
        (
            lead
            for lead in changing
            if lead is provider
            or not (name in lead.provides or lead.kind == "data")
            or _reached(lead, feature, leads, circuits, vital=vital)
        ),
        None,
    )
    if changed is not None and (provider is not None or not stopped):
        return "changes", changed, changed.changes[name], ids
    if provider is not None:
        result: FeatureResult = "keeps" if provider.side == "radio" else "keeps with a part"
        return result, provider, "", ids
    if stopped is not None:
        return "loses", stopped, "", ids
    if feature.untouched:
        return "keeps", None, "", ids
    if (
        feature.radio_input
        and made
        and _brought(feature, leads) <= {t.name for c in circuits if c.made for t in c.tails}
    ):
        reader = _read_by_the_radio(made)
        if reader is not None:
            return "keeps", reader, "", ids
    if feature.needs_part or not (feature.functions or feature.ready_ends):
        return "loses", None, "", ids
    if carrying and len(made) == len(carrying):
        part = _helping_part(made)
        return ("keeps with a part", part, "", ids) if part else ("keeps", None, "", ids)
    return "loses", None, "", ids


def _reached(
    provider: Lead, feature: Feature, leads: tuple[Lead, ...], circuits: tuple[Circuit, ...], *, vital: bool
) -> bool:
    """Whether what carries the feature gets to the part: by the vehicle's own wires for it, over the vehicle's data, or by a
    ready end.

    Where the vehicle's leads bring nothing for it, a part may have it in itself (a tuner, a clock). A data part has it from
    the data and from nowhere else; buttons and what is there for safety are the vehicle's own and have to come from it.
    """
    made = {t.name for c in circuits if c.made for t in c.tails}
    by_data = any(c.made and c.group == "data" and any(t.lead.lead == provider.lead for t in c.tails) for c in circuits)
    brought = _brought(feature, leads)
    if by_data or (brought and brought <= made):
        return True
    mated = any(
        c.outcome == "mated" and _carries(c, feature) and any(e.lead.lead == provider.lead for e in c.ends) for c in circuits
    )
    if brought or provider.kind == "data":
        return mated and not brought
    if not (feature.radio_input or vital):
        return True
    return mated or any(
        c.made and any(t.function_id in feature.functions and t.lead.lead == provider.lead for t in c.tails) for c in circuits
    )


def _brought(feature: Feature, leads: tuple[Lead, ...]) -> set[str]:
    """The vehicle's own wires for a feature, by name."""
    return {
        f"{lead.lead}/{t.at}"
        for lead in leads
        if lead.side == "vehicle"
        for t in lead.tails
        if t.function in feature.functions
    }


def _asleep(
    feature: Feature, by: Lead | None, leads: tuple[Lead, ...], circuits: tuple[Circuit, ...], reference: Reference
) -> str:
    """Why nothing brings the feature up: the radio, or the part that keeps it, has an input for that and nothing drives it.

    An input that its leaflet can do without says ``needed: no``. One driven input of a part is enough.
    """
    if not feature.woken_by:
        return ""
    driven = {t.name for c in circuits if c.made for t in c.takers}
    for lead in leads:
        if lead.side != "radio" and lead is not by:
            continue
        inputs = [
            t
            for t in lead.tails
            if t.function in feature.woken_by
            and t.needed is not False
            and (t.role or ("drives" if lead.side in reference.functions[t.function].drivers else "takes")) == "takes"
        ]
        if inputs and not any(f"{lead.lead}/{t.at}" in driven for t in inputs):
            name = f"{lead.lead}/{inputs[0].at}"
            return (
                f"nothing drives {name} ({reference.functions[inputs[0].function].title.lower()}), which brings it up"
            )
    return ""


def _read_by_the_radio(circuits: list[Circuit]) -> Lead | None:
    """The radio, when every one of these circuits ends in inputs of its own."""
    leads = {t.lead.lead: t.lead for c in circuits for t in c.takers}
    only = next(iter(leads.values())) if len(leads) == 1 else None
    return only if only is not None and only.side == "radio" else None


def _providers(leads: tuple[Lead, ...]) -> list[Lead]:
    """Parts before the radio: a module that keeps a feature is named rather than the radio that shows it."""
    order = {"module": 0, "accessory": 1, "vehicle": 2, "radio": 3}
    return sorted(leads, key=lambda lead: (order[lead.side], lead.lead))


def _carries(circuit: Circuit, feature: Feature) -> bool:
    """Whether the circuit brings one of the feature's functions (or ready ends) from the vehicle."""
    if circuit.ends:
        return circuit.function_id in feature.ready_ends and any(e.lead.side == "vehicle" for e in circuit.ends)
    return any(t.function_id in feature.functions and t.lead.side == "vehicle" for t in circuit.tails)


def _helping_part(circuits: list[Circuit]) -> Lead | None:
    """The part that stands between the vehicle's wire and the radio; None when the radio itself meets the wire."""
    for circuit in circuits:
        if circuit.ends:
            others = [e.lead for e in circuit.ends if e.lead.side != "vehicle"]
        else:
            driven = any(t.lead.side == "vehicle" for t in circuit.drivers)
            others = [t.lead for t in (circuit.takers if driven else circuit.drivers) if t.lead.side != "vehicle"]
        if any(lead.side == "radio" for lead in others):
            continue
        if others:
            return others[0]
    return None
