"""The pages of the site as values: where each lies, what it is called, and the HTML of its middle."""

from __future__ import annotations

from dataclasses import dataclass

from .book import Link


@dataclass(frozen=True, kw_only=True)
class Middle:
    """A page without its frame. ``path`` is from the root; ``trail`` leads back to the contents."""

    path: str
    title: str
    html: str
    about: str = ""  # one sentence, for search and the page's description
    kind: str = "page"
    trail: tuple[Link, ...] = ()
    before: Link | None = None
    after: Link | None = None
    words: tuple[str, ...] = ()  # further words that search and the index find it by
    entries: tuple[tuple[str, str], ...] = ()  # index words and their anchors on this page
    headings: tuple[tuple[str, str], ...] = ()  # words and anchors of its second-level headings

    @property
    def root(self) -> str:
        """The way from this page back to the site's root."""
        return "../" * self.path.count("/")

    @property
    def here(self) -> Link:
        return Link(words=self.title, href=self.path)
