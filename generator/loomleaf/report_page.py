"""The report as one printable page: states, what is held, minutes against estimate as a plot, come-backs by method."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from . import __version__
from .draw.plots import Axis, Bar, bar_plot
from .model.job import long_date
from .model.reference import Reference
from .model.shop import Shop
from .plan.minutes import plain
from .plan.picking import amount
from .problems import Problem, Severity
from .report import STATE_WORDS, ComeBackRow, JobRow, Report, come_backs_by
from .sheets.html import to_html
from .sheets.views import standing_cautions

JOBS_SHOWN = {"A4": 7, "Letter": 5}
BARS_SHOWN = 6
BACKS_SHOWN = 2
ORDERS_SHOWN = 2
MOST_MORE = 24
"""Rounds of more lines (two jobs, a come-back, something to order) that are tried while the page has room."""
METHODS_SHOWN = 3
LINE_LETTERS = 100
GROUP_LETTERS = 38
PLOTTED = "joint method"
PLOT_MM = 86.0
STYLES = ("sheet.css", "report.css")


@dataclass(frozen=True, kw_only=True)
class CountView:
    """How many vehicles stand in a state."""

    word: str
    count: str


@dataclass(frozen=True, kw_only=True)
class JobView:
    """One job's row. ``timed`` compares what was recorded with the standard for the same work."""

    job: str
    vehicle: str
    states: str
    held: bool
    why: str
    timed: str
    minutes: str


@dataclass(frozen=True, kw_only=True)
class GroupView:
    """Come-backs counted by one thing, in one line."""

    heading: str
    line: str


@dataclass(frozen=True, kw_only=True)
class PageView:
    """The whole page in words and pictures."""

    title: str
    shop: str
    as_of: str
    counts: tuple[CountView, ...]
    jobs: tuple[JobView, ...]
    more_jobs: str
    minutes_plot: str
    methods_plot: str
    come_backs: tuple[str, ...]
    groups: tuple[GroupView, ...]
    orders: tuple[str, ...]
    cautions: tuple[str, ...]
    invented: str
    generator: str
    language: str


def page_view(
    report: Report, shop: Shop, reference: Reference, as_of: date, paper: str = "A4", more: int = 0
) -> tuple[PageView | None, tuple[Problem, ...]]:
    """What the page shows, or why there is none: it too carries the standing cautions.

    ``more`` lets it show more of each list where there is room; below 0 it shows fewer jobs.
    """
    cautions, problems = standing_cautions(reference, "")
    if problems:
        return None, problems
    room = JOBS_SHOWN[paper] + (2 * more if more > 0 else more)
    lines = max(more, 0)
    rows = sorted(report.jobs, key=lambda r: ("held" not in r.vehicles, r.state == "verified", r.job))
    return (
        PageView(
            title="Workshop report",
            shop=shop.name,
            as_of=long_date(as_of),
            counts=tuple(CountView(word=STATE_WORDS[s], count=str(n)) for s, n in report.states.items()),
            jobs=tuple(_job(r) for r in rows[:room]),
            more_jobs=_more(len(rows) - room, "job", "loomleaf report lists them all"),
            minutes_plot=_minutes_plot(report, shop),
            methods_plot=_methods_plot(report),
            come_backs=_cut_off([_back_line(b) for b in reversed(report.come_backs)], BACKS_SHOWN + lines),
            groups=tuple(
                _group(name, counts) for name, counts in come_backs_by(report.come_backs) if counts and name != PLOTTED
            ),
            orders=_cut_off([f"{p.need.title}: {amount(p.order, p.need.unit)}" for p in report.to_order], ORDERS_SHOWN + lines),
            cautions=tuple(c.short for c in cautions),
            invented="Demonstration: every name, vehicle, part and price is invented." if shop.invented else "",
            generator=f"Loomleaf {__version__}",
            language=shop.language,
        ),
        (),
    )


def _more(count: int, what: str, where: str) -> str:
    return f"And {count} more {what}{'s' if count != 1 else ''}: {where}." if count > 0 else ""


def _short(text: str, letters: int) -> str:
    """Text cut at a word.

    >>> _short("Prove the ground wire", 12)
    'Prove the…'
    """
    return text if len(text) <= letters else text[: letters - 1].rsplit(" ", 1)[0].rstrip(" ,;:(") + "…"


def _cut_off(lines: list[str], count: int) -> tuple[str, ...]:
    rest = len(lines) - count
    kept = tuple(_short(line, LINE_LETTERS) for line in lines[:count])
    return (*kept, f"And {rest} more: loomleaf report lists them all.") if rest > 0 else kept or ("None.",)


def _job(row: JobRow) -> JobView:
    states = ", ".join(
        f"{n} {STATE_WORDS[s]}" if len(row.vehicles) > 1 or n > 1 else STATE_WORDS[s] for s, n in row.vehicles.items()
    )
    if row.reasons:
        first = row.reasons[0].rsplit(" [", 1)[0]
        why = first + (f" (and {len(row.reasons) - 1} more)" if len(row.reasons) > 1 else "")
    else:
        why = row.next[0] if row.next else "done"
    return JobView(
        job=row.job,
        vehicle=row.vehicle,
        states=states,
        held="held" in row.vehicles,
        why=_short(why, 60),
        timed=f"{plain(row.like)} of {row.standard:.0f}" if row.standard else "",
        minutes=f"{row.estimated:.0f}",
    )


def _back_line(back: ComeBackRow) -> str:
    cold = f", {back.outside_c:g} °C outside" if back.outside_c is not None else ""
    where = ", ".join(w for w in (back.circuit_title, back.method.replace("-", " ")) if w)
    return f"Job {back.job}, {back.days} days after{cold}: {back.symptom}" + (f" ({where})." if where else ".")


def _group(name: str, counts: tuple[tuple[str, int], ...]) -> GroupView:
    """As many as fit in one line, then how many more there are."""
    line, left = "", len(counts)
    for words, count in counts:
        more = f"{'; ' if line else ''}{count} × {_short(words, GROUP_LETTERS)}"
        if len(line) + len(more) > LINE_LETTERS - 10:
            break
        line, left = line + more, left - 1
    return GroupView(heading=f"Come-backs by {name}", line=line + (f"; and {left} more" if left else ""))


def _minutes_plot(report: Report, shop: Shop) -> str:
    """Taken as a share of the standard, by operation: 1 is the estimate."""
    timed = [c for c in report.minutes if c.standard > 0 and not c.name.startswith("extra-")]
    if not timed:
        return ""
    worst = sorted(timed, key=lambda c: (-abs(c.taken - c.standard), c.name))[:BARS_SHOWN]
    bars = [
        Bar(
            label=c.title,
            value=float((c.taken / c.standard).quantize(Decimal("0.01"))),
            note=f"{plain(c.own_each)} min each",
        )
        for c in sorted(worst, key=lambda c: c.name)
    ]
    return bar_plot(
        title="Minutes taken, of those estimated",
        axis=Axis(words="taken ÷ estimated"),
        bars=bars,
        source="minutes recorded on jobs; standard minutes of shop.yaml"
        + (", invented" if shop.invented else "")
        + ". Timed, above: taken, of the standard for the same work",
        limit=(1.0, "as estimated"),
        width_mm=PLOT_MM,
        key="report-minutes",
    )


def _methods_plot(report: Report) -> str:
    """Come-backs a hundred joints, by joining method."""
    made = [(name, count, back) for name, count, back in report.by_method if count]
    if not made:
        return ""
    bars = [
        Bar(
            label=name.replace("-", " ").capitalize(),
            value=float((Decimal(back) / count * 100).quantize(Decimal("0.1"))),
            note=f"{back} of {count}",
        )
        for name, count, back in sorted(made, key=lambda m: (-m[2] / m[1], m[0]))[:METHODS_SHOWN]
    ]
    return bar_plot(
        title="Come-backs, of joints made",
        axis=Axis(words="come-backs ÷ joints", unit="%", high=None if any(b.value for b in bars) else 1.0),
        bars=bars,
        source="come-backs noted in jobs",
        width_mm=PLOT_MM,
        key="report-methods",
    )


def report_html(view: PageView) -> str:
    """The page as markup."""
    return to_html("report.html", view=view)


def report_pdf(view: PageView, as_of: date, paper: str) -> tuple[bytes, tuple[Problem, ...]]:
    """The page as PDF."""
    from .sheets.pdf import render

    styles = (STYLES[0], f"sheet-{paper.lower()}.css", STYLES[1])
    return render(report_html(view), styles=styles, job="", issued=as_of)


def report_files(
    report: Report, shop: Shop, reference: Reference, paper: str | None
) -> tuple[dict[str, bytes], tuple[Problem, ...]]:
    """The page and the order list, by file name; none when there is an error."""
    from .output.job_tables import order_table

    size = paper or shop.paper
    made: dict[int, tuple[bytes, tuple[Problem, ...]]] = {}

    def fits(more: int) -> bool:
        view, problems = page_view(report, shop, reference, report.as_of, size, more)
        made[more] = report_pdf(view, report.as_of, size) if view is not None else (b"", problems)
        pdf, trouble = made[more]
        return any(p.severity is Severity.ERROR for p in trouble) or _pages(pdf) == 1

    best = _most(fits, 1 - JOBS_SHOWN[size], _rounds_for_all(report, size))
    pdf, trouble = made[best]
    if any(p.severity is Severity.ERROR for p in trouble):
        return {}, trouble
    return {"report.pdf": pdf, "to-order.csv": order_table(report.to_order)}, trouble


def _rounds_for_all(report: Report, paper: str) -> int:
    """How many rounds of more lines show everything."""
    jobs = -(-(len(report.jobs) - JOBS_SHOWN[paper]) // 2)
    return min(
        MOST_MORE, max(0, jobs, len(report.come_backs) - BACKS_SHOWN, len(report.to_order) - ORDERS_SHOWN)
    )


def _most(fits: Callable[[int], bool], low: int, high: int) -> int:
    """The most that fits, asked from the top by halves; the least when nothing does. Whatever is given back was asked.

    >>> _most(lambda n: n <= 5, -6, 24), _most(lambda n: True, -6, 0), _most(lambda n: False, -6, 24)
    (5, 0, -6)
    """
    if fits(high):
        return high
    best = low - 1
    top = high
    while top - best > 1:
        middle = (top + best) // 2
        if fits(middle):
            best = middle
        else:
            top = middle
    return max(best, low)


def _pages(pdf: bytes) -> int:
    import io

    from pypdf import PdfReader

    return len(PdfReader(io.BytesIO(pdf)).pages)
