"""Searches how a kiln's own elements dry it soonest, from wherever it stands, within every limit, day by day.

Each day is found on a few design draws and kept on all of them before the next. What a limit is held to is what nine
draws in ten come to with all overshoot; what dries is counted with none.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from recover.physics.around import Stretches
from recover.physics.drying import Numbers
from recover.physics.ensemble import Draws, Ensemble, Standing
from recover.schedule.alphabet import Alphabet
from recover.schedule.climb import ENOUGH, Climb
from recover.schedule.daily import Broken, Daily, Opening, broken_steps
from recover.schedule.design import KEEPS_SHARE, WATER_SHARE, Design
from recover.schedule.heated import Again, Lived, coolest_degc, live, water_kg
from recover.schedule.limits import Conditions, Limits, Peak, figures, reached
from recover.schedule.spells import Spell

Tell = Callable[[str, float], None]

EASINGS = 12
"""How often a day is eased, for the design draws and for all, before it is left as it is and called broken."""

TIGHTENED, TIGHTER = 4, 1.02
"""How often a day is found again by the draws that refused it, held to so much less of a limit each time."""

AFTER_H = 2.0
"""How long a day is followed at its worst after the heater is off: what is in the wall goes on."""

POLISHED = 3
"""How often a set-point is raised after a climb."""

RISES_AFTER = (0.5, 0.75)
"""After which shares of its last hold a day that limits hold back is tried one set-point hotter, on all draws."""

READ_WORTH = 0.02
"""What a hold point that a day has behind it is worth beside the water that goes."""


@dataclass(frozen=True)
class Begin:
    """Where the draws of a kiln stand when the search begins; the water left is told as a share of `first_kg`.

    `past` are the days of its own elements that are behind it: what was held, reached and read on them stands.
    """

    draws: Draws
    standing: Standing
    first_kg: Numbers
    past: tuple[Spell, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Found:
    """What was found: one spell a day from day 0 on (None: the heater is off all day), what each draw did, as set, and
    what was around it.

    `peaks` are the worst of all days, with all overshoot. `broken` names limits that are not kept; `holds_up` those
    that refused anything faster, nearest first.
    """

    spells: tuple[Spell | None, ...]
    did: tuple[Ensemble, ...]
    around: tuple[Stretches, ...]
    peaks: tuple[Peak, ...]
    ends: Standing
    dry: bool
    broken: tuple[str, ...]
    holds_up: tuple[str, ...]

    @property
    def hours(self) -> float:
        """From the first opening to the end of the last spell [h]; 0 where there is none."""
        heated = [24.0 * number + spell.hours for number, spell in enumerate(self.spells) if spell]
        return heated[-1] if heated else 0.0


def search(
    begin: Begin, under: Conditions, alphabet: Alphabet, attended_h: Callable[[int], float], told: Tell
) -> Found:
    """Return the soonest drying; `attended_h` says how long somebody is there on each day, counted from 0. Hours of a
    day count from when it is switched on.

    With fewer draws than `least_draws` it is for comparing. Raises SimulationError where a run cannot be trusted.
    """
    return _Walk(begin, under, alphabet, attended_h).run(told)


@dataclass
class _Walk:
    """A walk of all draws from day to day."""

    begin: Begin
    under: Conditions
    alphabet: Alphabet
    attended_h: Callable[[int], float]
    spells: list[Spell | None] = field(default_factory=list, init=False)
    did: list[Ensemble] = field(default_factory=list, init=False)
    around: list[Stretches] = field(default_factory=list, init=False)
    came_to: list[dict[str, Numbers]] = field(default_factory=list, init=False)
    touched: set[str] = field(default_factory=set, init=False)
    broken: set[str] = field(default_factory=set, init=False)

    def __post_init__(self) -> None:
        self.daily = Daily(self.under, self.alphabet)
        self.standing, self.design = self.begin.standing, Design.by_water(self.begin.first_kg)
        self.below_h, self.gate_open, self.held_back = self.under.boiling.hours, False, False
        self.stops = tuple(
            self.daily.set_degc(degc) for degc in self.under.hold_points_degc if degc < self.under.top[0]
        )
        self.reached_degc = coolest_degc(self.standing)
        for spell in self.begin.past:
            self._passed(spell)

    def run(self, told: Tell) -> Found:
        """Walk until the water has gone, or the days have: those on which somebody comes, and those of the calendar."""
        days = int(self.under.limits.days.value)
        if self._nothing_can_be_set():
            days = 0
        dry = False
        came = 0
        while not dry and came < days and len(self.spells) < figures().within_days.value:
            number = len(self.spells)
            told(f"day {number + 1}", came / days)
            came += self.attended_h(number) > 0
            dry = self._day(number)
        limits = self.under.limits
        if days and not dry:
            self.broken |= {limits.days.id, limits.water_left.id}
        if len(self.spells) > 1 and any(self.attended_h(number) < 24 for number in range(len(self.spells))):
            self.touched.add(limits.attendance.id)
        told("done", 1.0)
        return Found(
            spells=tuple(self.spells), did=tuple(self.did), around=tuple(self.around), peaks=self._peaks(),
            ends=self.standing, dry=dry, broken=tuple(sorted(self.broken)), holds_up=self._holds_up(),
        )  # fmt: skip

    def _nothing_can_be_set(self) -> bool:
        """Remember what an alphabet cannot keep at all."""
        if self.daily.ramp_k_h is None:
            self.broken.add(self.under.limits.ramp.id)
        if min(self.daily.below_degc, self.daily.top_degc) < self.alphabet.least_degc:
            self.broken.add(self.under.limits.boiling_left.id)
        return bool(self.broken)

    # ------------------------------------------------------------------------------------ one day

    def _day(self, number: int) -> bool:
        """Find a day on the design draws, keep it on all of them, live it as it is set; say whether it is dry then."""
        day = self._opening(number)
        spell = self._kept(day) if day.ends_h > 0 else None
        lived = self._as_set(spell, day)
        dry_h = self._dry_h(lived.did)
        if dry_h is not None and lived.spell and dry_h < lived.spell.hours:
            lived = self._ended(lived, replace(day, ends_h=dry_h + self.alphabet.hold_step_h))
        self.standing = lived.ends
        self.spells.append(lived.spell)
        self.did.append(lived.did)
        self.around.append(lived.around)
        if lived.spell:
            self._passed(lived.spell)
        return dry_h is not None

    def _as_set(self, spell: Spell | None, day: Opening) -> Lived:
        return live(self.begin.draws, self.standing, self.under, spell, self._again(day))

    def _ended(self, whole: Lived, day: Opening) -> Lived:
        """Return the last day ended as soon as it is dry, where it is dry by that as well."""
        assert whole.spell
        sooner = self._as_set(self.daily.finished(whole.spell, day), day)
        return sooner if self._dry_h(sooner.did) is not None else whole

    def _opening(self, number: int) -> Opening:
        limits = self.under.limits
        ends_h = min(self.attended_h(number), 24.0) - limits.starts_after.value - limits.ends_before.value
        below = not self.gate_open
        if below and self.below_h <= 0 and self._left_share() <= limits.boiling_left.value:
            self.gate_open, below = True, False
        return Opening(coolest_degc(self.standing), ends_h, self.reached_degc, self.stops, below=below)

    def _left_share(self) -> float:
        """Return the share of the water that so many draws have no more than now as must be dry at the end."""
        kg = self.did[-1].water_kg[:, -1] if self.did else water_kg(self.begin.draws, self.standing, self.under.night)
        return float(np.quantile(kg / np.maximum(self.begin.first_kg, 1e-9), WATER_SHARE))

    def _passed(self, spell: Spell) -> None:
        """Remember which hold points were read, how long it was held below boiling, and how hot it became."""
        limits, gate = self.under.limits, self.under.boiling
        read = [run.top_degc for run in spell.runs if run.reads]
        self.stops = tuple(stop for stop in self.stops if stop not in read)
        counts_from = min(gate.from_degc, self.daily.below_degc)  # it is no cooler than what it is set to
        self.below_h -= spell.held_h(counts_from, gate.hold_degc)
        self.touched |= {limits.hold.id} if len(spell.runs) > 1 else set()
        self.reached_degc = spell.top_degc

    def _kept(self, day: Opening) -> Spell | None:
        """Return the day that nine draws in ten keep; None where there is none.

        Where they do not, it is found again on the draws that refused it, then held to less, then eased. Where limits
        hold it back and none is nearly reached, it is found once more.
        """
        spell = self._planned(day)
        best: Lived | None = None
        for tried in range(TIGHTENED + EASINGS):
            if not (spell and spell.runs):
                break
            lived = self._on_all(spell, day)
            came_to, wrong = self._reached(lived), self._wrong(lived)
            if not wrong and (not best or self._gone_kg(lived) > self._gone_kg(best)):
                best = lived
            if best and (wrong or tried or not self.held_back or self._nearest(came_to) >= ENOUGH):
                break
            if tried < TIGHTENED:
                self.design = self._picked(lived, came_to, self.design)
                for limit_id in {one.limit_id for one in wrong.values()} if tried else ():
                    self.design = self.design.stricter(limit_id, TIGHTER**tried)
                spell = self._planned(day)
            else:
                spell = self.daily.repaired(lived.spell or spell, wrong, day)
        if not best:
            return None
        best = self._risen(best, day) if self.held_back else best
        self.came_to.append(self._reached(best))
        self.design = self._picked(best, self.came_to[-1])
        return best.spell

    def _risen(self, best: Lived, day: Opening) -> Lived:
        """Return a day that goes on hotter late in it, where nine draws in ten keep that and more water goes."""
        for share in RISES_AFTER:
            assert best.spell
            spell = self.daily.risen(best.spell, share, day)
            if spell == best.spell:
                continue
            lived = self._on_all(spell, day)
            if not self._wrong(lived) and self._gone_kg(lived) > self._gone_kg(best):
                best = lived
        return best

    def _nearest(self, came_to: Mapping[str, Numbers]) -> float:
        """Return how near nine draws in ten come to a limit; 1: at it."""
        limits = self.under.limits
        return max(
            float(np.quantile(values, KEEPS_SHARE, axis=0).max()) / max(limits[name].value, 1e-9)
            for name, values in came_to.items()
        )

    def _gone_kg(self, lived: Lived) -> float:
        """Return the water that goes from the draw that dries last."""
        water = lived.did.water_kg[self.design.wet[0]]
        return float(water[0] - water[-1])

    def _planned(self, day: Opening) -> Spell | None:
        """Return the day that the design draws keep and that takes out most: at full speed, or by a climb."""
        found, self.held_back = [], False
        for fast in self.daily.at_full_speed(day):
            if fast.runs:
                self.touched |= self._held_up(fast, day)
                lived = self._steering(fast, day)
                wrong = self._wrong_steering(lived)
                found += [] if wrong else [lived]
                self.held_back = self.held_back or bool(wrong)
        if self.held_back:
            climb = Climb(*self._few(), self.design, self.daily, day)
            for goes_on in {False, bool(day.stops_degc) and not day.below}:
                found += [one for one in [self._eased(climb.spell(goes_on=goes_on), day)] if one]
        return max(found, key=self._worth).spell if found else None

    def _worth(self, lived: Lived) -> float:
        """Return the water that goes from the draw that dries last; a hold point that is passed is worth something."""
        water = lived.did.water_kg[0]
        read = sum(run.reads for run in lived.spell.runs) if lived.spell else 0
        return float(water[0] - water[-1]) * (1 + READ_WORTH * read)

    def _eased(self, spell: Spell, day: Opening) -> Lived | None:
        """Return a day that the design draws keep, as they live it at its worst; None where there is none."""
        for _ in range(EASINGS):
            if not spell.runs:
                return None
            lived = self._steering(spell, day)
            if not (wrong := self._wrong_steering(lived)):
                return self._polished(lived, day)
            spell = self.daily.repaired(lived.spell or spell, wrong, day)
        return None

    def _polished(self, best: Lived, day: Opening) -> Lived:
        """Return a day with set-points as much hotter as the design draws keep, one after the other from the last."""
        assert best.spell
        places = [(number, place) for number, run in enumerate(best.spell.runs) for place in range(len(run.steps))]
        for number, place in reversed(places):
            for _ in range(POLISHED):
                if not (hotter := self._hotter(best, number, place, day)):
                    break
                best = hotter
        return best

    def _hotter(self, best: Lived, number: int, place: int, day: Opening) -> Lived | None:
        """Return a day with one set-point hotter, where the design draws keep it and it is worth more."""
        assert best.spell
        if number >= len(best.spell.runs) or place >= len(best.spell.runs[number].steps):
            return None
        spell = self.daily.hotter(best.spell, number, place, day)
        if spell == best.spell or not spell.runs:
            return None
        lived = self._steering(spell, day)
        return None if self._wrong_steering(lived) or self._worth(lived) <= self._worth(best) else lived

    def _held_up(self, fast: Spell, day: Opening) -> set[str]:
        """Return the limits that kept a day at full speed from being faster still."""
        limits = self.under.limits
        found = {limits.ramp.id}
        if day.below:
            found.add(limits.boiling_left.id)
        elif fast.runs and fast.top_degc >= self.daily.top_degc - 1e-6:
            found.add(self.under.top[1])
        if day.reached_degc > day.from_degc:
            found.add(limits.reheat.id)
        return found

    # ------------------------------------------------------------------------------------ on draws

    def _worst(self, draws: Draws, begins: Standing, under: Conditions, spell: Spell, day: Opening) -> Lived:
        """Live through the heated hours of a day and what follows at once, with all overshoot."""
        return live(draws, begins, under, spell, self._again(day), over_k=self.alphabet.overshoot_k, after_h=AFTER_H)

    def _few(self) -> tuple[Draws, Standing, Conditions]:
        """Return the design draws, where they stand, and their conditions."""
        numbers = list(self.design.numbers)
        few = Standing(self.standing.unknowns[numbers], self.standing.held[numbers])
        return self.begin.draws.only(numbers), few, self.under.only(numbers)

    def _on_all(self, spell: Spell, day: Opening) -> Lived:
        return self._worst(self.begin.draws, self.standing, self.under, spell, day)

    def _steering(self, spell: Spell, day: Opening) -> Lived:
        return self._worst(*self._few(), spell, day)

    def _again(self, day: Opening) -> Again:
        return lambda run, hour, last: self.daily.cut(run, hour, day, last=last)

    def _reached(self, lived: Lived) -> dict[str, Numbers]:
        return reached(self.under.limits, lived.did, lived.asked_degc)

    def _wrong(self, lived: Lived) -> dict[tuple[int, int], Broken]:
        """Return the steps in which one draw in ten does not keep a limit."""
        came_to = {name: np.quantile(values, KEEPS_SHARE, axis=0) for name, values in self._reached(lived).items()}
        return self._noted(lived, came_to, self.under.limits)

    def _wrong_steering(self, lived: Lived) -> dict[tuple[int, int], Broken]:
        """Return the steps in which the design draws do not keep what they are held to."""
        return self._noted(lived, self.design.worst(self._reached(lived)), self.under.limits)

    def _noted(self, lived: Lived, came_to: Mapping[str, Numbers], limits: Limits) -> dict[tuple[int, int], Broken]:
        """Return the steps that break a limit, and remember which limits those are."""
        assert lived.spell
        wrong = broken_steps(lived.spell, limits, came_to, lived.did.hours)
        by_power = {limits.lag.id: limits.power.id} if limits.power else {}
        self.touched |= {by_power.get(one.limit_id, one.limit_id) for one in wrong.values()}
        return wrong

    def _picked(self, lived: Lived, came_to: Mapping[str, Numbers], before: Design | None = None) -> Design:
        left = lived.did.water_kg[:, -1] / np.maximum(self.begin.first_kg, 1e-9)
        return Design.of(left, came_to, self.under.limits, before)

    # ------------------------------------------------------------------------------------ water, and the end

    def _dry_h(self, did: Ensemble) -> float | None:
        """Return the hour of a day at which it is dry for good, as far as that day shows."""
        left = np.quantile(did.water_kg / np.maximum(self.begin.first_kg[:, None], 1e-9), WATER_SHARE, axis=0)
        over = np.flatnonzero(left > self.under.limits.water_left.value)
        at = int(over[-1]) + 1 if over.size else 0
        return float(did.hours[at]) if at < len(did.hours) else None

    # ------------------------------------------------------------------------------------ what it came to

    def _peaks(self) -> tuple[Peak, ...]:
        """Return for each limit the day on which it came nearest."""
        found: dict[str, Peak] = {}
        for day in self.came_to:
            for name, values in day.items():
                peak = Peak.of(name, values)
                if name not in found or peak.reached.p90 > found[name].reached.p90:
                    found[name] = replace(peak, p99=max(peak.p99, found[name].p99 if name in found else peak.p99))
        return tuple(found.values())

    def _holds_up(self) -> tuple[str, ...]:
        """Return the limits that refused anything faster, nearest first."""
        limits = self.under.limits
        near = {peak.limit_id: peak.reached.p90 / limits[peak.limit_id].value for peak in self._peaks()}
        return tuple(sorted(self.touched, key=lambda name: (-near.get(name, 1.0), name)))
