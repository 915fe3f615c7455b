"""Which tails meet. Pairing is by function, pole and feed; colour plays no part in it.

The rules: every taker looks for drivers of its own function, or of one that the table of meetings lets feed it; the
attributes of both must agree; one driver a circuit, unless the function says that drivers may be combined or that it
is a bus. What the job's ``feed`` names is taken, if no refusal stands against it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from ..model.job import Job
from ..model.lead import Lead
from ..model.reference import GROUPS, Meeting, Reference, Refusal, WireFunction
from .changed import changed
from .kept import REFERENCES, kept
from .tails import ATTRIBUTE_WORDS, ATTRIBUTES, job_ends, job_tails, way_key
from .types import Circuit, JobEnd, JobTail, Outcome, Spare

LETTER = {group: letter for group, letter, _ in GROUPS}
GROUP_ORDER = {group: index for index, (group, _, _) in enumerate(GROUPS)}
POLE_ORDER = {"plus": 0, "high": 0, "minus": 1, "low": 1, "shield": 2, "": 3}
NEVER_PAIRED = frozenset({"unknown", "not-used"})


@dataclass(frozen=True, kw_only=True)
class Pairing:
    """Circuits in working order with their numbers, and the spares."""

    circuits: tuple[Circuit, ...]
    spares: tuple[Spare, ...]


@dataclass(frozen=True, kw_only=True)
class _Verdict:
    """What was decided for one taker."""

    outcome: Outcome | None  # None: driven by ``drivers``
    drivers: tuple[JobTail, ...] = ()
    code: str = ""
    reason: str = ""


def pair(
    job: Job, leads: tuple[Lead, ...], reference: Reference, *, tails: tuple[JobTail, ...] | None = None
) -> Pairing:
    """Work out every circuit and spare of a job. Pure; the order in which files list things plays no part.

    ``tails`` are the job's, where they are looked up already.
    """
    if tails is None:
        tails = job_tails(leads, reference)
    circuits: list[Circuit] = []
    spares: list[Spare] = []
    used: set[str] = set()
    takers = [t for t in tails if t.role == "takes" or t.function.combine == "bus"]
    drivers = [t for t in tails if t.role == "drives"]

    for group in _never_joined(tails, reference):
        circuits.append(group)
        used.update(t.name for t in group.tails)

    verdicts: dict[str, _Verdict] = {}
    for taker in takers:
        if taker.name in used or taker.function_id in NEVER_PAIRED or taker.function.combine == "bus":
            continue
        verdicts[taker.name] = _decide(taker, drivers, tails, job, reference)
    by_name = {t.name: t for t in tails}

    for bus in _buses(tails, job):
        circuits.append(bus)
        used.update(t.name for t in bus.tails)

    circuits += _driven(verdicts, by_name, used)
    circuits += _undriven(verdicts, by_name, used)

    for tail in tails:
        if tail.name in used:
            continue
        if tail.role == "drives" and _must_be_used(tail):
            circuits.append(
                _circuit(
                    "wanting",
                    (tail,),
                    (),
                    code="driver-unused",
                    reason=f"nothing takes {_the(tail)}, and it must be taken",
                )
            )
        else:
            spares.append(_spare(tail, verdicts.get(tail.name)))
    circuits += _mated(job_ends(leads, reference))
    return _numbered(circuits, spares)


# --- deciding one taker ------------------------------------------------------------------------------------------


def _decide(
    taker: JobTail, drivers: list[JobTail], tails: tuple[JobTail, ...], job: Job, reference: Reference
) -> _Verdict:
    choice = chosen_feed(taker, job)
    if choice is not None and choice.partition("/")[0] == taker.lead.lead:
        choice = None
    if choice is not None and "/" in choice:
        named = next((t for t in tails if t.name == choice), None)
        if named is not None:
            return _named(taker, named, tails, reference)
    likely = _feeders(reference.meetings).get(taker.function_id, frozenset()) | {taker.function_id}
    matching = [
        d for d in drivers if d.function_id in likely and may_feed(d, taker, reference, chosen=choice == d.lead.lead)
    ]
    if choice is not None:
        own = [d for d in matching if d.lead.lead == choice]
        if not own:
            refused = _refusal_from(taker, [d for d in tails if d.lead.lead == choice], reference)
            reason = refused or f"{choice} has nothing that may feed {_the(taker)}"
            return _Verdict(outcome="refused", code="feed-refused", reason=reason)
        matching = own
    against = {d.name: forbidden(d, taker, tails, reference) for d in matching}
    rules = [rule for rule in against.values() if rule is not None]
    if rules and len(rules) == len(matching):
        return _Verdict(outcome="refused", drivers=tuple(matching), code="join-refused", reason=rules[0].reason)
    matching = [d for d in matching if against[d.name] is None]
    agreeing = [d for d in matching if not disagreements(d, taker)]
    if not agreeing and matching:
        reasons = "; ".join(disagreement_text(d, taker) for d in matching)
        return _Verdict(
            outcome="refused",
            drivers=tuple(matching),
            code="attributes-differ",
            reason=f"{reasons}: a part must convert it",
        )
    if not agreeing:
        if _must_be_fed(taker):
            return _Verdict(outcome="wanting", code="not-driven", reason=_wanting_reason(taker, drivers, reference))
        return _Verdict(outcome=None)
    if len(agreeing) == 1 or taker.function.group == "ground" or taker.function.combine in ("diode", "relay"):
        return _Verdict(outcome=None, drivers=tuple(agreeing))
    names = " and ".join(d.name for d in agreeing)
    return _Verdict(
        outcome="contested",
        drivers=tuple(agreeing),
        code="several-drivers",
        reason=f"{names} could each feed {_the(taker)}: the job must say which, under feed",
    )


def _named(taker: JobTail, named: JobTail, tails: tuple[JobTail, ...], reference: Reference) -> _Verdict:
    """The job names one tail as the driver."""
    rule = forbidden(named, taker, tails, reference)
    if rule is not None:
        return _Verdict(outcome="refused", drivers=(named,), code="feed-refused", reason=rule.reason)
    if named.function_id == "unknown":
        return _Verdict(
            outcome="refused", drivers=(named,), code="feed-refused", reason="nobody knows what this wire is for"
        )
    if not may_feed(named, taker, reference, chosen=True):
        return _Verdict(
            outcome="refused",
            drivers=(named,),
            code="feed-refused",
            reason=f"no rule lets {_the(named)} feed {_the(taker)}",
        )
    if disagreements(named, taker):
        return _Verdict(
            outcome="refused",
            drivers=(named,),
            code="attributes-differ",
            reason=disagreement_text(named, taker) + ": a part must convert it",
        )
    return _Verdict(outcome=None, drivers=(named,))


def chosen_feed(taker: JobTail, job: Job) -> str | None:
    """What the job's ``feed`` says for a taker: the tail itself first, then the longest beginning of its function."""
    key = feed_key(taker, job)
    return job.feed[key] if key is not None else None


def feed_key(taker: JobTail, job: Job) -> str | None:
    """The key of ``feed`` that speaks for a taker, None for none."""
    if taker.name in job.feed:
        return taker.name
    fitting = [k for k in job.feed if taker.function_id == k or taker.function_id.startswith(k + "-")]
    return max(fitting, key=len) if fitting else None


def may_feed(driver: JobTail, taker: JobTail, reference: Reference, *, chosen: bool = False) -> bool:
    """Whether a driver's function, pole and feed let it feed a taker; attributes are compared apart."""
    if driver.lead.lead == taker.lead.lead or driver.role != "drives" or driver.name == taker.name:
        return False
    if driver.function_id in NEVER_PAIRED or driver.function.never or taker.function.never:
        return False
    if (driver.tail.pole or "") != (taker.tail.pole or ""):
        return False
    if taker.function.group in ("supply", "ground") and driver.tail.feed != taker.tail.feed:
        return False
    if driver.function_id == taker.function_id:
        return True
    meets = _meeting_pairs(reference.meetings).get((driver.function_id, taker.function_id))
    return meets is not None and (chosen or not meets)


@kept(REFERENCES)
def _meeting_pairs(meetings: Mapping[str, Meeting]) -> dict[tuple[str, str], bool]:
    """Driver and taker functions that may meet, and whether only when the job chooses it."""
    made: dict[tuple[str, str], bool] = {}
    for m in meetings.values():
        made[m.driver, m.taker] = made.get((m.driver, m.taker), True) and m.only_when_chosen
    return made


@kept(REFERENCES)
def _feeders(meetings: Mapping[str, Meeting]) -> dict[str, frozenset[str]]:
    """By the function of a taker: the other functions that may ever feed it."""
    out: dict[str, set[str]] = defaultdict(set)
    for m in meetings.values():
        out[m.taker].add(m.driver)
    return {taker: frozenset(drivers) for taker, drivers in out.items()}


def disagreements(driver: JobTail, taker: JobTail) -> tuple[str, ...]:
    """Names of the attributes that both state and state differently."""
    out = []
    for name in ATTRIBUTES:
        a, b = getattr(driver, name), getattr(taker, name)
        if a is not None and b is not None and a != b:
            out.append(name)
    return tuple(out)


def disagreement_text(driver: JobTail, taker: JobTail) -> str:
    """In words: which attributes of which tails differ, and how."""
    words = [
        f"{ATTRIBUTE_WORDS[n]} ({_plainly(getattr(driver, n))} from {driver.name}, {_plainly(getattr(taker, n))} wanted)"
        for n in disagreements(driver, taker)
    ]
    return f"{driver.name} and {taker.name} do not agree in " + " and in ".join(words)


def _plainly(value: object) -> str:
    return f"{value:g} V" if isinstance(value, float) else str(value).replace("-", " ")


def _must_be_fed(tail: JobTail) -> bool:
    if tail.tail.needed is not None:
        return tail.tail.needed
    return tail.function.unfed == "wanting"


def _must_be_used(tail: JobTail) -> bool:
    if tail.function_id in NEVER_PAIRED:
        return False
    if tail.tail.needed is not None:
        return tail.tail.needed
    return tail.function.unused == "wanting"


def _wanting_reason(taker: JobTail, drivers: list[JobTail], reference: Reference) -> str:
    where = " from the battery" if taker.tail.feed == "battery" and taker.function.group in ("supply", "ground") else ""
    base = f"nothing{where} drives {_the(taker)}"
    if taker.function.group == "supply":
        others = sorted({_feed_words(d) for d in drivers if d.function.group == "supply"})
        if "supply-constant" in {d.function_id for d in drivers} and taker.function_id == "supply-switched":
            return base + "; a constant supply never stands in for it: find a switched one, or a module that makes one"
        return base + (f"; the job has only: {', '.join(others)}" if others else "")
    channel = taker.function_id.split("-", 1)[-1]
    for d in drivers:
        if d.function.group == "speaker" and taker.function.group == "line" and d.function_id.endswith(channel):
            return base + "; the radio gives only speaker level here: a converter is needed"
    return base


def _feed_words(tail: JobTail) -> str:
    return f"{tail.function.title.lower()} from the {tail.tail.feed}"


def _the(tail: JobTail) -> str:
    return f"{tail.name} ({tail.title[0].lower()}{tail.title[1:]})"


# --- refusals ----------------------------------------------------------------------------------------------------


COMMON_RETURN, PARKING_BRAKE, BYPASS = "speaker-common", "parking-brake", "parking-brake-bypass"


def forbidden(driver: JobTail, taker: JobTail, tails: tuple[JobTail, ...], reference: Reference) -> Refusal | None:
    """The rule against a join: of the two tails alone, or for what else the job has beside them."""
    rule = refusal(driver, taker, reference) or _into_a_common_return(driver, taker, tails, reference)
    if rule is None and taker.function_id == PARKING_BRAKE and _pretends(driver, tails):
        return reference.refusals.get(BYPASS)
    return rule


def _into_a_common_return(
    driver: JobTail, taker: JobTail, tails: tuple[JobTail, ...], reference: Reference
) -> Refusal | None:
    """A loudspeaker that has a plus and no minus of its own, beside a common return, comes home through that."""
    if taker.tail.pole != "plus" or taker.function.group != "speaker" or driver.wiring == "common-return":
        return None
    beside = [t for t in tails if t.lead is taker.lead]
    common = next((t for t in beside if t.function_id == COMMON_RETURN), None)
    if common is None or any(t.function_id == taker.function_id and t.tail.pole == "minus" for t in beside):
        return None
    return refusal(driver, common, reference)


def _pretends(driver: JobTail, tails: tuple[JobTail, ...]) -> bool:
    """Whether a part that has no knowledge of the brake would say that it is on. The vehicle's own switch has, and a module that
    reads the vehicle's data; one that converts the signal takes the vehicle's own."""
    lead = driver.lead
    if lead.side == "vehicle" or (lead.side == "module" and lead.kind == "data"):
        return False
    brakes = [t for t in tails if t.function_id == PARKING_BRAKE]
    converts = lead.kind == "active" and any(t.lead is lead and t.role == "takes" for t in brakes)
    return not (converts and any(t.lead.side == "vehicle" and t.role == "drives" for t in brakes))


def refusal(a: JobTail, b: JobTail, reference: Reference) -> Refusal | None:
    """The closest rule that forbids two tails to meet, looked at in both directions.

    A rule that names a group or ``any`` gives way to a join of the same function and to a meeting of the reference with
    equal poles; a rule that names two functions gives way to nothing. Functions and poles alone decide, so each pair of
    them is looked up once.
    """
    answers = _refusals(reference)
    key = (a.function_id, a.function.group, a.tail.pole, b.function_id, b.function.group, b.tail.pole)
    if key not in answers:
        answers[key] = _closest_rule(a, b, reference)
    return answers[key]


@kept(REFERENCES)
def _refusals(reference: Reference) -> dict[tuple[str | None, ...], Refusal | None]:
    """The answers of ``refusal`` so far."""
    return {}


def _closest_rule(a: JobTail, b: JobTail, reference: Reference) -> Refusal | None:
    if a.function_id == b.function_id and a.tail.pole == b.tail.pole:
        return None
    allowed = a.tail.pole == b.tail.pole and any(
        {m.driver, m.taker} == {a.function_id, b.function_id} for m in reference.meetings.values()
    )
    against = [
        (_looseness(rule), name, rule)
        for name, rule in reference.refusals.items()
        if (_fits(rule, a, b) or _fits(rule, b, a)) and (not allowed or _is_exact(rule))
    ]
    return min(against, key=lambda row: row[:2])[2] if against else None


def _is_exact(rule: Refusal) -> bool:
    return not any(word == "any" or word.startswith("group:") for word in (rule.driver, rule.taker))


def _looseness(rule: Refusal) -> int:
    """0 for a rule that names two functions and a pole; more for groups, and most for ``any``: the closest rule speaks."""
    words = sum(3 if w == "any" else 1 if w.startswith("group:") else 0 for w in (rule.driver, rule.taker))
    return 2 * words - (rule.driver_pole is not None) - (rule.taker_pole is not None)


def _fits(rule: Refusal, driver: JobTail, taker: JobTail) -> bool:
    return (
        _word_fits(rule.driver, driver)
        and _word_fits(rule.taker, taker)
        and rule.driver_pole in (None, driver.tail.pole)
        and rule.taker_pole in (None, taker.tail.pole)
    )


def _word_fits(word: str, tail: JobTail) -> bool:
    if word == "any":
        return True
    if word.startswith("group:"):
        return tail.function.group == word[6:]
    return tail.function_id == word


def _refusal_from(taker: JobTail, others: list[JobTail], reference: Reference) -> str:
    """The reason of a rule against any of a lead's drivers of the same channel feeding this taker."""
    channel = "-".join(taker.function_id.split("-")[-2:])
    same = [d for d in others if d.role == "drives" and d.function_id.endswith(channel)]
    for driver in same or [d for d in others if d.role == "drives"]:
        rule = refusal(driver, taker, reference)
        if rule is not None:
            return rule.reason
    return ""


# --- building circuits -------------------------------------------------------------------------------------------


def _circuit(
    outcome: Outcome,
    drivers: tuple[JobTail, ...],
    takers: tuple[JobTail, ...],
    *,
    code: str = "",
    reason: str = "",
    combine: str = "",
) -> Circuit:
    lead_tail = (takers or drivers)[0]
    if drivers and len({t.function_id for t in takers}) > 1:
        lead_tail = drivers[0]  # takers of several functions: what feeds them names the circuit
    known = {t.known_from for t in drivers + takers}
    weakest = next((k for k in ("colour", "leaflet", "meter") if k in known), "")
    return Circuit(
        id="",
        function_id=lead_tail.function_id,
        function=lead_tail.function,
        title=lead_tail.title,
        group=lead_tail.function.group,
        pole=lead_tail.tail.pole or "",
        feed=lead_tail.tail.feed,
        outcome=outcome,
        drivers=drivers,
        takers=takers,
        combine=combine,
        reason=reason,
        reason_code=code,
        known_from=weakest,
    )


def _driven(verdicts: dict[str, _Verdict], by_name: dict[str, JobTail], used: set[str]) -> list[Circuit]:
    """Takers that share a driver make one circuit; drivers that share a taker are combined into one."""
    root: dict[str, str] = {}

    def find(name: str) -> str:
        while root.setdefault(name, name) != name:
            name = root[name]
        return name

    for name, verdict in verdicts.items():
        if verdict.outcome is None and verdict.drivers:
            for driver in verdict.drivers:
                a, b = find(name), find(driver.name)
                root[max(a, b)] = min(a, b)
    members: dict[str, list[str]] = defaultdict(list)
    for name in root:
        members[find(name)].append(name)
    out = []
    for names in members.values():
        tails = sorted((by_name[n] for n in names), key=_tail_key)
        takers = tuple(t for t in tails if t.name in verdicts and verdicts[t.name].drivers)
        drivers = tuple(t for t in tails if t not in takers)
        outcome: Outcome = "joined" if len(takers) == 1 and len(drivers) == 1 else "shared"
        combine = ""
        if len(drivers) > 1 and takers[0].function.group != "ground":
            combine = takers[0].function.combine
        out.append(_circuit(outcome, drivers, takers, combine=combine))
        used.update(names)
    return out


def _undriven(verdicts: dict[str, _Verdict], by_name: dict[str, JobTail], used: set[str]) -> list[Circuit]:
    """Wanting, contested and refused takers; those with the same drivers and reason kind stand together."""
    grouped: dict[tuple[str, ...], list[str]] = defaultdict(list)
    for name, verdict in verdicts.items():
        if verdict.outcome is not None:
            key = (verdict.outcome, verdict.code, by_name[name].title, *sorted(d.name for d in verdict.drivers))
            if not verdict.drivers:
                key = (*key, name)
            grouped[key].append(name)
    out = []
    for names in grouped.values():
        takers = tuple(sorted((by_name[n] for n in names), key=_tail_key))
        verdict = verdicts[takers[0].name]
        assert verdict.outcome is not None
        drivers = tuple(sorted(verdict.drivers, key=_tail_key))
        out.append(_circuit(verdict.outcome, drivers, takers, code=verdict.code, reason=verdict.reason))
        used.update(names)
        used.update(d.name for d in drivers)
    return out


def _buses(tails: tuple[JobTail, ...], job: Job) -> list[Circuit]:
    """Data lines: one of the vehicle and the data lead of a module; anything else is refused."""
    out = []
    keys: dict[tuple[str, str], list[JobTail]] = defaultdict(list)
    for tail in tails:
        if tail.function.combine == "bus":
            keys[tail.function_id, tail.tail.pole or ""].append(tail)
    for members in keys.values():
        leads = {t.lead.lead for t in members}
        if len(leads) < 2:
            continue
        sorted_members = tuple(sorted(members, key=_tail_key))
        vehicle = tuple(t for t in sorted_members if t.lead.side == "vehicle")
        others = tuple(t for t in sorted_members if t.lead.side != "vehicle")
        stray = [t for t in others if t.lead.kind != "data" or t.lead.side != "module"]
        if members[0].function.data and others and (stray or not vehicle):
            bad = stray[0] if stray else others[0]
            out.append(
                _circuit(
                    "refused",
                    vehicle,
                    others,
                    code="data-refused",
                    reason=f"{bad.name} is not the data lead of a module: a data line meets nothing else",
                )
            )
            continue
        out += [_bus(lines, takers) for lines, takers in _by_line(vehicle, others, job)]
    return out


def _by_line(
    vehicle: tuple[JobTail, ...], others: tuple[JobTail, ...], job: Job
) -> list[tuple[tuple[JobTail, ...], tuple[JobTail, ...]]]:
    """The vehicle's data lines that may be meant, and the module tails that look for one: ``feed`` says which of several."""
    groups: dict[tuple[str, ...], list[JobTail]] = defaultdict(list)
    for tail in others:
        choice = chosen_feed(tail, job)
        meant = tuple(t.name for t in vehicle if choice in (t.name, t.lead.lead))
        groups[meant or tuple(t.name for t in vehicle)].append(tail)
    return [(tuple(t for t in vehicle if t.name in names), tuple(tails)) for names, tails in groups.items()]


def _bus(lines: tuple[JobTail, ...], takers: tuple[JobTail, ...]) -> Circuit:
    """One line of the vehicle and what hangs on it; with several lines nothing is joined until the job says which."""
    if len(lines) > 1:
        names = " and ".join(t.name for t in lines)
        reason = f"{names} are lines of their own; joined, they tie two networks together: the job must say which, under feed"
        return _circuit("contested", lines, takers, code="several-drivers", reason=reason)
    differing = [(a, b) for a in lines for b in takers if disagreements(a, b)]
    if differing:
        return _circuit("refused", lines, takers, code="attributes-differ", reason=disagreement_text(*differing[0]))
    outcome: Outcome = "joined" if len(takers) == 1 else "shared"
    return _circuit(outcome, lines, takers, combine="bus")


def _never_joined(tails: tuple[JobTail, ...], reference: Reference) -> list[Circuit]:
    """Airbag tails: one entry for each function, refused; brought by several leads, it also holds the job."""
    out = []
    groups: dict[str, list[JobTail]] = defaultdict(list)
    for tail in tails:
        if tail.function.never:
            groups[tail.function_id].append(tail)
    for members in groups.values():
        several = len({t.lead.lead for t in members}) > 1
        rule = next(
            (r for _, r in sorted(reference.refusals.items()) if members[0].function_id in (r.driver, r.taker)), None
        )
        reason = rule.reason if rule else "this circuit is never joined, probed or powered"
        out.append(
            _circuit(
                "refused",
                (),
                tuple(sorted(members, key=_tail_key)),
                code="never-joined" if several else "never-touched",
                reason=reason,
            )
        )
    return out


def _mated(ends: tuple[JobEnd, ...]) -> list[Circuit]:
    """Ready ends of the same name on different leads, if their types mate; a needed one with no partner is wanting."""
    out: list[Circuit] = []
    by_name: dict[str, list[JobEnd]] = defaultdict(list)
    for end in ends:
        by_name[end.end.name].append(end)
    for name, members in sorted(by_name.items()):
        left = list(members)
        while left:
            first = left.pop(0)
            partner = next((o for o in left if o.lead.lead != first.lead.lead and _mates(first, o)), None)
            if partner is not None:
                left.remove(partner)
                out.append(_end_circuit("mated", name, (first, partner)))
                continue
            other = next((o for o in left if o.lead.lead != first.lead.lead), None)
            if other is not None:
                left.remove(other)
                out.append(
                    _end_circuit(
                        "wanting",
                        name,
                        (first, other),
                        code="ends-do-not-mate",
                        reason=f"the {_type_title(first)} of {first.lead.lead} and the {_type_title(other)} of "
                        f"{other.lead.lead} do not mate: an adapter is needed",
                    )
                )
            elif first.end.needed:
                out.append(
                    _end_circuit(
                        "wanting", name, (first,), code="end-without-partner", reason=f"nothing mates with {first.name}"
                    )
                )
    return out


def _mates(a: JobEnd, b: JobEnd) -> bool:
    return (a.type is not None and b.end.type in a.type.mates) or (b.type is not None and a.end.type in b.type.mates)


def _type_title(end: JobEnd) -> str:
    title = end.type.title if end.type else end.end.type
    return title[0].lower() + title[1:] if title[1:2].islower() else title


def _end_circuit(outcome: Outcome, name: str, ends: tuple[JobEnd, ...], *, code: str = "", reason: str = "") -> Circuit:
    words = name.replace("-", " ")
    return Circuit(
        id="",
        function_id=name,
        function=None,
        title=words[0].upper() + words[1:],
        group="ready",
        pole="",
        feed="",
        outcome=outcome,
        ends=tuple(sorted(ends, key=lambda e: (SIDE_ORDER[e.lead.side], e.name))),
        reason=reason,
        reason_code=code,
    )


SIDE_ORDER = {"vehicle": 0, "radio": 1, "module": 2, "accessory": 3}


def _tail_key(tail: JobTail) -> tuple[int, str, tuple[str, int, str]]:
    return (SIDE_ORDER[tail.lead.side], tail.lead.lead, way_key(tail.tail.at))


def _spare(tail: JobTail, verdict: _Verdict | None) -> Spare:
    live = tail.role == "drives" and tail.function.group in ("supply", "speaker", "control")
    live = live or (tail.function_id == "unknown" and tail.lead.side == "vehicle")  # taken for live until proved dead
    if tail.function_id == "not-used":
        why = "not used"
    elif tail.function_id == "unknown":
        why = "nobody knows what it is for"
    elif tail.role == "drives":
        why = "nothing in this job takes it"
    else:
        why = "nothing in this job drives it"
    return Spare(id="", tail=tail, live=live, why=why)


def _numbered(circuits: list[Circuit], spares: list[Spare]) -> Pairing:
    """Working order, then numbers: a letter for the group and a count (S1, G1, C1 …; R for ready ends, E for spare ends)."""
    made_first = {"joined": 0, "shared": 0, "mated": 0, "wanting": 1, "contested": 2, "refused": 3}

    def key(c: Circuit) -> tuple[object, ...]:
        first = c.tails[0].name if c.tails else (c.ends[0].name if c.ends else "")
        order = c.function.order if c.function else 0
        return (
            GROUP_ORDER.get(c.group, 99),
            made_first[c.outcome],
            order,
            c.function_id,
            POLE_ORDER.get(c.pole, 9),
            c.feed,
            first,
        )

    counts: dict[str, int] = defaultdict(int)
    numbered = []
    for circuit in sorted(circuits, key=key):
        letter = LETTER.get(circuit.group, "R")
        counts[letter] += 1
        numbered.append(changed(circuit, id=f"{letter}{counts[letter]}"))
    in_order = sorted(spares, key=lambda s: (not s.live, _tail_key(s.tail)))
    ends = tuple(changed(s, id=f"E{i}") for i, s in enumerate(in_order, 1))
    return Pairing(circuits=tuple(numbered), spares=ends)


def function_titles(functions: dict[str, WireFunction]) -> dict[str, str]:
    """Title by id, for messages."""
    return {name: f.title for name, f in functions.items()}
