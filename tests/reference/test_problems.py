"""Every problem code has a page, and the page tells the truth: its wrong example raises the code, its right one does not.

The codes are collected from the source by reading it as a syntax tree: every function that has a parameter ``code`` is
known, and so is what each call gives it.
"""

from __future__ import annotations

import ast
import io
import os
import re
import shlex
import signal
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import pytest

from loomleaf import cli
from loomleaf.calc.answer import CODES
from loomleaf.calc.tables import build_tables
from loomleaf.check.library import Library, build_library
from loomleaf.check.rules import RULES
from loomleaf.handbook.site import build_site
from loomleaf.model.reference import ProblemPage
from loomleaf.model.shop import Shop
from loomleaf.places import content_folder
from loomleaf.plan.planner import plan_job
from loomleaf.plan.types import Plan
from loomleaf.problems import Collector, Problem, Severity
from loomleaf.source.nodes import Document, read_document
from loomleaf.source.tree import FOLDERS, SINGLE, Chapter, Tree, read_tree

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "generator" / "loomleaf"
CODE = re.compile(r"[a-z]+(?:-[a-z]+)*")

# --- the codes in the source -----------------------------------------------------------------------------------------

PASSED_ON = {
    ("check/convert.py", "kind"),  # the code of a validation error, made by ``fault``
    ("plan/circuits.py", "verdict.code"),  # made by ``_Verdict``
    ("plan/states.py", "doubt.code"),  # made by ``_Doubt``
    ("sheets/views.py", "reason.code"),  # a problem made elsewhere, shown
    ("collect/pdf.py", "stop.code"),  # made by ``_Unusable``
}
"""Calls that hand on a code made elsewhere."""

NO_PROBLEM = {("cli.py", "_explain"), ("", "Label")}
"""What takes a code and makes no problem."""

WORKED_OUT = {("plan/states.py", "'circuit-' + circuit.outcome"): {"circuit-wanting", "circuit-contested"}}
"""Codes that are put together from words."""


@dataclass(frozen=True)
class Site:
    """A place in the source that gives a code, or an expression nobody can tell the code of."""

    file: str
    line: int
    codes: frozenset[str]
    unclear: str = ""


@cache
def sources() -> dict[str, ast.Module]:
    return {p.relative_to(PACKAGE).as_posix(): ast.parse(p.read_text("utf-8")) for p in sorted(PACKAGE.rglob("*.py"))}


@cache
def takers_of_codes() -> dict[tuple[str, str], set[int | None]]:
    """Functions and classes that take a code, each with the positions at which they take it.

    A private one is known in its own file, every other one everywhere (file "").
    """
    found: dict[tuple[str, str], set[int | None]] = {}
    for file, tree in sources().items():
        for node in ast.walk(tree):
            if isinstance(node, ast.FunctionDef):
                places = _places_of_code(node)
            elif isinstance(node, ast.ClassDef):
                inits = [n for n in node.body if isinstance(n, ast.FunctionDef) and n.name == "__init__"]
                fields = {ast.unparse(n) for n in node.body if isinstance(n, ast.AnnAssign)}
                keyword = {text.partition(" =")[0] for text in fields} & {"code: str"}  # our classes are keyword-only
                places = _places_of_code(inits[0]) if inits else {None for _ in keyword}
            else:
                continue
            own = (file if node.name.startswith("_") else "", node.name)
            if places and own not in NO_PROBLEM:
                found.setdefault(own, set()).update(places)
    return found


def _places_of_code(function: ast.FunctionDef) -> set[int | None]:
    """Where a function takes a code: positions among its arguments, None for one that must be named."""
    given = [a for a in (*function.args.posonlyargs, *function.args.args) if a.arg not in ("self", "cls")]
    out: set[int | None] = {index for index, a in enumerate(given) if a.arg == "code" and _is_text(a)}
    return out | {None for a in function.args.kwonlyargs if a.arg == "code" and _is_text(a)}


def _is_text(argument: ast.arg) -> bool:
    return argument.annotation is not None and ast.unparse(argument.annotation) == "str"


def functions_with_calls(tree: ast.Module) -> Iterator[tuple[ast.AST, ast.Call]]:
    """Every call with the innermost function around it."""

    def walk(node: ast.AST, around: ast.AST) -> Iterator[tuple[ast.AST, ast.Call]]:
        for child in ast.iter_child_nodes(node):
            inside = child if isinstance(child, ast.FunctionDef) else around
            if isinstance(child, ast.Call):
                yield around, child
            yield from walk(child, inside)

    yield from walk(tree, tree)


def meaning(file: str, value: ast.expr, around: ast.AST) -> tuple[set[str], str]:
    """The codes an expression can be, and what of it is unclear."""
    if isinstance(value, ast.Constant) and isinstance(value.value, str):
        return ({value.value} if value.value else set()), ""
    if isinstance(value, ast.IfExp):
        yes, no = meaning(file, value.body, around), meaning(file, value.orelse, around)
        return yes[0] | no[0], yes[1] or no[1]
    written = ast.unparse(value)
    if (file, written) in PASSED_ON:
        return set(), ""
    if (file, written) in WORKED_OUT:
        return WORKED_OUT[file, written], ""
    if isinstance(value, ast.Name) and isinstance(around, ast.FunctionDef):
        every = (*around.args.posonlyargs, *around.args.args, *around.args.kwonlyargs)
        if value.id in [a.arg for a in every]:
            return set(), ""  # handed on: the callers of this function give it
        codes: set[str] = set()
        unclear = written
        for node in ast.walk(around):
            if isinstance(node, ast.Assign) and any(ast.unparse(t) == value.id for t in node.targets):
                some, wrong = meaning(file, node.value, around)
                codes |= some
                unclear = wrong
        return codes, unclear
    if isinstance(value, ast.Attribute) and value.attr == "reason_code":
        return set(), ""
    return set(), written


@cache
def sites() -> tuple[Site, ...]:
    out = []
    takers = takers_of_codes()
    for file, tree in sources().items():
        for around, call in functions_with_calls(tree):
            name = call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")
            places = takers.get((file, name), takers.get(("", name)))
            if places is None:
                continue
            given = [k.value for k in call.keywords if k.arg == "code"]
            given = given or [call.args[p] for p in places if p is not None and p < len(call.args)]
            for value in given:
                codes, unclear = meaning(file, value, around)
                if unclear:  # what a nested function hands on may be given to the one around it
                    codes, unclear = meaning(file, value, _enclosing(tree, call) or around)
                out.append(Site(file, call.lineno, frozenset(codes), unclear))
    return tuple(out)


def _enclosing(tree: ast.Module, call: ast.Call) -> ast.AST | None:
    """The outermost function around a call: what a nested one hands on may be its parameter."""
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and any(child is call for child in ast.walk(node)):
            return node
    return None


def codes_in_the_source() -> set[str]:
    return {code for site in sites() for code in site.codes if CODE.fullmatch(code)} | set(CODES)


# --- the pages -------------------------------------------------------------------------------------------------------


@cache
def shipped() -> Tree:
    return read_tree(ROOT / "tests" / "shops" / "minimal", content_folder())[0]


@cache
def pages() -> dict[str, ProblemPage]:
    return dict(build_library(shipped())[0].reference.problems)


def test_the_source_is_read_as_it_should_be() -> None:
    known = codes_in_the_source()
    assert {"bad-size", "tab-indent", "circuit-wanting", "stripe-against-pole", "output-busy", "no-fuse"} <= known
    assert "buttons-overlap" in known and "buttons-unclear" in known  # both sides of a condition
    assert len(known) > 140


def test_every_code_can_be_told_from_the_source() -> None:
    assert [(s.file, s.line, s.unclear) for s in sites() if s.unclear] == []


def test_codes_are_words_with_hyphens() -> None:
    assert [(s.file, s.line, c) for s in sites() for c in s.codes if not CODE.fullmatch(c)] == []


def test_every_code_has_a_page() -> None:
    assert sorted(codes_in_the_source() - set(pages())) == []


def test_no_page_is_left_without_its_code() -> None:
    assert sorted(set(pages()) - codes_in_the_source()) == []


@pytest.mark.parametrize("code", sorted(pages()))
def test_a_page_is_short_and_whole(code: str) -> None:
    page = pages()[code]
    assert len(page.title) <= 60 and not page.title.endswith(".")
    for text in (page.what, page.why):
        assert text.endswith("."), text
        sentences = re.split(r"(?<=[.?!])\s+", text)
        assert max(len(s.split()) for s in sentences) <= 32, text
    assert page.what != page.why
    assert page.wrong != page.right


def test_titles_differ() -> None:
    titles = [page.title for page in pages().values()]
    assert sorted({t for t in titles if titles.count(t) > 1}) == []


# --- running the examples --------------------------------------------------------------------------------------------

BASE = {
    "shop.yaml": "name: Pebble Corner Radio\n",
    "vehicles/heron.yaml": """
vehicle: heron
title: Corvane Heron
maker: Corvane
model: Heron
features: [am-fm-reception]
removed_radio: {bus_gateway: no, codes: no, telematics: no, customer_data: no}
battery: {capacity_ah: 60, standby_ma: 15, sensor: no}
feed: {fuse_a: 15, cable: 2.5 mm2, length_mm: 1500, switched_fuse_a: 10, switched_cable: 1.0 mm2, switched_mm: 1500}
""",
    "leads/adapter.yaml": """
lead: adapter
title: Dash adapter
side: vehicle
known_from: leaflet
leaflet: sheet 1, page 1
plugs: [{name: A, type: iso-10487-a, ways: 8}]
tails:
  - {at: A.4, function: supply-constant, colour: yellow, size: 1.0 mm2, length_mm: 250}
  - {at: A.7, function: supply-switched, colour: red, size: 0.75 mm2, length_mm: 250}
  - {at: A.8, function: ground, colour: black, size: 1.0 mm2, length_mm: 250}
ready_ends: [{name: antenna, type: coax-75-plug}]
""",
    "leads/radio.yaml": """
lead: radio
title: Wheatear R2
side: radio
known_from: leaflet
leaflet: booklet R2, page 5
tails:
  - {at: yellow, function: supply-constant, colour: yellow, size: 1.0 mm2, length_mm: 200}
  - {at: red, function: supply-switched, colour: red, size: 0.75 mm2, length_mm: 200}
  - {at: black, function: ground, colour: black, size: 1.0 mm2, length_mm: 200}
ready_ends: [{name: antenna, type: coax-75-socket}]
draws: {running_a: 4, peak_a: 8, standby_ma: 3}
fuse_a: 10
provides: [am-fm-reception]
""",
    "jobs/2041.yaml": """
job: "2041"
issued: 2026-05-12
customer: {name: Sorrel Dace}
vehicle: heron
registrations: [AA00 AAA]
high_voltage: none
request: Fit the radio.
parts: [adapter, radio]
""",
}
"""A small shop with nothing wrong in it. An example replaces the keys it holds, or adds a file."""

HEAD = re.compile(rf"^# ((?:shop|stock)\.yaml|(?:{'|'.join(FOLDERS)}|handbook)/[^/]+\.(?:yaml|yml|md))$")
KEY = re.compile(r"^(\[?[a-z_]+\]?):", re.MULTILINE)


def parts_of(example: str) -> dict[str, str]:
    """File names to the text that stands under them. Empty for an example in words or a command."""
    out: dict[str, str] = {}
    name = ""
    for line in example.splitlines():
        head = HEAD.match(line)
        if head:
            name = head[1]
            out[name] = ""
        elif name:
            out[name] += line + "\n"
    return out


def blocks(text: str) -> list[tuple[str, str]]:
    """Top-level keys with their lines; what stands before the first has no key."""
    starts = [(m.start(), m[1]) for m in KEY.finditer(text)]
    edges = [*(s for s, _ in starts), len(text)]
    return [("", text[: edges[0]])] + [(key, text[a:b]) for (a, key), b in zip(starts, edges[1:], strict=True)]


def laid_over(base: str, example: str) -> str:
    """The base without the keys that the example holds, then the example as it is written."""
    own = {key.strip("[]") for key, _ in blocks(example)}
    return "".join(text for key, text in blocks(base) if not key or key not in own) + example


def as_bytes(text: str) -> bytes:
    """The text of an example with its stand-ins for characters that cannot be seen."""
    text = text.replace("<TAB>", "\t")
    text = re.sub(r"<U\+([0-9A-F]{4})>", lambda m: chr(int(m[1], 16)), text)
    pieces = re.split(r"<byte ([0-9A-F]{2})>", text)
    return b"".join(bytes.fromhex(p) if i % 2 else p.encode() for i, p in enumerate(pieces))


def shop_files(example: str) -> dict[str, str]:
    files = dict(BASE)
    for name, text in parts_of(example).items():
        files[name] = laid_over(files[name], text) if name in files else text
    return files


def in_memory(files: dict[str, str]) -> tuple[Library, list[Problem]]:
    problems: list[Problem] = []
    single: dict[str, Document] = {}
    folders: dict[str, list[Document]] = {name: [] for name in FOLDERS}
    for name, text in sorted(files.items()):
        if not name.endswith(".yaml"):
            continue
        document, told = read_document(name, as_bytes(text))
        problems.extend(told)
        if name in SINGLE:
            single[name] = document
        else:
            folders[name.split("/")[0]].append(document)
    tree = Tree(
        root="example",
        single=single,
        folders={name: tuple(documents) for name, documents in folders.items()},
        shipped=shipped().shipped,
    )
    library, more = build_library(tree)
    found = Collector()
    for rule in RULES:
        rule(library, found)
    return library, [*problems, *more, *found.problems]


def planned(library: Library, problems: list[Problem]) -> Plan | None:
    """The plan of the one job, as the pipeline makes it: none when an error stands in the way."""
    entry = library.jobs.get("2041")
    if entry is None or any(p.severity is Severity.ERROR for p in problems):
        return None
    return plan_job(library, entry, problems)


def with_figures(files: dict[str, str]) -> dict[str, str]:
    """Stand-ins for what only the plan knows: its digest, and the name of a check."""
    if not any("<digest" in t or "<first check" in t for t in files.values()):
        return files
    plain = {name: text for name, text in files.items() if not name.startswith("readings/")}
    plain["jobs/2041.yaml"] = re.sub(r"^cleared:.*$", "", plain["jobs/2041.yaml"], flags=re.MULTILINE)
    plan = planned(*in_memory(plain))
    assert plan is not None
    volts = next(c.key for c in plan.checks if re.fullmatch(r"11\.8 to .* V", c.expected))
    loaded = next(c.key for c in plan.checks if c.stage == "after-plugging-in" and c.unit == "V")
    known = {
        "<digest of this job>": plan.digest,
        "<first check in volts>": volts,
        "<first check after plugging in>": loaded,
    }
    for words, stand_in in known.items():
        files = {name: text.replace(words, stand_in) for name, text in files.items()}
    return files


ONLY_NOTES = ("colour-differs", "stripe-against-pole")
"""Notes on colours that hold nothing. Of another function's colour the note stays when a meter has proved the way."""


def raised(example: str) -> set[str]:
    """Every code that an example made of files raises: problems, and the reasons and notes beside the circuits."""
    files = with_figures(shop_files(example))
    library, problems = in_memory(files)
    codes = {p.code for p in problems}
    plan = planned(library, problems)
    if plan is not None:
        codes |= {p.code for p in plan.problems}
        codes |= {c.reason_code for c in plan.circuits}
        codes |= {n.code for c in plan.circuits for n in c.colour_notes if n.code in ONLY_NOTES}
    chapters = tuple(
        Chapter(file=name, text=as_bytes(text).decode()) for name, text in sorted(files.items()) if name.endswith(".md")
    )
    if chapters:
        crew = tuple(library.crew.values())
        shown = library.reference.model_copy(update={"problems": {}})  # 200 pages that no chapter here speaks of
        codes |= {p.code for p in build_site(shown, Shop(name="Example"), chapters, crew=crew)[1]}
    return codes


def written(example: str, folder: Path) -> None:
    """The shop with the example laid over it, as files."""
    for name, text in shop_files(example).items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(as_bytes(text))


COMMAND = re.compile(r"^\$ loomleaf (.+)$", re.MULTILINE)
ON_DISK = {"file-passed-over": "only the reader of folders sees a file's ending"}
BY_OTHER_MEANS = {"bad-table", "no-standing-caution", "no-such-letter"}
"""Examples that are files, looked at by a test of their own below."""


def is_run(code: str) -> bool:
    page = pages()[code]
    return bool(parts_of(page.wrong)) and code not in ON_DISK and code not in BY_OTHER_MEANS


RUN = sorted(code for code in pages() if is_run(code))
TYPED = sorted(code for code, page in pages().items() if COMMAND.search(page.wrong))


def test_the_base_has_nothing_wrong() -> None:
    assert raised("") <= {""}


@pytest.mark.parametrize("code", RUN)
def test_the_wrong_example_raises_its_code(code: str) -> None:
    assert code in raised(pages()[code].wrong)


@pytest.mark.parametrize("code", RUN)
def test_the_right_example_does_not(code: str) -> None:
    assert parts_of(pages()[code].right), "the right example is made of files too"
    assert code not in raised(pages()[code].right)


@pytest.mark.parametrize("code", TYPED)
def test_the_command_raises_its_code_and_the_right_one_works(
    code: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    written("", tmp_path / "my-shop")
    monkeypatch.chdir(tmp_path)
    wrong, right = COMMAND.search(pages()[code].wrong), COMMAND.search(pages()[code].right)
    assert wrong and right
    assert cli.main(shlex.split(wrong[1])) == 1
    assert f"[{code}]" in capsys.readouterr().err
    assert cli.main(shlex.split(right[1])) == 0
    assert f"[{code}]" not in capsys.readouterr().err


@pytest.mark.parametrize("code", sorted(ON_DISK))
def test_the_wrong_example_raises_its_code_from_a_folder(code: str, tmp_path: Path) -> None:
    page = pages()[code]
    for name, example, there in (("wrong", page.wrong, True), ("right", page.right, False)):
        written(example, tmp_path / name)
        problems = read_tree(tmp_path / name, content_folder())[1]
        assert (code in {p.code for p in problems}) == there


def test_bad_table() -> None:
    library, problems = in_memory(shop_files(pages()["bad-table"].wrong))
    assert [p.code for p in problems] == []
    assert {p.code for p in build_tables(library.tables)[1]} == {"bad-table"}


def test_no_standing_caution() -> None:
    from loomleaf.sheets.views import standing_cautions

    for example, codes in (
        (pages()["no-standing-caution"].wrong, {"no-standing-caution"}),
        (pages()["no-standing-caution"].right, set()),
    ):
        library, problems = in_memory(shop_files(example))
        assert not [p for p in problems if p.severity is Severity.ERROR]
        assert {p.code for p in standing_cautions(library.reference, "2041")[1]} == codes


def test_no_such_letter() -> None:
    from loomleaf.sheets.pdf import missing_characters

    page = pages()["no-such-letter"]
    assert missing_characters(f"<p>{page.wrong}</p>") and not missing_characters(f"<p>{page.right}</p>")


def test_no_shop_file(tmp_path: Path) -> None:
    written("", tmp_path)
    (tmp_path / "shop.yaml").unlink()
    assert [p.code for p in read_tree(tmp_path, content_folder())[1]] == ["no-shop-file"]


def test_link_outside(tmp_path: Path) -> None:
    written("", tmp_path / "my-shop")
    (tmp_path / "radio.yaml").write_text("lead: radio\n")
    (tmp_path / "my-shop" / "leads" / "second.yaml").symlink_to(tmp_path / "radio.yaml")
    assert [p.code for p in read_tree(tmp_path / "my-shop", content_folder())[1]] == ["link-outside"]


def test_cannot_read(tmp_path: Path) -> None:
    written("", tmp_path)
    (tmp_path / "leads" / "second.yaml").mkdir()
    assert [p.code for p in read_tree(tmp_path, content_folder())[1]] == ["cannot-read"]


def test_bad_file_name(tmp_path: Path) -> None:
    written("", tmp_path)
    (tmp_path / "leads" / "radio\u200b.yaml").write_text("lead: radio\n", "utf-8")
    assert [p.code for p in read_tree(tmp_path, content_folder())[1]] == ["bad-file-name"]


def test_label_sheet() -> None:
    from loomleaf.sheets.labels import sheet_problems

    library, problems = in_memory(BASE)
    plan = planned(library, problems)
    assert plan is not None
    for columns, codes in ((9, {"label-sheet"}), (5, set())):
        shop = Shop.model_validate({"name": "Example", "labels": {"columns": columns, "width_mm": 38.1}})
        assert {p.code for p in sheet_problems(plan, shop, "A4")} == codes


def test_no_price() -> None:
    from loomleaf.sheets.estimate import price_problems

    library, problems = in_memory(BASE)
    plan = planned(library, problems)
    assert plan is not None and library.shop is not None
    assert price_problems(plan, library.shop.value, "A4") == ()
    assert [p.code for p in price_problems(replace(plan, workshop=None), library.shop.value, "A4")] == ["no-price"]


def test_worker_lost(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A process that makes sheets is killed, as a computer short of memory does it."""
    from loomleaf.output.record import read_record
    from loomleaf.pipeline import load_shop, print_sheets

    written("", tmp_path / "my-shop")
    text = (tmp_path / "my-shop" / "jobs" / "2041.yaml").read_text()
    (tmp_path / "my-shop" / "jobs" / "2042.yaml").write_text(text.replace("2041", "2042"))
    here = os.getpid()

    def killed(*_: object, **__: object) -> None:
        assert os.getpid() != here
        os.kill(os.getpid(), signal.SIGKILL)

    monkeypatch.setattr("loomleaf.sheets.registry.render_sheet", killed)
    loaded = load_shop(tmp_path / "my-shop")
    told = print_sheets(loaded, ("2041", "2042"), "summary", read_record(tmp_path / "build"), processes=2)[1]
    assert {p.code for p in told} == {"worker-lost"}


# --- sheets that come back, and comparing ----------------------------------------------------------------------------


def a_pdf(*, keywords: str = "", box: bool = False, password: str = "", pages: int = 1) -> bytes:
    """A small PDF made here: blank pages, keywords, one text box, a password."""
    from pypdf import PdfWriter
    from pypdf.generic import ArrayObject, DictionaryObject, NameObject, TextStringObject

    writer = PdfWriter()
    for _ in range(pages):
        writer.add_blank_page(width=200, height=200)
    writer.add_metadata({"/Keywords": keywords})
    if box:
        field = DictionaryObject(
            {
                NameObject("/FT"): NameObject("/Tx"),
                NameObject("/T"): TextStringObject("note"),
                NameObject("/V"): TextStringObject("seen"),
            }
        )
        form = DictionaryObject({NameObject("/Fields"): ArrayObject([writer._add_object(field)])})
        writer._root_object[NameObject("/AcroForm")] = form
    if password:
        writer.encrypt(password, algorithm="RC4-128")
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


OF_2041 = "job 2041, revision A, digest 0123456789abcdef"


@pytest.mark.parametrize(
    ("code", "data"),
    [
        ("sheet-unreadable", lambda: b"a photograph"),
        ("sheet-too-large", lambda: a_pdf(keywords=OF_2041, box=True, pages=301)),
        ("sheet-locked", lambda: a_pdf(keywords=OF_2041, box=True, password="dunnock")),
        ("not-a-sheet", lambda: a_pdf(box=True)),
        ("not-fillable", lambda: a_pdf(keywords=OF_2041)),
    ],
)
def test_a_pdf_that_cannot_be_taken(code: str, data: Callable[[], bytes]) -> None:
    from loomleaf.collect.pdf import read_sheet

    assert [p.code for p in read_sheet("a.pdf", data())[1]] == [code]
    assert read_sheet("a.pdf", a_pdf(keywords=OF_2041, box=True))[1] == ()


@pytest.mark.parametrize(
    ("keywords", "code"), [(OF_2041, "sheet-older"), (OF_2041.replace("2041", "2401"), "sheet-of-another-job")]
)
def test_a_sheet_that_is_refused(keywords: str, code: str) -> None:
    from loomleaf.collect.run import collect

    library, problems = in_memory(BASE)
    plan = planned(library, problems)
    assert plan is not None
    told = collect(library, {"2041": plan}, [("a.pdf", a_pdf(keywords=keywords, box=True))]).problems
    assert [p.code for p in told] == [code]


def test_job_has_errors() -> None:
    from loomleaf.collect.run import collect

    library, _ = in_memory(BASE)
    told = collect(library, {}, [("a.pdf", a_pdf(keywords=OF_2041, box=True))]).problems
    assert [p.code for p in told] == ["job-has-errors"]


def test_comparing() -> None:
    from loomleaf.compare import sides

    library, _ = in_memory(BASE)
    job = BASE["jobs/2041.yaml"].encode()
    frozen = b'job: "2041"\nrevision: A\ndigest: "0123456789abcdef"\ninputs: {job: {job: "2041"}}\n'
    for other, code in ((job.replace(b"2041", b"2042"), "cannot-compare"), (frozen, "bad-issued")):
        assert [p.code for p in sides(("old.yaml", job), ("new.yaml", other), library)[1]] == [code]
    assert sides(("old.yaml", job), ("new.yaml", job), library)[1] == ()


# --- every code is raised somewhere ----------------------------------------------------------------------------------

NOT_RAISED: dict[str, str] = {}
"""Codes that no test raises, each with the reason."""


def test_every_code_is_raised_somewhere() -> None:
    """By an example above, or by a test that names it."""
    texts = [p.read_text("utf-8") for p in sorted((ROOT / "tests").rglob("test_*.py"))]
    quiet = [
        code
        for code in sorted(codes_in_the_source() - set(RUN) - set(TYPED) - set(ON_DISK))
        if not any(f'"{code}"' in text for text in texts)
    ]
    assert quiet == sorted(NOT_RAISED)
