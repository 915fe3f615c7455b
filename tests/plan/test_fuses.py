"""What protects each supply, and what is told when nothing does."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomleaf.calc.tables import shipped_tables
from tests.makers import lead
from tests.plan.benches import CAR, DRAWS, RADIO, codes, message, value, work
from tests.plan.test_supply import amplifier, dash, radio

RATINGS = {rating.amps for kind in shipped_tables().fuse_kinds for rating in kind.ratings}


def rows(plan, tail: str = ""):
    return [row for row in plan.engineering["fuses"]["rows"] if not tail or tail in row["feeds"]]


def test_a_makers_fuse_is_taken_as_it_is() -> None:
    """4 A ÷ 0.75 would be served by 7.5 A; the maker's 10 A stands, with its colour (ISO 8820-3: 10 A red)."""
    row = rows(work(dash(), radio()))[0]
    assert (value(row["rating_a"]), row["colour"]) == (10, "red")
    assert value(row["minimum_a"]) == pytest.approx(4 / 0.75)
    assert "maker" in row["fuse"]


def test_a_makers_fuse_is_never_uprated() -> None:
    plan = work(dash(), radio(more="draws: {running_a: 11, peak_a: 12}\nfuse_a: 10\n"))
    assert "fuse-overloaded" in codes(plan)
    assert plan.held
    assert value(rows(plan)[0]["rating_a"]) == 10
    assert "never uprated" in next(p.hint for p in plan.problems if p.code == "fuse-overloaded")


def test_a_load_over_the_continuous_part_is_told() -> None:
    plan = work(
        dash(), radio(more="draws: {running_a: 8, peak_a: 9}\nfuse_a: 10\n"), shop="supply: {drop_limit_v: 5}\n"
    )
    assert codes(plan, "fuse-near-its-limit", "fuse-overloaded") == ["fuse-near-its-limit"]
    assert not plan.held


def test_what_the_vehicle_already_takes_counts() -> None:
    plan = work(dash(), radio(), vehicle=CAR.replace("feed: {", "feed: {load_a: 7, "))
    assert "fuse-overloaded" in codes(plan)


@pytest.mark.parametrize(
    ("key", "words"), [("fuse_a: 10, ", "Constant supply"), ("switched_fuse_a: 10, ", "Switched supply")]
)
def test_a_fuse_that_nobody_has_stated_holds(key: str, words: str) -> None:
    plan = work(dash(), radio(), vehicle=CAR.replace(f"{{{key}", "{").replace(f", {key}", ", "))
    assert codes(plan, "segment-not-protected") == ["segment-not-protected"]
    assert words in message(plan, "segment-not-protected")
    assert plan.held


def test_the_fuse_against_the_thinnest_conductor() -> None:
    """Thin-wall 0.5 mm² carries 11 A at 30 °C: √(40/75) of that at 65 °C is 8.03 A, under a 10 A fuse."""
    plan = work(dash(size="0.5_mm2"), radio(size="0.5_mm2"))
    assert "fuse-over-conductor" in codes(plan)
    assert "8.03 A" in message(plan, "fuse-over-conductor")
    weak = str(rows(plan)[0]["conductor"])
    assert [p.hint for p in plan.problems if p.code == "fuse-over-conductor"] == [
        f"a larger conductor for {weak}, or a smaller fuse close to the plug: when it is in the wire, write  fuse_a  at"
        " that way of the lead"
    ]
    row = rows(plan)[0]
    assert value(row["limit_a"]) == pytest.approx(11 * (40 / 75) ** 0.5)
    assert codes(work(dash(), radio()), "fuse-over-conductor") == []


def test_a_parts_own_fuse_bounds_the_wire_before_it() -> None:
    """A 5 A fuse in the radio: 0.5 mm² in the dash lead then carries all that can flow."""
    small = "draws: {running_a: 3, peak_a: 4}\nfuse_a: 5\n"
    plan = work(dash(size="0.5_mm2"), radio(more=small, size="0.5_mm2"))
    assert codes(plan, "fuse-over-conductor") == []
    assert value(rows(plan)[0]["bound_a"]) == 5


def test_a_parts_wire_thinner_than_the_lead_is_found_too() -> None:
    """1.5 mm² in the dash lead bears 10 A; the radio's own 0.5 mm² does not, whatever lies before it."""
    plan = work(dash(size="1.5_mm2"), radio(size="0.5_mm2"))
    told = [p.message for p in plan.problems if p.code == "fuse-over-conductor"]
    assert any("radio/yellow may carry 8.03 A" in text or "radio/black may carry 8.03 A" in text for text in told)
    assert plan.held
    own = radio(size="0.5_mm2").splitlines()
    places = [
        (p.message, p.location) for p in plan.problems if p.code == "fuse-over-conductor" and ": radio/" in p.message
    ]
    assert places
    for text, place in places:  # the line of the conductor that is named, not of the feed before it
        way = text.partition(": radio/")[2].partition(" may carry")[0]
        assert place.file == "leads/radio.yaml" and f"at: {way}," in own[place.line - 1]


def in_line(amps: str, size: str = "0.5_mm2", load: str = ""):
    """A dash lead whose constant supply has a fuse in its wire, and a radio that states none."""
    way = f"A.4 supply-constant size={size} length_mm=200 fuse_a={amps}"
    rest = [f"A.7 supply-switched size={size} length_mm=200", f"A.8 ground size={size} length_mm=200"]
    more = "draws: {running_a: 3, peak_a: 4}\n"
    vehicle = CAR.replace("feed: {", f"feed: {{{load}place: 'F 12, dash box', ")
    return work(lead("dash", "vehicle", way, *rest), radio(more=more, size=size), vehicle=vehicle)


def test_a_fuse_in_the_adapters_supply_protects_what_lies_behind_it() -> None:
    """0.5 mm² carries 8.03 A at 65 °C: not behind the maker's 10 A, but behind 5 A close to the plug, as the hint says.
    The maker's fuse stays in the list with what hangs on it already: 3 A + 2 A."""
    plan = in_line("5", load="load_a: 2, ")
    assert codes(plan, "fuse-over-conductor") == []
    makers, own = [r for r in rows(plan) if r["circuit"] == "S1"]
    assert (value(makers["rating_a"]), makers["fuse"], makers["place"]) == (
        10,
        "the vehicle maker's fuse",
        "F 12, dash box",
    )
    assert (value(own["rating_a"]), own["fuse"], own["place"]) == (
        5,
        "the fuse of dash",
        "in the wire of A.4, close to the plug",
    )
    assert (value(makers["running_a"]), value(own["running_a"])) == (5, 3)
    assert makers["feeds"] == ["dash/A.4"] and own["feeds"] == ["radio/yellow"]
    assert value(own["bound_a"]) == 5 and own["short"] is not None and makers["short"] is None


def test_a_fuse_in_the_adapter_that_opens_second_is_told() -> None:
    plan = in_line("15")
    assert codes(plan, "fuse-opens-second") == ["fuse-opens-second"]
    assert "15 A is no smaller than the vehicle maker's of 10 A" in message(plan, "fuse-opens-second")
    assert [value(r["rating_a"]) for r in rows(plan) if r["circuit"] == "S1"] == [10]


def test_a_small_fuse_in_the_adapter_is_not_sent_the_test_current() -> None:
    """5 A would open or heat a fuse under 10 A (common practice): the way is read in ohms alone."""
    assert "drop-s1" not in {c.key for c in in_line("5").checks}
    assert "continuity-s1" in {c.key for c in in_line("5").checks}
    assert "drop-s1" in {c.key for c in work(dash(), radio()).checks}


def test_what_may_flow_in_a_shared_ground_is_shown_as_a_sum() -> None:
    """Radio 10 A by its fuse, and the box on another feed running at 2.3 A: 12.3 A, with both parts named."""
    plan = work(
        lead("dash", "vehicle", "A.4 supply-constant", "A.7 supply-switched", "A.8 ground size=0.5_mm2 length_mm=200"),
        lead("radio", "radio", "yellow supply-constant", "black ground size=0.5_mm2 length_mm=200", more=DRAWS),
        lead("box", "module", "red supply-switched", "black ground size=0.5_mm2 length_mm=200",
             more="draws: {running_a: 2.3}\nfuse_a: 3\n"),
    )  # fmt: skip
    told = [p.message for p in plan.problems if p.code == "fuse-over-conductor" and "dash/A.8" in p.message]
    assert told and told[0].endswith(
        "less than the 12.3 A that may flow there without a fuse opening"
        " (10 A by the fuse of radio + 2.3 A of box, running)"
    ), told


def test_a_dead_short_that_the_fuse_does_not_beat_holds() -> None:
    """ISO 8820-3 pattern: 30 A at 200 % may take 5 s, 60² × 5 = 18 000 A²s; (115 × 0.75)² = 7439 A²s stands less."""
    plan = work(
        dash(), radio(more="draws: {running_a: 3}\nfuse_a: 5\n"), vehicle=CAR.replace("{fuse_a: 10", "{fuse_a: 30")
    )
    assert "segment-not-protected" in codes(plan)
    short = rows(plan)[0]["short"]
    assert value(short["protected"]) is False
    assert value(short["let_through_a2s"]) == pytest.approx(18_000)
    assert value(short["withstand_a2s"]) == pytest.approx(7439, rel=0.001)
    assert "chafes and arcs" in plan.engineering["fuses"]["not_covered"]


def test_the_short_is_at_the_weakest_supply_with_hot_wire() -> None:
    """By hand: 11.5 V over battery 15 + holder 5 + fuse 6 + feed 2 m × 13.3 hot + contact 5 + joint 1 + dash 0.2 m × 26
    hot, then the radio's wire 0.2 m × 26 at 70 °C, then body 1 and the ground way."""
    short = rows(work(dash(), radio()))[0]["short"]
    hot, hotter = 1 + 0.00393 * 45, 1 + 0.00393 * 50
    before = 15 + 5 + 6 + 2 * 13.3 * hot + 5 + 1
    home = 1 + 0.2 * 26 * hot + 1 + 0.2 * 26 * hot + 5 + 0.5 * 13.3 * hot + 2
    thin = short["conductor"]
    both = (
        before + 0.2 * 26 * (hotter if thin == "dash/A.4" else hot) + (0 if thin == "dash/A.4" else 0.2 * 26 * hotter)
    )
    assert value(short["prospective_a"]) == pytest.approx(11.5 / (both + home) * 1000, rel=1e-3)


def test_an_added_feed_gets_its_own_fuse_near_the_battery() -> None:
    """14 A ÷ 0.75 = 18.7 A: 20 A; its peak of 28 A is above 110 % of 20 and of 25, so 30 A (ISO 8820-3 ratings)."""
    plan = work(*amplifier(14, fuse=""), shop="supply: {drop_limit_v: 5}\n")
    row = rows(plan)[0]
    assert value(row["rating_a"]) == 30
    assert "within 300 mm of the battery" in row["place"]
    called = plan.engineering["parts_called_for"]
    assert [(p["circuit"], "30 A" in p["what"]) for p in called] == [(row["circuit"], True)]
    assert codes(plan, "segment-not-protected", "fuse-over-conductor") == []


def test_a_feed_that_no_fuse_suits_holds() -> None:
    plan = work(*amplifier(60, "2.5_mm2", fuse=""), shop="supply: {drop_limit_v: 9}\n")
    assert "segment-not-protected" in codes(plan)
    assert "the conductor may carry only" in message(plan, "segment-not-protected")


def test_a_part_with_its_own_fuse_keeps_that_rating() -> None:
    near = lead(
        "radio", "radio", "yellow supply-constant fuse_a=7.5", *RADIO[1:], more="draws: {running_a: 4, peak_a: 8}\n"
    )
    own = next(row for row in rows(work(dash(), near), "radio/yellow") if row["fuse"] == "the fuse of radio")
    assert (value(own["rating_a"]), own["colour"]) == (7.5, "brown")


def test_a_fuse_inside_a_part_is_listed_because_the_wire_before_it_rests_on_it() -> None:
    plan = work(dash(), radio())
    inside = next(row for row in rows(plan) if row["fuse"] == "the fuse of radio")
    assert (value(inside["rating_a"]), inside["place"]) == (10, "in the part")


def test_what_a_module_feeds_is_behind_the_modules_fuse() -> None:
    box = "kind: data\ndraws: {running_a: 0.2}\n"
    leads = (
        lead("dash", "vehicle", "A.4 supply-constant", "A.8 ground"),
        lead("radio", "radio", *RADIO, more=DRAWS),
    )
    rows_ = ("plus supply-constant", "minus ground", "out accessory-output gives_ma=2000")
    with_fuse = work(*leads, lead("box", "module", *rows_, more=box + "fuse_a: 3\n"))
    assert value(rows(with_fuse, "radio/red")[0]["rating_a"]) == 3
    without = work(*leads, lead("box", "module", *rows_, more=box))
    assert "segment-not-protected" in codes(without)
    assert "box/out" in message(without, "segment-not-protected")


def test_conductors_are_grouped_when_they_carry_over_1_a() -> None:
    """Supply and ground of the radio: two loaded; a module of 2 A with wires of its own makes no third circuit."""
    assert rows(work(dash(), radio()))[0]["grouped"] == 2
    quiet = work(dash(), radio(more="draws: {running_a: 0.8}\nfuse_a: 5\n"))
    assert rows(quiet)[0]["grouped"] == 1


@settings(max_examples=60)
@given(
    amps=st.floats(0.5, 60),
    size=st.sampled_from(("1_mm2", "2.5_mm2", "6_mm2", "10_mm2", "16_mm2", "8_AWG", "4_AWG", "50_mm2")),
)
def test_a_chosen_fuse_is_never_over_its_conductor(amps: float, size: str) -> None:
    amps = round(amps, 2)
    plan = work(*amplifier(amps, size, fuse=""), shop="supply: {drop_limit_v: 12}\n")
    row = rows(plan)[0]
    rating = value(row["rating_a"])
    if rating is None:
        assert "segment-not-protected" in codes(plan)
        return
    assert rating in RATINGS
    assert rating <= value(row["limit_a"]) + 1e-9
    assert rating >= amps / 0.75 - 1e-9
    assert codes(plan, "fuse-over-conductor", "fuse-overloaded") == []


@settings(max_examples=40)
@given(
    fuse=st.sampled_from((5, 7.5, 10, 15, 20, 25, 30)),
    size=st.sampled_from(("0.5_mm2", "0.75_mm2", "1_mm2", "1.5_mm2", "2.5_mm2")),
    own=st.sampled_from((None, 3, 5, 10, 15)),
)
def test_a_makers_fuse_over_what_a_lead_may_carry_always_holds(fuse: float, size: str, own: float | None) -> None:
    """Unless the part's own fuse keeps the current inside what the lead may carry."""
    limits = {"0.5_mm2": 11, "0.75_mm2": 14, "1_mm2": 16.5, "1.5_mm2": 21, "2.5_mm2": 29}  # thin-wall list, 30 °C
    more = "draws: {running_a: 2}\n" + (f"fuse_a: {own}\n" if own else "")
    plan = work(dash(size=size), radio(more=more, size=size), vehicle=CAR.replace("{fuse_a: 10", f"{{fuse_a: {fuse}"))
    flows = min(fuse, own) if own else fuse
    over = flows > limits[size] * (40 / 75) ** 0.5
    told = [p for p in plan.problems if p.code == "fuse-over-conductor" and "Constant supply" in p.message]
    assert bool(told) is over


def test_every_demo_supply_names_its_fuse(root) -> None:
    from loomleaf.pipeline import load_shop, plan_jobs

    plans, _ = plan_jobs(load_shop(root / "content"))
    for plan in plans.values():
        for row in rows(plan):
            assert value(row["rating_a"]) in RATINGS
            assert row["short"] is None or value(row["short"]["protected"]) is True
