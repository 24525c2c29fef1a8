"""The side view of a kiln: every height to one scale, with the water line across it.

Pure functions from plain values to SVG text, in black and greys: a copy of a copy must still read.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from recover.base.measures import SYMBOLS, show_quantity
from recover.report.annotation import Level, column_height, legend, levels, staff
from recover.report.elevation import GROUND_END, HEAD, Datum, Frame, SideView
from recover.report.svg import BLACK, GREY, LINE, TINT, WHITE, dots, hatch, picture, shape
from recover.report.words import words

__all__ = ["WIDTH", "Datum", "SideView", "describe", "side_view"]

WIDTH = 174.0
"""The text width of an A4 sheet with the papers' margins, mm on paper; Letter is a little wider."""

_GROUND = 1.6
_MM_STEPS = tuple(lead * 10.0**power for power in range(5) for lead in (1, 2, 5))
_INCH_STEPS = (1, 2, 3, 6, 12, 24, 48, 120, 240, 600)


def side_view(view: SideView) -> str:
    """Return the kiln in side view as SVG text, `WIDTH` mm wide and as high as its labels need."""
    named = [(_shown(view, height_mm), name) for height_mm, name, _ in _named(view)]
    frame = Frame.of(view, column_height(named, GROUND_END, WIDTH))
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


def _levels(view: SideView, frame: Frame) -> list[Level]:
    return [
        Level(frame.y(height), _edge(view, frame, height), _shown(view, height), name, view.submerged(height), weight)
        for height, name, weight in _named(view)
    ]


def _edge(view: SideView, frame: Frame, height_mm: float) -> float:
    """Return where a leader begins: at the casing, or at the control box where that stands before it."""
    behind_box = view.box_mm is not None and min(view.box_mm) <= height_mm <= max(view.box_mm)
    return frame.right + (frame.box if behind_box else 0)


def _staffs(view: SideView, frame: Frame) -> Iterator[str]:
    ends = (frame.floor_y, frame.highest_y)
    if view.imperial:
        yield from staff(frame.start - 16.5, *ends, 25.4 * frame.scale, _INCH_STEPS, SYMBOLS["in"])
    yield from staff(frame.start - 3.5, *ends, frame.scale, _MM_STEPS, SYMBOLS["mm"])


def _water(view: SideView, frame: Frame) -> Iterator[str]:
    if view.water_line_mm is not None:
        y = frame.y(view.water_line_mm)
        yield shape("rect", x=frame.start, y=y, width=GROUND_END - frame.start, height=frame.floor_y - y, fill=TINT)


def _surface(view: SideView, frame: Frame) -> Iterator[str]:
    """Yield the water line as ripples about its height."""
    if view.water_line_mm is None:
        return
    count = round((GROUND_END - frame.start) / 3)
    quarter = (GROUND_END - frame.start) / count / 4
    ripple = f"q{quarter:.4f} -.8 {2 * quarter:.4f} 0q{quarter:.4f} .8 {2 * quarter:.4f} 0"
    path = f"M{frame.start:.3f} {frame.y(view.water_line_mm):.3f}{ripple * count}"
    yield shape("path", class_="water", d=path, fill="none", stroke=BLACK, stroke_width=0.55)


def _ground(frame: Frame) -> Iterator[str]:
    strokes = hatch(frame.start, frame.floor_y, GROUND_END, frame.floor_y + _GROUND, 2.4)
    yield shape("path", d=strokes, stroke=GREY, stroke_width=0.2)
    yield shape("path", d=f"M{frame.start} {frame.floor_y:.3f}H{GROUND_END}", stroke=BLACK, stroke_width=0.5)


# -------------------------------------------------------------------------------------------------------- the kiln


@dataclass(frozen=True)
class _Part:
    """A part of the lining in section, between heights in mm and places on paper in mm."""

    low_mm: float
    high_mm: float
    left: float
    right: float
    falling: bool


def _parts(view: SideView, frame: Frame) -> Iterator[_Part]:
    """Yield the lining whose height is known: floor slab, lid or roof, and both walls between them."""
    low, high = view.bottom_mm, view.top_mm
    if view.floor_face_mm is not None and view.stand_top_mm is not None:
        yield _Part(low, view.floor_face_mm, frame.left, frame.right, falling=True)
    if view.lid_joint_mm is not None:
        yield _Part(view.lid_joint_mm, high, frame.left, frame.right, falling=True)
    if view.wall_mm is not None:
        low = low if view.floor_face_mm is None else view.floor_face_mm
        high = high if view.lid_joint_mm is None else view.lid_joint_mm
        yield _Part(low, high, frame.left, frame.left + frame.wall, falling=False)
        yield _Part(low, high, frame.right - frame.wall, frame.right, falling=False)


def _lining(view: SideView, frame: Frame) -> Iterator[str]:
    """Yield each part hatched against its neighbours, and dotted as far as it has drawn up water."""
    for part in _parts(view, frame):
        if part.low_mm < part.high_mm:
            top, bottom = frame.y(part.high_mm), frame.y(part.low_mm)
            lines = hatch(part.left, top, part.right, bottom, 1.7, falling=part.falling)
            yield shape("path", d=lines, stroke=GREY, stroke_width=0.15)
            yield _box("lining", part.left, part.right, top, bottom, **_pen(0.25))
            yield from _drawn_up(view, frame, part)


def _drawn_up(view: SideView, frame: Frame, part: _Part) -> Iterator[str]:
    if view.rise_to_mm is None or view.water_line_mm is None:
        return
    low_mm, high_mm = max(part.low_mm, view.water_line_mm), min(part.high_mm, view.rise_to_mm)
    if low_mm < high_mm:
        points = dots(part.left, frame.y(high_mm), part.right, frame.y(low_mm), 2.2)
        yield shape("path", d=points, stroke=BLACK, stroke_width=0.5, stroke_linecap="round")
    if part.low_mm <= view.rise_to_mm <= part.high_mm:
        line = f"M{part.left:.3f} {frame.y(view.rise_to_mm):.3f}H{part.right:.3f}"
        yield shape("path", class_="rise", d=line, **_pen(0.6), stroke_dasharray="0.01 1", stroke_linecap="round")


def _casing(view: SideView, frame: Frame) -> Iterator[str]:
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


def _outside(view: SideView, frame: Frame) -> Iterator[str]:
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


def _elements(view: SideView, frame: Frame) -> Iterator[str]:
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
