"""A plan as one JSON document: what is stored, but no date on a day that may have none, as on every paper.

Nor has a day that something forbids any step, or anything that is set; nor has a path a first firing while what shuts
the plan stands, which is `withdrawn` then.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from recover.judged.assessment import Assessment
from recover.plan.store import as_plain, canonical
from recover.report.day import as_it_may_be_set, clock_of, dated, may_be_told, withdrawn

if TYPE_CHECKING:
    from recover.plan.whole import Day, JobPlan, KilnPlan

MOMENTS = frozenset({"attended_from", "attended_to", "programme_ends", "begins", "hold_from", "ends", "at"})
"""The keys of a day under which a moment stands."""


def json_text(found: Assessment, plan: JobPlan) -> str:
    """Return a plan as JSON. Where all its days may be dated it is the stored one, byte for byte.

    The `date` of a day that may have none is null, as are `first` and `last` of a phase, and its moments are by the
    clock alone, as "08:00"; nothing is set on a day on which nothing is to be. Of a plan that is shut it is told by
    what, and no path has a first firing.
    """
    kilns = tuple(
        replace(kiln, days=tuple(as_it_may_be_set(found, kiln, day) for day in kiln.days)) for kiln in plan.kilns
    )
    plain, zone = as_plain(replace(plan, kilns=kilns)), ZoneInfo(plan.zone)
    for kiln, written in zip(plan.kilns, plain["kilns"], strict=True):
        written["days"] = [
            one if dated(found, kiln, day) else {**_by_the_clock(one, day, zone), "date": None}
            for day, one in zip(kiln.days, written["days"], strict=True)
        ]
        for path in written["paths"]:
            path["phases"] = [_phase(found, kiln, phase) for phase in path["phases"]]
        if why := withdrawn(found, kiln):
            written |= {"withdrawn": list(why), "paths": [one | {"first_firing": None} for one in written["paths"]]}
    return canonical(plain)


def _phase(found: Assessment, kiln: KilnPlan, phase: dict[str, Any]) -> dict[str, Any]:
    """Return a phase of a path without what may not be told of its dates."""
    ends = {name: phase[name] for name in ("first", "last")}
    may = {name: may_be_told(found, kiln, date.fromisoformat(on)) for name, on in ends.items()}
    return phase | {name: on if may[name] else None for name, on in ends.items()}


def _by_the_clock(value: Any, day: Day, zone: ZoneInfo, key: str = "") -> Any:
    """Return the values of a day with its moments by the clock of the place, without their dates."""
    if isinstance(value, dict):
        return {name: _by_the_clock(one, day, zone, name) for name, one in value.items()}
    if isinstance(value, list):
        return [_by_the_clock(one, day, zone) for one in value]
    if isinstance(value, str) and key in MOMENTS:
        return clock_of(datetime.fromisoformat(value), day, zone)
    return value
