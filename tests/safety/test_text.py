"""Text that somebody else has written: it is shown as text, and nothing in it is obeyed."""

from __future__ import annotations

import csv
import io
import re
import time
import unicodedata
from html import escape
from pathlib import Path
from xml.etree import ElementTree

import pytest

from loomleaf.cli import main
from loomleaf.handbook.prose import to_html
from loomleaf.handbook.site import build_site
from loomleaf.pipeline import load_shop, plan_jobs
from loomleaf.sheets.pdf import OutsideTemplates, fetcher
from loomleaf.sheets.registry import sheet_html, sheet_kinds

from .shops import alter, copied, read


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return copied(tmp_path / "shop")


def active(html: str) -> list[str]:
    """Elements of a page that could do something, or bring something in, that the text of this test put there."""
    found = []
    for element in ElementTree.fromstring(html).iter():
        tag = str(element.tag).rpartition("}")[2]
        if tag in ("script", "iframe", "object", "embed", "base", "link"):
            found.append(tag)
        for key, value in element.attrib.items():
            leads = key.rpartition("}")[2] in ("src", "href", "action", "data", "style") and "evil" in value
            if key.lower().startswith("on") or leads:
                found.append(f"{tag} {key}")
    return found


HOSTILE = [
    "<script>evil()</script>",
    "<img src=x onerror=evil()>",
    "\"><svg onload=evil()>",
    "</style><script>evil()</script>",
    "<iframe src='file:///etc/passwd#evil'>",
    "<link rel=attachment href='file:///etc/passwd?evil'>",
    "<img src='http://127.0.0.1:9/evil.png'>",
    "<img src='data:text/html,evil'>",
    "{{ evil }} {% for x in evil %}",
    "{{ ''.__class__.__mro__[1].__subclasses__() }} evil",
    "]]> &evil; <!DOCTYPE x [<!ENTITY evil SYSTEM 'file:///etc/passwd'>]>",
    "{{function:supply-constant}} evil",
    "%(evil)s {evil} ${evil} `evil`",
]


@pytest.mark.parametrize("text", HOSTILE)
def test_text_of_a_job_stands_on_every_sheet_as_written(shop: Path, text: str) -> None:
    quoted = "'" + text.replace("'", "''") + "'"
    alter(shop / "jobs/1.yaml", "{name: Ada Pebble}", f"{{name: {quoted}}}")
    alter(shop / "jobs/1.yaml", "request: Fit the radio.", f"request: {quoted}")
    alter(shop / "leads/radio.yaml", "title: Radio", f"title: {quoted}")
    alter(shop / "vehicles/corvane-plover.yaml", "title: Corvane Plover", f"title: {quoted}")
    alter(shop / "shop.yaml", "name: Pebble Corner Radio", f"name: {quoted}")
    loaded = load_shop(shop)
    plans, problems = plan_jobs(loaded)
    assert [p.code for p in problems if p.severity == "error"] == []
    shown = 0
    for kind in sheet_kinds:
        html, _ = sheet_html(kind, plans["1"], loaded.shop, loaded.library.reference)
        if html is None:
            continue
        assert active(html) == [], kind
        assert "root:x:0" not in html
        shown += escape(text, quote=False)[:12] in html.replace("&#34;", '"').replace("&#39;", "'")
    assert shown >= 2  # it is there, as text


def test_a_sheet_of_hostile_text_is_printed_and_reads_as_text(shop: Path, tmp_path: Path) -> None:
    pypdf = pytest.importorskip("pypdf")
    alter(shop / "jobs/1.yaml", "request: Fit the radio.", "request: '<script>evil()</script> {{ 7*7 }} file:///etc/passwd'")
    assert main(["print", "summary", "--shop", str(shop), "--out", str(tmp_path / "out"), "--processes", "1"]) == 0
    reader = pypdf.PdfReader(tmp_path / "out/job-1/1-summary.pdf")
    text = "".join(page.extract_text() for page in reader.pages)
    assert "<script>evil()</script> {{ 7*7 }} file:///etc/passwd" in " ".join(text.split())
    names = str([page.get("/Annots") for page in reader.pages]) + str(reader.trailer["/Root"].get("/Names"))
    assert "/URI" not in names and "/JavaScript" not in names


@pytest.mark.parametrize(
    "url",
    [
        "file:///etc/passwd",
        "http://127.0.0.1/x.png",
        "https://example.invalid/x.css",
        "ftp://example.invalid/x",
        "data:text/css,p{}",
        "//example.invalid/x",
        "file://example.invalid/etc/passwd",
        "FILE:///etc/passwd",
        "javascript:1",
        "",
    ],
)
def test_the_layout_engine_gets_nothing_from_outside_templates(url: str) -> None:
    with pytest.raises(OutsideTemplates):
        fetcher().fetch(url)


def test_nor_through_a_way_up() -> None:
    from loomleaf.places import templates_folder

    with pytest.raises(OutsideTemplates):
        fetcher().fetch(f"file://{templates_folder()}/../LICENSE")
    with pytest.raises(OutsideTemplates):
        fetcher().fetch(f"file://{templates_folder()}/%2e%2e/LICENSE")


# Chapters


def chapter(shop: Path, text: str) -> Path:
    (shop / "handbook").mkdir(exist_ok=True)
    path = shop / "handbook/99-other.md"
    path.write_text(f"---\ntitle: Other\nsummary: Other.\npart: Making\n---\n{text}\n", "utf-8")
    return path


ATTACKS = [
    ("Hot <script>alert(1)</script> iron", "raw-html"),
    ("<img src=x onerror=alert(1)>", "raw-html"),
    ("<svg><use href='http://e.invalid/x'/></svg>", "raw-html"),
    ("[x](javascript:alert(1))", "outside-link"),
    ("[x](file:///etc/passwd)", "outside-link"),
    ("[x](http://e.invalid/)", "outside-link"),
    ("[x](data:text/html,evil)", "outside-link"),
    ("[x](//e.invalid/)", "outside-link"),
    ("{{include:/etc/passwd}}", "unknown-mark"),
    ("{{function:__class__}}", "unknown-mark"),
]


def test_a_chapter_brings_nothing_active(shop: Path) -> None:
    """Each attack is a paragraph of one chapter: each is told by its line, and the page has none of them."""
    path = chapter(shop, "\n\n".join(text for text, _ in ATTACKS) + "\n\n[x](../../../../etc/passwd)")
    lines = path.read_text().splitlines()
    loaded = load_shop(shop)
    files, problems = build_site(
        loaded.library.reference, loaded.shop, loaded.tree.shipped_chapters + loaded.tree.chapters
    )
    told = {(p.location.line, p.code) for p in problems if p.location.file == "handbook/99-other.md"}
    assert {(lines.index(text) + 1, code) for text, code in ATTACKS} <= told
    assert ("dead-link", "chapters/other.html") in {(p.code, p.location.file) for p in problems}
    page = str(files["chapters/other.html"])
    main_part = page.partition("<main")[2].partition("</main>")[0]
    assert not re.search(r"<script|<img|<use|javascript:|\sonerror=", main_part)
    assert "root:x:0" not in page


@pytest.mark.parametrize(
    "text",
    [
        "> " * 3000 + "deep",
        "\n".join("    " * n + "* deep" for n in range(200)),
        "*" * 20_000,
        "[" * 20_000,
        "![" * 5_000 + "](x)",
        "`" * 20_001,
        "_a" * 10_000,
        "|".join("a" for _ in range(2000)) + "\n" + "|".join("-" for _ in range(2000)),
        "<" * 20_000,
        "&" * 20_000,
        "{{" * 5_000,
        "{{function:" + "x" * 20_000 + "}}",
        "x" * 200_000,
    ],
    ids=lambda text: text[:6].strip() or "deep",
)
def test_markdown_that_is_hard_to_read_ends(text: str) -> None:
    start = time.process_time()
    assert isinstance(to_html(text), str)
    assert time.process_time() - start < 30  # not minutes; how fast is measured elsewhere


# Characters


@pytest.mark.parametrize(
    ("name", "outcome"),
    [
        ("عدا بيبل", "no-such-letter"),  # written from right to left
        ("Zoë Åström-Žižek", ""),
        ("王小明", "no-such-letter"),
        ("Ada \U0001f600 Pebble", "no-such-letter"),
        ("\U0010ffff", "no-such-letter"),
        ("\u202eelbbeP adA", "control-character"),
        ("Ada\x00Pebble", "control-character"),
        ("Ada\x1b[31mPebble", "control-character"),
        ("e\u0301" * 40, ""),  # letters with marks apart
        ("Z" + "\u0350" * 60, ""),
        ("x" * 300, ""),
        ("Pebble" * 20 + " " + "Ada" * 20, ""),
    ],
    ids=ascii,
)
def test_a_name_is_printed_whole_or_the_job_is_left_out(
    shop: Path, tmp_path: Path, name: str, outcome: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Letters that no bundled face has are told with the job left out; everything else is printed. Nothing is lost silently."""
    pypdf = pytest.importorskip("pypdf")
    alter(shop / "jobs/1.yaml", "{name: Ada Pebble}", f"{{name: '{name}'}}")
    code = main(["print", "summary", "--shop", str(shop), "--out", str(tmp_path / "out"), "--processes", "1"])
    told = re.findall(r"error\[([a-z-]+)\]", capsys.readouterr().err)
    sheet = tmp_path / "out/job-1/1-summary.pdf"
    assert (code, told, sheet.exists()) == ((1, [outcome], False) if outcome else (0, [], True))
    if not outcome:
        text = "".join(page.extract_text() for page in pypdf.PdfReader(sheet).pages)
        letters = [c for c in unicodedata.normalize("NFD", name) if c.isalpha()]
        shown = "".join(c for c in unicodedata.normalize("NFD", text) if c.isalpha())
        assert "".join(letters) in shown


# Spreadsheets


@pytest.mark.parametrize("text", ["=cmd|' /C calc'!A0", "+1+1", "-1+1", "@SUM(1)", "\t=1", "=HYPERLINK(\"http://e.invalid\")"])
def test_a_list_for_a_spreadsheet_holds_no_formula(shop: Path, tmp_path: Path, text: str) -> None:
    quoted = '"' + text.replace('"', '\\"').replace("\t", "\\t") + '"'
    for file, old in (("leads/radio.yaml", "title: Radio"), ("leads/dash.yaml", "title: Dash adapter")):
        alter(shop / file, old, f"title: {quoted}")
    out = tmp_path / "out"
    assert main(["print", "cutting", "--shop", str(shop), "--out", str(out), "--processes", "1"]) == 0
    assert main(["report", "--shop", str(shop), "--out", str(out)]) == 0
    cells = [
        cell
        for path in out.rglob("*.csv")
        for row in csv.reader(io.StringIO(path.read_text("utf-8-sig"), newline=""))
        for cell in row
    ]
    assert {path.name for path in out.rglob("*.csv")} == {"1-cut-list.csv", "1-picking.csv", "to-order.csv"}
    assert [c for c in cells if c.startswith(("=", "@", "\t", "\r")) or re.match(r"[+-](?!\d+(\.\d+)?$)", c)] == []
    assert any(text.strip() in cell for cell in cells)  # the words are there, as words


def test_template_words_in_values_are_words(shop: Path) -> None:
    alter(shop / "shop.yaml", "name: Pebble Corner Radio", "name: '{{ 7*7 }}{% raw %}'")
    loaded, _ = read(shop)
    assert loaded.shop.name == "{{ 7*7 }}{% raw %}"
