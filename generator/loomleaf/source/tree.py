"""The one place that reads: a shop folder's files into Documents, and chapters into text. Nothing is interpreted here.

Symbolic links that leave the shop folder are refused; file names decide nothing but order and messages.
"""

from __future__ import annotations

import os
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
    """Everything read from one shop folder, by folder; ``shipped`` holds the reference that comes with the program."""

    root: str
    single: dict[str, Document] = field(default_factory=dict)
    folders: dict[str, tuple[Document, ...]] = field(default_factory=dict)
    shipped: tuple[Document, ...] = ()
    chapters: tuple[Chapter, ...] = ()
    shipped_chapters: tuple[Chapter, ...] = ()

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


def read_tree(shop: Path, shipped: Path) -> tuple[Tree, tuple[Problem, ...]]:
    """Read a shop folder, and the shipped reference from ``shipped`` when that is another folder."""
    found = Collector()
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
            document = _read(path, name, top, found)
            if document is not None:
                single[name] = document
        elif name == "shop.yaml":
            found.error(
                "no-shop-file",
                "the shop folder has no shop.yaml",
                Location(file="shop.yaml"),
                hint="a first one is written by: loomleaf begin shop FOLDER",
            )
    folders = {name: _read_folder(shop / name, name, top, found) for name in FOLDERS}
    same = os.path.realpath(shipped) == top
    shipped_documents: tuple[Document, ...] = ()
    if not same:
        shipped_documents = _read_folder(shipped / "reference", "shipped/reference", os.path.realpath(shipped), found)
    chapters = _read_chapters(shop / "handbook", "handbook", top, found)
    shipped_chapters = (
        () if same else _read_chapters(shipped / "handbook", "shipped/handbook", os.path.realpath(shipped), found)
    )
    tree = Tree(
        root=str(shop),
        single=single,
        folders=folders,
        shipped=shipped_documents,
        chapters=chapters,
        shipped_chapters=shipped_chapters,
    )
    return tree, tuple(found.problems)


def _names(folder: Path, ending: str) -> list[str]:
    try:
        return sorted(n for n in os.listdir(folder) if n.endswith(ending) and not n.startswith("."))
    except (FileNotFoundError, NotADirectoryError):
        return []


def _read_folder(folder: Path, shown: str, top: str, found: Collector) -> tuple[Document, ...]:
    out = []
    for name in _names(folder, ".yaml"):
        document = _read(folder / name, f"{shown}/{name}", top, found)
        if document is not None:
            out.append(document)
    for name in _names(folder, ".yml"):
        found.warning(
            "file-passed-over",
            "files that end in .yml are not read",
            Location(file=f"{shown}/{name}"),
            hint="rename it to end in .yaml",
        )
    return tuple(out)


def _read_chapters(folder: Path, shown: str, top: str, found: Collector) -> tuple[Chapter, ...]:
    out = []
    for name in _names(folder, ".md"):
        data = _bytes(folder / name, f"{shown}/{name}", top, found)
        if data is None:
            continue
        try:
            out.append(Chapter(file=f"{shown}/{name}", text=data.decode("utf-8-sig")))
        except UnicodeDecodeError:
            found.error(
                "bad-encoding", "the file is not UTF-8 text", Location(file=f"{shown}/{name}"), hint="save it as UTF-8"
            )
    return tuple(out)


def _read(path: Path, shown: str, top: str, found: Collector) -> Document | None:
    data = _bytes(path, shown, top, found)
    if data is None:
        return None
    document, problems = read_document(shown, data)
    found.problems.extend(problems)
    return document


def _bytes(path: Path, shown: str, top: str, found: Collector) -> bytes | None:
    real = os.path.realpath(path)
    if os.path.commonpath([real, top]) != top:
        found.error(
            "link-outside",
            "the file is a link that leads out of the shop folder",
            Location(file=shown),
            hint="copy the file in",
        )
        return None
    try:
        if os.path.getsize(real) > MAX_BYTES:
            found.error(
                "file-too-large",
                f"the file has {os.path.getsize(real)} bytes; at most {MAX_BYTES} are read",
                Location(file=shown),
                hint="split it into smaller files",
            )
            return None
        with open(real, "rb") as handle:
            return handle.read()
    except OSError as fault:
        found.error("cannot-read", f"the file cannot be read: {fault.strerror}", Location(file=shown))
        return None
