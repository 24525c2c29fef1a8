"""A kiln on so many draws, day after day from where it stood: what a path is walked with, and a drying lived again.

What is left always refers to the water of the first day.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from functools import lru_cache
from typing import Any

import numpy as np

from recover.controller.programme import Programme
from recover.physics.around import Stretches
from recover.physics.drying import ACCURACIES, Numbers
from recover.physics.ensemble import Draws, Ensemble, Standing, carried
from recover.physics.staged import Heating, setups_of
from recover.physics.stages import below_boiling_degc
from recover.plan.of_job import Boards, Taken
from recover.plan.outside import Stood, kwh, machines_kwh, run_day
from recover.plan.own import conditions
from recover.plan.ways import WayCard, way, ways
from recover.plan.whole import BoardsDo, PhaseName
from recover.profiles import own_limits
from recover.schedule.design import WATER_SHARE
from recover.schedule.heated import BRISK, live
from recover.schedule.spells import Spell


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

    def only(self, numbers: Sequence[int]) -> RunDay:
        """Return it as some of the draws went through it, one as often as it is named."""
        own = list(numbers)
        around = tuple((hour, one.only(own)) for hour, one in self.around)
        return replace(self, did=self.did.only(own), around=around, left=self.left[own], kwh=self.kwh[own])


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


def most_left() -> float:
    """Return the share of the first water with which a kiln counts as dry."""
    return own_limits()["plan_water_left"].value


@lru_cache(maxsize=8)
def _drawn(heating: Heating) -> Draws:
    """Return the draws of a kiln; paths that begin with the same ones share them."""
    return Draws.of(setups_of(heating, compact=True), *ACCURACIES["rough"])


@dataclass(kw_only=True)
class Walk:
    """Draws of a kiln on their way; `stood` is where they stand, `days` what they went through so far.

    `chosen` names those of the heating's draws that go it, one as often as it is named; None: each once. The boards
    that go are `out` from the first day on, where they can be.
    """

    card: WayCard
    of: Taken
    heating: Heating
    chosen: tuple[int, ...] | None = None
    days: list[RunDay] = field(default_factory=list)
    stood: Stood = field(init=False)
    whole: Draws = field(init=False)
    first_kg: Numbers = field(init=False)
    near_kg: Numbers = field(init=False)

    def __post_init__(self) -> None:
        if self.card.stripped:
            self.heating = replace(self.heating, new=self.of.strippable)
        self.whole = self._draws(())
        self.stood = Stood.begin(self._draws(self.out) if self.out else self.whole)
        self.first_kg = self.stood.water_kg
        self.near_kg = self.stood.draws.near_kg(self.stood.standing, ways().entry_mm.mid)

    @property
    def out(self) -> Boards:
        """The layers that are out while it is dried from outside."""
        if not self.of.boards_can_go or self.card.air == "own":
            return ()
        return (*self.of.going, *(self.of.strippable if self.card.stripped else ()))

    def _draws(self, out: Boards) -> Draws:
        """Return the draws of the kiln with these layers out."""
        draws = _drawn(replace(self.heating, out=out))
        return draws if self.chosen is None else draws.only(self.chosen)

    @property
    def dry(self) -> bool:
        """Whether so little water is left, in so many draws, that it counts as dry."""
        return bool(self.days) and bool(np.quantile(self.days[-1].left, WATER_SHARE) <= most_left())

    def outside_day(self, boards: BoardsDo, on_h: float, attended_h: float) -> None:
        """Add a day from outside that is on for so many hours from its opening."""
        did, around, self.stood = run_day(self.card, self.of, self.stood, on_h)
        self._add(did, around, self._as_outside(boards, on_h, attended_h), kwh(self.card, self.of, did, on_h))

    def own_day(self, spell: Spell, attended_h: float, gives_kg_h: float) -> None:
        """Add a day of its own elements that is set so, after the kiln gave so much vapour into its room."""
        under = conditions(self.of, self.heating, attended_h, gives_kg_h=gives_kg_h)
        lived = live(self.whole.at_pace(BRISK), self.stood.standing, under, spell, lambda run, _hour, _last: run)
        self.stood = replace(self.stood, draws=self.whole, standing=lived.ends)
        self._add(lived.did, lived.around, self._as_own(spell, attended_h), lived.did.heater_kwh[:, -1])

    def _add(self, did: Ensemble, around: Stretches, day: Mapping[str, Any], kwh: Numbers) -> None:
        """Add a day on which the way takes so much, and the room's machines what they take while it is on."""
        self._put(did, around, day, kwh + machines_kwh(day["way"], self.of, day["on_h"]))

    def _put(self, did: Ensemble, around: Stretches, day: Mapping[str, Any], kwh: Numbers) -> None:
        left = np.asarray(did.water_kg[:, -1] / self.first_kg)
        self.days.append(RunDay(did=did, around=around, left=left, kwh=kwh, **day))

    def _as_outside(self, boards: BoardsDo, on_h: float, attended_h: float) -> dict[str, Any]:
        return {"phase": "outside", "way": self.card, "boards": boards, "on_h": on_h, "attended_h": attended_h}

    def _as_own(self, spell: Spell | None, attended_h: float) -> dict[str, Any]:
        starts_h, on_h = own_limits()["plan_starts_after_h"].value, spell.hours if spell else 0.0
        boils = spell is not None and spell.top_degc > below_boiling_degc(self.heating.height_m)
        return {"phase": "own", "way": way("own"), "boards": "", "on_h": on_h, "attended_h": attended_h,
                "starts_h": starts_h, "spell": spell, "passes_boiling": boils}  # fmt: skip

    def recall(
        self, held: Mapping[str, Numbers], boards: BoardsDo, spell: Spell | None, on_h: float, attended_h: float
    ) -> None:
        """Add a day that was lived before, as `as_arrays` gave it; what was around it is not among that."""
        draws = self.whole if spell else self.stood.draws
        standing, gave = Standing(held["unknowns"], held["held"]), held["gave_kg_h"]
        self.stood = Stood(draws, standing, gave)
        names = [one.name for one in fields(Ensemble) if one.name != "setups"]
        did = Ensemble(setups=draws.setups, **{name: held[name] for name in names})
        day = self._as_own(spell, attended_h) if spell else self._as_outside(boards, on_h, attended_h)
        self._put(did, (), day, held["kwh"])

    def as_arrays(self) -> dict[str, Numbers]:
        """Return what the newest day did, and where draws stand after it, as arrays."""
        day, standing = self.days[-1], self.stood.standing
        did = {one.name: getattr(day.did, one.name) for one in fields(Ensemble) if one.name != "setups"}
        return {**did, "kwh": day.kwh, "unknowns": standing.unknowns, "held": standing.held,
                "gave_kg_h": self.stood.gave_kg_h}  # fmt: skip

    def boards_in(self) -> None:
        """Put new boards in, dry, where some are out."""
        standing = carried(self.stood.draws, self.stood.standing, self.whole)
        self.stood = replace(self.stood, draws=self.whole, standing=standing)

    def near_left(self) -> Numbers:
        """Return the share of its first water that the hot face still holds where the elements lie, by draw."""
        near_kg = self.stood.draws.near_kg(self.stood.standing, ways().entry_mm.mid)
        return np.asarray(near_kg / np.maximum(self.near_kg, 1e-9))
