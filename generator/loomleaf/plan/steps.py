"""The order of work on the bench: one action a step, each further caution just before the step it belongs to."""

from __future__ import annotations

from ..model.reference import Reference
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
        later = {action.caution for action in method.steps[:-1]}  # these wait for the action that brings them
        for caution in cautions_for(method.solder, method.heat_gun, method.kind, reference):
            if caution not in shown and caution not in later:
                shown.add(caution)
                out.append(WorkStep(number=0, kind="caution", text="", stage=f"make:{method_id}", caution=caution))
        for index, action in enumerate(method.steps):
            meant = [j for j in own if action.only in (None, group.get(j))]
            if not meant:
                continue
            text = action.do if meant == own else f"{', '.join(meant)}: {action.do[0].lower()}{action.do[1:]}"
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
    if spares:
        live = [s.id for s in spares if s.live]
        if live:
            step(f"Cap the live spares first, each on its own: {', '.join(live)}.", "spares")
        step("Fold each spare back at its full length.", "spares")
        step("Cap each spare singly.", "spares")
        step("Tie the spares to the loom.", "spares")
    step("Label both ends of every circuit with its number.", "finish")
    step("Do the bench checks below.", "finish")
    out.append(WorkStep(number=0, kind="hold", text="Before plugging in", stage="finish"))
    if any(c.feed == "battery" and c.group == "supply" and c.made for c in circuits):
        step("Fit the fuse of the battery feed last.", "fit")
    step("Do the checks after plugging in.", "fit")
    out.append(WorkStep(number=0, kind="hold", text="Before the trim goes back", stage="fit"))
    number = 0
    numbered = []
    for item in out:
        if item.kind == "step":
            number += 1
            item = changed(item, number=number)
        numbered.append(item)
    return tuple(numbered)


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
