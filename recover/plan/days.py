"""The days of a path as values: by the clock, with each number that is set or was assumed, and what readings should be.

What is expected is what the draws do: nine in ten above the low figure, one in ten above the high one, one in a hundred
beyond the stop.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from functools import cache
from math import ceil, hypot
from statistics import NormalDist
from zoneinfo import ZoneInfo

import numpy as np

from recover.base.datafile import load
from recover.base.measures import show_number
from recover.controller.capability import clear_of
from recover.controller.programme import Programme
from recover.engineering.thermocouples import Letter, tolerance_class
from recover.judged.dryout import OPENING
from recover.physics.air import saturation_line
from recover.physics.draws import NORMAL_HIGH, spread
from recover.physics.drying import Numbers
from recover.physics.ensemble import at_hours
from recover.physics.figures import figures as drying_figures
from recover.physics.figures import opening as chamber_opening
from recover.plan.clock import DAY_H, closing, opening
from recover.plan.criteria import piece_left
from recover.plan.lived import READ_EVERY_H
from recover.plan.log import up_to_its_cutout
from recover.plan.of_job import Taken
from recover.plan.paths import PathRun
from recover.plan.piece import Piece
from recover.plan.walk import RunDay
from recover.plan.ways import WayCard, all_on_kw, beside_kw, heater_kw, room_beside, ways
from recover.plan.whole import Day, Expected, Number, ReadWhat, Request, TimedStep, WaitsFor
from recover.profiles import own_limits
from recover.schedule.spells import HeatedRun

STOP_SHARE = 0.99
NORMAL_STOP = NormalDist().inv_cdf(STOP_SHARE)
"""How many standard deviations only one in a hundred is beyond."""


@dataclass(frozen=True)
class _Words:
    """How numbers and places of a day are called."""

    number: dict[str, str]
    place: dict[str, str]


@cache
def _words() -> _Words:
    return load("plan/days.toml", "recover-days", _Words)


@dataclass(frozen=True, kw_only=True)
class _Compiler:
    """A path that was run, and what its days are put together from."""

    run: PathRun
    of: Taken
    request: Request
    zone: ZoneInfo
    piece: Piece

    def days(self) -> Iterator[Day]:
        return (self._day(number, one) for number, one in enumerate(self.run.days))

    def _day(self, number: int, one: RunDay) -> Day:
        opens = opening(self.request, self.zone, number)
        there, heats = one.attended_h > 0, one.on_h > 0 and bool(one.way.heat)
        alone = there and one.on_h > one.attended_h
        programme, starts = one.programme, _after(opens, one.starts_h)
        steps = tuple(_steps(one, starts))
        top_degc = max((step.to_degc for step in steps), default=self._held_degc(one.way) if heats else None)
        return _below_cutout(Day(
            number=number + 1, date=opens.date(), phase=one.phase, way=one.way.id, boards=one.boards,
            waits_for=self._waits_for(one) if there else "",
            attended_from=opens if there else None,
            attended_to=self._leaves(number, one, opens) if there else None,
            runs_on=tuple(one.way.runs_on) if alone else (),
            numbers=tuple(self._numbers(one)) if there else (), steps=steps,
            runs=programme.runs if programme else (), by_hand=bool(steps) and programme is None,
            programme_ends=None if alone or not heats else steps[-1].ends if steps else _after(opens, one.on_h),
            top_degc=top_degc, cutout_degc=self._cutout_degc(one, top_degc, programme) if heats else None,
            source_of_heat=one.way.heat if heats else None, off_switch=self._off(one.way) if one.on_h > 0 else None,
            readings=tuple(self._readings(number, one, opens, steps)) if there else (),
            left=spread(one.left), litres=spread(one.litres), kwh=spread(one.kwh),
        ))  # fmt: skip

    def _leaves(self, number: int, one: RunDay, opens: datetime) -> datetime:
        """Return when whoever attends leaves: after the visit to what runs alone, else when attendance ends; in shifts
        when the next day opens."""
        if one.on_h > one.attended_h:
            return _after(opens, one.attended_h)
        if self.run.shifts and one.attended_h >= DAY_H:
            return opening(self.request, self.zone, number + 1)
        return closing(self.request, self.zone, number) or opening(self.request, self.zone, number + 1)

    def _waits_for(self, one: RunDay) -> WaitsFor:
        if one.phase != "own":
            return ""
        return "boiling" if one.passes_boiling else "own_heat"

    # ------------------------------------------------------------------------------------ what is set

    def _held_degc(self, way: WayCard) -> float:
        figures = ways()
        return figures.enclosure_degc.mid if way.air == "enclosure" else figures.small_heater_degc.mid

    def _cutout_degc(self, one: RunDay, top_degc: float | None, programme: Programme | None) -> float | None:
        """Return what the cut-out is set to: above the day's own top by what it needs; None where there is none."""
        if top_degc is None:
            return None
        if one.spell and programme is None:
            own = self.of.controller
            return top_degc + max(clear_of(one.overshoot_k), own.cutout_above_k(top_degc))
        if programme is None:
            return top_degc + ways().cutout_margin_k.mid
        return max((run.cutout_degc for run in programme.runs if run.cutout_degc is not None), default=None)

    def _off(self, way: WayCard) -> str:
        own = self.of.isolator if way.air == "own" else self.of.heater_off
        return own or way.off

    def _numbers(self, one: RunDay) -> Iterator[Number]:
        supply = show_number(self.of.supply_kw or 0.0)
        for name, value, unit in self._named(one):
            yield Number(_words().number[name].format(supply=supply), round(float(value), 3), unit)

    def _named(self, one: RunDay) -> Iterator[tuple[str, float, str]]:
        room = room_beside(one.way, self.of) if one.on_h > 0 else self.of.room.unattended
        if one.on_h > 0:
            yield from self._of_way(one)
            yield from self._of_supply(one)
        yield "room_degc", room.day_degc, "°C"
        yield "room_percent", room.read.humidity_percent, "%"
        yield "outside_degc", room.outside.degc, "°C"
        yield "outside_percent", room.outside.humidity_percent, "%"
        yield "night_degc", room.night_degc, "°C"
        drawn = room.air_m3_h > self.of.room.unattended.air_m3_h
        yield "room_fan_m3_h" if drawn else "room_air_m3_h", room.air_m3_h, "m³/h"
        if room.dehumidifier_l_day:
            yield "dehumidifier_l_day", room.dehumidifier_l_day, "l/day"

    def _of_way(self, one: RunDay) -> Iterator[tuple[str, float, str]]:
        figures, way = ways(), one.way
        if way.air == "own":
            if self.of.power_kw is not None:
                yield "power_kw", self.of.power_kw, "kW"
            yield "overshoot_k", one.overshoot_k, "K"
        elif way.air == "enclosure":
            yield "enclosure_degc", figures.enclosure_degc.mid, "°C"
            yield "enclosure_kw", heater_kw(way, self.of), "kW"
            yield "enclosure_w_k", figures.enclosure_w_k.mid, "W/K"
            yield "exhaust_m3_h", figures.exhaust_m3_h.mid, "m³/h"
            yield "heater_cutout_degc", figures.enclosure_degc.mid + figures.cutout_margin_k.mid, "°C"
        elif way.air == "small_heater":
            yield "small_heater_degc", figures.small_heater_degc.mid, "°C"
            yield "small_heater_kw", heater_kw(way, self.of), "kW"
            yield "heater_cutout_degc", figures.small_heater_degc.mid + figures.cutout_margin_k.mid, "°C"
        elif way.air == "workshop":
            yield "workshop_degc", figures.workshop_degc.mid, "°C"
            yield "workshop_percent", figures.workshop_percent.mid, "%"
        if way.air != "enclosure":
            yield "vent_m3_h", chamber_opening(way.opening or OPENING).vent_m3_h.mid, "m³/h"

    def _of_supply(self, one: RunDay) -> Iterator[tuple[str, float, str]]:
        """Yield what is on beside a heater, and all that is on: the plates are held against both."""
        if beside := beside_kw(one.way, self.of):
            yield "beside_kw", beside, "kW"
        if all_on := all_on_kw(one.way, self.of):
            yield "all_on_kw" if self.of.supply_kw is None else "all_on_of_kw", all_on, "kW"

    # ------------------------------------------------------------------------------------ what is read

    def _readings(self, number: int, one: RunDay, opens: datetime, steps: Sequence[TimedStep]) -> Iterator[Expected]:
        yield from self._piece(number, opens)
        hours = list(np.arange(READ_EVERY_H, one.on_h + 0.01, READ_EVERY_H)) if one.on_h else []
        for hour in (float(hour) for hour in hours if hour + one.starts_h <= one.attended_h):
            at = _after(opens, one.starts_h + hour)
            yield from _casings(one, hour, at)
            yield from self._chamber(one, hour, at)
            yield from self._exhaust(one, hour, at)
        yield from self._caught(one)
        yield from self._insulation(one, opens, steps)

    def _piece(self, number: int, opens: datetime) -> Iterator[Expected]:
        if np.quantile(self.run.days[number].did.chamber_degc[:, 0], 0.9) > HANDLED_DEGC:
            return
        left = piece_left(self.run.days)[number - 1] if number else np.ones(len(self.run.days[0].left))
        weighs = np.asarray(self.piece.weighs(left))
        low, mid, high = (float(one) for one in np.quantile(weighs, (0.1, 0.5, 0.9)))
        one = Expected(what="piece", place=_words().place["piece"], at=opens, unit=self.piece.unit, low=low, mid=mid,
                       high=high)  # fmt: skip
        # Soaked it weighs the same in every draw: a band without a width would call each scale wrong.
        yield one if low < high else replace(one, low=None, mid=None, high=None)

    def _chamber(self, one: RunDay, hour: float, at: datetime) -> Iterator[Expected]:
        """Yield what the independent probe should tell of its own heat; beyond all that may be overrun the day ends.

        It may be read up to half an hour late, while a ramp goes on; and the controller's probe and the independent one
        may lie apart by the tolerance of both.
        """
        if one.spell is None:
            return
        degc = at_hours(hour, one.did.hours, one.did.chamber_degc)
        low, mid = (float(value) for value in np.quantile(degc, (0.1, 0.5)))
        apart_k = tolerance_class(PROBE, "2").at(mid) or 0.0
        apart_k = hypot(apart_k, apart_k)
        high = float(np.quantile(degc, 0.9)) + one.overshoot_k
        yield Expected(what="chamber", place=_words().place["probe"], at=at, unit="°C", low=low - apart_k, mid=mid,
                       high=high, stop=float(ceil(_hottest_degc(one, hour) + one.overshoot_k + apart_k)))  # fmt: skip

    def _exhaust(self, one: RunDay, hour: float, at: datetime) -> Iterator[Expected]:
        """Yield the humidity of the air that leaves, where a meter can read it: below what such meters are made for."""
        degc = at_hours(hour, one.did.hours, one.did.chamber_degc)
        if one.on_h == 0 or hour > one.on_h or degc.max() > MOST_READ_DEGC:
            return
        enclosed = one.way.air == "enclosure"
        shares = one.did.around_vapour if enclosed else one.did.chamber_vapour
        vapour = at_hours(hour, one.did.hours, shares)
        saturated = np.array([saturation_line(float(warm))[0] for warm in degc])
        percent = np.minimum(100 * vapour * one.did.setups[0].room.pressure_pa / saturated, 100.0)
        place = _words().place["enclosure" if enclosed else "chamber"]
        yield _expected("exhaust", place, at, "%", percent)

    def _caught(self, one: RunDay) -> Iterator[Expected]:
        if one.on_h == 0 or not self.of.room.dehumidifier_l_day or one.way.air in ("enclosure", "workshop"):
            return
        share = drying_figures().catch_share
        low, mid, high = np.quantile(one.litres, (0.1, 0.5, 0.9))
        low, mid, high = (max(one, 0.0) for one in (low, mid, high))
        yield Expected(what="litres", place=_words().place["caught"], at=None, unit="l", low=float(low * share.low),
                      mid=float(mid * share.mid), high=float(high * share.high))  # fmt: skip

    def _insulation(self, one: RunDay, opens: datetime, steps: Sequence[TimedStep]) -> Iterator[Expected]:
        entry, floor = (own_limits()[name].value for name in ("element_entry_megohm", "element_abort_megohm"))
        place, reads = _words().place["elements"], [step.ends for step in steps if step.reads]
        own = one.phase == "own"
        yield Expected(what="insulation", place=place, at=opens if own else _after(opens, one.attended_h), unit="MΩ",
                      low=entry if own else None)  # fmt: skip
        for at in reads:
            yield Expected(what="insulation", place=place, at=at, unit="MΩ", stop=floor)


PROBE: Letter = "K"
"""What an independent probe usually is, of class 2 of its type: each is off by that, the controller's as well."""

READ_LATE_H = 0.5
"""How late a reading may be taken and still be held against its hour."""

HANDLED_DEGC = 50.0
"""A piece that is hotter is not taken out to be weighed: what skin bears for a minute, from memory of ISO 13732-1."""

MOST_READ_DEGC = 80.0
"""Hotter air is read by no ordinary hygrometer: from memory of what such meters are made for."""


def days_of(run: PathRun, of: Taken, request: Request, zone: ZoneInfo, piece: Piece) -> tuple[Day, ...]:
    """Return the days of a path."""
    return tuple(_Compiler(run=run, of=of, request=request, zone=zone, piece=piece).days())


def _below_cutout(day: Day) -> Day:
    """Return a day on which no chamber is expected beyond what its cut-out is set to: that should have opened."""
    return replace(day, readings=tuple(_up_to(one, day) for one in day.readings))


def _up_to(one: Expected, day: Day) -> Expected:
    if one.what != "chamber" or one.at is None or one.stop is None:
        return one
    most = up_to_its_cutout(one.stop, day, one.at)
    return replace(one, stop=most, high=None if one.high is None else min(one.high, most))


def _after(opens: datetime, hours: float) -> datetime:
    """Return a moment so many hours later, to the minute: elapsed time, shown by the clock of the place."""
    return (opens.astimezone(UTC) + timedelta(minutes=round(60 * hours))).astimezone(opens.tzinfo)


def _steps(one: RunDay, starts: datetime) -> Iterator[TimedStep]:
    """Yield the steps of a day of its own elements by the clock, run after run, as they are typed in."""
    for number, begins_h, run in _typed(one, one.programme) if one.programme else _by_hand(one):
        knots, degc = run.course.hours, run.from_degc
        for at, step in enumerate(run.steps):
            begin, held, end = (_after(starts, begins_h + hour) for hour in knots[2 * at : 2 * at + 3])
            stays = abs(step.to_degc - degc) < 1e-6
            yield TimedStep(
                run=number, begins=begin, hold_from=held, ends=end, ramp_k_h=None if stays else step.ramp_k_h,
                to_degc=step.to_degc, reads=run.reads and step is run.steps[-1],
            )  # fmt: skip
            degc = step.to_degc


def _by_hand(one: RunDay) -> Iterator[tuple[int, float, HeatedRun]]:
    """Yield the runs of a day as they were searched: their numbers, the hours of the day at which they begin."""
    runs = zip(one.spell.begins_h, one.spell.runs, strict=True) if one.spell else ()
    yield from ((number, *of) for number, of in enumerate(runs, start=1))


def _typed(one: RunDay, programme: Programme) -> Iterator[tuple[int, float, HeatedRun]]:
    """Yield the runs of a day as a controller takes them: of one that was searched it may take several, each begun
    when the one before has ended."""
    assert one.spell
    begins = iter(one.spell.begins_h)
    begins_h = next(begins)
    for run in programme.runs:
        yield run.number, begins_h, HeatedRun(min(run.begins_degc, run.steps[0].to_degc), run.steps, run.reads)
        begins_h = next(begins, 0.0) if run.reads else begins_h + run.hours


def _hottest_degc(one: RunDay, hour: float) -> float:
    """Return what only one draw in a hundred is hotter than, from an hour of the day on until it is read [°C]."""
    times = hour + np.linspace(0.0, READ_LATE_H, 7)
    degc = at_hours(times, one.did.hours, one.did.chamber_degc)
    return float(np.quantile(degc, STOP_SHARE, axis=0).max())


def _casings(one: RunDay, hour: float, at: datetime) -> Iterator[Expected]:
    """Yield what the casing should be at each place, the hottest of the draws giving the stop."""
    for number, wall in enumerate(one.did.setups[0].walls):
        if place := place_of(wall.name):
            degc = at_hours(hour, one.did.hours, one.did.casing_degc[:, :, number])
            yield _expected("casing", place, at, "°C", degc, stops=True)


def place_of(name: str) -> str:
    """Return how the casing of a wall is called; empty for edges, and for what is dry beside its wet part.

    Walls that were run as one are called by all their parts. Raises KeyError for a part that has no name here.
    """
    parts = [part.removesuffix(", wet") for part in name.split(" and ")]
    if any(part.endswith((", dry", ", edges", ", edges, wet")) for part in parts):
        return ""
    return _words().place["_and_".join(dict.fromkeys(parts))]


def _beyond_k() -> float:
    """Return how far a casing may be read beyond what draws say before it means anything [K]: meter, place and room."""
    figures = drying_figures()
    room_k = figures.night_fall_k.mid / NORMAL_HIGH
    return NORMAL_STOP * hypot(figures.casing_offset_k.mid, figures.casing_look_k.mid, room_k)


def _expected(what: ReadWhat, place: str, at: datetime, unit: str, values: Numbers, *, stops: bool = False) -> Expected:
    low, mid, high = (float(one) for one in np.quantile(values, (0.1, 0.5, 0.9)))
    stop = float(ceil(np.quantile(values, STOP_SHARE) + _beyond_k())) if stops else None
    return Expected(what=what, place=place, at=at, unit=unit, low=low, mid=mid, high=high, stop=stop)
