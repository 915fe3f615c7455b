"""The order of work on the bench: one action a step, each further caution just before the step it belongs to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ..model.reference import Reference, Step
from .bench_checks import is_laid
from .changed import changed
from .types import Circuit, Joint, Spare, WorkStep


def steps_for(
    circuits: tuple[Circuit, ...], spares: tuple[Spare, ...], joints: tuple[Joint, ...], reference: Reference
) -> tuple[WorkStep, ...]:
    """Identity first, then the ends, the joints method by method, the spares, the checks, the two signed hold points."""
    out: list[WorkStep] = []

    def step(text: str, stage: str) -> None:
        out.append(WorkStep(number=0, kind="step", text=text, stage=stage))

    step("Compare the registration on the vehicle with the one on this sheet.", "start")
    step("Compare the radio's model plate with the one on this sheet.", "start")
    step("Read every refused and unproved line above.", "start")
    out.append(WorkStep(number=0, kind="stop", text="Stop if anything differs.", stage="start"))
    group = {c.id: c.group for c in circuits}
    for method_id in dict.fromkeys(j.method_id for j in joints):
        method = reference.methods.get(method_id)
        if method is None:
            continue
        shown: set[str] = set()  # each way of joining has its own: it may begin a page
        own = [j.id for j in joints if j.method_id == method_id]
        ids = ", ".join(own)
        later = {action.caution for action in method.steps}  # these wait for the action that brings them
        for caution in cautions_for(method.solder, method.heat_gun, method.kind, reference):
            if caution not in shown and caution not in later:
                shown.add(caution)
                out.append(WorkStep(number=0, kind="caution", text="", stage=f"make:{method_id}", caution=caution))
        for index, action in enumerate(method.steps):
            text = _for_joints(action, own, group)
            if not text or action.where == "vehicle":
                continue
            if index == 0:
                out.append(
                    WorkStep(
                        number=0,
                        kind="stop",
                        text=f"{method.title}: {ids}. Do these steps joint by joint.",
                        stage=f"make:{method_id}",
                    )
                )
            if action.caution and action.caution not in shown:
                shown.add(action.caution)
                out.append(
                    WorkStep(number=0, kind="caution", text="", stage=f"make:{method_id}", caution=action.caution)
                )
            step(text, f"make:{method_id}")
        if any(action.where == "vehicle" and _for_joints(action, own, group) for action in method.steps):
            step(f"Lay {ids} aside: the rest is done in the vehicle, on the fitting sheet.", f"make:{method_id}")
    if spares:
        live = [s.id for s in spares if s.live]
        step(f"Take the spares one by one{', live ones first: ' if live else ''}{', '.join(live)}.", "spares")
        step("Fold the spare back at its full length.", "spares")
        step("Cap it with a sleeve of its own.", "spares")
        step("Tie it to the loom.", "spares")
    step("Label both ends of every circuit with its number.", "finish")
    step("Do the bench checks below.", "finish")
    laid = [c for c in circuits if c.made and is_laid(c)]
    if laid:
        step(f"Take the checks of the laid cable first, battery lead off: {', '.join(c.id for c in laid)}.", "lead-in")
    step("Plug the finished lead into the plug in the vehicle, and plug in nothing else.", "lead-in")
    text = "Before the radio is plugged in"
    out.append(WorkStep(number=0, kind="hold", text=text, stage="lead-in", row="before-plugging-in"))
    if any(c.feed == "battery" and c.group == "supply" and c.made for c in circuits):
        step("Fit the fuse of the battery feed last.", "fit")
    step("Do the checks after plugging in.", "fit")
    out.append(WorkStep(number=0, kind="hold", text="Before the trim goes back", stage="fit", row="before-the-trim-goes-back"))
    number = 0
    numbered = []
    for item in out:
        if item.kind == "step":
            number += 1
            item = changed(item, number=number)
        numbered.append(item)
    return tuple(numbered)


def _for_joints(action: Step, own: Sequence[str], group: Mapping[str, str]) -> str:
    """An action's words for these joints, with their numbers in front where it is not for all of them; "" for none."""
    meant = [j for j in own if action.only in (None, group.get(j))]
    if not meant:
        return ""
    return action.do if meant == list(own) else f"{', '.join(meant)}: {action.do[0].lower()}{action.do[1:]}"


def steps_in_the_vehicle(circuits: Sequence[Circuit], joints: Sequence[Joint]) -> tuple[str, ...]:
    """What is left to do of joints that were begun on the bench, method by method: a ring is crimped there and bolted here."""
    group = {c.id: c.group for c in circuits}
    out = []
    for method_id, method in {j.method_id: j.method for j in joints}.items():
        own = [j.id for j in joints if j.method_id == method_id]
        for action in method.steps:
            text = _for_joints(action, own, group) if action.where == "vehicle" else ""
            if text:
                out.append(text)
    return tuple(out)


def cautions_for(solder: bool, heat_gun: bool, kind: str, reference: Reference) -> tuple[str, ...]:
    """Cautions of the reference whose ``when`` names something this method does."""
    doing = {"joining"}
    if solder:
        doing.add("solder")
    if heat_gun:
        doing.add("heat-gun")
    if kind in ("crimp", "closed-end", "terminal"):
        doing.add("crimp")
    return tuple(
        name
        for name, caution in reference.cautions.items()
        if not caution.standing_caution and doing & set(caution.when)
    )
