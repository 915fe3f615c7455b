"""All sheets of a job as one PDF in working order, tags, fields, attachments and headings kept.

Joining pages alone would lose what makes a sheet readable to a screen reader. So each sheet's structure tree comes along
as a part of one document, its entries in the parent tree moved past those of the sheets before; its fields stand under
a parent named after the sheet (``bench.made-by__1``), so that equal names on two sheets stay two fields.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from io import BytesIO
from typing import Any
from xml.sax.saxutils import escape

from .. import __version__
from ..model.shop import Shop
from ..plan.types import Plan

WORKING_ORDER = ("summary", "estimate", "bench", "cutting", "labels", "fitting", "record")

_FONT_OF_FIELD = re.compile(r"/(\S+)\s+[\d.]+\s+Tf")


@dataclass(frozen=True, kw_only=True)
class Part:
    """One sheet of the bundle. ``kind`` is its name on the command line; it names its fields and its page labels."""

    kind: str
    title: str
    pdf: bytes


def in_working_order(parts: Iterable[Part]) -> tuple[Part, ...]:
    """Parts in the order of the work; a kind that the order does not know comes last."""
    rank = {kind: at for at, kind in enumerate(WORKING_ORDER)}
    return tuple(sorted(parts, key=lambda part: rank.get(part.kind, len(rank))))


def job_bundle(parts: Iterable[Part], plan: Plan, shop: Shop) -> bytes:
    """The sheets of a job as one PDF, in working order."""
    job = plan.job
    return bundle(
        in_working_order(parts),
        job=job.job,
        author=shop.name,
        language=shop.language,
        keywords=f"job {job.job}, revision {job.revision}, digest {plan.digest}, Loomleaf {__version__}",
        issued=job.issued,
    )


def bundle(parts: Sequence[Part], *, job: str, author: str, language: str, keywords: str, issued: date) -> bytes:
    """One PDF of all parts, in the order given; the same bytes for the same parts. Without a part: ValueError."""
    from pypdf import PdfReader, PdfWriter
    from pypdf.generic import (
        ArrayObject,
        BooleanObject,
        DictionaryObject,
        NameObject,
        NumberObject,
        TextStringObject,
    )

    if not parts:
        raise ValueError("a bundle has at least one sheet")
    writer = PdfWriter()
    writer.pdf_header = "%PDF-1.7"
    document = DictionaryObject(
        {NameObject("/Type"): NameObject("/StructElem"), NameObject("/S"): NameObject("/Document")}
    )
    document_at = writer._add_object(document)
    kids, numbers, fields, files, labels = (ArrayObject() for _ in range(5))
    shared: dict[str, DictionaryObject] = {}
    next_key = 0
    for part in parts:
        reader: Any = PdfReader(BytesIO(part.pdf))
        first = len(writer.pages)
        source: Any = reader.trailer["/Root"]
        pages: list[Any] = [writer.add_page(page) for page in reader.pages]
        tree = source["/StructTreeRoot"]
        for page, old in zip(pages, reader.pages, strict=True):
            page[NameObject("/StructParents")] = NumberObject(int(old["/StructParents"]) + next_key)
            for annotation in _annotations(page):
                if "/StructParent" in annotation:
                    moved = int(annotation["/StructParent"]) + next_key
                    annotation[NameObject("/StructParent")] = NumberObject(moved)
        root = tree.clone(writer)
        for kid in _listed(root["/K"]):
            element = kid.get_object()
            element[NameObject("/P")] = document_at
            element[NameObject("/S")] = NameObject("/Part")
            element[NameObject("/T")] = TextStringObject(part.title)
            kids.append(kid)
        entries = root["/ParentTree"]["/Nums"]
        for at in range(0, len(entries), 2):
            numbers += [NumberObject(int(entries[at]) + next_key), entries[at + 1]]
        next_key += max((int(key) for key in entries[::2]), default=-1) + 1
        if "/AcroForm" in source:
            fields.append(_fields_under(writer, part.kind, source["/AcroForm"], shared))
        files += [item.clone(writer) for item in _embedded(source)]
        labels += [NumberObject(first), _page_label(part.kind)]
        above = writer.add_outline_item(title=part.title, page_number=first)
        _outline(writer, reader, reader.outline, first, above, part.title)
    document[NameObject("/K")] = kids
    catalog = writer._root_object
    top = writer._add_object(
        DictionaryObject(
            {
                NameObject("/Type"): NameObject("/StructTreeRoot"),
                NameObject("/K"): ArrayObject([document_at]),
                NameObject("/ParentTree"): writer._add_object(DictionaryObject({NameObject("/Nums"): numbers})),
                NameObject("/ParentTreeNextKey"): NumberObject(next_key),
            }
        )
    )
    document[NameObject("/P")] = top
    catalog[NameObject("/StructTreeRoot")] = top
    catalog[NameObject("/MarkInfo")] = DictionaryObject({NameObject("/Marked"): BooleanObject(True)})
    catalog[NameObject("/Lang")] = TextStringObject(language)
    catalog[NameObject("/ViewerPreferences")] = DictionaryObject({NameObject("/DisplayDocTitle"): BooleanObject(True)})
    catalog[NameObject("/PageLabels")] = DictionaryObject({NameObject("/Nums"): labels})
    if files:
        names = catalog.setdefault(NameObject("/Names"), DictionaryObject())
        names[NameObject("/EmbeddedFiles")] = DictionaryObject({NameObject("/Names"): files})
    if fields:
        catalog[NameObject("/AcroForm")] = DictionaryObject(
            {
                NameObject("/Fields"): fields,
                NameObject("/DR"): DictionaryObject({NameObject(name): group for name, group in shared.items()}),
                NameObject("/NeedAppearances"): BooleanObject(True),
            }
        )
    _describe(writer, title=f"Job {job}: all sheets", author=author, keywords=keywords, issued=issued)
    out = BytesIO()
    writer.write(out)
    return out.getvalue()


def _listed(value: Any) -> list[Any]:
    found = value.get_object() if hasattr(value, "get_object") else value
    return list(found) if isinstance(found, list) else [value]


def _annotations(page: Any) -> Iterator[Any]:
    for item in page.get("/Annots", []):
        yield item.get_object()


def _page_label(kind: str) -> Any:
    """Pages are counted within their sheet: "bench 1"."""
    from pypdf.generic import DictionaryObject, NameObject, TextStringObject

    return DictionaryObject({NameObject("/S"): NameObject("/D"), NameObject("/P"): TextStringObject(f"{kind} ")})


def _embedded(source: Any) -> list[Any]:
    """Names and file specifications of a sheet's attachments."""
    names = source.get("/Names", {}).get("/EmbeddedFiles", {}).get("/Names", [])
    return list(names)


def _fields_under(writer: Any, kind: str, form: Any, shared: dict[str, Any]) -> Any:
    """A sheet's fields below one parent that is named after it. What they are drawn with is added to ``shared``."""
    from pypdf.generic import ArrayObject, DictionaryObject, NameObject, TextStringObject

    parent = DictionaryObject({NameObject("/T"): TextStringObject(kind)})
    at = writer._add_object(parent)
    kids = ArrayObject()
    fonts: set[str] = set()
    for item in form["/Fields"]:
        cloned = item.clone(writer)
        field = cloned.get_object()
        field[NameObject("/Parent")] = at
        fonts |= {f"/{name}" for name in _FONT_OF_FIELD.findall(str(field.get("/DA", "")))}
        kids.append(cloned)
    parent[NameObject("/Kids")] = kids
    for group, entries in form.get("/DR", {}).items():
        mine = shared.setdefault(group, DictionaryObject())
        found = entries.get_object()
        for name in found:
            if name not in mine and (group != "/Font" or name in fonts):
                mine[NameObject(name)] = found.raw_get(name).clone(writer)
    return at


def _outline(writer: Any, reader: Any, items: Sequence[Any], first: int, above: Any, title: str = "") -> None:
    """A sheet's headings below the sheet's own entry, which is already its title."""
    from pypdf.generic import Fit

    last = above
    for item in items:
        if isinstance(item, list):
            _outline(writer, reader, item, first, last)
        elif item.title != title:
            page = reader.get_destination_page_number(item)
            fit = Fit.xyz(left=item.left, top=item.top, zoom=item.zoom)
            last = writer.add_outline_item(title=item.title, page_number=first + page, parent=above, fit=fit)


def _describe(writer: Any, *, title: str, author: str, keywords: str, issued: date) -> None:
    """Title, author and what it claims, in both places where readers look."""
    from pypdf.generic import NameObject, StreamObject

    maker = f"Loomleaf {__version__}"
    writer.metadata = {
        "/Title": title,
        "/Author": author,
        "/Keywords": keywords,
        "/Creator": maker,
        "/Producer": maker,
        "/CreationDate": f"D:{issued:%Y%m%d}000000Z",
        "/ModDate": f"D:{issued:%Y%m%d}000000Z",
    }
    moment = f"{issued.isoformat()}T00:00:00Z"
    packet = f"""<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:xmp="http://ns.adobe.com/xap/1.0/"
 xmlns:pdf="http://ns.adobe.com/pdf/1.3/" xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/">
<pdfuaid:part>1</pdfuaid:part>
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{escape(title)}</rdf:li></rdf:Alt></dc:title>
<dc:creator><rdf:Seq><rdf:li>{escape(author)}</rdf:li></rdf:Seq></dc:creator>
<pdf:Keywords>{escape(keywords)}</pdf:Keywords><pdf:Producer>{escape(maker)}</pdf:Producer>
<xmp:CreatorTool>{escape(maker)}</xmp:CreatorTool>
<xmp:CreateDate>{moment}</xmp:CreateDate><xmp:ModifyDate>{moment}</xmp:ModifyDate>
</rdf:Description></rdf:RDF></x:xmpmeta>
<?xpacket end="r"?>"""
    stream = StreamObject()
    stream.set_data(packet.encode("utf-8"))
    stream[NameObject("/Type")] = NameObject("/Metadata")
    stream[NameObject("/Subtype")] = NameObject("/XML")
    writer._root_object[NameObject("/Metadata")] = writer._add_object(stream)
