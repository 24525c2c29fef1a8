"""Goes through a drying day by day: each day is found on a few design draws and kept on all of them before the next.

A day is first tried as fast as it may be: the steepest ramp, the hottest chamber, held until somebody leaves. Where
that breaks a limit, the steps that break it are eased, and the day is marched as well: of both the one counts that
dries more. It is run on all draws with the night after it; where nine in ten do not keep a limit, the day is found
again with more margin, and where that does not mend it, eased until they do. The next day begins from where it left
them. Day and night without a break is the same in stretches of 24 hours, joined.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import KW_ONLY, dataclass, field, replace

import numpy as np

from recover.physics.ensemble import Draws, Ensemble, Standing, joined, resume
from recover.physics.wall import Course
from recover.schedule.daily import Broken, at_full_speed, broken_steps, finished, hoped, repaired, with_night
from recover.schedule.limits import Conditions, Limits, reached
from recover.schedule.march import March
from recover.schedule.spells import ROUND_K, Day, Schedule, joined_steps
from recover.schedule.verify import cut, moments_h

EASINGS = 16
"""How often a day is eased, for the design draws and for all, before it is left as it is, for the proof to refuse."""

TIGHTENED, TIGHTER, TIGHTEST = 4, 1.01, 1.25
"""How often a day is found again with limits made tighter for the design draws, by what beyond what was missed, and
how much tighter at most: it holds for the days to come as well, which what one day needs must not slow."""

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

    In an `estimate` all draws are design draws, and the second one says when it is dry: for comparing. Days that
    are `given` are taken as they are, the last of them again until it is dry; `course_of` says what the chamber does on
    a day where that is not what its steps ask for.
    """

    draws: Draws
    design: Sequence[int]
    under: Conditions
    _: KW_ONLY
    estimate: bool = False
    given: Sequence[Day] = ()
    course_of: Callable[[Day], Course] = field(default=lambda day: Course.of(day.from_degc, day.steps))
    days: list[Day] = field(default_factory=list, init=False)
    parts: list[Ensemble] = field(default_factory=list, init=False)
    standing: Standing = field(init=False)
    march: March = field(init=False)
    marches: bool = field(init=False)

    def __post_init__(self) -> None:
        self.standing, self.marches = self.draws.begin(), not self.estimate
        top, stops = self.under.top, [degc for degc in self.under.hold_points_degc if degc < self.under.top[0]]
        self.march = March(self.draws.only(self.design), self.under.limits, top, stops)

    def run(self) -> Walked:
        """Walk until the water has gone, or the days have."""
        ends_h = None
        while ends_h is None and len(self.days) < self.under.limits.days.value:
            self._next_day()
            ends_h = self._dry_h()
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
        opens_degc = self._opens_degc()
        day = self._given(opens_degc) if self.given else self._planned(opens_degc)
        did, ends = self._run(self.draws, self.standing, day)
        for tried in range(0 if self.estimate or self.given else TIGHTENED + EASINGS):
            if not (wrong := self._wrong(day, did, 0.9, self.under.limits)):
                break
            if tried < TIGHTENED:
                self._tighten(wrong)
                day = self._planned(opens_degc)
            else:
                day = self._gentler(day, wrong)
            did, ends = self._run(self.draws, self.standing, day)
        self.standing = ends
        self.days.append(day)
        self.parts.append(did)
        held = [step.to_degc for step in day.steps if step.hold_h >= self.under.limits.hold.value - 1e-6]
        self.march.stops = [stop for stop in self.march.stops if stop not in held]

    def _tighten(self, wrong: Mapping[int, Broken]) -> None:
        """Make what steers tighter by as much as all draws were beyond it."""
        for limit_id in {one.limit_id for one in wrong.values()}:
            times = max(one.times for one in wrong.values() if one.limit_id == limit_id)
            limits, least = self.march.limits, self.under.limits[limit_id].value / TIGHTEST
            self.march.limits = limits.changed(limit_id, max(limits[limit_id].value / (times * TIGHTER), least))

    def _opens_degc(self) -> float:
        """Return what the first ramp of the next day begins at: where the last one stands, or what has cooled most."""
        if self.days and self.under.attendance.always:
            return self.days[-1].steps[-1].to_degc
        return max(self.under.room_degc, float(np.floor(self.standing.held[:, 0].min())))

    # ------------------------------------------------------------------------------------ one day

    def _given(self, opens_degc: float) -> Day:
        """Return the day that is to be followed, from where the chamber stands; after the last one its end again."""
        day = self.given[min(len(self.days), len(self.given) - 1)]
        if len(self.days) >= len(self.given) and self.under.attendance.always:
            day = Day(opens_degc, (replace(day.steps[-1], hold_h=self.under.stretch_h),))
        day = replace(day, from_degc=min(opens_degc, day.steps[0].to_degc))
        return day if self.under.attendance.always else day.until(self.under.stretch_h)

    def _planned(self, from_degc: float) -> Day:
        """Return the best day that the design draws keep: at full speed, else eased or marched, by which dries more.

        An estimate does not march: it is what eased days are worth. Nor does a day after one that was not worth it.
        """
        design = Standing(self.standing.unknowns[list(self.design)], self.standing.held[list(self.design)])
        fast = at_full_speed(from_degc, self.march.stops, self.under)
        self.march.touched |= self._held_up(fast)
        did, _ = self._run(self.march.draws, design, fast)
        if not self._wrong(fast, did, 1.0, self.march.limits):
            return fast
        yesterday = self.days[-1] if self.days and not self.march.stops else None
        eased, did = self._eased(hoped(fast, yesterday, self.under), design)
        if not self.marches:
            return eased
        marched = finished(Day(from_degc, self.march.day(design, from_degc, self.under.stretch_h)), self.under)
        after, _ = self._run(self.march.draws, design, marched)
        self.marches = self._gone_kg(after) > MORE_GONE * self._gone_kg(did)
        return marched if self.marches else eased

    def _eased(self, day: Day, design: Standing) -> tuple[Day, Ensemble]:
        """Return a day whose steps are slowed or lowered until the design draws keep every limit, and what they did."""
        did, _ = self._run(self.march.draws, design, day)
        for _ in range(EASINGS):
            wrong = self._wrong(day, did, 1.0, self.march.limits)
            if not wrong:
                break
            day = self._gentler(day, wrong)
            did, _ = self._run(self.march.draws, design, day)
        return day, did

    def _gentler(self, day: Day, wrong: dict[int, Broken]) -> Day:
        """Return a day with the steps that break a limit slowed or lowered."""
        return finished(repaired(day, wrong, self.under.limits, self.march.stops), self.under)

    def _gone_kg(self, did: Ensemble) -> float:
        """Return the water that has gone in a day from the design draw that dries last."""
        water = did.water_kg[min(1, len(self.design) - 1)]
        return float(water[0] - water[-1])

    def _held_up(self, fast: Day) -> set[str]:
        """Return the limits that kept a day at full speed from being faster still."""
        found = {self.under.limits.ramp.id}
        if len(fast.steps) > 1:
            found.add(self.under.limits.hold.id)
        if fast.steps[-1].to_degc >= self.under.top[0] - ROUND_K:
            found.add(self.under.top[1])
        return found

    # ------------------------------------------------------------------------------------ all draws

    def _run(self, draws: Draws, begins: Standing, day: Day) -> tuple[Ensemble, Standing]:
        course = with_night(self.course_of(day), self.under)
        return resume(draws, begins, course, moments_h(course.end_h), part=True)

    def _wrong(self, day: Day, did: Ensemble, share: float, limits: Limits) -> dict[int, Broken]:
        """Return the steps in which a share of the draws does not keep a limit, and remember which limits those are."""
        came_to = reached(limits, did, with_night(self.course_of(day), self.under))
        wrong = broken_steps(day, limits, {
            name: np.quantile(values, share, axis=0) for name, values in came_to.items()
        }, did.hours)  # fmt: skip
        by_power = {limits.lag.id: limits.power.id} if limits.power else {}
        self.march.touched |= {by_power.get(one.limit_id, one.limit_id) for one in wrong.values()}
        return wrong

    # ------------------------------------------------------------------------------------ water, and the end

    def _left(self) -> list[float]:
        """Return the share of the water that must go at each moment of the last day."""
        share = self.parts[-1].water_kg / np.maximum(self.parts[0].water_kg[:, :1], 1e-9)
        wet = share[[min(1, len(self.design) - 1)]] if self.estimate else share
        return [float(one) for one in np.quantile(wet, 0.9, axis=0)]

    def _dry_h(self) -> float | None:
        """Return the hour of the whole walk at which it is dry for good, as far as the last day shows."""
        over = np.flatnonzero(np.array(self._left()) > self.under.limits.water_left.value)
        at = int(over[-1]) + 1 if over.size else 0
        hours = self.parts[-1].hours
        return float(sum(one.hours[-1] for one in self.parts[:-1]) + hours[at]) if at < len(hours) else None

    def _schedule(self) -> Schedule:
        if not self.under.attendance.always:
            return Schedule(tuple(self.days), self.under.attendance)
        steps = joined_steps(step for day in self.days for step in day.steps)
        return Schedule((Day(self.days[0].from_degc, steps),), self.under.attendance)
