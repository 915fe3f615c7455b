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

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING

from .check.library import Library, build_library
from .check.rules import run_rules
from .model.job import Job
from .model.readings import Readings
from .model.shop import Shop
from .places import content_folder
from .plan.picking import Need, shelf_problems
from .plan.planner import alike, plan_job
from .plan.types import Plan
from .problems import Problem, Severity, in_order
from .source.nodes import Document, Mapping, Scalar
from .source.tree import Tree, read_tree
from .workers import WorkerLostError, spread

if TYPE_CHECKING:
    from .output.record import Record
    from .plan.issued import Frozen

PLANS_AT_ONCE = 20  # a process plans so many before it hands on what it found
SHEETS_A_PROCESS = 100  # jobs of which a process makes sheets before a fresh one follows: the layout engine keeps some
# tenth of a megabyte of each document for good
SAVE_EVERY = 25  # jobs after which it is saved what was made, should the run be stopped


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
        """Errors that stop one job and no other."""
        return tuple(p for p in self.problems_of(job) if p.severity is Severity.ERROR)

    def problems_of(self, job: str) -> tuple[Problem, ...]:
        """Everything found wrong with one job, in order."""
        return self._by_job.get(job, ())

    def has_error_in(self, file: str) -> bool:
        """Whether a file has an error in it, so that nothing may be counted with it."""
        return any(p.location.file == file and p.severity is Severity.ERROR for p in self.problems)

    @cached_property
    def _by_job(self) -> dict[str, tuple[Problem, ...]]:
        out: dict[str, list[Problem]] = {}
        for problem in self.problems:
            out.setdefault(problem.job, []).append(problem)
        return {job: tuple(problems) for job, problems in out.items()}

    @cached_property
    def common_files(self) -> frozenset[str]:
        """The files that any job's sheets may show something of."""
        return frozenset(name for name in self.tree.digests if not name.startswith(OF_THEIR_OWN))

    @cached_property
    def reference_files(self) -> frozenset[str]:
        """The files that hold the reference, which every job needs."""
        return frozenset(entry.document.file for entry in self.library.reference_places.values())


def load_shop(folder: Path) -> Loaded:
    """Stages 1 and 2."""
    tree, read_problems = read_tree(folder, content_folder())
    library, type_problems = build_library(tree)
    found = run_rules(library)
    return Loaded(tree=tree, library=library, problems=in_order([*read_problems, *type_problems, *found]))


def plan_jobs(loaded: Loaded, jobs: tuple[str, ...] = ()) -> tuple[dict[str, Plan], tuple[Problem, ...]]:
    """Stage 3, for the named jobs or all. A job with an error is left out; every other one is planned.

    Returns the plans by job number, and all problems: those of the content and the holds of the plans.
    """
    plans = {number: _plan(loaded, number) for number in ready_jobs(loaded, jobs)}
    return plans, in_order([*loaded.problems, *(problem for plan in plans.values() for problem in plan.problems)])


def job_problems(loaded: Loaded, jobs: tuple[str, ...] = (), *, processes: int = 1) -> tuple[Problem, ...]:
    """The same problems as ``plan_jobs`` gives, found on several processes, and no plan kept; and what of the shelf is
    short for the jobs together."""

    def work(number: str) -> tuple[tuple[Problem, ...], tuple[Need, ...]]:
        plan = _plan(loaded, number)
        return plan.problems, plan.workshop.waiting if plan.workshop else ()

    ready = ready_jobs(loaded, jobs)
    same = {number: alike(loaded.library.jobs[number].value) for number in ready}
    side_by_side = sorted(ready, key=same.__getitem__)
    found_in = spread(work, side_by_side, processes, chunk=PLANS_AT_ONCE, alike=same.__getitem__)
    done = dict(zip(side_by_side, found_in, strict=True))
    found = [problem for number in ready for problem in done[number][0]]
    wanted = [(number, done[number][1]) for number in ready]
    stock = loaded.library.stock
    if stock is not None and not loaded.has_error_in(stock.document.file):
        found += shelf_problems(wanted, stock.value, stock.place)
    return in_order([*loaded.problems, *found])


def _plan(loaded: Loaded, number: str) -> Plan:
    return plan_job(loaded.library, loaded.library.jobs[number], loaded.problems_of(number))


def ready_jobs(loaded: Loaded, jobs: tuple[str, ...] = ()) -> tuple[str, ...]:
    """Those of the named jobs, or of all, that no error keeps from being worked out."""
    unusable = files_in_error(loaded)
    wanted = jobs or tuple(sorted(loaded.library.jobs))
    return tuple(
        number
        for number in wanted
        if number in loaded.library.jobs
        and not loaded.errors_of(number)
        and unusable.isdisjoint(needed_files(loaded, number))
    )


def files_in_error(loaded: Loaded) -> frozenset[str]:
    """Files with an error in them."""
    return frozenset(p.location.file for p in loaded.problems if p.severity is Severity.ERROR)


def needed_files(loaded: Loaded, number: str) -> frozenset[str]:
    """The files a job cannot be worked out without."""
    library = loaded.library
    entry = library.jobs[number]
    files = {entry.document.file, "shop.yaml", *({"stock.yaml"} & library.broken)}
    if entry.value.vehicle in library.vehicles:
        files.add(library.vehicles[entry.value.vehicle].document.file)
    files |= {library.leads[p].document.file for p in entry.value.parts if p in library.leads}
    return frozenset(files) | loaded.reference_files


def told_files(loaded: Loaded, jobs: Sequence[str]) -> frozenset[str]:
    """The files whose problems belong to these jobs: their own, those of their vehicle and parts though they cannot be
    read, the shop's settings, its shelf and the reference, and what came back from them."""
    library = loaded.library
    files = {"shop.yaml", "stock.yaml", *loaded.reference_files}
    files |= {d.file for d in (*loaded.tree.shipped, *loaded.tree.folders.get("reference", ()))}
    for number in jobs:
        own = library.broken_files.get(("jobs", number), f"jobs/{number}.yaml")
        files.add(own)
        job: Job | None = library.halves[own].value if own in library.halves else None
        if number in library.jobs:
            files |= needed_files(loaded, number)
            job = library.jobs[number].value
        if job is not None:
            names = [("vehicles", job.vehicle), *(("leads", part) for part in job.parts)]
            files |= {library.broken_files[name] for name in names if name in library.broken_files}
    for folder in ("readings", "issued"):
        files |= {d.file for d in loaded.tree.folders.get(folder, ()) if written_job(d) in jobs}
    return frozenset(files)


def written_job(document: Document) -> str:
    """The job that a file of readings or a copy says it is of, though nothing else in it can be used."""
    said = document.root.values.get("job") if isinstance(document.root, Mapping) else None
    if isinstance(said, Scalar):
        return said.text
    return document.file.rsplit("/", 1)[-1].split("-")[0].removesuffix(".yaml")


def used_numbers(loaded: Loaded) -> frozenset[str]:
    """Every number that some file of the shop gives to a job, or bears as its name, whether it can be used or not."""
    documents = [d for folder in ("jobs", "readings", "issued") for d in loaded.tree.folders.get(folder, ())]
    stems = {d.file.rsplit("/", 1)[-1].removesuffix(".yaml") for d in loaded.tree.folders.get("jobs", ())}
    return frozenset(stems | {written_job(d) for d in documents})


OF_THEIR_OWN = ("jobs/", "vehicles/", "leads/", "readings/", "issued/", "handbook/", "shipped/handbook/")
"""Folders of which a job's sheets show only what belongs to the job."""


def shown_files(loaded: Loaded, number: str) -> frozenset[str]:
    """Every file that a job's sheets may show anything of: a change in any other leaves them as they are."""
    own = {e.document.file for e in loaded.library.readings if e.value.job == number}
    own |= {e.document.file for e in loaded.library.issued if e.value.job == number}
    return needed_files(loaded, number) | own | loaded.common_files


@dataclass(frozen=True, kw_only=True)
class Printed:
    """What came of one job: its sheets' bytes by file name, none when there is an error among the problems."""

    number: str
    files: dict[str, bytes]
    problems: tuple[Problem, ...]
    held: int  # reasons the job is held for, 0 when it is not held
    frozen: Frozen | None = None  # the copy of a cleared revision that is not kept yet


@dataclass(frozen=True, kw_only=True)
class Standing:
    """A job's sheets as they now lie in the output folder. ``fresh`` is False when they were there already."""

    number: str
    files: tuple[Path, ...]
    held: int
    fresh: bool = True


def render_job(
    loaded: Loaded, number: str, kinds: tuple[str, ...], *, paper: str | None = None, working: bool = False
) -> Printed:
    """Stages 3 to 5 for one job. Several sheets also come as one bundle, in working order."""
    from .compare import changed_since
    from .output.job_tables import job_tables
    from .plan.earlier import told_of_earlier
    from .plan.issued import frozen
    from .sheets.bundle import Part, job_bundle
    from .sheets.registry import render_sheet, sheet_kinds

    plan = _plan(loaded, number)
    if "record" in kinds:
        plan = replace(plan, earlier=told_of_earlier(loaded.library, plan.job))
    files: dict[str, bytes] = job_tables(plan) if "cutting" in kinds else {}
    problems = [p for p in plan.problems if p.severity is Severity.ERROR]
    parts: list[Part] = []
    back = readings_of(loaded, plan)
    changed = changed_since(loaded.library, plan)
    for kind in kinds:
        options = {"show_working": working} if kind == "bench" else {}
        rendered, found = render_sheet(
            kind, plan, loaded.shop, loaded.library.reference, paper=paper, readings=back, changed=changed, **options
        )
        problems.extend(found)
        if rendered is not None:
            files[f"{rendered.name}.pdf"] = rendered.pdf
            parts.append(Part(kind=kind, title=sheet_kinds[kind].title, pdf=rendered.pdf))
    bad = any(p.severity is Severity.ERROR for p in problems)
    if len(parts) > 1 and not bad:
        files[f"{number}-all.pdf"] = job_bundle(parts, plan, loaded.shop)
    held = sum(p.severity is Severity.HOLD for p in plan.problems) if any(s.state == "held" for s in plan.states) else 0
    return Printed(
        number=number,
        files={} if bad else files,
        problems=tuple(problems),
        held=held,
        frozen=frozen(plan, loaded.library),
    )


def readings_of(loaded: Loaded, plan: Plan) -> tuple[Readings, ...]:
    """Everything that came back from a job's vehicles at its revision, vehicle by vehicle, oldest first."""
    from .plan.filed import files_of

    plates = (registration.plate for registration in plan.job.registrations)
    return tuple(e.value for plate in plates for e in files_of(plan.job, plate, loaded.library.readings))


def print_sheets(
    loaded: Loaded,
    jobs: tuple[str, ...],
    sheet: str,
    record: Record,
    *,
    paper: str | None = None,
    working: bool = False,
    processes: int = 1,
    afresh: bool = False,
    progress: Callable[[int], None] = lambda done: None,
) -> tuple[tuple[Standing, ...], tuple[Problem, ...]]:
    """Stages 3 to 5 and 7, a job at a time: its sheets are rendered first, then written; with an error in any, none is.

    ``sheet`` is a kind of sheet, or all. A job whose sheets stand as they were made from the same content is passed
    over. Returns what now lies in the record's folder, and the problems of rendering and writing.
    """
    from .output.manifest import digest as digest_of_bytes
    from .output.record import Made, digest_of_names, marks
    from .output.write import cannot_write, scratch, write_tree
    from .sheets.registry import sheet_kinds

    out = record.folder
    kinds = tuple(sheet_kinds) if sheet == "all" else (sheet,)
    way = " ".join([*kinds, paper or "-", "working" if working else "-"])
    known = loaded.tree.digests
    common = digest_of_names({name: known[name] for name in loaded.common_files})

    def digest(number: str, *more: str) -> str:
        own = (shown_files(loaded, number) - loaded.common_files).union(more)
        return digest_of_names({name: known[name] for name in own}, common)

    digests = {number: digest(number) for number in ready_jobs(loaded, jobs)}
    problems: list[Problem] = []
    standing: dict[str, Standing] = {}
    if not afresh:
        for number, now in digests.items():
            made = record.standing(way, number, now)
            if made is not None:
                files = tuple(out / name for name in made.files)
                standing[number] = Standing(number=number, files=files, held=made.held, fresh=False)
    wanted = [number for number in digests if number not in standing]
    with scratch(out) as (folder, refused):
        if folder is None:
            return (), refused
        work = partial(render_job, loaded, kinds=kinds, paper=paper, working=working)
        try:
            with _warm(folder, kinds, paper or loaded.shop.paper, wanted):
                for done, printed in enumerate(spread(work, wanted, processes, renewed_after=SHEETS_A_PROCESS), 1):
                    problems.extend(printed.problems)
                    if printed.files:
                        area = f"job-{printed.number}"
                        told = write_tree(out, printed.files, area=area, keep_others=sheet != "all")
                        problems.extend(told)
                        if printed.frozen is not None:  # what is cleared is kept with the first sheets that say so
                            unkept = keep_frozen(Path(loaded.tree.root), printed.frozen)
                            problems.extend(unkept)
                            if not unkept:  # it is content from now on, and says what these sheets say
                                known[printed.frozen.name] = digest_of_bytes(printed.frozen.text.encode("utf-8"))
                                digests[printed.number] = digest(printed.number, printed.frozen.name)
                        if not any(p.severity is Severity.ERROR for p in told):
                            names = [f"{area}/{name}" for name in printed.files]
                            standing[printed.number] = Standing(
                                number=printed.number, files=tuple(out / name for name in names), held=printed.held
                            )
                            if not printed.problems:
                                made = Made(
                                    made_from=digests[printed.number], files=marks(out, names), held=printed.held
                                )
                                record.remember(way, printed.number, made)
                    if done % SAVE_EVERY == 0:
                        record.save()
                    progress(done)
        except WorkerLostError:
            problems.append(
                Problem(
                    code="worker-lost",
                    severity=Severity.ERROR,
                    message="a process that made sheets was ended from outside; what is written is whole",
                    hint="free some memory, then run again: what is made already is not made twice",
                )
            )
        except OSError as fault:  # the temporary files of the layout engine: a full disk, mostly
            problems.append(cannot_write(str(folder), fault))
    record.keep_jobs(loaded.library.jobs)
    return tuple(standing[number] for number in digests if number in standing), tuple(problems)


def keep_frozen(shop: Path, frozen: Frozen) -> tuple[Problem, ...]:
    """Write the frozen copy of a cleared revision into the shop's folder; one that is there is never touched."""
    from .output.write import write_file

    return write_file(shop / frozen.name, frozen.text, replace=False)


@contextmanager
def _warm(folder: Path, kinds: tuple[str, ...], paper: str, wanted: Sequence[str]) -> Iterator[None]:
    """Fonts and style sheets loaded once, before any process is forked, with their temporary files in a folder of ours."""
    if not wanted:
        yield
        return
    from .sheets import pdf
    from .sheets.registry import styles_of

    with _temporary(folder):
        pdf.warm(tuple(dict.fromkeys(style for kind in kinds for style in styles_of(kind, paper))))
        yield


@contextmanager
def _temporary(folder: Path) -> Iterator[None]:
    """Temporary files of the layout engine in a folder of ours, and none kept after it."""
    import tempfile

    from .sheets import pdf

    before = tempfile.tempdir
    tempfile.tempdir = str(folder)
    try:
        pdf.close()
        yield
    finally:
        pdf.close()
        tempfile.tempdir = before


def publish_handbook(
    loaded: Loaded, plans: dict[str, Plan], out: Path, *, paper: str | None = None, edition: bool = True
) -> tuple[int, tuple[Problem, ...]]:
    """Stages 6 and 7. Returns how many files were written (0 when an error kept the old site in place)."""
    from .handbook.edition import build_edition
    from .handbook.site import build_site
    from .handbook.skills import build_records
    from .output.write import cannot_write, scratch, write_tree
    from .plan.dashnotes import dash_notes
    from .plan.earlier import plans_to_learn_from

    chapters = loaded.tree.shipped_chapters + loaded.tree.chapters
    planned = tuple(plan for _, plan in sorted(plans.items()))
    reference, shop = loaded.library.reference, loaded.shop
    crew = [entry for _, entry in sorted(loaded.library.crew.items())]
    learnt = plans_to_learn_from(planned, loaded.library)
    notes = dash_notes(
        learnt, loaded.library.readings, {p.job.job: p.workshop.minutes for p in learnt if p.workshop}
    )
    files, problems = build_site(reference, shop, chapters, planned, crew=crew, notes=notes)
    records: dict[str, bytes] = {}
    if edition and not any(p.severity is Severity.ERROR for p in problems):
        with scratch(out) as (folder, refused):
            if folder is None:
                return 0, refused
            try:
                with _temporary(folder):
                    printed, problems = build_edition(
                        reference, shop, chapters, planned, paper=paper, notes=notes
                    )
                    if crew:
                        made, more = build_records(
                            reference, shop, chapters, [entry.value for entry in crew], paper=paper
                        )
                        records, problems = dict(made), (*problems, *more)
            except OSError as fault:
                return 0, (*problems, cannot_write(str(folder), fault))
        files, more = build_site(reference, shop, chapters, planned, crew=crew, edition=printed, notes=notes)
        problems = in_order((*problems, *more))
    if any(p.severity is Severity.ERROR for p in problems):
        return 0, problems
    data = {name: text.encode() if isinstance(text, str) else text for name, text in files.items()}
    told = write_tree(out, data, area="handbook")
    if records and not any(p.severity is Severity.ERROR for p in told):
        told = (*told, *write_tree(out, records, area="crew"))
    failed = any(p.severity is Severity.ERROR for p in told)
    return (0 if failed else len(data)), (*problems, *told)
