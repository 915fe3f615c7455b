"""Names that could lead out of the output folder, or mean another file, are refused before anything is written."""

from __future__ import annotations

import pytest

from loomleaf.output.names import check_names, name_fault

GOOD = ["bench.pdf", "jobs/2041/bench.pdf", "handbook/pages/größe.html", ".nojekyll", "a-b_c+d.svg", "x" * 200]
BAD = [
    "",
    "/etc/passwd",
    "//host/share",
    "..",
    "../up.pdf",
    "jobs/../../up.pdf",
    "jobs/./bench.pdf",
    "jobs//bench.pdf",
    "jobs/",
    ".",
    "..\\up.pdf",
    "C:/up.pdf",
    "nul\0.pdf",
    "line\nbreak.pdf",
    "right\u202eleft.pdf",
    " lead.pdf",
    "trail .pdf ",
    "trail.",
    "what?.pdf",
    "x" * 201,
    "/".join(["step"] * 300),
]


@pytest.mark.parametrize("name", GOOD)
def test_a_plain_relative_name_is_good(name: str) -> None:
    assert name_fault(name) == ""


@pytest.mark.parametrize("name", BAD)
def test_a_name_that_leads_elsewhere_is_refused(name: str) -> None:
    assert name_fault(name)
    (problem,) = check_names([name])
    assert problem.code == "bad-output-name"
    assert problem.message.isprintable()


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Bench.pdf", "bench.pdf"),
        ("gr\u00f6\u00dfe.html", "gro\u0308\u00dfe.html"),  # composed and decomposed, Unicode Standard Annex 15
        ("jobs", "jobs/2041.pdf"),
        ("jobs/2041.PDF", "jobs/2041.pdf/page"),
    ],
)
def test_two_names_for_one_place_are_refused(one: str, other: str) -> None:
    assert [p.code for p in check_names([one, other])] == ["bad-output-name"]


def test_the_reserved_name_is_refused() -> None:
    assert check_names(["manifest.sha256"], reserved=["manifest.sha256"])
    assert not check_names(["manifest.sha256"])
