"""Words of colours: what was meant is offered whole."""

import pytest

from loomleaf.units import UnitError, parse_colour


@pytest.mark.parametrize(
    ("written", "hint"),
    [
        ("yelow", "did you mean 'yellow'?"),
        ("wht/blk", "did you mean 'white/black'?"),
        ("light gren/blue", "did you mean 'light green/blue'?"),
        ("white/blak", "did you mean 'white/black'?"),
        ("sky", "whole colour words, base/stripe, for example white/black"),
        ("white/xyz", "whole colour words, base/stripe, for example white/black"),
    ],
)
def test_a_guess_at_a_colour_keeps_its_stripe(written: str, hint: str) -> None:
    """With the stripe lost, plus and minus of a loudspeaker would look alike."""
    with pytest.raises(UnitError) as told:
        parse_colour(written)
    assert told.value.hint == hint
