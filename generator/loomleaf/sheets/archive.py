"""PDF/A-3a and PDF/UA-1 claimed by one file: the metadata of the first with the identification of the second.

The layout engine writes the metadata of one standard a run. PDF/A (ISO 19005-3, 6.6.2.3) wants every property that is not
of its own schemas described in the file, so the identification of PDF/UA (ISO 14289-1, clause 5) comes with its schema.
"""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

VARIANT = "pdf/a-3a"

_UA = b"""<rdf:Description rdf:about="" xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/"><pdfuaid:part>1</pdfuaid:part></rdf:Description>
<rdf:Description rdf:about="" xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/" \
xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#" xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#">
<pdfaExtension:schemas><rdf:Bag><rdf:li rdf:parseType="Resource">
<pdfaSchema:schema>PDF/UA identification schema</pdfaSchema:schema>
<pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/</pdfaSchema:namespaceURI>
<pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix>
<pdfaSchema:property><rdf:Seq><rdf:li rdf:parseType="Resource">
<pdfaProperty:name>part</pdfaProperty:name>
<pdfaProperty:valueType>Integer</pdfaProperty:valueType>
<pdfaProperty:category>internal</pdfaProperty:category>
<pdfaProperty:description>part of ISO 14289 to which the file conforms</pdfaProperty:description>
</rdf:li></rdf:Seq></pdfaSchema:property>
</rdf:li></rdf:Bag></pdfaExtension:schemas></rdf:Description>
"""
_END = b"</rdf:RDF>"


def add_ua_identification(pdf: Any) -> None:
    """Put the identification of PDF/UA into the metadata stream that is there already."""
    number = int(pdf.catalog["Metadata"].split()[0])
    stream = next(item for item in pdf.objects if item.number == number)
    whole = b"\n".join(stream.stream)
    if whole.count(_END) != 1:
        raise ValueError("the document's metadata is not one RDF block")
    stream.stream = [whole.replace(_END, _UA + _END)]


@contextmanager
def quiet_profile() -> Iterator[None]:
    """The layout engine leaves its colour profile's file for Python to close: that one warning is let go."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message=r"unclosed file .*sRGB2014\.icc", category=ResourceWarning)
        yield
