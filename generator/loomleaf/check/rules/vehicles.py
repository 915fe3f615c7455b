"""Checks of vehicle files."""

from __future__ import annotations

import re

from ...problems import Collector
from ..library import Library
from ..nearby import nearest_entry


def vehicle_features_are_known(library: Library, found: Collector) -> None:
    """Features of a vehicle are features of the reference, each once."""
    known = library.reference.features
    for vehicle in library.vehicles.values():
        seen: set[str] = set()
        for index, item in enumerate(vehicle.value.features):
            if item.feature not in known:
                found.error(
                    "unknown-feature",
                    f"the feature '{item.feature}' is not known",
                    vehicle.place("features", index),
                    hint=nearest_entry(item.feature, known),
                )
            if item.feature in seen:
                found.error("twice", f"the feature '{item.feature}' is listed twice", vehicle.place("features", index))
            seen.add(item.feature)


_LOAD = re.compile(r"[\d.\s()|+]+")


def loads_can_be_read(library: Library, found: Collector) -> None:
    """Loudspeaker loads hold only numbers, + and ||."""
    for vehicle in library.vehicles.values():
        for index, speaker in enumerate(vehicle.value.speakers):
            if not _LOAD.fullmatch(speaker.load):
                found.error(
                    "bad-load",
                    f"'{speaker.load}' is not a loudspeaker load",
                    vehicle.place("speakers", index, "load"),
                    hint='ohms, joined with + in series or || in parallel, for example "4 || 4"',
                )
