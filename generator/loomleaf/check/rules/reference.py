"""Checks inside the reference."""

from __future__ import annotations

from collections.abc import Iterator

from ...figure import Standing
from ...model.base import Content
from ...problems import Collector, nearest
from ..library import Library


def _walk(value: Content, path: tuple[str | int, ...] = ()) -> Iterator[tuple[tuple[str | int, ...], Content]]:
    yield path, value
    for name in type(value).model_fields:
        inner = getattr(value, name)
        if isinstance(inner, Content):
            yield from _walk(inner, (*path, name))
        elif isinstance(inner, tuple):
            for index, item in enumerate(inner):
                if isinstance(item, Content):
                    yield from _walk(item, (*path, name, index))


def sources_are_listed(library: Library, found: Collector) -> None:
    """Every value of the reference names a source of the bibliography."""
    known = library.reference.sources
    for (section, _), entry in library.reference_places.items():
        if section == "sources":
            continue
        for path, value in _walk(entry.value):
            source = getattr(value, "source", None)
            if isinstance(source, str) and source not in known:
                found.error(
                    "unknown-source",
                    f"the source '{source}' is not in the bibliography",
                    entry.place(*path, "source"),
                    hint=nearest(source, known),
                )


def invented_only_in_the_demo(library: Library, found: Collector) -> None:
    """Only a shop that says it is invented may carry invented reference values of its own."""
    if library.shop is None or library.shop.value.invented:
        return
    for entry in library.reference_places.values():
        if entry.document.file.startswith("shipped/"):
            continue
        for path, value in _walk(entry.value):
            if getattr(value, "standing", None) is Standing.INVENTED:
                found.error(
                    "invented-value",
                    "an invented value has no place in a real shop's reference",
                    entry.place(*path, "standing"),
                    hint="name its source, or say common-practice or memory",
                )


def names_inside_the_reference_exist(library: Library, found: Collector) -> None:
    """Functions, connectors, features and cautions named by other entries are there."""
    ref = library.reference

    def wants(
        section: str, name: str, known: dict[str, object], place: tuple[str | int, ...], owner: tuple[str, str]
    ) -> None:
        if name not in known:
            found.error(
                "unknown-name",
                f"'{name}' is not among the {section}",
                library.reference_places[owner].place(*place),
                hint=nearest(name, known),
            )

    functions: dict[str, object] = dict(ref.functions)
    connectors: dict[str, object] = dict(ref.connectors)
    cautions: dict[str, object] = dict(ref.cautions)
    for name, function in ref.functions.items():
        for index, other in enumerate(function.related):
            wants("functions", other, functions, ("related", index), ("functions", name))
    for name, meeting in ref.meetings.items():
        wants("functions", meeting.driver, functions, ("driver",), ("meetings", name))
        wants("functions", meeting.taker, functions, ("taker",), ("meetings", name))
    for name, refusal in ref.refusals.items():
        for key in ("driver", "taker"):
            word = str(getattr(refusal, key))
            if word != "any" and not word.startswith("group:"):
                wants("functions", word, functions, (key,), ("refusals", name))
    for name, connector in ref.connectors.items():
        for index, other in enumerate(connector.mates):
            wants("connectors", other, connectors, ("mates", index), ("connectors", name))
        for index, way in enumerate(connector.pinout):
            if way.function is not None:
                wants("functions", way.function, functions, ("pinout", index, "function"), ("connectors", name))
    for name, method in ref.methods.items():
        for index, step in enumerate(method.steps):
            if step.caution is not None:
                wants("cautions", step.caution, cautions, ("steps", index, "caution"), ("methods", name))
    for name, feature in ref.features.items():
        for index, other in enumerate(feature.functions):
            wants("functions", other, functions, ("functions", index), ("features", name))
        for index, other in enumerate(feature.woken_by):
            wants("functions", other, functions, ("woken_by", index), ("features", name))
