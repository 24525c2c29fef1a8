"""The one thing that would open a path, or let it end: tried by running the path with it, never guessed.

More hours and no closed days are tried first, of every path: nobody is asked to replace a lining for want of hours.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import chain

import numpy as np

from recover.base.measures import show_number
from recover.physics.staged import Heating
from recover.plan.compared import Calendar, open_path
from recover.plan.of_job import Taken
from recover.plan.paths import PathRun, run_path
from recover.plan.request import USUAL
from recover.plan.ways import WayCard, closed_because, ways
from recover.schedule.search import Tell
from recover.schedule.spells import Attendance

BARE = "removed"
"""The pan that is off."""

FEW = 8
"""Draws on which it is seen whether a path ends; one that does is run on all before anything is told of it."""

TRIAL_K = 5.0
"""What a trial may show of a controller's overshoot, where 25 K were assumed."""

HOURS = (8.0, USUAL.hours)
"""How long somebody may be there on a day, where fewer hours were asked for: the least that lets a path end is told."""


@dataclass(frozen=True, kw_only=True)
class _Tried:
    """A change in words, with the path, the kiln and the calendar that it is run with."""

    says: str
    card: WayCard
    of: Taken
    calendar: Calendar
    shifts: bool = False

    def ends(self, draws: int) -> bool:
        """Whether the path ends on so many draws; one that does not on a few is not run on all."""
        return all(
            run_path(self.card, self.of, self.calendar.attended, number, shifts=self.shifts).dry
            for number in sorted({min(FEW, draws), draws})
        )


def what_opens(cards: Sequence[WayCard], of: Taken, calendar: Calendar, draws: int, told: Tell) -> str:
    """Return the sentence of the first single change with which a path ends on so many draws; empty where none does.

    The paths come driest first; all are tried with more hours, and only the first with anything else.
    """
    hours = (one for card in cards for one in _more_hours(card, of, calendar))
    for tried in chain(hours, _changes(cards[0], of, calendar)):
        told(tried.says, 0.9)
        if tried.ends(draws):
            other = {"title": _inside(tried.card.title), "says": tried.says}
            return tried.says if tried.card == cards[0] else ways().opener["other"].format(**other)
    return ""


def most_hours(calendar: Calendar) -> str:
    """Return for how many hours a day somebody was there in what was tried, at the most."""
    return show_number(max(calendar.request.attendance.hours, *HOURS))


def _inside(title: str) -> str:
    """Return a title as it stands inside a sentence."""
    return title[0].lower() + title[1:]


def _more_hours(card: WayCard, of: Taken, calendar: Calendar) -> Iterator[_Tried]:
    """Yield longer days and open ones, the least more of people's time first; none where all of it was asked for."""
    asked = calendar.request
    for hours in (asked.attendance.hours, *(one for one in HOURS if one > asked.attendance.hours)):
        longer = hours > asked.attendance.hours
        there = _attended(asked.attendance, hours) if longer else asked.attendance
        for closed in dict.fromkeys((asked.closed, ())):
            name = "_".join([*(["hours"] if longer else []), *(["opened"] if closed != asked.closed else [])])
            if name:
                more = replace(calendar, request=replace(asked, attendance=there, closed=closed))
                says = ways().opener[name].format(hours=show_number(hours))
                yield _Tried(says=says, card=card, of=of, calendar=more)


def _attended(there: Attendance, hours: float) -> Attendance:
    """Return as long an attendance that begins when this does."""
    until_h = there.from_h + hours
    return Attendance(there.from_h, until_h if until_h <= 24 else until_h - 24)


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
        return ways().opener["cleared"].format(what=what, title=_inside(first.title), days=days)
    driest = [run.way for run in sorted(ran, key=lambda run: float(np.median(run.days[-1].left)))]
    also = what_opens(driest, clear, calendar, FEW, told) if driest else ""
    title = driest[0].title if driest else ""
    told_of = {"what": what, "title": title, "also": also, "hours": most_hours(calendar)}
    return ways().opener["cleared_and" if also else "cleared_in_vain"].format(**told_of)


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


def _changes(card: WayCard, of: Taken, calendar: Calendar) -> Iterator[_Tried]:
    """Yield single changes of the kiln, or of what runs alone, that a path may end with, the easiest first."""
    for name, changed in _changed(card, of):
        shifts = name == "shifts"
        yield _Tried(says=ways().opener[name], card=card, of=changed, calendar=calendar, shifts=shifts)


def _changed(card: WayCard, of: Taken) -> Iterator[tuple[str, Taken]]:
    """Yield the name of each change, and the kiln with it; in shifts it is the same kiln."""
    heating = of.heating
    if "overshoot_k" in of.controller.assumed:
        yield "overshoot", replace(of, controller=replace(of.controller, overshoot_k=TRIAL_K))
    if card.air in ("workshop", "room") and not of.movers_alone:
        yield "movers_alone", replace(of, movers_alone=True)
    if card.air == "enclosure" and not of.enclosure_alone:
        yield "enclosure_alone", replace(of, enclosure_alone=True)
    if heating and has_pan(heating):
        yield "pan", replace(of, heating=replace(heating, pan=BARE))
    yield "shifts", of
    if changed := with_new_boards(of):
        yield "boards", changed


def has_pan(heating: Heating) -> bool:
    """Whether a floor slab lies, or may lie, in a pan."""
    floor = any(stack.part == "floor" for stack in heating.lining.stacks)
    return floor and heating.pan not in (BARE, "raised")
