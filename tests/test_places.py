"""The program finds its own content and templates in a checkout."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomleaf import places


def test_in_a_checkout_they_lie_beside_the_generator(root: Path) -> None:
    assert places.content_folder() == root / "content"
    assert places.templates_folder() == root / "templates"


def test_in_a_package_its_own_come_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    package = tmp_path / "site/loomleaf"
    for name in (package / "_content", package / "_templates", tmp_path / "content", tmp_path / "templates"):
        name.mkdir(parents=True)
    monkeypatch.setattr(places, "_PACKAGE", package)
    assert places.content_folder() == package / "_content"
    assert places.templates_folder() == package / "_templates"


def test_a_package_without_them_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(places, "_PACKAGE", tmp_path / "site/loomleaf")
    with pytest.raises(FileNotFoundError, match="not fully installed"):
        places.content_folder()
