"""A filled sheet's form fields and the data it carries, out of a PDF that anybody may have made or broken.

Only what is needed is touched: the field tree, the attached data and the keywords. Each walk counts its steps, knows
where it has been and stops at a limit; whatever goes wrong in the PDF library becomes one Problem.
"""

from __future__ import annotations

import contextlib
import io
import json
import logging
import re
import signal
import sys
import threading
import zlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, TypeVar

from ..problems import Location, Problem, Severity
from ..sheets.bundle import WORKING_ORDER

T = TypeVar("T")

MAX_BYTES = 25_000_000
MAX_PAGES = 300
MAX_FIELDS = 40_000
MAX_DEPTH = 12
MAX_TEXT = 300  # of a name, or of a word about the sheet itself
MAX_WRITTEN = 2_000  # of what somebody wrote into one field
MAX_DATA_BYTES = 2_000_000
MAX_FILES = 20
MAX_SECONDS = 20.0
MAX_FRAMES = 300
MAX_STREAM_BYTES = 20_000_000  # of any one stream that the library unpacks while it looks for objects
BOUNDS = (
    "zlib_maximum_output_length",
    "lzw_maximum_output_length",
    "run_length_maximum_output_length",
    "array_based_stream_maximum_output_length",
    "maximum_declared_stream_length",
)


@dataclass(frozen=True, kw_only=True)
class FilledSheet:
    """What a sheet says about itself, and its fields by name: text as written, or whether a box is ticked.

    ``disagree`` names the fields that stand more than once in the file and were filled in differently, each with what was
    written: they are in neither ``texts`` nor ``ticks``. ``cut`` names those that hold more than is kept.
    """

    file: str
    job: str
    revision: str
    digest: str
    kind: str = ""
    registrations: tuple[str, ...] = ()
    texts: Mapping[str, str] = field(default_factory=dict)
    ticks: Mapping[str, bool] = field(default_factory=dict)
    data: Mapping[str, Any] = field(default_factory=dict)
    disagree: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    cut: tuple[str, ...] = ()


class _Unusable(Exception):
    """Reading stops here: what is wrong, and what would help."""

    def __init__(self, code: str, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.code = code
        self.hint = hint


def read_sheet(file: str, data: bytes) -> tuple[FilledSheet | None, tuple[Problem, ...]]:
    """The filled sheet of a PDF's bytes, the first where there are several. ``file`` is its name, for messages."""
    sheets, problems = read_sheets(file, data)
    return (sheets[0] if sheets else None), problems


def read_sheets(file: str, data: bytes) -> tuple[tuple[FilledSheet, ...], tuple[Problem, ...]]:
    """Every filled sheet of a PDF: one, or each fillable one of a job's sheets in one file, in their order there."""
    sheets, problems = _tried(lambda: _filled(file, data), file)
    return sheets or (), problems


def read_printed(file: str, data: bytes) -> tuple[tuple[Mapping[str, Any], ...], tuple[Problem, ...]]:
    """The data that a printed sheet carries, whether or not it has fields; of several sheets, all in their order."""

    def work() -> tuple[Mapping[str, Any], ...]:
        carried = _read(data).carried
        if not carried:
            raise _Unusable("not-a-sheet", "the PDF carries no data of a sheet", "only sheets printed by loomleaf do")
        return carried

    found, problems = _tried(work, file)
    return found or (), problems


class _TooSlow(BaseException):
    """Time is up. Not an Exception, so that nothing inside the PDF library takes it for a fault of the file and goes on."""


@contextlib.contextmanager
def _bounded_time() -> Iterator[None]:
    """Stop after ``MAX_SECONDS``: a few changed bytes can send the library round and round.

    Needs the main thread and an alarm clock of the system; elsewhere the other limits have to do.
    """
    if not hasattr(signal, "setitimer") or threading.current_thread() is not threading.main_thread():
        yield
        return

    def ring(number: int, frame: object) -> None:
        raise _TooSlow

    before = signal.signal(signal.SIGALRM, ring)
    signal.setitimer(signal.ITIMER_REAL, MAX_SECONDS)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


@contextlib.contextmanager
def _bounded_depth() -> Iterator[None]:
    """No more than ``MAX_FRAMES`` calls inside each other: a sheet wants a few dozen, a trap wants thousands."""
    depth = 0
    frame = sys._getframe()
    while (caller := frame.f_back) is not None:
        frame = caller
        depth += 1
    before = sys.getrecursionlimit()
    sys.setrecursionlimit(min(before, depth + MAX_FRAMES))
    try:
        yield
    finally:
        sys.setrecursionlimit(before)


def _tried(work: Callable[[], T], file: str) -> tuple[T | None, tuple[Problem, ...]]:
    try:
        with _bounded_time(), _bounded_depth():
            return work(), ()
    except _TooSlow:
        message = f"reading the PDF took longer than {MAX_SECONDS:g} s: it is damaged, or made to be slow"
        return None, (_problem("sheet-unreadable", message, file, "save it again, or print anew"),)
    except _Unusable as stop:
        return None, (_problem(stop.code, str(stop), file, stop.hint),)
    except (Exception, RecursionError) as fault:  # the library meets bytes that nobody foresaw: one plain Problem
        name = type(fault).__name__
        if name == "DependencyError":  # a cipher of which the library wants another library: locked all the same
            return None, (_problem("sheet-locked", "the PDF is encrypted", file, "save it without a password or limits"),)
        return None, (
            _problem("sheet-unreadable", f"the PDF cannot be read ({name})", file, "save it again, or print anew"),
        )


def _problem(code: str, message: str, file: str, hint: str) -> Problem:
    return Problem(code=code, severity=Severity.ERROR, message=message, hint=hint, location=Location(file=file))


@dataclass(kw_only=True)
class _Fields:
    """Fields by name, as they are met."""

    texts: dict[str, str] = field(default_factory=dict)
    ticks: dict[str, bool] = field(default_factory=dict)
    disagree: dict[str, tuple[str, ...]] = field(default_factory=dict)
    cut: dict[str, None] = field(default_factory=dict)

    def tick(self, name: str, ticked: bool) -> None:
        """A box that stands twice is ticked when either is: an empty one says nothing."""
        self.ticks[name] = self.ticks.get(name, False) or ticked

    def write(self, name: str, text: str) -> None:
        if len(text) > MAX_WRITTEN:
            self.cut[name] = None
            text = text[:MAX_WRITTEN].rstrip()
        there = self.texts.get(name, "")
        if name in self.disagree:
            if text and text not in self.disagree[name]:
                self.disagree[name] += (text,)
        elif text and there and text != there:
            self.disagree[name] = (there, text)
            self.texts[name] = ""
        else:
            self.texts[name] = text or there


@dataclass(frozen=True, kw_only=True)
class _Inside:
    fields: _Fields
    carried: tuple[dict[str, Any], ...]
    keywords: str


def _read(data: bytes) -> _Inside:
    """Everything that is wanted of a PDF, within the limits."""
    if len(data) > MAX_BYTES:
        raise _Unusable("sheet-too-large", f"the PDF has {len(data)} bytes; at most {MAX_BYTES} are read")
    if b"%PDF-" not in data[:1024]:
        raise _Unusable("sheet-unreadable", "this is not a PDF", "give the sheet as it was saved after filling it in")
    with _quiet_and_bounded():
        from pypdf import PdfReader

        reader = PdfReader(io.BytesIO(data), strict=False)
        if reader.is_encrypted:
            raise _Unusable("sheet-locked", "the PDF is locked with a password", "save it without one")
        root = _mapping(reader.trailer.get("/Root"))
        pages = _mapping(root.get("/Pages")).get("/Count")
        if isinstance(pages, (int, float)) and pages > MAX_PAGES:
            raise _Unusable("sheet-too-large", f"the PDF says it has {int(pages)} pages; at most {MAX_PAGES} are read")
        fields = _fields(root)
        carried = _carried(root)
        keywords = str(_mapping(reader.trailer.get("/Info")).get("/Keywords") or "")
    return _Inside(fields=fields, carried=carried, keywords=keywords)


def _filled(file: str, data: bytes) -> tuple[FilledSheet, ...]:
    inside = _read(data)
    first = inside.carried[0] if inside.carried else {}
    identity = _identity(first, inside.keywords)
    if identity is None:
        raise _Unusable(
            "not-a-sheet",
            "the PDF does not say which job it is of: neither its data nor its keywords name one",
            "only sheets printed by loomleaf can be read back",
        )
    if not inside.fields.texts and not inside.fields.ticks:
        raise _Unusable(
            "not-fillable",
            f"the sheet of job {identity[0]} has no fields left to read",
            "save the filled form itself; a scan or a PDF made by printing carries no fields",
        )
    by_kind = {_short(data.get("sheet")): data for data in inside.carried}
    out = []
    for kind, own in _by_sheet(inside.fields).items():
        carried = by_kind.get(kind, {}) if kind else first
        job, revision, digest = _identity(carried, inside.keywords) or identity
        registrations = carried.get("registrations")
        out.append(
            FilledSheet(
                file=file,
                job=job,
                revision=revision,
                digest=digest,
                kind=kind or _short(carried.get("sheet")),
                registrations=tuple(_short(r) for r in registrations[:200]) if isinstance(registrations, list) else (),
                texts=own.texts,
                ticks=own.ticks,
                data=carried,
                disagree=own.disagree,
                cut=tuple(own.cut),
            )
        )
    return _agreeing(out)


def _by_sheet(fields: _Fields) -> dict[str, _Fields]:
    """The fields of each sheet: in a file of several they stand under the sheet's name, as in ``bench.made-by__1``.

    Any other parent is another program's doing and says nothing.
    """
    out: dict[str, _Fields] = {}

    def of(name: str) -> tuple[_Fields, str]:
        *parents, bare = name.split(".")
        kind = next((parent for parent in parents if parent in WORKING_ORDER), "")
        return out.setdefault(kind, _Fields()), bare

    for name, text in fields.texts.items():
        own, bare = of(name)
        own.write(bare, text)
    for name, ticked in fields.ticks.items():
        own, bare = of(name)
        own.tick(bare, ticked)
    for name, said in fields.disagree.items():
        own, bare = of(name)
        own.disagree[bare] = said
    for name in fields.cut:
        own, bare = of(name)
        own.cut[bare] = None
    return out


OF_ITS_SHEET = ("made-by__", "fitted-by__", "checked-by__", "inspected-again__")
"""Beginnings of the names of fields that every sheet has for itself: who worked by it."""


def _agreeing(sheets: list[FilledSheet]) -> tuple[FilledSheet, ...]:
    """The sheets with every field taken out that two of them have and that says one thing here and another there."""
    said: dict[str, dict[str, None]] = {}
    for sheet in sheets:
        for name, text in sheet.texts.items():
            if text and not name.startswith(OF_ITS_SHEET):
                said.setdefault(name, {})[text] = None
    differ = {name: tuple(texts) for name, texts in said.items() if len(texts) > 1}
    return tuple(
        replace(
            sheet,
            texts={name: "" if name in differ else text for name, text in sheet.texts.items()},
            disagree={**sheet.disagree, **{name: differ[name] for name in differ if name in sheet.texts}},
        )
        for sheet in sheets
    )


@contextlib.contextmanager
def _quiet_and_bounded() -> Iterator[None]:
    """Keep the library's remarks off the screen, and its unpacking within bounds."""
    import warnings

    import pypdf

    log = logging.getLogger("pypdf")
    before = log.propagate, log.handlers[:]
    log.handlers, log.propagate = [logging.NullHandler()], False
    # older ones have bounds of their own, and no way to set them
    bounded = getattr(pypdf, "apply_configuration", None)
    limits = {name: MAX_STREAM_BYTES for name in BOUNDS}
    try:
        with warnings.catch_warnings(), bounded(**limits) if bounded else contextlib.nullcontext():
            warnings.simplefilter("ignore")
            yield
    finally:
        log.propagate, log.handlers = before


def _mapping(value: Any) -> Mapping[str, Any]:
    """A dictionary object behind whatever points at it; an empty one for anything else."""
    found = _object(value)
    return found if isinstance(found, dict) else {}


def _object(value: Any) -> Any:
    return value.get_object() if hasattr(value, "get_object") else value


def _items(value: Any) -> list[Any]:
    found = _object(value)
    return found if isinstance(found, list) else []


def _short(value: Any) -> str:
    text = str(value) if isinstance(value, (str, int)) else ""
    return "".join(c for c in text[:MAX_TEXT] if c.isprintable()).strip()


# --- fields ------------------------------------------------------------------------------------------------------


def _fields(root: Mapping[str, Any]) -> _Fields:
    """Every field's full name with its value, walked without recursion."""
    found = _Fields()
    seen: set[int] = set()
    waiting: list[tuple[Any, str, str, int]] = [
        (kid, "", "", 0) for kid in reversed(_items(_mapping(root.get("/AcroForm")).get("/Fields")))
    ]
    steps = 0
    while waiting:
        raw, prefix, kind, depth = waiting.pop()
        steps += 1
        if steps > MAX_FIELDS or len(waiting) > MAX_FIELDS:
            raise _Unusable("sheet-too-large", f"the PDF has more than {MAX_FIELDS} form fields")
        number = getattr(raw, "idnum", None)
        if number is not None:
            if number in seen:
                continue
            seen.add(number)
        if depth > MAX_DEPTH:
            raise _Unusable("sheet-too-large", f"the form's fields are nested more than {MAX_DEPTH} deep")
        item = _mapping(raw)
        part = _short(_object(item.get("/T")))
        name = f"{prefix}.{part}" if prefix and part else part or prefix
        kind = str(_object(item.get("/FT")) or kind)
        kids = _items(item.get("/Kids"))
        if kids and any("/T" in _mapping(k) for k in kids[:MAX_FIELDS]):
            waiting += [(kid, name, kind, depth + 1) for kid in reversed(kids)]
            continue
        if not name:
            continue
        value = _object(item.get("/V"))
        if kind == "/Btn":
            state = value if value is not None else _object(item.get("/AS"))
            found.tick(name, str(state or "/Off") not in ("/Off", "Off", ""))
        else:
            found.write(name, _written(value.decode("latin-1") if isinstance(value, bytes) else value))
    return found


def _written(value: Any) -> str:
    """What somebody wrote, on one line; a little more than is kept, so that it can be told that more is there."""
    text = str(value) if isinstance(value, (str, int)) else ""
    return "".join(c for c in " ".join(text[: 2 * MAX_WRITTEN].split()) if c.isprintable())


# --- what the sheet carries --------------------------------------------------------------------------------------


def _carried(root: Mapping[str, Any]) -> tuple[dict[str, Any], ...]:
    """The data attached to each sheet, in their order: every attached file that is a JSON object of ours."""
    out: list[dict[str, Any]] = []
    seen: set[int] = set()
    waiting = [_mapping(root.get("/Names")).get("/EmbeddedFiles")]
    looked = 0
    while waiting:
        raw = waiting.pop()
        number = getattr(raw, "idnum", None)
        if number in seen:
            continue
        if number is not None:
            seen.add(number)
        node = _mapping(raw)
        names = _items(node.get("/Names"))
        for spec in names[1 : 2 * MAX_FILES : 2]:
            looked += 1
            found = _data(_mapping(_mapping(spec).get("/EF")).get("/F"))
            if found is not None:
                out.append(found)
        kids = _items(node.get("/Kids"))[:MAX_FILES]
        if looked > MAX_FILES or len(seen) > MAX_FILES:
            break
        waiting += reversed(kids)
    return tuple(out)


def _data(raw: Any) -> dict[str, Any] | None:
    stream = _object(raw)
    packed = getattr(stream, "_data", None)
    if not isinstance(stream, dict) or not isinstance(packed, bytes) or len(packed) > MAX_DATA_BYTES:
        return None
    kind = _object(stream.get("/Filter"))
    if isinstance(kind, list):
        kind = _object(kind[0]) if len(kind) == 1 else "several"
    if kind is None:
        plain = packed
    elif str(kind) == "/FlateDecode":
        unpack = zlib.decompressobj()
        plain = unpack.decompress(packed, MAX_DATA_BYTES)
        if unpack.unconsumed_tail:
            return None
    else:
        return None
    try:
        found = json.loads(plain)
    except (ValueError, RecursionError):
        return None
    return found if isinstance(found, dict) and "sheet" in found and "job" in found else None


_KEYWORDS = re.compile(
    r"job (?P<job>[A-Za-z0-9-]{1,16}), revision (?P<revision>[^,]{1,20}), digest (?P<digest>[0-9a-f]{8,16})"
)


def _identity(carried: Mapping[str, Any], keywords: str) -> tuple[str, str, str] | None:
    """Job, revision and digest: from the data the sheet carries, else from its keywords."""
    told = _short(carried.get("job")), _short(carried.get("revision")), _short(carried.get("digest"))
    if told[0] and told[1]:
        return told
    match = _KEYWORDS.search(keywords[:500])
    return (match["job"], match["revision"].strip(), match["digest"]) if match else None
