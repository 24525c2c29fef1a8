"""Curves of a run as SVG text, values in and text out. The only door to matplotlib.

Lines are told apart by their strokes and by words on them, since papers are printed without colour. The text stays
text, in the papers' condensed face, so that it can be searched and is set with the fonts that the paper carries;
it is laid out by the metrics of a wider face. The same values give the same bytes.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from hashlib import sha256
from html import escape
from itertools import accumulate, cycle
from typing import TYPE_CHECKING, Any

import numpy as np

from recover.report.svg import FONT

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from recover.physics.drying import Numbers, Run, WallRun

WIDTH_IN, PANEL_IN = 6.7, 2.6
"""170 mm, the text width of a page; 66 mm."""
_STROKES = ("-", (0, (6, 2)), (0, (1, 1.5)), (0, (6, 2, 1, 2)), (0, (3, 1.5)), (0, (6, 2, 1, 2, 1, 2)))
_SETTINGS: Any = {
    "svg.fonttype": "none", "svg.hashsalt": "recover", "font.family": "DejaVu Sans", "font.size": 8.0,
    "axes.spines.top": False, "axes.spines.right": False, "axes.linewidth": 0.6, "axes.titlesize": 9.0,
    "axes.titlelocation": "left", "axes.titleweight": "bold", "lines.linewidth": 1.1,
    "figure.constrained_layout.use": True, "axes.unicode_minus": True,
}  # fmt: skip


def profile_figure(run: Run, wall: int, hours: Sequence[float]) -> str:
    """Return temperature and water through one wall at chosen hours of a run that was asked for its profiles."""
    with _figure(f"Temperature and water through the wall {run.walls[wall].wall.name}", 1, 2) as (panels, drawn):
        _profiles(panels[0], run, run.walls[wall], hours)
    return drawn[0]


def left_figure(hours: Numbers, p50: Numbers, p10: Numbers | None = None, p90: Numbers | None = None) -> str:
    """Return the share of the water that is left (0 to 1) over the hours: one line, or with its band."""
    with _figure("Water left over time", 1, 1) as (panels, drawn):
        _left(panels[0][0], hours, p50, p10, p90)
    return drawn[0]


def casing_figure(hours: Numbers, wet_degc: Numbers, dry_degc: Numbers | None = None) -> str:
    """Return the temperature of the casing over the hours: as expected of the wet wall, and of a dry one."""
    with _figure("Temperature of the casing over time", 1, 1) as (panels, drawn):
        _casing(panels[0][0], hours, [("wet", wet_degc)] + ([("dry", dry_degc)] if dry_degc is not None else []))
    return drawn[0]


@dataclass(frozen=True)
class Panel:
    """What is read beside what is expected, by the day of a drying: its title with the unit, the band, what was read.

    The days of the band rise; where it has a gap its values are NaN. `read` are pairs of day and value.
    """

    title: str
    days: tuple[float, ...]
    low: tuple[float, ...]
    mid: tuple[float, ...]
    high: tuple[float, ...]
    read: tuple[tuple[float, float], ...] = ()
    from_nought: bool = False


def drying_figure(title: str, below: str, beside: Sequence[Panel]) -> str:
    """Return what was read of a drying beside its bands, two panels in a row; `below` names the days."""
    with _figure(title, -(-len(beside) // 2), 2, high_in=1.75) as (panels, drawn):
        flat = [axes for row in panels for axes in row]
        last_day = max(one.days[-1] for one in beside)
        for axes, one in zip(flat, beside, strict=False):
            _beside(axes, one, below, last_day)
        for axes in flat[len(beside) :]:
            axes.set_axis_off()
    return drawn[0]


def run_figure(run: Run, title: str, hours: Sequence[float]) -> str:
    """Return all of a run: water left and casing temperature of its walls, and through each wall at chosen hours."""
    with _figure(title, 1 + len(run.walls), 2) as (panels, drawn):
        _left(panels[0][0], run.hours, run.water_kg / max(run.water_kg.max(), 1e-9))
        if run.setup.water_stays:
            _named(panels[0][0], "Frozen, %", "hours")
        _casing(panels[0][1], run.hours, [(one.wall.name, one.casing_degc) for one in run.walls])
        for pair, one in zip(panels[1:], run.walls, strict=True):
            _profiles(pair, run, one, hours)
    return drawn[0]


# ---------------------------------------------------------------------------------------- panels


def _profiles(pair: Sequence[Axes], run: Run, wall: WallRun, hours: Sequence[float]) -> None:
    moments = [int(np.abs(run.hours - hour).argmin()) for hour in hours]
    water = "frozen, kg/m³" if run.setup.water_stays else "water, kg/m³"
    for axes, what, values in zip(pair, ("°C", water), (wall.profile_degc, wall.profile_kg_m3), strict=True):
        lines = [(f"{run.hours[moment]:.3g} h", values[moment]) for moment in moments]
        _curves(axes, wall.depth_mm, lines)
        _joints(axes, wall)
        _named(axes, f"{wall.wall.name}, {what}", "mm from the hot face")
        axes.set_xlim(0, wall.wall.thickness_mm)
    pair[1].set_ylim(bottom=0)


def _joints(axes: Axes, wall: WallRun) -> None:
    """Draw where one layer ends and the next begins, with the layers' names above."""
    ends = list(accumulate((layer.thickness_mm for layer in wall.wall.layers), initial=0.0))
    for end in ends[1:-1]:
        axes.axvline(end, color="0.5", linewidth=0.6)
    for begin, end, layer in zip(ends, ends[1:], wall.wall.layers, strict=False):
        axes.text((begin + end) / 2, 1.0, layer.name, transform=axes.get_xaxis_transform(), ha="center", va="bottom",
                  color="0.3", fontsize=7)  # fmt: skip


def _left(axes: Axes, hours: Numbers, p50: Numbers, p10: Numbers | None = None, p90: Numbers | None = None) -> None:
    if p10 is not None and p90 is not None:
        axes.fill_between(hours, 100 * p10, 100 * p90, facecolor="0.88", edgecolor="0.5", linewidth=0.5)
        for words, course in (("p10", p10), ("p90", p90)):
            _word(axes, hours, 100 * course, 0.6, words)
    axes.plot(hours, 100 * p50, color="black")
    if p10 is not None:
        _word(axes, hours, 100 * p50, 0.4, "p50")
    axes.set_ylim(0, 105)
    _named(axes, "Water left, %", "hours")


def _casing(axes: Axes, hours: Numbers, lines: Sequence[tuple[str, Numbers]]) -> None:
    _curves(axes, hours, lines)
    _named(axes, "Casing, °C", "hours")


def _beside(axes: Axes, one: Panel, below: str, last_day: float) -> None:
    """Draw a band with its middle, and what was read as rings that stand out where they lie on it."""
    axes.fill_between(one.days, one.low, one.high, facecolor="0.86", edgecolor="0.5", linewidth=0.5)
    axes.plot(one.days, one.mid, color="black", linestyle=_STROKES[1], linewidth=0.8)
    if one.read:
        axes.plot(*zip(*one.read, strict=True), linestyle="", marker="o", markersize=3.6, markerfacecolor="white",
                  markeredgecolor="black", markeredgewidth=1.0, clip_on=False)  # fmt: skip
    axes.set_title(one.title, pad=6)
    axes.set_xlabel(below)
    axes.set_xlim(0, last_day)
    if one.from_nought:
        axes.set_ylim(bottom=0)


def _curves(axes: Axes, along: Numbers, lines: Sequence[tuple[str, Numbers]]) -> None:
    """Draw lines over the same abscissa, each with its own stroke and its word on it, the words side by side."""
    for number, ((words, values), stroke) in enumerate(zip(lines, cycle(_STROKES), strict=False), start=1):
        axes.plot(along, values, color="black", linestyle=stroke)
        _word(axes, along, values, number / (len(lines) + 1), words)


def _word(axes: Axes, along: Numbers, values: Numbers, share: float, words: str) -> None:
    """Write on a line at a share of its length; where it lies on nought there, at half its height."""
    x = float(along[0] + share * (along[-1] - along[0]))
    if np.interp(x, along, values) < 0.05 * values.max():
        x = float(along[np.abs(values - values.max() / 2).argmin()])
    ground = {"boxstyle": "square,pad=0.1", "facecolor": "white", "edgecolor": "none"}
    axes.text(x, float(np.interp(x, along, values)), words, ha="center", va="center", fontsize=7, bbox=ground)


def _named(axes: Axes, title: str, below: str) -> None:
    axes.set_title(title, pad=12)
    axes.set_xlabel(below)
    axes.margins(x=0)


# ---------------------------------------------------------------------------------------- the whole


@contextmanager
def _figure(
    title: str, rows: int, columns: int, high_in: float = PANEL_IN
) -> Iterator[tuple[list[list[Axes]], list[str]]]:  # fmt: skip
    """Give panels to draw in, and a list into which the SVG text is put when they are done."""
    import matplotlib as mpl
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    drawn: list[str] = []
    with mpl.rc_context(_SETTINGS):
        figure = Figure(figsize=(WIDTH_IN, high_in * rows))
        FigureCanvasSVG(figure)
        panels: Any = figure.subplots(rows, columns, squeeze=False)
        yield panels.tolist(), drawn
        written = io.StringIO()
        figure.savefig(written, format="svg", metadata={"Date": None, "Creator": None, "Format": None, "Type": None})
    drawn.append(_inlined(written.getvalue(), title))


def _inlined(text: str, title: str) -> str:
    """Return a whole SVG file as one element that can stand in a document among others, and that WeasyPrint draws.

    No prolog; no style that reaches beyond it, nor any but by attributes; names that no other picture has; the papers'
    face; `title` for who cannot see it.
    """
    own = sha256(text.encode()).hexdigest()[:8]
    text = re.sub(r"<defs>\s*<style.*?</style>\s*</defs>\s*", "", text[text.index("<svg") :], count=1, flags=re.DOTALL)
    text = re.sub(r'<g id="[^"]*">', "<g>", text)
    text = re.sub(r'(id="|#)([mp][0-9a-f]{10})', rf"\1\2-{own}", text)
    text = text.replace("'DejaVu Sans'", f"{FONT.split(',')[0]}")
    text = re.sub(r'style="([^"]*)"', lambda found: _attributes(found[1]), text)
    head, rest = text[4:].split(">", 1)
    return f'<svg role="img" stroke-linejoin="round"{head}>\n <title>{escape(title)}</title>{rest}'


def _attributes(style: str) -> str:
    """Return a style as attributes: `fill: none; stroke-width: 0.6` as fill="none" stroke-width="0.6"."""
    return " ".join('{}="{}"'.format(*map(str.strip, one.split(":"))) for one in style.split(";") if one.strip())
