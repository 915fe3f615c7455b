"""A shop of any size, made from the demo: ``python tests/bench/make_shop.py N FOLDER``.

N jobs on 40 vehicles and 60 leads. Every vehicle, lead and job is one of the demo's under another name, with other
plates, readings and lengths, so that each is as long and as hard to plan as a written one. The same N gives the same bytes.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import yaml

VEHICLES = 40
LEADS = 60
DEMO = Path(__file__).resolve().parents[2] / "content"


def _read(path: Path) -> dict[str, Any]:
    """One file of the demo, every value as text; an empty one is nothing."""
    return _nothing(yaml.load(path.read_text("utf-8"), Loader=yaml.BaseLoader))


def _nothing(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _nothing(inside) for key, inside in value.items()}
    if isinstance(value, list):
        return [_nothing(inside) for inside in value]
    return None if value == "" else value


def _text(value: dict[str, Any]) -> str:
    return yaml.dump(value, Dumper=yaml.SafeDumper, sort_keys=False, allow_unicode=True, width=110, default_flow_style=None)


def _spread(bases: list[str], total: int) -> dict[str, int]:
    """How many of each so that together they are ``total``."""
    return {name: total // len(bases) + (1 if number < total % len(bases) else 0) for number, name in enumerate(bases)}


def _variants(folder: str, key: str, total: int) -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Name of the original, name of the copy, and the copy."""
    originals = {path.stem: _read(path) for path in sorted((DEMO / folder).glob("*.yaml"))}
    for name, count in _spread(list(originals), total).items():
        for number in range(count):
            copy = {**originals[name], key: f"{name}-{number}"}
            if folder == "vehicles":
                feed = dict(copy["feed"])
                feed["length_mm"] = str(int(feed["length_mm"]) + 10 * number)
                copy["feed"] = feed
            else:
                copy["tails"] = [
                    {**tail, "length_mm": str(int(tail["length_mm"]) + 10 * number)} for tail in copy.get("tails", [])
                ]
            yield name, copy[key], copy


def _invented_reference() -> dict[str, Any]:
    """The reference entries that belong to the demo alone: its plugs."""
    out: dict[str, dict[str, Any]] = {}
    for path in sorted((DEMO / "reference").glob("*.yaml")):
        for section, entries in _read(path).items():
            if isinstance(entries, dict):
                mine = {n: e for n, e in entries.items() if isinstance(e, dict) and e.get("standing") == "invented"}
                if mine:
                    out.setdefault(section, {}).update(mine)
    return out


def files(jobs: int) -> Iterator[tuple[str, str]]:
    """Every file of the shop, as name and text."""
    for name in ("shop.yaml", "stock.yaml"):
        yield name, (DEMO / name).read_text("utf-8")
    yield "reference/demo.yaml", _text(_invented_reference())
    vehicles: dict[str, list[str]] = {}
    leads: dict[str, list[str]] = {}
    for folder, key, total, known in (("vehicles", "vehicle", VEHICLES, vehicles), ("leads", "lead", LEADS, leads)):
        for original, name, copy in _variants(folder, key, total):
            known.setdefault(original, []).append(name)
            yield f"{folder}/{name}.yaml", _text(copy)
    templates = [_read(path) for path in sorted((DEMO / "jobs").glob("*.yaml"))]
    patterns: dict[tuple[int, int, int], str] = {}
    for count in range(jobs):
        kind, turn = count % len(templates), count // len(templates)
        own = vehicles[templates[kind]["vehicle"]]
        which = (kind, turn % len(own), turn // len(own) % 3)
        if which not in patterns:
            patterns[which] = _text(_job(templates[kind], own[which[1]], leads, which[2]))
        number = f"{10000 + count}"
        yield f"jobs/{number}.yaml", patterns[which].replace("NUMBER", number)


def _job(template: dict[str, Any], vehicle: str, leads: dict[str, list[str]], turn: int) -> dict[str, Any]:
    """A demo job on another vehicle with other leads; NUMBER stands where its number comes."""

    def part(name: str) -> str:
        return leads[name][turn % len(leads[name])] if name in leads else name

    plates = {car["plate"]: f"B{place} NUMBER" for place, car in enumerate(template["registrations"])}

    def renamed(value: Any) -> Any:
        """Plates, parts and tails under their new names, wherever the job speaks of them."""
        if isinstance(value, dict):
            return {key: renamed(inside) for key, inside in value.items()}
        if isinstance(value, list):
            return [renamed(inside) for inside in value]
        if not isinstance(value, str):
            return value
        lead, slash, way = value.partition("/")
        return plates.get(value) or (part(lead) + slash + way if " " not in value else value)

    others = ("cleared", "replaces")  # words on the job it was made from: none of these copies was cleared or issued before
    job = {key: value for key, value in template.items() if key not in others}
    return {**renamed(job), "job": "NUMBER", "vehicle": vehicle}


def make_shop(jobs: int, folder: Path) -> None:
    """Write the shop into a folder that is not there yet."""
    folder.mkdir(parents=True)
    for name, text in files(jobs):
        path = folder / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, "utf-8")


def main() -> int:
    if len(sys.argv) != 3 or not sys.argv[1].isdigit():
        print("use: make_shop.py N FOLDER", file=sys.stderr)
        return 2
    make_shop(int(sys.argv[1]), Path(sys.argv[2]))
    return 0


if __name__ == "__main__":
    sys.exit(main())
