"""The whole program, a line a stage. Content goes in at the top; files come out at the bottom; no stage reaches back.

1. read    a shop folder's files to located nodes                      source.tree
2. check   nodes to typed content, then the rules across files         check.library, check.rules
3. plan    each job to circuits, outcomes, states, checks, steps       plan.planner
4. draw    plans to pictures                                           draw
5. sheets  plans to PDF                                                sheets
6. book    reference, chapters and plans to a site                     handbook
7. write   everything gathered, then written whole or not at all       output
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from .check.library import Library, build_library
from .check.rules import RULES
from .model.shop import Shop
from .places import content_folder
from .plan.planner import plan_job
from .plan.types import Plan
from .problems import Collector, Problem, Severity, in_order
from .source.tree import Tree, read_tree


@dataclass(frozen=True, kw_only=True)
class Loaded:
    """A shop after reading and checking. ``problems`` are sorted by place."""

    tree: Tree
    library: Library
    problems: tuple[Problem, ...]

    @property
    def shop(self) -> Shop:
        """The shop's settings; a nameless default when shop.yaml could not be used (then there is an error too)."""
        return self.library.shop.value if self.library.shop else Shop(name="")

    def errors_of(self, job: str) -> tuple[Problem, ...]:
        """Errors that stop one job: its own, and those of no job at all that lie in files every job needs."""
        return tuple(p for p in self.problems if p.severity is Severity.ERROR and p.job == job)


def load_shop(folder: Path) -> Loaded:
    """Stages 1 and 2."""
    tree, read_problems = read_tree(folder, content_folder())
    library, type_problems = build_library(tree)
    found = Collector()
    for rule in RULES:
        rule(library, found)
    return Loaded(tree=tree, library=library, problems=in_order([*read_problems, *type_problems, *found.problems]))


def plan_jobs(loaded: Loaded, jobs: tuple[str, ...] = ()) -> tuple[dict[str, Plan], tuple[Problem, ...]]:
    """Stage 3, for the named jobs or all. A job with an error is left out; every other one is planned.

    Returns the plans by job number, and all problems: those of the content and the holds of the plans.
    """
    wanted = jobs or tuple(sorted(loaded.library.jobs))
    plans: dict[str, Plan] = {}
    extra: list[Problem] = []
    unusable = files_in_error(loaded)
    for number in wanted:
        entry = loaded.library.jobs.get(number)
        if entry is None:
            continue
        if loaded.errors_of(number) or needed_files(loaded, number) & unusable:
            continue
        plan = plan_job(loaded.library, entry, loaded.problems)
        plans[number] = plan
        extra.extend(plan.problems)
    return plans, in_order([*loaded.problems, *extra])


def files_in_error(loaded: Loaded) -> frozenset[str]:
    """Files with an error in them."""
    return frozenset(p.location.file for p in loaded.problems if p.severity is Severity.ERROR)


def needed_files(loaded: Loaded, number: str) -> frozenset[str]:
    """The files a job is worked out from."""
    library = loaded.library
    entry = library.jobs[number]
    files = {entry.document.file, "shop.yaml"}
    if entry.value.vehicle in library.vehicles:
        files.add(library.vehicles[entry.value.vehicle].document.file)
    files |= {library.leads[p].document.file for p in entry.value.parts if p in library.leads}
    files |= {e.document.file for e in library.reference_places.values()}
    return frozenset(files)
