"""Measure: ``python tests/bench/run.py [--only 1 4] [--jobs 1000] [--sheets 200] [--runs 5]``. Prints six results.

1. one bench sheet from a cold start, against a bare WeasyPrint process and headless Chromium on the same finished HTML
2. many sheets on two processes, against one process of bare WeasyPrint
3. a rebuild with nothing changed, and with one job changed, against the full build
4. checking from cold, its growth with the number of jobs, and the plan of one job
5. peak memory over 500 sheets
6. the handbook's site, and its print edition against bare WeasyPrint

Every ratio comes from one run of this program, its two sides taken in turn, the median of each. The bare process gets the
finished HTML with its style sheets linked, and is asked for the same kind of PDF (tagged, PDF/UA-1, fillable). Processor
time stands beside the clock's: on a machine that does other work too, it is the steadier of the two. Nothing here is a test.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

from make_shop import DEMO, make_shop

PROGRAM = [sys.executable, "-m", "loomleaf"]
BARE = [sys.executable, "-m", "weasyprint", "-q", "--pdf-variant", "pdf/ua-1", "--pdf-tags", "--pdf-forms"]
CHROMIUM = ("chromium", "chromium-browser", "google-chrome", "chrome")

MANY_BARE = """
import sys
from weasyprint import HTML
for name in sys.stdin.read().split():
    HTML(filename=name).write_pdf(name + ".pdf", pdf_variant="pdf/ua-1", pdf_tags=True, pdf_forms=True)
"""

MEMORY = """
import os, sys
from pathlib import Path
from loomleaf import pipeline
from loomleaf.output.record import read_record
highest = 0
def peak(done):
    global highest
    for process in (os.getpid(), *map(int, open(f"/proc/self/task/{os.getpid()}/children").read().split())):
        for line in open(f"/proc/{process}/status"):
            if line.startswith("VmHWM"):
                highest = max(highest, int(line.split()[1]) // 1024)
    if done in (1, 50, 100, 200, 300, 400, 500):
        print(done, highest, flush=True)
loaded = pipeline.load_shop(Path(sys.argv[1]))
out = Path(sys.argv[3])
out.mkdir()
sheets, problems = pipeline.print_sheets(loaded, (), sys.argv[2], read_record(out), progress=peak)
assert len(sheets) == len(loaded.library.jobs) and not problems, problems[:3]
"""

PLAN = """
import gc, statistics, sys, time
from pathlib import Path
from loomleaf import pipeline
loaded = pipeline.load_shop(Path(sys.argv[1]))
gc.freeze()  # as the commands do when they have read a shop
taken = []
for number in sorted(loaded.library.jobs)[:60]:
    start = time.process_time()
    pipeline.plan_jobs(loaded, (number,))
    taken.append(1000 * (time.process_time() - start))
print(taken[0], statistics.median(taken), max(taken[1:]))
"""


EDITION = """
import sys
from datetime import date
from pathlib import Path
from loomleaf.sheets.pdf import close, render
html = Path(sys.argv[1]).read_text("utf-8")
data, problems = render(html, styles=tuple(sys.argv[2:]), job="", issued=date(2026, 1, 1), spaced=False)
assert data.startswith(b"%PDF") and not problems, problems
close()
"""


@dataclass(frozen=True, kw_only=True)
class Taken:
    """Seconds by the clock, and of processor time of the process and its children."""

    wall_s: float
    cpu_s: float


def timed(command: Sequence[str], *, given: str = "", allow: tuple[int, ...] = (0,), cwd: Path | None = None) -> Taken:
    """Run a command to its end."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    start = time.perf_counter()
    done = subprocess.run(command, input=given, capture_output=True, text=True, cwd=cwd)
    wall = time.perf_counter() - start
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    if done.returncode not in allow:
        raise SystemExit(f"{' '.join(command)} ended with {done.returncode}:\n{done.stderr[-2000:]}")
    return Taken(wall_s=wall, cpu_s=after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)


def in_turn(runs: int, *sides: Callable[[], Taken]) -> list[Taken]:
    """Each side once a round, so that a slow spell of the machine meets all of them; the median of each."""
    taken: list[list[Taken]] = [[] for _ in sides]
    for _ in range(runs):
        for side, results in zip(sides, taken, strict=True):
            results.append(side())
    return [
        Taken(wall_s=statistics.median(t.wall_s for t in one), cpu_s=statistics.median(t.cpu_s for t in one))
        for one in taken
    ]


def say(text: str) -> None:
    print(text, flush=True)


def ratio(what: str, ours: Taken, other: Taken, wanted: str) -> None:
    say(
        f"   {what}: {ours.wall_s / other.wall_s:.2f} by the clock ({ours.wall_s:.2f} s : {other.wall_s:.2f} s), "
        f"{ours.cpu_s / other.cpu_s:.2f} of processor time ({ours.cpu_s:.2f} s : {other.cpu_s:.2f} s); wanted {wanted}"
    )


def pages_of(pdf: Path) -> int:
    from pypdf import PdfReader

    return len(PdfReader(pdf).pages)


def finished_html(shop: Path, sheet: str, folder: Path, most: int, first: str = "") -> list[Path]:
    """The finished HTML of sheets, with their style sheets linked, as files."""
    from loomleaf import pipeline
    from loomleaf.places import templates_folder
    from loomleaf.sheets.registry import sheet_html, styles_of

    loaded = pipeline.load_shop(shop)
    numbers = [first] if first else sorted(loaded.library.jobs)[:most]
    plans, _ = pipeline.plan_jobs(loaded, tuple(numbers))
    css = (templates_folder() / "css").as_uri()
    links = "".join(f'<link rel="stylesheet" href="{css}/{name}"/>' for name in styles_of(sheet, loaded.shop.paper))
    out = []
    for number, plan in sorted(plans.items()):
        html, _ = sheet_html(sheet, plan, loaded.shop, loaded.library.reference)
        assert html is not None
        out.append(folder / f"{number}-{sheet}.html")
        out[-1].write_text(html.replace("</head>", links + "</head>", 1), "utf-8")
    return out


@contextlib.contextmanager
def scratch() -> Iterator[Path]:
    with tempfile.TemporaryDirectory(prefix="bench-") as name:
        yield Path(name)


def cold_sheet(options: argparse.Namespace) -> None:
    say("1. one bench sheet from a cold start")
    with scratch() as folder:
        (html,) = finished_html(DEMO, "bench", folder, 1, first="2041")
        pdf = str(folder / "bare.pdf")

        def ours() -> Taken:
            shutil.rmtree(folder / "out", ignore_errors=True)
            return timed([*PROGRAM, "print", "bench", "2041", "--shop", str(DEMO), "--out", str(folder / "out")])

        sides = [ours, lambda: timed([*BARE, str(html), pdf])]
        chromium = next((shutil.which(name) for name in CHROMIUM if shutil.which(name)), None)
        if chromium:
            flags = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run"]
            flags += ["--no-pdf-header-footer", f"--user-data-dir={folder}/c"]

            def browser() -> Taken:
                shutil.rmtree(folder / "c", ignore_errors=True)
                return timed([chromium, *flags, f"--print-to-pdf={folder}/c.pdf", html.as_uri()])

            sides.append(browser)
        taken = in_turn(options.runs, *sides)
        say(f"   of job 2041: {pages_of(Path(pdf))} pages")
        ratio("against bare WeasyPrint", taken[0], taken[1], "1.15 or less")
        if chromium:
            ratio("against headless Chromium", taken[0], taken[2], "1.0 or less")
        else:
            say("   no Chromium here: not measured")


def many_sheets(options: argparse.Namespace) -> None:
    count = options.sheets
    say(f"2. {count} bench sheets on {os.cpu_count()} processors")
    with scratch() as folder:
        make_shop(count, folder / "shop")
        pages = finished_html(folder / "shop", "bench", folder, count)
        bare = timed([sys.executable, "-c", MANY_BARE], given="\n".join(map(str, pages)))
        ours = timed([*PROGRAM, "print", "bench", "--shop", str(folder / "shop"), "--out", str(folder / "out")])
        say(
            f"   {bare.wall_s / ours.wall_s:.2f} times the rate of bare WeasyPrint ({len(pages) / ours.wall_s:.2f} a second : "
            f"{len(pages) / bare.wall_s:.2f}), each sheet {ours.cpu_s / bare.cpu_s:.2f} of its processor time "
            f"({ours.cpu_s / count:.2f} s : {bare.cpu_s / count:.2f} s); wanted 1.8 or more"
        )


def written_again(out: Path, ending: str, before: dict[Path, int]) -> list[str]:
    """Names of the files that are not those that stood there before."""
    return sorted(path.name for path in out.rglob(f"*{ending}") if path.stat().st_mtime_ns != before.get(path))


def dates(out: Path) -> dict[Path, int]:
    return {path: path.stat().st_mtime_ns for path in out.rglob("*") if path.is_file()}


def rebuild(options: argparse.Namespace) -> None:
    say(f"3. rebuild of {options.jobs} jobs, sheet: {options.sheet}")
    with scratch() as folder:
        shop, out = folder / "shop", folder / "out"
        make_shop(options.jobs, shop)
        where = ["--shop", str(shop), "--out", str(out)]
        command = [*PROGRAM, "print", options.sheet, *where]
        publish = [*PROGRAM, "publish", "--site-only", *where]
        full = timed(command)
        again = in_turn(options.runs, lambda: timed(command))[0]
        site = timed(publish)
        site_again = in_turn(options.runs, lambda: timed(publish))[0]
        job = shop / "jobs" / f"{10000 + options.jobs // 2}.yaml"
        before = dates(out)
        job.write_text(job.read_text("utf-8").replace("request: ", "request: Please. "), "utf-8")
        one, one_site = timed(command), timed(publish)
        sheets, pages = written_again(out, ".pdf", before), written_again(out, ".html", before)
        say(f"   full build {full.wall_s:.1f} s, and {site.wall_s:.1f} s for the handbook's site")
        say(
            f"   nothing changed {again.wall_s:.2f} s, {100 * again.wall_s / full.wall_s:.2f} % of the full build; "
            f"wanted 1.5 s or less and below 3 %; the site {site_again.wall_s:.2f} s"
        )
        say(
            f"   one job changed {one.wall_s:.2f} s, {len(sheets)} sheets written: {', '.join(sheets)}; the site "
            f"{one_site.wall_s:.2f} s, {len(pages)} pages written: {', '.join(pages) or 'none shows the job'}"
        )


def checking(options: argparse.Namespace) -> None:
    say("4. checking from cold")
    with scratch() as folder:
        for jobs in options.growth:
            shop = folder / f"shop{jobs}"
            make_shop(jobs, shop)
            runs = options.runs if jobs <= 1000 else 1
            (taken,) = in_turn(runs, lambda shop=shop: timed([*PROGRAM, "check", "--shop", str(shop)]))  # type: ignore[misc]
            wanted = "; wanted 3 s or less" if jobs == 1000 else ""
            say(
                f"   {jobs} jobs: {taken.wall_s:.2f} s by the clock, {taken.cpu_s:.2f} s of processor time, "
                f"{1000 * taken.wall_s / jobs:.2f} ms a job{wanted}"
            )
        shop = folder / f"shop{options.growth[0]}"
        done = subprocess.run([sys.executable, "-c", PLAN, str(shop)], capture_output=True, text=True, check=True)
        first, middle, longest = (float(word) for word in done.stdout.split())
        say(
            f"   plan of one job: {middle:.1f} ms (median of 60), {longest:.1f} ms (longest); the first, which works out the "
            f"shop's tables, {first:.1f} ms, all of processor time; wanted under 20 ms"
        )


def memory(options: argparse.Namespace) -> None:
    say(f"5. peak memory of any process over 500 sheets, sheet: {options.sheet}")
    with scratch() as folder:
        make_shop(500, folder / "shop")
        command = [sys.executable, "-c", MEMORY, str(folder / "shop"), options.sheet, str(folder / "out")]
        done = subprocess.run(command, capture_output=True, text=True, check=True)
        peaks = dict(tuple(map(int, line.split())) for line in done.stdout.splitlines())
        say("   " + ", ".join(f"{mib} MiB after {count}" for count, mib in peaks.items()))
        if 50 in peaks and 500 in peaks:
            say(f"   {100 * (peaks[500] / peaks[50] - 1):+.1f} % from the 50th to the 500th; wanted within 10 %, under 250 MB")


def handbook(options: argparse.Namespace) -> None:
    say("6. the handbook")
    with scratch() as folder:
        command = [*PROGRAM, "publish", "--site-only", "--shop", str(DEMO), "--out", str(folder / "out")]

        def site() -> Taken:
            shutil.rmtree(folder / "out", ignore_errors=True)
            return timed(command)

        (taken,) = in_turn(options.runs, site)
        say(f"   the site: {taken.wall_s:.2f} s by the clock, {taken.cpu_s:.2f} s of processor time; wanted under 5 s")
        edition(folder)


def edition(folder: Path) -> None:
    """The print edition as the program makes it, against a bare process on the same finished HTML."""
    from loomleaf import pipeline
    from loomleaf.handbook.edition import edition_html
    from loomleaf.places import templates_folder

    loaded = pipeline.load_shop(DEMO)
    plans, _ = pipeline.plan_jobs(loaded)
    chapters = loaded.tree.shipped_chapters + loaded.tree.chapters
    html, _ = edition_html(loaded.library.reference, loaded.shop, chapters, tuple(plan for _, plan in sorted(plans.items())))
    (folder / "pages.xml").write_text(html, "utf-8")
    css = (templates_folder() / "css").as_uri()
    names = ("edition.css", f"edition-{loaded.shop.paper.lower()}.css")
    links = "".join(f'<link rel="stylesheet" href="{css}/{name}"/>' for name in names)
    page = folder / "edition.html"
    page.write_text(html.replace("</head>", links + "</head>", 1), "utf-8")
    ours, bare = in_turn(
        1,
        lambda: timed([sys.executable, "-c", EDITION, str(folder / "pages.xml"), *names]),
        lambda: timed([*BARE, "--base-url", templates_folder().as_uri() + "/", str(page), str(folder / "bare.pdf")]),
    )
    say(f"   print edition: {pages_of(folder / 'bare.pdf')} pages")
    ratio("against bare WeasyPrint", ours, bare, "1.1 or less")


PARTS = {1: cold_sheet, 2: many_sheets, 3: rebuild, 4: checking, 5: memory, 6: handbook}


def main() -> int:
    parser = argparse.ArgumentParser(description="Measure Loomleaf.", epilog="example: run.py --only 1 4 --runs 3")
    parser.add_argument("--only", type=int, nargs="+", choices=sorted(PARTS), default=sorted(PARTS))
    parser.add_argument("--jobs", type=int, default=1000, help="jobs of the rebuild")
    parser.add_argument("--sheets", type=int, default=200, help="sheets on two processes")
    parser.add_argument("--sheet", default="summary", help="kind of sheet of 3 and 5")
    parser.add_argument("--growth", type=int, nargs="+", default=[100, 1000, 10000], help="numbers of jobs to check")
    parser.add_argument("--runs", type=int, default=5, help="rounds of each short measurement")
    options = parser.parse_args()
    say(f"Python {sys.version.split()[0]}, {os.cpu_count()} processors, load {os.getloadavg()[0]:.1f} at the start")
    for number in options.only:
        PARTS[number](options)
    return 0


if __name__ == "__main__":
    sys.exit(main())
