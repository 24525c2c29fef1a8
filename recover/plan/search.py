"""Searches the schedule by which a kiln's own elements dry it soonest, or with the least attendance or energy.

A march through few design draws finds how fast each stretch may go; it is made simple, proven on many draws, and only
what breaks a limit is repaired. Tops of several heights, bare and wrapped, are candidates; the best proven one counts.
What binds is found by relaxing each limit that refused anything, one at a time, and marching again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from recover.errors import QuantityError
from recover.physics.drying import Numbers
from recover.physics.ensemble import Draws, simulate_many
from recover.physics.figures import casing
from recover.physics.staged import Heating, setups_of
from recover.physics.wall import Setup
from recover.plan.envelope import steps_of
from recover.plan.limits import Limits, hottest_for_terminals, reached
from recover.plan.march import March, Marched
from recover.plan.schedule import Attendance, Day, Schedule
from recover.plan.verify import Proof, examine, filled, prove
from recover.profiles import Limit

Objective = Literal["elapsed", "attended", "energy"]
Progress = Callable[[str, float], None]

LEAST_DRAWS = 64
UNKNOWN_POWER_KW = 50.0
"""Elements whose power is not known are taken to follow any ramp of a schedule; the limits then hold no power."""

TOPS_DEGC = (600.0, 500.0, 400.0, 300.0)
RELAXED = 1.25
SAVES_H, SAVES_SHARE = 1.0, 0.02
"""What relaxing a limit must save to count as binding: less is the rounding of the steps."""


@dataclass(frozen=True)
class Binding:
    """A limit that makes a plan longer: how much shorter it is with the limit a quarter looser [h, or kWh]."""

    limit: Limit
    saves: float


@dataclass(frozen=True)
class Plan:
    """The best schedule found, proven; `binding` names what holds it up, most first; `broken` what it does not keep.

    A plan with anything in `broken` is none to follow; the binding limits say what would have to change.
    """

    heating: Heating
    limits: Limits
    objective: Objective
    proof: Proof
    binding: tuple[Binding, ...]
    broken: tuple[Limit, ...]

    @property
    def feasible(self) -> bool:
        """Whether every limit is kept by nine draws in ten."""
        return not self.broken

    @property
    def wrapped(self) -> bool:
        """Whether the casing is wrapped."""
        return self.heating.casing == "wrapped"

    @property
    def worth(self) -> float:
        """What was to be least: hours from first opening to end, attended hours, or kWh."""
        return worth(self.proof, self.objective)


def worth(proof: Proof, objective: Objective) -> float:
    """Return what is to be least of a proven schedule."""
    of = {"elapsed": proof.schedule.hours, "attended": proof.schedule.attended_h, "energy": proof.energy_kwh.p90}
    return of[objective]


@dataclass(frozen=True)
class _Candidate:
    """A way to heat: draws for the proof, the few to steer by, the hottest chamber and the limit behind it."""

    heating: Heating
    draws: Draws
    design: tuple[int, ...]
    top_degc: float
    top_limit: str


def search(
    heating: Heating, limits: Limits, attendance: Attendance, objective: Objective = "elapsed", *,
    draws: int = LEAST_DRAWS, may_wrap: bool = False, incumbents: Sequence[Plan] = (), progress: Progress | None = None,
    binding: bool = True,
) -> Plan:
    """Return the best plan. Incumbents, found under tighter conditions, are tried as well, so that none is longer.

    Raises QuantityError for conditions that cannot be, SimulationError where a run cannot be trusted.
    """
    _check(heating, draws)
    told = progress or _silent
    limits = limits.changed(limits.attendance.id, attendance.hours)
    candidates = list(_candidates(replace(heating, draws=draws), limits, may_wrap, told))
    marched = _marches(candidates, limits, attendance, objective, told)
    best, proof = _proven(marched, limits, attendance, objective, told)
    best, proof = _incumbent(candidates, incumbents, limits, objective, (best, proof))
    named = _binding(best, limits, attendance, objective, told) if binding else ()
    told("done", 1.0)
    return Plan(best.heating, limits, objective, proof, named, tuple(limits[name] for name in proof.broken))


def _silent(_what: str, _share: float) -> None:
    """Say nothing of the progress."""


def _check(heating: Heating, draws: int) -> None:
    if heating.opening == "closed":
        raise QuantityError("vent of the chamber", "shut, plugs in", "a way out for vapour: plugs out, or more")
    if draws < LEAST_DRAWS:
        raise QuantityError("draws of a plan", f"{draws}", f"{LEAST_DRAWS} or more")


# ---------------------------------------------------------------------------------------- candidates


def _candidates(heating: Heating, limits: Limits, may_wrap: bool, told: Progress) -> Iterator[_Candidate]:
    """Yield the kiln bare, and wrapped where its seams let vapour out, with tops as hot as its limits allow."""
    told("drawing what is not known", 0.0)
    bare, design = drawn(heating, limits)
    wall = next(stack for stack in heating.lining.stacks if stack.part == "wall")
    terminals = hottest_for_terminals(limits, wall, heating.room_degc)
    highest = min(terminals, limits.top.value)
    by = limits.terminal.id if terminals < limits.top.value else limits.top.id
    for top in sorted({highest, *(top for top in TOPS_DEGC if top < highest)}, reverse=True):
        yield _Candidate(heating, bare, design, top, by)
    if may_wrap and heating.casing == "seams" and casing("wrapped").wrap_m2k_w:
        around = replace(heating, casing="wrapped")
        wrapped, design = drawn(around, limits)
        lower = limits.wrapped.value < highest
        top, by = (limits.wrapped.value, limits.wrapped.id) if lower else (highest, by)
        yield _Candidate(around, wrapped, design, top, by)


def drawn(heating: Heating, limits: Limits) -> tuple[Draws, tuple[int, ...]]:
    """Return a kiln's draws, and which of them to steer by.

    The first is the middle one by water left on the stages of practice, the second its ninetieth percentile; others are
    those of the limits that a run is held to, since the draw that dries last is seldom the one that peaks highest.
    """
    setups = powered(heating, limits)
    course = setups[0].course
    did = simulate_many(setups, np.append(np.arange(0.0, course.end_h, 1.0), course.end_h))
    middle = np.median(did.left, axis=0)
    at = int(np.argmax(middle <= 2 * limits.water_left.value)) or len(middle) - 1
    picks = [_rank(did.left[:, at], 0.5), _rank(did.left[:, at], 0.9)]
    picks += [_rank(values.max(axis=1), 0.9) for values in reached(limits, did).values()]
    return Draws.of(setups), tuple(dict.fromkeys(picks))


def powered(heating: Heating, limits: Limits) -> list[Setup]:
    """Return a setup for each draw, its elements of a power that has an end, so that it cools when they are off."""
    power_kw = limits.power.value if limits.power else UNKNOWN_POWER_KW
    return [replace(one, chamber=replace(one.chamber, power_kw=power_kw)) for one in setups_of(heating)]


def _rank(values: Numbers, share: float) -> int:
    return int(np.argsort(values, kind="stable")[min(int(share * len(values)), len(values) - 1)])


def _march(one: _Candidate, limits: Limits, attendance: Attendance) -> Marched:
    return March(
        one.draws.only(one.design), limits, attendance, one.top_degc, one.top_limit, one.heating.room_degc
    ).run()


def _marches(
    candidates: list[_Candidate], limits: Limits, attendance: Attendance, objective: Objective, told: Progress
) -> list[tuple[_Candidate, Marched]]:
    """March through the candidates, best first; once a lower top is no better, still lower ones are left out."""
    found: list[tuple[_Candidate, Marched]] = []
    given_up: set[str] = set()
    for number, one in enumerate(candidates):
        if one.heating.casing in given_up:
            continue
        where = casing(one.heating.casing).label
        told(f"marching to {one.top_degc:.0f} °C, casing {where}", 0.1 + 0.3 * number / len(candidates))
        way = _march(one, limits, attendance)
        hotter = [_ranked(before, objective) for other, before in found if other.heating.casing == one.heating.casing]
        if hotter and _ranked(way, objective) >= min(hotter):
            given_up.add(one.heating.casing)
        found.append((one, way))
    return sorted(found, key=lambda pair: _ranked(pair[1], objective))


def _ranked(found: Marched, objective: Objective) -> tuple[bool, float]:
    return not found.dry, _worth(found, objective)


def _worth(found: Marched, objective: Objective) -> float:
    return {"elapsed": found.hours, "attended": found.attended_h, "energy": found.kwh}[objective]


# ---------------------------------------------------------------------------------------- proof


def schedule_of(found: Marched, limits: Limits, attendance: Attendance) -> Schedule:
    """Return a march as a schedule of few steps; each day but the last holds on until somebody leaves."""
    days = [Day(knots[0][1], steps_of(knots)) for knots in found.days if len(knots) > 1]
    if not attendance.always:
        days = [*(filled(day, limits) for day in days[:-1]), days[-1].until(limits.attendance.value)]
    return Schedule(tuple(days), attendance)


def _proven(
    marched: list[tuple[_Candidate, Marched]], limits: Limits, attendance: Attendance, objective: Objective,
    told: Progress,
) -> tuple[_Candidate, Proof]:
    """Return the first candidate that holds; where none does, the one that breaks least."""
    found: list[tuple[_Candidate, Proof]] = []
    for number, (one, way) in enumerate(marched[:3]):
        told(f"proving on {len(one.draws.setups)} draws", 0.4 + 0.1 * number)
        schedule = schedule_of(way, limits, attendance)
        judge = prove if way.dry else examine  # what does not dry with all its days cannot be repaired
        found.append((one, judge(one.draws, limits, schedule, one.heating.room_degc)))
        if not way.dry or not found[-1][1].broken:
            break
    return min(found, key=lambda pair: (len(pair[1].broken), worth(pair[1], objective)))


def _incumbent(
    candidates: list[_Candidate], incumbents: Sequence[Plan], limits: Limits, objective: Objective,
    best: tuple[_Candidate, Proof],
) -> tuple[_Candidate, Proof]:
    """Return the best found, or an incumbent that is better under the present conditions."""
    ways = [best]
    for plan in incumbents:
        one = next((one for one in candidates if one.heating.casing == plan.heating.casing), candidates[0])
        there = plan.proof.schedule.attendance.hours
        if there <= limits.attendance.value:
            own = limits.changed(limits.attendance.id, there)
            ways.append((one, prove(one.draws, own, plan.proof.schedule, one.heating.room_degc)))
    return min(ways, key=lambda pair: (len(pair[1].broken), worth(pair[1], objective)))


# ---------------------------------------------------------------------------------------- what binds


def _binding(
    one: _Candidate, limits: Limits, attendance: Attendance, objective: Objective, told: Progress
) -> tuple[Binding, ...]:
    """Return the limits that a march is shorter without, by as much; a limit that refused nothing cannot bind."""
    as_is = _march(one, limits, attendance)
    found = []
    touched = [limit for limit in limits if limit.id in as_is.touched | {limits.water_left.id}]
    for number, limit in enumerate(touched):
        told(f"relaxing {limit.what}", 0.7 + 0.3 * number / len(touched))
        saves = _worth(as_is, objective) - _worth(_relaxed(one, limits, limit, attendance), objective)
        if saves > max(SAVES_H, SAVES_SHARE * _worth(as_is, objective)):
            found.append(Binding(limit, saves))
    return tuple(sorted(found, key=lambda binding: -binding.saves))


def _relaxed(one: _Candidate, limits: Limits, limit: Limit, attendance: Attendance) -> Marched:
    looser = limits.relaxed(limit.id, RELAXED)
    top = one.top_degc * RELAXED if limit.id == one.top_limit else one.top_degc
    hours = looser.attendance.value
    there = replace(attendance, to_h=attendance.from_h + hours) if limit.id == limits.attendance.id else attendance
    setups = one
    if limits.power and looser.power and limit.id == limits.power.id:
        stronger = [replace(s, chamber=replace(s.chamber, power_kw=looser.power.value)) for s in one.draws.setups]
        setups = replace(one, draws=Draws.of(stronger))
    return _march(replace(setups, top_degc=top), looser, there)
