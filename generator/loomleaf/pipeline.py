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

from collections.abc import Callable
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


def print_sheets(
    loaded: Loaded,
    plans: dict[str, Plan],
    sheet: str,
    out: Path,
    *,
    paper: str | None = None,
    working: bool = False,
    progress: Callable[[int], None] = lambda done: None,
) -> tuple[list[str], tuple[Problem, ...]]:
    """Stages 4, 5 and 7: each job's sheets are rendered first, then written; a job with an error in any is left unwritten.

    ``sheet`` is a kind of sheet, or all. Returns the paths written and the problems of rendering and writing.
    """
    from .output.write import write_tree
    from .sheets.registry import render_sheet, sheet_kinds

    names = tuple(sheet_kinds) if sheet == "all" else (sheet,)
    problems: list[Problem] = []
    written: list[str] = []
    for done, (number, plan) in enumerate(sorted(plans.items()), 1):
        files: dict[str, bytes] = {}
        bad = False
        for name in names:
            options = {"show_working": working} if name == "bench" else {}
            rendered, found = render_sheet(
                name, plan, loaded.shop, loaded.library.reference, paper=paper, **options
            )
            problems.extend(found)
            if rendered is None or any(p.severity is Severity.ERROR for p in found):
                bad = True
                continue
            files[f"{rendered.name}.pdf"] = rendered.pdf
        if not bad:
            area = f"job-{number}"
            told = write_tree(out, files, area=area, keep_others=sheet != "all")
            problems.extend(told)
            if not any(p.severity is Severity.ERROR for p in told):
                written.extend(str(out / area / name) for name in files)
        progress(done)
    return written, tuple(problems)


def publish_handbook(
    loaded: Loaded, plans: dict[str, Plan], out: Path, *, paper: str | None = None, edition: bool = True
) -> tuple[int, tuple[Problem, ...]]:
    """Stages 6 and 7. Returns how many files were written (0 when an error kept the old site in place)."""
    from .handbook.site import build_site
    from .output.write import write_tree

    files, problems = build_site(
        loaded.library.reference,
        loaded.shop,
        loaded.tree.shipped_chapters + loaded.tree.chapters,
        tuple(plan for _, plan in sorted(plans.items())),
    )
    if any(p.severity is Severity.ERROR for p in problems):
        return 0, problems
    data = {name: text.encode() if isinstance(text, str) else text for name, text in files.items()}
    told = write_tree(out, data, area="handbook")
    failed = any(p.severity is Severity.ERROR for p in told)
    return (0 if failed else len(data)), (*problems, *told)
