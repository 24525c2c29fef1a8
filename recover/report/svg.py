"""SVG as text, for pictures that are printed inside a paper. One unit is one millimetre on paper.

Only what WeasyPrint draws: rectangles, circles, paths and plain text. Nothing has an id, since a document may hold
several pictures, so a hatch is drawn line by line. Type is 9 pt of the papers' condensed face, which WeasyPrint does
not inherit into a picture.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from html import escape
from math import sqrt

FONT = "IBM Plex Sans Condensed, sans-serif"
SIZE = 3.175
"""9 pt in mm."""
LINE = 3.9
"""From one line of type to the next, mm."""
BLACK, GREY, TINT, WHITE = "#000", "#666", "#e4e4e4", "#fff"


def shape(name: str, **attributes: str | float) -> str:
    """Return one element; `stroke_width` stands for stroke-width and `class_` for class. Numbers keep 1 µm."""
    written = (
        f'{key.rstrip("_").replace("_", "-")}="{value if isinstance(value, str) else f"{value:.3f}"}"'
        for key, value in attributes.items()
    )
    return f"<{name} {' '.join(written)}/>"


def text(x: float, middle: float, words: str, *, weight: int = 400, anchor: str = "start") -> str:
    """Return words whose capitals are centred on `middle`."""
    at = f'x="{x:.3f}" y="{middle + 0.35 * SIZE:.3f}" text-anchor="{anchor}" font-weight="{weight}"'
    return f'<text {at} fill="{BLACK}" stroke="none">{_clean(words)}</text>'


def picture(width: float, height: float, title: str, parts: Iterable[str]) -> str:
    """Return a whole picture of a size in mm, with `title` for who cannot see it."""
    size = f'width="{width:.1f}mm" height="{height:.1f}mm" viewBox="0 0 {width:.1f} {height:.1f}"'
    head = f'<svg xmlns="http://www.w3.org/2000/svg" role="img" {size} font-family="{FONT}" font-size="{SIZE}">'
    return "\n".join([head, f"<title>{_clean(title)}</title>", *parts, "</svg>"])


def hatch(left: float, top: float, right: float, bottom: float, pitch: float, *, falling: bool = False) -> str:
    """Return the path of lines at 45° that fill a box, `pitch` mm apart; they rise to the right unless `falling`."""
    lines, total, step = [], left + top, pitch * sqrt(2)
    while (total := total + step) < right + bottom:
        x1, x2 = max(left, total - bottom), min(right, total - top)
        ends = (left + right - x1, left + right - x2) if falling else (x1, x2)
        lines.append(f"M{ends[0]:.2f} {total - x1:.2f}L{ends[1]:.2f} {total - x2:.2f}")
    return "".join(lines)


def dots(left: float, top: float, right: float, bottom: float, pitch: float) -> str:
    """Return the path of staggered points in a box, to be drawn with a round line cap."""
    points, y, number = [], bottom - pitch / 2, 0
    while y > top:
        x = left + pitch * (0.5 if number % 2 else 1)
        while x < right:
            points.append(f"M{x:.2f} {y:.2f}h.01")
            x += pitch
        y, number = y - pitch / 2, number + 1
    return "".join(points)


def _clean(words: str) -> str:
    """Return words as XML text; control characters, which XML forbids, are left out."""
    return escape("".join(one for one in words if unicodedata.category(one)[0] != "C"))
