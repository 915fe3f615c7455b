"""Practice questions: written ones and computed ones from a chapter file, pairing puzzles from the plans of jobs.

In the file, a second-level heading names a set, a third-level one is a question (``level: question``), and what follows
it is its answer. Nothing of a job but its leads, ways, colours and functions goes into a puzzle.
"""

from __future__ import annotations

import hashlib
import itertools
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from markupsafe import Markup

from ..draw.faces import connector_picture
from ..model.lead import Lead
from ..model.reference import ConnectorType
from ..plan.types import Circuit, JobTail, Plan
from ..problems import Location, nearest
from .by_meter import Way, ways_by_meter
from .chapters import render
from .front import Chapter
from .glossary import link_first_use
from .marks_html import Page
from .pictures import FACE_MM, framed
from .prose import slug

Level = Literal["recall", "explain", "apply", "diagnose"]
LEVELS: tuple[Level, ...] = ("recall", "explain", "apply", "diagnose")
Kind = Literal["written", "worked out", "pairing"]
KINDS: tuple[Kind, ...] = ("written", "worked out", "pairing")


@dataclass(frozen=True, kw_only=True)
class Question:
    """One question. ``asked`` and ``answer`` are HTML; ``lines`` is how much room a worksheet leaves to write in.

    ``kind`` says where its answer is from: written in the chapter file, worked out by the engineering functions, or
    paired by the planner.
    """

    number: int
    level: Level
    kind: Kind
    asked: Markup
    answer: Markup
    lines: int = 3


@dataclass(frozen=True, kw_only=True)
class QuestionSet:
    """The questions of one theme."""

    title: str
    questions: tuple[Question, ...]

    @property
    def anchor(self) -> str:
        return slug(self.title)


@dataclass(frozen=True, kw_only=True)
class _Raw:
    level: Level
    asked: str
    asked_line: int
    answer: str
    answer_line: int


_ASKED = re.compile(r"### (?P<level>[a-z]+): (?P<asked>.+)")
_FIGURE = '<span class="figure">'
_SECTION = re.compile(r'href="(?:\.\./)*chapters/([a-z0-9-]+)\.html#([a-z0-9-]+)"')


def counted(sets: Sequence[QuestionSet]) -> tuple[tuple[Kind, int], ...]:
    """How many questions there are of each kind."""
    kinds = [q.kind for one in sets for q in one.questions]
    return tuple((kind, kinds.count(kind)) for kind in KINDS)


def asked_of(sets: Sequence[QuestionSet]) -> dict[tuple[str, str], tuple[int, ...]]:
    """Chapter and section to the numbers of the questions whose answers send the reader there."""
    found: dict[tuple[str, str], list[int]] = {}
    for question in (q for one in sets for q in one.questions):
        for chapter, anchor in dict.fromkeys(_SECTION.findall(question.answer)):
            found.setdefault((chapter, anchor), []).append(question.number)
    return {section: tuple(numbers) for section, numbers in found.items()}


_HEADED = re.compile(r'<h[2-4] id="([^"]+)">')


def with_questions(body: str, chapter: str, asked: Mapping[tuple[str, str], tuple[int, ...]], page: str) -> str:
    """A chapter's body in which each section that questions ask about ends with links to them.

    >>> print(with_questions('<h3 id="a">A</h3>', "one", {("one", "a"): (4,)}, "practice.html").split("\\n")[1])
    <p class="asked-in">Practice: <a href="practice.html#question-4">question 4</a></p>
    """
    heads = [*_HEADED.finditer(body)]
    if not heads or not asked:
        return body
    ends = [h.start() for h in heads[1:]] + [len(body)]
    out = [body[: heads[0].start()]]
    for head, end in zip(heads, ends, strict=True):
        out.append(body[head.start() : end].rstrip("\n"))
        numbers = asked.get((chapter, head[1]), ())
        if numbers:
            links = ", ".join(f'<a href="{page}#question-{n}">question {n}</a>' for n in numbers)
            out.append(f'\n<p class="asked-in">Practice: {links}</p>')
        out.append("\n")
    return "".join(out)


def read_sets(chapter: Chapter, page: Page, start: int = 1) -> tuple[QuestionSet, ...]:
    """The sets of one practice file, numbered on from ``start``."""
    sets: list[QuestionSet] = []
    number = start
    for title, raws in _raw_sets(chapter, page):
        questions = []
        for raw in raws:
            asked = render(raw.asked, chapter.file, raw.asked_line, page).html
            answer = render(raw.answer, chapter.file, raw.answer_line, page).html
            questions.append(
                Question(
                    number=number,
                    level=raw.level,
                    kind="worked out" if _FIGURE in answer else "written",
                    asked=Markup(asked.removeprefix("<p>").removesuffix("</p>")),
                    answer=Markup(link_first_use(answer, page.book.terms, page.root)),
                    lines=2 if raw.level == "recall" else 4,
                )
            )
            number += 1
        sets.append(QuestionSet(title=title, questions=tuple(questions)))
    return tuple(sets)


def _raw_sets(chapter: Chapter, page: Page) -> list[tuple[str, list[_Raw]]]:
    sets: list[tuple[str, list[_Raw]]] = []
    lines = chapter.body.split("\n")
    heads = [n for n, line in enumerate(lines) if line.startswith("#")] + [len(lines)]
    for here, after in itertools.pairwise(heads):
        line = chapter.first_line + here
        place = Location(file=chapter.file, line=line, column=1)
        if lines[here].startswith("## "):
            sets.append((lines[here][3:].strip(), []))
            continue
        asked = _ASKED.fullmatch(lines[here].strip())
        if asked is None or not sets:
            page.found.error(
                "bad-question", "this is not a question of a set", place, hint="### recall: What is a tail?"
            )
            continue
        level = next((known for known in LEVELS if known == asked["level"]), None)
        if level is None:
            page.found.error(
                "bad-question", f"'{asked['level']}' is not a level", place, hint=nearest(asked["level"], LEVELS)
            )
            continue
        answer = "\n".join(lines[here + 1 : after])
        if not answer.strip():
            page.found.error("bad-question", "the question has no answer", place, hint="write it on the lines below")
            continue
        sets[-1][1].append(
            _Raw(level=level, asked=asked["asked"], asked_line=line, answer=answer, answer_line=line + 1)
        )
    return sets


# Puzzles from plans


def puzzle_set(plans: Sequence[Plan], start: int, connectors: Mapping[str, ConnectorType] | None = None) -> QuestionSet:
    """Pairing puzzles: which tails meet, which stay spare, and why a join is refused or wanting.

    The first of a job shows the faces of its plugs, where ``connectors`` knows their shape.
    """
    questions: list[Question] = []
    known: set[str] = set()
    for plan in plans:
        shown = False
        for level, asked, answer, lines in _puzzles(plan):
            if asked in known:
                continue  # the same leads in another job
            known.add(asked)
            number = start + len(questions)
            faces = Markup("") if shown else _faces(plan.leads, connectors or {}, number)
            shown = True
            questions.append(
                Question(number=number, level=level, kind="pairing", asked=asked + faces, answer=answer, lines=lines)
            )
    return QuestionSet(title="Pairing puzzles", questions=tuple(questions))


def _faces(leads: Iterable[Lead], connectors: Mapping[str, ConnectorType], number: int) -> Markup:
    """The faces of the leads' plugs, without what their ways carry: that is what is asked."""
    drawn = []
    for lead in leads:
        for plug in lead.plugs:
            known = connectors.get(plug.type)
            if known is not None and known.rows:
                key = f"puzzle-{number}-{lead.lead}-{plug.name}"
                words = f"{lead.title}: plug {plug.name}."
                drawn.append(Markup(framed(connector_picture(known, width_mm=FACE_MM, key=key), words)))
    return Markup("").join(drawn)


def _puzzles(plan: Plan) -> Iterable[tuple[Level, Markup, Markup, int]]:
    made = [c for c in plan.circuits if c.made]
    power = [c for c in made if c.group in ("supply", "ground", "control")]
    sound = [c for c in made if c.group in ("speaker", "line")]
    names = _names(plan)
    if len(power) >= 3:
        asked = Markup("Supplies, grounds and control wires: which of these tails meet?{}").format(_tails(power))
        yield "apply", asked, _pairs(power, names), 0
    if len(sound) >= 4:
        asked = Markup("Loudspeaker and line wires: pair these tails.{}").format(_tails(sound))
        yield "apply", asked, _pairs(sound, names), 0
    ways = ways_by_meter(plan.circuits)
    if ways:
        yield "diagnose", _asked_by_meter(ways), _told_by_meter(ways, names), 0
    if plan.spares:
        listed = _by_lead([s.tail for s in plan.spares], gap="why")
        asked = Markup("These tails meet nothing. Why, and what is done with each?{}").format(listed)
        why = _listed(
            Markup("{} {}: {}.{}").format(
                names[s.tail.lead.lead], s.tail.way, s.why.rstrip("."), " Live: first to be capped." if s.live else ""
            )
            for s in plan.spares
        )
        answer = Markup("{}<p>Each is folded back at full length, capped alone and tied.</p>").format(why)
        yield "explain", asked, answer, 2
    for circuit in plan.circuits:
        if circuit.outcome in ("refused", "wanting", "contested") and circuit.reason:
            asked = Markup("The planner calls the circuit “{}” {}. Why?{}").format(
                circuit.title, circuit.outcome, _by_lead(circuit.tails)
            )
            yield "diagnose", asked, Markup("<p>{}.</p>").format(_capital(circuit.reason.rstrip("."))), 3


def _asked_by_meter(ways: Sequence[Way]) -> Markup:
    """The readings of each way, and the functions they are to be given to: neither colour nor name of a way is told."""
    named = sorted({way.tail.title for way in ways})
    return Markup(
        "The colours of this plug are hidden: they prove nothing. What does each way carry, and what meets it? "
        "It is one each of: {}.{}"
    ).format(
        "; ".join(title[:1].lower() + title[1:] for title in named),
        Markup("").join(
            Markup('<p class="of">{}</p>{}').format(
                title,
                _listed(
                    Markup('<strong>{}</strong> {}. <span class="gap gap-after">carries, and meets</span>').format(
                        way.tail.way, "; ".join(shown.text for shown in way.shown)
                    )
                    for way in sorted(ways, key=lambda way: _in_order(way.tail.way))
                    if way.tail.lead.title == title
                ),
            )
            for title in dict.fromkeys(way.tail.lead.title for way in ways)
        ),
    )


def _in_order(way: str) -> tuple[tuple[int, str], ...]:
    """Ways as people count them: A.2 before A.10."""
    return tuple((int(part), "") if part.isdigit() else (0, part) for part in re.split(r"(\d+)", way))


def _told_by_meter(ways: Sequence[Way], names: dict[str, str]) -> Markup:
    return _listed(
        Markup("{}: {}. Meets {}.{}").format(
            way.tail.way,
            way.tail.title,
            " and ".join(
                f"{names[t.lead.lead]} {t.way} ({t.colour_text})" for t in way.circuit.tails if t.name != way.tail.name
            ),
            f" Told by: {way.telling.text}." if way.telling else " Told by its readings together.",
        )
        for way in sorted(ways, key=lambda way: _in_order(way.tail.way))
    )


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _names(plan: Plan) -> dict[str, str]:
    """How answers call each lead: by its side where that is plain, by its title where several stand on one side."""
    sides = [lead.side for lead in plan.leads]
    return {lead.lead: lead.side if sides.count(lead.side) == 1 else lead.title for lead in plan.leads}


def _tails(circuits: Sequence[Circuit]) -> Markup:
    """All tails of some circuits, in an order that gives nothing away and is the same each time."""
    tails = {t.name: t for c in circuits for t in c.tails}
    return _by_lead(sorted(tails.values(), key=lambda t: hashlib.sha256(t.name.encode()).hexdigest()), gap="meets")


def _by_lead(tails: Sequence[JobTail], gap: str = "") -> Markup:
    """Tails under the title of their lead. ``gap`` is what a worksheet leaves room for beside each ("" for none)."""
    room = Markup(' <span class="gap">{}</span>').format(gap) if gap else Markup("")
    groups: dict[str, list[JobTail]] = {}
    for tail in tails:
        groups.setdefault(tail.lead.title, []).append(tail)
    return Markup("").join(
        Markup('<p class="of">{}</p>{}').format(
            title,
            _listed(Markup("<strong>{}</strong> {}: {}{}").format(t.way, t.title, t.colour_text, room) for t in group),
        )
        for title, group in groups.items()
    )


def _pairs(circuits: Sequence[Circuit], names: dict[str, str]) -> Markup:
    return _listed(
        Markup("{}: {}").format(
            c.title, " meets ".join(f"{names[t.lead.lead]} {t.way} ({t.colour_text})" for t in c.tails)
        )
        for c in circuits
    )


def _listed(lines: Iterable[Markup]) -> Markup:
    return Markup("<ul>{}</ul>").format(Markup("").join(Markup("<li>{}</li>").format(line) for line in lines))
