"""The engineering of one job, put together: what hangs on what, and in which order it is worked out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from ..calc.tables import Tables, build_tables, overlay
from ..problems import Problem, Severity
from .bench_checks import Branch
from .bench_drop import drop_limits
from .context import Context, Findings
from .fuses import NOT_COVERED, fuses_for
from .joints import Jointing, joints_for
from .kept import REFERENCES, kept
from .loom import loom_for
from .loudspeakers import loudspeakers_for
from .room import room_for
from .standby import standby_for
from .supply import Expected, supply_for
from .turnon import turn_on_for
from .types import Circuit, Joint
from .wheel import wheel_for


@dataclass(frozen=True, kw_only=True)
class Engineering:
    """Everything worked out in numbers. ``plain`` is what a plan carries, by topic.

    ``circuits`` are the job's, with a relay where one is called for. ``expected_volts`` by supply tail, ``speaker_ohms``
    by wire function and ``drop_limits`` (V by branch) feed the checks.
    """

    circuits: tuple[Circuit, ...]
    joints: tuple[Joint, ...] = ()
    plain: dict[str, Any] = field(default_factory=dict)
    expected_volts: Mapping[str, Expected] = field(default_factory=dict)
    speaker_ohms: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    drop_limits: Mapping[Branch, float] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()

    @property
    def holds(self) -> tuple[Problem, ...]:
        return tuple(p for p in self.problems if p.severity is Severity.HOLD)

    @property
    def warnings(self) -> tuple[Problem, ...]:
        return tuple(p for p in self.problems if p.severity is Severity.WARNING)


@kept(REFERENCES)
def tables_of(sections: Mapping[str, Any]) -> tuple[Tables | None, tuple[Problem, ...]]:
    """The engineering tables of a library's plain sections, built once for each library."""
    return build_tables(overlay({}, sections), "reference")


def engineering_for(context: Context) -> Engineering:
    """Outputs first, since a relay changes a circuit; then joints and loom, supply and fuses, and the rest."""
    found = Findings()
    outputs = turn_on_for(context, found)
    context = replace(context, circuits=outputs.circuits)
    jointing: Jointing = joints_for(context, found)
    relays = {p.circuit for p in outputs.parts}
    combining = [p for p in jointing.parts if p.circuit not in relays]
    loom = loom_for(context, jointing.joints, jointing.shapes, jointing.caps, found)
    supply = supply_for(context, found)
    fuses, added = fuses_for(context, found)
    standby = standby_for(context, found)
    speakers = loudspeakers_for(context, found)
    wheel = wheel_for(context, found)
    room = room_for(context, found)
    plain: dict[str, Any] = {
        "supply": supply.plain,
        "fuses": {"rows": fuses, "not_covered": NOT_COVERED},
        "turn_on": outputs.rows,
        "standby": standby,
        "loudspeakers": {"channels": speakers.rows, "levels": speakers.levels},
        "wheel_buttons": wheel,
        "loom": loom.plain
        | {
            "caps": [
                {"spare": c.spare, "tail": c.tail, "sleeve": c.sleeve_id, "title": c.sleeve_title, "cut_mm": c.cut_mm}
                for c in jointing.caps
            ]
        },
        "room": room,
        "parts_called_for": [p.plain() for p in (*outputs.parts, *combining, *added)],
        "notes": list(found.notes),
    }
    return Engineering(
        circuits=context.circuits,
        joints=loom.joints,
        plain=plain,
        expected_volts=supply.expected,
        speaker_ohms=speakers.windows,
        drop_limits=drop_limits(context),
        problems=tuple(dict.fromkeys(found.problems)),
    )


def nothing_worked_out(circuits: tuple[Circuit, ...], why: str, problems: tuple[Problem, ...]) -> Engineering:
    """Where the tables themselves are wrong: every topic is there, empty, and the job is held."""
    empty: dict[str, Any] = {
        "supply": None,
        "fuses": {"rows": [], "not_covered": NOT_COVERED},
        "turn_on": [],
        "standby": None,
        "loudspeakers": {"channels": [], "levels": []},
        "wheel_buttons": [],
        "loom": None,
        "room": [],
        "parts_called_for": [],
        "notes": [why],
    }
    return Engineering(circuits=circuits, plain=empty, problems=problems)
