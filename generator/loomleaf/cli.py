"""The command line. Only this module prints: results to stdout, messages to stderr.

Exit codes: 0 done, 1 errors found, 2 used wrongly.
"""

from __future__ import annotations

import argparse
import contextlib
import gc
import io
import json
import os
import shlex
import shutil
import sys
import textwrap
import time
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from . import __version__
from .problems import Problem, Severity, in_order, nearest, told_once

if TYPE_CHECKING:
    from .output.record import Record
    from .pipeline import Loaded

MOST_NAMES = 1000  # tried for one readings file
SHEETS = ("summary", "bench", "fitting", "labels", "cutting", "estimate", "record", "all")


class Wrong(Exception):
    """The command was used wrongly: said in one line, exit 2."""


def main(argv: Sequence[str] | None = None) -> int:
    """Entry point of the ``loomleaf`` command."""
    words = list(sys.argv[1:] if argv is None else argv)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a terminal without Ω shows a question mark, and nothing breaks
    try:
        code = _run(words)
        sys.stdout.flush()
        return code
    except Wrong as wrong:
        print(f"loomleaf: {''.join(c if c.isprintable() else '?' for c in str(wrong))}", file=sys.stderr)
        return 2
    except BrokenPipeError:  # whoever reads has gone: say nothing, and let nothing be said at exit
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 1
    except KeyboardInterrupt:
        print("loomleaf: stopped", file=sys.stderr)
        return 1


def _run(words: list[str]) -> int:
    if words[:1] == ["reckon"]:
        from .reckon import run

        return run(words[1:])
    parser = _parser()
    try:
        options, rest = parser.parse_known_args(words)
        if rest and hasattr(options, "jobs") and not any(word.startswith("-") for word in rest):
            options.jobs = [*options.jobs, *rest]  # jobs that stand behind an option
        elif rest:
            raise Wrong(f"not understood: {' '.join(rest)}")
    except SystemExit as stop:
        return int(stop.code or 0)
    if not getattr(options, "run", None):
        parser.print_help(sys.stderr)
        return 2
    result: int = options.run(options)
    return result


# --- parsing -----------------------------------------------------------------------------------------------------


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="loomleaf",
        description="Job sheets and an apprentice handbook for car radio shops, from plain text.",
        epilog="example: loomleaf print bench 2041",
    )
    parser.add_argument("--version", action="version", version=f"loomleaf {__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")

    def command(
        name: str, run: Callable[[argparse.Namespace], int], text: str, example: str
    ) -> argparse.ArgumentParser:
        sub = commands.add_parser(
            name,
            help=text,
            description=text,
            epilog=f"example: {example}",
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        sub.set_defaults(run=run)
        sub.add_argument("--shop", type=_folder, metavar="FOLDER", help="the shop's folder (default: content/ here)")
        return sub

    check = command("check", run_check, "Say every problem of the shop, with file and line.", "loomleaf check 2041")
    check.add_argument("jobs", nargs="*", metavar="JOB", help="only these jobs (default: everything)")
    check.add_argument("--json", action="store_true", help="problems as JSON on stdout")
    check.add_argument("--explain", metavar="CODE", help="what a problem code means and how to put it right")
    check.add_argument("--schemas", type=_folder, metavar="FOLDER", help="write a JSON Schema for every kind of file")
    check.add_argument("--personal", action="store_true", help="list where customer data stand")
    check.add_argument("--processes", type=_count, metavar="N", help="how many at once (default: one a processor)")

    plan = command("plan", run_plan, "Show what was worked out for a job.", "loomleaf plan 2041 --json")
    plan.add_argument("job", metavar="JOB")
    plan.add_argument("--json", action="store_true", help="as JSON on stdout")

    show = command("print", run_print, "Print sheets as PDF.", "loomleaf print bench 2041")
    show.add_argument("sheet", metavar="SHEET", choices=SHEETS, help=", ".join(SHEETS))
    show.add_argument("jobs", nargs="*", metavar="JOB", help="only these jobs (default: all)")
    show.add_argument("--out", type=_folder, default="build", metavar="FOLDER", help="where to write (default: build/ here)")
    show.add_argument("--paper", choices=("A4", "Letter"), help="paper (default: as shop.yaml says)")
    show.add_argument("--working", action="store_true", help="add the workings to the bench sheet")
    show.add_argument("--json", action="store_true", help="say what was written as JSON on stdout")
    show.add_argument("--afresh", action="store_true", help="make again what has not changed, too")
    show.add_argument("--processes", type=_count, metavar="N", help="how many at once (default: one a processor)")

    publish = command("publish", run_publish, "Write the handbook as a site and a print edition.", "loomleaf publish")
    publish.add_argument("--out", type=_folder, default="build", metavar="FOLDER", help="where to write (default: build/ here)")
    publish.add_argument("--paper", choices=("A4", "Letter"), help="paper of the print edition")
    publish.add_argument("--site-only", action="store_true", help="leave the print edition out")
    publish.add_argument("--afresh", action="store_true", help="write it again though nothing has changed")

    collect = command(
        "collect", run_collect, "Read filled sheets back into readings/.", "loomleaf collect 2038-bench.pdf"
    )
    collect.add_argument(
        "sheets", nargs="*", metavar="FILE", help="filled sheets as saved, or a readings file typed from paper"
    )
    collect.add_argument("--older", action="store_true", help="take a sheet of an older issue, as a record")
    collect.add_argument(
        "--on", metavar="DAY", type=_day, help="the day the readings were taken, for a sheet that bears none"
    )
    collect.add_argument("--blank", metavar="JOB", help="write the same file empty, to be filled in by hand")

    compare = command(
        "compare",
        run_compare,
        "Say what changed in the work between two issues of a job.",
        "loomleaf compare issued/2041-A.yaml jobs/2041.yaml",
    )
    compare.add_argument("old", metavar="OLD", help="a job file, a copy from issued/, or a printed PDF")
    compare.add_argument("new", metavar="NEW", help="the same")
    compare.add_argument("--json", action="store_true", help="as JSON on stdout")

    report = command("report", run_report, "Say how the shop stands.", "loomleaf report --json")
    report.add_argument("--json", action="store_true", help="as JSON on stdout")
    report.add_argument("--out", type=_folder, metavar="FOLDER", help="write the printable page and the order list there, too")
    report.add_argument("--paper", choices=("A4", "Letter"), help="paper of the page (default: as shop.yaml says)")

    begin = command(
        "begin",
        run_begin,
        "Write first files: a shop folder, or a job for a known vehicle.",
        "loomleaf begin job corvane-heron-2016 --shop my-shop",
    )
    begin.add_argument("what", choices=("shop", "job"), help="shop: a new folder; job: a new file in the shop's jobs/")
    begin.add_argument("name", metavar="NAME", help="the new folder, or the vehicle")
    begin.add_argument("--job", type=_job, metavar="NUMBER", help="the job's number (default: the next after the highest)")

    preview = command(
        "preview", run_preview, "Watch the shop, build again on each change, show it here.", "loomleaf preview --port 8765"
    )
    preview.add_argument("--out", type=_folder, default="build", metavar="FOLDER", help="where to write (default: build/ here)")
    preview.add_argument("--port", type=_port, default=8765, metavar="N", help="port on this computer (default: 8765)")

    shell = commands.add_parser(
        "completion",
        help="Write the completion of commands for a shell.",
        description="Write the completion of commands for a shell.",
        epilog="example: source <(loomleaf completion bash)",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    shell.add_argument("shell", choices=("bash", "zsh", "fish"))
    shell.set_defaults(run=run_completion)

    reckon = commands.add_parser("reckon", help="One bench calculation, with its working.")
    reckon.set_defaults(run=lambda options: 2)
    return parser


def _folder(text: str) -> str:
    if not text.strip():
        raise argparse.ArgumentTypeError("the name of a folder is wanted")
    return text


def _count(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 64:
        raise argparse.ArgumentTypeError("a whole number from 1 to 64 is wanted")
    return int(text)


def _day(text: str) -> date:
    try:
        if len(text) == 10:
            return date.fromisoformat(text)
    except ValueError:
        pass
    raise argparse.ArgumentTypeError("a day is written year-month-day, for example 2026-05-12")


def _job(text: str) -> str:
    from .model.job import job_number

    try:
        return job_number(text)
    except ValueError as fault:
        raise argparse.ArgumentTypeError(str(fault)) from None


def _port(text: str) -> int:
    if not text.isdecimal() or int(text) > 65535:
        raise argparse.ArgumentTypeError("a port is a number from 0 to 65535")
    return int(text)


# --- shared ------------------------------------------------------------------------------------------------------


def _shop_folder(options: argparse.Namespace) -> Path:
    from .places import content_folder

    folder = Path(options.shop) if options.shop else Path("content")
    if options.shop is None and not folder.is_dir():
        shipped = content_folder()
        if not shipped.is_dir():
            raise Wrong("there is no content/ folder here; name a shop with --shop FOLDER")
        folder = shipped
    return folder


def _load(options: argparse.Namespace) -> Loaded:
    from .pipeline import load_shop

    gc.disable()  # what is read stays: to look for garbage among it costs a sixth of the time
    try:
        return load_shop(_shop_folder(options))
    finally:
        gc.freeze()
        gc.enable()


def _processes(options: argparse.Namespace) -> int:
    from .workers import processors

    return options.processes or processors()


def _known_jobs(loaded: Loaded, jobs: Iterable[str]) -> tuple[str, ...]:
    wanted = tuple(dict.fromkeys(jobs))
    for job in wanted:
        if job not in loaded.library.jobs and job not in loaded.library.broken:
            hint = nearest(job, loaded.library.jobs)
            raise Wrong(f"there is no job '{job}'" + (f" ({hint})" if hint else ""))
    return wanted


def _say(problems: Iterable[Problem], loaded: Loaded | None = None, *, carets: bool = True) -> None:
    """Problems to stderr, each thing once, with source line and caret."""
    for problem, whose in told_once(problems):
        where = problem.location
        line = loaded.tree.source_line(where.file, where.line) if loaded and carets else ""
        print(problem.full(line, whose), file=sys.stderr)


def _count_line(problems: Sequence[Problem], jobs: int) -> str:
    """How many things are wrong, each counted once; and of many jobs, how many are held."""
    counts = Counter(problem.severity for problem, _ in told_once(problems))
    words = [f"{counts[s]} {s.value}{'s' if counts[s] != 1 else ''}" for s in Severity if counts[s]]
    held = len({p.job for p in problems if p.severity is Severity.HOLD})
    if held and jobs > 1:
        words.append(f"{held} job{'s' if held != 1 else ''} held")
    return ", ".join(words) if words else "no problems"


def _failed(problems: Iterable[Problem]) -> bool:
    return any(p.severity is Severity.ERROR for p in problems)


class Progress:
    """One line on stderr for work that takes more than a second; silent when stderr is no terminal."""

    def __init__(self, total: int, what: str) -> None:
        self.total = total
        self.what = what
        self.started = time.monotonic()
        self.shown = False

    @property
    def stream(self) -> TextIO:
        """Stderr itself: progress is no part of what a command says."""
        return sys.stderr.stream if isinstance(sys.stderr, Remembering) else sys.stderr

    def step(self, done: int) -> None:
        if self.stream.isatty() and time.monotonic() - self.started > 1:
            print(f"\r{self.what} {done} of {self.total}", end="", file=self.stream, flush=True)
            self.shown = True

    def finish(self) -> None:
        if self.shown:
            print(file=self.stream)


class Remembering(io.StringIO):
    """A stream that passes on what is written to it, and remembers it."""

    def __init__(self, stream: TextIO) -> None:
        super().__init__(newline="")
        self.stream = stream

    def write(self, text: str) -> int:
        self.stream.write(text)
        return super().write(text)

    def flush(self) -> None:
        self.stream.flush()


@dataclass(kw_only=True)
class Outcome:
    """How a command that writes ended. ``files`` are those that stand; a run that is not ``whole`` is not remembered."""

    code: int
    digests: Mapping[str, str]
    files: tuple[str, ...] = ()
    whole: bool = True


def _unless_unchanged(options: argparse.Namespace, words: Sequence[object], work: Callable[[Record], Outcome]) -> int:
    """Run a command that writes into ``--out``, or say what it said the last time when nothing has changed since."""
    from .output.record import Run, digest_of_names, marks, read_record
    from .places import content_folder
    from .source.tree import digests_of

    folder = _shop_folder(options)
    record = read_record(Path(options.out))
    command = json.dumps([*words, options.out, os.path.realpath(folder)])
    same = None
    if not options.afresh:
        same = record.same_run(command, digest_of_names(digests_of(folder, content_folder())))
    if same is not None:
        sys.stderr.write(same.err)
        sys.stdout.write(same.out)
        print("nothing has changed since; all of it stands as it was written", file=sys.stderr)
        return same.code
    out, err = Remembering(sys.stdout), Remembering(sys.stderr)
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        outcome = work(record)
    if outcome.whole:
        with contextlib.suppress(OSError):  # somebody has removed a file meanwhile: then it is made again
            run = Run(
                made_from=digest_of_names(outcome.digests),
                files=marks(record.folder, outcome.files),
                out=out.getvalue(),
                err=err.getvalue(),
                code=outcome.code,
            )
            record.remember_run(command, run)
    if outcome.files:
        record.save()  # a record that cannot be saved costs time and nothing else
    return outcome.code


# --- commands ----------------------------------------------------------------------------------------------------


def run_check(options: argparse.Namespace) -> int:
    """``loomleaf check``."""
    if options.schemas:
        return _write_schemas(Path(options.schemas))
    loaded = _load(options)
    if options.explain:
        return _explain(options.explain, loaded)
    if options.personal:
        return _personal(loaded)
    from .pipeline import job_problems, told_files

    jobs = _known_jobs(loaded, options.jobs)
    problems = job_problems(loaded, jobs, processes=_processes(options))
    if jobs:
        files = told_files(loaded, jobs)
        problems = tuple(p for p in problems if p.job in jobs or (not p.job and p.location.file in files))
    if options.json:
        print(json.dumps({"problems": [p.as_json() for p in problems]}, indent=2, ensure_ascii=False))
    else:
        _say(problems, loaded)
        count = len(jobs or loaded.library.jobs)
        print(f"{count} job{'s' if count != 1 else ''} looked at: {_count_line(problems, count)}", file=sys.stderr)
    return 1 if _failed(problems) else 0


def _explain(code: str, loaded: Loaded) -> int:
    pages = loaded.library.reference.problems
    page = pages.get(code)
    if page is None:
        raise Wrong(
            f"there is no problem code '{code}'" + (f" ({nearest(code, pages)})" if nearest(code, pages) else "")
        )
    width = min(88, shutil.get_terminal_size().columns)
    what, why = (textwrap.fill(text, width) for text in (page.what, f"Why: {page.why}"))
    print(
        f"{code}: {page.title}\n\n{what}\n\n{why}\n\n"
        f"Wrong:\n{_indent(page.wrong)}\n\nRight:\n{_indent(page.right)}"
    )
    return 0


def _indent(text: str) -> str:
    return "\n".join("    " + line for line in text.splitlines())


def _personal(loaded: Loaded) -> int:
    from .check.personal import personal_places

    for place, what in personal_places(loaded.library):
        print(f"{place}: {what}")
    return 0


def _write_schemas(folder: Path) -> int:
    from .check.schemas import schemas
    from .output.write import write_tree

    files = schemas()
    problems = write_tree(folder.parent, files, area=folder.name)
    _say(problems)
    if not _failed(problems):
        print(f"wrote {len(files)} schemas to {folder}", file=sys.stderr)
    return 1 if _failed(problems) else 0


def run_plan(options: argparse.Namespace) -> int:
    """``loomleaf plan``."""
    from .pipeline import plan_jobs

    loaded = _load(options)
    jobs = _known_jobs(loaded, [options.job])
    plans, problems = plan_jobs(loaded, jobs)
    plan = plans.get(options.job)
    if plan is None:
        _say([p for p in problems if p.severity is Severity.ERROR], loaded)
        print(f"job {options.job} cannot be planned until these are put right", file=sys.stderr)
        return 1
    if options.json:
        from .plan.as_json import plan_json

        print(json.dumps(plan_json(plan), indent=2, ensure_ascii=False))
    else:
        from .plan.as_text import plan_text
        from .plan.workshop import workshop_text

        print(plan_text(plan), end="")
        if plan.workshop is not None:
            print(workshop_text(plan.workshop, loaded.shop), end="")
    return 0


def run_print(options: argparse.Namespace) -> int:
    """``loomleaf print``."""
    words = ["print", options.sheet, options.jobs, options.paper, options.working, options.json]
    return _unless_unchanged(options, words, lambda record: _print(options, record))


def _print(options: argparse.Namespace, record: Record) -> Outcome:
    from .pipeline import print_sheets

    loaded = _load(options)
    jobs = _known_jobs(loaded, options.jobs)
    wanted = jobs or tuple(sorted(loaded.library.jobs)) + tuple(sorted(loaded.library.broken & set(_job_stems(loaded))))
    progress = Progress(len(wanted), "sheets of job")
    sheets, print_problems = print_sheets(
        loaded,
        jobs,
        options.sheet,
        record,
        paper=options.paper,
        working=options.working,
        processes=_processes(options),
        afresh=options.afresh,
        progress=progress.step,
    )
    progress.finish()
    errors = [p for p in (*loaded.problems, *print_problems) if p.severity is Severity.ERROR]
    _say(in_order(errors), loaded)
    _say(p for p in print_problems if p.severity is Severity.WARNING)
    left_out = [job for job in wanted if job not in {s.number for s in sheets}]
    if left_out:
        print(f"left out because of errors: {', '.join(left_out)}", file=sys.stderr)
    written = [str(path) for s in sheets for path in s.files]
    if options.json:
        print(json.dumps({"written": written, "left_out": left_out}, indent=2, ensure_ascii=False))
    else:
        for name in written:
            print(name)
    for s in sheets:
        if s.held:
            reasons = f"{s.held} reason{'s' if s.held != 1 else ''}"
            print(f"job {s.number} is HELD ({reasons}); its sheets say so on every page", file=sys.stderr)
    files = tuple(path.relative_to(record.folder).as_posix() for s in sheets for path in s.files)
    return Outcome(
        code=1 if errors else 0, digests=loaded.tree.digests, files=files, whole=not print_problems
    )


def _job_stems(loaded: Loaded) -> set[str]:
    return {d.file.removeprefix("jobs/").removesuffix(".yaml") for d in loaded.tree.folders.get("jobs", ())}


def run_publish(options: argparse.Namespace) -> int:
    """``loomleaf publish``."""
    words = ["publish", options.paper, options.site_only]
    return _unless_unchanged(options, words, lambda record: _publish(options))


def _publish(options: argparse.Namespace) -> Outcome:
    from .output.manifest import standing_files
    from .pipeline import plan_jobs, publish_handbook

    loaded = _load(options)
    plans, problems = plan_jobs(loaded)
    missing = [p for p in problems if p.code in ("no-shop", "no-shop-file")]
    if missing:
        _say(missing)
        return Outcome(code=1, digests=loaded.tree.digests, whole=False)
    out = Path(options.out)
    count, publish_problems = publish_handbook(
        loaded, plans, out, paper=options.paper, edition=not options.site_only
    )
    errors = [p for p in (*problems, *publish_problems) if p.severity is Severity.ERROR]
    _say(in_order(errors), loaded)
    _say(p for p in publish_problems if p.severity is Severity.WARNING)
    if count:
        print(out / "handbook" / "index.html")
        print(f"{count} files of the handbook", file=sys.stderr)
    areas = ("handbook",) if options.site_only else ("handbook", "crew")
    files = tuple(f"{area}/{name}" for area in areas for name in standing_files(out / area)) if count else ()
    return Outcome(
        code=1 if errors else 0, digests=loaded.tree.digests, files=files, whole=bool(count) and not publish_problems
    )


def run_begin(options: argparse.Namespace) -> int:
    """``loomleaf begin``."""
    from .begin import job_files, shop_files, shop_name
    from .output import write_file, write_new_folder

    if options.what == "shop":
        if options.job:
            raise Wrong("--job goes with  begin job")
        folder = Path(options.name)
        if not folder.name:
            raise Wrong("name the new folder, for example  loomleaf begin shop my-shop")
        problems = write_new_folder(folder, shop_files(shop_name(folder.absolute()), date.today()))
        _say(problems)
        if not problems:
            print(folder)
            print(f"now: loomleaf check --shop {shlex.quote(str(folder))}", file=sys.stderr)
        return 1 if _failed(problems) else 0
    from .pipeline import plan_jobs, used_numbers
    from .plan.dashnotes import dash_notes
    from .plan.earlier import plans_to_learn_from

    loaded = _load(options)
    library = loaded.library
    taken = used_numbers(loaded)
    if options.job and options.job.lower() in {number.lower() for number in taken}:  # names of files may differ in more
        raise Wrong(f"the number {options.job} is in use; without --job the next free one is taken")
    plans, _ = plan_jobs(loaded)
    learnt = plans_to_learn_from(plans.values(), library)
    estimates = {plan.job.job: plan.workshop.minutes for plan in learnt if plan.workshop}
    proved = {
        number: [s.registration.plate for s in plan.states if s.state in ("plug-in", "verified")]
        for number, plan in plans.items()
    }
    files, problems = job_files(
        options.name,
        vehicles={name: entry.value for name, entry in library.vehicles.items()},
        leads={name: entry.value for name, entry in library.leads.items()},
        jobs=[entry.value for entry in library.jobs.values()],
        today=date.today(),
        proved_on=[number for number, plates in proved.items() if plates],
        proved_plates=proved,
        notes=dash_notes(learnt, library.readings, estimates).get(options.name),
        left_out=[number for number in library.jobs if number not in plans],
        taken=taken,
        number=options.job or "",
    )
    for name, text in files.items():
        path = Path(loaded.tree.root) / name
        wrong = write_file(path, text, replace=False)
        problems += wrong
        if not wrong:
            print(path)
    _say(problems)
    return 1 if _failed(problems) else 0


def run_collect(options: argparse.Namespace) -> int:
    """``loomleaf collect``."""
    from .collect import blanks, collect
    from .pipeline import plan_jobs

    if bool(options.sheets) == bool(options.blank):
        raise Wrong("name the sheets to read, or  --blank JOB  for an empty readings file")
    loaded = _load(options)
    if options.blank:
        _known_jobs(loaded, [options.blank])
        plans, problems = plan_jobs(loaded, (options.blank,))
        if options.blank not in plans:
            _say([p for p in problems if p.severity is Severity.ERROR], loaded)
            return 1
        gathered = blanks(loaded.library, plans[options.blank])
    else:
        sheets = [(name, _bytes(name)) for name in options.sheets]
        plans, _ = plan_jobs(loaded)
        gathered = collect(
            loaded.library, plans, sheets, older=options.older, on=options.on, today=date.today()
        )
    told = list(gathered.problems)
    for line in gathered.lines:
        print(line)
    for name, text in gathered.files.items():
        path, wrong = _write_beside(Path(loaded.tree.root), name, text)
        told += wrong
        if not wrong:
            print(path)
            if options.blank:
                print(f"write into it, then: loomleaf collect {shlex.quote(str(path))}", file=sys.stderr)
    _say(told)
    return 1 if _failed(told) else 0


def _write_beside(shop: Path, name: str, text: str) -> tuple[Path, tuple[Problem, ...]]:
    """A new readings file in the shop's folder; when somebody took its name meanwhile, under the next one."""
    from .output import write_file
    from .plan.issued import next_name

    taken: list[str] = []
    while True:
        wanted = next_name(name, taken)
        wrong = write_file(shop / wanted, text, replace=False)
        if not any(p.code == "file-exists" for p in wrong) or len(taken) > MOST_NAMES:
            return shop / wanted, wrong
        taken.append(wanted)


def run_compare(options: argparse.Namespace) -> int:
    """``loomleaf compare``."""
    from .compare import compare_json, compare_lines, sides

    loaded = _load(options)
    pair, problems = sides(
        (options.old, _bytes(options.old)), (options.new, _bytes(options.new)), loaded.library
    )
    _say(problems)
    if pair is None:
        return 1
    if options.json:
        print(json.dumps(compare_json(*pair), indent=2, ensure_ascii=False))
    else:
        for line in compare_lines(*pair):
            print(line)
    return 0


def _bytes(name: str) -> bytes:
    """A file's bytes, a little more than any command takes at most: the reader says when it is too much."""
    from .collect import MAX_BYTES

    try:
        with open(name, "rb") as handle:
            return handle.read(MAX_BYTES + 1)
    except OSError as fault:
        raise Wrong(f"cannot read {name}: {fault.strerror}") from None


def run_report(options: argparse.Namespace) -> int:
    """``loomleaf report``."""
    from .pipeline import plan_jobs
    from .report import report_json, report_of, report_text

    loaded = _load(options)
    plans, problems = plan_jobs(loaded)
    report = report_of(plans, loaded.library, loaded.shop)
    if options.json:
        print(json.dumps(report_json(report), indent=2, ensure_ascii=False))
    else:
        print(report_text(report), end="")
    told = [p for p in problems if p.severity is Severity.ERROR]
    if options.out:
        from .output import write_tree
        from .report_page import report_files

        files, wrong = report_files(report, loaded.shop, loaded.library.reference, options.paper)
        told += wrong
        if files:
            refused = write_tree(Path(options.out), files, area="report")
            told += refused
            for name in () if _failed(refused) else files:
                print(Path(options.out) / "report" / name, file=sys.stderr)
    _say(told, loaded)
    return 1 if _failed(told) else 0


def run_preview(options: argparse.Namespace) -> int:
    """``loomleaf preview``."""
    from .preview import Shown, make_server, preview

    folder = _shop_folder(options)
    if not folder.is_dir():
        raise Wrong(f"there is no shop folder '{options.shop}'")
    out, shown = Path(options.out), Shown()
    try:
        server = make_server(out, shown, options.port)
    except OSError as fault:
        raise Wrong(f"port {options.port} cannot be used: {fault.strerror}; choose another with --port") from None
    preview(folder, out, server, shown, lambda text: print(text, file=sys.stderr, flush=True))
    return 0


def run_completion(options: argparse.Namespace) -> int:
    """``loomleaf completion``."""
    from .completion import script
    from .reckon import TOPICS

    print(script(options.shell, _parser(), TOPICS), end="")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
