"""A name that is not known is answered with the one that was meant, by letters or by the words of its title."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomleaf.check.nearby import nearest_entry
from loomleaf.pipeline import load_shop
from tests.conftest import ROOT


@pytest.mark.parametrize(
    ("kind", "written", "meant"),
    [
        ("features", "wheel-control", "wheel-controls"),  # by its letters
        ("features", "steering-wheel-buttons", "wheel-controls"),
        ("features", "camera-for-reversing", "reversing-camera"),
        ("features", "belt-warning", "seat-belt-warning"),
        ("functions", "constant-plus", "supply-constant"),
        ("functions", "aerial-turn-on", "antenna-turn-on"),
        ("features", "zzz", ""),
    ],
)
def test_what_was_meant(kind: str, written: str, meant: str) -> None:
    known = getattr(load_shop(ROOT / "content").library.reference, kind)
    hint = nearest_entry(written, known)
    assert meant in known or not meant
    assert (f"'{meant}'" in hint and hint.startswith("did you mean")) if meant else hint == ""


def test_check_offers_it(demo_copy: Path) -> None:
    job = demo_copy / "jobs/2041.yaml"
    job.write_text(job.read_text("utf-8").replace("wheel-controls", "steering-wheel-buttons", 1), "utf-8")
    (told,) = [p for p in load_shop(demo_copy).problems if p.code == "unknown-feature"]
    assert told.hint == (
        "did you mean 'phone-buttons' (Wheel buttons for the telephone), 'wheel-controls' (Wheel buttons for sound)?"
    )
