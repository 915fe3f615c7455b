"""First files: a new shop folder, and a new job for a vehicle that the shop knows.

Nothing is written here. Each function gives back the files as text, name to content, and ``output`` writes them.
What earlier jobs showed is carried over as comments to start from, never as proof; no customer, no registration and no
name of anybody is carried over.
"""

from __future__ import annotations

import json
import re
from collections.abc import Collection, Iterable, Mapping
from datetime import date
from pathlib import Path

from .model.job import Job, Proof
from .model.lead import Lead
from .model.vehicle import Vehicle
from .places import templates_folder
from .plan.dashnotes import DashNotes, note_lines
from .problems import Collector, Location, Problem, nearest

FIRST_NUMBER = "1001"


def shop_files(name: str, today: date) -> dict[str, str]:
    """A whole shop folder with one vehicle, two leads and a commented first job. ``name`` is the shop's name."""
    top = templates_folder() / "begin" / "shop"
    tokens = {"name": quoted(name), "today": today.isoformat()}
    return {
        path.relative_to(top).as_posix(): fill(path.read_text("utf-8"), tokens)
        for path in sorted(top.rglob("*"))
        if path.is_file()
    }


def shop_name(folder: Path) -> str:
    """A shop's name from its folder's: ``harbour-audio`` is Harbour audio."""
    words = re.sub(r"[\s_-]+", " ", "".join(c for c in folder.name if c.isprintable())).strip()
    return words[:1].upper() + words[1:] if words else "My shop"


def job_files(
    vehicle: str,
    *,
    vehicles: Mapping[str, Vehicle],
    leads: Mapping[str, Lead],
    jobs: Iterable[Job],
    today: date,
    proved_on: Collection[str] = (),
    notes: DashNotes | None = None,
    left_out: Collection[str] = (),
    proved_plates: Mapping[str, Collection[str]] | None = None,
    taken: Collection[str] = (),
    number: str = "",
) -> tuple[dict[str, str], tuple[Problem, ...]]:
    """A commented job file for a vehicle, as ``jobs/NUMBER.yaml``; a Problem when the vehicle is not known.

    The parts are guessed from the last job on the same kind of vehicle, one of ``proved_on`` if there is any.
    ``proved_on`` are the numbers of the jobs whose proofs stood: cleared to plug in, or verified. Their proofs stand in the
    file as comments; of a fleet only those of the vehicles that ``proved_plates`` names for the job. ``left_out`` are jobs
    that an error keeps from being worked out: nothing of theirs is carried over, and that is said, in the file and as a
    Problem. So is a part whose file in leads/ is missing or cannot be used. ``taken`` are numbers that are in use beside
    those of ``jobs``: of files that cannot be read yet, of readings, of copies that are kept. ``number`` is the job's own,
    the next after all of these where it is empty.
    """
    known = vehicles.get(vehicle)
    if known is None:
        found = Collector()
        hint = nearest(vehicle, vehicles) or "the files in vehicles/ are the vehicles the shop knows"
        found.error("unknown-vehicle", f"the shop knows no vehicle '{_comment(vehicle)[:80]}'", hint=hint)
        return {}, tuple(found.problems)
    every = list(jobs)
    earlier = sorted(
        (job for job in every if job.vehicle == vehicle), key=lambda job: (job.issued, job.job), reverse=True
    )
    proved = [job for job in earlier if job.job in proved_on]
    model = next(iter(proved or earlier), None)
    parts = tuple(part for part in model.parts if part in leads) if model else ()
    number = number or next_number([*(job.job for job in every), *taken])
    name = f"jobs/{number}.yaml"
    lost = tuple(part for part in model.parts if part not in leads) if model else ()
    silent = tuple(job.job for job in earlier if job.job in left_out)
    missing = Collector()
    for part in lost:
        assert model is not None
        missing.warning(
            "not-carried-over",
            f"job {model.job} used the part '{part}', and leads/ has no file of it that can be used: it is left out",
            Location(file=name),
            hint="'loomleaf check' says what is wrong with its file; then add it to  parts",
        )
    for job_number in silent:
        missing.warning(
            "not-carried-over",
            f"job {job_number} has errors: what it proved on such a vehicle is not carried over",
            Location(file=name),
            hint=f"put it right (loomleaf check {job_number}), then begin this job again",
        )
    text = fill(
        (templates_folder() / "begin" / "job.yaml").read_text("utf-8"),
        {
            "title": _comment(known.title),
            "history": _history(earlier, model) + _left_out(silent) + _notes(notes),
            "number": quoted(number),
            "today": today.isoformat(),
            "vehicle": vehicle,
            "areas": ", ".join(model.work_areas) if model else "dash-centre",
            "volts": known.high_voltage,
            "parts": ", ".join(parts),
            "parts_note": _parts_note(parts, earlier, leads) + _lost(lost, model),
            "features": _features(known),
            "carried": _carried(model),
            "proofs": _proofs(proved, parts, proved_plates or {}),
        },
    )
    return {name: text}, tuple(missing.problems)


def next_number(numbers: Iterable[str]) -> str:
    """One more than the largest number in use; job numbers with letters in them do not count.

    >>> next_number(["2038", "2041", "B-7"]), next_number([])
    ('2042', '1001')
    """
    used = [int(number) for number in numbers if number.isascii() and number.isdigit()]
    return str(max(used) + 1) if used else FIRST_NUMBER


def quoted(text: str) -> str:
    """Text as one double-quoted YAML value; whatever cannot be printed is left out.

    >>> print(quoted('Pell & "Sons"'))
    "Pell & \\"Sons\\""
    """
    return json.dumps("".join(c for c in text if c.isprintable()), ensure_ascii=False)


def fill(template: str, tokens: Mapping[str, str]) -> str:
    """Put each token's text where ``@token@`` stands, in one pass. A token that is not given is a fault of the program.

    >>> fill("job: @number@", {"number": "7"})
    'job: 7'
    """
    return re.sub(r"@([a-z_]+)@", lambda match: tokens[match[1]], template)


def _comment(text: str) -> str:
    """Text that may stand in a comment: one line, printable."""
    return "".join(c if c.isprintable() else " " for c in text)


def _history(earlier: list[Job], model: Job | None) -> str:
    if model is None:
        return "# No job on this vehicle yet: the parts have to be named by you."
    done = ", ".join(job.job for job in earlier)
    return f"# Earlier jobs on it: {done}. Parts and joining are those of job {model.job}: change what differs."


def _left_out(numbers: tuple[str, ...]) -> str:
    return "".join(f"\n# Job {number} has errors now: what it proved is not carried over." for number in numbers)


def _lost(parts: tuple[str, ...], model: Job | None) -> str:
    """Parts of the job that was taken as a model, of which there is no file that can be used."""
    if model is None:
        return ""
    return "".join(
        f"\n# left out: {part}, which job {model.job} used. leads/ has no file of it that can be used."
        for part in parts
    )


def _notes(notes: DashNotes | None) -> str:
    """What verified jobs on this kind of vehicle found, as comments."""
    if notes is None:
        return ""
    return "".join(f"\n# {_comment(line)}" for line in note_lines(notes))


def _parts_note(parts: tuple[str, ...], earlier: list[Job], leads: Mapping[str, Lead]) -> str:
    if not parts:
        sides = {side: [n for n in sorted(leads) if leads[n].side == side] for side in ("vehicle", "radio")}
        names = "; ".join(f"{side}: {', '.join(found)}" for side, found in sides.items() if found)
        return f" # fill in; files of leads/, {names}" if names else " # fill in; files of leads/"
    others: dict[str, str] = {}
    for job in earlier:
        for part in job.parts:
            if part not in parts and part in leads:
                others.setdefault(part, job.job)
    return "".join(f"\n# also used on this vehicle: {part} (job {number})" for part, number in others.items())


def _features(vehicle: Vehicle) -> str:
    names = ", ".join(feature.feature for feature in vehicle.features)
    return (
        f"# The vehicle has: {names}."
        if names
        else "# The vehicle's file names no features: ask the customer what works today."
    )


def _carried(model: Job | None) -> str:
    """Settings of the last job that belong to the vehicle and its parts, not to the customer."""
    if model is None:
        return "joining: {default: solder-and-sleeve, ground: butt-connector}\n"
    lines = ""
    if model.feed:
        lines += f"feed: {{{', '.join(f'{quoted(k)}: {quoted(v)}' for k, v in model.feed.items())}}}\n"
    if model.joining:
        lines += f"joining: {{{', '.join(f'{k}: {v}' for k, v in model.joining.items())}}}\n"
    if model.places != ("dry",):
        lines += f"places: [{', '.join(model.places)}]\n"
    if model.route_mm:
        lines += f"route_mm: {{{', '.join(f'{k}: {v:g}' for k, v in model.route_mm.items())}}}\n"
    return lines


def _proofs(proved: list[Job], parts: tuple[str, ...], plates: Mapping[str, Collection[str]]) -> str:
    """Earlier proofs as comments, the newest of each kind, with the reading left empty."""
    newest: dict[tuple[str, str, str], tuple[Job, Proof]] = {}
    for job in proved:
        for proof in job.proofs:
            known = not proof.registration or job.job not in plates or proof.registration in plates[job.job]
            if known and proof.tail.partition("/")[0] in parts:
                newest.setdefault((proof.tail, proof.condition, proof.between), (job, proof))
    if not newest:
        return "# Every way has to be proved by meter on this vehicle.\nproofs: []"
    lines = [
        "# Proved on an earlier vehicle of this kind. That tells where to look, and proves nothing here: prove each",
        "# way again on this vehicle, then take its # away and fill in your reading.",
        "proofs:",
    ]
    for job, proof in newest.values():
        told = [f"tail: {proof.tail}", f"condition: {proof.condition}"]
        told += [f"load: {quoted(proof.load)}"] if proof.load else []
        told += [f"between: {quoted(proof.between)}"] if proof.between else []
        told += ['reading: ""', 'by: ""', "on: "]
        showed = f"{_comment(proof.reading.written)}" + (f", which is {proof.shows}" if proof.shows else "")
        lines.append(f"#  - {{{', '.join(told)}}} # proved on job {job.job} ({showed}), prove again")
    return "\n".join(lines)
