"""``loomleaf reckon TOPIC …``: one bench calculation, with its working.

Reads the options, calls the topic's function, prints its figures as text or as JSON. Numbers out of range and unknown
sizes are problems (exit 1); an option that does not exist or cannot be read as what it is, is exit 2.
"""

from __future__ import annotations

import argparse
import json
import re
import sys
from collections.abc import Callable
from typing import Any

from .calc.answer import Answer
from .figure import Figure, Standing
from .problems import Collector, Problem, Severity, worst
from .units import Size, UnitError, parse_size

EXAMPLES = {
    "conductor": "--size '0.75 mm2' --ambient-c 65",
    "drop": "--size '0.75 mm2' --length-m 2.5 --current-a 4",
    "fuse": "--size '0.75 mm2' --current-a 4 --peak-a 10",
    "short": "--size '0.75 mm2' --length-m 2.5 --fuse-a 10",
    "sleeve": "--over-mm 4 --grip-mm 2 --bare-mm 12 --lined",
    "joint": "--tails '0.75 mm2, 18 AWG'",
    "bundle": "--wires '0.75 mm2*12, 20 AWG*8'",
    "tape": "--bundle-mm 12 --length-mm 350 --width-mm 19",
    "standby": "--draw-ma 20 --capacity-ah 60",
    "speakers": "--load '4 || 4' --minimum-ohm 2",
    "level": "--power-w 25 --impedance-ohm 4 --line-v 4",
    "ladder": "--buttons 'up=330, down=820' \\\n    --pull-up-ohm 1000 --supply-v 5",
}
"""What the help of each topic shows; each one is run by a test."""

TOPICS = tuple(EXAMPLES)


def add_parser(subparsers: Any) -> argparse.ArgumentParser:
    """Add ``reckon`` and its topics to a command line's subparsers. The parsed namespace goes to ``answer``."""
    parser: argparse.ArgumentParser = subparsers.add_parser(
        "reckon",
        help="one bench calculation, with its working",
        description="One bench calculation, with its working and its sources.",
    )
    _topics(parser)
    return parser


def run(argv: list[str]) -> int:
    """What stands behind the word ``reckon``. Returns the exit code: 0 done, 1 problems, 2 used wrongly."""
    parser = argparse.ArgumentParser(
        prog="loomleaf reckon",
        formatter_class=_Lines,
        epilog="One bench calculation, with its working.\n"
        "example: loomleaf reckon drop --size '0.75 mm2' --length-m 2.5 --current-a 4",
    )
    _topics(parser)
    try:
        options = parser.parse_args(_signed(argv))
    except SystemExit as stop:
        return stop.code if isinstance(stop.code, int) else 2
    return answer(options)


def answer(options: argparse.Namespace) -> int:
    """Work out a parsed command, print the result to stdout and the problems to stderr."""
    figures, problems = _WORK[options.topic](options)
    if options.json:
        print(as_json(options.topic, figures, problems))
    else:
        for line in as_text(options.topic, figures):
            print(line)
        if figures and assumed(options):
            print(f"  taken by default: {assumed(options)}")
    for problem in problems:
        print(problem.line(), file=sys.stderr)
    return 1 if worst(problems) is Severity.ERROR else 0


def as_json(topic: str, figures: dict[str, Figure], problems: tuple[Problem, ...]) -> str:
    """What other programs read: topic, figures by name, problems."""
    return json.dumps(
        {
            "topic": topic,
            "figures": {name: figure.as_json() for name, figure in figures.items()},
            "problems": [problem.as_json() for problem in problems],
        },
        ensure_ascii=False,
        indent=2,
        allow_nan=False,
    )


def as_text(topic: str, figures: dict[str, Figure]) -> list[str]:
    """A short answer for people: each figure, its working, where it comes from and how well that is known."""
    if not figures:
        return []
    lines = [topic]
    width = max(len(name) for name in figures)
    for name, figure in figures.items():
        lines.append(f"  {name.ljust(width)}  {figure.text}")
        lines.append(f"  {' ' * width}    {figure.working}")
        sources = ", ".join(figure.sources)
        if sources or figure.known is not Standing.PUBLISHED:  # what only follows from what was typed is nobody's publication
            lines.append(f"  {' ' * width}    {figure.known.words}{': ' + sources if sources else ''}")
    return lines


class _Lines(argparse.RawDescriptionHelpFormatter):
    """Help with its lines as written, and room for the longest option on the line of its text."""

    def __init__(self, prog: str, **more: Any) -> None:
        super().__init__(prog, **{"max_help_position": 36, **more})


class _Assumed(float):
    """A number that was not typed but taken by default; told beside the answer."""


class _AssumedCount(int):
    """The same for a whole number."""


def assumed(options: argparse.Namespace) -> str:
    """The numbers taken by default, as one line, or ""."""
    taken = {name: value for name, value in vars(options).items() if isinstance(value, (_Assumed, _AssumedCount))}
    return ", ".join(f"{name.replace('_', '-')} {value:g}" for name, value in taken.items())


# Options ------------------------------------------------------------------------------------------------------------

_NUMBER = re.compile(r"[-−+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")


def _number(text: str) -> float:
    """A number as typed, a true minus included; ``nan`` and ``inf`` pass, for the range check to refuse."""
    bare = text.strip().replace("−", "-")
    if not _NUMBER.fullmatch(bare) and bare.lower().lstrip("+-") not in {"nan", "inf", "infinity"}:
        raise argparse.ArgumentTypeError(f"'{text}' is not a number")
    return float(bare)


def _whole(text: str) -> int:
    bare = text.strip().replace("−", "-")
    if not re.fullmatch(r"[-+]?\d{1,9}", bare):
        raise argparse.ArgumentTypeError(f"'{text}' is not a whole number")
    return int(bare)


def _signed(argv: list[str]) -> list[str]:
    """Join an option and a negative number behind it, which the parser would take for an option."""
    joined: list[str] = []
    for word in argv:
        if (
            joined
            and joined[-1].startswith("--")
            and "=" not in joined[-1]
            and re.match(r"[-−](?:\d|\.|nan|inf)", word)
        ):
            joined[-1] += "=" + word
        else:
            joined.append(word)
    return joined


def _topics(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--json", action="store_true", help="figures as JSON on stdout")
    topics = parser.add_subparsers(dest="topic", required=True, metavar="TOPIC")

    def add(name: str, text: str) -> argparse.ArgumentParser:
        one: argparse.ArgumentParser = topics.add_parser(
            name,
            help=text,
            description=text,
            epilog=f"example: loomleaf reckon {name} {EXAMPLES[name]}",
            formatter_class=_Lines,
            allow_abbrev=False,
        )
        one.add_argument("--json", action="store_true", default=argparse.SUPPRESS, help="figures as JSON on stdout")
        return one

    def topic(name: str, text: str) -> Callable[..., None]:
        one = add(name, text)

        def option(flag: str, text: str, *, needed: bool = False, default: Any = None, kind: Any = _number) -> None:
            shown = f"{text} (default {default:g})" if isinstance(default, (int, float)) else text
            if isinstance(default, float):
                default = _Assumed(default)
            elif isinstance(default, int):
                default = _AssumedCount(default)
            shown = shown.replace("%", "%%")  # a percent sign is a mark to the parser
            one.add_argument(flag, type=kind, required=needed, default=default, help=shown, metavar="VALUE")

        return option

    _electrical_topics(topic)
    _mechanical_topics(topic)

    one = add("level", "volts, gain and margin")
    either = one.add_mutually_exclusive_group(required=True)
    either.add_argument("--power-w", type=_number, metavar="VALUE", help="power, W")
    either.add_argument("--volts", type=_number, metavar="VALUE", help="RMS volts at the load")
    one.add_argument("--impedance-ohm", type=_number, required=True, metavar="VALUE", help="load, Ω")
    one.add_argument("--line-v", type=_number, metavar="VALUE", help="line level, V RMS")
    one.add_argument("--sensitivity-v", type=_number, metavar="VALUE", help="amplifier input for full power, V RMS")

    one = add("bundle", "how thick a bundle is")
    either = one.add_mutually_exclusive_group(required=True)
    either.add_argument("--wires", metavar="LIST", help='"0.75 mm2*12, 20 AWG*8"')
    either.add_argument("--outside-mm", metavar="LIST", help='outside diameters: "1.9*12, 2.4"')

    one = add("sleeve", "the sleeve for a joint")
    for flag, text in (
        ("--over-mm", "widest thing to pass over"),
        ("--grip-mm", "thinnest thing to hold"),
        ("--bare-mm", "bare length to cover"),
    ):
        one.add_argument(flag, type=_number, required=True, metavar="VALUE", help=text)
    one.add_argument(
        "--overlap-mm",
        type=_number,
        default=_Assumed(8),
        metavar="VALUE",
        help="onto the insulation, each end (default 8)",
    )
    one.add_argument("--lined", action="store_true", help="adhesive lined")


def _electrical_topics(topic: Callable[[str, str], Callable[..., None]]) -> None:
    option = topic("conductor", "area, resistance, diameter and limit of a size")
    option("--size", "0.75 mm2 or 18 AWG", needed=True, kind=str)
    option("--temp-c", "copper temperature, °C", default=20.0)
    option("--ambient-c", "surroundings, °C", default=65.0)
    option("--grouped", "loaded conductors together", default=1, kind=_whole)
    option("--insulation-c", "insulation limit, °C", default=105.0)

    option = topic("drop", "volts lost in a feed and its return")
    option("--size", "0.75 mm2 or 18 AWG", needed=True, kind=str)
    option("--length-m", "feed, one way, m", needed=True)
    option("--current-a", "A", needed=True)
    option("--return-size", "return conductor (none: chassis, 0 Ω)", kind=str)
    option("--return-length-m", "return, m")
    option("--joints", "joints in the loop", default=0, kind=_whole)
    option("--joint-mohm", "each joint, mΩ", default=1.0)
    option("--temp-c", "copper temperature, °C", default=20.0)
    option("--supply-v", "V", default=12.0)

    option = topic("fuse", "the fuse of a feed")
    option("--current-a", "running, A", needed=True)
    option("--peak-a", "peak, A")
    option("--size", "thinnest conductor", needed=True, kind=str)
    option("--continuous", "part of the rating that may flow without a rest", default=0.75)
    option("--maker-a", "the maker's fuse, taken as it is, A")
    option("--ambient-c", "surroundings, °C", default=65.0)
    option("--grouped", "loaded conductors together", default=1, kind=_whole)

    option = topic("short", "does the fuse clear a dead short before the conductor is ruined")
    option("--size", "0.75 mm2 or 18 AWG", needed=True, kind=str)
    option("--length-m", "one way, m", needed=True)
    option("--fuse-a", "rating, A", needed=True)
    option("--source-mohm", "battery and its leads, mΩ", default=20.0)
    option("--supply-v", "V", default=12.6)
    option("--temp-c", "conductor when the fault starts, °C", default=70.0)
    option("--final-c", "hottest the insulation stands, °C", default=160.0)
    option("--chassis-mohm", "return through the body instead of the same conductor, mΩ")

    option = topic("standby", "days that a battery lasts")
    option("--draw-ma", "mA", needed=True)
    option("--capacity-ah", "Ah", needed=True)
    option("--from-soc", "charge at the start, %", default=80.0)
    option("--to-soc", "charge at the end, %", default=65.0)
    option("--aged", "part of the capacity that is left", default=1.0)
    option("--self-discharge-percent-per-month", "%", default=4.0)

    option = topic("speakers", "loudspeakers in series (+) and parallel (||)")
    option("--load", '"4 || 4" or "(4 + 4) || 8"', needed=True, kind=str)
    option("--minimum-ohm", "least that the driver may feed, Ω")
    option("--power-w", "rated power of the driver, W")
    option("--rated-ohm", "load that the power is rated into, Ω")

    option = topic("ladder", "wheel buttons on a resistor ladder")
    option("--buttons", '"up=330, down=820, mute=1500"', needed=True, kind=str)
    option("--pull-up-ohm", "pull-up in the radio, Ω", needed=True)
    option("--supply-v", "volts behind the pull-up", needed=True)
    option("--tolerance-percent", "of the button resistors", default=5.0)
    option("--pull-up-tolerance-percent", "of the pull-up", default=0.0)
    option("--contact-ohm", "most contact resistance in series, Ω", default=0.0)


def _mechanical_topics(topic: Callable[[str, str], Callable[..., None]]) -> None:
    option = topic("joint", "total area, connector, strip length and pull test")
    option("--tails", '"0.75 mm2, 18 AWG, 1600 cmil"', needed=True, kind=str)
    option("--method", "joining method (default: the first that fits)", default="", kind=str)

    option = topic("tape", "tape for a bundle")
    option("--bundle-mm", "diameter, mm", needed=True)
    option("--length-mm", "bundle to cover, mm", needed=True)
    option("--width-mm", "tape, mm", needed=True)
    option("--overlap", "part of the width on the turn before", default=0.5)


# Work ---------------------------------------------------------------------------------------------------------------


def _size(found: Collector, field: str, text: str) -> Size | None:
    try:
        return parse_size(text.strip())
    except UnitError as fault:
        found.error("unknown-size", f"{field}: {fault}", hint=fault.hint)
        return None


def _conductor(options: argparse.Namespace) -> Answer:
    from .calc.conductor import conductor

    found = Collector()
    size = _size(found, "size", options.size)
    if size is None:
        return {}, tuple(found.problems)
    return conductor(
        size=size,
        temp_c=options.temp_c,
        ambient_c=options.ambient_c,
        grouped=options.grouped,
        insulation_c=options.insulation_c,
    )


def _drop(options: argparse.Namespace) -> Answer:
    from .calc.drop import drop

    found = Collector()
    size = _size(found, "size", options.size)
    back = None if options.return_size is None else _size(found, "return-size", options.return_size)
    if size is None or found.problems:
        return {}, tuple(found.problems)
    return drop(
        size=size,
        length_m=options.length_m,
        current_a=options.current_a,
        return_size=back,
        return_length_m=options.return_length_m,
        joints=options.joints,
        joint_mohm=options.joint_mohm,
        temp_c=options.temp_c,
        supply_v=options.supply_v,
    )


def _fuse(options: argparse.Namespace) -> Answer:
    from .calc.fuse import fuse

    found = Collector()
    size = _size(found, "size", options.size)
    if size is None:
        return {}, tuple(found.problems)
    return fuse(
        current_a=options.current_a,
        peak_a=options.peak_a,
        size=size,
        continuous=options.continuous,
        maker_a=options.maker_a,
        ambient_c=options.ambient_c,
        grouped=options.grouped,
    )


def _short(options: argparse.Namespace) -> Answer:
    from .calc.short import short

    found = Collector()
    size = _size(found, "size", options.size)
    if size is None:
        return {}, tuple(found.problems)
    return short(
        size=size,
        length_m=options.length_m,
        fuse_a=options.fuse_a,
        source_mohm=options.source_mohm,
        supply_v=options.supply_v,
        temp_c=options.temp_c,
        final_c=options.final_c,
        chassis_mohm=options.chassis_mohm,
    )


def _sleeve(options: argparse.Namespace) -> Answer:
    from .calc.sleeve import sleeve

    return sleeve(
        over_mm=options.over_mm,
        grip_mm=options.grip_mm,
        bare_mm=options.bare_mm,
        overlap_mm=options.overlap_mm,
        lined=options.lined,
    )


def _joint(options: argparse.Namespace) -> Answer:
    from .calc.joint import joint

    found = Collector()
    tails = [_size(found, "tails", part) for part in options.tails.split(",")]
    if found.problems:
        return {}, tuple(found.problems)
    return joint(tails=[tail for tail in tails if tail is not None], method=options.method)


_TIMES = re.compile(r"\s*(?P<what>.+?)\s*(?:[*×x]\s*(?P<count>\d{1,4}))?\s*")


def _counted(found: Collector, field: str, text: str) -> list[tuple[str, int]]:
    parts = []
    for part in text.split(","):
        match = _TIMES.fullmatch(part)
        if match is None:
            found.error(
                "bad-list", f"{field}: a part of '{text[:60]}' is empty", hint='write for example "1.9*12, 2.4"'
            )
        elif int(match["count"] or 1) == 0:
            found.error("out-of-range", f"{field}: '{part.strip()}' counts no wire; it must be from 1 to 1000")
        else:
            parts.append((match["what"], int(match["count"] or 1)))
    return parts


def _bundle(options: argparse.Namespace) -> Answer:
    from .calc.bundle import bundle
    from .calc.conductor import outside

    found = Collector()
    outsides: list[float] = []
    measured: list[Figure] = []
    field = "outside-mm" if options.wires is None else "wires"
    for what, count in _counted(found, field, options.outside_mm if options.wires is None else options.wires):
        if options.wires is None:
            try:
                outsides += [_number(what)] * count
            except argparse.ArgumentTypeError as fault:
                found.error("bad-list", f"outside-mm: {fault}", hint='write for example "1.9*12, 2.4"')
            continue
        size = _size(found, "wires", what)
        across = outside(size) if size is not None else None
        if size is not None and across is not None:
            if isinstance(across.value, (int, float)):
                outsides += [float(across.value)] * count
                measured.append(across)
            else:
                found.error("unknown-size", f"wires: {across.working}", hint="measure it and use --outside-mm")
    if found.problems:
        return {}, tuple(found.problems)
    figures, problems = bundle(outsides_mm=outsides)
    return {name: _resting_on(figure, measured) for name, figure in figures.items()}, problems


def _resting_on(figure: Figure, inputs: list[Figure]) -> Figure:
    """The figure with the sources and the standing of what went into it from the tables."""
    from .calc.answer import Basis

    basis = Basis(sources=figure.sources, known=figure.known)
    for one in inputs:
        basis += Basis(sources=one.sources, known=one.known)
    return basis.figure(figure.value, figure.unit, figure.working)


def _tape(options: argparse.Namespace) -> Answer:
    from .calc.tape import tape

    return tape(
        bundle_mm=options.bundle_mm, length_mm=options.length_mm, width_mm=options.width_mm, overlap=options.overlap
    )


def _standby(options: argparse.Namespace) -> Answer:
    from .calc.standby import standby

    return standby(
        draw_ma=options.draw_ma,
        capacity_ah=options.capacity_ah,
        from_soc=options.from_soc,
        to_soc=options.to_soc,
        aged=options.aged,
        self_discharge_percent_per_month=options.self_discharge_percent_per_month,
    )


def _speakers(options: argparse.Namespace) -> Answer:
    from .calc.speakers import speakers

    return speakers(
        load=options.load, minimum_ohm=options.minimum_ohm, power_w=options.power_w, rated_ohm=options.rated_ohm
    )


def _level(options: argparse.Namespace) -> Answer:
    from .calc.level import level

    return level(
        power_w=options.power_w,
        volts=options.volts,
        impedance_ohm=options.impedance_ohm,
        line_v=options.line_v,
        sensitivity_v=options.sensitivity_v,
    )


def _ladder(options: argparse.Namespace) -> Answer:
    from .calc.ladder import ladder

    found = Collector()
    buttons: dict[str, float] = {}
    for part in options.buttons.split(","):
        name, sign, value = (piece.strip() for piece in part.partition("="))
        hint = 'write for example "up=330, down=820"'
        if not sign or not re.fullmatch(r"[\w-]+", name):
            found.error("bad-list", f"buttons: '{part.strip()}' is not name=ohms", hint=hint)
        elif name in buttons:
            found.error("bad-list", f"buttons: '{name}' stands twice", hint="name each button apart")
        else:
            try:
                buttons[name] = _number(value)
            except argparse.ArgumentTypeError as fault:
                found.error("bad-list", f"buttons: {name}: {fault}", hint=hint)
    if found.problems:
        return {}, tuple(found.problems)
    return ladder(
        buttons=buttons,
        pull_up_ohm=options.pull_up_ohm,
        supply_v=options.supply_v,
        tolerance_percent=options.tolerance_percent,
        pull_up_tolerance_percent=options.pull_up_tolerance_percent,
        contact_ohm=options.contact_ohm,
    )


_WORK: dict[str, Callable[[argparse.Namespace], Answer]] = {
    "conductor": _conductor,
    "drop": _drop,
    "fuse": _fuse,
    "short": _short,
    "sleeve": _sleeve,
    "joint": _joint,
    "bundle": _bundle,
    "tape": _tape,
    "standby": _standby,
    "speakers": _speakers,
    "level": _level,
    "ladder": _ladder,
}
