"""Joint cards: every kind of joining method has one, steps before judgement, right before wrong."""

from __future__ import annotations

from pathlib import Path
from typing import get_args

import pytest

from loomleaf.draw.cards import CARDS, FRAME_MM, joint_card, joint_frame
from loomleaf.model.reference import JoiningMethod
from loomleaf.pipeline import load_shop

from .drawn import assert_well_made, overlaps, root, strokes, too_close, words

KINDS = get_args(JoiningMethod.model_fields["kind"].annotation)


def test_every_kind_of_method_has_a_card() -> None:
    assert set(CARDS) == set(KINDS)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("width", [178, 200])
def test_a_card_is_well_made(kind: str, width: int) -> None:
    svg = joint_card(kind, width_mm=width)
    assert_well_made(svg)
    assert overlaps(svg) == []
    assert too_close(svg) == []
    assert len(list(root(svg).iter())) <= 120


@pytest.mark.parametrize("kind", KINDS)
def test_a_card_has_five_numbered_steps_then_right_then_wrong(kind: str) -> None:
    svg = joint_card(kind)
    heads = sorted((round(word.y), word.x, word.text) for word in words(svg) if word.bold)
    said = [text for _, _, text in heads]
    assert said[:5] == ["1", "2", "3", "4", "5"]
    assert said[5] == "Right" and set(said[6:]) == {"Wrong"} and len(said) >= 8
    told = root(svg)[1].text or ""
    assert all(frame.words in told for frame in CARDS[kind].steps)


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind not in ("plug-in", "closed-end", "terminal")])
def test_the_sleeve_goes_on_before_the_joint_is_made(kind: str) -> None:
    steps = [frame.words.lower() for frame in CARDS[kind].steps]
    on = next(n for n, text in enumerate(steps) if "sleeve on first" in text)
    made = next(n for n, text in enumerate(steps) if any(word in text for word in ("press", "solder", "crimp")))
    assert on < made


def test_a_method_without_a_sleeve_shows_none() -> None:
    """The insulated butt connector and the ring have none on the sheets either."""
    for kind in ("crimp", "terminal", "closed-end"):
        told = words(joint_card(kind, sleeve=False))
        assert told and not any("sleeve" in word.text.lower() for word in told), kind
    assert any("sleeve" in word.text.lower() for word in words(joint_card("crimp")))


def test_the_card_of_a_soldered_joint_says_what_the_steps_say() -> None:
    """A lap, side by side: NASA-STD-8739.4, section 19, as the strip length's table cites it."""
    methods = load_shop(Path(__file__).parents[2] / "content").library.reference.methods
    told = " ".join(frame.words.lower() for frame in CARDS["solder-inline"].steps)
    assert "side by side" in told and "into each other" not in told
    for name, method in methods.items():
        if method.kind == "solder-inline":
            assert any("side by side" in step.do for step in method.steps), name
            assert not any("into each other" in step.do for step in method.steps), name


@pytest.mark.parametrize("kind", KINDS)
def test_right_and_wrong_are_drawn_differently(kind: str) -> None:
    card = CARDS[kind]
    shapes = [
        tuple(stroke.d for stroke in strokes(joint_frame(frame, head="x", key="k"))) for frame in (card.good, *card.bad)
    ]
    assert len(set(shapes)) == len(shapes)


def test_words_are_short() -> None:
    for card in CARDS.values():
        for frame in (*card.steps, card.good, *card.bad):
            assert len(frame.words.split()) <= 20


def test_a_card_that_is_too_narrow_is_refused() -> None:
    with pytest.raises(ValueError, match="width"):
        joint_card("crimp", width_mm=5 * FRAME_MM[0])
