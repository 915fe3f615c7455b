"""Checks of leads and parts."""

from __future__ import annotations

from ...problems import Collector, nearest
from ..library import Library
from ..nearby import nearest_entry

_OWN_CONNECTOR = "a plug of your own is described once, in reference/connectors.yaml of the shop's folder"


def functions_are_known(library: Library, found: Collector) -> None:
    """Every tail's function is a wire function of the reference."""
    known = library.reference.functions
    for lead in library.leads.values():
        for index, tail in enumerate(lead.value.tails):
            if tail.function not in known:
                found.error(
                    "unknown-function",
                    f"the wire function '{tail.function}' is not known",
                    lead.place("tails", index, "function"),
                    hint=nearest_entry(tail.function, known),
                )


def poles_fit_the_function(library: Library, found: Collector) -> None:
    """A tail of a function with poles says which pole it is; others say none."""
    for lead in library.leads.values():
        for index, tail in enumerate(lead.value.tails):
            function = library.reference.functions.get(tail.function)
            if function is None:
                continue
            if function.poles and tail.pole is None:
                found.error(
                    "missing-pole",
                    f"the tail {tail.at} does not say which pole of '{tail.function}' it is",
                    lead.place("tails", index),
                    hint="add  pole: " + " or ".join(function.poles),
                )
            elif tail.pole is not None and tail.pole not in function.poles:
                words = " or ".join(function.poles)
                found.error(
                    "wrong-pole",
                    f"'{tail.function}' has no pole '{tail.pole}'",
                    lead.place("tails", index, "pole"),
                    hint=f"write {words}" if words else "leave the pole out",
                )


def ways_are_unique(library: Library, found: Collector) -> None:
    """No two tails of a lead stand at the same way."""
    for lead in library.leads.values():
        seen: dict[str, int] = {}
        for index, tail in enumerate(lead.value.tails):
            if tail.at in seen:
                first = lead.place("tails", seen[tail.at], "at")
                found.error(
                    "duplicate-way",
                    f"two tails stand at {tail.at} (the first on line {first.line})",
                    lead.place("tails", index, "at"),
                    hint="one way holds one tail",
                )
            else:
                seen[tail.at] = index
        names: set[str] = set()
        for index, end in enumerate(lead.value.ready_ends):
            if end.name in names or end.name in seen:
                found.error(
                    "duplicate-way",
                    f"two ends of the lead are called '{end.name}'",
                    lead.place("ready_ends", index, "name"),
                )
            names.add(end.name)
        plugs: set[str] = set()
        for index, plug in enumerate(lead.value.plugs):
            if plug.name in plugs:
                found.error(
                    "duplicate-way",
                    f"two plugs of the lead are called '{plug.name}'",
                    lead.place("plugs", index, "name"),
                )
            plugs.add(plug.name)


def plugs_are_known(library: Library, found: Collector) -> None:
    """Plug types are connector types of the reference and have at least that many ways."""
    known = library.reference.connectors
    for lead in library.leads.values():
        for index, plug in enumerate(lead.value.plugs):
            kind = known.get(plug.type)
            if kind is None:
                found.error(
                    "unknown-connector",
                    f"the connector type '{plug.type}' is not known",
                    lead.place("plugs", index, "type"),
                    hint=nearest(plug.type, known) or _OWN_CONNECTOR,
                )
            elif kind.kind == "plug" and plug.ways != kind.ways:
                found.error(
                    "wrong-ways",
                    f"the plug {plug.name} says {plug.ways} ways, but the type {plug.type} has {kind.ways}",
                    lead.place("plugs", index, "ways"),
                    hint=f"write {kind.ways}",
                )


def ways_exist_on_their_plug(library: Library, found: Collector) -> None:
    """``A.17`` needs a plug A that has a way 17."""
    for lead in library.leads.values():
        plugs = {plug.name: plug for plug in lead.value.plugs}
        for index, tail in enumerate(lead.value.tails):
            name, dot, way = tail.at.rpartition(".")
            if not dot:
                continue
            plug = plugs.get(name)
            if plug is None:
                found.error(
                    "unknown-plug",
                    f"the lead has no plug '{name}'",
                    lead.place("tails", index, "at"),
                    hint=nearest(name, plugs) or "list it under plugs",
                )
                continue
            kind = library.reference.connectors.get(plug.type)
            named = {w for row in kind.rows for w in row if w} if kind else set()
            if way not in named and not (way.isdecimal() and 1 <= int(way) <= plug.ways):
                found.error(
                    "unknown-way",
                    f"the plug {name} has no way {way}",
                    lead.place("tails", index, "at"),
                    hint=f"it has ways 1 to {plug.ways}",
                )


def ready_ends_are_known(library: Library, found: Collector) -> None:
    """Types of ready ends are connector types of the reference."""
    known = library.reference.connectors
    for lead in library.leads.values():
        for index, end in enumerate(lead.value.ready_ends):
            if end.type not in known:
                found.error(
                    "unknown-connector",
                    f"the connector type '{end.type}' is not known",
                    lead.place("ready_ends", index, "type"),
                    hint=nearest(end.type, known) or _OWN_CONNECTOR,
                )


def ready_ends_leave_safety_alone(library: Library, found: Collector) -> None:
    """A plug of an airbag, a belt, an alarm or a high-voltage cable is no ready end: it is never opened and never mated."""
    words: dict[str, str] = {}
    for name, function in library.reference.functions.items():
        if function.never:
            said = (name, *("-".join(word.lower().split()) for word in function.also_called))
            words |= {word: function.title for word in said}
    for lead in library.leads.values():
        for index, end in enumerate(lead.value.ready_ends):
            told = next((title for word, title in words.items() if f"-{word}-" in f"-{end.name}-"), None)
            if told is not None:
                found.error(
                    "never-mated",
                    f"'{end.name}' is a plug of something that is left alone ({told[0].lower()}{told[1:]}): it is no ready end",
                    lead.place("ready_ends", index, "name"),
                    hint="take the end out; as a way of the plug it may be listed, so that nobody touches it",
                )


def provided_features_are_known(library: Library, found: Collector) -> None:
    """Features that a part provides, changes or stops are features of the reference."""
    known = library.reference.features
    for lead in library.leads.values():
        for key in ("provides", "stops"):
            for index, name in enumerate(getattr(lead.value, key)):
                if name not in known:
                    found.error(
                        "unknown-feature",
                        f"the feature '{name}' is not known",
                        lead.place(key, index),
                        hint=nearest_entry(name, known),
                    )
        for name in lead.value.changes:
            if name not in known:
                found.error(
                    "unknown-feature",
                    f"the feature '{name}' is not known",
                    lead.place("changes", name, key=True),
                    hint=nearest_entry(name, known),
                )


def active_parts_state_a_leaflet(library: Library, found: Collector) -> None:
    """What is known from a leaflet names the leaflet."""
    for lead in library.leads.values():
        if lead.value.known_from == "leaflet" and not lead.value.leaflet:
            found.error(
                "no-leaflet",
                "the lead is known from a leaflet, but the leaflet is not named",
                lead.place("known_from"),
                hint="add  leaflet: sheet, issue, page",
            )
