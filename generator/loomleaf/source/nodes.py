"""YAML text to located nodes: every scalar stays text and remembers its line and column.

Nothing is coerced here (``no`` stays the word "no", ``12:30`` and ``010`` stay as written). Repeated keys, tabs in
indentation, aliases that explode, deep nesting and oversized or undecodable files become Problems.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any, NoReturn

import yaml
from yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)

from ..problems import Collector, Location, Problem, Severity

MAX_BYTES = 4_000_000
MAX_DEPTH = 40
MAX_NODES = 400_000

Loader: Any = getattr(yaml, "CBaseLoader", yaml.BaseLoader)


@dataclass(slots=True)
class Scalar:
    """A value as it was written. ``plain`` is False for quoted text."""

    text: str
    line: int
    column: int
    plain: bool = True

    @property
    def nothing(self) -> bool:
        """True for an empty value, ``~`` or ``null``."""
        return self.plain and self.text in ("", "~", "null")


@dataclass(slots=True)
class Listing:
    items: list[Node]
    line: int
    column: int


@dataclass(slots=True)
class Mapping:
    """Keys keep their own place, apart from their values'."""

    keys: dict[str, Scalar]
    values: dict[str, Node]
    line: int
    column: int


Node = Scalar | Listing | Mapping


@dataclass(frozen=True, kw_only=True)
class Document:
    """One file's text and its nodes. ``root`` is None when the file could not be read as YAML."""

    file: str
    text: str
    root: Node | None

    def source_line(self, line: int) -> str:
        lines = self.text.splitlines()
        return lines[line - 1] if 0 < line <= len(lines) else ""

    def place(self, *path: str | int, key: bool = False) -> Location:
        """Where a value (or with ``key`` its key) stands; the nearest enclosing place when the path is not there."""
        node = self.root
        where = Location(file=self.file)
        if node is None:
            return where
        where = Location(file=self.file, line=node.line, column=node.column)
        for position, step in enumerate(path):
            last = position == len(path) - 1
            if isinstance(node, Mapping) and isinstance(step, str) and step in node.values:
                if last and key:
                    mark: Node = node.keys[step]
                else:
                    mark = node.values[step]
                    if isinstance(mark, Scalar) and mark.text == "":
                        mark = node.keys[step]
                node = node.values[step]
                where = Location(file=self.file, line=mark.line, column=mark.column)
            elif isinstance(node, Listing) and isinstance(step, int) and 0 <= step < len(node.items):
                node = node.items[step]
                where = Location(file=self.file, line=node.line, column=node.column)
            else:
                break
        return where


def plain(node: Node) -> Any:
    """Dicts, lists, text and None: the shape that typed models convert."""
    if isinstance(node, Scalar):
        return None if node.nothing else node.text
    if isinstance(node, Listing):
        return [plain(item) for item in node.items]
    return {key: plain(value) for key, value in node.values.items()}


class _Stop(Exception):
    """Composition cannot go on; the problem has been collected."""


def read_document(file: str, data: bytes) -> tuple[Document, tuple[Problem, ...]]:
    """Bytes of one file to a Document and what is wrong with it. Never raises on bad content."""
    found = Collector()
    nothing = Document(file=file, text="", root=None)
    if len(data) > MAX_BYTES:
        found.error(
            "file-too-large",
            f"the file has {len(data)} bytes; at most {MAX_BYTES} are read",
            Location(file=file),
            hint="split it into smaller files",
        )
        return nothing, tuple(found.problems)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        before = data[: fault.start]
        line = before.count(b"\n") + 1
        column = len(before[before.rfind(b"\n") + 1 :].decode("utf-8", "replace")) + 1
        found.error(
            "bad-encoding",
            "the file is not UTF-8 text",
            Location(file=file, line=line, column=column),
            hint="save it as UTF-8",
        )
        return nothing, tuple(found.problems)
    document = Document(file=file, text=text, root=None)
    if not text.strip():
        found.error("empty-file", "the file is empty", Location(file=file), hint="delete it, or fill it in")
        return document, tuple(found.problems)
    hidden = _HIDDEN.search(text)
    if hidden is not None:
        bad = hidden.start()
        line = text.count("\n", 0, bad) + 1
        found.error(
            "control-character",
            f"the file holds the hidden character U+{ord(text[bad]):04X}",
            Location(file=file, line=line, column=bad - text.rfind("\n", 0, bad)),
            hint="delete it; hidden and direction-changing characters are not allowed",
        )
        return document, tuple(found.problems)
    tab = _tab_in_indent(text)
    if tab is not None:
        found.error(
            "tab-indent",
            "the line is indented with a tab",
            Location(file=file, line=tab[0], column=tab[1]),
            hint="indent with spaces",
        )
        return document, tuple(found.problems)
    try:
        root = _Composer(file, text, found).compose()
    except _Stop:
        return document, tuple(found.problems)
    except yaml.YAMLError as fault:
        found.problems.append(_ill_formed(file, text, fault))
        return document, tuple(found.problems)
    if root is None:
        found.error("empty-file", "the file holds only comments", Location(file=file), hint="delete it, or fill it in")
    return Document(file=file, text=text, root=root), tuple(found.problems)


_HIDDEN = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f"  # control characters but tab and line ends
    "\u200e\u200f\u202a-\u202e\u2066-\u2069"  # direction of writing
    "\ufeff\u2028\u2029]"  # a second byte order mark, line ends that nobody sees
)


def _tab_in_indent(text: str) -> tuple[int, int] | None:
    if "\t" not in text:
        return None
    for number, line in enumerate(text.splitlines(), 1):
        indent = line[: len(line) - len(line.lstrip(" \t"))]
        if "\t" in indent and line.strip() and not line.lstrip().startswith("#"):
            return number, indent.index("\t") + 1
    return None


def _ill_formed(file: str, text: str, fault: yaml.YAMLError) -> Problem:
    """Where the slip is, not where the parser noticed it: a quote or bracket is told at its opening."""
    said = str(getattr(fault, "problem", None) or "cannot be read")
    within = str(getattr(fault, "context", None) or "")
    noticed, began = getattr(fault, "problem_mark", None), getattr(fault, "context_mark", None)
    deep = "nesting depth" in said
    mark, what, hint = noticed or began, said, "compare the indentation with the lines above"
    if deep:
        what, hint = f"the nesting is deeper than {MAX_DEPTH} levels", "flatten it"
    elif "mapping values are not allowed" in said:
        hint = "put quotes around a value that holds a colon and a space"
    elif "cannot start any token" in said:
        hint = "put quotes around the value"
    elif "quoted scalar" in within and "end of stream" in said:
        mark, what, hint = began, "the quote that opens here is never closed", "put the closing quote behind the value"
    elif "could not find expected ':'" in said:
        mark, what, hint = began, "there is no colon with a space behind it in this line", "write  key: value"
    elif "flow" in within and began is not None and noticed is not None:
        close = "]" if "sequence" in within else "}"
        if noticed.line == began.line:
            what, hint = f"a comma or {close} is missing before this", f"a comma between entries, {close} after the last"
        else:
            mark, what = began, f"what opens here is not closed before line {noticed.line + 1}"
            hint = f"put {close} after its last entry; a # with a space before it begins a comment"
    elif "did not find expected key" in said and noticed is not None and _stands_before(text, noticed.line, noticed.column):
        what, hint = "this is left over behind a value", "take it away, or put the whole value in quotes"
    where = Location(file=file, line=mark.line + 1, column=mark.column + 1) if mark else Location(file=file)
    return Problem(
        code="too-deep" if deep else "bad-yaml",
        severity=Severity.ERROR,
        message=what if deep else f"this is not well-formed YAML: {what}",
        location=where,
        hint=hint,
    )


def _stands_before(text: str, line: int, column: int) -> bool:
    lines = text.split("\n")
    return line < len(lines) and bool(lines[line][:column].strip())


@dataclass(slots=True)
class _Open:
    """A listing or mapping that is not closed yet; in a mapping, the key whose value is to come."""

    node: Listing | Mapping
    anchor: str | None
    key: Scalar | None = None


class _Composer:
    """Builds nodes from parser events without recursion, so that depth cannot overflow the stack."""

    def __init__(self, file: str, text: str, found: Collector) -> None:
        self.file = file
        self.text = text
        self.found = found
        self.anchors: dict[str, Node] = {}
        self.weights: dict[int, int] = {}
        self.count = 0

    def compose(self) -> Node | None:
        """The root of the file's one document. The kinds of event are asked for in the order of how often they come."""
        root: Node | None = None
        stack: list[_Open] = []
        loader = Loader(self.text)
        next_event = loader.get_event
        try:
            while (event := next_event()) is not None:
                kind = type(event)
                if kind is ScalarEvent:
                    mark = event.start_mark
                    node: Node = Scalar(event.value, mark.line + 1, mark.column + 1, not event.style)
                    self.count += 1
                    if event.anchor:
                        self.anchors[event.anchor] = node
                elif kind is MappingStartEvent or kind is SequenceStartEvent:
                    mark = event.start_mark
                    line, column = mark.line + 1, mark.column + 1
                    opened = Mapping({}, {}, line, column) if kind is MappingStartEvent else Listing([], line, column)
                    self.count += 1
                    if len(stack) >= MAX_DEPTH:
                        self._fail("too-deep", f"the nesting is deeper than {MAX_DEPTH} levels", event, "flatten it")
                    stack.append(_Open(opened, event.anchor))
                    continue
                elif kind is MappingEndEvent or kind is SequenceEndEvent:
                    closed = stack.pop()
                    node = closed.node
                    if closed.anchor:
                        self.anchors[closed.anchor] = node
                elif kind is AliasEvent:
                    known = self.anchors.get(event.anchor)
                    if known is None:
                        self._fail("unknown-alias", f"'*{event.anchor}' names nothing above it", event, "")
                    node = known
                    self.count += self._weight(node)
                else:
                    if kind is DocumentStartEvent and root is not None:
                        self._fail("several-documents", "the file holds more than one document", event, "keep one a file")
                    continue
                if self.count > MAX_NODES:
                    self._fail(
                        "too-many-values", f"the file unfolds to more than {MAX_NODES} values", event, "use fewer aliases"
                    )
                if not stack:
                    root = node
                    continue
                parent = stack[-1]
                into = parent.node
                if isinstance(into, Listing):
                    into.items.append(node)
                elif parent.key is None:
                    parent.key = self._key(into, node, event)
                else:
                    into.values.setdefault(parent.key.text, node)
                    parent.key = None
        finally:
            loader.dispose()
        return root

    def _key(self, into: Mapping, node: Node, event: Any) -> Scalar:
        if not isinstance(node, Scalar):
            self._fail("bad-key", "a key must be a single word or text", event, "put quotes around it")
        if node.text not in into.keys:
            into.keys[node.text] = node
        else:
            first = into.keys[node.text]
            self.found.error(
                "duplicate-key",
                f"the key '{node.text}' stands here a second time (first on line {first.line})",
                Location(file=self.file, line=node.line, column=node.column),
                hint="keep one of the two",
            )
        return node

    def _weight(self, node: Node) -> int:
        known = self.weights.get(id(node))
        if known is None:
            if isinstance(node, Scalar):
                known = 1
            elif isinstance(node, Listing):
                known = 1 + sum(self._weight(item) for item in node.items)
            else:
                known = 1 + sum(1 + self._weight(value) for value in node.values.values())
            self.weights[id(node)] = known
        return known

    def _fail(self, code: str, message: str, event: Any, hint: str) -> NoReturn:
        mark = event.start_mark
        self.found.error(code, message, Location(file=self.file, line=mark.line + 1, column=mark.column + 1), hint=hint)
        raise _Stop
