"""Data flows one way: a module imports only itself and what stands before it. Read from the source text."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[1] / "generator/loomleaf"

ORDER = (
    "problems",
    "units",
    "money",
    "figure",
    "places",
    "source",
    "model",
    "check",
    "calc",
    "plan",
    "draw",
    "sheets",
    "handbook",
    "output",
    "begin",
    "reckon",
    "collect",
    "compare",
    "report",
    "report_page",
    "workers",
    "pipeline",
    "preview",
    "completion",
    "cli",
)
"""Every module or package directly in loomleaf, in the order in which data flows through them."""

SLOW_TO_IMPORT = ("weasyprint",)  # about a second: imported inside the functions that use it
MAY_WRITE = ("output",)
MAY_PRINT = ("cli", "reckon")

MODULES = sorted(PACKAGE.rglob("*.py"))


def name_of(path: Path) -> str:
    """``calc.drop`` for calc/drop.py, ``calc`` for calc/__init__.py."""
    return ".".join(path.relative_to(PACKAGE).with_suffix("").parts).removesuffix("__init__").rstrip(".")


def layer_of(path: Path) -> str:
    return name_of(path).split(".")[0]


def own_imports(path: Path, tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Line and layer of each import from inside loomleaf."""
    here = ("loomleaf", *path.relative_to(PACKAGE).parent.parts)
    for node in ast.walk(tree):
        targets: list[str] = []
        if isinstance(node, ast.Import):
            targets = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            start = list(here[: len(here) - node.level + 1]) if node.level else []
            base = ".".join([*start, *([node.module] if node.module else [])])
            targets = [f"{base}.{alias.name}" for alias in node.names]
        for target in targets:
            steps = target.split(".")
            if steps[0] == "loomleaf" and len(steps) > 1:
                yield getattr(node, "lineno", 0), steps[1]


def against_the_order(path: Path, text: str) -> list[str]:
    """Every import that reaches forward, as ``module:line imports layer``."""
    layer = layer_of(path)
    return [
        f"{name_of(path)}:{line} imports {target}"
        for line, target in own_imports(path, ast.parse(text))
        if target != layer and not target.startswith("__") and ORDER.index(target) > ORDER.index(layer)
    ]


def slow_imports(text: str) -> list[str]:
    """Slow libraries that are imported as soon as the module is."""
    found = []
    waiting: list[ast.AST] = [ast.parse(text)]
    while waiting:
        for node in ast.iter_child_nodes(waiting.pop()):
            if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef, ast.Lambda)):
                continue
            if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
                continue
            if isinstance(node, ast.Import):
                found += [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom) and not node.level:
                found.append(node.module or "")
            waiting.append(node)
    return [name for name in found if name.split(".")[0] in SLOW_TO_IMPORT]


_WRITING = frozenset(
    {"write_text", "write_bytes", "mkdir", "makedirs", "rename", "unlink", "rmtree", "symlink_to", "touch"}
)
_WRITING_OS = frozenset({"replace", "remove", "rename"})


def writing_calls(text: str) -> list[str]:
    """Calls that change the disk, as ``line name``."""
    found = []
    for node in ast.walk(ast.parse(text)):
        if not isinstance(node, ast.Call):
            continue
        func = node.func
        if isinstance(func, ast.Attribute):
            owner = ast.unparse(func.value)
            if func.attr in _WRITING or (owner in ("os", "shutil") and func.attr in _WRITING_OS):
                found.append(f"{node.lineno} {func.attr}")
        built_in = isinstance(func, ast.Name) and func.id == "open"
        if built_in or (isinstance(func, ast.Attribute) and func.attr == "open"):
            words = node.args[1 if built_in else 0 :] + [word.value for word in node.keywords if word.arg == "mode"]
            modes = [word.value for word in words if isinstance(word, ast.Constant) and isinstance(word.value, str)]
            if any(mode and set(mode) <= set("rwxabt+") and set(mode) & set("wxa+") for mode in modes):
                found.append(f"{node.lineno} open")
    return found


def prints(text: str) -> list[int]:
    return [
        node.lineno
        for node in ast.walk(ast.parse(text))
        if isinstance(node, ast.Call) and ast.unparse(node.func) in ("print", "sys.stdout.write", "sys.stderr.write")
    ]


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_imports_keep_the_order(path: Path) -> None:
    if layer_of(path) in ("", "__main__"):  # the package's own two stand outside
        return
    assert layer_of(path) in ORDER, f"{layer_of(path)} has no place in the order yet: give it one in ORDER"
    assert against_the_order(path, path.read_text("utf-8")) == []


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_slow_libraries_are_imported_where_they_are_used(path: Path) -> None:
    assert slow_imports(path.read_text("utf-8")) == []


@pytest.mark.parametrize("path", [p for p in MODULES if layer_of(p) not in MAY_WRITE], ids=name_of)
def test_only_output_writes(path: Path) -> None:
    assert writing_calls(path.read_text("utf-8")) == []


@pytest.mark.parametrize("path", [p for p in MODULES if layer_of(p) not in MAY_PRINT], ids=name_of)
def test_only_the_commands_print(path: Path) -> None:
    assert prints(path.read_text("utf-8")) == []


# The checks themselves can fail


@pytest.mark.parametrize(
    ("file", "line", "found"),
    [
        ("calc/drop.py", "from ..plan.types import Plan", ["calc.drop:1 imports plan"]),
        ("calc/drop.py", "from .. import cli", ["calc.drop:1 imports cli"]),
        ("calc/drop.py", "import loomleaf.sheets.pdf", ["calc.drop:1 imports sheets"]),
        ("calc/drop.py", "def f():\n    from loomleaf import pipeline", ["calc.drop:2 imports pipeline"]),
        ("problems.py", "from .figure import Figure", ["problems:1 imports figure"]),
        ("calc/__init__.py", "from ..handbook import site", ["calc:1 imports handbook"]),
        ("calc/drop.py", "from ..figure import Figure\nfrom . import tables\nfrom .tables import shipped", []),
        ("cli.py", "from . import __version__, pipeline", []),
    ],
)
def test_an_import_that_reaches_forward_is_found(file: str, line: str, found: list[str]) -> None:
    assert against_the_order(PACKAGE / file, line) == found


def test_the_other_checks_find_what_they_look_for() -> None:
    assert slow_imports("import weasyprint\nclass A:\n    from weasyprint.text import fonts\n") == [
        "weasyprint",
        "weasyprint.text",
    ]
    assert slow_imports("def f():\n    import weasyprint\n") == []
    assert writing_calls("open('a', 'w')\npath.open(mode='xb')\npath.write_text('')\nos.replace(a, b)\n") == [
        "1 open",
        "2 open",
        "3 write_text",
        "4 replace",
    ]
    assert writing_calls("open('a')\nopen(path, 'rb')\ntext.replace('a', 'b')\n") == []
    assert prints("print(1)\n\nsys.stdout.write('')\n") == [1, 3]
