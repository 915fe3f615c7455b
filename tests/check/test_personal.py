"""Every place of the demo where a customer's word, name, plate or number stands is on the list."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomleaf.check.personal import personal_places
from loomleaf.pipeline import Loaded, load_shop


@pytest.fixture(scope="module")
def loaded(root: Path) -> Loaded:
    return load_shop(root / "content")


def test_each_line_with_a_name_a_plate_or_a_number_is_listed(loaded: Loaded, root: Path) -> None:
    """Looked for by the other way round: every line of the files that holds one of them."""
    listed = {(place.file, place.line) for place, _ in personal_places(loaded.library)}
    secret: set[str] = set()
    for entry in loaded.library.jobs.values():
        job = entry.value
        secret |= {job.customer.name, job.customer.contact, *(r.plate for r in job.registrations)}
        secret |= {a.who for a in job.agreed}
    secret.discard("")
    missed = []
    for folder in ("jobs", "readings", "issued"):
        for path in sorted((root / "content" / folder).glob("*.yaml")):
            name = f"{folder}/{path.name}"
            for number, line in enumerate(path.read_text("utf-8").splitlines(), 1):
                code = line.split(" #")[0].lstrip()
                if not code.startswith("#") and any(word in code for word in secret) and (name, number) not in listed:
                    missed.append(f"{name}:{number}: {line.strip()}")
    assert missed == []


def test_what_is_listed_is_never_the_data_itself(loaded: Loaded) -> None:
    for _, what in personal_places(loaded.library):
        for entry in loaded.library.jobs.values():
            for registration in entry.value.registrations:
                assert registration.plate not in what
            assert entry.value.customer.name not in what
