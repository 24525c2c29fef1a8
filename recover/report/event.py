"""What happened, as a report shows it: the side view with the water line, and what the water reached."""

from __future__ import annotations

from typing import Literal, cast

from recover.base.addresses import Address, within
from recover.judged.assessment import Assessment
from recover.judged.wetmap import STATES, Wet, element_heights_mm, rise_mm
from recover.report.drawing import Datum, SideView, describe, side_view
from recover.report.paper import View, capital, runs, span
from recover.report.words import words


def events(found: Assessment) -> list[View]:
    """Return, kiln by kiln, the drawn side view and the map of what the water reached."""
    return [
        {"kiln": found.answers.label(kiln), "drawing": _drawing(found, kiln), "map": _map(found, kiln)}
        for kiln in found.answers.kilns
    ]


def _drawing(found: Assessment, kiln: Address) -> View:
    """Return the side view as SVG with its words; empty where not even the kiln's height is known."""
    top = found.answers.number("identity.height", kiln)
    if top is None:
        return {"svg": "", "words": words().drawing.none}
    view = _side_view(found, kiln, top)
    return {"svg": side_view(view), "words": describe(view)}


def _side_view(found: Assessment, kiln: Address, top_mm: float) -> SideView:
    answers = found.answers
    named = answers.questions.printed("heights")
    heights = {name: answers.number(name, kiln) for name in named}
    bottom, upper = heights["identity.box_bottom"], heights["identity.box_top"]
    above = answers.look("event.above", kiln)
    line = answers.number("event.water_line", kiln)
    opening = answers.word("identity.opening", kiln)
    return SideView(
        top_mm=top_mm, water_line_mm=line,
        rise_mm=rise_mm(answers, kiln) if line and _in_lining(line, heights) else 0.0,
        datums=tuple(Datum(named[name], height) for name, height in heights.items() if height is not None),
        stand_top_mm=heights["identity.stand_top"], floor_face_mm=heights["identity.floor_face"],
        lid_joint_mm=heights["identity.lid_joint"],
        box_mm=(bottom, upper) if bottom is not None and upper is not None and bottom < upper else None,
        elements_mm=element_heights_mm(answers, kiln), inside_width_mm=answers.number("identity.inside_width", kiln),
        wall_mm=_wall_mm(found, kiln),
        opening=cast(Literal["top", "front", "unknown"], opening if opening in ("top", "front") else "unknown"),
        from_above=above is not None and any("none" not in one for one in above),
        imperial=found.profile.imperial,
        missing=tuple(named[name] for name, height in heights.items() if height is None and _asked(found, name, kiln)),
    )  # fmt: skip


def _in_lining(line_mm: float, heights: dict[str, float | None]) -> bool:
    """Say whether the line reached the lining, as far as its lower edge is known."""
    under = heights["identity.floor_under"]
    return under is None or line_mm >= under


def _asked(found: Assessment, name: str, kiln: Address) -> bool:
    return kiln in found.answers.instances(found.answers.questions.questions[name])


def _wall_mm(found: Assessment, kiln: Address) -> float | None:
    """Return the thickness of the wall, where each of its layers is known."""
    layers = found.answers.components("layer", of=f"{kiln}/part/wall")
    known = [found.answers.number("layer.thickness", at) for at in layers]
    return sum(one for one in known if one) if known and None not in known else None


def _map(found: Assessment, kiln: Address) -> list[View]:
    """Return the rows of the map, components of the same state and reason together, the wettest first."""
    grouped: dict[tuple[str, str], list[str]] = {}
    for wet in sorted((one for one in found.wet if within(one.at, "kiln") == kiln), key=_by_wetness):
        grouped.setdefault((_state(wet), wet.reason), []).append(_label(found, wet))
    return [
        {"components": runs(labels), "state": state, "reason": reason} for (state, reason), labels in grouped.items()
    ]


def _by_wetness(wet: Wet) -> int:
    return -STATES.index(wet.states[-1])


def _state(wet: Wet) -> str:
    return span(wet.states[0], wet.states[-1])


def _label(found: Assessment, wet: Wet) -> str:
    label = capital(found.answers.label_in_kiln(wet.at))
    return f"{words().wet.terminal} {label.rsplit(' ', 1)[-1]}" if wet.kind == "terminal" else label
