"""The shipped reference sections under test, read the same way as the program reads them."""

from __future__ import annotations

import functools
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from loomleaf.model.reference import ReferenceFile
from loomleaf.source.nodes import plain, read_document

FOLDER = Path(__file__).resolve().parents[2] / "content" / "reference"
SECTIONS = ("functions", "meetings", "refusals", "connectors", "methods", "features", "cautions", "sources")


@functools.cache
def raw(section: str) -> dict[str, Any]:
    """One file as plain text values."""
    path = FOLDER / f"{section}.yaml"
    document, problems = read_document(path.name, path.read_bytes())
    assert problems == (), problems
    assert document.root is not None
    value = plain(document.root)
    assert isinstance(value, dict)
    return value


@functools.cache
def reference() -> ReferenceFile:
    """All eight sections, typed."""
    return ReferenceFile.model_validate({section: raw(section)[section] for section in SECTIONS})


@functools.cache
def source_ids() -> frozenset[str]:
    """Every source of the shipped bibliography, whichever file it stands in."""
    found: set[str] = set()
    for path in sorted(FOLDER.glob("*.yaml")):
        document, problems = read_document(path.name, path.read_bytes())
        assert problems == () and document.root is not None, path.name
        found |= set(plain(document.root).get("sources") or {})
    return frozenset(found)


def texts(value: Any, where: str = "") -> Iterator[tuple[str, str]]:
    """Every text inside plain values with the place it stands in, keys left out."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from texts(inner, f"{where}/{key}")
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from texts(inner, f"{where}/{index}")
    elif isinstance(value, str):
        yield where, value
