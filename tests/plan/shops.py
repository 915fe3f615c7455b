"""Small shops with stock, prices and readings, for the tests of time, price and trust."""

from __future__ import annotations

from loomleaf.check.library import Library
from loomleaf.plan.planner import plan_job
from loomleaf.plan.types import Plan
from loomleaf.problems import Problem
from tests.makers import JOB, REFERENCE, VEHICLE, lead, library_of

CAR = lead("car", "vehicle", "A.4 supply-constant yellow", "A.7 supply-switched red", "A.8 ground black")
RADIO = lead(
    "radio",
    "radio",
    "M.1 supply-constant yellow",
    "M.2 supply-switched red",
    "M.3 ground black",
    more='draws: {running_a: 2, peak_a: 4, standby_ma: 2}\nfuse_a: 10\nprice: "100.00"\n',
)
PROOFS = """proofs:
  - {tail: car/A.4, condition: asleep, load: 5 W lamp, reading: 12.4 V, by: RP, on: 2026-05-12}
  - {tail: car/A.7, condition: key-on, load: 5 W lamp, reading: 12.1 V, by: RP, on: 2026-05-12}
  - {tail: car/A.7, condition: asleep, load: 5 W lamp, reading: 0.0 V, by: RP, on: 2026-05-12}
  - {tail: car/A.8, condition: any, load: 5 A, reading: 0.03 V, by: RP, on: 2026-05-12}
"""
SHOP = """name: Test
currency: EUR
rates: {labour_hour: "60.00"}
minutes:
  set_up: 30
  operations: {butt-connector: 2, solder-and-sleeve: 5, check: 1, remove-radio: 20, fit-radio: 30, tape: 5, hand-over: 10,
    spare: 1, plug-in: 1}
"""
STOCK = """stock:
  butt-red: {title: Butt connector, kind: connector, method: butt-connector, low_mm2: 0.26, high_mm2: 1.65,
    outside_mm: 4.0, length_mm: 26, strip_mm: 6, price: "0.16", on_hand: 50}
  cage: {title: Cage, kind: cage, price: "4.20", pack: 5, on_hand: 1}
  keys: {title: Removal keys, kind: tool, price: "30.00", on_hand: 1}
  radio: {title: Radio, kind: part, part: radio, price: "80.00", on_hand: 1}
"""


def shop(
    *,
    job: str = "",
    shop_more: str = "",
    stock: str = STOCK,
    plates: str = "[AB1]",
    files: dict[str, str] | None = None,
) -> tuple[Library, tuple[Problem, ...]]:
    """A whole shop of one job; ``job`` and ``shop_more`` are YAML to add."""
    return library_of(
        {
            "shop.yaml": SHOP + shop_more,
            **({"stock.yaml": stock} if stock else {}),
            "reference/test.yaml": REFERENCE,
            "vehicles/test-car.yaml": VEHICLE,
            "leads/car.yaml": CAR,
            "leads/radio.yaml": RADIO,
            "jobs/1.yaml": JOB.replace("[AB1]", plates)
            + "parts: [car, radio]\njoining: {default: butt-connector}\nroute_mm: {dash: 150}\n"
            + job,
            **(files or {}),
        }
    )


def planned(**words: object) -> tuple[Plan, Library]:
    """Its plan; no error may stand in it."""
    library, problems = shop(**words)  # type: ignore[arg-type]
    errors = [p.line() for p in problems if p.severity == "error"]
    assert not errors, errors
    return plan_job(library, library.jobs["1"], problems), library


def codes(**words: object) -> set[str]:
    """The codes of everything that checking the shop finds."""
    return {p.code for p in shop(**words)[1]}  # type: ignore[arg-type]
