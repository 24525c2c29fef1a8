"""Runs a path from soaked to fired on one state of water: boards out, days from outside, boards in, its own elements.

A path is run on so many draws of the same kiln; every day begins from where the day before left each of them. What is
left always refers to the water of the first day.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from math import ceil, inf

import numpy as np

from recover.base.errors import SimulationError
from recover.physics.draws import Values
from recover.physics.ensemble import Draws, Ensemble, carried
from recover.physics.grid import ROUGH
from recover.physics.staged import Heating, setups_of
from recover.plan.of_job import Boards, Taken
from recover.plan.outside import DAY_H, SLOW, Stood, kwh, run_day
from recover.plan.ways import WayCard, runs_alone, way, ways
from recover.plan.whole import BoardsDo, PhaseName
from recover.profiles import own_limits
from recover.schedule.search import Begin, Found, search
from recover.schedule.spells import Spell

AttendedOn = Callable[[int], float]
"""How many hours somebody is there on a day, counted from 0; nought where nobody comes."""


@dataclass(frozen=True, kw_only=True)
class RunDay:
    """A day of a path as all draws went through it: 24 h from its opening.

    `on_h` is for how long its way is on, `attended_h` for how long somebody is there; `spell` is what its own elements
    do. `left` is the share of the first water at its end, `kwh` what it takes, both by draw.
    """

    phase: PhaseName
    way: WayCard
    boards: BoardsDo
    on_h: float
    attended_h: float
    spell: Spell | None
    did: Ensemble
    left: Values
    kwh: Values

    @property
    def litres(self) -> Values:
        """What leaves the lining on the day, by draw [kg]."""
        return self.did.water_kg[:, 0] - self.did.water_kg[:, -1]


@dataclass(frozen=True, kw_only=True)
class PathRun:
    """A path run to its end: its days, and what the search of its own elements found, where it came to them.

    `dry` says that it ends: so few draws are left wet that a fresh set keeps the promise too.
    """

    way: WayCard
    shifts: bool
    days: tuple[RunDay, ...]
    dry: bool
    found: Found | None

    @property
    def id(self) -> str:
        """The id of the path: that of its way, with its own elements day and night marked."""
        return f"{self.way.id}_shifts" if self.shifts else self.way.id

    def dry_on(self, share: float) -> int | None:
        """Return the day, from 0, by whose end this share of the draws is dry for good; None where it never is."""
        limit = own_limits()["plan_water_left"].value
        wet = [day for day, one in enumerate(self.days) if np.quantile(one.left, share) > limit]
        first = wet[-1] + 1 if wet else 0
        return first if first < len(self.days) else None


def run_path(card: WayCard, of: Taken, attended: AttendedOn, draws: int, *, shifts: bool = False) -> PathRun:
    """Run a path on so many draws; in `shifts` its own elements are attended day and night.

    Raises QuantityError for a kiln without anything to dry, SimulationError where a run cannot be trusted.
    """
    if of.heating is None:
        raise QuantityError("path", "no wet lining", "a kiln whose lining is planned for")
    return _Walk(card=card, of=of, attended=attended, heating=replace(of.heating, draws=draws), shifts=shifts).run()


@dataclass(kw_only=True)
class _Walk:
    """A walk along a path; `stood` is where the draws stand, `days` what they went through so far."""

    card: WayCard
    of: Taken
    attended: AttendedOn
    heating: Heating
    days: list[RunDay] = field(default_factory=list)
    found: Found | None = None
    stood: Stood = field(init=False)
    whole: Draws = field(init=False)
    first_kg: Values = field(init=False)

    def __post_init__(self) -> None:
        self.whole = self._draws(())
        self.stood = Stood.begin(self._draws(self._out) if self._out else self.whole)
        self.first_kg = np.maximum(self.whole.begin_kg(), 1e-9)

    def run(self) -> PathRun:
        """Walk to the end: dry, or as far as it goes."""
        if self.card.air != "own":
            self._from_outside()
        if self._out:
            self._boards_in()
        if not self._dry and own_may_follow(self.of):
            self._own()
        return PathRun(way=self.card, days=tuple(self.days), dry=self._dry, found=self.found)

    # ------------------------------------------------------------------------------------ the kiln

    @property
    def _out(self) -> Boards:
        """The layers that are out while it is dried from outside."""
        if not self.of.boards_can_go or self.card.air == "own":
            return ()
        return (*self.of.going, *(self.of.strippable if self.card.stripped else ()))

    def _draws(self, out: Boards) -> Draws:
        """Return the draws of the kiln with these layers out; those that are stripped come back new, and dry."""
        new = self.of.strippable if self.card.stripped else ()
        lining = with_new(self.heating.lining, new)
        return Draws.of(setups_of(replace(self.heating, lining=lining, out=out), compact=True), ROUGH, SLOW)

    @property
    def _dry(self) -> bool:
        return bool(self.days) and bool(np.quantile(self.days[-1].left, DRY_SHARE) <= _most_left())

    # ------------------------------------------------------------------------------------ from outside

    def _from_outside(self) -> None:
        """Dry from outside until the entry may be read and parts are there, or it is dry, or nobody goes on with it."""
        for day in range(int(ways().longest_days.mid)):
            self._outside_day("out" if self._out and day == 0 else "")
            waits = len(self.days) < (self.of.lead_days or 0)
            if self._dry or (not waits and own_may_follow(self.of) and self._entry_may_open()):
                return

    def _outside_day(self, boards: BoardsDo, *, idle: bool = False) -> None:
        there_h = self.attended(len(self.days))
        alone = runs_alone(self.card, self.of) and there_h > 0
        on_h = 0.0 if idle else DAY_H if alone else max(there_h - ends_before_h(), 0.0)
        did, self.stood = run_day(self.card, self.of, self.stood, on_h)
        self._add("outside", self.card, boards, on_h, min(ways().visit_h.mid, there_h) if alone else there_h, None, did,
                  kwh(self.card, self.of, did, on_h))  # fmt: skip

    def _entry_may_open(self) -> bool:
        """Whether the hot faces have dried so far that the insulation is taken to open the entry, in nine of ten."""
        return bool(np.quantile(self._hot_face_left(), 0.9) <= ways().entry_left.mid)

    def _hot_face_left(self) -> Values:
        """Return the share of their first water that the layers at hot faces still hold, by draw."""
        at = hot_layers(self.days[0].did)
        first = self.days[0].did.layer_kg[:, 0, at].sum(axis=1)
        return np.asarray(self.days[-1].did.layer_kg[:, -1, at].sum(axis=1) / np.maximum(first, 1e-9))

    def _boards_in(self) -> None:
        """Put new boards in on the next day on which somebody comes; nothing is warm on it."""
        self.stood = replace(
            self.stood, draws=self.whole, standing=carried(self.stood.draws, self.stood.standing, self.whole)
        )
        while not self.attended(len(self.days)):
            self._outside_day("", idle=True)
        self._outside_day("in", idle=True)

    # ------------------------------------------------------------------------------------ own elements

    def _own(self) -> None:
        """Dry on with its own elements; the search takes the days as they come on the calendar."""
        begun = len(self.days)
        begin = Begin(
            draws=own_draws(self.of, self.whole), standing=self.stood.standing, first_kg=self.first_kg
        )  # fmt: skip
        self.found = search(
            begin, conditions(self.of), alphabet(self.of), lambda day: self.attended(begun + day), told=_silent
        )  # fmt: skip
        for spell, did in zip(self.found.spells, self.found.did, strict=True):
            there_h = self.attended(len(self.days)) if spell else 0.0
            self._add("own", way("own"), "", spell.hours if spell else 0.0, there_h, spell, did, did.heater_kwh[:, -1])

    def _add(
        self, phase: PhaseName, card: WayCard, boards: BoardsDo, on_h: float, attended_h: float, spell: Spell | None,
        did: Ensemble, takes_kwh: Values,
    ) -> None:  # fmt: skip
        left = did.water_kg[:, -1] / self.first_kg
        self.days.append(RunDay(
            phase=phase, way=card, boards=boards, on_h=on_h, attended_h=attended_h, spell=spell, did=did, left=left,
            kwh=takes_kwh,
        ))  # fmt: skip
