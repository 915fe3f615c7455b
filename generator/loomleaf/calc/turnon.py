"""Turn-on and accessory outputs: what hangs on them against what they can give."""

from __future__ import annotations

from collections.abc import Mapping

from ..figure import number
from ..problems import Collector
from .answer import Answer, Basis, in_range, known_by, on
from .tables import Tables, shipped_tables


def turn_on(*, loads_ma: Mapping[str, float], limit_ma: float | None = None, tables: Tables | None = None) -> Answer:
    """Figures ``total_ma, limit_ma, relay``: true when the output cannot carry them all.

    Then a relay is called for, with its own fused feed and a clamp across its coil. ``loads_ma`` by name;
    ``limit_ma`` from the part's leaflet, else the design value of the tables (marked as such).
    """
    tables = tables or shipped_tables()
    found = Collector()
    ok = limit_ma is None or in_range(found, "limit-ma", limit_ma, 1, 100_000, "mA")
    for name, load in loads_ma.items():
        ok = in_range(found, name, load, 0, 100_000, "mA") and ok
    if not ok:
        return {}, tuple(found.problems)
    design = tables.constant("turn_on_limit_ma")
    basis = on(design) if limit_ma is None else Basis()
    limit = design.value if limit_ma is None else limit_ma
    total = sum(loads_ma[name] for name in sorted(loads_ma))
    summed = " + ".join(f"{name} {number(loads_ma[name])}" for name in sorted(loads_ma)) or "nothing"
    sign = ">" if total > limit else "≤"
    return {
        "total_ma": known_by("ohm-law").figure(total, "mA", summed + " mA" if loads_ma else summed),
        "limit_ma": basis.figure(
            limit, "mA", "design value, no leaflet figure given" if limit_ma is None else "from the part's leaflet"
        ),
        "relay": basis.figure(total > limit, "", f"{number(total)} mA {sign} {number(limit)} mA"),
    }, ()
