"""What is said beside a recommendation: of a room that vapour hardly leaves, of a supply that is counted on twice."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

from recover.plan.of_job import Taken
from recover.plan.ways import own_kw, room_machines_kw, way, ways
from recover.plan.whole import KilnPlan


def with_cautions(kilns: Sequence[Taken], plans: Sequence[KilnPlan]) -> tuple[KilnPlan, ...]:
    """Return the plans of a job's kilns, each with what is to be said beside its recommendation."""
    both = list(zip(kilns, plans, strict=True))
    return tuple(_told(plan, [*_of_room(of, plan), *_of_supply(of, plan, both)]) for of, plan in both)


def _told(plan: KilnPlan, lines: Sequence[str]) -> KilnPlan:
    """Return a plan that says so; one that was moved to other dates says it already."""
    new = [one for one in lines if one not in plan.because]
    return replace(plan, because=" ".join([plan.because, *new]).strip()) if new else plan


def _of_room(of: Taken, plan: KilnPlan) -> Iterator[str]:
    """Yield the caution of a room of which it is known that no fan and no dehumidifier takes its vapour."""
    if plan.paths and of.care is not None and room_machines_kw(of) == 0:
        yield ways().sentence["damp_room"].format(air=f"{of.room.air_m3_h:.0f}")


def _of_supply(of: Taken, plan: KilnPlan, both: Sequence[tuple[Taken, KilnPlan]]) -> Iterator[str]:
    """Yield the caution of a supply that on some day of this kiln is to carry more than it gives, with the others'."""
    mine = _on_kw(of, plan)
    others = [_on_kw(other, its) for other, its in both if its is not plan]
    room_kw, gives_kw = room_machines_kw(of), of.supply_kw
    at_once = (kw + sum(other.get(day, 0.0) for other in others) for day, kw in mine.items()
               if any(day in other for other in others))  # fmt: skip
    if gives_kw is not None and room_kw + max(at_once, default=-room_kw) > gives_kw:
        yield ways().sentence["one_supply"]


def _on_kw(of: Taken, plan: KilnPlan) -> dict[date, float]:
    """Return what the way of each day takes of the supply, beside the room's machines; of days that take any."""
    on = {day.date: own_kw(way(day.way), of) for day in plan.days if day.off_switch}
    return {day: kw for day, kw in on.items() if kw}
