"""Where the program's own content and templates lie."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomleaf import places


def test_a_checkout_has_both_beside_the_generator() -> None:
    assert (places.content_folder() / "reference" / "conductors.yaml").is_file()
    assert (places.templates_folder() / "fonts").is_dir()


def test_a_wheel_has_both_inside_the_package(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "loomleaf" / "_content").mkdir(parents=True)
    (tmp_path / "loomleaf" / "_templates").mkdir()
    monkeypatch.setattr(places, "_PACKAGE", tmp_path / "loomleaf")
    assert places.content_folder() == tmp_path / "loomleaf" / "_content"
    assert places.templates_folder() == tmp_path / "loomleaf" / "_templates"


def test_neither_is_said_plainly(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(places, "_PACKAGE", tmp_path / "a" / "loomleaf")
    with pytest.raises(FileNotFoundError, match="not fully installed"):
        places.content_folder()
