"""A wheel holds the program, its templates and its content, and works without the checkout."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
import zipfile
from email.parser import Parser
from pathlib import Path

import pytest


@pytest.fixture(scope="module")
def wheel(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(out)]
    done = subprocess.run(command, cwd=root, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    (built,) = out.glob("*.whl")
    return built


@pytest.fixture(scope="module")
def unpacked(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    site = tmp_path_factory.mktemp("site")
    zipfile.ZipFile(wheel).extractall(site)
    return site


def files_below(folder: Path) -> set[str]:
    return {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}


@pytest.mark.parametrize(("folder", "inside"), [("templates", "_templates"), ("content", "_content")])
def test_every_template_and_every_piece_of_content_is_in_it(
    root: Path, unpacked: Path, folder: str, inside: str
) -> None:
    expected = files_below(root / folder)
    assert len(expected) > 10
    assert files_below(unpacked / "loomleaf" / inside) == expected
    for name in sorted(expected):
        assert (unpacked / "loomleaf" / inside / name).read_bytes() == (root / folder / name).read_bytes(), name


def test_every_module_is_in_it_and_no_test_is(root: Path, unpacked: Path) -> None:
    modules = {
        path.relative_to(root / "generator/loomleaf").as_posix() for path in (root / "generator/loomleaf").rglob("*.py")
    }
    packed = {
        path.relative_to(unpacked / "loomleaf").as_posix()
        for path in (unpacked / "loomleaf").rglob("*.py")
        if path.relative_to(unpacked / "loomleaf").parts[0] not in ("_templates", "_content")
    }
    assert packed == modules
    assert {path.name.partition("-")[0] for path in unpacked.iterdir()} == {"loomleaf"}


def test_the_licences_and_the_command_are_in_it(unpacked: Path) -> None:
    (info,) = unpacked.glob("loomleaf-*.dist-info")
    about = Parser().parsestr((info / "METADATA").read_text("utf-8"))
    assert about["License-Expression"] == "MIT"
    assert {path.name for path in (info / "licenses").rglob("*") if path.is_file()} == {
        "LICENSE",
        "OFL.txt",
        "OFL-NotoSans.txt",
    }
    assert "loomleaf = loomleaf.cli:main" in (info / "entry_points.txt").read_text()


def test_it_works_away_from_the_checkout(unpacked: Path, tmp_path: Path) -> None:
    """The unpacked wheel finds its own content and templates, and checks a shop with them."""
    code = (
        "import sys; sys.path.insert(0, sys.argv[1])\n"
        "from pathlib import Path\n"
        "from datetime import date\n"
        "from loomleaf import begin, pipeline, places\n"
        "from loomleaf.output import write_new_folder\n"
        "print(places.content_folder()); print(places.templates_folder())\n"
        "shop = Path('shop')\n"
        "assert write_new_folder(shop, begin.shop_files('Shop', date(2026, 5, 12))) == ()\n"
        "loaded = pipeline.load_shop(shop)\n"
        "print(len(loaded.library.reference.functions), len(loaded.problems))\n"
    )
    command = [sys.executable, "-I", "-c", code, str(unpacked)]
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    content, templates, counts = done.stdout.splitlines()
    assert (content, templates) == (str(unpacked / "loomleaf/_content"), str(unpacked / "loomleaf/_templates"))
    functions, problems = (int(word) for word in counts.split())
    assert functions > 30 and problems == 0


IMPORTED_AS = {"PyYAML": "yaml", "Jinja2": "jinja2", "Markdown": "markdown"}
COMES_WITH = {  # a declared library's own dependency, used openly
    "pydantic_core": "pydantic",
    "markupsafe": "jinja2",
    "fontTools": "weasyprint",
    "pydyf": "weasyprint",
    "cssselect2": "weasyprint",
}


def declared(root: Path) -> set[str]:
    """Import names of what pyproject.toml names as dependencies."""
    project = tomllib.loads((root / "pyproject.toml").read_text("utf-8"))["project"]
    names = [re.split(r"[<>=\[ ]", line)[0] for line in project["dependencies"]]
    return {IMPORTED_AS.get(name, name) for name in names}


def imported(root: Path) -> set[str]:
    """Top names of everything from outside that the program imports, the standard library left out."""
    found = set()
    for path in (root / "generator/loomleaf").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Import):
                found |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and not node.level:
                found.add((node.module or "").split(".")[0])
    return {COMES_WITH.get(name, name) for name in found - set(sys.stdlib_module_names) - {"loomleaf"}}


def test_what_is_imported_is_declared(root: Path) -> None:
    assert imported(root) <= declared(root)
    assert {"yaml", "pydantic", "weasyprint"} <= imported(root)


def test_every_dependency_has_its_reason_and_licence(root: Path) -> None:
    project = tomllib.loads((root / "pyproject.toml").read_text("utf-8"))["project"]
    guide = (root / "DEVELOPERS.md").read_text("utf-8").partition("## Dependencies")[2].partition("\n## ")[0].lower()
    lines = project["dependencies"] + project["optional-dependencies"]["test"]
    names = [re.split(r"[<>=\[ ]", line)[0].lower() for line in lines]
    assert [name for name in names if name not in guide] == []


def test_the_lowest_versions_are_those_that_were_tried(root: Path) -> None:
    """tests/lowest.txt names what pyproject.toml allows at the least, for everything that runs when the program does."""
    project = tomllib.loads((root / "pyproject.toml").read_text("utf-8"))["project"]
    allowed = dict(line.split(">=") for line in project["dependencies"])
    assert all(re.fullmatch(r"[0-9.]+", version) for version in allowed.values())
    lines = (root / "tests/lowest.txt").read_text("utf-8").splitlines()
    tried = dict(line.split("==") for line in lines if not line.startswith("#"))
    assert {name: tried.get(name) for name in allowed} == allowed
    for line in project["optional-dependencies"]["test"]:
        name, _, version = line.partition(">=")
        assert tried.get(name, version) == version, name
    assert {"pytest", "hypothesis", "pint"} <= set(tried)
