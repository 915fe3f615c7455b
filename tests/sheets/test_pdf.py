"""Making the PDF: nothing is read from outside, nothing passes unseen, the bytes repeat, colours can be told apart."""

from __future__ import annotations

import hashlib
import io
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from pypdf import PdfReader, PdfWriter

from loomleaf.places import templates_folder
from loomleaf.problems import Severity
from loomleaf.sheets import render_sheet
from loomleaf.sheets.pdf import OutsideTemplates, fetcher, missing_characters, render
from tests.conftest import ROOT

from .conftest import World, sheet

ISSUED = date(2026, 5, 12)


def page(body: str) -> str:
    return f'<html lang="en"><head><title>t</title></head><body class="sheet"><h1>t</h1>{body}</body></html>'


@pytest.mark.parametrize(
    "url",
    [
        "http://localhost/x.png",
        "https://example.invalid/x.png",
        "data:image/png;base64,AAAA",
        "ftp://localhost/x",
        "file:///etc/passwd",
        "file://elsewhere/etc/passwd",
        f"file://{ROOT}/pyproject.toml",
        f"file://{ROOT}/templates/../pyproject.toml",
        f"file://{ROOT}/templates/%2e%2e/pyproject.toml",
        f"file://{ROOT}/templates",
    ],
)
def test_only_files_inside_the_templates_folder_are_fetched(url: str) -> None:
    with pytest.raises((OutsideTemplates, ValueError)):
        fetcher().fetch(url)


def test_a_file_inside_is_fetched() -> None:
    response = fetcher().fetch(f"file://{templates_folder()}/css/sheet.css")
    assert b"@page" in response.read()


def test_a_link_that_leads_out_is_not_followed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from loomleaf.sheets import pdf

    inside = tmp_path / "templates"
    inside.mkdir()
    (tmp_path / "secret.css").write_text("p { color: red }")
    (inside / "out.css").symlink_to(tmp_path / "secret.css")
    (inside / "own.css").write_text("p { color: blue }")
    monkeypatch.setattr(pdf, "templates_folder", lambda: inside)
    fetcher.cache_clear()
    try:
        assert fetcher().fetch(f"file://{inside}/own.css").read()
        with pytest.raises(OutsideTemplates):
            fetcher().fetch(f"file://{inside}/out.css")
    finally:
        fetcher.cache_clear()


@pytest.mark.parametrize(
    ("body", "said"),
    [
        ('<img src="http://localhost:9/none.png" alt="x"/>', "none.png"),
        ('<img src="fonts/none.png" alt="x"/>', "none.png"),
        ('<p style="colour: red">x</p>', "colour"),
        ('<a href="#nowhere">x</a>', "nowhere"),
    ],
)
def test_what_the_layout_engine_only_logs_becomes_a_problem(body: str, said: str) -> None:
    _, problems = render(page(body), styles=("sheet.css", "sheet-a4.css"), job="7", issued=ISSUED)
    assert problems
    assert {p.code for p in problems} == {"render-warning"}
    assert all(p.severity is Severity.ERROR and p.job == "7" for p in problems)
    assert any(said in p.message for p in problems)


def test_a_clean_page_has_no_problem() -> None:
    data, problems = render(page("<p>x</p>"), styles=("sheet.css", "sheet-a4.css"), job="7", issued=ISSUED)
    assert problems == ()
    assert data.startswith(b"%PDF-1.7")


def test_a_fault_in_a_template_is_a_fault_of_ours() -> None:
    from xml.etree.ElementTree import ParseError

    with pytest.raises(ParseError):
        render("<html><p></html>", styles=(), job="7", issued=ISSUED)


def test_a_letter_that_no_face_has_stops_the_sheet(world: World) -> None:
    plan = world.plans["2041"]
    job = plan.job.model_copy(update={"customer": plan.job.customer.model_copy(update={"name": "Ines 咲"})})
    made, problems = render_sheet("summary", replace(plan, job=job), world.shop, world.reference)
    assert made is None
    assert [p.code for p in problems] == ["no-such-letter"]
    assert "咲" in problems[0].message


def test_every_sign_the_project_prints_is_in_a_face() -> None:
    assert missing_characters("Ω µ ² ° ± − × ≤ ≥ √ → ✓ ⚠ “ ” ’ … – ≈ π Δ é ü ß") == ""
    assert missing_characters("Łukasz Žižek Șerban Αθηνά Юлия Nguyễn") == ""


def test_names_in_other_scripts_are_drawn_by_a_bundled_face(world: World) -> None:
    plan = world.plans["2041"]
    customer = plan.job.customer.model_copy(update={"name": "Łukasz Юлия"})
    job = plan.job.model_copy(update={"customer": customer})
    made, problems = render_sheet("summary", replace(plan, job=job), world.shop, world.reference)
    assert problems == () and made is not None
    reader = PdfReader(io.BytesIO(made.pdf))
    assert "Łukasz Юлия" in reader.pages[0].extract_text()
    fonts = {str(f.get_object()["/BaseFont"]) for f in reader.pages[0]["/Resources"]["/Font"].values()}  # type: ignore[index]
    assert all("B612" in name or "Noto" in name for name in fonts), fonts
    assert any("Noto" in name for name in fonts)


def test_markup_in_a_job_is_only_text(world: World) -> None:
    plan = world.plans["2041"]
    wish = "Louder </p><script>alert(1)</script><img src='file:///etc/passwd'/>"
    job = plan.job.model_copy(update={"request": wish})
    made, problems = render_sheet("summary", replace(plan, job=job), world.shop, world.reference)
    assert problems == () and made is not None
    assert "<script>" not in made.html and "<img" not in made.html


SCRIPT = """
import hashlib, sys
from tests.sheets.conftest import planned
from loomleaf.sheets import render_sheet
world = planned()
made, problems = render_sheet("summary", world.plans["2041"], world.shop, world.reference, paper="A4")
print(hashlib.sha256(made.pdf).hexdigest())
"""


def test_the_same_bytes_in_another_process_zone_and_hash_seed() -> None:
    """Compared with this process as well, which has rendered other sheets before."""
    here = hashlib.sha256(sheet("summary", "2041").pdf).hexdigest()
    env = {**os.environ, "TZ": "Pacific/Auckland", "PYTHONHASHSEED": "7", "LC_ALL": "C.UTF-8"}
    env["PYTHONPATH"] = os.pathsep.join([str(ROOT / "generator"), str(ROOT)])
    there = subprocess.run(
        [sys.executable, "-c", SCRIPT], cwd=ROOT, env=env, capture_output=True, text=True, check=True, timeout=120
    )
    assert there.stdout.strip() == here


def luminance(colour: str) -> float:
    """Relative luminance by WCAG 2.2, definition 'relative luminance' (from memory)."""
    digits = colour.lstrip("#")
    if len(digits) == 3:
        digits = "".join(c * 2 for c in digits)
    channels = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio by WCAG 2.2, definition 'contrast ratio' (from memory)."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_contrast_formula_gives_the_known_ends() -> None:
    assert contrast("#000", "#fff") == pytest.approx(21.0)
    assert contrast("#777", "#fff") == pytest.approx(4.48, abs=0.01)  # the known grey just under 4.5


def colour_pairs() -> Iterator[tuple[str, str, str]]:
    """Text colour and ground of every rule of the sheets' style sheets; what a rule leaves out is black on white."""
    for path in sorted((templates_folder() / "css").glob("sheet*.css")):
        text = re.sub(r"/\*.*?\*/", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
        for selector, rule in re.findall(r"([^{}]+)\{([^{}]*)\}", text):
            ink = re.search(r"(?<![-\w])color:\s*(#[0-9a-f]+)", rule)
            ground = re.search(r"background:\s*(#[0-9a-f]+)", rule)
            if ink or ground:
                yield selector.strip(), ink[1] if ink else "#000", ground[1] if ground else "#fff"


def test_every_colour_pair_has_contrast_of_4_5() -> None:
    pairs = list(colour_pairs())
    assert any(ground == "#ffa024" for _, _, ground in pairs)
    for selector, ink, ground in pairs:
        assert contrast(ink, ground) >= 4.5, (selector, ink, ground)


def test_style_rules_end_in_a_class_and_carry_no_ornament() -> None:
    """Rules that end in an element name slow the cascade; shadows, rounding and slanted type are not in the look."""
    for path in sorted((templates_folder() / "css").glob("sheet*.css")):
        text = re.sub(r"/\*.*?\*/", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
        assert not re.search(r"box-shadow|border-radius|italic|animation|transition|text-shadow", text)
        for selector in re.findall(r"([^{}@;]+)\{", re.sub(r"@[^{;]+\{[^{}]*(\{[^{}]*\}[^{}]*)*\}", "", text)):
            for one in selector.split(","):
                last = one.strip().split()[-1]
                assert last.startswith("."), (path.name, one)


def test_no_word_depends_on_colour(world: World) -> None:
    """Each swatch stands beside its colour in words."""
    html = sheet("bench", "2038").html
    bars = html.count('class="wire-bar"')
    assert bars and bars == len(re.findall(r'class="wire-word">[a-z][a-z ,]+</span>', html))


def test_a_filled_sheet_gives_its_values_back(world: World) -> None:
    """By the PDF library's own form filling, as a viewer would store it."""
    made = sheet("bench", "2038")
    check = next(c for c in made.plan.checks if c.stage == "before-plugging-in" and not c.yes_no)
    writer = PdfWriter(clone_from=io.BytesIO(made.pdf))
    values = {f"{check.key}__actual": "12.4 V", f"{check.key}__initials": "RP", f"{check.key}__pass": "/on"}
    for each in writer.pages:
        writer.update_page_form_field_values(each, values, auto_regenerate=False)
    filled = io.BytesIO()
    writer.write(filled)
    fields = PdfReader(filled).get_fields() or {}
    assert fields[f"{check.key}__actual"].value == "12.4 V"
    assert fields[f"{check.key}__initials"].value == "RP"
    assert fields[f"{check.key}__pass"].value == "/on"
    assert fields[f"{check.key}__fail"].value == "/Off"
