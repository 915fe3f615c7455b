"""The demo shop's handbook, built once for all the tests that look at it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest

from loomleaf.model.reference import Reference
from loomleaf.pipeline import Loaded, load_shop, plan_jobs
from loomleaf.plan.dashnotes import dash_notes
from loomleaf.plan.types import Plan
from loomleaf.problems import Problem


@dataclass(frozen=True)
class Site:
    """A site as it would be written, and what it was made from."""

    files: dict[str, bytes | str]
    problems: tuple[Problem, ...]
    loaded: Loaded
    plans: tuple[Plan, ...]

    @property
    def reference(self) -> Reference:
        return self.loaded.library.reference

    @property
    def pages(self) -> dict[str, str]:
        return {path: text for path, text in self.files.items() if path.endswith(".html") and isinstance(text, str)}


@pytest.fixture(scope="session")
def loaded(root: Path) -> Loaded:
    return load_shop(root / "content")


@pytest.fixture(scope="session")
def site(loaded: Loaded) -> Site:
    from loomleaf.handbook.site import build_site

    plans, _ = plan_jobs(loaded)
    planned = tuple(plan for _, plan in sorted(plans.items()))
    notes = dash_notes(planned, loaded.library.readings)
    files, problems = build_site(
        loaded.library.reference, loaded.shop, loaded.tree.shipped_chapters + loaded.tree.chapters, planned, notes=notes
    )
    return Site(files=files, problems=problems, loaded=loaded, plans=planned)
