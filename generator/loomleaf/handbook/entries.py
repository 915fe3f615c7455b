"""Reference entries into pages: one function a kind of entry, each giving the blocks its page is laid out from."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from markupsafe import Markup

from ..calc.tables import shipped_tables
from ..figure import Standing, number
from ..model.reference import (
    Caution,
    ConnectorType,
    ExpectedReading,
    Feature,
    JoiningMethod,
    Meeting,
    ProblemPage,
    Refusal,
    WireFunction,
)
from ..units import Size, gauge_text, nearest_gauge
from . import pictures
from .blocks import Block, Bullets, Entry, Facts, Item, Picture, Prose, Step, Steps, Table
from .book import Book, Link

ROOT = "../"  # every entry page lies one folder down
POLES = {"plus": "plus", "minus": "minus", "shield": "shield", "high": "high", "low": "low"}
CONDITIONS = {
    "asleep": "asleep",
    "awake": "awake, key off",
    "accessory": "accessory",
    "key-on": "key on",
    "cranking": "cranking",
    "lights-on": "lights on",
    "reverse": "in reverse",
    "door-open": "a door open",
    "unplugged": "unplugged",
    "any": "any",
}
SIDES = {"vehicle": "the vehicle", "radio": "the radio", "module": "an active module", "accessory": "an added part"}


def _lines(words: Iterable[str]) -> tuple[Item, ...]:
    return tuple(Item(text=_sentence(w)) for w in words)


def _sentence(words: str) -> str:
    """A first capital, and a full stop where there is none.

    >>> _sentence("ground")
    'Ground.'
    """
    text = words[:1].upper() + words[1:]
    return text if text.endswith((".", "!", "?", ":")) else f"{text}."


def _bullets(heading: str, words: Sequence[str], mood: str = "plain") -> tuple[Block, ...]:
    return (Bullets(heading=heading, items=_lines(words), mood=mood),) if words else ()


def function_entry(book: Book, name: str, entry: WireFunction) -> Entry:
    """The page of a wire function."""
    blocks: list[Block] = [Facts(heading="In short", rows=_function_facts(book, entry))]
    if entry.colours:
        blocks.append(
            Table(
                heading="Usual colours",
                columns=("Colour", "Pole", "How well known"),
                rows=tuple(
                    (
                        Item(text=c.colour.text, html=pictures.swatch(c.colour)),
                        Item(text=POLES.get(c.pole or "", "—")),
                        Item(text=Standing(c.standing).words),
                    )
                    for c in entry.colours
                ),
                after="A colour is a hint. It never proves what a wire does.",
            )
        )
    if entry.readings:
        blocks.append(
            Table(
                heading="Prove it with the meter",
                columns=("Vehicle is", "Between", "Expect", "Must be done"),
                rows=tuple(_reading_row(r) for r in entry.readings),
                mood="readings",
            )
        )
    blocks += _bullets("It may join", entry.may_join, "good")
    meets = tuple(_meeting_items(book, name))
    if meets:
        blocks.append(Bullets(heading="Other functions it may meet", items=meets, mood="good"))
    blocks += _bullets("It must never join", entry.must_never, "bad")
    blocks += _bullets("What goes wrong", entry.mistakes)
    refused = tuple(_refusal_rows(book, name, entry))
    if refused:
        blocks.append(
            Table(
                heading="Joins that are refused",
                mood="refused",
                columns=("Join", "Why"),
                rows=refused,
                after="The program refuses these in a job, whichever of the two drives.",
            )
        )
    features = tuple(
        book.link("feature", f) for f, feature in book.reference.features.items() if name in feature.functions
    )
    connectors = tuple(
        book.link("connector", c, note=", ".join(w.way for w in connector.pinout if w.function == name))
        for c, connector in book.reference.connectors.items()
        if any(w.function == name for w in connector.pinout)
    )
    return Entry(
        kind="function",
        name=name,
        title=entry.title,
        lead=entry.does,
        blocks=tuple(blocks),
        links=_linked(
            ("See also", book.links("function", entry.related)),
            ("Features it carries", features),
            ("Connectors with a way for it", connectors),
        ),
        source=entry.source,
        standing=Standing(entry.standing).words,
        words=entry.also_called,
    )


def _linked(*groups: tuple[str, tuple[Link, ...]]) -> tuple[tuple[str, tuple[Link, ...]], ...]:
    return tuple((heading, links) for heading, links in groups if links)


def _function_facts(book: Book, entry: WireFunction) -> tuple[tuple[str, Item], ...]:
    rows: list[tuple[str, Item]] = []
    if entry.never:
        rows.append(("Joined", Item(text="Never, to anything at all.")))
    if entry.also_called:
        rows.append(("Also called", Item(text=", ".join(entry.also_called))))
    if entry.drivers:
        rows.append(("Driven by", Item(text=_and(SIDES[d] for d in entry.drivers))))
    if entry.poles:
        rows.append(("Poles", Item(text=_and(POLES[p] for p in entry.poles))))
    if entry.volts is not None:
        rows.append(("Volts", Item(text=f"{number(entry.volts)} V")))
    if entry.signal:
        rows.append(
            (
                "Signal",
                Item(text={"steady": "steady", "pulsed": "pulsed: a plain meter shows an average"}[entry.signal]),
            )
        )
    if entry.sense:
        rows.append(("Switches", Item(text={"to-12v": "to 12 V", "to-ground": "to ground"}[entry.sense])))
    if entry.wiring:
        said = {
            "bridged": "bridged: both wires of the pair are driven",
            "common-return": "with a common return",
            "balanced": "balanced",
            "single-ended": "single-ended",
        }
        rows.append(("Wiring", Item(text=said[entry.wiring])))
    if entry.data:
        rows.append(("Data line", Item(text="only the data lead of a module may meet it")))
    if entry.combine != "none":
        said = {"diode": "through a diode each", "relay": "through a relay", "bus": "they share a bus"}
        rows.append(("Several drivers", Item(text=said[entry.combine])))
    if entry.iso_10487:
        rows.append(("ISO 10487 way", Item(text=", ".join(entry.iso_10487))))
    if entry.din_72552:
        rows.append(("DIN 72552 terminal", Item(text=", ".join(entry.din_72552))))
    if entry.shows:
        rows.append(("When it works", Item(text=_sentence(entry.shows))))
    if entry.prove_on_vehicle:
        rows.append(("Proof", Item(text="by meter on this very vehicle, before plugging in")))
    return tuple(rows)


def _and(words: Iterable[str]) -> str:
    listed = list(words)
    return listed[0] if len(listed) == 1 else ", ".join(listed[:-1]) + " or " + listed[-1]


def expected(reading: ExpectedReading) -> str:
    """What the meter should show, in words.

    >>> expected(ExpectedReading(condition="any", quantity="V", low=11.5, high=15))
    '11.5 to 15 V'
    """
    unit = {"Vac": "V AC"}.get(reading.quantity, reading.quantity)
    if reading.open:
        return "OL (open circuit)"
    if reading.low is not None and reading.high is not None:
        return f"{number(reading.low)} to {number(reading.high)} {unit}"
    if reading.low is not None:
        return f"at least {number(reading.low)} {unit}"
    if reading.high is not None:
        return f"at most {number(reading.high)} {unit}"
    return f"any steady value in {unit}"


def _reading_row(reading: ExpectedReading) -> tuple[Item, ...]:
    pole = f"{POLES[reading.pole]}: " if reading.pole else ""
    load = f", with a {reading.load} across it" if reading.load else ""
    note = f" {_sentence(reading.note)}" if reading.note else ""
    return (
        Item(text=CONDITIONS[reading.condition] + (f", {reading.also}" if reading.also else "")),
        Item(text=f"{pole}{reading.between or 'the wire and ground'}{load}"),
        Item(text=f"{expected(reading)}.{note}"),
        Item(text=("yes" if reading.needed else "no") + f" ({Standing(reading.standing).words})"),
    )


def _meeting_items(book: Book, name: str) -> Iterable[Item]:
    for meeting in book.reference.meetings.values():
        other = _other(meeting, name)
        if other and other in book.reference.functions:
            chosen = " Only when the job says so." if meeting.only_when_chosen else ""
            yield Item(text=f"{_sentence(meeting.why)}{chosen}", links=(book.link("function", other),))


def _other(meeting: Meeting, name: str) -> str:
    if meeting.driver == name:
        return meeting.taker
    return meeting.driver if meeting.taker == name else ""


def _refusal_rows(book: Book, name: str, entry: WireFunction) -> Iterable[tuple[Item, ...]]:
    for refusal in book.reference.refusals.values():
        if _touches(refusal, name, entry):
            yield Item(text=refusal.title), Item(text=_sentence(refusal.reason))


def _touches(refusal: Refusal, name: str, entry: WireFunction) -> bool:
    return any(end in (name, f"group:{entry.group}") for end in (refusal.driver, refusal.taker))


def connector_entry(book: Book, name: str, entry: ConnectorType) -> Entry:
    """The page of a connector type, with its face and the side it is seen from."""
    rows: list[tuple[str, Item]] = [("Ways", Item(text=str(entry.ways)))]
    if entry.latch:
        rows.append(("Latch", Item(text=entry.latch)))
    if entry.pitch_mm is not None:
        rows.append(("Pitch", Item(text=f"{number(entry.pitch_mm)} mm")))
    if entry.contact_a is not None:
        rows.append(("Current a contact", Item(text=f"{number(entry.contact_a)} A")))
    blocks: list[Block] = [Facts(heading="In short", rows=tuple(rows))]
    face = pictures.face(name, entry, book.reference.functions, book.reference.connectors)
    if face:
        blocks.append(Picture(heading="Its face", html=Markup(face)))
    if entry.rows:
        blocks.append(
            Table(
                heading="Ways, seen from the mating side, latch up",
                columns=("Row", "From left to right"),
                rows=tuple(
                    (Item(text=str(n)), Item(text=", ".join(w or "blank" for w in row)))
                    for n, row in enumerate(entry.rows, 1)
                ),
                after="From the wire side, left and right change places.",
            )
        )
    if entry.pinout:
        blocks.append(
            Table(
                heading="Way by way",
                columns=("Way", "Wire function", "Colour", "Note"),
                rows=tuple(
                    (
                        Item(text=w.way),
                        Item(
                            links=book.links("function", (w.function,)) if w.function else (),
                            text="" if w.function else "not fixed",
                        ),
                        Item(
                            text=w.colour.text if w.colour else "not fixed",
                            html=pictures.swatch(w.colour) if w.colour else Markup(),
                        ),
                        Item(text=w.note or "—"),
                    )
                    for w in entry.pinout
                ),
                after="Prove every way with the meter: a plug of this shape may be wired in another order.",
            )
        )
    blocks += _bullets("Look for", entry.look_for)
    blocks += _bullets("What goes wrong", entry.mistakes)
    return Entry(
        kind="connector",
        name=name,
        title=entry.title,
        lead=entry.does,
        blocks=tuple(blocks),
        links=_linked(("Mates with", book.links("connector", entry.mates))),
        source=entry.source,
        standing=Standing(entry.standing).words,
        words=(entry.kind,),
    )


def area_text(area_mm2: float) -> str:
    """A total conductor area in both systems."""
    return Size(written="", area_mm2=area_mm2).text


def _in_words(name: str) -> str:
    """A name from a file as it is said.

    >>> _in_words("rear-screen"), _in_words("usb")
    ('rear screen', 'USB')
    """
    return "USB" if name == "usb" else name.replace("-", " ")


def _range_of(name: str, entry: JoiningMethod) -> str:
    """What a method's range counts: each tail of a terminal, the tails in one end of a butt connector, or all tails."""
    if entry.kind == "terminal":
        return "Conductor, each"
    by_ends = any(one.name == name and one.rule == "barrels" for one in shipped_tables().joint_methods)
    return "Conductors in each end, added up" if by_ends else "Conductors, added up"


def method_entry(book: Book, name: str, entry: JoiningMethod) -> Entry:
    """The page of a joining method: range, steps, good and bad, how it fails, how it is looked over."""
    rows: list[tuple[str, Item]] = []
    if entry.low_mm2 is not None and entry.high_mm2 is not None:
        low, high = (gauge_text(nearest_gauge(a)) for a in (entry.low_mm2, entry.high_mm2))
        rows.append(
            (
                _range_of(name, entry),
                Item(text=f"{number(entry.low_mm2)} to {number(entry.high_mm2)} mm² (about {low} to {high})"),
            )
        )
    rows.append(
        (
            "Tails",
            Item(
                text=str(entry.tails_low)
                if entry.tails_low == entry.tails_high
                else f"{entry.tails_low} to {entry.tails_high}"
            ),
        )
    )
    if entry.suits:
        rows.append(("Places", Item(text=", ".join(entry.suits))))
    if entry.strip_mm is not None:
        rows.append(
            ("Strip", Item(text=f"{number(entry.strip_mm)} mm, unless the connector's own card says otherwise"))
        )
    rows.append(
        (
            "Sleeve",
            Item(
                text={"none": "none of its own", "plain": "plain, over the joint", "lined": "lined with adhesive"}[
                    entry.sleeve
                ]
            ),
        )
    )
    heat = [w for w, on in (("soldering iron", entry.solder), ("hot air", entry.heat_gun)) if on]
    rows.append(("Heat", Item(text=" and ".join(heat) or "none")))
    blocks: list[Block] = [Facts(heading="In short", rows=tuple(rows))]
    if entry.steps:
        blocks.append(
            Steps(
                heading="Step by step",
                steps=tuple(
                    Step(
                        text=_sentence(f"For a {s.only}: {s.do[0].lower()}{s.do[1:]}" if s.only else s.do),
                        box=Markup(pictures.caution_box(book.reference.cautions[s.caution], s.caution, ROOT))
                        if s.caution and s.caution in book.reference.cautions
                        else Markup(),
                    )
                    for s in entry.steps
                ),
            )
        )
    card = pictures.card(name, entry)
    if card:
        blocks.append(Picture(heading="The steps in pictures", html=Markup(card)))
    blocks += _bullets("A good one", entry.good, "good")
    blocks += _bullets("A bad one", entry.bad, "bad")
    blocks += _bullets("Look it over", entry.inspect)
    blocks += _bullets("How it fails", entry.fails_by)
    blocks += _bullets("Right when", entry.right_when, "good")
    blocks += _bullets("Wrong when", entry.wrong_when, "bad")
    return Entry(
        kind="method",
        name=name,
        title=entry.title,
        lead=entry.does,
        blocks=tuple(blocks),
        source=entry.source,
        standing=Standing(entry.standing).words,
        words=(entry.kind,),
    )


def feature_entry(book: Book, name: str, entry: Feature) -> Entry:
    """The page of a vehicle feature: what carries it and how it is kept, shown, and spoken of."""
    rows: list[tuple[str, Item]] = [("Said to the customer", Item(text=entry.customer))]
    if entry.safety:
        rows.append(("Safety", Item(text="It cannot be given up. A part must keep it.")))
    if entry.untouched:
        rows.append(("Radio swap", Item(text="does not reach it")))
    elif entry.needs_part:
        rows.append(("Kept by", Item(text="a part that provides it; joined wires alone do not")))
    elif entry.functions or entry.ready_ends:
        rows.append(("Kept by", Item(text="joining every wire that carries it")))
    else:
        rows.append(("Kept by", Item(text="a part that provides it: it lives in the radio that comes out")))
    if entry.radio_input:
        rows.append(("Or by", Item(text="a radio that has inputs of its own for those wires")))
    if entry.woken_by:
        woken = " or ".join(book.reference.functions[f].title.lower() for f in entry.woken_by)
        rows.append(("Brought up by", Item(text=f"{woken}; with neither driven it is lost")))
    if entry.ready_ends:
        rows.append(("Ready ends", Item(text=", ".join(_in_words(end) for end in entry.ready_ends))))
    if entry.hand_over:
        rows.append(("Shown at hand-over", Item(text=_sentence(entry.hand_over))))
    if entry.kept_in_words:
        rows.append(("When it is kept", Item(text=f"“{entry.kept_in_words}”")))
    if entry.lost_in_words:
        rows.append(("When it is lost", Item(text=f"“{entry.lost_in_words}”")))
    blocks: list[Block] = [Facts(heading="In short", rows=tuple(rows))]
    blocks += _bullets("Ask before work", entry.ask)
    return Entry(
        kind="feature",
        name=name,
        title=entry.title,
        lead=entry.does,
        blocks=tuple(blocks),
        links=_linked(("Carried by", book.links("function", entry.functions))),
        source=entry.source,
        standing=Standing(entry.standing).words,
    )


def caution_entry(book: Book, name: str, entry: Caution) -> Entry:
    """The page of a caution: the box, then what is to be done, as steps."""
    blocks: list[Block] = [Picture(heading="The caution", html=Markup(pictures.caution_box(entry, name, ROOT)))]
    if entry.actions:
        blocks.append(Steps(heading="What to do", steps=tuple(Step(text=_sentence(a)) for a in entry.actions)))
    used = tuple(
        book.link("method", m)
        for m, method in book.reference.methods.items()
        if any(step.caution == name for step in method.steps)
    )
    rows = [("Signal word", Item(text=f"{entry.word}: {SIGNAL_WORDS[entry.word]}"))]
    if entry.customer:
        rows.append(("Said to the customer", Item(text=entry.customer)))
    blocks.append(Facts(heading="About it", rows=tuple(rows)))
    return Entry(
        kind="caution",
        name=name,
        title=entry.title,
        lead="",
        blocks=tuple(blocks),
        links=_linked(("Joining methods it stands in", used)),
        source=entry.source,
        standing=Standing(entry.standing).words,
        words=(entry.word.lower(),),
    )


SIGNAL_WORDS = {
    "DANGER": "will kill or seriously injure if it is not avoided",
    "WARNING": "could kill or seriously injure",
    "CAUTION": "could injure, not seriously",
    "NOTICE": "could damage things; nobody is hurt",
}
"""Meanings by ANSI Z535.6 and ISO 3864-2, in our own words."""


def _as_written(text: str, name: str) -> Markup:
    """Lines of a file, as they stand in it; a wide one scrolls by itself."""
    return Markup('<pre tabindex="0" role="group" aria-label="{}"><code>{}</code></pre>').format(name, text)


def problem_entry(book: Book, name: str, entry: ProblemPage) -> Entry:
    """The page of a problem code."""
    blocks: list[Block] = [
        Prose(heading="Why it matters", text=entry.why),
        Picture(heading="Wrong", html=_as_written(entry.wrong, "Wrong")),
        Picture(heading="Right", html=_as_written(entry.right, "Right")),
        Facts(heading="In a message", rows=(("Code", Item(text=f"[{name}]")),)),
    ]
    return Entry(kind="problem", name=name, title=entry.title, lead=entry.what, blocks=tuple(blocks), words=(name,))


def all_entries(book: Book) -> tuple[Entry, ...]:
    """Every reference page, in the order of the contents."""
    reference = book.reference
    groups = ["supply", "ground", "control", "speaker", "line", "video", "data", "safety"]
    functions = sorted(reference.functions.items(), key=lambda f: (groups.index(f[1].group), f[1].order, f[0]))
    out = [function_entry(book, n, e) for n, e in functions]
    out += [connector_entry(book, n, e) for n, e in _by_title(reference.connectors.items())]
    out += [method_entry(book, n, e) for n, e in _by_title(reference.methods.items())]
    out += [feature_entry(book, n, e) for n, e in _by_title(reference.features.items())]
    words = ["DANGER", "WARNING", "CAUTION", "NOTICE"]
    cautions = sorted(
        reference.cautions.items(), key=lambda c: (not c[1].standing_caution, words.index(c[1].word), c[0])
    )
    out += [caution_entry(book, n, e) for n, e in cautions]
    out += [problem_entry(book, n, e) for n, e in sorted(reference.problems.items())]
    return tuple(out)


def _by_title(items: Iterable) -> list:  # type: ignore[type-arg]
    return sorted(items, key=lambda item: (item[1].title.lower(), item[0]))
