"""The engineering tables, built from plain dicts so that a shop's own rows can stand in for the shipped ones.

A table file has one top-level key per kind of table; each kind maps a row's name to its row, and every row carries
``source`` (an id of the bibliography) and ``standing``.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from ..figure import Standing
from ..problems import Collector, Location, Problem
from ..units import CMIL_MM2, Size, UnitError, awg_area_mm2, parse_size

Rows = Mapping[str, Mapping[str, Any]]
MM_PER_1000_FT = 304_800.0

FILES = ("conductors", "limits", "fuses", "sleeves", "crimps", "bundles", "batteries")
KINDS = (
    "constants",
    "resistances",
    "outsides",
    "cable_limits",
    "thin_wall_limits",
    "grouping",
    "ambient",
    "loudspeaker_dc",
    "loudspeaker_rules",
    "fuse_kinds",
    "fuse_limits",
    "fuse_ratings",
    "sleeve_rules",
    "sleeve_kinds",
    "sleeves",
    "joint_methods",
    "connectors",
    "joint_rules",
    "pull_awg",
    "pull_metric",
    "packing",
    "bundle_rules",
    "battery_charge",
    "supply_classes",
    "vehicle_supplies",
    "standby_rules",
)


@dataclass(frozen=True, kw_only=True)
class Row:
    """What every row has: its name, where it comes from and how well it is known."""

    name: str
    source: str
    standing: Standing


@dataclass(frozen=True, kw_only=True)
class Value(Row):
    """A single constant or rule."""

    value: float


@dataclass(frozen=True, kw_only=True)
class SizeRow(Row):
    """A value by conductor size. ``note`` says what kind of cable it is or how the value was printed (or "")."""

    size: Size
    value: float
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class GroupRow(Row):
    """Factor for up to ``most`` loaded conductors together."""

    most: int
    factor: float


@dataclass(frozen=True, kw_only=True)
class AmbientRow(Row):
    """One ambient: ``factor`` is 1 for the table's own; ``insulation_c`` is 0 where the row does not say."""

    ambient_c: float
    factor: float = 1.0
    insulation_c: float = 0.0


@dataclass(frozen=True, kw_only=True)
class SpeakerDc(Row):
    rated_ohm: float
    low_ohm: float
    high_ohm: float


@dataclass(frozen=True, kw_only=True)
class OpeningLimit(Row):
    """At ``percent`` of its rating the fuse opens between ``least_s`` and ``most_s``."""

    percent: float
    least_s: float
    most_s: float


@dataclass(frozen=True, kw_only=True)
class FuseRating(Row):
    """A standard rating. ``colour`` is "" where the kind has no colour code."""

    amps: float
    kind: str
    colour: str


@dataclass(frozen=True, kw_only=True)
class FuseKind(Row):
    """A kind of fuse with its own opening limits (by rising percent) and ratings (rising)."""

    title: str
    order: int
    volts_dc: float
    carry_percent: float
    limits: tuple[OpeningLimit, ...]
    ratings: tuple[FuseRating, ...]


@dataclass(frozen=True, kw_only=True)
class SleeveKind(Row):
    title: str
    lined: bool
    length_shrink: float


@dataclass(frozen=True, kw_only=True)
class Sleeve(Row):
    """One size of sleeving. ``length_shrink`` is the worst change of length, as a fraction."""

    kind: SleeveKind
    expanded_mm: float
    recovered_mm: float


@dataclass(frozen=True, kw_only=True)
class Connector(Row):
    """A connector and the area one barrel takes. ``strip_mm`` and ``amps`` are None where only its card knows."""

    method: str
    least_mm2: float
    most_mm2: float
    strip_mm: float | None
    amps: float | None


@dataclass(frozen=True, kw_only=True)
class JointMethod(Row):
    """``rule`` is barrels, total or any. ``most_tails`` None: any number. ``connectors`` from small to large."""

    order: int
    rule: str
    crimped: bool
    most_tails: int | None = None
    connectors: tuple[Connector, ...]


@dataclass(frozen=True, kw_only=True)
class Packing(Row):
    wires: int
    ratio: float


@dataclass(frozen=True, kw_only=True)
class ChargeRow(Row):
    charge_percent: float
    volts: float


@dataclass(frozen=True, kw_only=True)
class SupplyClass(Row):
    nominal_v: float
    least_v: float
    most_v: float


@dataclass(frozen=True, kw_only=True)
class VehicleSupply(Row):
    rest_v: float
    running_low_v: float
    running_high_v: float
    dip_v: float


@dataclass(frozen=True, kw_only=True)
class Tables:
    """Everything the calculations look up. Size tables are keyed as ``size_key`` says."""

    constants: Mapping[str, Value]
    resistances: Mapping[str, SizeRow]
    outsides: Mapping[str, SizeRow]
    cable_limits: tuple[SizeRow, ...]
    thin_wall_limits: tuple[SizeRow, ...]
    grouping: tuple[GroupRow, ...]
    table_ambient: AmbientRow
    engine_space: AmbientRow
    temperature_rule: Row
    loudspeaker_dc: tuple[SpeakerDc, ...]
    fuse_kinds: tuple[FuseKind, ...]
    sleeves: tuple[Sleeve, ...]
    joint_methods: tuple[JointMethod, ...]
    pull_awg: tuple[SizeRow, ...]
    pull_metric: Mapping[str, SizeRow]
    packing: tuple[Packing, ...]
    battery_charge: tuple[ChargeRow, ...]
    supply_classes: Mapping[str, SupplyClass]
    vehicle_supplies: Mapping[str, VehicleSupply]
    sizes: tuple[str, ...] = field(default=())

    def constant(self, name: str) -> Value:
        return self.constants[name]

    def fuse_kind(self, name: str) -> FuseKind | None:
        return next((kind for kind in self.fuse_kinds if kind.name == name), None)


def size_key(size: Size) -> str:
    """One key for one size however it was written: "g18" for 18 AWG, "m0.75" for 0.75 mm².

    >>> size_key(parse_size("0.750 mm2")), size_key(parse_size("1/0 AWG"))
    ('m0.75', 'g0')
    """
    if size.gauge is not None:
        return f"g{size.gauge}"
    if size.cmil is not None:
        return f"c{size.cmil:g}"
    return f"m{size.area_mm2:g}"


def overlay(base: Mapping[str, Any], *others: Mapping[str, Any]) -> dict[str, dict[str, Any]]:
    """Kinds of tables laid over each other, row by row: a later row replaces the earlier one; an empty row removes it.

    >>> overlay({"a": {"x": {"v": 1}, "y": {"v": 2}}}, {"a": {"x": {"v": 3}, "y": None}})
    {'a': {'x': {'v': 3}}}
    """
    merged: dict[str, dict[str, Any]] = {}
    for layer in (base, *others):
        for kind, rows in layer.items():
            if isinstance(rows, Mapping):
                merged.setdefault(kind, {}).update(rows)
    return {kind: {name: row for name, row in rows.items() if row is not None} for kind, rows in merged.items()}


class _BadRow(Exception):
    pass


@dataclass
class _Reader:
    """One row at a time; a fault becomes a problem and the row is left out."""

    kinds: Mapping[str, Rows]
    found: Collector
    file: str
    used: set[tuple[str, str]] = field(default_factory=set)

    def rows(self, kind: str) -> Iterable[tuple[str, Mapping[str, Any]]]:
        table = self.kinds.get(kind, {})
        if not isinstance(table, Mapping):
            self.found.error("bad-table", f"'{kind}' must be rows by name", Location(file=self.file))
            return
        for name, row in table.items():
            if isinstance(row, Mapping):
                yield name, row
            else:
                self.bad(kind, name, "must be keys and values")

    def bad(self, kind: str, name: str, why: str) -> None:
        self.found.error("bad-table", f"the row '{name}' of '{kind}' {why}", Location(file=self.file))

    def basis(self, name: str, row: Mapping[str, Any]) -> dict[str, Any]:
        try:
            standing = Standing(str(row.get("standing", "")))
        except ValueError:
            raise _BadRow("needs a standing: published, common-practice, memory or invented") from None
        source = str(row.get("source") or "")
        if not source:
            raise _BadRow("needs a source")
        return {"name": name, "source": source, "standing": standing}

    def number(self, row: Mapping[str, Any], key: str, *, least: float = 0.0, zero: bool = False) -> float:
        try:
            value = float(row[key])
        except (KeyError, TypeError, ValueError):
            raise _BadRow(f"needs a number for '{key}'") from None
        if not math.isfinite(value) or value < least or (value == 0 and not zero):
            raise _BadRow(f"has '{key}' outside its range")
        return value

    def size(self, name: str) -> Size:
        try:
            return parse_size(name)
        except UnitError as fault:
            raise _BadRow(f"is not named by a conductor size: {fault}") from None


def _flag(row: Mapping[str, Any], key: str) -> bool:
    text = str(row.get(key)).lower()
    if text not in {"yes", "no", "true", "false"}:
        raise _BadRow(f"needs yes or no for '{key}'")
    return text in {"yes", "true"}


def build_tables(kinds: Mapping[str, Any], file: str = "") -> tuple[Tables | None, tuple[Problem, ...]]:
    """Plain dicts (every scalar may be text) to tables. ``kinds`` maps a kind of table to its rows, see ``KINDS``.

    Returns None with the problems when a row is malformed or a table that nothing works without is missing.
    """
    found = Collector()
    reader = _Reader(kinds, found, file)

    def gather(kind: str, make: Any) -> list[Any]:
        made = []
        for name, row in reader.rows(kind):
            try:
                made.append(make(name, row))
            except _BadRow as fault:
                reader.bad(kind, name, str(fault))
        if not made:
            found.error("bad-table", f"the table '{kind}' has no usable row", Location(file=file))
        return made

    def value(name: str, row: Mapping[str, Any]) -> Value:
        return Value(**reader.basis(name, row), value=reader.number(row, "value", least=-273.15))

    constants = {
        row.name: row
        for kind in ("constants", "loudspeaker_rules", "sleeve_rules", "joint_rules", "bundle_rules", "standby_rules")
        for row in gather(kind, value)
    }
    for name in _NEEDED:
        if name not in constants:
            found.error("bad-table", f"the value '{name}' is missing from the tables", Location(file=file))
            constants[name] = Value(name=name, source="", standing=Standing.MEMORY, value=math.nan)

    def sized(key: str, note: str = "") -> Any:
        def make(name: str, row: Mapping[str, Any]) -> SizeRow:
            return SizeRow(
                **reader.basis(name, row),
                size=reader.size(name),
                value=reader.number(row, key),
                note=str(row.get(note) or "") if note else "",
            )

        return make

    abyc = constants["abyc_k_ohm_cmil_per_ft"].value

    def resistance(name: str, row: Mapping[str, Any]) -> SizeRow:
        size = reader.size(name)
        if "area_rule" in row:
            if row["area_rule"] != "abyc" or size.gauge is None:
                raise _BadRow("has an area_rule other than 'abyc', or is not an AWG size")
            cmil = awg_area_mm2(size.gauge) / CMIL_MM2
            return SizeRow(
                **reader.basis(name, row),
                size=size,
                value=abyc / cmil * 1000 / 0.3048,
                note=f"{abyc:g} Ω·cmil/ft ÷ {cmil:.0f} cmil",
            )
        if "ohm_per_1000_ft" in row:
            printed = reader.number(row, "ohm_per_1000_ft")
            return SizeRow(
                **reader.basis(name, row),
                size=size,
                value=printed * 1_000_000 / MM_PER_1000_FT,
                note=f"{printed:g} Ω per 1000 ft",
            )
        return SizeRow(**reader.basis(name, row), size=size, value=reader.number(row, "mohm_per_m"))

    resistances = gather("resistances", resistance)
    outsides = gather("outsides", sized("outside_mm", "kind"))
    cable = sorted(gather("cable_limits", sized("amps")), key=lambda row: row.size.area_mm2)
    thin = sorted(gather("thin_wall_limits", sized("amps")), key=lambda row: row.size.area_mm2)
    grouping = gather(
        "grouping",
        lambda name, row: GroupRow(
            **reader.basis(name, row),
            most=int(reader.number(row, "most", least=1)),
            factor=reader.number(row, "factor"),
        ),
    )

    def ambient(name: str, row: Mapping[str, Any]) -> AmbientRow:
        return AmbientRow(
            **reader.basis(name, row),
            ambient_c=reader.number(row, "ambient_c") if "ambient_c" in row else 0.0,
            factor=reader.number(row, "factor") if "factor" in row else 1.0,
            insulation_c=reader.number(row, "insulation_c") if "insulation_c" in row else 0.0,
        )

    ambients = {row.name: row for row in gather("ambient", ambient)}
    for name in ("table", "engine_space", "square_root_rule"):
        if name not in ambients:
            found.error("bad-table", f"the row '{name}' of 'ambient' is missing", Location(file=file))

    speakers = gather(
        "loudspeaker_dc",
        lambda name, row: SpeakerDc(
            **reader.basis(name, row),
            rated_ohm=reader.number(row, "rated_ohm"),
            low_ohm=reader.number(row, "low_ohm"),
            high_ohm=reader.number(row, "high_ohm"),
        ),
    )
    fuse_kinds = _fuses(reader, gather)
    sleeves = _sleeves(reader, gather)
    methods = _joints(reader, gather)
    pull_awg = sorted(gather("pull_awg", sized("newtons")), key=lambda row: row.size.area_mm2)
    pull_metric = gather("pull_metric", sized("newtons"))
    packing = gather(
        "packing",
        lambda name, row: Packing(
            **reader.basis(name, row),
            wires=int(reader.number(row, "wires", least=1)),
            ratio=reader.number(row, "ratio"),
        ),
    )
    charge = gather(
        "battery_charge",
        lambda name, row: ChargeRow(
            **reader.basis(name, row),
            charge_percent=reader.number(row, "charge_percent", zero=True),
            volts=reader.number(row, "volts"),
        ),
    )
    classes = gather(
        "supply_classes",
        lambda name, row: SupplyClass(
            **reader.basis(name, row),
            nominal_v=reader.number(row, "nominal_v"),
            least_v=reader.number(row, "least_v"),
            most_v=reader.number(row, "most_v"),
        ),
    )
    supplies = gather(
        "vehicle_supplies",
        lambda name, row: VehicleSupply(
            **reader.basis(name, row),
            rest_v=reader.number(row, "rest_v"),
            running_low_v=reader.number(row, "running_low_v"),
            running_high_v=reader.number(row, "running_high_v"),
            dip_v=reader.number(row, "dip_v"),
        ),
    )
    if found.problems:
        return None, tuple(found.problems)
    return (
        Tables(
            constants=constants,
            resistances={size_key(row.size): row for row in resistances},
            outsides={size_key(row.size): row for row in outsides},
            cable_limits=tuple(cable),
            thin_wall_limits=tuple(thin),
            grouping=tuple(sorted(grouping, key=lambda row: row.most)),
            table_ambient=ambients["table"],
            engine_space=ambients["engine_space"],
            temperature_rule=ambients["square_root_rule"],
            loudspeaker_dc=tuple(sorted(speakers, key=lambda row: row.rated_ohm)),
            fuse_kinds=fuse_kinds,
            sleeves=sleeves,
            joint_methods=methods,
            pull_awg=tuple(pull_awg),
            pull_metric={size_key(row.size): row for row in pull_metric},
            packing=tuple(sorted(packing, key=lambda row: row.wires)),
            battery_charge=tuple(sorted(charge, key=lambda row: row.volts)),
            supply_classes={row.name: row for row in classes},
            vehicle_supplies={row.name: row for row in supplies},
            sizes=tuple(row.name for row in resistances),
        ),
        (),
    )


_NEEDED = (
    "copper_alpha_per_k",
    "copper_resistivity_ohm_mm2_per_m",
    "abyc_k_ohm_cmil_per_ft",
    "adiabatic_k0",
    "adiabatic_beta_c",
    "lowest_fraction",
    "shrink_at_least",
    "keep_unshrunk",
    "smallest_crimp_awg",
    "lap_in_wire_diameters",
    "most_solder_mm2",
    "mixed_factor",
    "days_a_month",
    "turn_on_limit_ma",
)


def _fuses(reader: _Reader, gather: Any) -> tuple[FuseKind, ...]:
    def limit(name: str, row: Mapping[str, Any]) -> tuple[str, OpeningLimit]:
        return str(row.get("kind", "")), OpeningLimit(
            **reader.basis(name, row),
            percent=reader.number(row, "percent", least=100),
            least_s=reader.number(row, "least_s", zero=True),
            most_s=reader.number(row, "most_s"),
        )

    def rating(name: str, row: Mapping[str, Any]) -> FuseRating:
        return FuseRating(
            **reader.basis(name, row),
            amps=reader.number(row, "amps"),
            kind=str(row.get("kind", "")),
            colour=str(row.get("colour") or ""),
        )

    limits: list[tuple[str, OpeningLimit]] = gather("fuse_limits", limit)
    ratings: list[FuseRating] = gather("fuse_ratings", rating)

    def kind(name: str, row: Mapping[str, Any]) -> FuseKind:
        own = tuple(sorted((point for of, point in limits if of == name), key=lambda point: point.percent))
        if not own:
            raise _BadRow("has no opening limits")
        return FuseKind(
            **reader.basis(name, row),
            title=str(row.get("title") or name),
            order=int(reader.number(row, "order", zero=True)),
            volts_dc=reader.number(row, "volts_dc"),
            carry_percent=reader.number(row, "carry_percent"),
            limits=own,
            ratings=tuple(sorted((one for one in ratings if one.kind == name), key=lambda one: one.amps)),
        )

    kinds: list[FuseKind] = gather("fuse_kinds", kind)
    known = {one.name for one in kinds}
    for of, point in limits:
        if of not in known:
            reader.bad("fuse_limits", point.name, "names a kind of fuse that is not in 'fuse_kinds'")
    for one in ratings:
        if one.kind not in known:
            reader.bad("fuse_ratings", one.name, "names a kind of fuse that is not in 'fuse_kinds'")
    return tuple(sorted(kinds, key=lambda one: (one.order, one.name)))


def _sleeves(reader: _Reader, gather: Any) -> tuple[Sleeve, ...]:
    def kind(name: str, row: Mapping[str, Any]) -> SleeveKind:
        shrink = reader.number(row, "length_shrink", zero=True)
        if shrink >= 0.5:
            raise _BadRow("has 'length_shrink' of half or more")
        return SleeveKind(
            **reader.basis(name, row),
            title=str(row.get("title") or name),
            lined=_flag(row, "lined"),
            length_shrink=shrink,
        )

    kinds = {one.name: one for one in gather("sleeve_kinds", kind)}

    def sleeve(name: str, row: Mapping[str, Any]) -> Sleeve:
        of = kinds.get(str(row.get("kind", "")))
        if of is None:
            raise _BadRow("names a kind that is not in 'sleeve_kinds'")
        expanded, recovered = reader.number(row, "expanded_mm"), reader.number(row, "recovered_mm")
        if recovered >= expanded:
            raise _BadRow("recovers to no less than it was supplied at")
        return Sleeve(**reader.basis(name, row), kind=of, expanded_mm=expanded, recovered_mm=recovered)

    return tuple(sorted(gather("sleeves", sleeve), key=lambda one: (one.expanded_mm, -one.recovered_mm, one.name)))


def _joints(reader: _Reader, gather: Any) -> tuple[JointMethod, ...]:
    def connector(name: str, row: Mapping[str, Any]) -> Connector:
        return Connector(
            **reader.basis(name, row),
            method=str(row.get("method", "")),
            least_mm2=reader.number(row, "least_mm2"),
            most_mm2=reader.number(row, "most_mm2"),
            strip_mm=reader.number(row, "strip_mm") if row.get("strip_mm") else None,
            amps=reader.number(row, "amps") if row.get("amps") else None,
        )

    connectors: list[Connector] = gather("connectors", connector)

    def method(name: str, row: Mapping[str, Any]) -> JointMethod:
        rule = str(row.get("rule", ""))
        if rule not in {"barrels", "total", "any"}:
            raise _BadRow("needs a rule: barrels, total or any")
        own = sorted((one for one in connectors if one.method == name), key=lambda one: (one.most_mm2, one.name))
        return JointMethod(
            **reader.basis(name, row),
            order=int(reader.number(row, "order", zero=True)),
            rule=rule,
            crimped=_flag(row, "crimped"),
            most_tails=int(reader.number(row, "most_tails")) if "most_tails" in row else None,
            connectors=tuple(own),
        )

    methods: list[JointMethod] = gather("joint_methods", method)
    known = {one.name for one in methods}
    for one in connectors:
        if one.method not in known:
            reader.bad("connectors", one.name, "names a method that is not in 'joint_methods'")
    return tuple(sorted(methods, key=lambda one: (one.order, one.name)))


def shipped_kinds() -> dict[str, dict[str, Any]]:
    """The shipped table files as plain dicts: what a shop's own rows are laid over with ``overlay``."""
    from ..places import content_folder
    from ..source.nodes import plain, read_document

    layers: list[Mapping[str, Any]] = []
    for name in FILES:
        path = content_folder() / "reference" / f"{name}.yaml"
        document, problems = read_document(f"reference/{name}.yaml", path.read_bytes())
        if problems or document.root is None:
            raise RuntimeError("; ".join(problem.line() for problem in problems) or f"{name}.yaml is empty")
        layers.append(plain(document.root))
    return overlay({}, *layers)


@functools.cache
def shipped_tables() -> Tables:
    """The shipped tables, read once. Faults in them are faults of the program."""
    tables, problems = build_tables(shipped_kinds(), "reference")
    if tables is None:
        raise RuntimeError("; ".join(problem.line() for problem in problems))
    return tables
