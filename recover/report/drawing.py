"""The side view of a kiln: every height to one scale, with the water line across it.

Pure functions from plain values to SVG text, in black and greys: a copy of a copy must still read.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from recover.base.measures import SYMBOLS, show_quantity
from recover.report.annotation import Level, column_height, legend, levels, staff
from recover.report.svg import BLACK, GREY, LINE, TINT, WHITE, dots, hatch, picture, shape
from recover.report.words import words

WIDTH = 174.0
"""The text width of an A4 sheet with the papers' margins, mm on paper; Letter is a little wider."""

GROUND_END, HEAD = 96.0, 9.0
"""Where ground and water end and leaders begin; the room above the highest thing. Both mm on paper."""
_TALL, _WIDE, _BOX = 84.0, 56.0, 8.0
"""The most that a kiln with its water, and a control box, take up, mm on paper."""
_NOMINAL_WIDTH = 0.75
"""Inside width as a share of the height where nobody has measured it. The outline is then dashed."""
_GROUND = 1.6
_MM_STEPS = tuple(lead * 10.0**power for power in range(5) for lead in (1, 2, 5))
_INCH_STEPS = (1, 2, 3, 6, 12, 24, 48, 120, 240, 600)


@dataclass(frozen=True)
class Datum:
    """A height on the kiln, in mm from the floor it stands on, 0 or more."""

    label: str
    height_mm: float


@dataclass(frozen=True, kw_only=True)
class SideView:
    """What is known of a kiln's heights, in mm from the floor it stands on. What is None or empty is not drawn.

    `datums` are labelled beside the picture; the water line and its rise do not belong among them. `rise_mm` is the
    capillary rise in the lining, 0 where the water did not reach it. `lid_joint_mm` is where lid or roof meets the
    wall. `missing` names what is not known. `top_mm` is above 0, and no height is negative.
    """

    top_mm: float
    water_line_mm: float | None = None
    rise_mm: float = 0.0
    datums: tuple[Datum, ...] = ()
    stand_top_mm: float | None = None
    floor_face_mm: float | None = None
    lid_joint_mm: float | None = None
    box_mm: tuple[float, float] | None = None
    elements_mm: tuple[float, ...] = ()
    inside_width_mm: float | None = None
    wall_mm: float | None = None
    opening: Literal["top", "front", "unknown"] = "unknown"
    from_above: bool = False
    imperial: bool = False
    missing: tuple[str, ...] = ()

    @property
    def bottom_mm(self) -> float:
        """The lower edge of the casing; the floor where nobody has measured it."""
        return min(self.stand_top_mm or 0.0, self.top_mm)

    @property
    def outer_width_mm(self) -> float:
        """The width of the casing, the inside a share of the height where nobody has measured it."""
        return (self.inside_width_mm or _NOMINAL_WIDTH * self.top_mm) + 2 * (self.wall_mm or 0)

    @property
    def assumed(self) -> bool:
        """Whether part of the casing's outline is assumed."""
        return self.inside_width_mm is None or self.stand_top_mm is None

    @property
    def highest_mm(self) -> float:
        """The highest of all heights."""
        parts = (self.water_line_mm, self.lid_joint_mm, self.floor_face_mm)
        known = [part for part in parts if part is not None]
        box = self.box_mm or (0.0, 0.0)
        return max(self.top_mm, *box, *known, *self.elements_mm, *(datum.height_mm for datum in self.datums))

    @property
    def rise_to_mm(self) -> float | None:
        """How high the lining draws the water up: not above the kiln, and None where it does not."""
        if self.water_line_mm is None or self.rise_mm <= 0 or self.water_line_mm >= self.top_mm:
            return None
        return min(self.water_line_mm + self.rise_mm, self.top_mm)

    def submerged(self, height_mm: float) -> bool:
        """Return whether a height is at or below the water line."""
        return self.water_line_mm is not None and height_mm <= self.water_line_mm


@dataclass(frozen=True, kw_only=True)
class _Frame:
    """Where things lie on paper, in mm: heights through `y`, the casing from `left` to `right`, the wall and the
    control box by their widths.

    The ground begins at `start` and ends at `GROUND_END`.
    """

    scale: float
    floor_y: float
    highest_y: float
    start: float
    left: float
    right: float
    wall: float
    box: float

    @classmethod
    def of(cls, view: SideView, column: float) -> _Frame:
        """Return the largest frame that holds a view, and beside it a column of words as tall as `column`."""
        start = 27.5 if view.imperial else 14.5
        wide = min(_WIDE, GROUND_END - start - _BOX - 8)
        scale = min(_TALL / view.highest_mm, wide / view.outer_width_mm)
        outer, tall, wall = view.outer_width_mm * scale, view.highest_mm * scale, (view.wall_mm or 0) * scale
        box = min(_BOX, 0.3 * outer) if view.box_mm else 0.0
        floor_y, left = HEAD + max(tall, column), (start + GROUND_END - outer - box) / 2
        return cls(
            scale=scale, floor_y=floor_y, highest_y=floor_y - tall, start=start, left=left, right=left + outer,
            wall=wall, box=box,
        )  # fmt: skip

    def y(self, height_mm: float) -> float:
        """Return where a height lies on paper."""
        return self.floor_y - height_mm * self.scale


def side_view(view: SideView) -> str:
    """Return the kiln in side view as SVG text, `WIDTH` mm wide and as high as its labels need."""
    named = [(_shown(view, height_mm), name) for height_mm, name, _ in _named(view)]
    frame = _Frame.of(view, column_height(named, GROUND_END, WIDTH))
    parts = [
        *_water(view, frame), *_ground(frame), *_staffs(view, frame),
        *levels(_levels(view, frame), GROUND_END, WIDTH, HEAD - LINE, frame.floor_y + LINE),
        *_lining(view, frame), *_casing(view, frame), *_outside(view, frame), *_elements(view, frame),
        *_surface(view, frame),
    ]  # fmt: skip
    missing = words().drawing.missing(names=", ".join(view.missing)) if view.missing else ""
    symbols, bottom = legend(_samples(view), missing, frame.floor_y + _GROUND + LINE, WIDTH)
    return picture(WIDTH, bottom, describe(view), [*parts, *symbols])


def describe(view: SideView) -> str:
    """Return the picture in words, for who cannot see it."""
    sentences = [words().drawing.describe_top(height=_shown(view, view.top_mm))]
    if view.water_line_mm is not None:
        sentences.append(words().drawing.describe_water(height=_shown(view, view.water_line_mm)))
    for datum in view.datums:
        height = _shown(view, datum.height_mm)
        sentences.append(words().drawing.describe_datum(label=datum.label, height=height))
    return " ".join(sentences)


def _shown(view: SideView, height_mm: float) -> str:
    return show_quantity(height_mm, "mm", imperial=view.imperial)


# -------------------------------------------------------------------------------------------- levels, staffs, water


def _named(view: SideView) -> Iterator[tuple[float, str, int]]:
    """Yield what is labelled: height in mm, name, weight of the type."""
    yield from ((datum.height_mm, datum.label, 400) for datum in view.datums)
    if view.water_line_mm is not None:
        yield view.water_line_mm, words().drawing.water_line, 600
    if view.rise_to_mm is not None:
        yield view.rise_to_mm, words().drawing.rise, 400


def _levels(view: SideView, frame: _Frame) -> list[Level]:
    return [
        Level(
            y=frame.y(height),
            edge=_edge(view, frame, height),
            value=_shown(view, height),
            name=name,
            filled=view.submerged(height),
            weight=weight,
        )
        for height, name, weight in _named(view)
    ]


def _edge(view: SideView, frame: _Frame, height_mm: float) -> float:
    """Return where a leader begins: at the casing, or at the control box where that stands before it."""
    behind_box = view.box_mm is not None and min(view.box_mm) <= height_mm <= max(view.box_mm)
    return frame.right + (frame.box if behind_box else 0)


def _staffs(view: SideView, frame: _Frame) -> Iterator[str]:
    ends = (frame.floor_y, frame.highest_y)
    if view.imperial:
        yield from staff(frame.start - 16.5, *ends, 25.4 * frame.scale, _INCH_STEPS, SYMBOLS["in"])
    yield from staff(frame.start - 3.5, *ends, frame.scale, _MM_STEPS, SYMBOLS["mm"])


def _water(view: SideView, frame: _Frame) -> Iterator[str]:
    if view.water_line_mm is not None:
        y = frame.y(view.water_line_mm)
        yield shape("rect", x=frame.start, y=y, width=GROUND_END - frame.start, height=frame.floor_y - y, fill=TINT)


def _surface(view: SideView, frame: _Frame) -> Iterator[str]:
    """Yield the water line as ripples about its height."""
    if view.water_line_mm is None:
        return
    count = round((GROUND_END - frame.start) / 3)
    quarter = (GROUND_END - frame.start) / count / 4
    ripple = f"q{quarter:.4f} -.8 {2 * quarter:.4f} 0q{quarter:.4f} .8 {2 * quarter:.4f} 0"
    path = f"M{frame.start:.3f} {frame.y(view.water_line_mm):.3f}{ripple * count}"
    yield shape("path", class_="water", d=path, fill="none", stroke=BLACK, stroke_width=0.55)


def _ground(frame: _Frame) -> Iterator[str]:
    strokes = hatch(frame.start, frame.floor_y, GROUND_END, frame.floor_y + _GROUND, 2.4)
    yield shape("path", d=strokes, stroke=GREY, stroke_width=0.2)
    yield shape("path", d=f"M{frame.start} {frame.floor_y:.3f}H{GROUND_END}", stroke=BLACK, stroke_width=0.5)


# -------------------------------------------------------------------------------------------------------- the kiln


@dataclass(frozen=True, kw_only=True)
class _Part:
    """A part of the lining in section, between heights in mm and places on paper in mm."""

    low_mm: float
    high_mm: float
    left: float
    right: float
    falling: bool


def _parts(view: SideView, frame: _Frame) -> Iterator[_Part]:
    """Yield the lining whose height is known: floor slab, lid or roof, and both walls between them."""
    low, high = view.bottom_mm, view.top_mm
    if view.floor_face_mm is not None and view.stand_top_mm is not None:
        yield _Part(low_mm=low, high_mm=view.floor_face_mm, left=frame.left, right=frame.right, falling=True)
    if view.lid_joint_mm is not None:
        yield _Part(low_mm=view.lid_joint_mm, high_mm=high, left=frame.left, right=frame.right, falling=True)
    if view.wall_mm is not None:
        low = low if view.floor_face_mm is None else view.floor_face_mm
        high = high if view.lid_joint_mm is None else view.lid_joint_mm
        yield _Part(low_mm=low, high_mm=high, left=frame.left, right=frame.left + frame.wall, falling=False)
        yield _Part(low_mm=low, high_mm=high, left=frame.right - frame.wall, right=frame.right, falling=False)


def _lining(view: SideView, frame: _Frame) -> Iterator[str]:
    """Yield each part hatched against its neighbours, and dotted as far as it has drawn up water."""
    for part in _parts(view, frame):
        if part.low_mm < part.high_mm:
            top, bottom = frame.y(part.high_mm), frame.y(part.low_mm)
            lines = hatch(part.left, top, part.right, bottom, 1.7, falling=part.falling)
            yield shape("path", d=lines, stroke=GREY, stroke_width=0.15)
            yield _box("lining", part.left, part.right, top, bottom, **_pen(0.25))
            yield from _drawn_up(view, frame, part)


def _drawn_up(view: SideView, frame: _Frame, part: _Part) -> Iterator[str]:
    if view.rise_to_mm is None or view.water_line_mm is None:
        return
    low_mm, high_mm = max(part.low_mm, view.water_line_mm), min(part.high_mm, view.rise_to_mm)
    if low_mm < high_mm:
        points = dots(part.left, frame.y(high_mm), part.right, frame.y(low_mm), 2.2)
        yield shape("path", d=points, stroke=BLACK, stroke_width=0.5, stroke_linecap="round")
    if part.low_mm <= view.rise_to_mm <= part.high_mm:
        line = f"M{part.left:.3f} {frame.y(view.rise_to_mm):.3f}H{part.right:.3f}"
        yield shape("path", class_="rise", d=line, **_pen(0.6), stroke_dasharray="0.01 1", stroke_linecap="round")


def _casing(view: SideView, frame: _Frame) -> Iterator[str]:
    """Yield the casing on its stand, dashed where its width or its lower edge is assumed, and the floor's hot face."""
    low = frame.y(view.bottom_mm)
    dashes = _ASSUMED if view.assumed else {}
    yield _box("casing", frame.left, frame.right, frame.y(view.top_mm), low, **_pen(0.5), **dashes)
    leg = min(1.5, 0.1 * (frame.right - frame.left))
    for foot in (frame.left + leg, frame.right - 2 * leg) if view.stand_top_mm else ():
        yield _box("stand", foot, foot + leg, low, frame.floor_y, **_pen(0.4))
    if view.floor_face_mm is not None:
        face = f"M{frame.left + frame.wall:.3f} {frame.y(view.floor_face_mm):.3f}H{frame.right - frame.wall:.3f}"
        yield shape("path", d=face, **_pen(0.25))


def _outside(view: SideView, frame: _Frame) -> Iterator[str]:
    """Yield what sits on the casing: the joint of a lid, the plane of a door, the control box, water from above."""
    top = view.top_mm if view.lid_joint_mm is None else view.lid_joint_mm
    low = view.bottom_mm if view.floor_face_mm is None else view.floor_face_mm
    if view.opening == "top" and view.lid_joint_mm is not None:
        joint = f"M{frame.left - 1:.3f} {frame.y(top):.3f}H{frame.right + 1:.3f}"
        yield shape("path", class_="joint", d=joint, **_pen(0.5))
    if view.opening == "front":
        plane = f"M{frame.left - 1.6:.3f} {frame.y(top):.3f}V{frame.y(low):.3f}"
        yield shape("path", class_="door", d=plane, **_pen(0.5), **_DOOR)
    if view.box_mm is not None:
        under, over = (frame.y(height_mm) for height_mm in sorted(view.box_mm))
        yield _box("box", frame.right, frame.right + frame.box, over, under, **_pen(0.5))
    for number in range(5) if view.from_above else ():
        x = frame.left + (frame.right - frame.left) * (number + 0.5) / 5
        yield _arrow(x, frame.y(view.top_mm) - 1.4)


def _arrow(x: float, tip: float) -> str:
    return shape("path", class_="arrow", d=f"M{x:.3f} {tip - 5:.3f}v5m-.8 -1.7l.8 1.7l.8 -1.7", **_pen(0.3))


def _elements(view: SideView, frame: _Frame) -> Iterator[str]:
    """Yield the grooves on both hot faces: filled at or below the water line, smaller where they lie close."""
    heights = sorted(set(view.elements_mm))
    pitch = frame.scale * min((high - low for low, high in pairwise(heights)), default=view.top_mm)
    for height_mm in heights:
        for x in (frame.left + frame.wall, frame.right - frame.wall):
            yield _groove(x, frame.y(height_mm), min(1.1, max(0.25, 0.36 * pitch)), view.submerged(height_mm))


def _groove(x: float, y: float, radius: float, filled: bool) -> str:
    fill = BLACK if filled else WHITE
    return shape("circle", class_="element", cx=x, cy=y, r=radius, fill=fill, stroke=BLACK, stroke_width=0.3)


def _box(kind: str, left: float, right: float, top: float, bottom: float, **pen: str | float) -> str:
    return shape("rect", class_=kind, x=left, y=top, width=right - left, height=bottom - top, **pen)


def _pen(width: float) -> dict[str, str | float]:
    return {"fill": "none", "stroke": BLACK, "stroke_width": width}


_DOOR: dict[str, str | float] = {"stroke_dasharray": "1.4 1"}
_ASSUMED: dict[str, str | float] = {"stroke_dasharray": "2.4 1.2"}


def _samples(view: SideView) -> Iterator[tuple[str, str]]:
    """Yield a sample of each symbol in use, and its words."""
    if (view.wall_mm, view.lid_joint_mm, view.floor_face_mm) != (None, None, None):
        hatched = shape("path", d=hatch(0, -1.3, 5, 1.3, 1.7), stroke=GREY, stroke_width=0.15)
        yield hatched + _box("sample", 0, 5, -1.3, 1.3, **_pen(0.25)), words().drawing.lining
    if view.elements_mm:
        yield shape("circle", cx=2.5, cy=0, r=1.1, **_pen(0.3)), words().drawing.element
    if view.water_line_mm is not None:
        filled = shape("path", d="M0 -.8h2l-1 1.75z", fill=BLACK) + shape("circle", cx=4, cy=0, r=1.1, fill=BLACK)
        yield filled, words().drawing.submerged
    if view.box_mm is not None:
        yield _box("sample", 0.5, 4.5, -1.3, 1.3, **_pen(0.5)), words().drawing.box
    if view.opening == "front":
        yield shape("path", d="M2.5 -1.7v3.4", **_pen(0.5), **_DOOR), words().drawing.door
    if view.assumed:
        yield shape("path", d="M0 0h6", **_pen(0.5), **_ASSUMED), words().drawing.assumed
    if view.from_above:
        yield f'<g transform="translate(2.5 1.7) scale(.7)">{_arrow(0, 0)}</g>', words().drawing.from_above
