"""Every word that a reader meets, against Hunspell's British English dictionary and a short list of the trade's own words."""

from __future__ import annotations

import ast
import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from loomleaf.handbook.prose import words_of
from tests.proof import need

from .conftest import Site

_WORD = re.compile(r"[A-Za-zÀ-ÿ][A-Za-zÀ-ÿ’']*")
_NOT_PROSE = re.compile(r"<(svg|script|style|code|pre)\b.*?</\1>", re.DOTALL)
_NAME_OF_A_FILE = re.compile(r"\S+/\S+|\b[a-z0-9]+(?:-[a-z0-9]+)*-[0-9]+\b")
_JINJA = re.compile(r"\{[{%#].*?[}%#]\}", re.DOTALL)
_QUOTED = re.compile(r"```.*?```|`[^`]*`|^    .*$", re.DOTALL | re.MULTILINE)


def words_in(text: str) -> set[str]:
    return {word.replace("’", "'").strip("'") for word in _WORD.findall(text)}


def unknown(words: set[str]) -> set[str]:
    """Those words that the dictionary does not have."""
    hunspell = need("Hunspell, which holds the dictionary,", "hunspell")
    ran = subprocess.run(
        [hunspell, "-d", "en_GB", "-i", "utf-8", "-l"],
        input="\n".join(sorted(words)),
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=60,
    )
    if "open" in ran.stderr and "en_GB" in ran.stderr:
        need("The British English dictionary of Hunspell", "hunspell-en-gb")
    assert ran.returncode == 0, ran.stderr
    return set(ran.stdout.split())


@pytest.fixture(scope="module")
def ours(root: Path) -> frozenset[str]:
    """The project's own words, each a line; what stands after # says what kind they are."""
    lines = (root / "tests/handbook/words.txt").read_text(encoding="utf-8").splitlines()
    return frozenset(line for line in lines if line and not line.startswith("#"))


def in_pages(site: Site) -> Iterator[tuple[str, str]]:
    """The words of pages; names by which files and sources are called are no words."""
    names = re.compile(
        "|".join(rf"\b{re.escape(name)}\b" for name in sorted(site.reference.sources, key=len, reverse=True))
    )
    for path, text in site.pages.items():
        yield path, _NAME_OF_A_FILE.sub(" ", names.sub(" ", words_of(_NOT_PROSE.sub(" ", text))))


def in_templates(root: Path) -> Iterator[tuple[str, str]]:
    """The words of sheets and pages that stand in their templates."""
    for path in sorted((root / "templates").rglob("*.html")):
        text = _NOT_PROSE.sub(" ", _JINJA.sub(" ", path.read_text(encoding="utf-8")))
        yield path.name, words_of(text)


def in_sentences_of_the_program(root: Path) -> Iterator[tuple[str, str]]:
    """Sentences that the program itself says: strings with three words and no markup in them. Docstrings are not among them."""
    for path in sorted((root / "generator/loomleaf").rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        docs = {
            id(node.body[0].value)
            for node in ast.walk(tree)
            if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
            and node.body
            and isinstance(node.body[0], ast.Expr)
        }
        for node in ast.walk(tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docs:
                said = node.value
                if re.search(r"[a-z] [a-z]+ [a-z]", said) and not re.search(r"[<>{}\\]|==", said):
                    yield f"{path.name}:{node.lineno}", _NAME_OF_A_FILE.sub(" ", said)


def in_guides(root: Path) -> Iterator[tuple[str, str]]:
    for name in ("README.md", "DEVELOPERS.md"):
        yield name, _QUOTED.sub(" ", (root / name).read_text(encoding="utf-8"))


def misspelt(texts: Iterator[tuple[str, str]], ours: frozenset[str], at_least: int) -> dict[str, str]:
    """Unknown words, each with one place where it stands."""
    where: dict[str, str] = {}
    for place, text in texts:
        for word in words_in(text) - ours:
            where.setdefault(word, place)
    assert len(where) > at_least  # the texts were really read
    return {word: where[word] for word in sorted(unknown(set(where)))}


def test_the_handbook_is_spelt_right(site: Site, ours: frozenset[str]) -> None:
    assert misspelt(in_pages(site), ours, 3000) == {}


def test_sheets_messages_and_guides_are_spelt_right(root: Path, ours: frozenset[str]) -> None:
    assert misspelt(in_templates(root), ours, 300) == {}
    assert misspelt(in_sentences_of_the_program(root), ours, 1000) == {}
    assert misspelt(in_guides(root), ours, 300) == {}


def test_american_spelling_and_slips_are_seen() -> None:
    assert unknown({"colour", "color", "recieve", "aluminium", "solder", "centre"}) == {"color", "recieve"}


def test_the_list_of_our_own_words_is_kept_short(root: Path, ours: frozenset[str]) -> None:
    lines = (root / "tests/handbook/words.txt").read_text(encoding="utf-8").splitlines()
    assert len([line for line in lines if line and not line.startswith("#")]) == len(ours) < 160  # none stands twice
    needed = unknown(set(ours))
    assert ours - needed == set()  # the dictionary has none of them
