"""Goes through a drying day by day: each day is found on a few design draws and kept on all of them before the next.

A day is first tried as fast as it may be: the steepest ramp, the hottest chamber, held until somebody leaves. Where
that breaks a limit, the steps that break it are eased, and the day is marched as well: of both the one counts that
dries more. It is run on all draws with the night after it, and eased where nine draws in ten do not keep a limit; the
next day begins from where it left them. Day and night without a break is the same in stretches of 24 hours, joined.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from recover.physics.ensemble import Draws, Ensemble, Standing, joined, resume
from recover.physics.wall import Course, Step
from recover.plan import envelope
from recover.plan.limits import HOLD_POINTS_DEGC, reached
from recover.plan.march import March
from recover.plan.schedule import ROUND_K, Day, Schedule
from recover.plan.verify import Conditions, broken_steps, cut, moments_h, repaired

REPAIRS = 6

EASINGS = 10
"""How often a day is eased before it is left as it is, for the proof to refuse."""

MORE_GONE = 1.05
"""How much more water a marched day must take out than one of fewer steps to be worth its lines."""


@dataclass(frozen=True)
class Walked:
    """What was found: schedule, what all draws did, what refused a faster choice, and whether the water has gone."""

    schedule: Schedule
    did: Ensemble
    touched: frozenset[str]
    dry: bool

    @property
    def left(self) -> float:
        """Share of the water that nine draws in ten have no more than at the end."""
        return float(np.quantile(self.did.left[:, -1], 0.9))


@dataclass
class Walk:
    """A walk with all draws, steered by the `design` ones, of which the second has the water that must go.

    With `estimate` only the design draws are walked, and their second one says when it is dry: for comparing.
    """

    draws: Draws
    design: Sequence[int]
    under: Conditions
    estimate: bool = False
    told: Callable[[float], None] = field(default=lambda _left: None)
    standing: Standing = field(init=False)
    days: list[Day] = field(default_factory=list)
    parts: list[Ensemble] = field(default_factory=list)
    first_kg: float = 0.0
    march: March = field(init=False)
    wet: Sequence[int] = field(init=False)

    def __post_init__(self) -> None:
        if self.estimate:
            self.draws, self.design = self.draws.only(self.design), range(len(self.design))
        self.wet = [min(1, len(self.design) - 1)] if self.estimate else range(len(self.draws.setups))
        self.standing = self.draws.begin()
        top, stops = self.under.top, [degc for degc in HOLD_POINTS_DEGC if degc < self.under.top[0]]
        self.march = March(self.draws.only(self.design), self.under.limits, top, stops)

    def run(self) -> Walked:
        """Walk until the water has gone, or the days have."""
        ends_h = None
        while ends_h is None and len(self.days) < self.under.limits.days.value:
            self._next_day()
            ends_h = self._dry_h()
            self.told(self._left()[-1])
        if ends_h is None:
            self.march.touched.add(self.under.limits.days.id)
        schedule = self._schedule()
        did = joined(self.parts)
        return Walked(
            schedule if ends_h is None else schedule.until(ends_h), cut(did, ends_h or schedule.hours),
            frozenset(self.march.touched), ends_h is not None,
        )  # fmt: skip

    def _next_day(self) -> None:
        if self.days and not self.under.attendance.always:
            self.march.touched.add(self.under.limits.attendance.id)
        day = self._planned(self._opens_degc())
        did, ends = self._run(self.draws, self.standing, day)
        if not self.estimate:
            day, did, ends = self._kept(day, did, ends)
        self.standing = ends
        self.days.append(day)
        self.parts.append(did)
        held = [step.to_degc for step in day.steps if step.hold_h >= self.under.limits.hold.value - 1e-6]
        self.march.stops = [stop for stop in self.march.stops if stop not in held]

    def _opens_degc(self) -> float:
        """Return what the first ramp of the next day begins at: where the last one stands, or what has cooled most."""
        if self.days and self.under.attendance.always:
            return self.days[-1].steps[-1].to_degc
        return max(self.under.room_degc, float(np.floor(self.standing.held[:, 0].min())))

    # ------------------------------------------------------------------------------------ one day

    def _planned(self, from_degc: float) -> Day:
        """Return the best day that the design draws keep: at full speed, else eased or marched, by which dries more.

        An estimate does not march: it is what an eased day is worth.
        """
        design = Standing(self.standing.unknowns[list(self.design)], self.standing.held[list(self.design)])
        fast = self._finished(Day(from_degc, self._at_full_speed(from_degc)))
        self.march.touched |= self._held_up(fast)
        eased, did = self._eased(fast, design)
        if self.estimate or eased == fast:
            return eased
        knots = self.march.day(design, from_degc, self.under.stretch_h)
        marched = self._finished(Day(from_degc, envelope.steps_of(knots)))
        after, _ = self._run(self.march.draws, design, marched)
        worth_it = self._gone_kg(after) > MORE_GONE * self._gone_kg(did)
        return marched if worth_it else eased

    def _eased(self, day: Day, design: Standing) -> tuple[Day, Ensemble]:
        """Return a day whose steps are slowed or lowered until the design draws keep every limit, and what they did."""
        did, _ = self._run(self.march.draws, design, day)
        for _ in range(EASINGS):
            wrong = self._wrong(day, did, share=1.0)
            if not wrong:
                break
            day = self._finished(repaired(day, wrong, self.under.limits))
            did, _ = self._run(self.march.draws, design, day)
        return day, did

    def _gone_kg(self, did: Ensemble) -> float:
        """Return the water that has gone in a day from the design draw that dries last."""
        water = did.water_kg[min(1, len(self.design) - 1)]
        return float(water[0] - water[-1])

    def _at_full_speed(self, from_degc: float) -> tuple[Step, ...]:
        """Return the steepest ramps, a hold at each hold point that is still to come, and the top until the end."""
        ramp, hold_h = self.under.limits.ramp.value, self.under.limits.hold.value
        stops = [stop for stop in self.march.stops if stop > from_degc]
        rest = Step(max(self.under.top[0], from_degc), ramp, self.under.stretch_h)
        return (*(Step(stop, ramp, hold_h) for stop in stops), rest)

    def _held_up(self, fast: Day) -> set[str]:
        """Return the limits that kept a day at full speed from being faster still."""
        found = {self.under.limits.ramp.id}
        if len(fast.steps) > 1:
            found.add(self.under.limits.hold.id)
        if fast.steps[-1].to_degc >= self.under.top[0] - ROUND_K:
            found.add(self.under.top[1])
        return found

    def _finished(self, day: Day) -> Day:
        """Return a day that holds on until its end, or is cut there; a last hold of minutes is left out."""
        lasts_h, (*before, last) = self.under.stretch_h, day.steps
        longer = replace(last, hold_h=last.hold_h + max(lasts_h - day.hours, 0.0))
        *before, last = replace(day, steps=(*before, longer)).until(lasts_h).steps
        last = replace(last, hold_h=0.0) if last.hold_h < envelope.LEAST_HOLD_H else last
        return replace(day, steps=envelope.joined((*before, last)))

    # ------------------------------------------------------------------------------------ all draws

    def _course(self, day: Day) -> Course:
        """Return what the chamber is asked to do on a day, and over the night after it."""
        course = Course.of(day.from_degc, day.steps)
        if self.under.attendance.always:
            return course
        room = self.under.room_degc
        return Course((*course.hours, day.hours + 1 / 3600, 24.0), (*course.degc, room, room))

    def _run(self, draws: Draws, begins: Standing, day: Day) -> tuple[Ensemble, Standing]:
        course = self._course(day)
        return resume(draws, begins, course, moments_h(course.end_h), part=True)

    def _kept(self, day: Day, did: Ensemble, ends: Standing) -> tuple[Day, Ensemble, Standing]:
        """Return a day that nine draws in ten keep, each step that breaks a limit slowed or lowered."""
        for _ in range(EASINGS):
            wrong = self._wrong(day, did, share=0.9)
            if not wrong:
                break
            day = self._finished(repaired(day, wrong, self.under.limits))
            did, ends = self._run(self.draws, self.standing, day)
        return day, did, ends

    def _wrong(self, day: Day, did: Ensemble, share: float) -> dict[int, tuple[str, bool]]:
        """Return the steps in which a share of the draws does not keep a limit, and remember which limits those are."""
        limits = self.under.limits
        wrong = broken_steps(day, limits, reached(limits, did, self._course(day)), did.hours, share)
        by_power = {limits.lag.id: limits.power.id} if limits.power else {}
        self.march.touched |= {by_power.get(limit_id, limit_id) for limit_id, _ in wrong.values()}
        return wrong

    # ------------------------------------------------------------------------------------ water, and the end

    def _left(self) -> list[float]:
        """Return the share of the water that must go at each moment of the last day."""
        water = self.parts[-1].water_kg
        first = self.parts[0].water_kg[:, :1]
        return [float(one) for one in np.quantile((water / np.maximum(first, 1e-9))[list(self.wet)], 0.9, axis=0)]

    def _dry_h(self) -> float | None:
        """Return the hour of the whole walk at which it is dry for good, as far as the last day shows."""
        over = np.flatnonzero(np.array(self._left()) > self.under.limits.water_left.value)
        at = int(over[-1]) + 1 if over.size else 0
        hours = self.parts[-1].hours
        return sum(one.hours[-1] for one in self.parts[:-1]) + float(hours[at]) if at < len(hours) else None

    def _schedule(self) -> Schedule:
        if not self.under.attendance.always:
            return Schedule(tuple(self.days), self.under.attendance)
        steps = envelope.joined(step for day in self.days for step in day.steps)
        return Schedule((Day(self.days[0].from_degc, steps),), self.under.attendance)
