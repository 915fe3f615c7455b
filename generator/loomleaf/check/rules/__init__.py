"""Checks across files: small named functions in one explicit list. Each takes the library and a collector."""

from __future__ import annotations

from collections.abc import Callable

from ...problems import Collector, Problem
from ..library import Library
from .jobs import (
    airbag_wait_is_whole,
    dates_are_in_order,
    every_part_is_known,
    features_are_the_vehicles,
    feeds_name_known_things,
    high_voltage_is_answered,
    joining_names_known_methods,
    proofs_name_vehicle_tails,
    registrations_are_unique,
    system_is_within_scope,
)
from .leads import (
    active_parts_state_a_leaflet,
    functions_are_known,
    plugs_are_known,
    poles_fit_the_function,
    provided_features_are_known,
    ready_ends_are_known,
    ways_are_unique,
    ways_exist_on_their_plug,
)
from .reference import invented_only_in_the_demo, names_inside_the_reference_exist, sources_are_listed
from .shop import money_is_readable, stock_ranges_make_sense
from .vehicles import loads_can_be_read, vehicle_features_are_known
from .workshop import (
    additions_are_agreed,
    come_backs_are_later,
    minutes_name_known_operations,
    prices_name_known_rates,
    readings_belong_to_a_job,
    taken_things_are_in_stock_file,
)

Rule = Callable[[Library, Collector], None]

RULES: tuple[Rule, ...] = (
    names_inside_the_reference_exist,
    sources_are_listed,
    invented_only_in_the_demo,
    money_is_readable,
    stock_ranges_make_sense,
    vehicle_features_are_known,
    loads_can_be_read,
    functions_are_known,
    plugs_are_known,
    ways_are_unique,
    ways_exist_on_their_plug,
    poles_fit_the_function,
    ready_ends_are_known,
    provided_features_are_known,
    active_parts_state_a_leaflet,
    every_part_is_known,
    system_is_within_scope,
    high_voltage_is_answered,
    airbag_wait_is_whole,
    registrations_are_unique,
    dates_are_in_order,
    features_are_the_vehicles,
    feeds_name_known_things,
    joining_names_known_methods,
    proofs_name_vehicle_tails,
    prices_name_known_rates,
    additions_are_agreed,
    taken_things_are_in_stock_file,
    minutes_name_known_operations,
    come_backs_are_later,
    readings_belong_to_a_job,
)


def run_rules(library: Library) -> list[Problem]:
    """Every rule's problems. With a reference file that cannot be read there are none: each name in it would be told as
    unknown, and the one real problem would drown."""
    found = Collector()
    if library.reference_whole:
        for rule in RULES:
            rule(library, found)
    return found.problems
