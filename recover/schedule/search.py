"""Searches the schedule by which a kiln's own elements dry it soonest, or with the least attendance or energy.

Tops of several heights, bare and wrapped, are candidates. Each is walked with a few design draws, the best with all of
them: that walk is the proof. What binds is found by relaxing each limit that refused anything, one at a time, and
walking with the design draws again; where there is no plan, with all of them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import floor

import numpy as np

from recover.base.errors import QuantityError
from recover.physics.drying import Numbers
from recover.physics.ensemble import Draws, resume
from recover.physics.figures import casing
from recover.physics.grid import ROUGH
from recover.physics.lining import LayerStack
from recover.physics.staged import Heating
from recover.physics.steady import steady_flows
from recover.profiles import Limit
from recover.schedule.limits import Conditions, Limits, figures, reached
from recover.schedule.spells import ROUND_K, Attendance
from recover.schedule.verify import BRISK, Objective, Proof, examine, powered, proof_of
from recover.schedule.walk import Walk, Walked

Tell = Callable[[str, float], None]

TRIED = 3
"""How many candidates are proven before none is said to hold."""

PICKED_H = 72.0
"""How far the stages of practice are run to pick draws: by then they differ as they will."""

_NEAR = 0.5
"""Share of a limit that the stages of practice must reach for one of its draws to steer by."""

TOPS_DEGC = (600.0, 500.0, 400.0, 300.0)
RELAXED = 1.25
SAVES_H, SAVES_SHARE = 0.5, 0.02
"""What relaxing a limit must save to count as binding: less is the rounding of the steps."""


MORE_DRY = 0.1
"""By what share of the water left a relaxed limit must dry further to count as binding where nothing dries in time."""


@dataclass(frozen=True)
class Binding:
    """A limit that makes a plan longer: how much shorter it is with the limit a quarter looser [h, or kWh].

    Where no schedule dries in time, `saves` is None and `dries` the share of the water that it would leave less;
    `feasible` says that with this limit alone a quarter looser there would be a plan.
    """

    limit: Limit
    saves: float | None
    dries: float = 0.0
    feasible: bool = True


@dataclass(frozen=True, kw_only=True)
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
    def top(self) -> tuple[float, str]:
        """The hottest chamber that may be asked for [°C], and the limit behind it."""
        limit = self.limits.wrapped if self.wrapped else self.limits.top
        return limit.value, limit.id


@dataclass(frozen=True)
class _Candidate:
    """A way to heat: draws for the proof, the few to steer by, and under what conditions."""

    heating: Heating
    draws: Draws
    design: tuple[int, ...]
    under: Conditions

    def walk(self) -> Walked:
        """Walk with all draws."""
        return Walk(self.draws, self.design, self.under).run()

    def estimate(self) -> Walked:
        """Walk with the design draws, on a rougher grid: for comparing."""
        few = Draws.of([self.draws.setups[number] for number in self.design], ROUGH, BRISK)
        return Walk(few, range(len(self.design)), self.under, estimate=True).run()


def search(
    heating: Heating,
    limits: Limits,
    attendance: Attendance,
    objective: Objective = "elapsed",
    *,
    draws: int | None = None,
    may_wrap: bool = False,
    incumbents: Sequence[Plan] = (),
    progress: Tell | None = None,
    binding: bool = True,
) -> Plan:
    """Return the best plan. Incumbents, plans of this kiln made before, are tried as well where they were better.

    Raises QuantityError for conditions that cannot be, SimulationError where a run cannot be trusted.
    """
    draws = draws or int(figures().least_draws.value)
    _check(heating, draws)
    told = progress or _silent
    limits = limits.changed(limits.attendance.id, attendance.hours)
    candidates = list(_candidates(replace(heating, draws=draws), limits, attendance, may_wrap, told))
    found = _estimates(candidates, objective, told)
    best, proof = _proven([one for one, _ in found], objective, told)
    best, proof = _incumbent(candidates, incumbents, objective, (best, proof))
    as_is = next(way for one, way in found if one is best)
    named = _binding(best, as_is, proof, objective, told) if binding else ()
    told("done", 1.0)
    return Plan(
        heating=best.heating, limits=limits, objective=objective, proof=proof, binding=named,
        broken=tuple(limits[name] for name in proof.broken),
    )  # fmt: skip


def _silent(_what: str, _share: float) -> None:
    """Say nothing of the progress."""


def _check(heating: Heating, draws: int) -> None:
    if heating.opening == "closed":
        raise QuantityError("vent of the chamber", "shut, plugs in", "a way out for vapour: plugs out, or more")
    if draws < figures().least_draws.value:
        raise QuantityError("draws of a plan", f"{draws}", f"{figures().least_draws.value:g} or more")


# ---------------------------------------------------------------------------------------- candidates


def _candidates(
    heating: Heating, limits: Limits, attendance: Attendance, may_wrap: bool, told: Tell
) -> Iterator[_Candidate]:
    """Yield the kiln bare, and wrapped where its seams let vapour out, with tops as hot as its limits allow."""
    told("drawing what is not known", 0.0)
    room, height_m = heating.room_degc, heating.height_m
    bare, design = _drawn(heating, limits)
    wall = heating.lining.wall
    terminals = _hottest_for_terminals(limits, wall, room)
    highest = floor(min(terminals, limits.top.value) / ROUND_K) * ROUND_K
    by = limits.terminal.id if terminals < limits.top.value else limits.top.id
    for top in sorted({highest, *(top for top in TOPS_DEGC if top < highest)}, reverse=True):
        yield _Candidate(heating, bare, design, Conditions(limits, attendance, (top, by), room, height_m))
    if may_wrap and heating.casing == "seams" and casing("wrapped").wrap_m2k_w:
        around = replace(heating, casing="wrapped")
        wrapped, design = _drawn(around, limits)
        lower = limits.wrapped.value < highest
        most = (limits.wrapped.value, limits.wrapped.id) if lower else (highest, by)
        yield _Candidate(around, wrapped, design, Conditions(limits, attendance, most, room, height_m))


def _hottest_for_terminals(limits: Limits, stack: LayerStack, room_degc: float) -> float:
    """Return the hottest chamber [°C] at which the terminal space keeps to its limit, at steady heat, wall dry."""
    low, high = room_degc, limits.top.value
    if _terminal_degc(stack, high, room_degc) <= limits.terminal.value:
        return high
    while high - low > 1:
        middle = (low + high) / 2
        keeps = _terminal_degc(stack, middle, room_degc) <= limits.terminal.value
        low, high = (middle, high) if keeps else (low, middle)
    return low


def _terminal_degc(stack: LayerStack, chamber_degc: float, room_degc: float) -> float:
    return max(flow.casing_degc for flow in steady_flows(stack, chamber_degc, room_degc))


def _drawn(heating: Heating, limits: Limits) -> tuple[Draws, tuple[int, ...]]:
    """Return a kiln's draws, and which of them to steer by.

    The first is the middle one by water left on the stages of practice, the second its ninetieth percentile; others are
    those of the limits that a run comes near, since the draw that dries last is seldom the one that peaks highest.
    """
    setups = powered(heating, limits)
    course = setups[0].course
    rough = Draws.of(setups, ROUGH, BRISK)
    did, _ = resume(rough, rough.begin(), course, np.arange(0.0, min(course.end_h, PICKED_H) + 0.1, 1.0))
    middle = np.median(did.left, axis=0)
    at = int(np.argmax(middle <= 2 * limits.water_left.value)) or len(middle) - 1
    picks = [_rank(did.left[:, at], 0.5), _rank(did.left[:, at], 0.9)]
    peaks = {name: values.max(axis=1) for name, values in reached(limits, did, course).items()}
    near = [name for name, values in peaks.items() if np.quantile(values, 0.9) > _NEAR * limits[name].value]
    picks += [_rank(peaks[name], 0.9) for name in near]
    return Draws.of(setups, pace=BRISK), tuple(dict.fromkeys(picks))


def _rank(values: Numbers, share: float) -> int:
    return int(np.argsort(values, kind="stable")[min(int(share * len(values)), len(values) - 1)])


Estimated = tuple[_Candidate, Walked]


def _estimates(candidates: list[_Candidate], objective: Objective, told: Tell) -> list[Estimated]:
    """Walk the candidates with their design draws, best first; once a lower top is no better, still lower ones go."""
    found: list[Estimated] = []
    given_up: set[str] = set()
    for number, one in enumerate(candidates):
        if one.heating.casing in given_up:
            continue
        told(f"to {one.under.top[0]:.0f} °C, {casing(one.heating.casing).label}", 0.1 + 0.3 * number / len(candidates))
        way = one.estimate()
        hotter = [_ranked(before, objective) for other, before in found if other.heating.casing == one.heating.casing]
        if hotter and _ranked(way, objective) >= min(hotter):
            given_up.add(one.heating.casing)
        found.append((one, way))
    return sorted(found, key=lambda pair: _ranked(pair[1], objective))


def _ranked(found: Walked, objective: Objective) -> tuple[bool, float]:
    return not found.dry, _worth(found, objective) if found.dry else found.left


def _worth(found: Walked, objective: Objective) -> float:
    return {
        "elapsed": found.schedule.hours, "attended": found.schedule.attended_h,
        "energy": float(np.quantile(found.did.heater_kwh[:, -1], 0.9)),
    }[objective]  # fmt: skip


# ---------------------------------------------------------------------------------------- proof


def _proven(candidates: list[_Candidate], objective: Objective, told: Tell) -> tuple[_Candidate, Proof]:
    """Return the best candidate that holds, bare or wrapped; where none does, the one that breaks least.

    Both are proven: an estimate does not tell them apart by little, and wrapping must never make a plan longer.
    """
    casings = dict.fromkeys(one.heating.casing for one in candidates)
    found = [
        _first_proven([one for one in candidates if one.heating.casing == name], objective, told, 0.4 + 0.15 * number)
        for number, name in enumerate(casings)
    ]
    return min(found, key=lambda pair: _standing(pair[1], objective))


def _first_proven(
    candidates: list[_Candidate], objective: Objective, told: Tell, share: float
) -> tuple[_Candidate, Proof]:
    """Return the first candidate of one casing that holds; where none does, the one that breaks least."""
    found: list[tuple[_Candidate, Proof]] = []
    for one in candidates[:TRIED]:
        told(f"proving on {len(one.draws.setups)} draws, {casing(one.heating.casing).label}", share)
        way = one.walk()
        found.append((one, proof_of(one.under, way.schedule, way.did)))
        if not found[-1][1].broken or not way.dry:
            break  # what does not dry with the best of them does not with the next
    return min(found, key=lambda pair: _standing(pair[1], objective))


def _standing(proof: Proof, objective: Objective) -> tuple[int, float, float]:
    """Return what orders proofs: what they break, what they leave where they do, and what was to be least."""
    return len(proof.broken), proof.left.p90 if proof.broken else 0.0, proof.worth(objective)


def _incumbent(
    candidates: list[_Candidate], incumbents: Sequence[Plan], objective: Objective, best: tuple[_Candidate, Proof]
) -> tuple[_Candidate, Proof]:
    """Return the best found, or an incumbent that was better and still holds under the present conditions."""
    ways = [best]
    for plan in incumbents:
        one = next((one for one in candidates if one.heating.casing == plan.heating.casing), candidates[0])
        there = plan.proof.schedule.attendance.hours
        better = best[1].broken or plan.proof.worth(objective) < best[1].worth(objective)
        if plan.feasible and better and there <= one.under.limits.attendance.value:
            limits = one.under.limits.changed(one.under.limits.attendance.id, there)
            under = replace(one.under, limits=limits)
            ways.append((one, examine(one.draws, under, plan.proof.schedule, until_dry=True)))
    return min(ways, key=lambda pair: _standing(pair[1], objective))


# ---------------------------------------------------------------------------------------- what binds


def _binding(one: _Candidate, as_is: Walked, proof: Proof, objective: Objective, told: Tell) -> tuple[Binding, ...]:
    """Return the limits that a walk is better without, most first; one that refused nothing and is kept cannot bind."""
    found = []
    limits = one.under.limits
    touched = [limit for limit in limits if limit.id in as_is.touched | {limits.water_left.id, *proof.broken}]
    for number, limit in enumerate(touched):
        told(f"relaxing {limit.what}", 0.7 + 0.3 * number / len(touched))
        relaxed = _relaxed(one, limit)
        bound = _in_the_way(limit, proof, relaxed) if proof.broken else _bound(limit, as_is, relaxed, objective)
        found += [bound] if bound else []
    return tuple(sorted(found, key=lambda one: (-(one.saves or 0.0), not one.feasible, -one.dries)))


def _in_the_way(limit: Limit, proof: Proof, relaxed: _Candidate) -> Binding | None:
    """Return a limit as in the way, by what is proven with it relaxed; None where it is kept, and relaxing no help."""
    way = relaxed.walk()
    again = proof_of(relaxed.under, way.schedule, way.did)
    dries = max(proof.left.p90 - again.left.p90, 0.0)
    exceeded = any(peak.limit_id == limit.id and peak.reached.p90 > limit.value for peak in proof.peaks)
    named = exceeded or not again.broken or dries > MORE_DRY * proof.left.p90
    return Binding(limit, None, dries, not again.broken) if named else None


def _bound(limit: Limit, as_is: Walked, relaxed: _Candidate, objective: Objective) -> Binding | None:
    """Return a limit as binding by what a walk comes to with it relaxed; None where that is no better."""
    saves = _worth(as_is, objective) - _worth(relaxed.estimate(), objective)
    return Binding(limit, saves) if saves > max(SAVES_H, SAVES_SHARE * _worth(as_is, objective)) else None


def _relaxed(one: _Candidate, limit: Limit) -> _Candidate:
    """Return a candidate with one limit a quarter looser."""
    under, limits = one.under, one.under.limits.relaxed(limit.id, RELAXED)
    top = (under.top[0] * RELAXED, under.top[1]) if limit.id == under.top[1] else under.top
    hours = limits.attendance.value
    bound = limit.id == limits.attendance.id
    there = replace(under.attendance, to_h=under.attendance.from_h + hours) if bound else under.attendance
    draws = one.draws
    if limits.power and limit.id == limits.power.id:
        power_kw = limits.power.value
        stronger = [replace(s, chamber=replace(s.chamber, power_kw=power_kw)) for s in draws.setups]
        draws = Draws.of(stronger, pace=BRISK)
    return replace(one, draws=draws, under=replace(under, limits=limits, attendance=there, top=top))
