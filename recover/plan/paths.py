"""Runs a path from soaked to fired on one state of water: boards out, days from outside, boards in, its own elements.

A path is run on so many draws of the same kiln; every day begins from where the day before left each of them. What is
left always refers to the water of the first day.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import ceil

import numpy as np

from recover.base.errors import QuantityError
from recover.physics.staged import Heating
from recover.plan.clock import DAY_H
from recover.plan.lived import LivedKiln
from recover.plan.of_job import Taken
from recover.plan.outside import Stood
from recover.plan.own import OwnDays, conditions, may_follow, own_days
from recover.plan.walk import RunDay, Walk, hot_kg, most_left
from recover.plan.ways import SHIFTS, WayCard, runs_alone, ways
from recover.plan.whole import BoardsDo
from recover.profiles import own_limits
from recover.schedule.design import WATER_SHARE
from recover.schedule.heated import BRISK
from recover.schedule.search import Begin
from recover.schedule.spells import Spell

AttendedOn = Callable[[int], float]
"""How many hours somebody is there on a day, counted from 0; nought where nobody comes."""

SHORTEST_DAY_H = 23.0
"""What may lie between two openings, where clocks are put forward: paths know no dates."""


@dataclass(frozen=True, kw_only=True)
class PathRun:
    """A path run to its end: its days, and those of its own elements as they were found, where it came to them.

    In `shifts` its own elements are attended day and night. `dry` says that it ends. `stood` is where the draws stood
    when the way from outside was done.
    """

    way: WayCard
    shifts: bool
    days: tuple[RunDay, ...]
    dry: bool
    own: OwnDays | None
    stood: Stood

    @property
    def id(self) -> str:
        """The id of the path: that of its way, and whether it goes on in shifts."""
        return f"{self.way.id}{SHIFTS}" if self.shifts else self.way.id

    def dry_on(self, share: float) -> int | None:
        """Return the day, from 0, by whose end this share of the draws is dry for good; None where it never is."""
        wet = [day for day, one in enumerate(self.days) if np.quantile(one.left, share) > most_left()]
        first = wet[-1] + 1 if wet else 0
        return first if first < len(self.days) else None


def run_in_shifts(run: PathRun, of: Taken, attended: AttendedOn) -> PathRun:
    """Run a path that was run once more, its own elements attended day and night; what is outside stays as it was."""
    heating = _heating(of, len(run.stood.draws.setups))
    walk = _Path(card=run.way, of=of, attended=attended, heating=heating, shifts=True)
    walk.days, walk.stood = [one for one in run.days if one.phase == "outside"], run.stood
    return walk.own_elements()


def run_path(card: WayCard, of: Taken, attended: AttendedOn, draws: int, *, shifts: bool = False) -> PathRun:
    """Run a path on so many draws; in `shifts` its own elements are attended day and night.

    Raises QuantityError for a kiln without anything to dry, SimulationError where a run cannot be trusted.
    """
    return _Path(card=card, of=of, attended=attended, heating=_heating(of, draws), shifts=shifts).run()


def run_on(
    lived: LivedKiln, card: WayCard, chosen: Sequence[int], day: int, attended: AttendedOn, *, shifts: bool
) -> PathRun:
    """Run a path on from where some of the draws stand that lived through its first days; until `day` (from 0) it is
    left alone, unless it is dry by then: nothing is left to plan."""
    path = _Path(
        card=card, of=lived.of, heating=lived.heating, chosen=tuple(chosen), attended=attended, shifts=shifts,
        fitted=lived.fitted,
    )  # fmt: skip
    path.days, path.stood = [one.only(chosen) for one in lived.days], lived.stood.only(chosen)
    while len(path.days) < day and not path.ends:
        path.outside_day("", 0.0, 0.0)
    return path.run()


def _heating(of: Taken, draws: int) -> Heating:
    if of.heating is None:
        raise QuantityError("path", "no wet lining", "a kiln whose lining is planned for")
    return replace(of.heating, draws=draws)


@dataclass(kw_only=True)
class _Path(Walk):
    """A walk along a path: from outside as long as that is to be, then by its own elements."""

    attended: AttendedOn
    shifts: bool
    own: OwnDays | None = None
    fitted: bool = False

    def run(self) -> PathRun:
        """Walk to the end: dry, or as far as it goes."""
        if self.card.air != "own" and not self._past:
            self._from_outside()
        return self.own_elements()

    @property
    def ends(self) -> bool:
        """Whether it is dry, and no day is left to go: its own elements were on, or may be."""
        return self.dry and bool(self._past or (self.fitted and self._own_is_next))

    def own_elements(self) -> PathRun:
        """Go on with its own elements from where it stands, where they may follow."""
        stood = self.stood
        if not self.dry and may_follow(self.of) and self._entry_opens:
            self._own()
        return PathRun(
            way=self.card, shifts=self.shifts, days=tuple(self.days), dry=self.dry, own=self.own, stood=stood
        )  # fmt: skip

    # ------------------------------------------------------------------------------------ from outside

    def _from_outside(self) -> None:
        """Dry from outside until own elements may follow, or it is dry, or its days are over; then wait for parts.

        Its days are those on which something runs, and end by the calendar as well: closed days dry nothing.
        """
        if self.out and not self.days:
            self._next_outside("out", idle=True)
        ran, ends = 0, len(self.days) + int(ways().within_days.mid)
        while ran < ways().longest_days.mid and len(self.days) < ends:
            if self.fitted and self._own_is_next:
                break
            self._next_outside("")
            ran += self.days[-1].on_h > 0
            if self.dry or self._own_is_next:
                if self.fitted or self.dry:
                    break
                self._fit()  # on that day it takes up damp, and dries on from outside if the entry shuts again
                if self._own_may_follow:
                    break
        while not self._parts_are_there:
            self._next_outside("", idle=True)
        if not self.fitted and not self.of.gate_open:
            self._fit()

    @property
    def _own_is_next(self) -> bool:
        return self._parts_are_there and may_follow(self.of) and self._own_may_follow

    @property
    def _parts_are_there(self) -> bool:
        return len(self.days) >= (self.of.lead_days or 0)

    @property
    def _own_may_follow(self) -> bool:
        """Whether the entry may be read, and so little water is left that little is to be held below boiling."""
        least = own_limits()["plan_boiling_left"].value
        return self._entry_opens and bool(np.quantile(self.days[-1].left, WATER_SHARE) <= least)

    def _next_outside(self, boards: BoardsDo, *, idle: bool = False) -> None:
        there_h = self.attended(len(self.days))
        visited = there_h > 0 and self.attended(len(self.days) + 1) > 0  # what runs alone is visited every day
        alone = runs_alone(self.card, self.of) and visited and not idle
        on_h = 0.0 if idle else DAY_H if alone else max(there_h - own_limits()["plan_ends_before_h"].value, 0.0)
        self.outside_day(boards, on_h, min(ways().visit_h.mid, there_h) if alone else there_h)

    @property
    def _entry_opens(self) -> bool:
        """Whether a reading has opened the entry, or the hot faces have dried so far, in nine draws of ten, that it is
        taken to."""
        return self.of.gate_open or bool(self.days and np.quantile(self.near_left(), 0.9) <= ways().entry_left.mid)

    def _fit(self) -> None:
        """Fit parts and have them tested, new boards first, on days on which somebody comes, with nothing warm."""
        for number in range(ceil(ways().fitting_days.mid)):
            while not self.attended(len(self.days)):
                self._next_outside("", idle=True)
            boards: BoardsDo = "in" if self.out and number == 0 else ""
            if boards:
                self.boards_in()
            self._next_outside(boards, idle=True)
        self.fitted = True

    # ------------------------------------------------------------------------------------ own elements

    def _own(self) -> None:
        """Dry on with its own elements; the search takes the days as they come on the calendar."""
        begun = len(self.days)
        there_h = max(self._may_heat_h(begun + day) for day in range(7))
        gives_kg_h = float(np.median(self.stood.gave_kg_h))
        under = conditions(self.of, self.heating, there_h, gives_kg_h=gives_kg_h, behind=self._stands_behind)
        begin = Begin(self.whole.at_pace(BRISK), self.stood.standing, self.first_kg, self._past)
        self.own = own = own_days(begin, under, self.of, lambda day: self._may_heat_h(begun + day))
        found = own.found
        for spell, programme, did, around in zip(found.spells, own.programmes, found.did, found.around, strict=True):
            day = self._as_own(spell, self._there_h(len(self.days)) if spell else 0.0)
            sets = {"programme": programme, "overshoot_k": own.overshoot_k}
            self._add(did, around, day | sets, did.heater_kwh[:, -1])

    @property
    def _past(self) -> tuple[Spell, ...]:
        """The days of its own elements that are behind it."""
        return tuple(one.spell for one in self.days if one.spell)

    @property
    def _stands_behind(self) -> bool:
        """Whether more of the water stood behind the hot face than in it, in half of the draws, when the way from
        outside was done."""
        outside = [one for one in self.days if one.phase == "outside"]
        if not outside:
            return False
        last = outside[-1].did
        return bool(np.median(hot_kg(last)[:, -1] / np.maximum(last.water_kg[:, -1], 1e-9)) < 0.5)

    def _there_h(self, day: int) -> float:
        """Return how long somebody is there; in shifts until the next day opens, where somebody comes on it."""
        hours = self.attended(day)
        return DAY_H if self.shifts and hours and self.attended(day + 1) else hours

    def _may_heat_h(self, day: int) -> float:
        """Return how long of it counts for heating."""
        return min(self._there_h(day), SHORTEST_DAY_H) if self.shifts else self._there_h(day)
