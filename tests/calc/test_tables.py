"""The tables: every row has a source that exists and a standing; a shop's rows stand in for shipped ones."""

from __future__ import annotations

import subprocess
import sys
from typing import Any

import pytest

from loomleaf.calc.tables import KINDS, build_tables, overlay, shipped_kinds, shipped_tables
from loomleaf.places import content_folder
from loomleaf.source.nodes import plain, read_document

STANDINGS = {"published", "common-practice", "memory"}


def sources() -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name in ("sources.yaml", "engineering-sources.yaml"):
        document, problems = read_document(name, (content_folder() / "reference" / name).read_bytes())
        assert not problems and document.root is not None
        found |= plain(document.root)["sources"]
    return found


def test_every_row_names_a_known_source_and_a_standing() -> None:
    known = sources()
    kinds = shipped_kinds()
    assert set(kinds) == set(KINDS)
    rows = [(kind, name, row) for kind, table in kinds.items() for name, row in table.items()]
    assert len(rows) > 200
    for kind, name, row in rows:
        assert row["source"] in known, (kind, name)
        assert row["standing"] in STANDINGS, (kind, name)


def test_a_row_seen_nowhere_is_never_called_published() -> None:
    unseen = {name for name, row in sources().items() if row.get("seen") == "memory"}
    for kind, table in shipped_kinds().items():
        for name, row in table.items():
            if row["source"] in unseen:
                assert row["standing"] != "published", (kind, name)


def test_amplifier_feeds_are_covered() -> None:
    tables = shipped_tables()
    assert {"m50", "m35", "m16", "g0", "g4"} <= set(tables.resistances)
    assert {"blade", "mini-blade", "maxi-blade"} <= {kind.name for kind in tables.fuse_kinds}
    strips = [kind for kind in tables.fuse_kinds if "strip" in kind.name]
    assert max(rating.amps for kind in strips for rating in kind.ratings) >= 150
    for kind in tables.fuse_kinds:
        assert kind.limits and kind.ratings
        slowest = [point.most_s for point in kind.limits]
        assert slowest == sorted(slowest, reverse=True)
        assert all(point.least_s <= point.most_s for point in kind.limits)


def test_a_shops_own_row_replaces_one_row_only() -> None:
    own = {
        "sleeves": {
            "2:1 thin wall 1/4 in": {
                "kind": "thin-2-1",
                "expanded_mm": "6.4",
                "recovered_mm": "3.0",
                "source": "our card",
                "standing": "published",
            }
        }
    }
    tables, problems = build_tables(overlay(shipped_kinds(), own))
    assert tables is not None and not problems
    changed = next(item for item in tables.sleeves if item.name == "2:1 thin wall 1/4 in")
    assert (changed.recovered_mm, changed.source) == (3.0, "our card")
    assert len(tables.sleeves) == len(shipped_tables().sleeves)


def test_an_empty_row_takes_one_away() -> None:
    tables, _ = build_tables(overlay(shipped_kinds(), {"connectors": {"red butt connector": None}}))
    assert tables is not None
    names = [one.name for method in tables.joint_methods for one in method.connectors]
    assert "red butt connector" not in names and "blue butt connector" in names


@pytest.mark.parametrize(
    ("kind", "name", "change", "said"),
    [
        ("resistances", "0.5 mm2", {"mohm_per_m": "abc"}, "needs a number for 'mohm_per_m'"),
        ("resistances", "0.5 mm2", {"mohm_per_m": "nan"}, "outside its range"),
        ("resistances", "0.5 mm2", {"mohm_per_m": "-1"}, "outside its range"),
        ("resistances", "0.5 mm2", {"standing": "certain"}, "needs a standing"),
        ("resistances", "0.5 mm2", {"source": ""}, "needs a source"),
        ("sleeves", "2:1 thin wall 1/4 in", {"recovered_mm": "9"}, "recovers to no less"),
        ("sleeves", "2:1 thin wall 1/4 in", {"kind": "none-such"}, "not in 'sleeve_kinds'"),
        ("fuse_limits", "blade 135", {"kind": "none-such"}, "not in 'fuse_kinds'"),
        ("connectors", "red butt connector", {"method": "none-such"}, "not in 'joint_methods'"),
    ],
)
def test_a_bad_row_is_a_problem_that_names_it(kind: str, name: str, change: dict[str, str], said: str) -> None:
    kinds = shipped_kinds()
    kinds[kind] = {**kinds[kind], name: {**kinds[kind][name], **change}}
    tables, problems = build_tables(kinds, "own.yaml")
    assert tables is None
    messages = [problem.message for problem in problems if problem.code == "bad-table"]
    assert any(name in message and said in message for message in messages)
    assert all(problem.location.file == "own.yaml" for problem in problems)


def test_missing_tables_are_problems_not_tracebacks() -> None:
    tables, problems = build_tables({})
    assert tables is None and {problem.code for problem in problems} == {"bad-table"}


def test_importing_the_calculations_stays_cheap() -> None:
    heavy = "('pydantic', 'weasyprint', 'yaml')"
    probe = f"import sys, loomleaf.calc.fuse, loomleaf.calc.stagger; print([m for m in {heavy} if m in sys.modules])"
    out = subprocess.run([sys.executable, "-c", probe], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"
