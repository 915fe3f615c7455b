"""The list of what was written: one SHA-256 digest a file, in the lines that ``sha256sum -c`` reads."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping
from pathlib import Path

MANIFEST = "manifest.sha256"

_LINE = re.compile(r"(?P<digest>[0-9a-f]{64})  (?P<name>.+)")


def digest(data: bytes) -> str:
    """SHA-256 (FIPS 180-4) in hexadecimal.

    >>> digest(b"abc")[:16]
    'ba7816bf8f01cfea'
    """
    return hashlib.sha256(data).hexdigest()


def manifest_bytes(digests: Mapping[str, str]) -> bytes:
    """The manifest's text: a line a file, by name."""
    return "".join(f"{digests[name]}  {name}\n" for name in sorted(digests)).encode("utf-8")


def read_manifest(data: bytes) -> dict[str, str] | None:
    """Name to digest, or None when this is not a manifest of ours."""
    digests = {}
    try:
        lines = data.decode("utf-8").split("\n")
    except UnicodeDecodeError:
        return None
    if lines.pop() != "":
        return None
    for line in lines:
        match = _LINE.fullmatch(line)
        if match is None:
            return None
        digests[match["name"]] = match["digest"]
    return digests


def standing_files(area: Path) -> tuple[str, ...]:
    """The names in an area's manifest, and the manifest's own; none when there is no manifest."""
    try:
        recorded = read_manifest((area / MANIFEST).read_bytes())
    except OSError:
        return ()
    return (*sorted(recorded), MANIFEST) if recorded is not None else ()
