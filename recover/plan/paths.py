"""Runs a path from soaked to fired on one state of water: boards out, days from outside, boards in, its own elements.

A path is run on so many draws of the same kiln; every day begins from where the day before left each of them. What is
left always refers to the water of the first day.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from math import ceil

import numpy as np

from recover.base.errors import QuantityError
from recover.controller.programme import Programme
from recover.physics.around import Stretches
from recover.physics.drying import Numbers
from recover.physics.ensemble import Draws, Ensemble, carried
from recover.physics.grid import ROUGH
from recover.physics.staged import Heating, setups_of
from recover.physics.stages import below_boiling_degc
from recover.plan.of_job import Boards, Taken
from recover.plan.outside import DAY_H, SLOW, Stood, kwh, run_day
from recover.plan.own import OwnDays, conditions, may_follow, own_days
from recover.plan.ways import SHIFTS, WayCard, runs_alone, way, ways
from recover.plan.whole import BoardsDo, PhaseName
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
class RunDay:
    """A day of a path as all draws went through it: 24 h from `starts_h` after its opening, before which all is off.

    `on_h` is for how long its way is on, `attended_h` for how long somebody is there; `spell` is what its own elements
    do, each hold up to `overshoot_k` hotter than it is set, and `programme` what the controller runs of it, None by
    hand. `around` is what was around the kiln from each hour of the day on. `left` is the share of the first water at
    its end, `kwh` what it takes, both by draw.
    """

    phase: PhaseName
    way: WayCard
    boards: BoardsDo
    on_h: float
    attended_h: float
    did: Ensemble
    around: Stretches
    left: Numbers
    kwh: Numbers
    starts_h: float = 0.0
    spell: Spell | None = None
    programme: Programme | None = None
    overshoot_k: float = 0.0
    passes_boiling: bool = False

    @property
    def litres(self) -> Numbers:
        """What leaves the lining on the day, by draw [kg]."""
        return self.did.water_kg[:, 0] - self.did.water_kg[:, -1]


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
        wet = [day for day, one in enumerate(self.days) if np.quantile(one.left, share) > _most_left()]
        first = wet[-1] + 1 if wet else 0
        return first if first < len(self.days) else None


def run_in_shifts(run: PathRun, of: Taken, attended: AttendedOn) -> PathRun:
    """Run a path that was run once more, its own elements attended day and night; what is outside stays as it was."""
    heating = _heating(of, len(run.stood.draws.setups))
    walk = _Walk(card=run.way, of=of, attended=attended, heating=heating, shifts=True)
    walk.days, walk.stood = [one for one in run.days if one.phase == "outside"], run.stood
    return walk.own_elements()


def run_path(card: WayCard, of: Taken, attended: AttendedOn, draws: int, *, shifts: bool = False) -> PathRun:
    """Run a path on so many draws; in `shifts` its own elements are attended day and night.

    Raises QuantityError for a kiln without anything to dry, SimulationError where a run cannot be trusted.
    """
    return _Walk(card=card, of=of, attended=attended, heating=_heating(of, draws), shifts=shifts).run()


def _heating(of: Taken, draws: int) -> Heating:
    if of.heating is None:
        raise QuantityError("path", "no wet lining", "a kiln whose lining is planned for")
    return replace(of.heating, draws=draws)


def hot_layers(did: Ensemble) -> list[int]:
    """Return the layers at the hot faces of walls that begin wet, among all layers of all walls."""
    found, number = [], 0
    for wall in did.setups[0].walls:
        if wall.layers[0].water_kg_m3 > 0:
            found.append(number)
        number += len(wall.layers)
    return found


def hot_kg(did: Ensemble) -> Numbers:
    """Return the water in the layers at hot faces (n_draw, n_hour)."""
    return np.asarray(did.layer_kg[:, :, hot_layers(did)].sum(axis=2))


def _most_left() -> float:
    return own_limits()["plan_water_left"].value


@dataclass(kw_only=True)
class _Walk:
    """A walk along a path; `stood` is where the draws stand, `days` what they went through so far."""

    card: WayCard
    of: Taken
    attended: AttendedOn
    heating: Heating
    shifts: bool
    days: list[RunDay] = field(default_factory=list)
    own: OwnDays | None = None
    fitted: bool = False
    stood: Stood = field(init=False)
    whole: Draws = field(init=False)
    first_kg: Numbers = field(init=False)
    near_kg: Numbers = field(init=False)

    def __post_init__(self) -> None:
        if self.card.stripped:
            self.heating = replace(self.heating, new=self.of.strippable)
        self.whole = self._draws(())
        self.stood = Stood.begin(self._draws(self._out) if self._out else self.whole)
        self.first_kg = self.stood.water_kg
        self.near_kg = self.stood.draws.near_kg(self.stood.standing, ways().entry_mm.mid)

    def run(self) -> PathRun:
        """Walk to the end: dry, or as far as it goes."""
        if self.card.air != "own":
            self._from_outside()
        return self.own_elements()

    def own_elements(self) -> PathRun:
        """Go on with its own elements from where it stands, where they may follow."""
        stood = self.stood
        if not self._dry and may_follow(self.of) and self._entry_opens:
            self._own()
        return PathRun(
            way=self.card, shifts=self.shifts, days=tuple(self.days), dry=self._dry, own=self.own, stood=stood
        )  # fmt: skip

    # ------------------------------------------------------------------------------------ the kiln

    @property
    def _out(self) -> Boards:
        """The layers that are out while it is dried from outside."""
        if not self.of.boards_can_go or self.card.air == "own":
            return ()
        return (*self.of.going, *(self.of.strippable if self.card.stripped else ()))

    def _draws(self, out: Boards) -> Draws:
        """Return the draws of the kiln with these layers out."""
        return Draws.of(setups_of(replace(self.heating, out=out), compact=True), ROUGH, SLOW)

    @property
    def _dry(self) -> bool:
        return bool(self.days) and bool(np.quantile(self.days[-1].left, WATER_SHARE) <= _most_left())

    # ------------------------------------------------------------------------------------ from outside

    def _from_outside(self) -> None:
        """Dry from outside until own elements may follow, or it is dry, or four weeks are over; then wait for parts."""
        if self._out:
            self._outside_day("out", idle=True)
        for _ in range(int(ways().longest_days.mid)):
            self._outside_day("")
            if self._dry or (self._parts_are_there and may_follow(self.of) and self._own_may_follow):
                if self.fitted or self._dry:
                    break
                self._fit()  # on that day it takes up damp, and dries on from outside if the entry shuts again
                if self._own_may_follow:
                    break
        while not self._parts_are_there:
            self._outside_day("", idle=True)
        if not self.fitted and not self.of.gate_open:
            self._fit()

    @property
    def _parts_are_there(self) -> bool:
        return len(self.days) >= (self.of.lead_days or 0)

    @property
    def _own_may_follow(self) -> bool:
        """Whether the entry may be read, and so little water is left that little is to be held below boiling."""
        least = own_limits()["plan_boiling_left"].value
        return self._entry_opens and bool(np.quantile(self.days[-1].left, WATER_SHARE) <= least)

    def _outside_day(self, boards: BoardsDo, *, idle: bool = False) -> None:
        there_h = self.attended(len(self.days))
        visited = there_h > 0 and self.attended(len(self.days) + 1) > 0  # what runs alone is visited every day
        alone = runs_alone(self.card, self.of) and visited and not idle
        on_h = 0.0 if idle else DAY_H if alone else max(there_h - own_limits()["plan_ends_before_h"].value, 0.0)
        did, around, self.stood = run_day(self.card, self.of, self.stood, on_h)
        self.days.append(RunDay(
            phase="outside", way=self.card, boards=boards, on_h=on_h,
            attended_h=min(ways().visit_h.mid, there_h) if alone else there_h, did=did, around=around,
            left=self._left(did), kwh=kwh(self.card, self.of, did, on_h),
        ))  # fmt: skip

    @property
    def _entry_opens(self) -> bool:
        """Whether a reading has opened the entry, or the hot faces have dried so far, in nine draws of ten, that it is
        taken to."""
        return self.of.gate_open or bool(self.days and np.quantile(self._near_left(), 0.9) <= ways().entry_left.mid)

    def _near_left(self) -> Numbers:
        """Return the share of its first water that the hot face still holds where the elements lie, by draw."""
        near_kg = self.stood.draws.near_kg(self.stood.standing, ways().entry_mm.mid)
        return np.asarray(near_kg / np.maximum(self.near_kg, 1e-9))

    def _fit(self) -> None:
        """Fit parts and have them tested, new boards first, on days on which somebody comes, with nothing warm."""
        for number in range(ceil(ways().fitting_days.mid)):
            while not self.attended(len(self.days)):
                self._outside_day("", idle=True)
            boards: BoardsDo = "in" if self._out and number == 0 else ""
            if boards:
                standing = carried(self.stood.draws, self.stood.standing, self.whole)
                self.stood = replace(self.stood, draws=self.whole, standing=standing)
            self._outside_day(boards, idle=True)
        self.fitted = True

    # ------------------------------------------------------------------------------------ own elements

    def _own(self) -> None:
        """Dry on with its own elements; the search takes the days as they come on the calendar."""
        begun = len(self.days)
        there_h = max(self._may_heat_h(begun + day) for day in range(7))
        gives_kg_h = float(np.median(self.stood.gave_kg_h))
        under = conditions(self.of, self.heating, there_h, gives_kg_h=gives_kg_h, behind=self._stands_behind)
        begin = Begin(self.whole.at_pace(BRISK), self.stood.standing, self.first_kg)
        self.own = own = own_days(begin, under, self.of, lambda day: self._may_heat_h(begun + day))
        hottest, found = below_boiling_degc(self.heating.height_m), own.found
        for spell, programme, did, around in zip(found.spells, own.programmes, found.did, found.around, strict=True):
            self.days.append(RunDay(
                phase="own", way=way("own"), boards="", on_h=spell.hours if spell else 0.0,
                attended_h=self._there_h(len(self.days)) if spell else 0.0, did=did, around=around,
                left=self._left(did), kwh=did.heater_kwh[:, -1], starts_h=under.limits.starts_after.value, spell=spell,
                programme=programme, overshoot_k=own.overshoot_k,
                passes_boiling=spell is not None and spell.top_degc > hottest,
            ))  # fmt: skip

    @property
    def _stands_behind(self) -> bool:
        """Whether more of the water stands behind the hot face than in it, in half of the draws."""
        if not self.days:
            return False
        last = self.days[-1].did
        return bool(np.median(hot_kg(last)[:, -1] / np.maximum(last.water_kg[:, -1], 1e-9)) < 0.5)

    def _there_h(self, day: int) -> float:
        """Return how long somebody is there; in shifts until the next day opens, where somebody comes on it."""
        hours = self.attended(day)
        return DAY_H if self.shifts and hours and self.attended(day + 1) else hours

    def _may_heat_h(self, day: int) -> float:
        """Return how long of it counts for heating."""
        return min(self._there_h(day), SHORTEST_DAY_H) if self.shifts else self._there_h(day)

    def _left(self, did: Ensemble) -> Numbers:
        return np.asarray(did.water_kg[:, -1] / self.first_kg)
