"""The loom picture: a joint ruler with one lane a circuit, from the vehicle's plugs to every other part's plugs.

The ruler gives the distance from the face of the vehicle plug in mm, and every joint stands at its own place along it.
A joint that has no place on it (a ring at a stud, a joint measured from another part's plug) stands off its end.
A lane is the wire itself: a band in the wire's colours from its way to the joint, and on from the joint to the other way.
Plugs are drawn from the wire side, lying on their sides, their places drawn apart so that every wire leaves
at a height of its own. The order of lanes and plugs is chosen to cross few lines (see ``lanes``).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from ..model.reference import ConnectorType
from ..plan.types import JobTail, Plan
from .lanes import Arrangement, Block, arrange, gathered, places
from .letters import CAP_HEIGHT, first_that_fits, text_width, wrap
from .loom_lanes import LoomLane, LoomPlug, lanes_of, plugs_of
from .svg import INK, PAPER, SHADE, SMALL, STRONG, WORD, Picture, line_path, number, rect_path
from .swatch import BAND_MM, Band, draw_bands
from .symbols import (
    JOINT_MM,
    JOINT_WORDS,
    cap_symbol,
    crossed_place,
    joint_symbol,
    mate_symbol,
    never_symbol,
    open_symbol,
)

A4_PORTRAIT_MM = (178.0, 240.0)
A4_LANDSCAPE_MM = (262.0, 165.0)

_HEAD_MM = 20.5  # caption, station marks and ruler
_BARE_HEAD_MM = 7.0  # on a page with no joints, which needs no ruler
_TIER_MM = 3.6  # added for each further height of the stations' marks
_ZERO_MM = 4.6  # from the end of the band to the ruler's zero, so that no joint runs into a way number
_BREAK_MM = 8.0  # from a break in the ruler to the first place beyond it
_FAR_MM = 11.0  # between places beyond the break
_OFF_MM = 12.0  # from the last place on the ruler to the joints that have none
_FLAG_MM = 0.7  # from a station's line to its mark
_BAR_MM = 7.0
_HEADING_MM = 7.5
_LINE_MM = SMALL * 1.22
_ID_MM = STRONG * 1.15
_LANE_GAP_MM = 1.8
_PLACE_MM = 5.8  # height of a place in a plug
_PORT_MM = 4.2  # between wires leaving a plug of several rows
_SINGLE_MM = 7.0  # between wires leaving a plug of one row
_LATCH_W_MM = 2.2
_EDGE_MM = 0.25  # half the shell's line, so that nothing is cut at the picture's edge
_PLUG_GAP_MM = 4.0
_LIFT_MM = 14.0  # plugs may stand higher than the lanes, beside the ruler
_BESIDE_MM = 2.4  # added for a second line beside a spare's cap
_BAND_GAP_MM = 1.5  # between the words and the band under them
_NONE = frozenset[str]()


@dataclass(frozen=True, kw_only=True)
class LoomPage:
    """One page of the loom picture. ``crossings`` in this order, ``naive_crossings`` in the plan's own order."""

    svg: str
    circuits: tuple[str, ...]
    width_mm: float
    height_mm: float
    crossings: int
    naive_crossings: int


@dataclass(frozen=True, kw_only=True)
class _Frame:
    """Where the columns stand, the same on every page. ``scale`` is mm on paper for one mm of loom.

    ``far`` are places so much farther out than the rest that the ruler is broken before them (at ``break_x`` on paper).
    """

    width: float
    height: float
    column: float  # width of a plug column
    lane_left: float
    lane_right: float
    tag_left: float
    tag_right: float
    scale: float
    far: tuple[float, ...]
    break_x: float
    ruler_right: float  # where the ruler ends
    off_x: float  # where joints stand that have no place on the ruler
    one_line: bool  # colour words stand in the title's own line
    title_x: float
    title_w: float
    head: float  # height above the first lane

    @property
    def band_left(self) -> float:
        return self.lane_left + self.tag_left

    @property
    def band_right(self) -> float:
        return self.lane_right - self.tag_right

    def x_of(self, place_mm: float) -> float:
        """Where a place along the loom stands on paper."""
        if place_mm in self.far:
            return self.break_x + _BREAK_MM + self.far.index(place_mm) * _FAR_MM
        return self.band_left + _ZERO_MM + place_mm * self.scale


@dataclass(frozen=True, kw_only=True)
class _Row:
    """One height of a lane: a wire on the left, one on the right, or both, and the words above them."""

    left: JobTail | None
    right: JobTail | None
    left_words: tuple[str, ...]
    right_words: tuple[str, ...]
    lines: int

    @property
    def height(self) -> float:
        return self.lines * _LINE_MM + _BAND_GAP_MM + BAND_MM + 0.6


@dataclass(frozen=True, kw_only=True)
class _Laid:
    """A lane measured. ``joint_x`` is on paper; ``placed`` False when the plan gives the joint no place."""

    lane: LoomLane
    title: str
    rows: tuple[_Row, ...]
    notes: tuple[str, ...]
    joint_x: float
    placed: bool
    beside: tuple[str, ...]  # what is said beside a spare's cap
    head: float  # height of the title's line when it has one to itself
    title_x: float

    @property
    def height(self) -> float:
        words = len(self.notes) * _LINE_MM + max(len(self.beside) - 1, 0) * _BESIDE_MM
        return self.head + sum(row.height for row in self.rows) + words + _LANE_GAP_MM


def loom_pages(
    plan: Plan,
    connectors: Mapping[str, ConnectorType],
    *,
    width_mm: float = A4_PORTRAIT_MM[0],
    height_mm: float = A4_PORTRAIT_MM[1],
    key: str = "loom",
) -> list[LoomPage]:
    """The loom picture on as many pages as it needs. ``connectors`` are the reference's connector types by name."""
    lanes = lanes_of(plan)
    if not lanes:
        return []
    plugs = plugs_of(plan, connectors)
    frame = _frame(lanes, plugs, width_mm, height_mm)
    pages = _split(_measured(lanes, frame), plugs, frame)
    return [_page(plan, page, plugs, frame, f"{key}-{at}", at, len(pages)) for at, page in enumerate(pages, start=1)]


def loom_svgs(
    plan: Plan,
    connectors: Mapping[str, ConnectorType],
    *,
    width_mm: float = A4_PORTRAIT_MM[0],
    height_mm: float = A4_PORTRAIT_MM[1],
    key: str = "loom",
) -> list[str]:
    """The pages of the loom picture as SVG text only."""
    return [page.svg for page in loom_pages(plan, connectors, width_mm=width_mm, height_mm=height_mm, key=key)]


# Measuring


def _way_text(tail: JobTail) -> str:
    return tail.tail.at


def _plug_width(plug: LoomPlug) -> float:
    if plug.loose:
        return max((text_width(way, STRONG, bold=True) for way in plug.way_of.values()), default=0) + 5
    return len(plug.rows) * (_place_width(plug) + 1.2) + 2.4 + (_LATCH_W_MM if plug.latch else 0)


def _place_width(plug: LoomPlug) -> float:
    return max([7.0] + [text_width(way, STRONG, bold=True) + 1.4 for way in plug.way_of.values()])


def _frame(lanes: Sequence[LoomLane], plugs: Sequence[LoomPlug], width: float, height: float) -> _Frame:
    column = max([26.0, width * 0.14] + [_plug_width(plug) for plug in plugs])
    column = min(column, width * 0.2)
    fan = min(26.0, max(16.0, width * 0.1))
    left_ways = [_way_text(tail) for lane in lanes for tail in lane.left]
    right_ways = [_way_text(tail) for lane in lanes for tail in lane.right]
    tags = [max([9.0] + [_tag_width(way, width) for way in ways]) for ways in (left_ways, right_ways)]
    lane_left, lane_right = column + fan, width - column - fan
    room = lane_right - lane_left
    words_l = max([0.0] + [text_width(tail.colour_text, SMALL) for lane in lanes for tail in lane.left])
    words_r = max([0.0] + [text_width(tail.colour_text, SMALL) for lane in lanes for tail in lane.right])
    short = max(_id_width(lane.id) + min(text_width(title, WORD) for title in lane.titles if title) for lane in lanes)
    one_line = words_l + words_r + short + 8 <= room
    title_x = lane_left + words_l + 4 if one_line else lane_left
    title_w = room - words_l - words_r - 8 if one_line else room
    stations = sorted({place for lane in lanes for place in lane.places})
    off = any(lane.away for lane in lanes) and bool(stations)
    near, far = _far_apart(stations)
    band = room - sum(tags)
    tail_end = min(words_r + 6, band * 0.4)  # the last joint leaves room for the words of the wires that go on
    if far:
        tail_end = max(tail_end, _BREAK_MM + len(far) * _FAR_MM + 3 + (_OFF_MM + _FAR_MM if off else 0))
    elif off:
        tail_end = max(tail_end, 2 * _OFF_MM)
    length = band - tail_end - _ZERO_MM  # from the plug's face to the last near joint, on paper
    frame = _Frame(
        width=width,
        height=height,
        column=column,
        lane_left=lane_left,
        lane_right=lane_right,
        tag_left=tags[0],
        tag_right=tags[1],
        scale=length / (near[-1] if near and near[-1] > 0 else 100.0),
        far=far,
        break_x=lane_left + tags[0] + _ZERO_MM + length + 3,
        ruler_right=lane_right - tags[1],
        off_x=lane_left + tags[0] + band / 2,
        one_line=one_line,
        title_x=title_x,
        title_w=title_w,
        head=_HEAD_MM,
    )
    if off:
        last = frame.x_of(stations[-1])
        frame = replace(frame, ruler_right=last + _OFF_MM / 2, off_x=last + _OFF_MM)
    tiers = max([0, *_station_tiers(stations, frame).values()])
    return replace(frame, head=_HEAD_MM + tiers * _TIER_MM)


def _far_apart(stations: Sequence[float]) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Places near the plug and those far beyond them: a few that are more than twice as far out as all the others.

    >>> _far_apart([60, 85, 110, 1500])
    ((60, 85, 110), (1500,))
    >>> _far_apart([60, 85, 250])
    ((60, 85, 250), ())
    """
    for n in range(1, len(stations)):
        before, after = stations[n - 1], stations[n]
        if after > 2 * before and after - before > 200 and len(stations) - n <= 3:
            return tuple(stations[:n]), tuple(stations[n:])
    return tuple(stations), ()


def _station_tiers(stations: Sequence[float], frame: _Frame) -> dict[float, int]:
    """Height of each station's mark: 0 next to the ruler, higher where the next mark to the right would be in its way."""
    free: list[float] = []  # left end of what stands at each height
    out: dict[float, int] = {}
    for place in sorted(stations, reverse=True):
        x = frame.x_of(place)
        end = x + _FLAG_MM + text_width(number(place), SMALL, bold=True) + 1
        tier = next((n for n, taken in enumerate(free) if end <= taken), len(free))
        free[: tier + 1] = [x] * (tier + 1)  # its line runs up past the lower heights
        out[place] = tier
    return out


def _tag_width(way: str, width: float) -> float:
    return min(text_width(way, STRONG, bold=True) + 1.6, width * 0.1)


def _id_width(name: str) -> float:
    return text_width(name, STRONG, bold=True) + 1.8


def _measured(lanes: Sequence[LoomLane], frame: _Frame) -> list[_Laid]:
    out = []
    unplaced = [lane for lane in lanes if lane.kind == "made" and not _placed(lane) and not lane.away]
    for lane in lanes:
        band = frame.band_right - frame.band_left
        if _placed(lane):
            joint_x = frame.x_of(lane.places[0])
        elif lane.away:
            joint_x = frame.off_x
        elif lane.kind == "made":
            step = (unplaced.index(lane) % 5 + 1) / 6  # no place is known: spread evenly over the middle
            joint_x = frame.band_left + band * (0.2 + 0.5 * step)
        else:
            joint_x = frame.band_left + band / 2
        title = first_that_fits(lane.titles, frame.title_w - _id_width(lane.id), WORD)
        rows = _rows(lane, frame, joint_x)
        beside = _beside(lane, frame)
        between = "" if frame.one_line else _between(lane, rows, frame)
        title = between or title
        shared = bool(between) or _shares_line(lane, title, rows, frame)
        out.append(
            _Laid(
                lane=lane,
                title=title,
                rows=rows,
                notes=tuple(wrap(lane.note, frame.lane_right - frame.lane_left, SMALL))
                if lane.note and not beside
                else (),
                beside=beside,
                joint_x=joint_x,
                placed=_placed(lane),
                head=0.0 if frame.one_line or shared else _ID_MM,
                title_x=frame.lane_left + text_width(rows[0].left_words[0], SMALL) + 4
                if between
                else frame.title_x
                if lane.left and frame.one_line and lane.kind != "mated"
                else frame.lane_left,
            )
        )
    return out


def _beside(lane: LoomLane, frame: _Frame) -> tuple[str, ...]:
    """A spare's note in at most two lines beside its cap; empty when it needs more room than there is."""
    if lane.kind != "spare" or not lane.note:
        return ()
    tag = frame.tag_left if lane.left else frame.tag_right
    lines = wrap(lane.note, frame.lane_right - frame.lane_left - tag - _spare_mm(frame) - 9, SMALL)
    return tuple(lines) if len(lines) <= 2 else ()


def _shares_line(lane: LoomLane, title: str, rows: Sequence[_Row], frame: _Frame) -> bool:
    """Whether the title can stand in the line of the colour words, at its left end."""
    first = rows[0]
    if lane.kind == "mated" or first.left_words or first.lines > 1:
        return False
    right = max([0.0] + [text_width(line, SMALL) for line in first.right_words])
    return _id_width(lane.id) + text_width(title, WORD) + 4 + right <= frame.lane_right - frame.lane_left


def _between(lane: LoomLane, rows: Sequence[_Row], frame: _Frame) -> str:
    """The full title when it has room between the colour words of the two sides; "" when not."""
    first = rows[0]
    if lane.kind not in ("made", "wanting", "contested", "refused") or len(first.left_words) != 1 or first.lines != 1:
        return ""
    words = text_width(first.left_words[0], SMALL) + sum(text_width(line, SMALL) for line in first.right_words)
    room = frame.lane_right - frame.lane_left - words - 8 - _id_width(lane.id)
    return lane.titles[0] if text_width(lane.titles[0], WORD) <= room else ""


def _placed(lane: LoomLane) -> bool:
    return bool(lane.places)


def _rows(lane: LoomLane, frame: _Frame, joint_x: float) -> tuple[_Row, ...]:
    if lane.kind == "mated":
        half = (frame.lane_right - frame.lane_left) / 2 - 3
        left, right = (tuple(wrap(words, half, SMALL)) for words in lane.ends)
        lines = max(len(left), len(right), 1)
        if frame.one_line:
            lines = lines + 1
        return (_Row(left=None, right=None, left_words=left, right_words=right, lines=lines),)
    out = []
    for at in range(max(len(lane.left), len(lane.right), 1)):
        first = lane.left[at] if at < len(lane.left) else None
        second = lane.right[at] if at < len(lane.right) else None
        room_l = room_r = (frame.lane_right - frame.lane_left) / 2 - 2
        if at:  # the link to the joint runs down past these words
            room_l, room_r = joint_x - frame.lane_left - 2, frame.lane_right - joint_x - 2
        elif not frame.one_line:
            both = frame.lane_right - frame.lane_left - 4
            widths = [text_width(tail.colour_text, SMALL) if tail else 0.0 for tail in (first, second)]
            room_l, room_r = max(room_l, both - widths[1]), max(room_r, both - widths[0])
        words_l = tuple(wrap(first.colour_text, room_l, SMALL)) if first else ()
        words_r = tuple(wrap(second.colour_text, room_r, SMALL)) if second else ()
        out.append(
            _Row(
                left=first,
                right=second,
                left_words=words_l,
                right_words=words_r,
                lines=max(len(words_l), len(words_r), 1),
            )
        )
    if frame.one_line:  # the title stands in the first line, which is a little taller
        out[0] = replace(out[0], lines=max(out[0].lines, 1))
    return tuple(out)


def _split(laid: Sequence[_Laid], plugs: Sequence[LoomPlug], frame: _Frame) -> list[list[_Laid]]:
    """Lanes a page: as many as fit with their plugs; the lanes of one wire function stay on one page where they can."""
    by_name = {lane.lane.id: lane for lane in laid}
    units: list[list[_Laid]] = []
    for lane in gathered([one.lane.lane for one in laid]):
        one = by_name[lane.name]
        if units and units[-1][0].lane.unit == one.lane.unit and units[-1][0].lane.group == one.lane.group:
            units[-1].append(one)
        else:
            units.append([one])
    pages: list[list[_Laid]] = [[]]
    for unit in units:
        pieces = [unit] if _fits(unit, plugs, frame) else [[one] for one in unit]
        for piece in pieces:
            if pages[-1] and not _fits([*pages[-1], *piece], plugs, frame):
                pages.append([])
            pages[-1].extend(piece)
    return _evened(pages, plugs, frame)


def _evened(pages: list[list[_Laid]], plugs: Sequence[LoomPlug], frame: _Frame) -> list[list[_Laid]]:
    """A last page that would stand nearly empty takes lanes from the page before it."""
    if len(pages) < 2:
        return pages
    before, last = list(pages[-2]), list(pages[-1])
    while sum(one.height for one in last) + before[-1].height < sum(one.height for one in before) * 0.75:
        unit = (before[-1].lane.group, before[-1].lane.unit)
        moved = [one for one in before if (one.lane.group, one.lane.unit) == unit]
        if len(moved) == len(before) or not _fits([*moved, *last], plugs, frame):
            break
        before, last = before[: -len(moved)], [*moved, *last]
    return [*pages[:-2], before, last]


def _fits(page: Sequence[_Laid], plugs: Sequence[LoomPlug], frame: _Frame) -> bool:
    """Whether these lanes, the head and the legend that they need, and their plugs have room on one page."""
    used = _used(page)
    room = frame.height - _page_head(page, frame) - _legend_height([one.lane for one in page], frame, plugs, used) - 2
    if _lanes_height(page) > room:
        return False
    return all(
        _stack_height(plugs, side, used, whole=False, spread=1.0, column=frame.column) <= room + _LIFT_MM
        for side in ("left", "right")
    )


def _lanes_height(page: Sequence[_Laid]) -> float:
    groups = len({one.lane.group for one in page})
    return groups * _HEADING_MM + sum(one.height for one in page)


def _used(page: Sequence[_Laid]) -> frozenset[str]:
    return frozenset(tail.name for one in page for tail in (*one.lane.left, *one.lane.right))


# Plugs


def _port_step(plug: LoomPlug) -> float:
    return _PORT_MM if len(plug.rows) > 1 else _SINGLE_MM


def _label_lines(plug: LoomPlug, column: float, whole: bool, turned: bool = False) -> list[str]:
    lines = wrap(plug.title, column - 1, SMALL, lines=3)
    if plug.loose:
        return lines
    if not plug.known_face:
        return lines + wrap("in number order, not as on the face", column - 1, SMALL)
    if not whole:
        return lines + wrap("used and crossed-out ways only" if plug.never else "used ways only", column - 1, SMALL)
    return lines + ([f"latch to the {'right' if turned else 'left'}"] if plug.latch else [])


def _label_height(plug: LoomPlug, column: float, whole: bool) -> float:
    return SMALL * 1.3 * (1 + len(_label_lines(plug, column, whole))) + 1.2


def _port_offsets(plug: LoomPlug, names: Sequence[str], spread: float) -> list[float]:
    """Where the places stand below the first one: wires a step apart, places of one row clear of each other."""
    out: list[float] = []
    last: dict[int, float] = {}
    for name in names:
        row = 0 if plug.loose else plug.row_of(name)
        at = out[-1] + _port_step(plug) * spread if out else 0.0
        if row in last:
            at = max(at, last[row] + _SINGLE_MM * spread)
        last[row] = at
        out.append(at)
    return out


def _plug_height(plug: LoomPlug, names: Sequence[str], spread: float) -> float:
    """Height of the drawn plug with these places."""
    return _port_offsets(plug, names, spread)[-1] + _PLACE_MM + 2.4


def _stack_height(
    plugs: Sequence[LoomPlug], side: str, used: frozenset[str], *, whole: bool, spread: float, column: float
) -> float:
    heights = []
    for plug in plugs:
        if plug.side == side and plug.touches(used):
            names = plug.ways(used, whole=whole)
            heights.append(_label_height(plug, column, whole) + _plug_height(plug, names, spread))
    return sum(heights) + _PLUG_GAP_MM * max(len(heights) - 1, 0)


@dataclass(frozen=True, kw_only=True)
class _Stood:
    """A plug at its place: top of the label, where each way leaves (height), turned end for end or not."""

    plug: LoomPlug
    top: float
    label: float
    height: float
    ports: Mapping[str, float]
    turned: bool
    whole: bool


def _stand(
    arrangement: Arrangement,
    plugs: Mapping[str, LoomPlug],
    side: str,
    heights: Mapping[str, float],
    frame: _Frame,
    top: float,
    bottom: float,
    used: frozenset[str],
) -> list[_Stood]:
    """Plugs of one side from top to bottom, each as near as it can be to the middle of its own lanes."""
    blocks = arrangement.left if side == "left" else arrangement.right
    mine = [(block, plugs[block.name]) for block in blocks]
    every = [plug for _, plug in mine]
    whole = _stack_height(every, side, used, whole=True, spread=1.0, column=frame.column) <= bottom - top
    spread = 1.0
    while (
        spread < 1.6
        and _stack_height(every, side, used, whole=whole, spread=spread + 0.1, column=frame.column)
        <= (bottom - top) * 0.95
    ):
        spread += 0.1
    sizes, wishes = [], []
    for block, plug in mine:
        names = block.ways if whole else tuple(name for name in block.ways if name in used or name in plug.never)
        label = _label_height(plug, frame.column, whole)
        height = _plug_height(plug, names, spread)
        reached = [heights[name] for name in names if name in heights]
        middle = sum(reached) / len(reached) if reached else (top + bottom) / 2
        sizes.append(label + height)
        wishes.append(middle - height / 2 - label)
    tops = _apart(wishes, sizes, top, bottom)
    out = []
    for (block, plug), at in zip(mine, tops, strict=True):
        names = block.ways if whole else tuple(name for name in block.ways if name in used or name in plug.never)
        label = _label_height(plug, frame.column, whole)
        first = at + label + 1.2 + _PLACE_MM / 2
        offsets = _port_offsets(plug, names, spread)
        out.append(
            _Stood(
                plug=plug,
                top=at,
                label=label,
                height=_plug_height(plug, names, spread),
                ports={name: first + offset for name, offset in zip(names, offsets, strict=True)},
                turned=block.name in arrangement.turned,
                whole=whole or plug.loose or not plug.known_face,
            )
        )
    return out


def _apart(wishes: Sequence[float], sizes: Sequence[float], top: float, bottom: float) -> list[float]:
    """Tops as near to the wishes as they go without touching, between ``top`` and ``bottom``."""
    tops: list[float] = []
    at = top
    for wish, size in zip(wishes, sizes, strict=True):
        tops.append(max(wish, at))
        at = tops[-1] + size + _PLUG_GAP_MM
    limit = bottom
    for n in range(len(tops) - 1, -1, -1):
        tops[n] = max(min(tops[n], limit - sizes[n]), top)
        limit = tops[n] - _PLUG_GAP_MM
    return tops


def _plug_top(frame: _Frame) -> float:
    return max(frame.head - _LIFT_MM, 5.0)


def _draw_plug(picture: Picture, stood: _Stood, frame: _Frame, used: frozenset[str]) -> dict[str, tuple[float, float]]:
    """Draws a plug with its label and gives the point where each used way's wire leaves its shell."""
    plug = stood.plug
    left_side = plug.side == "left"
    lines = _label_lines(plug, frame.column, stood.whole, stood.turned)
    y = stood.top + SMALL
    x_text, anchor = (0.0, "start") if left_side else (frame.width, "end")
    picture.text(x_text, y, plug.head, SMALL, bold=True, anchor=anchor)
    picture.paragraph(x_text, y + SMALL * 1.3, lines, SMALL, anchor=anchor)
    top = stood.top + stood.label
    if plug.loose:
        return _draw_loose(picture, stood, frame)
    columns = len(plug.rows)
    place_w = _place_width(plug)
    shell_w = columns * (place_w + 1.2) + 1.2
    latch_w = _LATCH_W_MM if plug.latch and stood.whole and plug.known_face else 0.0
    latch_left = not stood.turned
    before = latch_w if latch_left else 0.0
    x0 = _EDGE_MM + before if left_side else frame.width - _EDGE_MM - shell_w - (latch_w - before)
    if latch_w:
        middle = _latch_place(stood, top, used)
        picture.rect(x0 - latch_w if latch_left else x0 + shell_w, middle - 4, latch_w, 8, 0.35, fill=PAPER)
    picture.path(rect_path(x0, top, shell_w, stood.height), 0.5, dash="" if plug.known_face else "2 1.2")
    leave: dict[str, tuple[float, float]] = {}
    edge = x0 + shell_w if left_side else x0
    for name, y in stood.ports.items():
        row = plug.row_of(name)
        column = row if not stood.turned else columns - 1 - row
        x = x0 + 1.2 + column * (place_w + 1.2)
        is_used = name in used
        box = rect_path(x, y - _PLACE_MM / 2, place_w, _PLACE_MM)
        if name in plug.never:
            crossed_place(picture, x, y - _PLACE_MM / 2, place_w, _PLACE_MM, plug.way_of[name])
            if is_used:
                leave[name] = (edge, y)
                picture.line(x + place_w if left_side else x, y, edge, y, 0.5)
            continue
        picture.path(box, 0.5 if is_used else 0.18, fill=SHADE if is_used else PAPER)
        if name == plug.marked:
            corner = [(x, y - _PLACE_MM / 2), (x + 2, y - _PLACE_MM / 2), (x, y - _PLACE_MM / 2 + 2)]
            picture.path(line_path(corner, closed=True), 0, fill=INK)
        way = plug.way_of[name]
        picture.centred(x + place_w / 2, y, way, STRONG if is_used else SMALL, bold=is_used)
        if is_used:
            leave[name] = (edge, y)
            picture.line(x + place_w if left_side else x, y, edge, y, 0.5)
    return leave


def _latch_place(stood: _Stood, top: float, used: frozenset[str]) -> float:
    """Middle of the latch along the shell: the middle of the plug, or the nearest place where no wire runs over it."""
    taken = [y for name, y in stood.ports.items() if name in used]
    middle = top + stood.height / 2
    steps = [middle + sign * n * 0.5 for n in range(int(stood.height)) for sign in (1, -1)]
    inside = [y for y in steps if top + 4.5 <= y <= top + stood.height - 4.5]
    return next((y for y in inside if all(abs(y - port) >= 5 for port in taken)), middle)


def _draw_loose(picture: Picture, stood: _Stood, frame: _Frame) -> dict[str, tuple[float, float]]:
    """Free tails: each a stripped end with its name."""
    plug = stood.plug
    leave: dict[str, tuple[float, float]] = {}
    for name, y in stood.ports.items():
        words = plug.way_of[name]
        size = STRONG if text_width(words, STRONG, bold=True) <= frame.column - 5 else SMALL
        lines = wrap(words, frame.column - 5, size, bold=True, lines=2)
        first = y + size * CAP_HEIGHT / 2 - (len(lines) - 1) * size * 0.6
        if plug.side == "left":
            picture.paragraph(frame.column - 4.5, first, lines, size, bold=True, anchor="end", leading=1.2)
            picture.line(frame.column - 3.4, y, frame.column, y, 1.0)
            leave[name] = (frame.column, y)
        else:
            x = frame.width - frame.column
            picture.paragraph(x + 4.5, first, lines, size, bold=True, leading=1.2)
            picture.line(x, y, x + 3.4, y, 1.0)
            leave[name] = (x, y)
    return leave


# Drawing a page


def _page(
    plan: Plan, page: Sequence[_Laid], plugs: Sequence[LoomPlug], frame: _Frame, key: str, at: int, of: int
) -> LoomPage:
    used = _used(page)
    here = [plug for plug in plugs if plug.touches(used)]
    by_name = {plug.name: plug for plug in here}
    lanes = [one.lane.lane for one in page]
    left: list[Block] = [plug.block(used) for plug in here if plug.side == "left"]
    right: list[Block] = [plug.block(used) for plug in here if plug.side == "right"]
    naive = Arrangement(lanes=tuple(gathered(lanes)), left=tuple(left), right=tuple(right))
    chosen = arrange(lanes, left, right)
    by_id = {one.lane.id: one.lane for one in page}
    ordered = _measured([_in_place(by_id[lane.name], chosen) for lane in chosen.lanes], frame)

    frame = replace(frame, head=_page_head(ordered, frame))
    tops, headings, bottom = _heights(ordered, frame.head)
    row_y = {one.lane.id: _row_middles(one, tops[one.lane.id]) for one in ordered}
    heights = _ways_heights(ordered, row_y)
    stack = max(
        _stack_height(here, side, used, whole=False, spread=1.0, column=frame.column) for side in ("left", "right")
    )
    legend = _legend_items(ordered)
    legend_mm = _legend_height([one.lane for one in ordered], frame, here, used)
    room_bottom = max(bottom, min(_plug_top(frame) + stack, frame.height - legend_mm))
    height = room_bottom + 2 + legend_mm
    title = f"Loom along its joint ruler, job {plan.job.job}" + (f", part {at} of {of}" if of > 1 else "")
    picture = Picture(title=title, desc=_words(ordered, frame), width_mm=frame.width, height_mm=height, key=key)

    _draw_ruler(picture, ordered, frame, _station_ends(ordered, row_y), at, of)
    picture.layer()
    leave: dict[str, tuple[float, float]] = {}
    for side in ("left", "right"):
        for stood in _stand(chosen, by_name, side, heights, frame, _plug_top(frame), room_bottom, used):
            leave.update(_draw_plug(picture, stood, frame, used))
    _draw_fans(picture, ordered, row_y, leave, frame)
    picture.layer()
    for heading, y in headings:
        picture.line(frame.lane_left, y + _HEADING_MM - 1.6, frame.lane_right, y + _HEADING_MM - 1.6, 0.7)
        picture.rect(frame.lane_left, y, text_width(heading, WORD, bold=True) + 1.5, _HEADING_MM - 2.2, 0, fill=PAPER)
        picture.text(frame.lane_left, y + _HEADING_MM - 3.2, heading, WORD, bold=True)
    for one in ordered:
        _draw_words(picture, one, tops[one.lane.id], frame)
    picture.layer()
    draw_bands(picture, [band for one in ordered for band in _wires(picture, one, row_y[one.lane.id], frame)])
    for one in ordered:
        _draw_marks(picture, one, row_y[one.lane.id], frame)
    _draw_legend(picture, legend, _standing(here, used), height - legend_mm + 2, frame)
    return LoomPage(
        svg=picture.svg(),
        circuits=tuple(one.lane.id for one in ordered),
        width_mm=frame.width,
        height_mm=height,
        crossings=chosen.crossings,
        naive_crossings=naive.crossings,
    )


def _page_head(ordered: Sequence[_Laid], frame: _Frame) -> float:
    """Height above the first lane on this page: nothing but a line of text where no joint stands on a ruler."""
    if not any(one.lane.kind == "made" for one in ordered):
        return _BARE_HEAD_MM
    stations = {place for one in ordered for place in one.lane.places}
    if not stations and all(one.lane.away for one in ordered if one.lane.kind == "made"):
        return _BARE_HEAD_MM
    return _HEAD_MM + max([0, *_station_tiers(sorted(stations), frame).values()]) * _TIER_MM


def _in_place(lane: LoomLane, chosen: Arrangement) -> LoomLane:
    """The lane with the wires of each side in the order of their ways, so that none of them cross each other."""
    left, right = places(chosen.left), places(chosen.right)
    return replace(
        lane,
        left=tuple(sorted(lane.left, key=lambda tail: left.get(tail.name, 0))),
        right=tuple(sorted(lane.right, key=lambda tail: right.get(tail.name, 0))),
    )


def _heights(ordered: Sequence[_Laid], head: float) -> tuple[dict[str, float], list[tuple[str, float]], float]:
    """Top of each lane, the headings with their tops, and the bottom of the last lane."""
    tops: dict[str, float] = {}
    headings: list[tuple[str, float]] = []
    y, group = head, ""
    for one in ordered:
        if one.lane.group != group:
            headings.append((one.lane.heading, y))
            group = one.lane.group
            y += _HEADING_MM
        tops[one.lane.id] = y
        y += one.height
    return tops, headings, y


def _row_middles(one: _Laid, top: float) -> list[float]:
    out = []
    y = top + one.head
    for row in one.rows:
        out.append(y + row.lines * _LINE_MM + _BAND_GAP_MM + BAND_MM / 2)
        y += row.height
    return out


def _ways_heights(ordered: Sequence[_Laid], row_y: Mapping[str, Sequence[float]]) -> dict[str, float]:
    out: dict[str, float] = {}
    for one in ordered:
        for row, y in zip(one.rows, row_y[one.lane.id], strict=True):
            for tail in (row.left, row.right):
                if tail is not None:
                    out.setdefault(tail.name, y)
    return out


def _station_ends(ordered: Sequence[_Laid], row_y: Mapping[str, Sequence[float]]) -> dict[float, float]:
    """Each joint's place along the loom, with the height of the last joint that stands there."""
    ends: dict[float, float] = {}
    for one in ordered:
        for place in one.lane.places:
            ends[place] = row_y[one.lane.id][0]
    return dict(sorted(ends.items()))


def _draw_ruler(
    picture: Picture, ordered: Sequence[_Laid], frame: _Frame, stations: Mapping[float, float], at: int, of: int
) -> None:
    if of > 1:
        picture.text(frame.width, SMALL, f"Part {at} of {of}", SMALL, bold=True, anchor="end")
    if not any(one.lane.kind == "made" for one in ordered):
        picture.text(frame.lane_left, SMALL, "No joints on this part", SMALL, bold=True)
        return
    if not stations and all(one.lane.away for one in ordered if one.lane.kind == "made"):
        picture.text(frame.lane_left, SMALL, "Each joint says where it is", SMALL, bold=True)
        return
    x0, x1 = frame.band_left, frame.ruler_right
    top = frame.head - _BAR_MM - 2.5
    picture.rect(x0, top, x1 - x0, _BAR_MM, 0.5, fill=PAPER)
    if not stations:
        picture.centred((x0 + x1) / 2, top + _BAR_MM / 2, "places not worked out yet", SMALL)
        picture.text(frame.lane_left, SMALL, "Joint ruler: joints are spread evenly", SMALL, bold=True)
    else:
        step = next((s for s in (50, 100, 200, 500, 1000) if s * frame.scale >= 9), 1000)
        fine = next((s for s in (10, 20, 50, 100, 200) if s * frame.scale >= 1.5 and step % s == 0), step)
        end = frame.break_x if frame.far else x1
        for tick in range(0, int((end - frame.x_of(0)) / frame.scale) + 1, fine):
            x = frame.x_of(tick)
            length = 3.0 if tick % step == 0 else 1.6
            if x < end - 0.9:
                picture.line(x, top, x, top + length, 0.25)
            if tick % step == 0 and x + 5 < min(end, x1 - 9):
                picture.text(x, top + _BAR_MM - 0.9, str(tick), SMALL, anchor="middle")
        if frame.far:
            _draw_break(picture, frame.break_x, top)
        picture.text(x1 - 1, top + _BAR_MM - 0.9, "mm", SMALL, anchor="end")
        if any(one.lane.away for one in ordered):
            first = top + _BAR_MM / 2 - SMALL * 0.2
            picture.paragraph(x1 + 1.5, first, ["off the", "ruler"], SMALL, leading=1.1)
        plugs = {tail.plug_name for one in ordered if one.lane.places for tail in one.lane.left if tail.plug_name}
        plug = "the vehicle plug" if len(plugs) <= 1 else "each vehicle plug"
        picture.text(
            frame.lane_left, SMALL, f"Joint ruler: mm along the loom from the face of {plug}", SMALL, bold=True
        )
        _draw_stations(picture, stations, frame, top)


def _draw_break(picture: Picture, x: float, top: float) -> None:
    """The ruler is broken here: what stands beyond is not to scale."""
    picture.layer()
    gap = [(x + 1, top - 0.6), (x + 3, top - 0.6), (x + 2, top + _BAR_MM + 0.6), (x, top + _BAR_MM + 0.6)]
    picture.path(line_path(gap, closed=True), 0, fill=PAPER)
    picture.lines([(x + 1, top - 0.6), (x, top + _BAR_MM + 0.6)], 0.35)
    picture.lines([(x + 3, top - 0.6), (x + 2, top + _BAR_MM + 0.6)], 0.35)


def _draw_stations(picture: Picture, stations: Mapping[float, float], frame: _Frame, top: float) -> None:
    tiers = _station_tiers(tuple(stations), frame)
    for station, bottom in stations.items():
        x = frame.x_of(station)
        mark_y = top - 3.0 - tiers[station] * _TIER_MM
        picture.path(line_path([(x, top), (x - 1.3, top - 2.4), (x + 1.3, top - 2.4)], closed=True), 0, fill=INK)
        picture.path(line_path([(x, top + _BAR_MM), (x, bottom)]), 0.18, dash="0.8 1.4")
        picture.line(x, top - 2.4, x, mark_y - SMALL * CAP_HEIGHT, 0.18)
        picture.text(x + _FLAG_MM, mark_y, number(station), SMALL, bold=True)


def _draw_fans(
    picture: Picture,
    ordered: Sequence[_Laid],
    row_y: Mapping[str, Sequence[float]],
    leave: Mapping[str, tuple[float, float]],
    frame: _Frame,
) -> None:
    for one in ordered:
        for row, y in zip(one.rows, row_y[one.lane.id], strict=True):
            for tail, x in ((row.left, frame.lane_left), (row.right, frame.lane_right)):
                if tail is None or tail.name not in leave:
                    continue
                from_x, from_y = leave[tail.name]
                middle = (from_x + x) / 2
                picture.path(
                    f"M{number(from_x)} {number(from_y)}C{number(middle)} {number(from_y)} {number(middle)} {number(y)} "
                    f"{number(x)} {number(y)}",
                    0.5,
                )


def _draw_words(picture: Picture, one: _Laid, top: float, frame: _Frame) -> None:
    """Circuit number, function and colour words, each over a patch of paper so that no station line runs through them."""
    title_y = top + (one.head if one.head else one.rows[0].lines * _LINE_MM) - 0.5
    if one.lane.kind == "mated" and frame.one_line:
        title_y = top + _LINE_MM - 0.5
    title_x = one.title_x
    picture.rect(
        title_x - 0.5, title_y - 3.6, _id_width(one.lane.id) + text_width(one.title, WORD) + 1, 4.7, 0, fill=PAPER
    )
    picture.text(title_x, title_y, one.lane.id, STRONG, bold=True)
    picture.text(title_x + _id_width(one.lane.id), title_y, one.title, WORD)
    y = top + one.head
    for row in one.rows:
        base = y + row.lines * _LINE_MM - 0.5
        for words, right in ((row.left_words, False), (row.right_words, True)):
            for back, line in enumerate(reversed(words)):
                width = text_width(line, SMALL)
                x = frame.lane_right if right else frame.lane_left
                line_y = base - back * _LINE_MM
                picture.rect(x - width - 0.5 if right else x - 0.5, line_y - 2.8, width + 1, 3.8, 0, fill=PAPER)
                picture.text(x, line_y, line, SMALL, anchor="end" if right else "start")
        y += row.height
    for n, line in enumerate(one.notes):
        line_y = y + (n + 1) * _LINE_MM - 0.4
        width = text_width(line, SMALL, bold=n == 0 and one.lane.kind == "refused")
        picture.rect(frame.lane_left - 0.5, line_y - 2.8, width + 1, 3.8, 0, fill=PAPER)
        picture.text(frame.lane_left, line_y, line, SMALL)


def _wires(picture: Picture, one: _Laid, row_y: Sequence[float], frame: _Frame) -> list[Band]:
    """The lane's wires; those of ready ends are drawn as plain lines."""
    out: list[Band] = []
    kind = one.lane.kind
    gap = {"made": 0.0, "spare": 0.0}.get(kind, 5.0)
    for row, y in zip(one.rows, row_y, strict=True):
        if kind == "mated":
            picture.line(frame.lane_left, y, one.joint_x - 5, y, 0.7)
            picture.line(one.joint_x + 6, y, frame.lane_right, y, 0.7)
            continue
        reach = one.joint_x
        for tail, x, sign in ((row.left, frame.band_left, -1), (row.right, frame.band_right, 1)):
            if tail is None:
                continue
            end = reach + sign * (JOINT_MM[0] / 2 if kind == "made" and y == row_y[0] else gap)
            if kind == "spare":
                end = frame.band_left + _spare_mm(frame) if sign < 0 else frame.band_right - _spare_mm(frame)
            out.append(Band(x1=end, x2=x, y=y, colour=tail.tail.colour))
    return out


def _spare_mm(frame: _Frame) -> float:
    return min(40.0, (frame.band_right - frame.band_left) * 0.35)


def _draw_marks(picture: Picture, one: _Laid, row_y: Sequence[float], frame: _Frame) -> None:
    """Way numbers at both ends, the joint, cap or cross in between."""
    for row, y in zip(one.rows, row_y, strict=True):
        if row.left is not None:
            _way_tag(picture, row.left, frame.band_left - 0.8, y, frame.tag_left, "end")
        if row.right is not None:
            _way_tag(picture, row.right, frame.band_right + 0.8, y, frame.tag_right, "start")
    kind, x, y = one.lane.kind, one.joint_x, row_y[0]
    if kind == "mated":
        mate_symbol(picture, x, y)
    elif kind == "refused":
        for row_at in row_y:
            never_symbol(picture, x, row_at)
    elif kind in ("wanting", "contested"):
        open_symbol(picture, x, y)
        if len(row_y) > 1:
            picture.path(line_path([(x, y + 2.6), (x, row_y[-1])]), 0.35, dash="1.2 1")
    elif kind == "spare":
        right = bool(one.lane.left)
        cap_x = frame.band_left + _spare_mm(frame) if right else frame.band_right - _spare_mm(frame)
        cap_symbol(picture, cap_x, y, right=right)
        first = y + SMALL * CAP_HEIGHT / 2 - (len(one.beside) - 1) * 0.6
        picture.paragraph(cap_x + 8 if right else frame.lane_left, first, one.beside, SMALL, leading=1.2)
    else:
        if len(row_y) > 1:
            picture.line(x, y, x, row_y[-1], 1.0)
            for row_at in row_y[1:]:
                picture.dot(x, row_at, 1.1)
        picture.layer()
        joint_symbol(picture, one.lane.joints[0].method.kind if one.lane.joints else "", x, y)
        for further in one.lane.joints[1:]:
            if further.position_mm in one.lane.places:
                joint_symbol(picture, further.method.kind, frame.x_of(further.position_mm), y)


def _way_tag(picture: Picture, tail: JobTail, x: float, y: float, room: float, anchor: str) -> None:
    words = _way_text(tail)
    size = STRONG if text_width(words, STRONG, bold=True) + 1.6 <= room else SMALL
    lines = wrap(words, room - 1.2, size, bold=True, lines=2)
    first = y + size * CAP_HEIGHT / 2 - (len(lines) - 1) * size * 0.55
    picture.paragraph(x, first, lines, size, bold=True, anchor=anchor, leading=1.1)
    width = max(text_width(line, size, bold=True) for line in lines) + 0.8
    inner, outer = (x - width, x - room + 0.8) if anchor == "end" else (x + width, x + room - 0.8)
    if abs(inner - outer) > 0.7:
        picture.line(inner, y, outer, y, 0.5)


# Legend and words


def _legend_items(ordered: Sequence[_Laid] | Sequence[LoomLane]) -> list[tuple[str, str]]:
    """Symbol → words, only for what the page uses, in a fixed order."""
    lanes = [one.lane if isinstance(one, _Laid) else one for one in ordered]
    kinds: dict[str, str] = {}
    for lane in lanes:
        if lane.kind == "made":
            if not lane.joints:
                kinds.setdefault("", JOINT_WORDS[""])
            for joint in lane.joints:
                known = kinds.get(joint.method.kind)
                words = joint.method.title
                kinds[joint.method.kind] = words if known in (None, words) else JOINT_WORDS[joint.method.kind]
    out = [(kind, kinds[kind]) for kind in JOINT_WORDS if kind in kinds]
    for kind, words in (
        ("mated", "Ready ends: they mate as they are, no joint"),
        ("spare", "Spare: folded back at full length, capped by itself"),
        ("refused", "Never joined"),
        ("wanting", "Wanting or still to be chosen"),
    ):
        if any(lane.kind == kind or (kind == "wanting" and lane.kind == "contested") for lane in lanes):
            out.append((f"={kind}", words))
    return out


_LEGEND_MM = 7.4


def _standing(plugs: Sequence[LoomPlug], used: frozenset[str]) -> str:
    """What every page says of its drawing; ways that are never touched are named with what they are."""
    never = [
        f"{plug.head.removeprefix('Plug ')}.{plug.way_of[name]}, {what[:1].lower() + what[1:]}"
        for plug in plugs
        if plug.touches(used)
        for name, what in plug.never.items()
    ]
    return (
        "Plugs are seen from the wire side, lying on their sides, places drawn apart. Filled corner: way 1. "
        "Shaded: its wire is on this page. "
        + (f"Crossed out: never touched ({'; '.join(never)}). " if never else "")
        + "Wires that only cross do not meet; a joint's symbol or a dot joins them. Colours: base first, then stripe."
    )


def _legend_rows(items: Sequence[tuple[str, str]], frame: _Frame) -> list[list[tuple[float, str, str]]]:
    rows: list[list[tuple[float, str, str]]] = [[]]
    x = 0.0
    for kind, words in items:
        width = 16 + text_width(words, SMALL) + 7
        if rows[-1] and x + width - 7 > frame.width:
            rows.append([])
            x = 0.0
        rows[-1].append((x, kind, words))
        x += width
    return rows


def _legend_height(
    lanes: Sequence[LoomLane], frame: _Frame, plugs: Sequence[LoomPlug], used: frozenset[str]
) -> float:
    rows = _legend_rows(_legend_items(lanes), frame)
    standing = wrap(_standing(plugs, used), frame.width, SMALL)
    return 3 + len(rows) * _LEGEND_MM + len(standing) * SMALL * 1.3 + 1


def _draw_legend(
    picture: Picture, items: Sequence[tuple[str, str]], standing: str, top: float, frame: _Frame
) -> None:
    picture.line(0, top, frame.width, top, 0.25)
    y = top + 5
    for row in _legend_rows(items, frame):
        for x, kind, words in row:
            symbol_x = x + 6
            if kind == "=mated":
                mate_symbol(picture, symbol_x - 1, y)
            elif kind == "=spare":
                cap_symbol(picture, symbol_x - 3, y)
            elif kind == "=refused":
                never_symbol(picture, symbol_x, y)
            elif kind == "=wanting":
                open_symbol(picture, symbol_x, y)
            else:
                joint_symbol(picture, kind, symbol_x, y)
            picture.text(x + 6 + JOINT_MM[0] / 2 + 3, y + SMALL * CAP_HEIGHT / 2, words, SMALL)
        y += _LEGEND_MM
    picture.paragraph(0, y + 0.6, wrap(standing, frame.width, SMALL), SMALL)


def _words(ordered: Sequence[_Laid], frame: _Frame) -> str:
    """The page in words, a sentence a lane."""
    return " ".join(_lane_words(one) for one in ordered)


def _lane_words(one: _Laid) -> str:
    lane = one.lane
    title = f"{lane.id}, {lane.titles[0]}"
    if lane.kind == "mated":
        return f"{title}: {lane.ends[0]} mates with {lane.ends[1] or 'nothing stated'}."
    tails = [f"{tail.lead.title} {tail.tail.at}, {tail.colour_text}" for tail in (*lane.left, *lane.right)]
    listed = "; ".join(tails)
    if lane.kind == "made":
        if not lane.joints:
            return f"{title}: {listed}; joint not chosen yet."
        joint = lane.joints[0]
        place = f" at {number(joint.position_mm)} mm" if lane.places and joint.position_mm is not None else ""
        place = place or ("" if lane.away else ", place not worked out")
        return f"{title}: {listed}; {joint.method.title}{place}." + (f" {lane.note}" if lane.note else "")
    return f"{title}: {listed}. {lane.note}".strip()


__all__ = ["A4_LANDSCAPE_MM", "A4_PORTRAIT_MM", "LoomPage", "loom_pages", "loom_svgs"]
