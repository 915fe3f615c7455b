"""HTML into PDF: tagged, fillable where asked, the same bytes every time, with nothing read from outside templates/.

The layout engine only logs what it cannot do and prints all the same: here its log records become Problems.
"""

from __future__ import annotations

import gc
import logging
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from functools import lru_cache
from typing import TYPE_CHECKING, Any
from urllib.parse import unquote, urlsplit

from ..places import templates_folder
from ..problems import Problem, Severity
from .archive import VARIANT, add_ua_identification, quiet_profile
from .engine import load_engine

if TYPE_CHECKING:
    from weasyprint import CSS
    from weasyprint.text.fonts import FontConfiguration
    from weasyprint.urls import URLFetcher, URLFetcherResponse

FACES = ("B612-Regular.otf", "B612-Bold.otf", "B612Mono-Regular.otf", "B612Mono-Bold.otf")
MORE_FACES = ("NotoSans-Regular-more.ttf", "NotoSans-Bold-more.ttf")
"""Letters of names that the first four lack: Latin Extended, Greek, Cyrillic."""


@dataclass(frozen=True, kw_only=True)
class Attached:
    """A file carried inside the PDF: the data that the sheet shows."""

    name: str
    description: str
    text: str


class OutsideTemplates(ValueError):
    """An address that does not lead to a file inside the templates folder."""


@lru_cache(maxsize=1)
def fetcher() -> URLFetcher:
    """A fetcher that opens files inside templates/ and nothing else: no network, no data addresses, no links that lead out."""
    load_engine()
    from weasyprint.urls import URLFetcher

    top = os.path.realpath(templates_folder())

    class InsideTemplates(URLFetcher):  # type: ignore[misc]
        def fetch(self, url: str, headers: Any = None) -> URLFetcherResponse:
            parts = urlsplit(url)
            if parts.scheme.lower() != "file" or parts.netloc not in ("", "localhost"):
                raise OutsideTemplates(f"only files inside the templates folder are read, not '{url[:80]}'")
            real = os.path.realpath(unquote(parts.path))
            if os.path.commonpath([real, top]) != top or not os.path.isfile(real):
                raise OutsideTemplates(f"'{os.path.basename(real)}' is not a file inside the templates folder")
            return super().fetch("file://" + real, headers)

    return InsideTemplates(allowed_protocols=("file",), allow_redirects=False, fail_on_errors=True)


@lru_cache(maxsize=1)
def fonts() -> FontConfiguration:
    """The bundled faces, loaded once a process."""
    load_engine()
    from weasyprint.text.fonts import FontConfiguration

    return FontConfiguration()


@lru_cache(maxsize=16)
def _style(name: str) -> CSS:
    load_engine()
    from weasyprint import CSS

    path = os.path.join(templates_folder(), "css", name)
    return CSS(filename=path, url_fetcher=fetcher(), font_config=fonts())


def warm(styles: tuple[str, ...]) -> None:
    """Load the layout engine, the fonts and the named style sheets, so that forked processes share them."""
    load_engine()
    _faces_have()
    for name in styles:
        _style(name)


def close() -> None:
    """Let go of the fonts and style sheets, so that no temporary font folder stays behind."""
    _style.cache_clear()
    fonts.cache_clear()


@lru_cache(maxsize=1)
def _faces_have() -> frozenset[int]:
    from fontTools.ttLib import TTFont  # type: ignore[import-untyped]

    def shared(names: tuple[str, ...]) -> frozenset[int]:
        maps = []
        for name in names:
            with TTFont(os.path.join(templates_folder(), "fonts", name), lazy=True) as font:
                maps.append(frozenset(font.getBestCmap()))
        return frozenset.intersection(*maps)

    return shared(FACES) | shared(MORE_FACES)


def missing_characters(text: str) -> str:
    """The characters of a text that no bundled face draws, each once, in order.

    >>> missing_characters("12.1 V, 0.75 mm², Ω")
    ''
    """
    have = _faces_have()
    return "".join(dict.fromkeys(c for c in text if ord(c) not in have and not c.isspace()))


class _Records(logging.Handler):
    def __init__(self) -> None:
        super().__init__(level=logging.WARNING)
        self.messages: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        message = record.getMessage()
        if message not in self.messages:
            self.messages.append(message)


@contextmanager
def _listening() -> Iterator[_Records]:
    """Gather what the layout engine and the font tools log, and keep it off the screen."""
    records = _Records()
    loggers = [logging.getLogger("weasyprint"), logging.getLogger("fontTools")]
    before = [(log.handlers[:], log.propagate, log.level) for log in loggers]
    for log in loggers:
        log.handlers, log.propagate = [records], False
        log.setLevel(logging.WARNING)
    try:
        yield records
    finally:
        for log, (handlers, propagate, level) in zip(loggers, before, strict=True):
            log.handlers, log.propagate = handlers, propagate
            log.setLevel(level)


def render(
    html: str,
    *,
    styles: tuple[str, ...],
    job: str,
    issued: date,
    forms: bool = False,
    attached: tuple[Attached, ...] = (),
    spaced: bool = True,
    archive: bool = False,
) -> tuple[bytes, tuple[Problem, ...]]:
    """The PDF of a page of HTML with the named style sheets of templates/css, and what went wrong on the way.

    ``spaced`` tries other spacings where a page would be all but empty; a book, whose chapters begin new pages, does not.

    There are no bytes when a file that the page names cannot be had.
    """
    load_engine()
    from weasyprint.urls import FatalURLFetchingError

    data = b""
    with _listening() as records, _no_collecting():
        try:
            lay = best_layout if spaced else layout
            document = lay(html, styles=styles, forms=forms)
            data = write(document, issued=issued, forms=forms, attached=attached, archive=archive)
        except FatalURLFetchingError as fault:
            records.messages.append(str(fault))
    return data, tuple(_problem(message, job) for message in records.messages)


def layout(html: str, *, styles: tuple[str, ...], forms: bool = False) -> Any:
    """The laid-out document: pages of boxes, before any PDF is written.

    The templates write well-formed markup, so the fast XML parser reads it; a fault in a template raises here.
    """
    from xml.etree import ElementTree

    from cssselect2 import ElementWrapper  # type: ignore[import-untyped]
    load_engine()
    from weasyprint import HTML

    base = "file://" + os.path.join(os.path.realpath(templates_folder()), "")
    source = HTML(string="<html></html>", base_url=base, url_fetcher=fetcher())
    source.wrapper_element = ElementWrapper.from_html_root(ElementTree.fromstring(html), content_language=None)
    source.etree_element = source.wrapper_element.etree_element
    return source.render(font_config=fonts(), stylesheets=[_style(name) for name in styles], pdf_forms=forms)


SPACINGS = ("", "sheet-close.css", "sheet-loose.css")
"""Style sheets tried in turn until no page but the last is all but empty: as designed, a little closer, a little looser."""


def best_layout(html: str, *, styles: tuple[str, ...], forms: bool = False) -> Any:
    """The first spacing that leaves no thin page and makes the sheet at most a page longer for each one it does away with."""
    best, least = None, 0
    for extra in SPACINGS:
        document = layout(html, styles=(*styles, extra) if extra else styles, forms=forms)
        thin = thin_pages(document)
        cost = len(document.pages) + 2 * thin
        if best is None or cost < least:
            best, least = document, cost
        if not thin:
            break
    return best


def thin_pages(document: Any) -> int:
    """How many pages, the last left out, are filled to less than a fifth of their height."""
    return sum(_filled(page) < 0.2 * page.height for page in document.pages[:-1])


def _filled(page: Any) -> float:
    """Height from the first to the last text or picture of a page, its margins left out."""
    from weasyprint.formatting_structure.boxes import MarginBox, ReplacedBox, TextBox

    top, bottom = page.height, 0.0
    waiting = [box for box in page._page_box.children if not isinstance(box, MarginBox)]
    while waiting:
        box = waiting.pop()
        box = getattr(box, "_box", box)
        if isinstance(box, ReplacedBox) or (isinstance(box, TextBox) and box.text.strip()):
            top, bottom = min(top, box.position_y), max(bottom, box.position_y + box.height)
        waiting.extend(getattr(box, "children", ()))
    return max(0.0, float(bottom) - float(top))


@contextmanager
def _no_collecting() -> Iterator[None]:
    """Boxes are made by the hundred thousand and let go all at once: looking for cycles meanwhile costs a sixth of the time."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def write(
    document: Any, *, issued: date, forms: bool, attached: tuple[Attached, ...] = (), archive: bool = False
) -> bytes:
    """The bytes of a laid-out document, under PDF/UA-1; one for the archive under PDF/A-3a as well."""
    from weasyprint import Attachment

    moment = datetime.combine(issued, time(), tzinfo=UTC)
    files = [
        Attachment(
            string=item.text,
            name=item.name,
            description=item.description,
            created=moment,
            modified=moment,
            relationship="Data",
            url_fetcher=fetcher(),
        )
        for item in attached
    ]
    with quiet_profile():
        data: bytes = document.write_pdf(
            finisher=_finish_archive if archive else _finish,
            attachments=files,
            pdf_variant=VARIANT if archive else "pdf/ua-1",
            pdf_tags=True,
            pdf_forms=forms,
        )
    return data


def _problem(message: str, job: str) -> Problem:
    return Problem(
        code="render-warning",
        severity=Severity.ERROR,
        message=f"the sheet could not be laid out as meant: {message}",
        hint="look at the template or style sheet it names",
        job=job,
    )


def _finish(document: Any, pdf: Any) -> None:
    """What the layout engine leaves undone: scope on header cells, and head and foot as artifacts."""
    by_number = {item.number: item for item in pdf.objects}
    _add_scope(pdf, by_number)
    _mark_artifacts(pdf, by_number)


def _finish_archive(document: Any, pdf: Any) -> None:
    _finish(document, pdf)
    add_ua_identification(pdf)


def _number(reference: Any) -> int:
    text = reference.decode() if isinstance(reference, bytes) else str(reference)
    return int(text.split()[0])


def _is(item: Any, tag: str) -> bool:
    return isinstance(item, dict) and item.get("S") == f"/{tag}"


def _add_scope(pdf: Any, by_number: dict[int, Any]) -> None:
    """Header cells of a table's head are for their column, those in its body for their row."""
    for item in pdf.objects:
        if _is(item, "TH"):
            row = by_number[_number(item["P"])]
            group = by_number[_number(row["P"])]
            item["A"]["Scope"] = "/Column" if _is(group, "THead") else "/Row"


def _mark_artifacts(pdf: Any, by_number: dict[int, Any]) -> None:
    """Marked content of the page margins belongs to no structure element of the tree: make it an artifact."""
    root = by_number[_number(pdf.catalog["StructTreeRoot"])]
    in_tree: set[int] = set()
    waiting = [_number(kid) for kid in root["K"]]
    while waiting:
        number = waiting.pop()
        if number in in_tree:
            continue
        in_tree.add(number)
        kids = by_number[number].get("K", [])
        waiting.extend(_number(kid) for kid in kids if isinstance(kid, bytes))
    numbers = by_number[_number(root["ParentTree"])]["Nums"]
    pages = [by_number[kid] for kid in pdf.pages["Kids"][::3]]
    orphans: set[int] = set()
    for index in range(0, len(numbers), 2):
        parents = numbers[index + 1]
        if not isinstance(parents, list):
            continue
        outside = {i for i, parent in enumerate(parents) if _number(parent) not in in_tree}
        if outside:
            _as_artifacts(by_number[_number(pages[numbers[index]]["Contents"])], outside)
            for i in outside:
                orphans.add(_number(parents[i]))
                parents[i] = "null"
    for number in orphans:
        by_number[number].pop("P", None)


def _as_artifacts(stream: Any, outside: set[int]) -> None:
    """Turn ``/Tag <</MCID n>> BDC`` into an artifact for the numbers given."""
    import pydyf

    pieces = stream.stream
    for place in range(2, len(pieces)):
        properties = pieces[place - 1]
        if pieces[place] == b"BDC" and isinstance(properties, dict) and properties.get("MCID") in outside:
            pieces[place - 2] = "/Artifact"
            pieces[place - 1] = pydyf.Dictionary({"Type": "/Pagination"})
