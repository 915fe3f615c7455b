"""Every internal link and anchor of the finished site, followed. A dead one is a Problem, and so is a link that leaves it."""

from __future__ import annotations

import posixpath
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from html.parser import HTMLParser
from urllib.parse import unquote, urldefrag

from ..problems import Collector, Location, Problem, nearest


@dataclass
class _Seen(HTMLParser):
    """Anchors and addresses of one page, each with its line."""

    anchors: list[tuple[str, int]] = field(default_factory=list)
    links: list[tuple[str, int]] = field(default_factory=list)

    def __post_init__(self) -> None:
        super().__init__(convert_charrefs=True)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        line = self.getpos()[0]
        for key, value in attrs:
            if key == "id":
                self.anchors.append((value or "", line))
            elif key in ("href", "src", "xlink:href", "action", "data", "poster", "srcset"):
                self.links.append((value or "", line))


def check_links(files: Mapping[str, bytes | str]) -> tuple[Problem, ...]:
    """Dead links, dead anchors, anchors that stand twice, and addresses outside the site."""
    found = Collector()
    pages = {path: _see(text) for path, text in files.items() if path.endswith(".html") and isinstance(text, str)}
    anchors = {path: {a for a, _ in seen.anchors} for path, seen in pages.items()}
    for path, seen in pages.items():
        _repeats(path, seen.anchors, found)
        for address, line in seen.links:
            _follow(path, address, line, files, anchors, found)
    return tuple(found.problems)


def _see(text: str) -> _Seen:
    seen = _Seen()
    seen.feed(text)
    seen.close()
    return seen


def _repeats(path: str, anchors: Iterable[tuple[str, int]], found: Collector) -> None:
    known: set[str] = set()
    for anchor, line in anchors:
        if anchor in known:
            found.error(
                "anchor-twice",
                f"the anchor '{anchor}' stands twice on this page",
                Location(file=path, line=line, column=1),
            )
        known.add(anchor)


def _follow(
    path: str,
    address: str,
    line: int,
    files: Mapping[str, bytes | str],
    anchors: Mapping[str, set[str]],
    found: Collector,
) -> None:
    where = Location(file=path, line=line, column=1)
    if ":" in address.partition("/")[0] or address.startswith("//"):
        found.error(
            "outside-link",
            f"the handbook works without a network, but this leads out of it: {address[:80]}",
            where,
            hint="name the source in words instead",
        )
        return
    target, anchor = urldefrag(address)
    goal = posixpath.normpath(posixpath.join(posixpath.dirname(path), unquote(target))) if target else path
    if goal not in files:
        found.error("dead-link", f"there is no page {goal}", where, hint=nearest(goal, files))
    elif anchor and goal in anchors and unquote(anchor) not in anchors[goal]:
        found.error("dead-link", f"there is no anchor '{anchor}' on {goal}", where, hint=nearest(anchor, anchors[goal]))
