"""The one place that reads: a shop folder's files into Documents, and chapters into text. Nothing is interpreted here.

Symbolic links that leave the shop folder are refused; file names decide nothing but order and messages.
"""

from __future__ import annotations

import hashlib
import os
import stat
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from ..problems import Collector, Location, Problem
from .nodes import MAX_BYTES, Document, read_document

FOLDERS = ("reference", "vehicles", "leads", "jobs", "issued", "readings", "crew")
SINGLE = ("shop.yaml", "stock.yaml")


@dataclass(frozen=True, kw_only=True)
class Chapter:
    """A Markdown file of handbook/, as text."""

    file: str
    text: str


@dataclass(frozen=True, kw_only=True)
class Tree:
    """Everything read from one shop folder, by folder; ``shipped`` holds the reference that comes with the program.

    ``digests`` has the SHA-256 of every file that was read, or why it was not, by the name that messages give it.
    """

    root: str
    single: dict[str, Document] = field(default_factory=dict)
    folders: dict[str, tuple[Document, ...]] = field(default_factory=dict)
    shipped: tuple[Document, ...] = ()
    chapters: tuple[Chapter, ...] = ()
    shipped_chapters: tuple[Chapter, ...] = ()
    digests: dict[str, str] = field(default_factory=dict)

    @property
    def documents(self) -> tuple[Document, ...]:
        """Every document, shipped ones included."""
        found = list(self.shipped) + list(self.single.values())
        for group in self.folders.values():
            found.extend(group)
        return tuple(found)

    def source_line(self, file: str, line: int) -> str:
        """One line of a file that was read, for carets; "" when it was not."""
        for document in self.documents:
            if document.file == file:
                return document.source_line(line)
        for chapter in self.chapters + self.shipped_chapters:
            if chapter.file == file:
                lines = chapter.text.splitlines()
                return lines[line - 1] if 0 < line <= len(lines) else ""
        return ""


def digests_of(shop: Path, shipped: Path) -> dict[str, str]:
    """What ``read_tree`` would give as ``digests``: the same files, read and not parsed."""
    return read_tree(shop, shipped, parse=lambda file, data: (Document(file=file, text="", root=None), ()))[0].digests


@dataclass(frozen=True, kw_only=True)
class _Reading:
    """One going through a folder: how bytes become documents, and what was found on the way."""

    parse: Callable[[str, bytes], tuple[Document, tuple[Problem, ...]]]
    found: Collector
    digests: dict[str, str]

    def refuse(self, code: str, message: str, shown: str, hint: str = "") -> None:
        self.found.error(code, message, Location(file=shown), hint=hint)
        self.digests[shown] = f"{code}: {message}"


def read_tree(
    shop: Path,
    shipped: Path,
    parse: Callable[[str, bytes], tuple[Document, tuple[Problem, ...]]] = read_document,
) -> tuple[Tree, tuple[Problem, ...]]:
    """Read a shop folder, and the shipped reference from ``shipped`` when that is another folder."""
    found = Collector()
    reading = _Reading(parse=parse, found=found, digests={})
    if not shop.is_dir():
        found.error(
            "no-shop",
            f"there is no shop folder '{shop.name}'",
            Location(file=shop.name),
            hint="name one with --shop, or make one with: loomleaf begin shop FOLDER",
        )
        return Tree(root=str(shop)), tuple(found.problems)
    top = os.path.realpath(shop)
    single = {}
    for name in SINGLE:
        path = shop / name
        if path.exists():
            document = _read(path, name, top, reading)
            if document is not None:
                single[name] = document
        elif name == "shop.yaml":
            found.error(
                "no-shop-file",
                "the shop folder has no shop.yaml",
                Location(file="shop.yaml"),
                hint="a first one is written by: loomleaf begin shop FOLDER",
            )
    folders = {name: _read_folder(shop / name, name, top, reading) for name in FOLDERS}
    same = os.path.realpath(shipped) == top
    shipped_documents: tuple[Document, ...] = ()
    if not same:
        shipped_documents = _read_folder(shipped / "reference", "shipped/reference", os.path.realpath(shipped), reading)
    chapters = _read_chapters(shop / "handbook", "handbook", top, reading)
    shipped_chapters = (
        () if same else _read_chapters(shipped / "handbook", "shipped/handbook", os.path.realpath(shipped), reading)
    )
    tree = Tree(
        root=str(shop),
        single=single,
        folders=folders,
        shipped=shipped_documents,
        chapters=chapters,
        shipped_chapters=shipped_chapters,
        digests=reading.digests,
    )
    return tree, tuple(found.problems)


def _names(folder: Path, shown: str, ending: str, reading: _Reading) -> list[str]:
    try:
        names = sorted(n for n in os.listdir(folder) if n.endswith(ending) and not n.startswith("."))
    except (FileNotFoundError, NotADirectoryError):
        return []
    except OSError as fault:
        reading.refuse("cannot-read", f"the folder cannot be read: {fault.strerror}", shown)
        return []
    for name in names:
        if not name.isprintable():
            clean = "".join(c if c.isprintable() else "?" for c in name)
            reading.refuse(
                "bad-file-name",
                "the file's name holds a hidden or unreadable character, so it is not read",
                f"{shown}/{clean}",
                hint="rename it",
            )
    return [name for name in names if name.isprintable()]


def _read_folder(folder: Path, shown: str, top: str, reading: _Reading) -> tuple[Document, ...]:
    out = []
    for name in _names(folder, shown, ".yaml", reading):
        document = _read(folder / name, f"{shown}/{name}", top, reading)
        if document is not None:
            out.append(document)
    for name in _names(folder, shown, ".yml", reading):
        reading.digests[f"{shown}/{name}"] = "passed over"
        reading.found.warning(
            "file-passed-over",
            "files that end in .yml are not read",
            Location(file=f"{shown}/{name}"),
            hint="rename it to end in .yaml",
        )
    return tuple(out)


def _read_chapters(folder: Path, shown: str, top: str, reading: _Reading) -> tuple[Chapter, ...]:
    out = []
    for name in _names(folder, shown, ".md", reading):
        data = _bytes(folder / name, f"{shown}/{name}", top, reading)
        if data is None:
            continue
        try:
            out.append(Chapter(file=f"{shown}/{name}", text=data.decode("utf-8-sig")))
        except UnicodeDecodeError:
            reading.found.error(
                "bad-encoding", "the file is not UTF-8 text", Location(file=f"{shown}/{name}"), hint="save it as UTF-8"
            )
    return tuple(out)


def _read(path: Path, shown: str, top: str, reading: _Reading) -> Document | None:
    data = _bytes(path, shown, top, reading)
    if data is None:
        return None
    document, problems = reading.parse(shown, data)
    reading.found.problems.extend(problems)
    return document


def _bytes(path: Path, shown: str, top: str, reading: _Reading) -> bytes | None:
    real = os.path.realpath(path) if os.path.islink(path) or os.path.islink(path.parent) else str(path)
    if real != str(path) and os.path.commonpath([real, top]) != top:
        reading.refuse(
            "link-outside", "the file is a link that leads out of the shop folder", shown, hint="copy the file in"
        )
        return None
    try:
        about = os.stat(real)
        size = about.st_size
        if not stat.S_ISREG(about.st_mode):
            reading.refuse("cannot-read", "this is not a plain file, so it is not read", shown)
            return None
        if size > MAX_BYTES:
            reading.refuse(
                "file-too-large",
                f"the file has {size} bytes; at most {MAX_BYTES} are read",
                shown,
                hint="split it into smaller files",
            )
            return None
        with open(real, "rb") as handle:
            data = handle.read(MAX_BYTES + 1)
    except OSError as fault:
        reading.refuse("cannot-read", f"the file cannot be read: {fault.strerror}", shown)
        return None
    reading.digests[shown] = hashlib.sha256(data).hexdigest()
    return data
