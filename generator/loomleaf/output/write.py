"""Writing, whole or not at all.

``write_tree`` owns one folder below the output folder, an *area*, and swaps it in one move:

1. the names are checked, and everything is written and synced beside the old output, in ``OUT/.loomleaf``;
2. the manifest of digests is written last;
3. the new folder and the old one change places. Where the system can exchange two folders in one call (Linux), nobody
   ever sees neither or half; elsewhere two renames follow each other and the next run puts the old folder back if the
   program died between them.

A run that dies leaves the old output whole and some temporaries, which the next run removes. One run writes at a time:
the others wait, then say so in one line. What a person changed in an area, a filled-in sheet for example, is never
thrown away: it is set aside in ``OUT/set-aside`` and told. A folder that was not written here is never replaced.

``write_file`` and ``write_new_folder`` do the same for a single file and for a folder that must not exist yet.
Nothing raises on a bad disk or a bad name: each function returns Problems, and has written nothing when one of them is
an error.
"""

from __future__ import annotations

import contextlib
import ctypes
import errno
import fcntl
import os
import shutil
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from ..problems import Location, Problem, Severity
from .manifest import MANIFEST, digest, manifest_bytes, read_manifest
from .names import check_names, name_fault

WORK = ".loomleaf"  # in the output folder: the lock, and what is not finished
RECORD = "record.json"  # in WORK: what was made from what; see record.py
SCRATCH = "scratch-"  # in WORK: folders for temporary files, each locked by the run that uses it
SET_ASIDE = "set-aside"
WAIT_S = 30.0  # how long a second run waits for the first

Content = bytes | str


class _Refused(Exception):
    """Writing stops here with this problem; nothing has been changed."""

    def __init__(self, problem: Problem) -> None:
        super().__init__(problem.message)
        self.problem = problem


def write_tree(
    out: Path, files: Mapping[str, Content], *, area: str, keep_others: bool = False, wait_s: float = WAIT_S
) -> tuple[Problem, ...]:
    """Make ``out/area`` hold exactly ``files``, or with ``keep_others`` hold them besides what it holds already.

    Names are relative with forward slashes; text is written as UTF-8. The problems may be warnings only
    (``output-set-aside``): then everything was written.
    """
    problems = check_names([area], reserved=[WORK, SET_ASIDE]) + check_names(files, reserved=[MANIFEST])
    if area.split("/")[0] in (WORK, SET_ASIDE) and not problems:
        problems = (_error("bad-output-name", f"'{area}' is kept for the program's own use"),)
    if problems:
        return problems
    data = {name: content.encode("utf-8") if isinstance(content, str) else content for name, content in files.items()}
    target = out / area
    try:
        out.mkdir(parents=True, exist_ok=True)
        _no_links(out, f"{WORK}/new")
        _no_links(out, area)
        _no_links(out, f"{SET_ASIDE}/{area}")
        (out / WORK).mkdir(exist_ok=True)
        with _locked(out / WORK, wait_s, shown=str(out)):
            _clean(out)
            return _swap_in(out, target, area, data, keep_others)
    except _Refused as refused:
        return (refused.problem,)
    except OSError as fault:
        return (cannot_write(str(target), fault),)


def write_file(path: Path, content: Content, *, replace: bool = True, wait_s: float = WAIT_S) -> tuple[Problem, ...]:
    """Write one file in one move; with ``replace=False`` a file that is there already is a Problem."""
    problems = check_names([path.name])
    if problems:
        return problems
    data = content.encode("utf-8") if isinstance(content, str) else content
    fresh = path.parent / f".{path.name}.new"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with _locked(path.parent, wait_s, shown=str(path.parent)):
            fresh.unlink(missing_ok=True)
            if path.is_dir() or (not replace and os.path.lexists(path)):
                raise _Refused(_error("file-exists", "it is there already", str(path), "choose another name"))
            try:
                _write(fresh, data)
                os.replace(fresh, path)
            finally:
                with contextlib.suppress(OSError):
                    fresh.unlink(missing_ok=True)
            _sync_folder_quietly(path.parent)
    except _Refused as refused:
        return (refused.problem,)
    except OSError as fault:
        return (cannot_write(str(path), fault),)
    return ()


def write_new_folder(folder: Path, files: Mapping[str, Content], *, wait_s: float = WAIT_S) -> tuple[Problem, ...]:
    """Make a folder with these files in one move. It must not exist, or be empty."""
    problems = check_names([folder.name]) + check_names(files)
    if problems:
        return problems
    fresh = folder.parent / f".{folder.name}.new"
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        with _locked(folder.parent, wait_s, shown=str(folder.parent)):
            shutil.rmtree(fresh, ignore_errors=True)
            if os.path.lexists(folder) and (folder.is_symlink() or not folder.is_dir() or any(folder.iterdir())):
                raise _Refused(
                    _error("folder-not-empty", "it is there already and not empty", str(folder), "name a new one")
                )
            if os.path.lexists(folder) and folder.samefile(os.getcwd()):
                raise _Refused(_error("folder-not-empty", "it is the folder you are in", str(folder), "name a new one"))
            try:
                for name, content in files.items():
                    _write(fresh / name, content.encode("utf-8") if isinstance(content, str) else content)
                fresh.mkdir(exist_ok=True)
                _sync_folders(fresh)
                os.rename(fresh, folder)
            finally:
                shutil.rmtree(fresh, ignore_errors=True)
            _sync_folder_quietly(folder.parent)
    except _Refused as refused:
        return (refused.problem,)
    except OSError as fault:
        return (cannot_write(str(folder), fault),)
    return ()


# What stands in an area already


@dataclass(frozen=True, kw_only=True)
class _Standing:
    """What an area holds: ``recorded`` is its manifest; ``found`` are digests of what is there, without it."""

    recorded: dict[str, str]
    found: dict[str, str]

    def changed(self, name: str) -> bool:
        """True when a person put the file there or changed it."""
        return self.found[name] != self.recorded.get(name)


def _look(target: Path) -> _Standing:
    nothing = _Standing(recorded={}, found={})
    if not os.path.lexists(target):
        return nothing
    not_ours = _error(
        "output-not-ours",
        "this was not written by loomleaf, so it is left as it is",
        str(target),
        "choose another folder with --out, or move it away",
    )
    if target.is_symlink() or not target.is_dir():
        raise _Refused(not_ours)
    found = {}
    for folder, folders, names in os.walk(target):
        links = [name for name in folders if os.path.islink(os.path.join(folder, name))]
        for name in names + links:
            path = Path(folder, name)
            if path.is_symlink():
                found[path.relative_to(target).as_posix()] = "link to " + os.readlink(path)
            elif path.is_file():
                found[path.relative_to(target).as_posix()] = digest(path.read_bytes())
    if MANIFEST not in found:
        if found:
            raise _Refused(not_ours)
        return nothing
    del found[MANIFEST]
    recorded = read_manifest((target / MANIFEST).read_bytes())
    if recorded is None:
        raise _Refused(not_ours)
    return _Standing(recorded=recorded, found=found)


# The swap


def _swap_in(out: Path, target: Path, area: str, data: dict[str, bytes], keep_others: bool) -> tuple[Problem, ...]:
    standing = _look(target)
    digests = {name: digest(content) for name, content in data.items()}
    kept = sorted(set(standing.found) - set(data)) if keep_others else []
    clash = check_names([*kept, *data], reserved=[MANIFEST]) if kept else ()
    if clash:
        return clash
    dropped = [
        name
        for name in sorted(set(standing.found) - set(kept))
        if standing.changed(name) and standing.found[name] != digests.get(name)
    ]
    fresh = out / WORK / "new"
    try:
        fresh.mkdir()
        for name, content in data.items():
            if standing.found.get(name) == digests[name]:
                _carry(target / name, fresh / name)  # the same bytes are not written again, and keep their date
            else:
                _write(fresh / name, content)
        for name in kept:
            _carry(target / name, fresh / name)
            if name in standing.recorded:
                digests[name] = standing.recorded[name]  # as it was written, so that a later change still shows
        _write(fresh / MANIFEST, manifest_bytes(digests))
        _sync_folders(fresh)
        told = tuple(_set_aside(out, area, target, name, standing.found[name]) for name in dropped)
        target.parent.mkdir(parents=True, exist_ok=True)
        _change_places(out, fresh, target, area)
    finally:
        shutil.rmtree(fresh, ignore_errors=True)  # after the swap this is the old output
    _sync_folder_quietly(target.parent)
    return told


def _change_places(out: Path, fresh: Path, target: Path, area: str) -> None:
    """Put ``fresh`` where ``target`` is. ``_clean`` knows how to go on from every point of it."""
    if not target.exists():
        os.rename(fresh, target)
        return
    if _exchange(fresh, target):
        return
    old = out / WORK / "old"
    _write(out / WORK / "area", area.encode("utf-8"))
    os.rename(target, old)
    try:
        os.rename(fresh, target)
    except OSError:
        os.rename(old, target)
        raise
    shutil.rmtree(old, ignore_errors=True)
    (out / WORK / "area").unlink(missing_ok=True)


def _clean(out: Path) -> None:
    """Remove what a run that died left behind; put the old folder back if it died between two renames."""
    work = out / WORK
    old, note = work / "old", work / "area"
    if old.is_dir() and note.is_file():
        area = note.read_text("utf-8")
        if not name_fault(area) and not os.path.lexists(out / area):
            os.rename(old, out / area)
    for entry in list(work.iterdir()):
        if entry.name == RECORD and not entry.is_symlink():
            continue
        if entry.is_dir() and not entry.is_symlink():
            if not (entry.name.startswith(SCRATCH) and _in_use(entry)):
                shutil.rmtree(entry)
        else:
            entry.unlink()


def _in_use(folder: Path) -> bool:
    """True while the run that made a scratch folder lives."""
    try:
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    except FileNotFoundError:
        return True  # its own run has just removed it
    try:
        return not _try_lock(handle)
    finally:
        os.close(handle)


@contextlib.contextmanager
def scratch(out: Path) -> Iterator[tuple[Path | None, tuple[Problem, ...]]]:
    """A folder for temporary files of one run, below the output folder: removed at its end, or by the next run.

    Gives None and the Problems when nothing can be written there: better told before the work than after it.
    """
    try:
        out.mkdir(parents=True, exist_ok=True)
        _no_links(out, WORK)
        (out / WORK).mkdir(exist_ok=True)
        with _locked(out / WORK, WAIT_S, shown=str(out)):
            _clean(out)
            folder = Path(tempfile.mkdtemp(prefix=SCRATCH, dir=out / WORK))
            handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
            _try_lock(handle)
    except _Refused as refused:
        yield None, (refused.problem,)
        return
    except OSError as fault:
        yield None, (cannot_write(str(out), fault),)
        return
    try:
        yield folder, ()
    finally:
        shutil.rmtree(folder, ignore_errors=True)
        os.close(handle)


_RENAME_EXCHANGE = 2
_AT_FDCWD = -100


def _exchange(one: Path, other: Path) -> bool:
    """Let two folders change places in one call, renameat2(2); False where the system or the file system cannot."""
    if not sys.platform.startswith("linux"):
        return False
    try:
        call = ctypes.CDLL(None, use_errno=True).renameat2
    except (AttributeError, OSError):
        return False
    paths = [ctypes.c_char_p(os.fsencode(path)) for path in (one, other)]
    if call(_AT_FDCWD, paths[0], _AT_FDCWD, paths[1], ctypes.c_uint(_RENAME_EXCHANGE)) == 0:
        return True
    number = ctypes.get_errno()
    if number in (errno.ENOSYS, errno.EINVAL, errno.EOPNOTSUPP):
        return False
    raise OSError(number, os.strerror(number), str(other))


def _set_aside(out: Path, area: str, target: Path, name: str, found: str) -> Problem:
    """Keep a file that a person changed, under a name that says which version it is."""
    mark = digest(found.encode("utf-8"))[:8] if found.startswith("link to ") else found[:8]
    aside = out / SET_ASIDE / area / name
    aside = aside.with_name(f"{aside.stem}-{mark}{aside.suffix}")
    if not os.path.lexists(aside):
        _carry(target / name, aside)
        _sync_folder_quietly(aside.parent)
    return Problem(
        code="output-set-aside",
        severity=Severity.WARNING,
        message="the file had been changed since it was written; it was set aside before writing the new one",
        hint=f"it is now {aside}",
        location=Location(file=str(target / name)),
    )


def _carry(source: Path, to: Path) -> None:
    """The same file at a second place: a hard link where the file system has them, else a copy."""
    to.parent.mkdir(parents=True, exist_ok=True)
    if source.is_symlink():
        to.symlink_to(os.readlink(source))
        return
    try:
        os.link(source, to)
    except OSError as fault:
        if fault.errno not in (errno.EPERM, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK, errno.EXDEV):
            raise
        shutil.copy2(source, to)


# The disk


def _write(path: Path, data: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    with open(path, "xb") as handle:
        handle.write(data)
        handle.flush()
        os.fsync(handle.fileno())


def _sync_folders(top: Path) -> None:
    for folder, _, _ in os.walk(top, topdown=False):
        _sync_folder(Path(folder))


def _sync_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _sync_folder_quietly(folder: Path) -> None:
    """After the swap: if this fails and the power goes too, the old output is back, whole. Nothing to tell."""
    with contextlib.suppress(OSError):
        _sync_folder(folder)


@contextlib.contextmanager
def _locked(folder: Path, wait_s: float, *, shown: str) -> Iterator[None]:
    """Hold the lock on a folder. It ends with the process, however that ends."""
    until = time.monotonic() + wait_s
    while True:
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            if _try_lock(handle):
                if _same(handle, folder):
                    yield
                    return
            elif time.monotonic() >= until:
                raise _Refused(
                    _error(
                        "output-busy",
                        "another run is writing here; nothing was written",
                        shown,
                        "wait for it to end, then run again",
                    )
                )
            else:
                time.sleep(0.05)
        finally:
            os.close(handle)


def _try_lock(handle: int) -> bool:
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True


def _same(handle: int, folder: Path) -> bool:
    """True when the locked folder is still the one at that path, and not one that was removed meanwhile."""
    folder.mkdir(exist_ok=True)
    return os.path.samestat(os.fstat(handle), os.stat(folder))


def _no_links(out: Path, name: str) -> None:
    """Refuse to write through a symbolic link below the output folder: it may lead anywhere."""
    path = out
    for step in name.split("/"):
        path = path / step
        if path.is_symlink():
            raise _Refused(
                _error("output-link", "this is a link, and may lead elsewhere", str(path), "remove the link")
            )
        if not path.exists():
            return


def _error(code: str, message: str, file: str = "", hint: str = "") -> Problem:
    return Problem(code=code, severity=Severity.ERROR, message=message, hint=hint, location=Location(file=file))


_HINTS = {
    errno.ENOSPC: "free some space, then run again",
    errno.EDQUOT: "free some space, then run again",
    errno.EROFS: "choose a folder you may write to with --out",
    errno.EACCES: "choose a folder you may write to with --out",
    errno.EPERM: "choose a folder you may write to with --out",
    errno.ENOTDIR: "a file stands where a folder is wanted",
    errno.EEXIST: "a file stands where a folder is wanted",
}


def cannot_write(where: str, fault: OSError) -> Problem:
    """The one line for a disk that is full, locked or in the way."""
    said = fault.strerror or str(fault)
    return _error(
        "cannot-write", f"nothing was written: {said[:1].lower()}{said[1:]}", where, _HINTS.get(fault.errno or 0, "")
    )
