"""The demo handbook as a whole: complete, linked, self-contained, careful, and the same on each run."""

from __future__ import annotations

import posixpath
import re
from html.parser import HTMLParser

import pytest

from loomleaf.handbook.site import STANDING_CAUTIONS, build_site
from loomleaf.plan.dashnotes import dash_notes
from loomleaf.problems import Severity

from .conftest import Site

VOID = {"br", "hr", "img", "input", "meta", "link", "wbr"}


class Tree(HTMLParser):
    """Open and closed elements, headings in order, landmarks, ids, and the words of each page."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.faults: list[str] = []
        self.headings: list[int] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.feed(text)
        self.close()
        self.faults += [f"never closed: {tag}" for tag in self.open if tag != "html"]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if re.fullmatch("h[1-6]", tag):
            self.headings.append(int(tag[1]))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open[-1] != tag:
            self.faults.append(f"</{tag}> closes {self.open[-1:]} at {self.getpos()}")
            if tag in self.open:
                while self.open.pop() != tag:
                    pass
        else:
            self.open.pop()

    def handle_data(self, data: str) -> None:
        if not self.open or self.open[-1] not in ("script", "style"):
            self.words.append(data)


@pytest.fixture(scope="module")
def trees(site: Site) -> dict[str, Tree]:
    return {path: Tree(text) for path, text in site.pages.items()}


def test_nothing_is_wrong_with_the_demo_handbook(site: Site) -> None:
    assert [p.line() for p in site.problems] == []


def test_everything_in_the_reference_has_a_page(site: Site) -> None:
    for section in ("functions", "connectors", "methods", "features", "cautions", "problems"):
        for name, entry in getattr(site.reference, section).items():
            page = site.pages.get(f"{section}/{name}.html")
            assert page is not None, f"{section}/{name}"
            assert f"<h1>{_escaped(entry.title)}</h1>" in page


def _escaped(text: str) -> str:
    return (
        text.replace("&", "&amp;").replace("'", "&#39;").replace('"', "&#34;").replace("<", "&lt;").replace(">", "&gt;")
    )


def test_there_is_enough_to_read(site: Site) -> None:
    assert len(site.reference.functions) >= 36
    assert len(site.reference.connectors) >= 12
    assert len(site.reference.methods) >= 6
    assert len(site.reference.features) >= 20
    chapters = [p for p in site.pages if p.startswith("chapters/")]
    assert len(chapters) >= 24


def test_the_pages_that_are_not_chapters_are_there(site: Site) -> None:
    for path in (
        "index.html", "contents.html", "functions.html", "connectors.html", "methods.html", "features.html",
        "cautions.html", "faults.html", "glossary.html", "sources.html", "a-to-z.html", "search.html",
    ):  # fmt: skip
        assert path in site.pages, path


def test_every_page_carries_the_three_cautions(site: Site) -> None:
    for path, text in site.pages.items():
        aside = text[text.index('id="cautions"') :]
        for name in STANDING_CAUTIONS:
            caution = site.reference.cautions[name]
            assert _escaped(caution.title) in aside, f"{path}: {name}"
            said = text if path == "index.html" else aside
            assert _escaped(caution.limit)[:40] in said.replace("&#x27;", "&#39;"), f"{path}: {name}"
        assert "local codes and licensed practice come before" in text, path


def test_no_page_leads_out_or_calls_the_network(site: Site) -> None:
    for path, text in site.files.items():
        if not isinstance(text, str) and not path.endswith((".css", ".js")):
            continue
        body = text if isinstance(text, str) else text.decode()
        if (
            path == "assets/minisearch.js"
        ):  # comments of the library name its papers; what matters is that it fetches nothing
            code = re.sub(r"/\*.*?\*/|//[^\n]*", "", body, flags=re.DOTALL)
            assert not re.search(r"\b(window\.fetch|XMLHttpRequest|importScripts|WebSocket|sendBeacon)\b", code)
            continue
        assert not re.search(r"(?:href|src|action)\s*=\s*[\"']?(?:[a-z]+:|//)", body), path
        assert not re.search(r"url\(\s*[\"']?(?:[a-z]+:|//)", body), path
        assert "@import" not in body, path
        if not path.endswith(".html"):
            assert "://" not in body, path


def test_no_personal_data(site: Site) -> None:
    everything = "\n".join(t if isinstance(t, str) else "" for t in site.files.values())
    looked_for = 0
    for entry in site.loaded.library.jobs.values():
        job = entry.value
        secrets = [job.customer.name, job.customer.contact, *(r.plate for r in job.registrations)]
        for secret in secrets:
            if secret:
                looked_for += 1
                assert secret not in everything, f"job {job.job}: {secret}"
    assert looked_for >= 6


def test_the_same_content_makes_the_same_bytes(site: Site) -> None:
    loaded = site.loaded
    chapters = loaded.tree.shipped_chapters + loaded.tree.chapters
    notes = dash_notes(site.plans, loaded.library.readings)
    again, _ = build_site(loaded.library.reference, loaded.shop, chapters, site.plans, notes=notes)
    assert again == site.files


def test_markup_is_well_formed(trees: dict[str, Tree]) -> None:
    for path, tree in trees.items():
        assert tree.faults == [], path


def test_headings_are_in_order(trees: dict[str, Tree]) -> None:
    for path, tree in trees.items():
        assert tree.headings[0] == 1, path
        assert tree.headings.count(1) == 1, path
        for before, after in zip(tree.headings, tree.headings[1:], strict=False):
            assert after <= before + 1, f"{path}: h{before} then h{after}"


def test_landmarks_language_and_skip_link(trees: dict[str, Tree]) -> None:
    for path, tree in trees.items():
        tags = [tag for tag, _ in tree.tags]
        assert tags.count("main") == 1, path
        assert "header" in tags and "footer" in tags and "nav" in tags, path
        assert ("html", {"lang": "en"}) in tree.tags, path
        first = next(attrs for tag, attrs in tree.tags if tag == "a")
        assert first.get("class") == "skip" and first.get("href") == "#main", path
        navs = [attrs for tag, attrs in tree.tags if tag == "nav"]
        names = [attrs.get("aria-label") or attrs.get("aria-labelledby") for attrs in navs]
        assert all(names) and len(set(names)) == len(names), path


def test_a_page_is_of_one_kind(trees: dict[str, Tree]) -> None:
    """Two words would be two classes, and one of them may be a part of a page: a body that is a note stood in the margin."""
    kinds = {attrs.get("class") for tree in trees.values() for tag, attrs in tree.tags if tag == "body"}
    assert {"chapter", "function", "dash-note"} <= kinds
    assert not [kind for kind in kinds if not kind or not re.fullmatch("[a-z-]+", kind)]


def test_tables_say_what_their_headers_head(trees: dict[str, Tree]) -> None:
    seen = 0
    for path, tree in trees.items():
        for tag, attrs in tree.tags:
            if tag == "th":
                seen += 1
                assert attrs.get("scope") in ("col", "row"), path
    assert seen > 100


def test_every_picture_has_words(site: Site) -> None:
    pictures = 0
    for path, text in site.pages.items():
        for match in re.finditer(r"<svg\b[^>]*>(.*?)</svg>", text, re.DOTALL):
            start = match[0][: match[0].index(">")]
            if 'aria-hidden="true"' in start:
                continue
            pictures += 1
            assert 'role="img"' in start, path
            assert "<title" in match[1] and "<desc" in match[1], path
    assert pictures >= len(site.reference.connectors) // 2


def test_reading_needs_no_script(site: Site) -> None:
    for path, text in site.pages.items():
        if path == "search.html":
            continue
        assert text.count("<script") == 1, path  # the light and dark switch, which nothing depends on
        assert "onclick" not in text and "javascript:" not in text


def test_chapters_go_on_in_order(site: Site) -> None:
    links = {path: re.search(r'rel="next" href="([^"]+)"', text) for path, text in site.pages.items()}
    here, read = "chapters/how-a-swap-hangs-together.html", 0
    while links[here]:
        read += 1
        found = links[here]
        assert found is not None
        here = posixpath.normpath(posixpath.join(posixpath.dirname(here), found[1]))
    assert read >= 23


def _middle(text: str) -> str:
    """A page's own text: what stands between its frame and its trail."""
    inside = text[text.index("<main") : text.index("</main>")]
    return re.sub(r'<nav class="(?:trail|onward)".*?</nav>', "", inside, flags=re.DOTALL)


def _kind(path: str) -> str:
    return path.partition("/")[0].removesuffix(".html")


def test_links_go_both_ways(site: Site) -> None:
    kinds = {
        "functions",
        "connectors",
        "methods",
        "features",
        "cautions",
        "problems",
        "chapters",
        "faults",
        "dash-notes",
    }
    leads = {
        path: {
            posixpath.normpath(posixpath.join(posixpath.dirname(path), href))
            for href in re.findall(r'href="([^"#][^"#]*)', _middle(text))
        }
        for path, text in site.pages.items()
        if _kind(path) in kinds and ("/" in path or path == "faults.html") and path != "chapters/practice.html"
    }
    pairs = {(_kind(one), _kind(other)) for one, others in leads.items() for other in others if other in leads}
    for pair in (
        ("functions", "connectors"), ("functions", "features"), ("functions", "chapters"), ("functions", "faults"),
        ("methods", "chapters"), ("dash-notes", "functions"), ("faults", "chapters"),
    ):  # fmt: skip
        assert pair in pairs and pair[::-1] in pairs, pair
    one_way = [
        (one, other) for one, others in leads.items() for other in others if other in leads and one not in leads[other]
    ]
    assert one_way == []


def test_other_names_are_in_the_index(site: Site) -> None:
    index = site.pages["a-to-z.html"]
    for word in ("yellow wire", "term 15", "voltage drop"):
        assert f'<span class="word">{word}</span>' in index, word


def test_a_term_is_linked_where_a_page_uses_it_first(site: Site) -> None:
    page = site.pages["chapters/joining-compared.html"]
    text = page[page.index('class="text"') :]
    assert text.count('href="../glossary.html#term-solder"') == 1
    assert 'href="../glossary.html#term-data-line">can' not in text  # "can" is not CAN


def test_terms_are_linked_on_every_page_that_is_read(site: Site) -> None:
    """ "bridged" is a word with one meaning here: each page that says it in plain text leads to its entry, once."""
    said = 0
    for path, text in site.pages.items():
        if path in ("glossary.html", "index.html", "contents.html", "a-to-z.html", "sources.html") or path in (
            "practice/worksheets.html",
            "practice/answers.html",
            "practice/record.html",
        ):
            continue  # lists of links, and pages for paper
        plain = re.sub(
            r"<(a|h[1-4]|code|pre|svg|dt|figure|th|summary|nav|header)\b.*?</\1>", " ", _middle(text), flags=re.DOTALL
        )
        links = text.count('class="term" href="' + "../" * path.count("/") + 'glossary.html#term-bridged"')
        if re.search(r"(?<![\w-])bridged(?![\w-])", re.sub(r"<[^>]*>", " ", plain)):
            said += 1
            assert links == 1, path
        assert links <= 1, path
    assert said >= 3


def test_a_missing_standing_caution_stops_the_book(site: Site) -> None:
    cautions = {n: c for n, c in site.reference.cautions.items() if n != "airbag-circuits"}
    poorer = site.reference.model_copy(update={"cautions": cautions})
    _, problems = build_site(poorer, site.loaded.shop, site.loaded.tree.chapters)
    assert any(
        p.code == "no-caution" and p.severity is Severity.ERROR and "airbag-circuits" in p.message for p in problems
    )


def test_no_airbag_waiting_time_is_printed(site: Site) -> None:
    # No figure may follow or precede a wait near the words airbag or SRS; the value comes only from the vehicle's maker.
    pattern = re.compile(r"\b\d+\s*(?:s|sec|seconds|min|minutes)\b")
    looked = 0
    for path, text in site.pages.items():
        words = re.sub(r"<[^>]+>", " ", text)
        for match in re.finditer(r"airbag|SRS", words):
            looked += 1
            near = words[max(0, match.start() - 160) : match.end() + 160]
            assert not (re.search(r"wait", near) and pattern.search(near)), f"{path}: {near}"
    assert looked > 100
