"""How element strings are connected: general schematics in the symbols of IEC 60617, of no particular kiln.

A resistor is a rectangle, a terminal an open circle, a joint a filled dot, protective earth the three bars of earth
at the casing (symbols from memory, standard not at hand). Lengths are mm on paper.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise

from recover.engineering.circuits import Connection
from recover.report.svg import BLACK, GREY, WHITE, picture, shape, text

TERMINALS = ("title", "L", "N", "L1", "L2", "L3", "PE", "casing")
"""The names that `words` gives words for; a kind uses those of its own terminals. In a country whose single phase has
two lines, the caller gives the second line's word for N."""

_PITCH, _GAP = 5.5, 6.0
"""From string to string within a phase, and from a phase to the middle between it and the next."""
_WIDTH, _HEIGHT = 60.0, 42.0
_TERMINAL_Y, _CASING_Y, _TOP_Y, _LOW_Y, _RETURN_Y, _BASE_Y = 6.0, 9.5, 12.5, 26.5, 30.0, 34.5
_NEUTRAL_X, _CASING_X = 4.5, 10.0
_PEN: dict[str, str | float] = {"fill": "none", "stroke": BLACK, "stroke_width": 0.35}


def connection_sketch(kind: Connection, strings: int, words: Mapping[str, str]) -> str:
    """Return a schematic as SVG text, 60 mm by 42 mm, wider where many strings need it.

    `strings` counts all element strings, one resistor each; three-phase kinds share them out over the phases in turn.
    Three points are marked: A at the first line terminal, B at the far end of its strings, C at the casing. A to B goes
    through the strings (in delta also through the two other phases in series), A to C through the insulation. Raises
    ValueError for fewer strings than phases.
    """
    lines = ("L",) if kind == "single" else ("L1", "L2", "L3")
    if strings < len(lines):
        raise ValueError(f"{kind} needs {len(lines)} strings or more, not {strings}")
    groups = _placed([len(range(first, strings, len(lines))) for first in range(len(lines))])
    right = max(_WIDTH - 1, groups[-1].right + _GAP)
    parts = [*_casing(right, words), *_point("A", groups[0].middle, _TERMINAL_Y, across=4.6)]
    parts += _delta(groups) if kind == "delta" else _common(groups, kind, words)
    for group, line in zip(groups, lines, strict=True):
        parts += [*_strings(group), *_terminal(group.middle, _TERMINAL_Y, words[line])]
    return picture(right + 1, _HEIGHT, words["title"], parts)


@dataclass(frozen=True)
class _Group:
    """Parallel strings of one phase: where the first stands, and how many there are."""

    left: float
    count: int

    @property
    def places(self) -> list[float]:
        return [self.left + number * _PITCH for number in range(self.count)]

    @property
    def right(self) -> float:
        return self.places[-1]

    @property
    def middle(self) -> float:
        return (self.left + self.right) / 2


def _placed(counts: list[int]) -> list[_Group]:
    """Return the phases side by side, in the middle of the casing if they leave it room."""
    wide = (sum(counts) - len(counts)) * _PITCH + (len(counts) - 1) * 2 * _GAP
    left = max(_CASING_X + _GAP + 2, (_CASING_X + _WIDTH - 1 - wide) / 2)
    groups: list[_Group] = []
    for count in counts:
        groups.append(_Group(left, count))
        left = groups[-1].right + 2 * _GAP
    return groups


def _strings(group: _Group) -> Iterator[str]:
    """Yield strings side by side, joined above and fed from their terminal."""
    yield _wire(f"M{group.middle:.2f} {_TERMINAL_Y}V{_TOP_Y}M{group.left:.2f} {_TOP_Y}H{group.right:.2f}")
    for x in group.places:
        box = {"x": x - 1.3, "y": 15.5, "width": 2.6, "height": 8.0}
        yield _wire(f"M{x:.2f} {_TOP_Y}V{_LOW_Y}")
        yield shape("rect", class_="resistor", **box, fill=WHITE, stroke=BLACK, stroke_width=0.4)
    if group.count > 1:
        yield from _joints({*group.places[1:-1], group.middle}, _TOP_Y)


def _common(groups: list[_Group], kind: Connection, words: Mapping[str, str]) -> Iterator[str]:
    """Yield what joins the far ends: a star point inside the casing, or a conductor to the neutral's terminal."""
    places = [x for group in groups for x in group.places]
    start = places[0] if kind == "star" else _NEUTRAL_X
    yield _wire(f"M{start:.2f} {_LOW_Y}H{places[-1]:.2f}")
    yield from _joints({x for x in places[:-1] if x > start}, _LOW_Y)
    yield from _point("B", start, _LOW_Y, down=4.6)
    if kind != "star":
        yield from _terminal(_NEUTRAL_X, _LOW_Y, words["N"])


def _delta(groups: list[_Group]) -> Iterator[str]:
    """Yield the far end of each phase led to the near end of the next, the last one's round to the first."""
    for group in groups:
        yield _wire(f"M{group.left:.2f} {_LOW_Y}H{group.right:.2f}")
        yield from _joints(group.places[1:], _LOW_Y)
        yield from _joints([group.left], _TOP_Y)
    for group, following in pairwise(groups):
        yield _wire(f"M{group.right:.2f} {_LOW_Y}h{_GAP}V{_TOP_Y}H{following.left:.2f}")
    first, last = groups[0], groups[-1]
    yield _wire(f"M{last.right:.2f} {_LOW_Y}V{_RETURN_Y}H{first.left - _GAP:.2f}V{_TOP_Y}H{first.left:.2f}")
    yield from _point("B", groups[1].middle, _TERMINAL_Y, across=4.6)


def _casing(right: float, words: Mapping[str, str]) -> Iterator[str]:
    """Yield the casing in chain line, its connection to protective earth, and point C on it."""
    size = {"x": _CASING_X, "y": _CASING_Y, "width": right - _CASING_X, "height": _BASE_Y - _CASING_Y}
    yield shape("rect", class_="casing", **size, **_PEN, stroke_dasharray="4 1 0.7 1")
    yield from _point("C", right - 20, _BASE_Y, down=4.3)
    yield from _joints([right - 6], _BASE_Y)
    bars = f"M{right - 6:.2f} {_BASE_Y}v3.5m-2.4 0h4.8m-.8 1.1h-3.2m.8 1.1h1.6"
    yield shape("path", class_="earth", d=bars, **_PEN)
    yield text(right - 9.2, _BASE_Y + 4.3, words["PE"], anchor="end")
    yield text(_CASING_X, _BASE_Y + 4.3, words["casing"])


def _wire(path: str) -> str:
    return shape("path", class_="wire", d=path, **_PEN)


def _terminal(x: float, y: float, word: str) -> Iterator[str]:
    yield shape("circle", class_="terminal", cx=x, cy=y, r=0.9, fill=WHITE, stroke=BLACK, stroke_width=0.35)
    yield text(x, y - 3.3, word, weight=600, anchor="middle")


def _joints(places: Iterable[float], y: float) -> Iterator[str]:
    for x in sorted(places):
        yield shape("circle", class_="joint", cx=x, cy=y, r=0.55, fill=BLACK)


def _point(letter: str, x: float, y: float, *, across: float = 0, down: float = 0) -> Iterator[str]:
    """Yield a measuring point: a letter in a circle, led to its place by a thin line."""
    yield shape("path", d=f"M{x:.2f} {y}l{across} {down}", fill="none", stroke=GREY, stroke_width=0.2)
    at = {"cx": x + across, "cy": y + down}
    yield shape("circle", class_="point", **at, r=2.2, fill=WHITE, stroke=BLACK, stroke_width=0.25)
    yield text(x + across, y + down, letter, weight=600, anchor="middle")
