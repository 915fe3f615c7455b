"""What a vehicle's battery brings into a job: the airbag area in which it sits, and a second battery."""

from __future__ import annotations

from ..model.job import SRS_AREAS, WORK_AREAS, Job
from ..model.vehicle import Vehicle

AREA_WORDS = ("seat", "console", "pillar", "roof", "column")
"""Words of a battery's place that name an airbag area, where the vehicle's file says no ``area``."""


def airbag_areas(job: Job, vehicle: Vehicle) -> tuple[str, ...]:
    """Areas of the work that may hold an airbag, a belt tensioner or a sensor: those that the job names, then those in which a
    battery sits, whose lead every job takes off. A job that names none is taken to work at the dash, where radios are."""
    found: list[str] = list(job.work_areas or ("dash-centre",))
    own = vehicle.battery.area or area_of(vehicle.battery.place)
    found += [own, area_of(vehicle.battery.second), *(area_of(reg.second_battery) for reg in job.registrations)]
    return tuple(dict.fromkeys(area for area in found if area in SRS_AREAS))


def area_of(place: str) -> str:
    """The airbag area that a place's words name, "" for none.

    >>> area_of("under the driver's seat"), area_of("engine bay")
    ('seat', '')
    """
    words = place.lower().replace(",", " ").split()
    return next((area for area in AREA_WORDS if area in WORK_AREAS and any(w.startswith(area) for w in words)), "")


def second_batteries(job: Job, vehicle: Vehicle) -> tuple[str, ...]:
    """Where second batteries sit, with the registration in front where it is not every vehicle of the job that has one."""
    out = [vehicle.battery.second] if vehicle.battery.second else []
    for reg in job.registrations:
        if reg.second_battery:
            out.append(f"{reg.plate}, {reg.second_battery}" if len(job.registrations) > 1 else reg.second_battery)
    return tuple(out)
