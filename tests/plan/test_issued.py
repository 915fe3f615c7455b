"""Frozen copies of cleared revisions, two people's initials, and a job that changes going back to held."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomleaf.check.convert import values
from loomleaf.check.library import Library
from loomleaf.model.readings import Issued
from loomleaf.plan.issued import as_yaml, file_part, frozen, next_name
from loomleaf.plan.types import Plan
from loomleaf.source.nodes import read_document
from tests.plan.shops import PROOFS, planned


def cleared(digest: str, *, and_by: str = "") -> str:
    second = f", and_by: {and_by}" if and_by else ""
    return f"cleared: [{{to: plug-in, by: RP{second}, on: 2026-05-12, digest: '{digest}'}}]\n"


@pytest.fixture(scope="module")
def digest() -> str:
    return planned(job=PROOFS)[0].digest


def standing(**words: Any) -> tuple[Plan, Library]:
    return planned(**words)


def codes(plan: Plan) -> set[str]:
    return {p.code for p in plan.problems}


def test_what_is_cleared_is_frozen_and_reads_back_as_the_same_content(digest: str) -> None:
    plan, library = standing(job=PROOFS + cleared(digest))
    copy = frozen(plan, library)
    assert copy is not None and copy.name == "issued/1-A.yaml"
    document, problems = read_document(copy.name, copy.text.encode())
    assert problems == () and document.root is not None
    issued = Issued.model_validate(values(document.root))
    assert (issued.job, issued.revision, issued.digest, issued.to) == ("1", "A", digest, "plug-in")
    files = {f"leads/{name}.yaml": as_yaml(lead) for name, lead in issued.inputs["leads"].items()}
    files |= {"vehicles/test-car.yaml": as_yaml(issued.inputs["vehicle"]), "jobs/1.yaml": as_yaml(issued.inputs["job"])}
    again, _ = standing(files=files)
    assert again.digest == digest
    assert again.state == plan.state


def test_the_copy_holds_no_customer_and_no_money(digest: str) -> None:
    more = "note: ring after six\nagreed: [{who: Ada Pebble, amount: '900.00'}]\ndeposit: '50.00'\n"
    plan, library = standing(job=PROOFS + cleared(digest) + more)
    copy = frozen(plan, library)
    assert copy is not None
    for word in ("Ada", "900.00", "50.00", "ring after six", "name: Test\n"):
        assert word not in copy.text


def test_nothing_is_frozen_before_it_is_cleared_or_while_it_is_held(digest: str) -> None:
    assert frozen(*standing(job=PROOFS)) is None
    assert frozen(*standing(job=PROOFS + cleared("0" * 16))) is None
    plan, library = standing(job=PROOFS.replace("12.4 V", "1.4 V") + cleared(digest))
    assert plan.held and frozen(plan, library) is None


def test_what_is_not_proved_is_frozen_as_cleared_to_build(digest: str) -> None:
    plan, library = standing(job=cleared(digest))
    assert (plan.state, plan.digest) == ("build", digest)
    copy = frozen(plan, library)
    assert copy is not None and "\nto: build\n" in copy.text
    plan, library = standing(job=PROOFS + cleared(digest))
    copy = frozen(plan, library)
    assert copy is not None and "\nto: plug-in\n" in copy.text


def issued_as(digest: str, revision: str = "A") -> dict[str, str]:
    return {"issued/1-A.yaml": f"job: '1'\nrevision: {revision}\ndigest: '{digest}'\n"}


def test_a_copy_that_is_there_is_never_made_again(digest: str) -> None:
    plan, library = standing(job=PROOFS + cleared(digest), files=issued_as(digest))
    assert plan.state == "plug-in" and frozen(plan, library) is None


def test_a_revision_letter_is_never_used_for_other_content(digest: str) -> None:
    plan, _ = standing(job=PROOFS, files=issued_as("0" * 16))
    assert plan.held and codes(plan) == {"revision-used"}
    plan, _ = standing(job="revision: B\n" + PROOFS, files=issued_as("0" * 16))
    assert plan.state == "plug-in"


def test_a_cleared_job_that_changes_goes_back_to_held(digest: str) -> None:
    plan, _ = standing(job=PROOFS.replace("proofs", "places: [damp]\nproofs") + cleared(digest))
    assert plan.held and "cleared-then-changed" in codes(plan)


@pytest.mark.parametrize(
    "more",
    [
        "deposit: '50.00'\n",
        "note: ring after six\n",
        "discount_percent: 5\n",
        "crew: {fitter: Rowan Pell}\n",
        "minutes_spent: {check: 20}\n",
        "come_backs: [{on: 2026-06-01, symptom: no sound}]\n",
    ],
)
def test_words_and_money_change_nothing_that_was_cleared(digest: str, more: str) -> None:
    plan, _ = standing(job=PROOFS + cleared(digest) + more)
    assert (plan.digest, plan.state) == (digest, "plug-in")


def test_a_proof_more_leaves_the_clearing_as_it_is_and_a_proof_less_takes_the_state_back(digest: str) -> None:
    fewer = "\n".join(line for line in PROOFS.splitlines() if "A.8" not in line) + "\n"
    plan, _ = standing(job=fewer + cleared(digest))
    assert (plan.digest, plan.state) == (digest, "build")


@pytest.mark.parametrize(("and_by", "state"), [("", "held"), ("RP", "held"), ("rp ", "held"), ("TO", "plug-in")])
def test_two_people_clear_where_the_shop_wants_two(digest: str, and_by: str, state: str) -> None:
    words = cleared(digest, and_by=f"'{and_by}'" if and_by else "")
    plan, _ = standing(job=PROOFS + words, shop_more="two_signatures: yes\n")
    assert plan.state == state
    assert ("one-signature" in codes(plan)) == (state == "held")
    assert standing(job=PROOFS + words)[0].state == "plug-in"


@given(st.text(max_size=30))
def test_a_part_of_a_file_name_is_tame(text: str) -> None:
    assert set(file_part(text)) <= set("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-")
    assert file_part(text)


def test_the_next_name_is_free() -> None:
    taken: list[str] = []
    for _ in range(4):
        taken.append(next_name("readings/1-A.yaml", taken))
    assert taken == ["readings/1-A.yaml", "readings/1-A.2.yaml", "readings/1-A.3.yaml", "readings/1-A.4.yaml"]
    assert next_name("readings/1-a.yaml", taken) == "readings/1-a.5.yaml"  # the same file on some computers


@given(
    st.dictionaries(
        st.text("abc", min_size=1),
        st.text(st.characters(blacklist_categories=("Cs", "Cc", "Cf", "Zl", "Zp")), max_size=20).filter(str.strip),
    )
)
def test_what_is_frozen_reads_back_word_for_word(data: dict[str, str]) -> None:
    document, problems = read_document("x.yaml", as_yaml({"inputs": data} if data else {"inputs": {"a": "b"}}).encode())
    assert problems == ()
    assert document.root is not None
    back = values(document.root)
    assert back["inputs"] == (data or {"a": "b"})


def test_a_frozen_copy_that_was_changed_holds_its_job(digest: str) -> None:
    plan, library = standing(job=PROOFS + cleared(digest))
    copy = frozen(plan, library)
    assert copy is not None
    sound, _ = standing(job=PROOFS + cleared(digest), files={copy.name: copy.text})
    assert "issued-altered" not in codes(sound) and sound.state == plan.state
    wire = next(line for line in copy.text.splitlines() if "colour: " in line)
    changed = copy.text.replace(wire, wire.replace("colour: ", "note: other wire, colour: ", 1), 1)
    altered, _ = standing(job=PROOFS + cleared(digest), files={copy.name: changed})
    assert "issued-altered" in codes(altered) and altered.state == "held"
    problem = next(p for p in altered.problems if p.code == "issued-altered")
    assert problem.location.file == copy.name and "inputs" in changed.splitlines()[problem.location.line - 1]


READINGS = """job: "1"
revision: A
on: 2026-05-12
by: RP
readings: [{check: loaded-radio-m-1, reading: 13.6 V}]
"""


def test_readings_that_bear_a_job_out_ask_for_somebodys_word(digest: str) -> None:
    """Without it nothing of the revision is kept; the line to write is the one that then counts, and print keeps the copy."""
    files = {"readings/1-A.yaml": READINGS}
    plan, library = planned(job=PROOFS, files=files)
    (told,) = [p for p in plan.problems if p.code == "not-cleared"]
    assert plan.state == "plug-in" and told.severity.value == "warning" and frozen(plan, library) is None
    line = told.hint.partition("write  ")[2].partition("; the next")[0]
    assert line.startswith("cleared: [{to: plug-in, by: INITIALS, on: DAY, digest: ") and "issued/" in told.hint
    done, library = planned(job=PROOFS + line.replace("DAY", "2026-05-12") + "\n", files=files)
    assert "not-cleared" not in {p.code for p in done.problems} and frozen(done, library) is not None
    assert "not-cleared" not in {p.code for p in planned(job=PROOFS)[0].problems}  # nothing was done with it yet
    assert "not-cleared" not in {p.code for p in planned(files=files)[0].problems}  # not proved: no word is wanted
    two = planned(job=PROOFS, files=files, shop_more="two_signatures: yes\n")[0]
    assert any("and_by: INITIALS" in p.hint for p in two.problems if p.code == "not-cleared")


def test_a_revision_whose_predecessor_is_not_kept_is_told(digest: str) -> None:
    """Its sheets cannot mark what changed; the copy of another revision, or of another job, is no help."""
    again = "revision: B\nreplaces: A\n"
    copy = 'job: "%s"\nrevision: %s\ndigest: "%s"\n'

    def told(files: dict[str, str]) -> list[str]:
        return [p.message for p in planned(job=again, files=files)[0].problems if p.code == "replaced-not-kept"]

    assert len(told({})) == 1 and "revision B replaces A, and no copy of A is kept" in told({})[0]
    assert len(told({"issued/1-0.yaml": copy % ("1", "0", digest)})) == 1
    assert told({"issued/1-A.yaml": copy % ("1", "A", digest)}) == []
    assert "replaced-not-kept" not in {p.code for p in planned()[0].problems}
