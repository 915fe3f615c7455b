"""What a filled sheet says besides its readings: how the vehicle was found, what was looked up, what was left as it was.

Answers are kept as they were written, under the sheet's own headings. Here they are put into words for the record, and
compared with the job where a difference is a danger.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from ..model.readings import Readings
from ..model.vehicle import Vehicle

TITLES: Mapping[str, str] = {
    "gate-voltage": "High voltage",
    "gate-airbag": "Airbags",
    "as-found": "As the vehicle came in",
    "old-radio": "The old radio",
    "battery": "Battery",
    "trim": "Trim",
    "room": "Room behind the radio",
    "camera": "Camera",
    "wheel-buttons": "Wheel buttons",
    "standby": "Current with the key out",
    "end": "At the end",
}
"""The sheet's headings under which answers are kept, in the order of the work."""

_ASKED: Mapping[tuple[str, str], str] = {
    ("gate-voltage", "48-v"): "48 V",
    ("gate-voltage", "high"): "high voltage",
    ("gate-voltage", "none"): "none",
    ("gate-voltage", "trained"): "person trained for it",
    ("gate-airbag", "looked-up"): "airbags, tensioners and sensors found",
    ("gate-airbag", "none"): "none near the work",
    ("gate-airbag", "wait"): "wait",
    ("gate-airbag", "document"): "document",
    ("gate-airbag", "page"): "page",
    ("as-found", "battery-volts"): "battery at rest, V",
    ("as-found", "battery-state"): "battery tester says",
    ("as-found", "lamps"): "warning lamps lit",
    ("as-found", "fault-codes"): "stored fault codes",
    ("as-found", "dead"): "already dead",
    ("as-found", "marks"): "marks on trim and screen",
    ("as-found", "codes"): "owner's codes ready",
    ("old-radio", "code"): "code tied to the vehicle",
    ("old-radio", "data"): "customer's data",
    ("old-radio", "gateway"): "bus gateway",
    ("old-radio", "serial"): "model and serial number",
    ("battery", "document"): "maker's procedure",
    ("battery", "lost"): "settings and systems it loses",
    ("battery", "set-up"): "set up again",
    ("battery", "off-1"): "lead off at",
    ("battery", "on-1"): "lead on at",
    ("battery", "off-2"): "off again at",
    ("battery", "on-2"): "on again at",
    ("camera", "label"): "supply on its label, V",
    ("camera", "read"): "supply as read, V",
    ("standby", "read"): "read, mA",
    ("end", "fault-codes"): "fault codes",
    ("end", "lamps"): "lamps still lit",
}

_VOLTAGES: Mapping[str, str] = {"none": "none", "48-v": "48 V", "high": "high voltage"}


GATE = "gate-airbag"

_NO_LAMP = re.compile(
    r"(?:nil|nothing(?: (?:still )?lit)?|0|-+|–|—|off|out"
    r"|(?:no|none)(?: (?:warning )?(?:lamps?|lights?))?(?: (?:still )?lit| on)?"
    r"|all (?:lamps? )?(?:off|out))[.!]?",
    re.IGNORECASE,
)
_NOT_DONE = frozenset({"", "no", "n", "none", "n/a", "na", "later", "tbd", "todo", "not yet", "not done", "not known", "unknown"})


def says_nothing(text: str) -> bool:
    """Whether an answer is only a stand-in for one: a dash, a question mark, "later".

    >>> [says_nothing(t) for t in ("-", "Not yet.", "??", "4-12", "RP")]
    [True, True, True, False, False]
    """
    said = " ".join(text.lower().split()).rstrip(".!")
    return said in _NOT_DONE or not any(c.isalnum() for c in said)


def is_name(text: str) -> bool:
    """Whether somebody can be told from it: a name or initials.

    >>> [is_name(t) for t in ("RP", "Rowan Pell", "-", "later", "7")]
    [True, True, False, False, False]
    """
    return not says_nothing(text) and any(c.isalpha() for c in text)


def lamp_lit(text: str) -> bool:
    """Whether an answer to "lamps still lit" names one.

    >>> lamp_lit("airbag lamp still lit"), lamp_lit("None."), lamp_lit("no, airbag"), lamp_lit("")
    (True, False, True, False)
    """
    said = " ".join(text.split())
    return bool(said) and not _NO_LAMP.fullmatch(said)


def left_empty(files: Sequence[Readings]) -> tuple[str, ...]:
    """What the sheet asks for at the airbags and none of one vehicle's files answers, in words.

    >>> one = Readings(job="1", revision="A", answers={GATE: {"looked-up": "yes", "wait": "", "page": "4-12"}})
    >>> left_empty([one])
    ('wait',)
    """
    asked = dict.fromkeys(key for one in files for key in one.answers.get(GATE, {}))
    said = {key: [one.answers.get(GATE, {}).get(key, "") for one in files] for key in asked}
    return tuple(_label(GATE, key) for key, texts in said.items() if all(map(says_nothing, texts)))


_CARRIED: Mapping[str, tuple[str, str]] = {
    "gateway": ("bus_gateway", "bus gateway"),
    "code": ("codes", "code tied to the vehicle"),
    "telematics": ("telematics", "telematics"),
    "data": ("customer_data", "customer's data"),
}


def carried_otherwise(answers: Mapping[str, str], vehicle: Vehicle) -> tuple[str, ...]:
    """What the old radio was found to carry where the vehicle's file says the contrary, a sentence each."""
    out = []
    for key, (name, title) in _CARRIED.items():
        known, said = getattr(vehicle.removed_radio, name), answers.get(key, "").strip().lower()
        if known is None or said not in ("yes", "no", "yes and no"):
            continue
        if said != ("yes" if known else "no"):
            told = "yes" if known else "no"
            out.append(f"the radio taken out, {title}: the sheet says {said}, the vehicle's file says {told}")
    return tuple(out)


def newest_answers(files: Sequence[Readings]) -> dict[str, dict[str, str]]:
    """The answers of one vehicle's files, oldest first: the newest that says anything about a question counts."""
    out: dict[str, dict[str, str]] = {}
    for one in files:
        for heading, answers in one.answers.items():
            out.setdefault(heading, {}).update({key: text for key, text in answers.items() if text})
    return {heading: out[heading] for heading in (*TITLES, *sorted(out.keys() - TITLES.keys())) if heading in out}


def answer_lines(answers: Mapping[str, Mapping[str, str]], features: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """A heading and one sentence of answers each. ``features`` gives a feature's title by its name.

    >>> answer_lines({"as-found": {"lamps": "oil", "am-fm-reception": "works"}}, {"am-fm-reception": "AM and FM"})
    (('As the vehicle came in', 'warning lamps lit: oil; works: AM and FM'),)
    """
    lines = []
    for heading, asked in answers.items():
        told = [f"{_label(heading, key)}: {text}" for key, text in asked.items() if key not in features and text != "yes"]
        told += [_label(heading, key) for key, text in asked.items() if key not in features and text == "yes"]
        for word in dict.fromkeys(asked[key] for key in asked if key in features):
            named = ", ".join(features[key] for key in asked if key in features and asked[key] == word)
            told.append(f"{word}: {named}")
        if told:
            lines.append((TITLES.get(heading, heading.replace("-", " ").capitalize()), "; ".join(told)))
    return tuple(lines)


def _label(heading: str, key: str) -> str:
    return _ASKED.get((heading, key), key.replace("-", " "))


def voltage_found(answers: Mapping[str, Mapping[str, str]]) -> tuple[str, ...]:
    """The voltages that were ticked for the vehicle, in the job file's words; none when nothing was ticked.

    >>> voltage_found({"gate-voltage": {"48-v": "yes"}})
    ('48 V',)
    """
    ticked = answers.get("gate-voltage", {})
    return tuple(word for key, word in _VOLTAGES.items() if ticked.get(key) == "yes")
