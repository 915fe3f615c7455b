"""Checks across files: small named functions in one explicit list. Each takes the library and a collector."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from ...model.base import Content
from ...model.job import Job
from ...model.lead import Lead
from ...model.readings import Readings
from ...model.shop import Shop, Stock
from ...model.vehicle import Vehicle
from ...problems import Collector, Problem, Severity
from ..library import Entry, Library
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
    the_old_radio_is_asked_about,
    the_radios_area_is_named,
)
from .leads import (
    active_parts_state_a_leaflet,
    functions_are_known,
    plugs_are_known,
    poles_fit_the_function,
    provided_features_are_known,
    ready_ends_are_known,
    ready_ends_leave_safety_alone,
    ways_are_unique,
    ways_exist_on_their_plug,
)
from .overlays import overlays_only_tighten
from .reference import invented_only_in_the_demo, names_inside_the_reference_exist, sources_are_listed
from .sense import (
    amounts_are_likely,
    fuses_count_somewhere,
    fuses_have_places_of_their_own,
    never_fed,
    the_factory_amplifier_is_spoken_of,
    what_takes_current_says_how_much,
)
from .shop import a_part_has_one_price, instruments_are_calibrated, money_is_readable, stock_ranges_make_sense
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
    overlays_only_tighten,
    money_is_readable,
    stock_ranges_make_sense,
    a_part_has_one_price,
    instruments_are_calibrated,
    vehicle_features_are_known,
    loads_can_be_read,
    fuses_have_places_of_their_own,
    functions_are_known,
    fuses_count_somewhere,
    amounts_are_likely,
    what_takes_current_says_how_much,
    plugs_are_known,
    ways_are_unique,
    ways_exist_on_their_plug,
    poles_fit_the_function,
    ready_ends_are_known,
    ready_ends_leave_safety_alone,
    provided_features_are_known,
    active_parts_state_a_leaflet,
    every_part_is_known,
    system_is_within_scope,
    high_voltage_is_answered,
    airbag_wait_is_whole,
    the_radios_area_is_named,
    registrations_are_unique,
    dates_are_in_order,
    features_are_the_vehicles,
    feeds_name_known_things,
    never_fed,
    the_factory_amplifier_is_spoken_of,
    joining_names_known_methods,
    proofs_name_vehicle_tails,
    the_old_radio_is_asked_about,
    prices_name_known_rates,
    additions_are_agreed,
    taken_things_are_in_stock_file,
    minutes_name_known_operations,
    come_backs_are_later,
    readings_belong_to_a_job,
)


LEANS_ON: Mapping[Rule, tuple[str, ...]] = {
    money_is_readable: (),
    stock_ranges_make_sense: (),
    vehicle_features_are_known: (),
    loads_can_be_read: (),
    functions_are_known: (),
    plugs_are_known: (),
    ways_are_unique: (),
    ways_exist_on_their_plug: ("plugs",),
    poles_fit_the_function: (),
    ready_ends_are_known: (),
    ready_ends_leave_safety_alone: (),
    provided_features_are_known: (),
    active_parts_state_a_leaflet: ("leaflet", "known_from"),
    every_part_is_known: (),
    system_is_within_scope: (),
    high_voltage_is_answered: (),
    airbag_wait_is_whole: ("airbag_wait",),
    the_radios_area_is_named: ("work_areas",),
    registrations_are_unique: (),
    dates_are_in_order: ("issued",),
    features_are_the_vehicles: ("keep", "give_up"),
    feeds_name_known_things: ("parts",),
    joining_names_known_methods: (),
    proofs_name_vehicle_tails: ("parts", "registrations"),
    prices_name_known_rates: ("tax", "rates"),
    additions_are_agreed: ("registrations",),
    taken_things_are_in_stock_file: (),
    minutes_name_known_operations: ("extras", "minutes"),
    come_backs_are_later: ("issued",),
    readings_belong_to_a_job: ("job", "registration"),
}
"""Rules that also look at a file of which a part cannot be read, with the keys that have to be whole for that. They speak
of what is written; a rule that asks for something else to be there has no place here."""


def run_rules(library: Library) -> list[Problem]:
    """Every rule's problems. With a reference file that cannot be read there are none: each name in it would be told as
    unknown, and the one real problem would drown."""
    found = Collector()
    if library.reference_whole:
        for rule in RULES:
            rule(library, found)
        found.problems += _of_halves(library)
    return found.problems


def _of_halves(library: Library) -> list[Problem]:
    """What else is wrong in files that could not be read whole. Nothing is said that may come of what is missing."""
    if not library.halves:
        return []
    by_model: dict[type[Content], dict[str, Entry[Any]]] = {}
    for file, part in library.halves.items():
        by_model.setdefault(type(part.value), {})[file] = Entry(value=part.value, document=part.document)
    shop = next(iter(by_model.get(Shop, {}).values()), None)
    stock = next(iter(by_model.get(Stock, {}).values()), None)
    # Parts are looked at apart from jobs: a job is never judged by a part of which something is missing.
    parts = replace(
        library, shop=shop, stock=stock, vehicles=by_model.get(Vehicle, {}), leads=by_model.get(Lead, {}), jobs={}, readings=()
    )
    jobs = replace(
        library,
        shop=library.shop or shop,
        stock=library.stock or stock,
        jobs={**library.jobs, **by_model.get(Job, {})},
        readings=tuple(by_model.get(Readings, {}).values()),
    )
    out = []
    for shadow in (parts, jobs):
        for rule, keys in LEANS_ON.items():
            found = Collector()
            rule(shadow, found)
            for problem in found.problems:
                half = library.halves.get(problem.location.file)
                if (
                    half is not None
                    and problem.severity is Severity.ERROR
                    and problem.location.line
                    and problem.location not in half.around
                    and half.short_of.isdisjoint(keys)
                ):
                    out.append(problem)
    return out
