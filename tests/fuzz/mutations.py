"""Mutations of the demo shop: what a hurried or hostile hand could make of its files, as values in memory."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from random import Random
from typing import Any
from unittest.mock import patch

from loomleaf.check import library as library_module
from loomleaf.check.convert import convert, convert_node
from loomleaf.check.library import build_library
from loomleaf.check.rules import run_rules
from loomleaf.pipeline import Loaded, plan_jobs
from loomleaf.places import content_folder
from loomleaf.plan.as_json import plan_json
from loomleaf.plan.as_text import plan_text
from loomleaf.problems import Collector, Problem, in_order
from loomleaf.source.nodes import Document, Listing, Mapping, Scalar, read_document
from loomleaf.source.tree import FOLDERS, SINGLE, Tree

CONTENT = content_folder()

WORDS = (
    "", "~", "null", "no", "yes", "0", "-1", "1e9", "999999999999", "0.000001", "nan", "inf", "-0", "1/0",
    "2026-02-30", "9999-12-31", "0001-01-01", "[]", "{}", "[[]]", "{a: 1}", "[1, 2]", "''", "'x'", "\"\"", "*a",
    "&a x", "!!int x", "|", ">", "- x", "? x", ": ", "#", "@", "`", "%", "0 mm2", "-1 mm2", "9999 mm2", "0.01 mm2",
    "40 AWG", "4/0 AWG", "0 V", "OL", "-12 V", "1e6 ohm", "0 ohm", "4 || 4", "4 + 4", "yellow", "white/black",
    "ground", "supply-constant", "supply-switched", "airbag", "speaker-front-left", "amplifier-turn-on", "can-high",
    "mute", "illumination", "reverse", "plus", "minus", "shield", "high", "low", "vehicle", "radio", "module",
    "accessory", "plain", "active", "data", "meter", "leaflet", "colour", "corvane-16", "wheatear-r2",
    "dunnock-amp-4", "corvane-heron-2016", "solder-and-sleeve", "butt-connector", "held", "build", "plug-in",
    "24 V", "48 V", "\u202e", "\x00", "\x1b", "é", "漢", "\U0001f600", "A" * 5000, "../x", "{{ x }}", "<b>", "=1+1",
    "1,5", "１２", "²", "5 W lamp", "5 A", "asleep", "key-on",
)  # fmt: skip


def shop_files() -> dict[str, str]:
    """Every YAML file of the demo, by name."""
    names = [name for name in SINGLE if (CONTENT / name).exists()]
    names += [f"{folder}/{path.name}" for folder in FOLDERS for path in sorted((CONTENT / folder).glob("*.yaml"))]
    return {name: (CONTENT / name).read_text("utf-8") for name in names}


FILES = shop_files()
SMALL = tuple(name for name in FILES if not name.startswith("reference/"))


def mutated(seed: int) -> tuple[str, str]:
    """The name of one file and its changed text. The same seed gives the same."""
    pick = Random(seed)
    name = pick.choice(SMALL if pick.random() < 0.9 else tuple(FILES))
    text = FILES[name]
    for _ in range(pick.choice((1, 1, 1, 2, 3, 8))):
        text = pick.choice(CHANGES)(text, pick)
    return name, text


def _line(text: str, pick: Random) -> tuple[list[str], int]:
    lines = text.split("\n")
    return lines, pick.randrange(len(lines))


def _drop_line(text: str, pick: Random) -> str:
    lines, at = _line(text, pick)
    del lines[at]
    return "\n".join(lines)


def _double_line(text: str, pick: Random) -> str:
    lines, at = _line(text, pick)
    return "\n".join([*lines[:at], lines[at], *lines[at:]])


def _swap_lines(text: str, pick: Random) -> str:
    lines, one = _line(text, pick)
    other = pick.randrange(len(lines))
    lines[one], lines[other] = lines[other], lines[one]
    return "\n".join(lines)


def _indent(text: str, pick: Random) -> str:
    lines, at = _line(text, pick)
    lines[at] = pick.choice(("  ", "    ", "\t", " ")) + lines[at] if pick.random() < 0.5 else lines[at][1:]
    return "\n".join(lines)


def _value(text: str, pick: Random) -> str:
    """Another value where one stands behind a colon."""
    places = [at for at in range(len(text) - 1) if text[at] == ":" and text[at + 1] == " "]
    if not places:
        return text
    start = pick.choice(places) + 2
    end = min((at for at in (text.find(c, start) for c in ",}]\n") if at >= 0), default=len(text))
    return text[:start] + pick.choice(WORDS) + text[end:]


def _key(text: str, pick: Random) -> str:
    places = [at for at in range(len(text) - 1) if text[at] == ":" and text[at + 1] in " \n"]
    if not places:
        return text
    end = pick.choice(places)
    start = max(text.rfind(c, 0, end) for c in " {\n,") + 1
    return text[:start] + pick.choice(("x", "on", "job", "tails", "at", "function", "<<", "parts", "1")) + text[end:]


def _character(text: str, pick: Random) -> str:
    at = pick.randrange(len(text) + 1)
    return text[:at] + pick.choice("\n\t :{}[],'\"#&*!|>%@`\\-?\0\u2028é") + text[at + pick.randrange(2) :]


def _cut(text: str, pick: Random) -> str:
    start = pick.randrange(len(text) + 1)
    return text[:start] + text[start + pick.randrange(200) :]


def _copy(text: str, pick: Random) -> str:
    start, to = pick.randrange(len(text) + 1), pick.randrange(len(text) + 1)
    return text[:to] + text[start : start + pick.randrange(200)] + text[to:]


def _other_file(text: str, pick: Random) -> str:
    return FILES[pick.choice(SMALL)]


def _number(text: str, pick: Random) -> str:
    places = [at for at in range(len(text)) if text[at].isdigit() and not text[at - 1 : at].isalnum()]
    if not places:
        return text
    start = pick.choice(places)
    end = start
    while end < len(text) and (text[end].isdigit() or text[end] == "."):
        end += 1
    return text[:start] + pick.choice(("0", "-1", "1", "2", "0.001", "7", "100000", "1e3", "99999999", "0.5")) + text[end:]


CHANGES = (
    _drop_line, _double_line, _swap_lines, _indent, _value, _value, _value, _value, _value, _key, _character, _cut,
    _copy, _number, _number, _number, _other_file,
)  # fmt: skip


class Shop:
    """The demo read once; a changed file is read in place of its own. What is not changed is converted once."""

    def __init__(self) -> None:
        self.documents = {name: read_document(name, text.encode("utf-8")) for name, text in FILES.items()}
        self.own = {id(document) for document, _ in self.documents.values()}
        self.converted: dict[tuple[object, ...], tuple[Any, list[Problem]]] = {}

    def _once(self, convert: Callable[..., Any]) -> Callable[..., Any]:
        def converted(document: Document, *more: Any) -> Any:
            *which, found = more
            if id(document) not in self.own:
                return convert(document, *which, found)
            key = (id(document), *(id(part) if isinstance(part, (Scalar, Listing, Mapping)) else part for part in which))
            if key not in self.converted:
                own = Collector()
                self.converted[key] = convert(document, *which, own), own.problems
            value, problems = self.converted[key]
            found.problems.extend(problems)
            return value

        return converted

    def with_file(self, name: str, data: bytes) -> Loaded:
        """Stages 1 and 2, with one file changed."""
        documents = {**self.documents, name: read_document(name, data)}
        tree = Tree(
            root=str(Path("shop")),
            single={name: documents[name][0] for name in SINGLE if name in documents},
            folders={
                folder: tuple(documents[n][0] for n in sorted(documents) if n.startswith(f"{folder}/"))
                for folder in FOLDERS
            },
            digests={name: "0" for name in documents},
        )
        with (
            patch.object(library_module, "convert", self._once(convert)),
            patch.object(library_module, "convert_node", self._once(convert_node)),
        ):
            library, problems = build_library(tree)
        found = run_rules(library)
        read_problems = [p for _, some in documents.values() for p in some]
        return Loaded(tree=tree, library=library, problems=in_order([*read_problems, *problems, *found]))


def worked_out(shop: Shop, name: str, data: bytes, most: int = 1000) -> int:
    """Read, check and plan, and say it all as text and JSON. Any exception is a fault of the program.

    Only the jobs are planned that the changed file can touch. Returns how many problems were found.
    """
    loaded = shop.with_file(name, data)
    stem = name.partition("/")[2].removesuffix(".yaml")
    touched = [
        number
        for number, entry in sorted(loaded.library.jobs.items())
        if name.startswith(("reference/", "shop", "stock"))
        or entry.document.file == name
        or entry.value.vehicle == stem
        or stem in entry.value.parts
    ]
    plans, problems = plan_jobs(loaded, tuple(touched[:most])) if touched else ({}, loaded.problems)
    for problem in problems:
        problem.full(loaded.tree.source_line(problem.location.file, problem.location.line))
    for plan in plans.values():
        plan_json(plan)
        plan_text(plan)
    return len(problems)
