"""A plan whose kilns are dried as before, on other dates or at other prices: nothing is run again.

Walls know no dates. Where nothing changed by which they are run, and somebody is there for as long on each day, days of
the plan before are moved to their new dates, and what it costs is reckoned anew.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from recover.plan.compared import Calendar, cost_of, with_beaten
from recover.plan.of_job import Taken
from recover.plan.whole import Dates, Day, KilnPlan, Path, Request

PRICES = ("price of a kWh", "price of an hour's attendance")
"""Inputs by which no wall is run, as they are named."""

BEYOND_DAYS = 60
"""How far beyond the last day the calendar must be as it was: fitting, proof, the first firing, whatever is closed."""


def runs_as_before(kiln: str, then: Mapping[str, str], now: Mapping[str, str]) -> bool:
    """Whether nothing by which the walls of a kiln are run is another now than then."""
    others = {name for name in {**then, **now} if then.get(name) != now.get(name)}
    return all(
        any(name == f"{kiln}, {price}" for price in PRICES) or not name.startswith((f"{kiln}, ", "profile"))
        for name in others
    )


def moved(plan: KilnPlan, of: Taken, then: Calendar, now: Calendar) -> KilnPlan | None:
    """Return the plan of a kiln on other dates, at the prices of today; None where somebody is there at other times."""
    lasts = len(plan.days) + BEYOND_DAYS
    if not _asks_alike(then.request, now.request) or any(
        then.attended(day) != now.attended(day) for day in range(lasts)
    ):
        return None
    if _past_midnight(plan) and any(then.lasts_h(day) != now.lasts_h(day) for day in range(len(plan.days))):
        return None
    later = now.date(0) - then.date(0)
    paths = with_beaten([_path(one, of, later) for one in plan.paths])
    return replace(plan, paths=paths, days=tuple(_day(one, then, now) for one in plan.days))


def _asks_alike(one: Request, other: Request) -> bool:
    return (one.attendance, one.path) == (other.attendance, other.path)


def _past_midnight(plan: KilnPlan) -> bool:
    """Whether somebody leaves on the date after that of a day: a change of clocks then moves when that is."""
    return any(day.attended_to is not None and day.attended_to.date() > day.date for day in plan.days)


def _path(path: Path, of: Taken, later: timedelta) -> Path:
    dates = path.first_firing and Dates(path.first_firing.p50 + later, path.first_firing.p90 + later)
    phases = tuple(replace(one, first=one.first + later, last=one.last + later) for one in path.phases)
    money = None if path.kwh is None else cost_of(of, path.kwh, path.attended_hours or 0.0)
    by_rate = path.open and of.rate_hour is not None
    return replace(path, first_firing=dates, phases=phases, cost=money, with_attendance=by_rate)


def _day(day: Day, then: Calendar, now: Calendar) -> Day:
    """Return a day on its new date, each moment as long after its opening as it was."""
    number = day.number - 1
    opened, opens = then.opening(number), now.opening(number)

    def at(moment: datetime) -> datetime:
        return (opens.astimezone(UTC) + (moment.astimezone(UTC) - opened.astimezone(UTC))).astimezone(now.zone)

    def if_any(moment: datetime | None) -> datetime | None:
        return None if moment is None else at(moment)

    steps = tuple(
        replace(one, begins=at(one.begins), hold_from=at(one.hold_from), ends=at(one.ends)) for one in day.steps
    )
    return replace(
        day, date=opens.date(), steps=steps, attended_from=if_any(day.attended_from),
        attended_to=if_any(day.attended_to), programme_ends=if_any(day.programme_ends),
        readings=tuple(replace(one, at=if_any(one.at)) for one in day.readings),
    )  # fmt: skip
