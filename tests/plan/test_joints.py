"""Which joint each circuit gets, of what, how long stripped and sleeved."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from loomleaf.calc.joint import joint as reckoned
from loomleaf.calc.tables import shipped_tables, size_key
from loomleaf.plan.as_json import plan_json
from loomleaf.plan.as_text import plan_text
from loomleaf.plan.steps import steps_in_the_vehicle
from loomleaf.units import parse_size
from tests.makers import lead
from tests.plan.benches import CAR, DASH, DRAWS, RADIO, STOCK, codes, joint, message, value, work

ROOT = Path(__file__).parents[2]
SIZES = ("0.35_mm2", "0.5_mm2", "0.75_mm2", "1_mm2", "1.5_mm2", "2_mm2", "22_AWG", "20_AWG", "18_AWG", "16_AWG")


def pair(near: str, far: str, job: str = "joining: {default: solder-and-sleeve}\n", stock: str | None = STOCK):
    """A dash and a radio whose illumination wires are of these sizes (and further keys)."""
    return work(
        lead("dash", "vehicle", *DASH, f"A.1 illumination {near}"),
        lead("radio", "radio", *RADIO, f"orange illumination {far}", more=DRAWS),
        job=job,
        stock=stock,
    )


def light(plan):
    return joint(plan, next(c.id for c in plan.circuits if c.function_id == "illumination"))


def test_the_wish_of_the_function_goes_before_the_groups_and_the_default() -> None:
    job = "joining: {default: solder-and-sleeve, control: closed-end-connector, illumination: butt-connector}\n"
    assert light(pair("size=0.5_mm2", "size=0.5_mm2", job)).method_id == "butt-connector"
    job = "joining: {default: solder-and-sleeve, control: closed-end-connector}\n"
    assert light(pair("size=0.5_mm2", "size=0.5_mm2", job)).method_id == "closed-end-connector"
    assert light(pair("size=0.5_mm2", "size=0.5_mm2")).method_id == "solder-and-sleeve"
    assert light(pair("size=0.5_mm2", "size=0.5_mm2")).why.startswith("asked for in the job")


def test_tinned_strands_are_never_crimped() -> None:
    """NASA-STD-8739.4 4.3 and JIS C 2807: no crimp on soldered strands."""
    made = light(pair("size=0.5_mm2 strands=tinned", "size=0.5_mm2", "joining: {default: butt-connector}\n"))
    assert made.method.solder
    assert any("never crimped" in reason for reason in made.passed_over)


def test_no_solder_where_the_loom_flexes() -> None:
    plan = pair("size=0.5_mm2", "size=0.5_mm2", "joining: {default: solder-and-sleeve}\nplaces: [flexing]\n")
    assert not any(j.method.solder for j in plan.joints)
    assert any("flexes" in reason for reason in light(plan).passed_over)


def test_tinned_strands_where_the_loom_flexes_cannot_be_joined() -> None:
    plan = pair("size=0.5_mm2 strands=tinned", "size=0.5_mm2", "places: [flexing]\n")
    assert codes(plan, "no-joint-fits") == ["no-joint-fits"]
    assert plan.held


def test_damp_places_want_sealed_methods() -> None:
    plan = pair("size=0.5_mm2", "size=0.5_mm2", "joining: {default: butt-connector}\nplaces: [damp]\n")
    assert {("damp" in j.method.suits) for j in plan.joints} == {True}
    assert light(plan).item_id == "lined-red"
    assert light(plan).sleeve_id == ""  # the connector brings its own


def test_under_035_is_outside_ordinary_connectors_and_said() -> None:
    made = light(pair("size=0.22_mm2", "size=0.5_mm2", "joining: {default: butt-connector}\n"))
    assert made.method.solder
    assert any("under 0.35 mm²" in reason for reason in made.passed_over)


@pytest.mark.parametrize(("metal", "fits"), [("aluminium", False), ("copper-alloy", True)])
def test_other_metals_are_outside_ordinary_connectors(metal: str, fits: bool) -> None:
    plan = pair(f"size=0.5_mm2 conductor={metal}", "size=0.5_mm2", "joining: {default: butt-connector}\n")
    assert (codes(plan, "no-joint-fits") == []) is fits
    if fits:
        assert light(plan).method.solder
        assert any("copper alloy" in reason for reason in light(plan).passed_over)
    else:
        assert "aluminium" in message(plan, "no-joint-fits")


def test_a_missing_size_holds_and_still_shows_the_circuit() -> None:
    near = lead("dash", "vehicle", *DASH, "A.1 illumination").replace(
        "{at: A.1, function: illumination, size: 0.75 mm2, ", "{at: A.1, function: illumination, "
    )
    plan = work(near, lead("radio", "radio", *RADIO, "orange illumination", more=DRAWS))
    assert codes(plan, "size-missing") == ["size-missing"]
    assert "dash/A.1" in message(plan, "size-missing")
    assert light(plan).total_mm2.value is None


def test_what_stock_lacks_is_passed_over_and_then_told() -> None:
    only = "stock:\n  cap: {title: Cap, kind: closed-end, method: closed-end-connector, low_mm2: 1, high_mm2: 3}\n"
    assert light(pair("size=0.75_mm2", "size=0.75_mm2", stock=only)).item_id == "cap"
    plan = pair("size=2.5_mm2", "size=2.5_mm2", stock=only)
    assert "no-joint-fits" in codes(plan)
    hints = [p.hint for p in plan.problems if p.code == "no-joint-fits"]
    assert any("put into stock: blue butt connector" in hint for hint in hints)


def test_a_shop_without_a_stock_file_gets_the_tables_connectors() -> None:
    made = light(pair("size=0.5_mm2", "size=0.5_mm2", "joining: {default: butt-connector}\n", stock=None))
    assert made.item_title == "Red butt connector"
    assert made.item_id == ""


def test_barrels_hold_the_widest_against_the_rest() -> None:
    """1.5 mm² and 0.5 mm² both lie in red's 0.26 to 1.65 mm², though their total does not (barrel colours, UL practice)."""
    assert light(pair("size=1.5_mm2", "size=0.5_mm2", "joining: {default: butt-connector}\n")).item_id == "red"
    assert light(pair("size=2_mm2", "size=1.5_mm2", "joining: {default: butt-connector}\n")).item_id == "blue"


def test_a_butt_connector_is_chosen_end_by_end_and_says_so_everywhere() -> None:
    """2 × 1.5 mm² meet end to end: 1.5 mm² in each end, not 3 mm² (common practice, no source). The planner, ``reckon``,
    the method's steps and the shelf of a new shop say the same; closed-end connectors take the total (JIS C 2807)."""
    made = light(pair("size=1.5_mm2", "size=1.5_mm2", "joining: {default: butt-connector}\n"))
    assert (made.method_id, made.item_id) == ("butt-connector", "red")
    figures, problems = reckoned(tails=[parse_size("1.5 mm2"), parse_size("1.5 mm2")], method="butt-connector")
    assert not problems and figures["item"].value == "red butt connector"
    assert "in its two ends; it takes 0.26 to 1.65 mm² in each end" in figures["item"].working
    figures, _ = reckoned(tails=[parse_size("1.5 mm2"), parse_size("1.5 mm2")], method="closed-end-connector")
    assert "3 mm² in one barrel" in figures["item"].working and "in all" in figures["item"].working
    methods = yaml.safe_load((ROOT / "content/reference/methods.yaml").read_text())["methods"]
    chosen = {
        name: next((s["do"] for s in m["steps"] if "printed range" in s["do"]), "") for name, m in methods.items()
    }
    ends = {one.name for one in shipped_tables().joint_methods if one.rule == "barrels"}
    assert {name for name, words in chosen.items() if "in each of its ends" in words} == ends
    assert "total of its tails" in chosen["closed-end-connector"]
    shelf = (ROOT / "templates/begin/shop/stock.yaml").read_text()
    assert "one end of a butt connector" in " ".join(shelf.split("stock:")[0].replace("#", "").split())


def test_three_tails_are_measured_against_the_method_end_by_end_as_well() -> None:
    """4 mm² in one end and 2 × 2 mm² in the other: no end is over the 6.6 mm² of the method, though the total is."""
    yellow = (
        STOCK
        + "  yellow: {title: Yellow butt, kind: connector, method: butt-connector, low_mm2: 2.63,"
        + (" high_mm2: 6.64, outside_mm: 6.5, length_mm: 27, strip_mm: 7}\n")
    )
    plan = work(
        lead("dash", "vehicle", *DASH, "A.1 illumination size=4_mm2"),
        lead("radio", "radio", *RADIO, "orange illumination size=2_mm2", more=DRAWS),
        lead("box", "module", "pink illumination role=takes size=2_mm2"),
        job="joining: {default: butt-connector}\n",
        stock=yellow,
    )
    assert light(plan).item_id == "yellow", light(plan).passed_over


def test_lengths_by_hand() -> None:
    """12 mm bare, 8 mm on each side, 5 % shorter when shrunk: 28 ÷ 0.95 = 29.5, cut 30 mm."""
    made = light(pair("size=0.5_mm2", "size=0.5_mm2"))
    assert (value(made.strip_mm), value(made.sleeve_cut_mm), made.sleeve_id) == (12, 30, "s-3-32")
    crimped = light(pair("size=18_AWG", "size=18_AWG", "joining: {default: butt-connector}\n"))
    assert value(crimped.strip_mm) == 6
    assert value(crimped.pull_n) == 89.0  # UL 486A crimped splice, 18 AWG
    assert "samples" in crimped.pull_n.working
    assert made.pull_n is None


def test_the_total_as_a_gauge_is_rounded_up() -> None:
    """NASA-STD-8739.4 works 22 and 20 AWG together as 1662 cmil: the next gauge above is 17 AWG, not the nearest."""
    made = light(pair("size=22_AWG", "size=20_AWG"))
    assert value(made.equivalent) == "17 AWG"
    assert value(made.total_cmil) == pytest.approx(1662, rel=0.002)


def test_rings_one_a_tail() -> None:
    more = "terminal=ring-terminal feed=battery"
    plan = work(
        lead("kit", "vehicle", f"battery supply-constant size=6_mm2 {more}", f"stud ground size=6_mm2 {more}"),
        lead("amp", "accessory", f"plus supply-constant size=8_AWG {more}", f"minus ground size=8_AWG {more}"),
    )
    made = plan.joints[0]
    assert (made.method_id, made.item_id, made.items, made.station) == ("ring-terminal", "ring-8", 2, 0)
    plan = work(
        lead("kit", "vehicle", f"battery supply-constant size=16_mm2 {more}", f"stud ground size=6_mm2 {more}"),
        lead("amp", "accessory", f"plus supply-constant size=16_mm2 {more}", f"minus ground size=8_AWG {more}"),
    )
    assert "ring terminal that takes 16 mm²" in next(p.hint for p in plan.problems if p.code == "no-joint-fits")


def test_a_method_that_was_asked_for_and_not_taken_is_told_in_text_and_json() -> None:
    plan = work(
        lead("dash", "vehicle", *DASH),
        lead("radio", "radio", *RADIO, more=DRAWS),
        lead("box", "module", "red supply-switched", "black ground"),
        job="joining: {default: solder-and-sleeve}\n",
    )
    shared = next(j for j in plan.joints if len(j.tails) == 3)
    assert shared.method_id != "solder-and-sleeve" and "takes 2 tails, not 3" in shared.instead_of
    assert shared.method_id == "butt-connector" and " in one end, " in shared.layout and "in the other" in shared.layout
    assert all(shared.layout.count(name) == 1 for name in shared.tails)
    taken = next(j for j in plan.joints if j.method_id == "solder-and-sleeve")
    assert taken.instead_of == ""
    assert f"asked for, not taken: {shared.instead_of}" in plan_text(plan)
    assert next(j for j in plan_json(plan)["joints"] if j["id"] == shared.id)["instead_of"] == shared.instead_of


def test_a_supply_under_rings_is_covered_and_only_a_ground_is_bared_and_coated() -> None:
    """Live metal stands under a cover, a ground on bare metal: common practice, no source."""
    more = "terminal=ring-terminal feed=battery size=6_mm2"
    plan = work(
        lead("kit", "vehicle", f"battery supply-constant fuse_a=30 {more}", f"stud ground {more}"),
        lead("amp", "accessory", f"plus supply-constant {more}", f"minus ground {more}"),
    )
    ids = {c.group: c.id for c in plan.circuits if c.made}
    texts = steps_in_the_vehicle(plan.circuits, plan.joints)
    assert any(t.startswith(f"{ids['supply']}: ") and "cover" in t for t in texts)
    bare = [t for t in texts if "bare metal" in t or "rust" in t or "negative side" in t]
    assert len(bare) == 2 and all(t.startswith(f"{ids['ground']}: ") for t in bare)
    bench = " ".join(s.text for s in plan.steps if s.stage == "make:ring-terminal")
    assert "ratchet" in bench and "aside" in bench  # crimped on the bench, bolted in the vehicle
    assert not any(word in bench for word in ("Bolt", "bolt", "stud's", "rust", "sleeve", "drop"))
    assert all(not s.caution.startswith("battery-sensor") for s in plan.steps)
    drop = [c for c in plan.checks if c.circuit == ids["ground"] and "negative side" in c.probes]
    assert drop and all(c.high == 0.1 and "5 A" in c.condition for c in drop)  # a numbered check, with its limit


def test_combined_drivers_say_their_diodes() -> None:
    plan = work(
        lead("dash", "vehicle", *DASH, "A.5 amplifier-turn-on"),
        lead("radio", "radio", *RADIO, "blue amplifier-turn-on", more=DRAWS),
        lead("box", "module", "out amplifier-turn-on", "plus supply-constant", "minus ground", more=DRAWS),
    )
    circuit = next(c for c in plan.circuits if c.combine == "diode")
    assert "one diode in the wire of each of the 2 drivers" in joint(plan, circuit.id).why
    called = [p for p in plan.engineering["parts_called_for"] if p["circuit"] == circuit.id]
    assert [(p["item"], p["quantity"]) for p in called] == [("diode", 2)]


@settings(max_examples=60)
@given(near=st.sampled_from(SIZES), far=st.sampled_from(SIZES))
def test_a_chosen_sleeve_passes_over_and_grips(near: str, far: str) -> None:
    """A sleeve maker's rule: the widest part at most 0.8 of expanded, the thinnest at least 1.1 of recovered."""
    plan = pair(f"size={near}", f"size={far}")
    tables = shipped_tables()
    rows = {row.name: row for row in tables.sleeves}
    names = {f"s-{n}": f"2:1 thin wall {n.replace('-', '/', 1)} in" for n in ("3-32", "1-8", "3-16", "1-4")}
    names |= {
        "l-1-8": "3:1 adhesive lined 1/8 in",
        "l-1-4": "3:1 adhesive lined 1/4 in",
        "l-300": "4:1 adhesive lined .300",
    }
    wide = [tables.outsides[size_key(parse_size(s.replace("_", " ")))].value for s in (near, far)]
    made = light(plan)
    if made.sleeve_id:
        row = rows[names[made.sleeve_id]]
        assert max(wide) <= 0.8 * row.expanded_mm + 1e-9
        assert min(wide) >= 1.1 * row.recovered_mm - 1e-9
    else:
        assert not made.method.solder  # without a sleeve that fits nothing is soldered


@settings(max_examples=40)
@given(sizes=st.lists(st.tuples(st.sampled_from(SIZES), st.sampled_from(SIZES)), min_size=1, max_size=6))
def test_sleeving_to_cut_is_the_sum_over_joints_and_caps(sizes: list[tuple[str, str]]) -> None:
    functions = ("illumination", "reverse", "speed", "parking-brake", "mute", "antenna-turn-on")
    dash = [f"A.{i + 10} {f} size={a}" for i, (f, (a, _)) in enumerate(zip(functions, sizes, strict=False))]
    radio = [f"w{i} {f} size={b}" for i, (f, (_, b)) in enumerate(zip(functions, sizes, strict=False))]
    plan = work(
        lead("dash", "vehicle", *DASH, *dash),
        lead("radio", "radio", *RADIO, *radio, more=DRAWS),
        job="joining: {default: solder-and-sleeve}\n",
        vehicle=CAR,
    )
    cuts: dict[str, float] = {}
    for made in plan.joints:
        if made.sleeve_id:
            cuts[made.sleeve_id] = cuts.get(made.sleeve_id, 0) + value(made.sleeve_cut_mm)
    for cap in plan.engineering["loom"]["caps"]:
        cuts[cap["sleeve"]] = cuts.get(cap["sleeve"], 0) + value(cap["cut_mm"])
    assert {name: value(f) for name, f in plan.engineering["loom"]["sleeves"].items()} == pytest.approx(cuts)
    assert len(plan.joints) == sum(c.made for c in plan.circuits)
