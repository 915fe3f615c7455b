"""One job worked out from a few lines of text, with the shop's settings and stock as the test wants them."""

from __future__ import annotations

from typing import Any

from loomleaf.figure import Figure
from loomleaf.plan.planner import plan_job
from loomleaf.plan.types import Joint, Plan
from loomleaf.problems import Severity
from tests.makers import JOB, REFERENCE, library_of

CAR = """
vehicle: test-car
title: Test car
maker: Test
model: Car
features: []
battery: {capacity_ah: 60, standby_ma: 20}
ground_stud: prepared
feed: {fuse_a: 10, cable: 1.5 mm2, length_mm: 2000, switched_fuse_a: 10, switched_cable: 1.0 mm2, switched_mm: 2000,
  ground_cable: 1.5 mm2, ground_mm: 500}
"""

STOCK = """
stock:
  red: {title: Red butt, kind: connector, method: butt-connector, low_mm2: 0.26, high_mm2: 1.65,
    outside_mm: 4, length_mm: 26, strip_mm: 6}
  blue: {title: Blue butt, kind: connector, method: butt-connector, low_mm2: 1.04, high_mm2: 2.62,
    outside_mm: 4.6, length_mm: 26, strip_mm: 6}
  cap: {title: Cap, kind: closed-end, method: closed-end-connector, low_mm2: 1, high_mm2: 3,
    outside_mm: 7.5, length_mm: 20, strip_mm: 10}
  lined-red: {title: Lined red butt, kind: connector, method: lined-sleeve-butt, low_mm2: 0.5, high_mm2: 1.5,
    outside_mm: 5, length_mm: 36, strip_mm: 7, lined: yes}
  ring-8: {title: Ring M8, kind: terminal, method: ring-terminal, low_mm2: 6, high_mm2: 10, strip_mm: 12}
  ring-50: {title: Ring M10, kind: terminal, method: ring-terminal, low_mm2: 35, high_mm2: 50, strip_mm: 22}
  s-3-32: {title: Sleeve 3/32, kind: sleeve, sleeve: "2:1 thin wall 3/32 in"}
  s-1-8: {title: Sleeve 1/8, kind: sleeve, sleeve: "2:1 thin wall 1/8 in"}
  s-3-16: {title: Sleeve 3/16, kind: sleeve, sleeve: "2:1 thin wall 3/16 in"}
  s-1-4: {title: Sleeve 1/4, kind: sleeve, sleeve: "2:1 thin wall 1/4 in"}
  l-1-8: {title: Lined 1/8, kind: sleeve, sleeve: "3:1 adhesive lined 1/8 in", lined: yes}
  l-1-4: {title: Lined 1/4, kind: sleeve, sleeve: "3:1 adhesive lined 1/4 in", lined: yes}
  l-300: {title: Lined .300, kind: sleeve, sleeve: "4:1 adhesive lined .300", lined: yes}
  relay: {title: Relay 30 A, kind: relay, rating_a: 30}
  diode: {title: Diode 1 A, kind: diode, rating_a: 1}
  fuse-5: {title: Fuse 5 A, kind: fuse, rating_a: 5}
  fuse-25: {title: Fuse 25 A, kind: fuse, rating_a: 25}
"""

RADIO = ("yellow supply-constant", "red supply-switched", "black ground")
DASH = ("A.4 supply-constant", "A.7 supply-switched", "A.8 ground")
DRAWS = "draws: {running_a: 4, peak_a: 8, standby_ma: 2}\nfuse_a: 10\n"


def work(
    *leads: str, job: str = "", vehicle: str = CAR, shop: str = "", stock: str | None = STOCK, reference: str = ""
) -> Plan:
    """The plan of a job whose parts are these leads."""
    names = [text.split()[1] for text in leads]
    files = {
        "shop.yaml": f"name: Test\n{shop}",
        "reference/test.yaml": REFERENCE,
        "vehicles/test-car.yaml": vehicle,
        "jobs/1.yaml": JOB + f"parts: [{', '.join(names)}]\n" + job,
        **{f"leads/{name}.yaml": text for name, text in zip(names, leads, strict=True)},
    }
    if reference:
        files["reference/own.yaml"] = reference
    if stock is not None:
        files["stock.yaml"] = stock
    library, problems = library_of(files)
    errors = [p.line() for p in problems if p.severity is Severity.ERROR]
    assert not errors, errors
    return plan_job(library, library.jobs["1"], problems)


def codes(plan: Plan, *of: str) -> list[str]:
    """Codes of what the engineering holds or warns of, sorted; only those named, if any are."""
    found = sorted(p.code for p in plan.problems)
    return [code for code in found if code in of] if of else found


def joint(plan: Plan, circuit: str) -> Joint:
    return next(j for j in plan.joints if j.circuit == circuit)


def value(figure: Figure | None) -> Any:
    assert figure is not None
    return figure.value


def message(plan: Plan, code: str) -> str:
    return next(p.message for p in plan.problems if p.code == code)
