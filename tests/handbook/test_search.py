"""The search index in the shape that the library reads. What people find with it is tested in a browser (tests/browser)."""

from __future__ import annotations

import json
from typing import Any

from .conftest import Site


def index_of(site: Site) -> dict[str, Any]:
    script = site.files["assets/search-index.js"]
    assert isinstance(script, str)
    made: dict[str, Any] = json.loads(script.removeprefix("window.handbookIndex=").rstrip().removesuffix(";"))
    return made


def test_the_index_counts_what_it_holds(site: Site) -> None:
    index = index_of(site)["index"]
    count = index["documentCount"]
    assert count == len(index["documentIds"]) == len(index["storedFields"]) == len(index["fieldLength"]) > 150
    words = [word for word, _ in index["index"]]
    assert words == sorted(set(words))
    for _, fields in index["index"]:
        for documents in fields.values():
            assert all(0 <= int(number) < count and times > 0 for number, times in documents.items())


def test_every_result_leads_to_a_page(site: Site) -> None:
    for stored in index_of(site)["index"]["storedFields"].values():
        assert stored["href"].partition("#")[0] in site.files, stored
        assert stored["title"]
