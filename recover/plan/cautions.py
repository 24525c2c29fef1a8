"""What is said beside a recommendation: of a room that vapour hardly leaves, of a supply that is counted on twice."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

from recover.plan.of_job import Taken
from recover.plan.ways import machines_kw, own_kw, room_beside, way, ways
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
    if plan.paths and of.care is not None and machines_kw(of.room) == 0:
        yield ways().sentence["damp_room"].format(air=f"{of.room.air_m3_h:.0f}")


def _of_supply(of: Taken, plan: KilnPlan, both: Sequence[tuple[Taken, KilnPlan]]) -> Iterator[str]:
    """Yield the caution of a supply that on some day of this kiln is to carry more than it gives, with the others'.

    The machines of their room are on once, whoever counts on them.
    """
    mine, gives_kw = _on_kw(of, plan), of.supply_kw
    others = [_on_kw(other, its) for other, its in both if its is not plan]
    for day in mine if gives_kw is not None else ():
        on = [mine[day], *(other[day] for other in others if day in other)]
        if len(on) > 1 and sum(own for own, _ in on) + max(room for _, room in on) > (gives_kw or 0.0):
            yield ways().sentence["one_supply"]
            return


def _on_kw(of: Taken, plan: KilnPlan) -> dict[date, tuple[float, float]]:
    """Return what takes power of the supply on each day, where anything does: by the way itself, by the room's
    machines that it counts on."""
    cards = {day.date: way(day.way) for day in plan.days if day.off_switch}
    on = {day: (own_kw(card, of), machines_kw(room_beside(card, of))) for day, card in cards.items()}
    return {day: kw for day, kw in on.items() if any(kw)}
