"""A plan as one JSON document: what is stored, but no date on a day that may have none, as on every paper.

Nor has a day that something forbids any step, or anything that is set.
"""

from __future__ import annotations

import json
from datetime import datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from recover.judged.assessment import Assessment
from recover.plan.store import as_plain
from recover.report.day import dated, unset

if TYPE_CHECKING:
    from recover.plan.whole import Day, JobPlan, KilnPlan

MOMENTS = frozenset({"attended_from", "attended_to", "programme_ends", "begins", "hold_from", "ends", "at"})
"""The keys of a day under which a moment stands."""

NOTHING_SET: dict[str, Any] = {"steps": [], "runs": [], "top_degc": None, "cutout_degc": None, "programme_ends": None}
"""What stands under these keys of a day on which nothing is to be set."""


def json_text(found: Assessment, plan: JobPlan) -> str:
    """Return a plan as JSON. Where all its days may be dated it is the stored one, byte for byte.

    The `date` of a day that may have none is null, and its moments are by the clock alone, as "08:00".
    """
    plain, zone = as_plain(plan), ZoneInfo(plan.zone)
    for kiln, written in zip(plan.kilns, plain["kilns"], strict=True):
        days = zip(kiln.days, written["days"], strict=True)
        written["days"] = [_day(found, kiln, day, one, zone) for day, one in days]
    return json.dumps(plain, ensure_ascii=False, indent=1, sort_keys=True, allow_nan=False) + "\n"


def _day(found: Assessment, kiln: KilnPlan, day: Day, stored: dict[str, Any], zone: ZoneInfo) -> dict[str, Any]:
    """Return a day as it is stored; without its date, its steps and what is set where it may have none."""
    if dated(found, kiln, day):
        return stored
    withheld = NOTHING_SET if unset(found, kiln, day) else {}
    return {**_by_the_clock(stored, zone), "date": None, **withheld}


def _by_the_clock(value: Any, zone: ZoneInfo, key: str = "") -> Any:
    """Return the values of a day with its moments by the clock of the place, without their dates."""
    if isinstance(value, dict):
        return {name: _by_the_clock(one, zone, name) for name, one in value.items()}
    if isinstance(value, list):
        return [_by_the_clock(one, zone) for one in value]
    if isinstance(value, str) and key in MOMENTS:
        return f"{datetime.fromisoformat(value).astimezone(zone):%H:%M}"
    return value
