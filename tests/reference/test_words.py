"""The words: plain, one action a step, hazards without orders, and no airbag waiting time anywhere."""

from __future__ import annotations

import re

import pyphen  # type: ignore[import-untyped]
import pytest

from .shipped import SECTIONS, raw, reference, texts

# The verbs that may open a step; a step with another first word is looked at by a person before its verb is added.
VERBS = frozenset(
    """air ask bolt call centre choose chock clean clip close coat compare cover cut disconnect feed find fit fold follow
    get heat hold keep lay leave list lock look measure move note open paint press pull push put read record route see
    set shield show shrink shut sit slide stand stop strip switch take tie touch trim tug twist wait wash wipe
    write""".split()  # noqa: SIM905 - a paragraph of words reads better than sixty quoted ones
)
# Words that hide the value or the action: plain-language guides for procedures.
VAGUE = re.compile(
    r"\b(as needed|as required|if necessary|properly|carefully|check|ok|adequate|make sure|ensure)\b", re.I
)


def _steps() -> list[tuple[str, str]]:
    ref = reference()
    out = [(f"methods/{name}", step.do) for name, method in ref.methods.items() for step in method.steps]
    return out + [(f"cautions/{name}", action) for name, c in ref.cautions.items() for action in c.actions]


@pytest.mark.parametrize(("where", "step"), _steps())
def test_a_step_is_one_short_action_that_begins_with_its_verb(where: str, step: str) -> None:
    words = step.split()
    assert words[0].lower() in VERBS, f"{where}: {step}"
    assert len(words) <= 20, f"{where}: {step}"
    assert VAGUE.search(step) is None, f"{where}: {step}"
    assert step.endswith(".")
    action, _, rest = step.partition(". ")
    if rest:
        # a second sentence may only say how or what not, never a second action
        assert rest.split()[0].lower() in {"write", "make"} and where.startswith("cautions/"), f"{where}: {step}"
    joined = re.search(r"\band (\w+)", action)
    assert (
        joined is None
        or joined[1].lower() not in VERBS - {"look", "cover", "note", "open", "set", "trim", "show"}
        or (joined[1] in ("follow",))
    ), f"{where}: two actions in '{step}'"


def test_vague_words_would_be_found() -> None:
    assert VAGUE.search("Check the joint properly.") is not None
    assert VAGUE.search("Tug each tail lightly by hand.") is None


def test_the_sleeve_goes_on_before_the_joint() -> None:
    for name, method in reference().methods.items():
        doing = [step.do for step in method.steps]
        sleeve = next((i for i, s in enumerate(doing) if re.match(r"Slide (the|a) sleeve", s)), None)
        joint = next((i for i, s in enumerate(doing) if re.match(r"(Feed solder|Close the tool|Heat)", s)), None)
        if method.sleeve != "none" and joint is not None and "butt" not in name:
            assert sleeve is not None and sleeve < joint, name
        shrink = [i for i, s in enumerate(doing) if s.startswith("Shrink")]
        if method.heat_gun and joint is not None and shrink:
            assert shrink[0] > joint, name


def test_a_method_says_what_good_and_bad_look_like() -> None:
    for name, method in reference().methods.items():
        for part in ("steps", "good", "bad", "fails_by", "inspect", "right_when", "wrong_when"):
            assert getattr(method, part), f"{name}: {part}"
        assert method.tails_low <= method.tails_high, name
        if method.low_mm2 is not None and method.high_mm2 is not None:
            assert method.low_mm2 < method.high_mm2, name


def test_process_cautions_stand_at_their_step() -> None:
    for name, method in reference().methods.items():
        named = {step.caution for step in method.steps}
        if method.solder:
            assert "solder-fume" in named and "lead-solder" in named, name
        if method.solder and name != "solder-sleeve":
            assert "hot-iron" in named, name
        if method.heat_gun:
            assert "hot-air" in named, name
        if method.kind in ("crimp", "closed-end") or method.solder:
            assert method.steps[0].caution == "eye-protection", name


def test_a_hazard_box_holds_no_action() -> None:
    """Hazard, result and limit state; what has to be done is a numbered step of its own."""
    for name, caution in reference().cautions.items():
        for part in (caution.hazard, caution.result, caution.limit, caution.short):
            for sentence in re.split(r"(?<=[.?])\s+", part):
                first = sentence.split()[0].lower().strip(",:")
                assert first not in VERBS, f"{name}: {sentence}"
                assert VAGUE.search(sentence) is None, f"{name}: {sentence}"
                assert not re.search(r"\b(must|should|please|always)\b", sentence, re.I), f"{name}: {sentence}"
        assert caution.limit.startswith("Never"), name


def test_the_three_standing_cautions_fit_the_foot() -> None:
    standing = {name: c for name, c in reference().cautions.items() if c.standing_caution}
    assert list(standing) == ["battery-disconnection", "airbag-circuits", "vehicle-maker-first"]
    # three lines of about 150 characters at 9 pt across A4
    assert all(0 < len(c.short) <= 150 for c in standing.values())
    assert "local codes" in standing["vehicle-maker-first"].short
    assert "licensed practice" in standing["vehicle-maker-first"].short
    assert (
        "local codes" in standing["vehicle-maker-first"].limit
        and "licensed practice" in standing["vehicle-maker-first"].limit
    )


def test_other_short_forms_are_short() -> None:
    for name, caution in reference().cautions.items():
        if not caution.standing_caution:
            assert 0 < len(caution.short) <= 40, name
        assert caution.when, name


TIME = re.compile(
    r"\b(\d+([.,]\d+)?[\s-]*|(one|two|three|five|ten|fifteen|twenty|thirty|sixty|ninety|half an?)[\s-]+)"
    r"(s|sec|secs|seconds?|min|mins|minutes?|h|hrs?|hours?)\b",
    re.I,
)
TERMINAL = re.compile(r"\b86s\b")  # the key-in terminal of DIN 72552 looks like seconds


@pytest.mark.parametrize("section", SECTIONS)
def test_no_airbag_waiting_time_anywhere(section: str) -> None:
    """Makers' service texts differ from seconds to half an hour, so no figure is safe: none stands in these files."""
    assert [(where, text) for where, text in texts(raw(section)) if TIME.search(TERMINAL.sub("", text))] == []


def test_a_waiting_time_would_be_found() -> None:
    for text in ("wait 10 minutes", "after 90 s", "Wait ten minutes.", "a 3-minute wait", "half an hour"):
        assert TIME.search(text) is not None, text
    assert TIME.search("12 V at 5 A, 8 mm") is None


def test_the_airbag_cautions_send_people_to_the_maker() -> None:
    for name in ("airbag-circuits", "srs-area"):
        caution = reference().cautions[name]
        said = " ".join((caution.limit, *caution.actions)).lower()
        assert "maker" in said and "waiting time" in said, name


def _customer_sentences() -> list[tuple[str, str]]:
    out = []
    for name, feature in reference().features.items():
        assert feature.customer and feature.hand_over, name
        assert feature.lost_in_words or feature.untouched, name
        out += [(name, text) for text in (feature.lost_in_words, feature.kept_in_words) if text]
    out += [(name, c.customer) for name, c in reference().cautions.items() if c.customer]
    return out


HYPHENS = pyphen.Pyphen(lang="en_US")


def _syllables(word: str) -> int:
    """The larger of two counts: hyphenation points of a dictionary, and groups of vowels without a silent e."""
    bare = re.sub(r"[^a-z]", "", word.lower())
    spoken = bare[:-1] if bare.endswith("e") and not bare.endswith("le") else bare
    return max(1, len(HYPHENS.positions(bare)) + 1, len(re.findall(r"[aeiouy]+", spoken)))


def _grade(text: str) -> float:
    """Flesch-Kincaid grade: 0.39 words a sentence + 11.8 syllables a word - 15.59 (Kincaid and others 1975)."""
    sentences = [s for s in re.split(r"(?<=[.?])\s+", text) if s]
    words = re.findall(r"[A-Za-z']+", text)
    return 0.39 * len(words) / len(sentences) + 11.8 * sum(map(_syllables, words)) / len(words) - 15.59


def test_the_grade_tells_plain_from_heavy() -> None:
    assert _grade("The cat sat on the mat.") < 1
    assert _grade("Electromagnetic compatibility considerations necessitate additional suppression components.") > 20


def test_the_customer_reads_it_with_ease() -> None:
    # Grade 8 or lower, sentences of 15 words on average and 25 at most: public plain-language guidance.
    said = _customer_sentences()
    assert _grade(" ".join(text for _, text in said)) <= 8
    for name, text in said:
        assert _grade(text) <= 9, f"{name}: {text}"  # one text alone may stand a little above the whole paper
    lengths = [len(s.split()) for _, text in said for s in re.split(r"(?<=[.?])\s+", text)]
    assert sum(lengths) / len(lengths) <= 15 and max(lengths) <= 25


def test_a_feature_is_called_by_a_noun_phrase() -> None:
    for name, feature in reference().features.items():
        assert not feature.customer.endswith(".") and len(feature.customer.split()) <= 8, name
        # it must read well in "You keep ...": so no capital, except a shortened name
        assert feature.customer[0].islower() or feature.customer.split()[0].isupper(), name


def test_the_safety_features() -> None:
    safety = {name for name, feature in reference().features.items() if feature.safety}
    assert {"emergency-call", "safety-tones", "seat-belt-warning", "airbag-lamp"} <= safety


SPOKEN = re.compile(r"[A-Za-z0-9 .,:;'()/+?°Ω²%−×µ-]*")


@pytest.mark.parametrize("section", SECTIONS)
def test_only_characters_that_the_paper_can_print(section: str) -> None:
    assert [(where, text) for where, text in texts(raw(section)) if not SPOKEN.fullmatch(text)] == []
