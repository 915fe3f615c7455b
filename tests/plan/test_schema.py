"""Every plan follows the documented shape; the shape can tell a wrong one."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from loomleaf.pipeline import load_shop, plan_jobs
from loomleaf.plan import as_json
from loomleaf.plan.as_json import plan_json
from loomleaf.plan.engineering import nothing_worked_out
from tests.makers import lead, plan_of

SCHEMA = json.loads((Path(as_json.__file__).parent / "plan.schema.json").read_text("utf-8"))
_TYPES: dict[str, Any] = {
    "object": dict,
    "array": list,
    "string": str,
    "boolean": bool,
    "null": type(None),
    "integer": int,
    "number": (int, float),
}
_KNOWN = {
    "$schema",
    "$defs",
    "$ref",
    "title",
    "description",
    "type",
    "enum",
    "pattern",
    "anyOf",
    "items",
    "properties",
    "required",
    "additionalProperties",
}


def faults(value: Any, schema: dict[str, Any], at: str = "plan") -> list[str]:
    """Every place where a value leaves the schema (the words of JSON Schema 2020-12 that ours uses)."""
    unknown = set(schema) - _KNOWN
    assert not unknown, f"the schema uses {unknown}, which this test does not check"
    if "$ref" in schema:
        name = schema["$ref"].removeprefix("#/$defs/")
        return faults(value, SCHEMA["$defs"][name], at)
    if "anyOf" in schema:
        tries = [faults(value, one, at) for one in schema["anyOf"]]
        return min(tries, key=len) if all(tries) else []
    out: list[str] = []
    if "type" in schema:
        wanted = [schema["type"]] if isinstance(schema["type"], str) else schema["type"]
        fits = any(
            isinstance(value, _TYPES[name]) and not (isinstance(value, bool) and name in ("integer", "number"))
            for name in wanted
        )
        if not fits:
            return [f"{at}: {value!r} is not {wanted}"]
    if "enum" in schema and value not in schema["enum"]:
        out.append(f"{at}: {value!r} is none of {schema['enum']}")
    if "pattern" in schema and not re.search(schema["pattern"], value):
        out.append(f"{at}: {value!r} does not match {schema['pattern']}")
    if isinstance(value, list) and "items" in schema:
        for index, item in enumerate(value):
            out += faults(item, schema["items"], f"{at}[{index}]")
    if isinstance(value, dict):
        known = schema.get("properties", {})
        out += [f"{at}: {key} is missing" for key in schema.get("required", ()) if key not in value]
        for key, inner in value.items():
            if key in known:
                out += faults(inner, known[key], f"{at}.{key}")
            elif schema.get("additionalProperties") is False:
                out.append(f"{at}: {key} is not documented")
            elif isinstance(schema.get("additionalProperties"), dict):
                out += faults(inner, schema["additionalProperties"], f"{at}.{key}")
    return out


@pytest.fixture(scope="module")
def plans(root: Path) -> dict[str, Any]:
    loaded = load_shop(root / "content")
    made, _ = plan_jobs(loaded)
    return {number: json.loads(json.dumps(plan_json(plan))) for number, plan in made.items()}


def test_every_demo_plan_follows_the_schema(plans: dict[str, Any]) -> None:
    assert len(plans) >= 6
    assert {number: faults(plan, SCHEMA) for number, plan in plans.items() if faults(plan, SCHEMA)} == {}


def test_a_plan_with_hardly_anything_known_follows_it() -> None:
    plan = plan_of(
        lead("dash", "vehicle", "A.4 supply-constant", "A.8 ground"),
        lead("radio", "radio", "yellow supply-constant", "black ground"),
    )
    assert faults(json.loads(json.dumps(plan_json(plan))), SCHEMA) == []


def test_a_plan_without_tables_has_every_topic(plans: dict[str, Any]) -> None:
    empty = nothing_worked_out((), "no tables", ()).plain
    whole = {**plans["2038"], **json.loads(json.dumps(as_json.plain(empty)))}
    assert faults(whole, SCHEMA) == []
    assert set(empty) <= set(SCHEMA["properties"])


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda plan: plan.pop("fuses"), "fuses is missing"),
        (lambda plan: plan.update(extra=1), "extra is not documented"),
        (lambda plan: plan["joints"][0].update(station="1"), "is not ['integer']"),
        (lambda plan: plan["joints"][0]["total_mm2"].pop("working"), "working is missing"),
        (lambda plan: plan["vehicles"][0].update(state="fine"), "is none of"),
        (lambda plan: plan["circuits"][0].update(id="first"), "does not match"),
        (lambda plan: plan["fuses"]["rows"][0].update(grouped=True), "is not ['integer']"),
    ],
)
def test_a_wrong_plan_is_told(plans: dict[str, Any], change: Any, told: str) -> None:
    plan = json.loads(json.dumps(plans["2038"]))
    change(plan)
    assert any(told in fault for fault in faults(plan, SCHEMA)), faults(plan, SCHEMA)


def test_every_definition_is_used_and_documented() -> None:
    text = json.dumps({key: value for key, value in SCHEMA.items() if key != "$defs"}) + json.dumps(SCHEMA["$defs"])
    assert [name for name in SCHEMA["$defs"] if f"#/$defs/{name}" not in text] == []
