"""Links go both ways: a page that others lead to names those that it does not link to itself."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Sequence
from dataclasses import replace

from .book import FOLDERS
from .dash import KIND as DASH_NOTE
from .pages import Middle
from .templates import lay_out

KINDS = (*FOLDERS, DASH_NOTE, "chapter")
LEAD_ONLY = ("practice",)  # nearly every chapter leads to the questions: a list of all of them would help nobody
ANCHOR = "pages-that-lead-here"
_HREF = re.compile(r'href="([^"#][^"#]*)')


def leads_to(page: Middle) -> frozenset[str]:
    """Paths of the pages that a page's own text links to.

    >>> page = Middle(path="functions/a.html", title="A", html='<a href="../chapters/b.html#c">b</a>', about="")
    >>> sorted(leads_to(page))
    ['chapters/b.html']
    """
    folder = posixpath.dirname(page.path)
    return frozenset(posixpath.normpath(posixpath.join(folder, href)) for href in _HREF.findall(page.html))


def with_ways_back(pages: Sequence[Middle]) -> tuple[Middle, ...]:
    """The same pages, each with links back to those that lead to it and that it does not name."""
    joined = [page for page in pages if page.kind in (*KINDS, *LEAD_ONLY)]
    leads = {page.path: leads_to(page) for page in joined}

    def back(page: Middle) -> Middle:
        if page.kind not in KINDS:
            return page
        links = tuple(
            other.here
            for other in joined
            if other.path != page.path and page.path in leads[other.path] and other.path not in leads[page.path]
        )
        body, end, rest = page.html.rpartition("</article>")
        if not links or not end:
            return page
        section = lay_out("pages/ways_back.html", links=links, anchor=ANCHOR, root=page.root)
        return replace(page, html=body + section + end + rest)

    return tuple(back(page) for page in pages)
