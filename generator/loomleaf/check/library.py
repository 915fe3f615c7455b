"""Everything a shop has, typed, each entry with the place it was read from."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any, Generic, TypeVar

from ..figure import Standing
from ..model.base import Content
from ..model.crew import Apprentice
from ..model.job import Job
from ..model.lead import Lead
from ..model.readings import Issued, Readings
from ..model.reference import SECTIONS, Reference, ReferenceFile
from ..model.shop import Shop, Stock
from ..model.vehicle import Vehicle
from ..problems import Collector, Location, Problem, nearest
from ..source.nodes import Document, Mapping, Node, Scalar
from ..source.tree import Tree
from .convert import convert, convert_node, values
from .mend import Mended, mended

T = TypeVar("T", bound=Content)

TABLE_SECTIONS = (
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
"""Sections that hold rows of numbers. They stay plain here; the calculations build their tables from them."""

BARRELS = "connectors"
"""Rows of barrels share their section's name with the plugs: in a file that holds other rows of numbers they are barrels."""


@dataclass(frozen=True, kw_only=True)
class Entry(Generic[T]):
    """A typed value and where it stands. ``base`` is the path of the value inside its document."""

    value: T
    document: Document
    base: tuple[str | int, ...] = ()

    def place(self, *path: str | int, key: bool = False) -> Location:
        """Location of a part of the value."""
        return self.document.place(*self.base, *path, key=key)


@dataclass(frozen=True, kw_only=True)
class Library:
    """A shop's content. ``broken`` names files that could not be typed, so that references to them are not doubled.

    ``halves`` has what can still be read of such files, by their name: for the rules to look at, and for nothing else.
    ``broken_files`` are the files of parts and vehicles that could not be typed, by folder and name.
    """

    shop: Entry[Shop] | None
    stock: Entry[Stock] | None
    reference: Reference
    reference_places: dict[tuple[str, str], Entry[Content]]
    tables: dict[str, Any]
    vehicles: dict[str, Entry[Vehicle]] = field(default_factory=dict)
    leads: dict[str, Entry[Lead]] = field(default_factory=dict)
    jobs: dict[str, Entry[Job]] = field(default_factory=dict)
    readings: tuple[Entry[Readings], ...] = ()
    issued: tuple[Entry[Issued], ...] = ()
    crew: dict[str, Entry[Apprentice]] = field(default_factory=dict)
    broken: frozenset[str] = frozenset()
    broken_files: dict[tuple[str, str], str] = field(default_factory=dict)
    halves: dict[str, Mended[Any]] = field(default_factory=dict)
    overlaid: dict[tuple[str, str], Content] = field(default_factory=dict)  # shipped entries that the shop's own replace
    reference_whole: bool = True  # False when a reference file could not be read: names cannot be looked up then


def build_library(tree: Tree) -> tuple[Library, tuple[Problem, ...]]:
    """Documents to typed content. Entries that do not convert are left out, each with its problems."""
    found = Collector()
    broken: dict[tuple[str, str], str] = {}
    shop = _single(tree, "shop.yaml", Shop, found)
    demo = shop is None or shop.value.invented  # unread: nothing is told that the settings may answer
    reference, places, tables, overlaid = _reference(tree, found, demo=demo)
    stock = _single(tree, "stock.yaml", Stock, found)
    library = Library(
        shop=shop,
        stock=stock,
        reference=reference,
        reference_places=places,
        tables=tables,
        overlaid=overlaid,
        vehicles=_folder(tree, "vehicles", Vehicle, "vehicle", found, broken),
        leads=_folder(tree, "leads", Lead, "lead", found, broken),
        jobs=_folder(tree, "jobs", Job, "job", found, broken),
        readings=tuple(_list(tree, "readings", Readings, found)),
        issued=tuple(_list(tree, "issued", Issued, found)),
        crew=_folder(tree, "crew", Apprentice, "apprentice", found, broken),
        broken=frozenset(name for _, name in broken),
        broken_files=broken,
        reference_whole=all(d.root is not None for d in (*tree.shipped, *tree.folders.get("reference", ()))),
    )
    unread = {name for name, entry in (("shop.yaml", shop), ("stock.yaml", stock)) if name in tree.single and not entry}
    return replace(library, halves=_halves(tree, library), broken=library.broken | unread), tuple(found.problems)


def _halves(tree: Tree, library: Library) -> dict[str, Mended[Any]]:
    """What can be read of the files that did not convert."""
    entries = (library.shop, library.stock, *library.vehicles.values(), *library.leads.values(), *library.jobs.values())
    whole = {entry.document.file for entry in (*entries, *library.readings) if entry is not None}
    single: dict[str, type[Content]] = {"shop.yaml": Shop, "stock.yaml": Stock}
    folders: dict[str, type[Content]] = {"vehicles": Vehicle, "leads": Lead, "jobs": Job, "readings": Readings}
    files = [(tree.single[name], model) for name, model in single.items() if name in tree.single]
    files += [(document, model) for name, model in folders.items() for document in tree.folders.get(name, ())]
    out = {}
    for document, model in files:
        half = None if document.root is None or document.file in whole else mended(document, model)
        if half is not None and half.short_of:
            out[document.file] = half
    return out


def _single(tree: Tree, name: str, model: type[T], found: Collector) -> Entry[T] | None:
    document = tree.single.get(name)
    if document is None:
        return None
    value = convert(document, model, found)
    return Entry(value=value, document=document) if value is not None else None


def _list(tree: Tree, folder: str, model: type[T], found: Collector) -> Iterable[Entry[T]]:
    for document in tree.folders.get(folder, ()):
        value = convert(document, model, found)
        if value is not None:
            yield Entry(value=value, document=document)


def _folder(
    tree: Tree, folder: str, model: type[T], key: str, found: Collector, broken: dict[tuple[str, str], str]
) -> dict[str, Entry[T]]:
    """The entries of a folder by name. A name that two files give themselves is nobody's: which of them is meant cannot be told,
    so that neither is used, and what needs it says so."""
    out: dict[str, Entry[T]] = {}
    doubled: set[str] = set()
    for document in tree.folders.get(folder, ()):
        value = convert(document, model, found)
        if value is None:
            broken[folder, _written_id(document, key)] = document.file
            continue
        name = str(getattr(value, key))
        if name in out:
            found.error(
                "twice",
                f"the {key} '{name}' stands in two files (also in {out[name].document.file})",
                document.place(key),
                hint="give one of them another name",
            )
            broken[folder, name] = document.file
            doubled.add(name)
            continue
        out[name] = Entry(value=value, document=document)
    return {name: entry for name, entry in out.items() if name not in doubled}


def _written_id(document: Document, key: str) -> str:
    if isinstance(document.root, Mapping) and key in document.root.values:
        return str(values(document.root.values[key]))
    return document.file.rsplit("/", 1)[-1].removesuffix(".yaml")


def _reference(
    tree: Tree, found: Collector, *, demo: bool
) -> tuple[Reference, dict[tuple[str, str], Entry[Content]], dict[str, Any], dict[tuple[str, str], Content]]:
    """The shipped reference with the shop's own laid over it, entry by entry, and what was laid over. Invented entries are for
    a ``demo`` shop."""
    merged: dict[str, dict[str, Any]] = {section: {} for section in SECTIONS}
    places: dict[tuple[str, str], Entry[Content]] = {}
    tables: dict[str, Any] = {}
    overlaid: dict[tuple[str, str], Content] = {}
    for layer in (tree.shipped, tree.folders.get("reference", ())):
        seen: dict[tuple[str, str], Document] = {}
        for document in layer:
            if document.root is None:
                continue
            if not isinstance(document.root, Mapping):
                found.error("wrong-shape", "a reference file holds named sections", document.place())
                continue
            numbers = any(section in TABLE_SECTIONS for section in document.root.values)
            for section, node in document.root.values.items():
                if section in SECTIONS and not (numbers and section == BARRELS):
                    if not isinstance(node, Mapping):
                        found.error("wrong-shape", f"'{section}' wants named entries", document.place(section))
                        continue
                    model = _section_model(section)
                    for name, entry in node.values.items():
                        if (section, name) in seen:
                            found.error(
                                "twice",
                                f"'{name}' of {section} stands in two files (also in {seen[section, name].file})",
                                document.place(section, name, key=True),
                                hint="keep one of the two",
                            )
                            continue
                        seen[section, name] = document
                        if layer is tree.shipped and not demo and _is_invented(entry):
                            continue  # belongs to the demo, whose reference this is
                        value = convert_node(document, (section, name), entry, model, found)
                        if value is not None:
                            if layer is not tree.shipped and name in merged[section]:
                                overlaid[section, name] = merged[section][name]
                            merged[section][name] = value
                            places[section, name] = Entry(value=value, document=document, base=(section, name))
                elif section in TABLE_SECTIONS or section == BARRELS:
                    plain = values(node)
                    if isinstance(plain, dict) and isinstance(tables.get(section), dict):
                        tables[section] = {**tables[section], **plain}
                    else:
                        tables[section] = plain
                else:
                    found.error(
                        "unknown-key",
                        f"'{section}' is not a section of the reference",
                        document.place(section, key=True),
                        hint=nearest(section, (*SECTIONS, *TABLE_SECTIONS)),
                    )
    return Reference.model_construct(None, **merged), places, tables, overlaid


def _is_invented(node: Node) -> bool:
    standing = node.values.get("standing") if isinstance(node, Mapping) else None
    return isinstance(standing, Scalar) and standing.text == Standing.INVENTED.value


def _section_model(section: str) -> type[Content]:
    from typing import get_args

    annotation = ReferenceFile.model_fields[section].annotation
    model = get_args(annotation)[1]
    assert isinstance(model, type) and issubclass(model, Content)
    return model
