"""The one thing that would open a path, or let it end: tried by running the path with it, never guessed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from recover.physics.staged import Heating
from recover.plan.compared import Calendar, open_path
from recover.plan.of_job import Taken
from recover.plan.paths import AttendedOn, run_path
from recover.plan.ways import WayCard, closed_because, ways
from recover.plan.whole import Path
from recover.schedule.search import Tell

BARE = "removed"
"""The pan that is off."""

FEW = 16
"""Draws on which paths are compared; the one that is followed is run on all."""

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

    Where soaked boards stand in the way even then, with those replaced as well.
    """
    clear = replace(of, shut=())
    what = ", ".join(dict.fromkeys(label for one in of.shut for label in one.by))
    for name, kiln in (("cleared", clear), ("cleared_and_boards", with_new_boards(clear))):
        if kiln and (first := _first(kiln, calendar, told)) and first.first_firing:
            days = (first.first_firing.p90 - calendar.date(0)).days + 1
            title = first.title[0].lower() + first.title[1:]
            return ways().opener[name].format(what=what, title=title, days=days)
    return ways().opener["cleared_in_vain"].format(what=what)


def _first(of: Taken, calendar: Calendar, told: Tell) -> Path | None:
    """Return the path that ends first, of those that are open; None where none ends."""
    ends = []
    for card in ways().way:
        if not closed_because(card, of):
            told(card.title, 0.9)
            run = run_path(card, of, calendar.attended, FEW)
            ends += [open_path(run, of, calendar)] if run.dry else []
    return min(ends, key=lambda path: path.first_firing.p90 if path.first_firing else date.max, default=None)


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
