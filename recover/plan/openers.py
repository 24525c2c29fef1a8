"""The one thing that would open a path, or let it end: tried by running the path with it, never guessed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

import numpy as np

from recover.physics.staged import Heating
from recover.plan.compared import Calendar, open_path
from recover.plan.of_job import Taken
from recover.plan.paths import AttendedOn, PathRun, run_path
from recover.plan.ways import WayCard, closed_because, ways
from recover.schedule.search import Tell

BARE = "removed"
"""The pan that is off."""

FEW = 8
"""Draws on which it is seen whether a path ends; one that does is run on all before anything is told of it."""

TRIAL_K = 5.0
"""What a trial may show of a controller's overshoot, where 25 K were assumed."""

Tried = tuple[str, Taken, bool]
"""The name of a change, the kiln with it, and whether its own elements are attended day and night."""


def what_opens(card: WayCard, of: Taken, attended: AttendedOn, draws: int, told: Tell) -> str:
    """Return the sentence of the first single change with which a path ends on all draws; empty where none does."""
    for name, changed, shifts in _changes(card, of):
        told(ways().opener[name], 0.9)
        if run_path(card, changed, attended, draws, shifts=shifts).dry:
            return ways().opener[name]
    return ""


def when_cleared(of: Taken, calendar: Calendar, told: Tell) -> str:
    """Return what would end with all that shuts ways cleared by name, run on few draws, or that nothing would.

    Where something else stands in the way even then, with one more change that the driest path is tried with.
    """
    clear = replace(of, shut=())
    what = ", ".join(dict.fromkeys(label for one in of.shut for label in one.by))
    ran = _ran(clear, calendar, told)
    ends = [path for path in (open_path(run, clear, calendar) for run in ran) if path.first_firing]
    first = min(ends, key=lambda path: path.first_firing.p90 if path.first_firing else date.max, default=None)
    if first and first.first_firing:
        days = (first.first_firing.p90 - calendar.date(0)).days + 1
        title = first.title[0].lower() + first.title[1:]
        return ways().opener["cleared"].format(what=what, title=title, days=days)
    nearest = min(ran, key=lambda run: float(np.median(run.days[-1].left)), default=None)
    also = what_opens(nearest.way, clear, calendar.attended, FEW, told) if nearest else ""
    return ways().opener["cleared_and" if also else "cleared_in_vain"].format(what=what, also=also)


def _ran(of: Taken, calendar: Calendar, told: Tell) -> list[PathRun]:
    """Return the paths that are open, run on few draws."""
    found = []
    for card in ways().way:
        if not closed_because(card, of):
            told(card.title, 0.9)
            found.append(run_path(card, of, calendar.attended, FEW))
    return found


def with_new_boards(of: Taken) -> Taken | None:
    """Return a kiln whose soaked layers behind the hot face were replaced before the first day; None without such."""
    if not of.strippable or of.heating is None:
        return None
    return replace(of, heating=replace(of.heating, new=of.strippable), strippable=())


def _changes(card: WayCard, of: Taken) -> Iterator[Tried]:
    """Yield single changes that a path may end with, the easiest first."""
    heating = of.heating
    if "overshoot_k" in of.controller.assumed:
        yield "overshoot", replace(of, controller=replace(of.controller, overshoot_k=TRIAL_K)), False
    if card.air in ("workshop", "room") and not of.movers_alone:
        yield "movers_alone", replace(of, movers_alone=True), False
    if card.air == "enclosure" and not of.enclosure_alone:
        yield "enclosure_alone", replace(of, enclosure_alone=True), False
    if heating and has_pan(heating):
        yield "pan", replace(of, heating=replace(heating, pan=BARE)), False
    yield "shifts", of, True
    if changed := with_new_boards(of):
        yield "boards", changed, False


def has_pan(heating: Heating) -> bool:
    """Whether a floor slab lies, or may lie, in a pan."""
    floor = any(stack.part == "floor" for stack in heating.lining.stacks)
    return floor and heating.pan not in (BARE, "raised")
