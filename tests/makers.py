"""Small shops made from text, for tests: the shipped reference, one vehicle, the leads and job a test writes."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from loomleaf.check.library import Library, build_library
from loomleaf.check.rules import run_rules
from loomleaf.places import content_folder
from loomleaf.plan.planner import plan_job
from loomleaf.plan.types import Circuit, Plan
from loomleaf.problems import Problem, in_order
from loomleaf.source.nodes import read_document
from loomleaf.source.tree import FOLDERS, SINGLE, Tree, read_tree

_SHIPPED: list[Tree] = []

VEHICLE = """
vehicle: test-car
title: Test car
maker: Test
model: Car
features: []
battery: {capacity_ah: 60, standby_ma: 20}
ground_stud: prepared
feed: {fuse_a: 10, switched_fuse_a: 10, cable: 1.5 mm2, length_mm: 2500}
"""

JOB = """
job: "1"
issued: 2026-05-12
customer: {name: Test}
vehicle: test-car
registrations: [AB1]
high_voltage: none
request: Test
"""


def tree_of(files: dict[str, str]) -> tuple[Tree, list[Problem]]:
    """A Tree from file names to text, with the reference that comes with the program."""
    if not _SHIPPED:
        _SHIPPED.append(read_tree(Path(__file__).parent / "shops" / "minimal", content_folder())[0])
    problems: list[Problem] = []
    single, folders = {}, {name: [] for name in FOLDERS}
    for name, text in sorted(files.items()):
        document, found = read_document(name, text.encode())
        problems.extend(found)
        if name in SINGLE:
            single[name] = document
        else:
            folders[name.split("/")[0]].append(document)
    return Tree(
        root="test",
        single=single,
        folders={name: tuple(documents) for name, documents in folders.items()},
        shipped=_SHIPPED[0].shipped,
    ), problems


def library_of(files: dict[str, str]) -> tuple[Library, tuple[Problem, ...]]:
    """The typed library of such a tree, and every problem that checking it finds."""
    tree, problems = tree_of(files)
    library, more = build_library(tree)
    return library, in_order([*problems, *more, *run_rules(library)])


def tails(*rows: str) -> str:
    """``"A.4 supply-constant yellow"`` rows to YAML: + or − gives the pole, further words are key=value."""
    out = []
    for row in rows:
        at, function, *rest = row.split()
        pairs = {"at": at, "function": function, "size": "0.75 mm2", "length_mm": "200"}
        for word in rest:
            if word in ("+", "-", "shield", "high", "low"):
                pairs["pole"] = {"+": "plus", "-": "minus"}.get(word, word)
            elif "=" in word:
                key, _, value = word.partition("=")
                pairs[key] = value.replace("_", " ") if key == "size" else value
            else:
                pairs["colour"] = word
        out.append("  - {" + ", ".join(f"{k}: {v}" for k, v in pairs.items()) + "}")
    return "tails:\n" + "\n".join(out) + "\n"


def lead(name: str, side: str, *rows: str, known: str = "leaflet", more: str = "") -> str:
    """A lead's YAML. Tails have no plug unless their names carry one; plugs are listed as they are used."""
    plugs = sorted({row.split()[0].rpartition(".")[0] for row in rows if "." in row.split()[0]})
    listed = ", ".join(f"{{name: {p}, type: test-plug, ways: 30}}" for p in plugs)
    return (
        f"lead: {name}\ntitle: {name}\nside: {side}\nknown_from: {known}\nleaflet: sheet 1\n"
        + (f"plugs: [{listed}]\n" if plugs else "")
        + (tails(*rows) if rows else "")
        + more
    )


REFERENCE = """
connectors:
  test-plug: {title: Test plug, kind: plug, does: Test., ways: 30, source: common-practice, standing: common-practice}
"""


def plan_of(
    *leads: str,
    job: str = "",
    vehicle: str = VEHICLE,
    found: tuple[Problem, ...] = (),
    plates: Sequence[str] = ("AB1",),
) -> Plan:
    """Plan a job that has these leads as its parts."""
    names = [text.split()[1] for text in leads]
    files = {
        "shop.yaml": "name: Test\n",
        "reference/test.yaml": REFERENCE,
        "vehicles/test-car.yaml": vehicle,
        "jobs/1.yaml": JOB.replace("[AB1]", f"[{', '.join(plates)}]") + f"parts: [{', '.join(names)}]\n" + job,
        **{f"leads/{name}.yaml": text for name, text in zip(names, leads, strict=True)},
    }
    library, problems = library_of(files)
    errors = [p.line() for p in problems if p.severity == "error"]
    assert not errors, errors
    return plan_job(library, library.jobs["1"], (*problems, *found))


def meets(circuit: Circuit) -> tuple[str, str, str]:
    """Outcome, drivers and takers as words."""
    return (
        circuit.outcome,
        " ".join(t.name for t in circuit.drivers),
        " ".join(t.name for t in circuit.takers),
    )
