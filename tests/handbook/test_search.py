"""The search index: in the shape the library reads, and finding what people type (the library runs where Node is there)."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest

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


ASK = """
const MiniSearch = require(process.argv[1]);
global.window = {};
require(process.argv[2]);
const made = window.handbookIndex;
const engine = MiniSearch.loadJS(made.index, made.options);
const options = {
  boost: { title: 6, also: 5, headings: 2 },
  prefix: t => t.length > 2,
  fuzzy: t => t.length > 3 ? 0.25 : false,
  combineWith: "AND",
};
const out = {};
for (const words of JSON.parse(process.argv[3])) {
  out[words] = engine.search(words, options).slice(0, 12).map(hit => hit.href);
}
console.log(JSON.stringify(out));
"""


@pytest.fixture(scope="module")
def answers(site: Site, root: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[str]]:
    node = shutil.which("node")
    if node is None:
        pytest.skip("Node is not on this machine, so the search library cannot be run")
    folder = tmp_path_factory.mktemp("search")
    script = site.files["assets/search-index.js"]
    assert isinstance(script, str)
    (folder / "index.js").write_text(script)
    asked = ["yellow wire", "yelow wire", "term 15", "remote wire", "parasitic", "handbrake", "crimp tinnd", "qqqqzzz"]
    ran = subprocess.run(
        [node, "-e", ASK, str(root / "templates/js/minisearch.js"), str(folder / "index.js"), json.dumps(asked)],
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    found: dict[str, list[str]] = json.loads(ran.stdout)
    return found


@pytest.mark.parametrize(
    ("words", "page"),
    [
        ("yellow wire", "functions/supply-constant.html"),
        ("yelow wire", "functions/supply-constant.html"),
        ("term 15", "functions/supply-switched.html"),
        ("remote wire", "functions/amplifier-turn-on.html"),
        ("parasitic", "chapters/standby-drain.html"),
        ("handbrake", "functions/parking-brake.html"),
        ("crimp tinnd", "chapters/joining-compared.html"),
    ],
)
def test_what_people_type_is_found(words: str, page: str, answers: dict[str, list[str]]) -> None:
    assert page in answers[words]


def test_nonsense_finds_nothing(answers: dict[str, list[str]]) -> None:
    assert answers["qqqqzzz"] == []
