"""What was made from what, so that nothing is made twice.

``OUT/.loomleaf/record.json`` holds, for each job and each way of printing it, a digest of everything its sheets were made
from, and a mark of every file that was written. A job whose digest and files are as they were is left as it is. For a
whole command it also holds what was said, so that a run in which nothing changed reads and hashes the content and is done.

The record is a convenience and nothing else: when it is missing, cannot be read or was written by another version of
the program, everything is made afresh. What counts is bytes: of the shop's files, of the program and of its templates.
"""

from __future__ import annotations

import hashlib
import json
import os
import sys
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from importlib import metadata
from pathlib import Path
from typing import Any

from ..places import templates_folder
from ..problems import Problem
from .write import RECORD, WORK, write_file

SHAPE = 1  # of the record; another one is not read
MOST_RUNS = 40  # whole commands kept
LIBRARIES = ("weasyprint", "pydyf", "fonttools", "tinycss2", "cssselect2", "jinja2", "markdown", "nh3", "pydantic")

Mark = tuple[int, int]


@dataclass(frozen=True, kw_only=True)
class Made:
    """Sheets as they were written. ``files`` are names below the output folder with their marks."""

    made_from: str
    files: dict[str, Mark]
    held: int = 0  # how many reasons the job was held for


@dataclass(frozen=True, kw_only=True)
class Run:
    """One whole command that ended: what it was made from, which files stood at its end, and what it said."""

    made_from: str
    files: dict[str, Mark]
    out: str
    err: str
    code: int


@dataclass(kw_only=True)
class Record:
    """All that is remembered of one output folder. Entries are replaced as sheets are made, then saved."""

    folder: Path
    program: str
    made: dict[str, dict[str, Made]] = field(default_factory=dict)
    runs: dict[str, Run] = field(default_factory=dict)

    def standing(self, way: str, job: str, made_from: str) -> Made | None:
        """What is known of a job's sheets, when they were made from the same and still stand as they were written."""
        made = self.made.get(way, {}).get(job)
        if made is None or made.made_from != made_from or not stand(self.folder, made.files):
            return None
        return made

    def same_run(self, command: str, made_from: str) -> Run | None:
        """What a command said the last time, when nothing has changed since."""
        run = self.runs.get(command)
        if run is None or run.made_from != made_from or not stand(self.folder, run.files):
            return None
        return run

    def remember(self, way: str, job: str, made: Made) -> None:
        self.made.setdefault(way, {})[job] = made

    def keep_jobs(self, jobs: Iterable[str]) -> None:
        """Forget jobs that are no more."""
        known = set(jobs)
        for way in self.made.values():
            for gone in [job for job in way if job not in known]:
                del way[gone]

    def remember_run(self, command: str, run: Run) -> None:
        self.runs.pop(command, None)
        self.runs[command] = run
        for old in list(self.runs)[:-MOST_RUNS]:
            del self.runs[old]

    def save(self) -> tuple[Problem, ...]:
        """Write it beside the output."""
        data = {
            "shape": SHAPE,
            "program": self.program,
            "made": {way: {job: vars(made) for job, made in jobs.items()} for way, jobs in self.made.items()},
            "runs": {command: vars(run) for command, run in self.runs.items()},
        }
        return write_file(self.folder / WORK / RECORD, json.dumps(data, ensure_ascii=True, separators=(",", ":")))


def read_record(out: Path) -> Record:
    """The record of an output folder; an empty one when there is none that this program can use."""
    program = program_digest()
    empty = Record(folder=out, program=program)
    path = out / WORK / RECORD
    try:
        if path.is_symlink() or path.parent.is_symlink():
            return empty
        data = json.loads(path.read_bytes())
        if data["shape"] != SHAPE or data["program"] != program:
            return empty
        return Record(
            folder=out,
            program=program,
            made={
                str(way): {str(job): _made(entry) for job, entry in jobs.items()} for way, jobs in data["made"].items()
            },
            runs={str(command): _run(entry) for command, entry in data["runs"].items()},
        )
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return empty


def _made(entry: Mapping[str, Any]) -> Made:
    return Made(made_from=str(entry["made_from"]), files=_marks(entry["files"]), held=int(entry["held"]))


def _run(entry: Mapping[str, Any]) -> Run:
    return Run(
        made_from=str(entry["made_from"]),
        files=_marks(entry["files"]),
        out=str(entry["out"]),
        err=str(entry["err"]),
        code=int(entry["code"]),
    )


def _marks(entry: Mapping[str, Any]) -> dict[str, Mark]:
    return {str(name): (int(size), int(when)) for name, (size, when) in entry.items()}


def mark(path: Path | str) -> Mark:
    """Size in bytes and time of the last change in nanoseconds. Raises OSError when the file is not there."""
    about = os.lstat(path)
    return about.st_size, about.st_mtime_ns


def marks(folder: Path, names: Iterable[str]) -> dict[str, Mark]:
    """The marks of files below a folder."""
    return {name: mark(folder / name) for name in names}


def stand(folder: Path, files: Mapping[str, Mark]) -> bool:
    """True when every file is there as it was marked."""
    top = os.path.join(folder, "")
    try:
        return all(mark(top + name) == known for name, known in files.items())
    except OSError:
        return False


def digest_of_names(digests: Mapping[str, str], *more: str) -> str:
    """One digest of named digests, in the order of the names, and of further words."""
    text = json.dumps([sorted(digests.items()), more], ensure_ascii=True)
    return hashlib.sha256(text.encode("ascii")).hexdigest()


def program_digest() -> str:
    """A digest of the program's own bytes, its templates, its libraries' versions and Python's."""
    whole = hashlib.sha256()
    for top in (Path(__file__).resolve().parent.parent, templates_folder()):
        for folder, folders, names in os.walk(top):
            folders[:] = sorted(name for name in folders if name not in ("__pycache__", "_content"))
            for name in sorted(names):
                path = os.path.join(folder, name)
                with open(path, "rb") as handle:
                    data = handle.read()
                whole.update(f"{os.path.relpath(path, top)} {len(data)}\n".encode("utf-8", "surrogateescape"))
                whole.update(data)
    versions = [f"{name} {metadata.version(name)}" for name in LIBRARIES]
    whole.update("\n".join([*versions, sys.version]).encode())
    return whole.hexdigest()
