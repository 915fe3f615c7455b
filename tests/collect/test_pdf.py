"""A filled sheet read back; and every kind of broken or hostile PDF answered with one plain Problem."""

from __future__ import annotations

import io
import logging
import random
import subprocess
import time
import zlib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader, PdfWriter
from pypdf.generic import ArrayObject, DictionaryObject, NameObject, NumberObject, TextStringObject

from loomleaf.collect import pdf
from loomleaf.collect.pdf import read_printed, read_sheet
from tests.collect.conftest import Printed, all_good, fill
from tests.proof import need


def test_what_was_filled_in_comes_back(sheet: Printed) -> None:
    wanted = all_good(sheet) | {"made-by__1": "RP", "made-by__3": "12 May 2026"}
    found, problems = read_sheet("x.pdf", fill(sheet.pdf, wanted))
    assert problems == () and found is not None
    assert (found.job, found.revision, found.digest, found.kind) == ("1", "A", sheet.plan.digest, "bench")
    assert found.registrations == ("AB1",)
    for name, value in wanted.items():
        assert (found.ticks if isinstance(value, bool) else found.texts)[name] == value
    others = {n: t for n, t in found.texts.items() if n not in wanted}
    assert set(others.values()) == {""}
    assert not any(ticked for name, ticked in found.ticks.items() if name not in wanted)


def test_reading_leaves_no_remark_and_no_limit_behind(sheet: Printed, caplog: pytest.LogCaptureFixture) -> None:
    import pypdf

    before = pypdf.get_configuration()
    log = logging.getLogger("pypdf")
    handlers, propagate = log.handlers[:], log.propagate
    read_sheet("x.pdf", b"%PDF-1.7\ngarbage")
    read_sheet("x.pdf", sheet.pdf)
    assert pypdf.get_configuration() == before
    assert (log.handlers, log.propagate) == (handlers, propagate)
    assert caplog.records == []


def rewritten(data: bytes, change: object) -> bytes:
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(data)))
    change(writer)  # type: ignore[operator]
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def root(writer: PdfWriter) -> Any:
    return writer._root_object


def test_a_sheet_that_lost_its_attachment_is_known_by_its_keywords(sheet: Printed) -> None:
    data = rewritten(fill(sheet.pdf, all_good(sheet)), lambda w: root(w).pop("/Names"))
    found, problems = read_sheet("x.pdf", data)
    assert problems == () and found is not None
    assert (found.job, found.revision, found.digest) == ("1", "A", sheet.plan.digest)


def test_a_field_that_another_program_put_into_a_group_is_known_by_its_own_name(sheet: Printed) -> None:
    """Some programs hang a form's fields below one parent: PDF 32000-1, 12.7.3.2, names joined by full stops."""

    def wrap(writer: PdfWriter) -> None:
        form = root(writer)["/AcroForm"].get_object()
        kid = DictionaryObject({NameObject("/T"): TextStringObject("one"), NameObject("/V"): TextStringObject("12,4")})
        top = DictionaryObject(
            {
                NameObject("/T"): TextStringObject("group"),
                NameObject("/FT"): NameObject("/Tx"),
                NameObject("/Kids"): ArrayObject([writer._add_object(kid)]),
            }
        )
        form["/Fields"].get_object().append(writer._add_object(top))

    found, _ = read_sheet("x.pdf", rewritten(sheet.pdf, wrap))
    assert found is not None and found.texts["one"] == "12,4"


def refused(data: bytes) -> str:
    """The one code it is refused with."""
    found, problems = read_sheet("x.pdf", data)
    assert found is None
    (problem,) = problems
    assert problem.message and problem.location.file == "x.pdf"
    return problem.code


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"hello",
        b"%PDF-1.7",
        b"%PDF-1.7\n%%EOF",
        b"%PDF-1.7\n" + b"\x00" * 4000,
        b"PK\x03\x04 a zip",
        b"\xff\xd8 a photo",
    ],
    ids=["nothing", "text", "head", "head-and-tail", "zeros", "zip", "photo"],
)
def test_what_is_no_pdf(data: bytes) -> None:
    assert refused(data) == "sheet-unreadable"


def test_a_pdf_that_is_too_large() -> None:
    assert refused(b"%PDF-1.7\n" + b" " * pdf.MAX_BYTES) == "sheet-too-large"


def test_a_pdf_of_somebody_else() -> None:
    writer = PdfWriter()
    writer.add_blank_page(100, 100)
    out = io.BytesIO()
    writer.write(out)
    assert refused(out.getvalue()) == "not-a-sheet"


def test_a_locked_pdf(sheet: Printed) -> None:
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(sheet.pdf)))
    writer.encrypt("secret", algorithm="RC4-128")
    out = io.BytesIO()
    writer.write(out)
    assert refused(out.getvalue()) == "sheet-locked"


def test_a_sheet_whose_fields_were_flattened(sheet: Printed) -> None:
    assert refused(rewritten(sheet.pdf, lambda w: root(w).pop("/AcroForm"))) == "not-fillable"


def test_too_many_pages(sheet: Printed) -> None:
    def many(writer: PdfWriter) -> None:
        root(writer)["/Pages"].get_object()[NameObject("/Count")] = NumberObject(10**9)

    assert refused(rewritten(sheet.pdf, many)) == "sheet-too-large"


def test_too_many_fields(sheet: Printed) -> None:
    def many(writer: PdfWriter) -> None:
        fields = root(writer)["/AcroForm"].get_object()["/Fields"].get_object()
        one = DictionaryObject({NameObject("/T"): TextStringObject("f"), NameObject("/FT"): NameObject("/Tx")})
        fields.extend([one] * (pdf.MAX_FIELDS + 1))

    assert refused(rewritten(sheet.pdf, many)) == "sheet-too-large"


def test_a_form_nested_too_deep(sheet: Printed) -> None:
    def deep(writer: PdfWriter) -> None:
        kid = DictionaryObject({NameObject("/T"): TextStringObject("end"), NameObject("/FT"): NameObject("/Tx")})
        for n in range(pdf.MAX_DEPTH + 2):
            kid = DictionaryObject(
                {
                    NameObject("/T"): TextStringObject(f"l{n}"),
                    NameObject("/Kids"): ArrayObject([writer._add_object(kid)]),
                }
            )
        root(writer)["/AcroForm"].get_object()["/Fields"].get_object().append(writer._add_object(kid))

    assert refused(rewritten(sheet.pdf, deep)) == "sheet-too-large"


def test_a_form_that_holds_itself_ends(sheet: Printed) -> None:
    def loop(writer: PdfWriter) -> None:
        top = DictionaryObject({NameObject("/T"): TextStringObject("loop")})
        here = writer._add_object(top)
        top[NameObject("/Kids")] = ArrayObject([here])
        root(writer)["/AcroForm"].get_object()["/Fields"].get_object().append(here)

    found, problems = read_sheet("x.pdf", rewritten(sheet.pdf, loop))
    assert (found is not None) != bool(problems)


def test_long_text_in_a_field_is_cut(sheet: Printed) -> None:
    name = next(n for n in all_good(sheet) if n.endswith("__actual"))
    found, _ = read_sheet("x.pdf", fill(sheet.pdf, {name: "9" * 100_000 + "\x00\u202e"}))
    assert found is not None and found.texts[name] == "9" * pdf.MAX_WRITTEN
    assert found.cut == (name,)


def attached(data: bytes, payload: bytes) -> bytes:
    """The sheet with other bytes in place of the data it carries."""

    def change(writer: PdfWriter) -> None:
        names = root(writer)["/Names"].get_object()["/EmbeddedFiles"].get_object()["/Names"].get_object()
        stream = names[1].get_object()["/EF"].get_object()["/F"].get_object()
        stream._data = zlib.compress(payload, 9)
        stream[NameObject("/Filter")] = NameObject("/FlateDecode")
        for key in ("/DecodeParms", "/Params"):
            stream.pop(key, None)

    return rewritten(data, change)


@pytest.mark.parametrize(
    "payload",
    [
        b"\x00" * 200_000_000,
        b"[" * 500_000,
        b"not json",
        b"[1]",
        b'{"sheet": "bench"}',
        b'{"sheet": 1, "job": {"a": 2}}',
    ],
    ids=["bomb", "deep", "no-json", "list", "half", "odd"],
)
def test_hostile_data_inside_falls_back_on_the_keywords(sheet: Printed, payload: bytes) -> None:
    started = time.monotonic()
    found, problems = read_sheet("x.pdf", attached(sheet.pdf, payload))
    assert problems == () and found is not None and found.job == "1"
    assert time.monotonic() - started < 60


def test_the_data_inside_cannot_name_a_file_or_a_script(sheet: Printed) -> None:
    evil = b'{"sheet": "bench", "job": "../../x", "revision": "A\\n- b", "digest": "<b>", '
    evil += b'"registrations": [1, null, "\\u0000AB1"]}'
    found, problems = read_sheet("x.pdf", attached(sheet.pdf, evil))
    assert problems == () and found is not None
    assert "\n" not in found.revision and "\x00" not in "".join(found.registrations)


def test_a_pdf_that_sends_the_library_round_is_given_up(sheet: Printed, monkeypatch: pytest.MonkeyPatch) -> None:
    """A few changed bytes once kept the library busy for many minutes; here any work is too slow."""
    monkeypatch.setattr(pdf, "MAX_SECONDS", 0.01)
    monkeypatch.setattr(pdf, "_filled", lambda file, data: [None for _ in iter(int, 1)])
    found, problems = read_sheet("x.pdf", sheet.pdf)
    assert found is None
    assert [(p.code, "took longer than" in p.message) for p in problems] == [("sheet-unreadable", True)]


@settings(max_examples=40)
@given(st.integers(0, 2**32 - 1), st.integers(1, 40))
def test_any_bytes_changed_give_a_sheet_or_one_problem(sheet: Printed, seed: int, count: int) -> None:
    rng = random.Random(seed)
    data = bytearray(sheet.pdf)
    for _ in range(count):
        data[rng.randrange(len(data))] = rng.randrange(256)
    found, problems = read_sheet("x.pdf", bytes(data))
    assert (found is None and len(problems) == 1) or (found is not None and problems == ())


@settings(max_examples=25)
@given(st.floats(0.02, 0.99))
def test_a_pdf_cut_short_gives_a_sheet_or_one_problem(sheet: Printed, part: float) -> None:
    found, problems = read_sheet("x.pdf", sheet.pdf[: int(len(sheet.pdf) * part)])
    assert (found is None and len(problems) == 1) or (found is not None and problems == ())


def test_the_data_of_a_printed_sheet_is_read_without_its_fields(sheet: Printed) -> None:
    data, problems = read_printed("x.pdf", rewritten(sheet.pdf, lambda w: root(w).pop("/AcroForm")))
    assert problems == () and [d["digest"] for d in data] == [sheet.plan.digest]
    assert read_printed("x.pdf", rewritten(sheet.pdf, lambda w: root(w).pop("/Names")))[1][0].code == "not-a-sheet"


# --- saved again by other programs -------------------------------------------------------------------------------


def values_in(data: bytes) -> dict[str, object]:
    found, problems = read_sheet("x.pdf", data)
    assert found is not None, problems
    return {n: t for n, t in found.texts.items() if t} | {n: t for n, t in found.ticks.items() if t}


def test_a_sheet_rewritten_or_updated_by_a_pdf_library_says_the_same(sheet: Printed) -> None:
    """ISO 32000-1, 7.5.6: an update is added at the end, and the newest object of a number counts."""
    wanted = all_good(sheet) | {"made-by__1": "RP", "made-by__3": "12 May 2026"}
    once = fill(sheet.pdf, wanted)
    assert values_in(once) == wanted
    assert values_in(rewritten(once, lambda writer: writer.compress_identical_objects())) == wanted
    update = PdfWriter(io.BytesIO(once), incremental=True)
    for entry in root(update)["/AcroForm"]["/Fields"]:
        item = entry.get_object()
        if item["/T"] == "made-by__1":
            item[NameObject("/V")] = TextStringObject("TO")
    out = io.BytesIO()
    update.write(out)
    assert out.getvalue().startswith(once[: len(once) // 2])
    assert values_in(out.getvalue()) == wanted | {"made-by__1": "TO"}


@pytest.mark.parametrize(
    "options",
    [("--linearize",), ("--object-streams=generate", "--recompress-flate"), ("--qdf",), ("--generate-appearances",)],
    ids=" ".join,
)
def test_a_sheet_saved_again_by_qpdf_says_the_same(sheet: Printed, tmp_path: Path, options: tuple[str, ...]) -> None:
    wanted = all_good(sheet) | {"made-by__1": "RP"}
    before, after = tmp_path / "before.pdf", tmp_path / "after.pdf"
    before.write_bytes(fill(sheet.pdf, wanted))
    done = subprocess.run([need("qpdf", "qpdf"), *options, str(before), str(after)], check=False, capture_output=True, timeout=60)
    assert done.returncode in (0, 3), done.stderr  # 3: done, with a remark about names of ticked states
    assert values_in(after.read_bytes()) == wanted


def test_an_encrypted_sheet_is_told_to_be_locked(sheet: Printed, tmp_path: Path) -> None:
    before, after = tmp_path / "before.pdf", tmp_path / "after.pdf"
    before.write_bytes(sheet.pdf)
    subprocess.run([need("qpdf", "qpdf"), "--encrypt", "", "owner", "256", "--", str(before), str(after)], check=True, timeout=60)
    assert refused(after.read_bytes()) == "sheet-locked"
