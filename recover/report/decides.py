"""What decides how long a kiln takes to dry, and what is best measured: as plain values and as sentences."""

from __future__ import annotations

from typing import cast

from recover.base.measures import show_number
from recover.physics.materials import MaterialFamily
from recover.physics.sensitivity import Sensitivity
from recover.report.paper import View
from recover.report.words import words

WORTH_READING = 0.95
"""Of the span: a reading that leaves more of it is lost among so few draws."""


def decides(found: Sensitivity) -> View:
    """Return a sensitivity as plain values, with the words of its inputs and readings, and as sentences."""
    told = words().decides
    shown: View = {
        "draws": found.draws, "outcome": found.outcome, "chance": found.chance,
        "p10": found.spread.p10, "p50": found.spread.p50, "p90": found.spread.p90,
        "inputs": [
            {"input": one.input, "says": _input(one.input), "correlation": one.correlation} for one in found.inputs
        ],
        "readings": [
            {"reading": one.reading, "says": told.reading[one.reading], "share_left": one.share}
            for one in found.readings
        ],
    }  # fmt: skip
    return {**shown, "lines": [*_lines(shown), told.assumed]}


def _lines(shown: View) -> list[str]:
    told, draws, outcome = words().decides, show_number(shown["draws"]), words().decides.outcome[shown["outcome"]]
    inputs = "; ".join(f"{one['says']} {one['correlation']:+.2f}" for one in shown["inputs"])
    worth = [one for one in shown["readings"] if one["share_left"] <= WORTH_READING]
    readings = "; ".join(f"{one['says']}, {100 * one['share_left']:.0f} %" for one in worth)
    chance = f"{shown['chance']:.2f}"
    return [
        told.inputs(outcome=outcome, draws=draws, chance=chance, inputs=inputs)
        if inputs else told.none(outcome=outcome, draws=draws),
        told.readings(readings=readings) if worth else told.none_narrows,
    ]  # fmt: skip


def _input(name: str) -> str:
    """Say an input in words of the trade: of a family of materials, or of the kiln."""
    quantity, _, family = name.partition(" of ")
    told = words().decides
    return told.lining[quantity](of=told.family[cast(MaterialFamily, family)]) if family else told.kiln[quantity]
