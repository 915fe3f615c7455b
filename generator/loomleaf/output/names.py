"""Names of files to be written: checked before anything touches the disk."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

from ..problems import Collector, Problem

MAX_PART_BYTES = 200  # of one folder or file name; most file systems stop at 255, and temporaries need room
MAX_NAME_BYTES = 1000


def name_fault(name: str) -> str:
    """Why a name cannot be written below the output folder; "" when it can.

    A name is relative, with forward slashes: ``jobs/2041/bench.pdf``.

    >>> name_fault("jobs/2041/bench.pdf")
    ''
    >>> name_fault("../bench.pdf")
    "it holds '..', which may lead elsewhere"
    """
    if not name:
        return "it is empty"
    if len(name.encode("utf-8", "replace")) > MAX_NAME_BYTES:
        return f"it is longer than {MAX_NAME_BYTES} bytes"
    for part in name.split("/"):
        if part in ("", "."):
            return "it holds an empty step"
        if part == "..":
            return "it holds '..', which may lead elsewhere"
        if len(part.encode("utf-8", "replace")) > MAX_PART_BYTES:
            return f"a step of it is longer than {MAX_PART_BYTES} bytes"
        if part != part.strip() or part.endswith("."):
            return "a step of it begins or ends with a space or ends with a point"
        bad = next((c for c in part if not c.isprintable() or c in '\\:*?"<>|'), None)
        if bad is not None:
            return f"it holds the character U+{ord(bad):04X}"
    return ""


def check_names(names: Iterable[str], *, reserved: Iterable[str] = ()) -> tuple[Problem, ...]:
    """Every name that cannot be written, and every two that some file systems would take for the same."""
    found = Collector()
    kept = set(reserved)
    seen: dict[str, str] = {}
    folders: dict[str, str] = {}
    for name in sorted(names):
        fault = name_fault(name)
        if not fault and name in kept:
            fault = "the name is kept for the program's own use"
        if fault:
            found.error("bad-output-name", f"'{_shown(name)}' cannot be the name of a file to write: {fault}")
            continue
        folded = _folded(name)
        if folded in seen:
            other = _shown(seen[folded])
            found.error("bad-output-name", f"'{_shown(name)}' and '{other}' are the same name on some computers")
        seen[folded] = name
        steps = folded.split("/")
        for count in range(1, len(steps)):
            folders.setdefault("/".join(steps[:count]), name)
    for folded in sorted(set(seen) & set(folders)):
        found.error(
            "bad-output-name",
            f"'{_shown(seen[folded])}' is to be a file, and a folder that holds '{_shown(folders[folded])}'",
        )
    return tuple(found.problems)


def _folded(name: str) -> str:
    return unicodedata.normalize("NFC", name).casefold()


def _shown(name: str) -> str:
    return "".join(c if c.isprintable() else "?" for c in name[:120])
