"""Every step of the bench and the fitting sheet opens with its verb or its condition (plain-language guides for procedures)."""

from __future__ import annotations

import re

import pytest

from tests.reference.test_words import VERBS

from .conftest import JOBS, World
from .test_bench import view_of as bench_view
from .test_fitting import steps_of
from .test_fitting import view_of as fitting_view

MORE = {"cap", "do", "engage", "fix", "label", "lead", "make", "photograph", "plug", "read", "start", "zero"}
"""Looked at by a person: these open a step of the sheets, and of no method or caution."""


def steps(world: World, job: str) -> list[str]:
    """The texts, with the circuits in front of a step and after it left out."""
    bench = [s.text for stage in bench_view(world, job).stages for s in stage.steps]
    fitting = [s.text for s in steps_of(fitting_view(world, world.plans[job]))]
    return [re.sub(r"^(?:[A-Z]\d+(?:, )?)+: ", "", text) for text in (*bench, *fitting)]


@pytest.mark.parametrize("job", JOBS)
def test_a_step_opens_with_its_verb_or_its_condition(world: World, job: str) -> None:
    found = steps(world, job)
    assert len(found) > 40
    for text in found:
        if re.search(r"Do these steps joint by joint\.$", text):
            continue  # names a way of joining and its circuits, for the steps below
        assert text.split()[0].lower() in VERBS | MORE | {"if", "when"}, text
