"""What changed between two issues of a job: in circuits, joints, figures and price, not in the wording.

Both sides are plain data, the same that a printed sheet carries inside it. They are laid out as facts, a path and a value
each; circuits and joints are named by what they are for, since their numbers move when one is added before them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from .check.convert import convert, values
from .check.library import Entry, Library
from .check.rules import run_rules
from .collect.pdf import read_printed
from .figure import Figure, number
from .model.job import Job
from .model.shop import Shop
from .plan.issued import read_inputs
from .plan.planner import plan_job
from .plan.price import Estimate
from .plan.types import Plan
from .problems import Collector, Location, Problem, Severity, few, in_order
from .sheets.bench import bench_data
from .sheets.changed import Changed
from .sheets.fitting import fitting_data
from .sheets.registry import sheet_kinds
from .source.nodes import Document, read_document

NOT_WORK = frozenset(
    {
        "sheet",
        "job",
        "revision",
        "issued",
        "digest",
        "state",
        "number",
        "id",
        "key",
        "expected",
        "why",
        "instead_of",
        "passed_over",
        "reason",
        "note",
        "notes",
        "text",
        "customer",
        "contact",
        "request",
        "working",
        "sources",
        "known",
        "before_next",
        "reasons",
        "faults",
        "look",
        "told",
        "readings",
        "proofs",
    }
)
"""Keys that hold words about the work or what was read, or say which issue it is."""

NAMES = ("tail", "feature", "lead", "part", "plate", "registration", "what", "item", "circuit", "title", "key", "id", "name")
"""Keys by which an entry of a list is known, the best first."""

_UNITS = {"mm": "mm", "mm2": "mm²", "a": "A", "v": "V", "ohm": "Ω", "ma": "mA"}
_MEASURED = re.compile(r"(?P<word>[a-z][a-z_]*)_(?P<unit>mm|mm2|a|v|ohm|ma)")

_SECTION_NAMES = {
    "circuits": ("title",),
    "joints": ("circuit",),
    "checks": ("stage", "title", "condition"),
    "fuses": ("circuit", "conductor"),
}


@dataclass(frozen=True, kw_only=True)
class Side:
    """One of the two: a name for messages, and its data."""

    name: str
    data: Mapping[str, Any]

    @property
    def job(self) -> str:
        return str(self.data.get("job", ""))

    @property
    def kind(self) -> str:
        return str(self.data.get("sheet", ""))

    @property
    def issue(self) -> str:
        """Revision and the beginning of the digest."""
        return f"revision {self.data.get('revision', '?')}, digest {str(self.data.get('digest', ''))[:12] or 'none'}"


@dataclass(frozen=True, kw_only=True)
class Change:
    """One difference. ``old`` or ``new`` is None where the thing is not there at all."""

    section: str
    what: str
    old: str | None
    new: str | None

    @property
    def line(self) -> str:
        entry, _, field = self.what.rpartition(": ")
        measured = _MEASURED.fullmatch(field)
        words = measured["word"].replace("_", " ") if measured else field.replace("_", " ")
        unit = f" {_UNITS[measured['unit']]}" if measured else ""
        what = ": ".join(part for part in (self.section.replace("_", " "), entry, words) if part)
        if unit and self.old is not None and self.new is not None:
            old, new = (text if text == "nothing" else text + unit for text in (self.old, self.new))
            return f"{what}: {old} → {new}"
        if self.old is None:
            return f"{what}: added" + (f", {self.new}" if self.new else "")
        if self.new is None:
            return f"{what}: gone" + (f", was {self.old}" if self.old else "")
        return f"{what}: {self.old} → {self.new}"


def work_data(plan: Plan, estimate: Estimate | None = None) -> dict[str, Any]:
    """Everything that matters of a plan, as plain data of the same shape that the bench sheet carries, with the checks of
    every stage."""
    data = merged([bench_data(plan), fitting_data(plan)])
    data["sheet"] = "job"
    data["parts"] = [lead.lead for lead in plan.leads]
    data["features"] = [{"feature": f.feature_id, "outcome": f.outcome, "by": f.by} for f in plan.features]
    data["joints"] = [
        {
            "circuit": j.circuit,
            "method": j.method_id,
            "item": j.item_id,
            "sleeve": j.sleeve_id,
            "strip_mm": _value(j.strip_mm),
            "sleeve_cut_mm": _value(j.sleeve_cut_mm),
            "total_mm2": _value(j.total_mm2),
            "position_mm": j.position_mm,
        }
        for j in plan.joints
    ]
    fuses = plan.engineering.get("fuses")
    if isinstance(fuses, Mapping):
        data["fuses"] = [
            {
                "circuit": row.get("circuit"),
                "conductor": row.get("conductor"),
                "rating_a": _value(row.get("rating_a")),
                "running_a": _value(row.get("running_a")),
                "limit_a": _value(row.get("limit_a")),
            }
            for row in fuses.get("rows", ())
        ]
    data |= _figures(plan.engineering)
    if estimate is not None:
        data["price"] = {
            "lines": [
                {"what": line.what, "quantity": line.quantity, "total": str(line.total)} for line in estimate.lines
            ],
            "discount": str(estimate.discount),
            "tax": str(estimate.tax),
            "to pay": str(estimate.gross),
        }
    return data


def _figures(engineering: Mapping[str, Any]) -> dict[str, Any]:
    """The figures that a fitter would ask about: volts lost and left, battery drain, levels, the loom's length and size."""

    def picked(row: Any, names: tuple[str, ...], *wanted: str) -> dict[str, Any]:
        held = row if isinstance(row, Mapping) else {}
        return {name: _value(held.get(name)) for name in (*names, *wanted) if _value(held.get(name)) is not None}

    def rows(value: Any) -> list[Any]:
        return list(value) if isinstance(value, (list, tuple)) else []

    def below(*path: str) -> Any:
        found: Any = engineering
        for step in path:
            found = found.get(step) if isinstance(found, Mapping) else None
        return found

    drops = ("drop_running_v", "volts_running_v", "drop_peak_v", "volts_peak_v", "lowest_v")
    figures: dict[str, Any] = {
        "supply": [picked(row, ("tail",), "running_a", "peak_a", *drops) for row in rows(below("supply", "parts"))],
        "standby": picked(below("standby"), (), "added_ma", "total_ma", "days"),
        "turn-on": [picked(row, ("circuit",), "total_ma", "limit_ma") for row in rows(below("turn_on"))],
        "loudspeakers": [
            picked(row, ("circuit",), "impedance_ohm", "lowest_ohm") for row in rows(below("loudspeakers", "channels"))
        ],
        "levels": [picked(row, ("part",), "gain_setting_v") for row in rows(below("loudspeakers", "levels"))],
        "looms": [
            {"what": f"loom {at}"} | picked(row, (), "length_mm", "bundle_mm")
            for at, row in enumerate(rows(below("loom", "looms")), start=1)
        ],
        "branches": [picked(row, ("lead",), "length_mm", "bundle_mm") for row in rows(below("loom", "branches"))],
    }
    return {section: value for section, value in figures.items() if value}


FIRST_TO_SHOW = ("job", "bench", "fitting", "estimate", "cutting", "labels", "summary", "record")
"""Of several sheets, whose word on a thing is taken, the first that has it; their checks are put together."""


def merged(sheets: Iterable[Mapping[str, Any]]) -> dict[str, Any]:
    """The data of several sheets of one job as those of one."""
    out: dict[str, Any] = {}
    ordered = sorted(sheets, key=lambda s: FIRST_TO_SHOW.index(s["sheet"]) if s.get("sheet") in FIRST_TO_SHOW else 99)
    for data in ordered:
        for section, value in data.items():
            if section == "checks" and isinstance(out.get(section), list) and isinstance(value, (list, tuple)):
                known = {c.get("key") for c in out[section] if isinstance(c, Mapping)}
                out[section] += [c for c in value if not (isinstance(c, Mapping) and c.get("key") in known)]
            elif section == "checks" and isinstance(value, (list, tuple)):
                out[section] = list(value)
            else:
                out.setdefault(section, value)
    out["sheet"] = " and ".join(dict.fromkeys(str(data.get("sheet", "")) for data in ordered))
    return out


def _value(figure: Any) -> Any:
    return figure.value if isinstance(figure, Figure) else figure


def changes(old: Mapping[str, Any], new: Mapping[str, Any]) -> tuple[Change, ...]:
    """Every difference in the work, section by section. What only one side can show (a price on one sheet) is left out."""
    out: list[Change] = []
    for section in dict.fromkeys([*old, *new]):
        if section in NOT_WORK or section not in old or section not in new:
            continue
        before = dict(facts(section, old[section], _circuit_titles(old)))
        after = dict(facts(section, new[section], _circuit_titles(new)))
        shared = _fields(before) & _fields(after)
        out += _between(section, before, after, shared)
    return tuple(out)


Path = tuple[str, str]  # entry, field


def _fields(facts: Mapping[Path, str]) -> set[str]:
    return {field for _, field in facts}


def _between(section: str, before: Mapping[Path, str], after: Mapping[Path, str], shared: set[str]) -> Iterator[Change]:
    entries = dict.fromkeys([entry for entry, _ in (*before, *after)])
    for entry in entries:
        was = {f: v for (e, f), v in before.items() if e == entry}
        now = {f: v for (e, f), v in after.items() if e == entry}
        if not was or not now:
            told = ", ".join(f"{f} {v}".strip() for f, v in (was or now).items() if v)
            yield Change(section=section, what=entry, old=told if was else None, new=told if now else None)
            continue
        for field in dict.fromkeys([*was, *now]):
            if was.get(field) != now.get(field) and (field in shared or (field in was and field in now)):
                name = f"{entry}: {field}".strip(": ") if entry else field
                yield Change(section=section, what=name, old=was.get(field, "nothing"), new=now.get(field, "nothing"))


def _circuit_titles(data: Mapping[str, Any]) -> dict[str, str]:
    """Circuit number to its title; a title that several share gets a count."""
    circuits = data.get("circuits")
    titles: dict[str, str] = {}
    seen: dict[str, int] = {}
    for circuit in circuits if isinstance(circuits, (list, tuple)) else ():
        if isinstance(circuit, Mapping) and "id" in circuit:
            title = str(circuit.get("title", circuit["id"]))
            seen[title] = seen.get(title, 0) + 1
            titles[str(circuit["id"])] = title if seen[title] == 1 else f"{title} ({seen[title]})"
    return titles


def facts(section: str, value: Any, titles: Mapping[str, str]) -> Iterator[tuple[Path, str]]:
    """A section as facts: (entry, field) and the value as people read it."""
    if isinstance(value, Mapping):
        for key, inner in value.items():
            if key in NOT_WORK:
                continue
            if isinstance(inner, (list, tuple)) and inner and isinstance(inner[0], Mapping):
                yield from facts(f"{section}.{key}", inner, titles)
            else:
                yield ("", str(key)), _shown(inner, titles)
        return
    if not isinstance(value, (list, tuple)):
        yield ("", ""), _shown(value, titles)
        return
    for item in value:
        if not isinstance(item, Mapping):
            yield (_shown(item, titles), ""), ""
    for entry, item in entries(section, value, titles):
        used = {*(_SECTION_NAMES.get(section) or _name_key(item)), "title"}
        for field, inner in item.items():
            if field not in NOT_WORK and field not in used:
                yield (entry, str(field)), _shown(inner, titles)
        yield (entry, ""), ""


def entries(section: str, value: Iterable[Any], titles: Mapping[str, str]) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """The entries of a list by the names they are known by; a name that several share gets a count."""
    seen: dict[str, int] = {}
    for item in value:
        if not isinstance(item, Mapping):
            continue
        if section == "checks" and str(item.get("key", "")).startswith("apart-"):
            continue  # follows from the circuits; its own words hold their numbers
        name = _name(section, item, titles)
        seen[name] = seen.get(name, 0) + 1
        yield (name if seen[name] == 1 else f"{name} ({seen[name]})"), item


def changed_rows(old: Mapping[str, Any], new: Mapping[str, Any], since: str) -> Changed:
    """Which rows of the new sheets say something else than the old ones did: circuits, spares, checks; and what is gone."""
    before, after = _circuit_titles(old), _circuit_titles(new)
    circuits: dict[str, None] = {}
    spares: dict[str, None] = {}
    checks: dict[int, None] = {}
    gone: dict[str, None] = {}
    for section in ("circuits", "joints", "spares", "fuses", "checks"):
        if section not in old or section not in new:
            continue
        was = _by_entry(section, old[section], before)
        now = _by_entry(section, new[section], after)
        shared = {f for fields in was.values() for f in fields} & {f for fields in now.values() for f in fields}
        if section in ("circuits", "spares"):
            gone |= dict.fromkeys(entry for entry in was if entry not in now)
        for entry, item in entries(section, new[section], after):
            differs = entry not in was or any(was[entry].get(f) != now[entry].get(f) for f in shared)
            if not differs:
                continue
            if section == "checks":
                checks[int(item.get("number", 0))] = None
            elif section == "spares":
                spares[str(item.get("id", ""))] = None
            else:
                circuits |= dict.fromkeys(str(item.get("id" if section == "circuits" else "circuit", "")).split(", "))
    return Changed(since=since, rows=(*circuits, *spares), checks=tuple(sorted(checks)), gone=tuple(gone))


def _by_entry(section: str, value: Any, titles: Mapping[str, str]) -> dict[str, dict[str, str]]:
    out: dict[str, dict[str, str]] = {}
    for (entry, field), text in facts(section, value, titles):
        out.setdefault(entry, {})[field] = text
    return out


def _name(section: str, item: Mapping[str, Any], titles: Mapping[str, str]) -> str:
    wanted = _SECTION_NAMES.get(section)
    if wanted:
        return ", ".join(titles.get(str(item.get(k)), str(item.get(k))) for k in wanted if item.get(k))
    return next((titles.get(str(item[key]), str(item[key])) for key in _name_key(item)), "entry")


def _name_key(item: Mapping[str, Any]) -> tuple[str, ...]:
    """The key an entry of a list is known by; none when it has no such key."""
    return next(((key,) for key in NAMES if item.get(key)), ())


def _shown(value: Any, titles: Mapping[str, str]) -> str:
    """A value in words; numbers to four figures, so that nobody reads a rounding as a change."""
    if value is None or value == "" or value == [] or value == ():
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return number(value)
    if isinstance(value, Mapping):
        return ", ".join(f"{k} {_shown(v, titles)}" for k, v in sorted(value.items()) if k not in NOT_WORK)
    if isinstance(value, (list, tuple)):
        return " + ".join(_shown(v, titles) for v in value)
    return titles.get(str(value), str(value))


def compare_lines(old: Side, new: Side) -> tuple[str, ...]:
    """The whole answer in words."""
    found = changes(old.data, new.data)
    head = f"Job {new.job}: {old.issue} → {new.issue}"
    if not found:
        return (head, "Nothing changed in the work.")
    return (head, *grouped(found))


FIRST = ("registrations", "parts", "circuits", "spares", "features", "fuses", "joints", "checks", "supply")
"""Sections in the order of what they mean at the bench; every other one follows, the price last."""

FOLLOW = {"joints": ("method", ("item", "sleeve", "strip_mm", "sleeve_cut_mm"))}
"""What comes of another change of the same entry, and is not told beside it."""

ALIKE = 3
"""So many changes of one kind are told in one line."""

PRICE_LINES = 4
"""So many lines of the price are told, beside what is to pay."""


def grouped(found: Sequence[Change]) -> list[str]:
    """Changes in words: the most important section first, what has one cause in one line, and the rest counted."""

    def rank(change: Change) -> int:
        return FIRST.index(change.section) if change.section in FIRST else 99 if change.section == "price" else 50

    lines: list[str] = []
    done: set[int] = set()
    ordered = sorted(found, key=rank)
    for at, change in enumerate(ordered):
        if at in done or change.section == "price":
            continue
        entry, _, field = change.what.rpartition(": ")
        cause, follows = FOLLOW.get(change.section, ("", ()))
        if field in follows and any(
            c.section == change.section and c.what == f"{entry}: {cause}" for c in ordered
        ):
            continue
        moved = field == "position_mm"
        same = [
            n
            for n, other in enumerate(ordered)
            if entry
            and n >= at
            and other.section == change.section
            and other.what.rpartition(": ")[2] == field
            and None not in (other.old, other.new)
            and (moved or (other.old, other.new) == (change.old, change.new))
        ]
        if len(same) < ALIKE:
            lines.append(change.line)
            continue
        done |= set(same)
        names = few([ordered[n].what.rpartition(": ")[0] for n in same], 3)
        if moved:
            lines.append(f"{change.section}: {len(same)} lie elsewhere along the loom: {names}")
            continue
        whole = replace(change, what=field).line
        also = " (sleeve, strip and item with it)" if field == cause else ""
        lines.append(f"{whole}{also}: {names}")
    return [*lines, *_price_lines([c for c in ordered if c.section == "price"])]


def _price_lines(found: Sequence[Change]) -> list[str]:
    """What is to pay, then what was added and the first lines that changed, then how many more."""
    first = [c.line for c in found if c.what == "to pay"]
    rest = [c.line for c in sorted(found, key=lambda c: c.old is not None) if c.what != "to pay"]
    left = len(rest) - PRICE_LINES
    if left <= 1:
        return [*first, *rest]
    return [*first, *rest[:PRICE_LINES], f"price: and {left} more changes in its lines; --json lists every one"]


def compare_json(old: Side, new: Side) -> dict[str, Any]:
    """The same as plain values."""

    def side(which: Side) -> dict[str, Any]:
        return {
            "file": which.name,
            "job": which.job,
            "revision": which.data.get("revision"),
            "digest": which.data.get("digest"),
        }

    return {
        "old": side(old),
        "new": side(new),
        "changes": [
            {"section": c.section, "what": c.what, "old": c.old, "new": c.new} for c in changes(old.data, new.data)
        ],
    }


# --- the two sides -----------------------------------------------------------------------------------------------


def sheets_of_pdf(name: str, data: bytes) -> tuple[dict[str, Mapping[str, Any]], tuple[Problem, ...]]:
    """What a PDF carries, by kind of sheet: one, or all of a job's."""
    found, problems = read_printed(name, data)
    return {str(sheet.get("sheet", "")): sheet for sheet in found}, problems


def side_of_job(name: str, data: bytes, library: Library) -> tuple[Plan | None, tuple[Problem, ...]]:
    """A job file, or a frozen copy from issued/, worked out with the shop's leads and vehicles (a frozen copy's own).

    A frozen copy knows nothing of money, so its plan has no price.
    """
    document, problems = read_document(name, data)
    if document.root is None or any(p.severity is Severity.ERROR for p in problems):
        return None, problems
    found = Collector()
    plain = values(document.root)
    inputs = plain.get("inputs") if isinstance(plain, dict) else None
    if isinstance(inputs, dict):
        own = _from_issued(document, inputs, library, found)
    else:
        job = convert(document, Job, found)
        own = None if job is None else replace(library, jobs={job.job: Entry(value=job, document=document)})
    if own is None:
        return None, tuple(found.problems)
    problems = (*found.problems, *run_rules(own))
    number = next(iter(own.jobs))
    errors = [p for p in problems if p.severity is Severity.ERROR and (p.job == number or p.location.file == name)]
    if errors:
        return None, in_order(errors)
    quiet = replace(own, readings=(), issued=())
    plan = plan_job(quiet, own.jobs[number], problems)
    return (replace(plan, workshop=None) if isinstance(inputs, dict) else plan), ()


def _from_issued(document: Document, inputs: Mapping[str, Any], library: Library, found: Collector) -> Library | None:
    """A library whose one job, its vehicle and its leads are those of a frozen copy."""
    read = read_inputs(inputs)
    if read is None:
        found.error(
            "bad-issued",
            "the frozen copy cannot be read as a job any more",
            document.place("inputs"),
            hint="compare with the job file instead",
        )
        return None
    job, vehicle, leads = read
    return replace(
        library,
        jobs={job.job: Entry(value=job, document=document, base=("inputs", "job"))},
        vehicles={
            **library.vehicles,
            vehicle.vehicle: Entry(value=vehicle, document=document, base=("inputs", "vehicle")),
        },
        leads={
            **library.leads,
            **{x.lead: Entry(value=x, document=document, base=("inputs", "leads", x.lead)) for x in leads},
        },
    )


def sides(
    old: tuple[str, bytes], new: tuple[str, bytes], library: Library
) -> tuple[tuple[Side, Side] | None, tuple[Problem, ...]]:
    """Both sides in one shape: a job against printed sheets is shown as those sheets show it; of several sheets in one
    file those that both sides have are put together."""
    printed: list[dict[str, Mapping[str, Any]]] = []
    plans: list[Plan | None] = []
    problems: list[Problem] = []
    for name, data in (old, new):
        pdf = b"%PDF-" in data[:1024] or name.lower().endswith(".pdf")
        sheets, told = sheets_of_pdf(name, data) if pdf else ({}, ())
        plan, more = (None, ()) if pdf else side_of_job(name, data, library)
        printed.append(sheets)
        plans.append(plan)
        problems += [*told, *more]
    if problems:
        return None, tuple(problems)
    if printed[0] and printed[1]:
        kinds = [kind for kind in printed[0] if kind in printed[1]]
        if not kinds:
            said = [" and ".join(sheets) for sheets in printed]
            message = f"one is a {said[0]} sheet, the other a {said[1]} sheet"
            return None, (_refusal(new[0], message, "print the same one"),)
    else:
        kinds = list(printed[0] or printed[1]) or ["job"]
    shop = library.shop.value if library.shop else Shop(name="")
    shown: list[dict[str, Mapping[str, Any]]] = []
    for sheets, plan in zip(printed, plans, strict=True):
        found = {kind: sheets[kind] if plan is None else _as_sheet(plan, kind, shop) for kind in kinds}
        shown.append({kind: data for kind, data in found.items() if data is not None})
    kinds = [kind for kind in kinds if kind in shown[0] and kind in shown[1]]
    if not kinds:
        name = old[0] if not shown[0] else new[0]
        return None, (_refusal(name, "it has no price to compare", "compare job files, or two printed estimates"),)
    first, second = (
        Side(name=name, data=merged(sheets[kind] for kind in kinds))
        for (name, _), sheets in zip((old, new), shown, strict=True)
    )
    if first.job != second.job:
        return None, (
            _refusal(new[0], f"one is of job {first.job}, the other of job {second.job}", "name two of one job"),
        )
    return (first, second), ()


def earlier_issue(library: Library, job: Job) -> Plan | None:
    """The issue that a job's revision replaces, worked out from its frozen copy; None where there is none to be had."""
    entry = next(
        (e for e in library.issued if e.value.job == job.job and e.value.revision == job.replaces), None
    )
    if not job.replaces or entry is None:
        return None
    found = Collector()
    own = _from_issued(entry.document, entry.value.inputs, library, found)
    if own is None or job.job not in own.jobs:
        return None
    own = replace(own, readings=(), issued=())
    problems = run_rules(own)
    mine = own.jobs[job.job]
    if any(p.severity is Severity.ERROR and (p.job == job.job or p.location.file == entry.document.file) for p in problems):
        return None
    return plan_job(own, mine, problems)


def changed_since(library: Library, plan: Plan) -> Changed | None:
    """The rows of a job's sheets that say something else than the issue they replace; None where that is not known."""
    old = earlier_issue(library, plan.job)
    return None if old is None else changed_rows(work_data(old), work_data(plan), f"revision {plan.job.replaces}")


def _as_sheet(plan: Plan, kind: str, shop: Shop) -> Mapping[str, Any] | None:
    """What a job shows as a kind of sheet; None where it cannot be shown so."""
    chosen = sheet_kinds.get(kind)
    if chosen is None:
        return work_data(plan, plan.workshop.estimate if plan.workshop else None)
    if chosen.priced:
        return chosen.data(plan, shop) if plan.workshop and plan.workshop.estimate else None
    return chosen.data(plan, ()) if getattr(chosen, "as_fitted", False) else chosen.data(plan)


def _refusal(file: str, message: str, hint: str) -> Problem:
    return Problem(
        code="cannot-compare", severity=Severity.ERROR, message=message, hint=hint, location=Location(file=file)
    )
