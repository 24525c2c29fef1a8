"""The way that each kiln of a plan is dried by, and the sentence that says why there is none."""

from __future__ import annotations

from collections.abc import Iterator

from recover.plan.follow import Followed
from recover.plan.search import Plan
from recover.plan.strategies import Strategy
from recover.plan.whole import JobPlan, KilnPlan
from recover.report.words import words


def way_of(kiln: KilnPlan) -> Strategy | None:
    """Return the way that is followed; None where none is."""
    ways = kiln.comparison.strategies if kiln.comparison else ()
    return next((one for one in ways if one.card.id == kiln.way), None)


def shown(kiln: KilnPlan) -> Plan | Followed | None:
    """Return the schedule that is done: as the controller runs it, where it runs every day, else as it was searched."""
    run = kiln.followed
    return run if run and run.by_controller else kiln.own


def own_schedule(kiln: KilnPlan) -> Plan | Followed | None:
    """Return the schedule of the kiln's own elements, where they are the way that is followed."""
    way = way_of(kiln)
    return shown(kiln) if way and way.card.air == "own" else None


def why_none(plan: JobPlan) -> str:
    """Return for each kiln why no day of its own elements can be dated."""
    return " ".join(f"{kiln.label}: {' '.join(_reasons(kiln))}" for kiln in plan.kilns)


def _reasons(kiln: KilnPlan) -> Iterator[str]:
    word, way = words().way, way_of(kiln)
    yield from kiln.missing
    if way and way.card.air != "own":
        yield word.external(way=way.card.title)
    elif way and own_schedule(kiln):
        yield word.gate
    elif not kiln.missing:
        yield kiln.comparison.because if kiln.comparison and not way else word.none
        if kiln.own and kiln.own.broken:
            yield word.binds(limits=", ".join(limit.what for limit in kiln.own.broken))
