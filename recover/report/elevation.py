"""What is known of a kiln's heights, and where they lie on paper."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

GROUND_END, HEAD = 96.0, 9.0
"""Where ground and water end and leaders begin; the room above the highest thing. Both mm on paper."""
_TALL, _WIDE, _BOX = 84.0, 56.0, 8.0
"""The most that a kiln with its water, and a control box, take up, mm on paper."""
_NOMINAL_WIDTH = 0.75
"""Inside width as a share of the height where nobody has measured it. The outline is then dashed."""


@dataclass(frozen=True)
class Datum:
    """A height on the kiln, in mm from the floor it stands on, 0 or more."""

    label: str
    height_mm: float


@dataclass(frozen=True)
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


@dataclass(frozen=True)
class Frame:
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
    def of(cls, view: SideView, column: float) -> Frame:
        """Return the largest frame that holds a view, and beside it a column of words as tall as `column`."""
        start = 27.5 if view.imperial else 14.5
        wide = min(_WIDE, GROUND_END - start - _BOX - 8)
        scale = min(_TALL / view.highest_mm, wide / view.outer_width_mm)
        outer, tall, wall = view.outer_width_mm * scale, view.highest_mm * scale, (view.wall_mm or 0) * scale
        box = min(_BOX, 0.3 * outer) if view.box_mm else 0.0
        floor_y, left = HEAD + max(tall, column), (start + GROUND_END - outer - box) / 2
        return cls(scale, floor_y, floor_y - tall, start, left, left + outer, wall, box)

    def y(self, height_mm: float) -> float:
        """Return where a height lies on paper."""
        return self.floor_y - height_mm * self.scale
