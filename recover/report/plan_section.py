"""The plan in the report: the recommendation, the paths side by side, phases and days of the one that is followed.

A view is made of the plan as it is stored; nothing is computed again. What most readers need not read is in
`plan_details`, for the appendix.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from itertools import combinations
from typing import TYPE_CHECKING

from recover.asked.answers import Answers
from recover.base.measures import show_number, show_quantity
from recover.judged.assessment import Assessment
from recover.judged.dryout import to_weigh
from recover.plan.log import log_of, shut, wetted
from recover.plan.prices import money, price_kwh, rate_hour
from recover.report.day import criteria, dated, day_view, gate, handed_over_on, own_heat, target, withdrawn
from recover.report.paper import Numbered, View, drawn, percent, share
from recover.report.plan_days import dates, phases
from recover.report.plan_details import details, limit_value, reached
from recover.report.so_far import drying_plot, piece_of_answers
from recover.report.words import words

if TYPE_CHECKING:
    from recover.plan.whole import Criterion, JobPlan, KilnPlan, Opens, Path


MOST = 5
"""How much of what has changed is named."""


def plan_section(found: Assessment, plan: JobPlan, numbered: Numbered, *, changed: Sequence[str] = ()) -> View:
    """Return the plan of a job, kiln by kiln. `changed` is what it rests on and has changed since it was made."""
    told = words().plan
    return {
        "changed": _changed(changed),
        "calculation": told.calculation(draws=show_number(plan.draws)),
        "measure": _measure(found) if any(one.days for one in plan.kilns) else "",
        "each_kiln": told.each_kiln if _at_each(plan) else "",
        "gate": told.gate, "prices": _prices(found.answers), "money": money(found.answers),
        "kilns": [_kiln(found, plan, one, numbered, changed) for one in plan.kilns],
    }  # fmt: skip


def _changed(changed: Sequence[str]) -> str:
    """Say what has changed since the plan was made; of much the first, and how much more."""
    if not changed:
        return ""
    more = [words().plan.changed_more(number=len(changed) - MOST)] if len(changed) > MOST else []
    return words().plan.changed(what="; ".join([*changed[:MOST], *more]))


def _kiln(found: Assessment, plan: JobPlan, kiln: KilnPlan, numbered: Numbered, changed: Sequence[str]) -> View:
    told, views = words().plan, [day_view(found, plan, kiln, day) for day in kiln.days]
    over = over_since(found, kiln)
    return {
        "kiln": kiln.label,
        "missing": told.missing(missing=" ".join(kiln.missing)) if kiln.missing else "",
        "chosen": [told.over(on=over)] if over else _overtaken(kiln) if changed else _chosen(found, kiln),
        "hold": "" if over else _hold_state(found, kiln),
        "paths": [_path(kiln, one, changed or over, kiln.paths[:n]) | _withdrawn(found, kiln, one, over)
                  for n, one in enumerate(kiln.paths)],
        "phases": phases(found, kiln, views, overtaken=bool(changed), over=handed_over_on(found, kiln)),
        "criteria": _criteria(kiln), "holds": _holds_up(kiln), "so_far": _so_far(found, kiln),
        "details": details(kiln, views, numbered),
    }  # fmt: skip


def over_since(found: Assessment, kiln: KilnPlan) -> date | None:
    """Return when a kiln was handed over, and nothing of its plan is to be done any more; None where it was not, or
    water came again."""
    return None if wetted(kiln, found.answers, date.max) else handed_over_on(found, kiln)


def _so_far(found: Assessment, kiln: KilnPlan) -> str:
    """Return the drying so far as a picture; none where nothing was read of it."""
    log = log_of(found.answers, kiln.kiln)
    return drying_plot(kiln, log, piece_of_answers(found, kiln.kiln)) if log else ""


def _at_each(plan: JobPlan) -> bool:
    """Whether somebody is at two kilns on the same date: each is planned with all of an attendance."""
    dates = [{day.date for day in kiln.days if day.attended_from} for kiln in plan.kilns]
    return any(one & other for one, other in combinations(dates, 2))


def _measure(found: Assessment) -> str:
    """Say what could be measured where all is assumed: no piece where one was weighed, or no brick holds water."""
    told = words().plan
    piece = any(to_weigh(found, kiln) for kiln in found.answers.kilns)
    return told.measure(piece=told.measure_piece if piece else "")


def _prices(answers: Answers) -> str:
    """Say at what price energy is reckoned, and at what an hour of attendance; nothing of what nobody said."""
    told = words().plan.prices
    rates = ((told["kwh"], price_kwh(answers)), (told["hour"], rate_hour(answers)))
    said = (say(price=f"{price.normalize():f}", money=money(answers)) for say, price in rates if price is not None)
    return " ".join(" ".join(said).replace(" .", ".").split())


def _hold_state(found: Assessment, kiln: KilnPlan) -> str:
    """Say how the hold point before its own elements stands, until when, and whether a dated day ends after that."""
    told, hold = words().plan, gate(found, kiln)
    if hold.until is None:
        return told.hold(title=hold.point.title, state=hold.state)
    clock = found.answers.by_clock  # a stored moment has the offset of its place, and not the place's name
    said = told.hold_until(title=hold.point.title, state=hold.state, until=clock(hold.until))
    own = next((day for day in kiln.days if own_heat(day) and day.attended_to), None)
    ends = own.attended_to if own and dated(found, kiln, own) else None
    return f"{said} {told.hold_lapses(ends=clock(ends))}" if ends and hold.until < ends else said


# ---------------------------------------------------------------------------------------- what is recommended


def _chosen(found: Assessment, kiln: KilnPlan) -> list[str]:
    """Return what shuts all of it, if anything, then the recommendation, and what is followed instead where that is
    another path or none."""
    told = words().plan
    if not kiln.paths:
        return []
    advice = (told.recommended if kiln.recommended else told.none_recommended)(because=kiln.because)
    why = shut(kiln, found.answers, date.max)
    told_so = any(line in kiln.because for line in why)  # it was planned with that
    return [*why, *([] if told_so else [advice]), *_instead(kiln)]


def _instead(kiln: KilnPlan) -> Iterator[str]:
    told = words().plan
    if kiln.refused:
        yield told.refused(reasons=" ".join(kiln.refused))
    if kiln.path and kiln.followed != kiln.recommended:
        yield told.asked_for(path=kiln.path.title)


def _overtaken(kiln: KilnPlan) -> list[str]:
    """Say which path was followed before something changed: nothing of it is advice any more."""
    return [words().plan.overtaken(path=kiln.path.title)] if kiln.path else []


def _titled(kiln: KilnPlan, path_id: str) -> str:
    return next((one.title for one in kiln.paths if one.id == path_id), "")


# ---------------------------------------------------------------------------------------- the paths side by side


def _path(kiln: KilnPlan, one: Path, changed: object, before: Sequence[Path]) -> View:
    told = words().plan.path
    return {
        "title": one.title, "marks": [] if changed else list(_marks(kiln, one)),
        "closed": " ".join(_closed(one, before)), "opens": _would_open(one),
        "fires": _fires(one), "attended": _hours(one.attended_hours),
        "visits": "" if one.visits is None else str(one.visits),
        "energy": drawn(one.kwh_span, "kWh") if one.kwh_span else "",
        "cost": "" if one.cost is None else show_number(round(one.cost), 4),
        "contains": "" if one.cost is None else told.both if one.with_attendance else told.energy,
        "left": share(one.left) if one.left else "",
    }  # fmt: skip


def _closed(one: Path, before: Sequence[Path]) -> Iterator[str]:
    """Yield why a path is closed; what stands beside one before it already, by its first words alone."""
    told = {line for path in before for line in path.closed_because}
    yield from (line for line in one.closed_because if line not in told or ": " not in line)
    if again := [line.partition(": ")[0] for line in one.closed_because if line in told and ": " in line]:
        yield words().plan.path.as_above(reasons="; ".join(again))


def _withdrawn(found: Assessment, kiln: KilnPlan, one: Path, over: date | None) -> View:
    """Return what stands instead of every figure of a path where water came again: it was reckoned without that; and
    instead of its dates alone while anything else shuts the plan, or once it was handed over."""
    if over:
        return {"fires": words().plan.phase.over(on=over)} if one.id == kiln.followed else {"fires": ""}
    if not wetted(kiln, found.answers, date.max):
        shuts = one.first_firing and withdrawn(found, kiln)
        return {"fires": words().plan.path.withdrawn} if shuts else {}
    nothing = dict.fromkeys(("attended", "visits", "energy", "cost", "contains"), "")
    return {**nothing, "fires": words().plan.path.wetted, "left": words().plan.path.wetted}


def _marks(kiln: KilnPlan, one: Path) -> Iterator[str]:
    """Yield what a path is: recommended, followed, beaten by another."""
    told = words().plan.path
    if one.id == kiln.recommended:
        yield told.recommended
    if one.id == kiln.followed:
        yield told.followed
    if beats := _titled(kiln, one.beaten_by):
        yield told.beaten(by=beats)


def _would_open(one: Path) -> str:
    """Say what would open a path; of one that is open, what would let it finish."""
    if one.open or not one.would_open:
        return one.would_open
    return words().plan.path.would_open(what=one.would_open)


def _fires(one: Path) -> str:
    """Return by when half of the draws fire again, and nine in ten; or that it does not come to that."""
    if one.first_firing:
        return dates(one.first_firing.p50, one.first_firing.p90)
    return words().plan.path.unfinished if one.finishes is False else ""


def _hours(hours: float | None) -> str:
    return "" if hours is None else show_quantity(round(hours), "hour")


# ---------------------------------------------------------------------------------------- the path that is followed


def _criteria(kiln: KilnPlan) -> list[View]:
    """Return the readings that say go on, each with the value it must have and how often it said so too soon."""
    told, opens = words().plan.criterion.opens, dict.fromkeys(one.opens for one in kiln.criteria)
    return [
        *({"opens": told[name], "rows": [_reading(one) for one in criteria(kiln, name)]} for name in opens),
        *({"opens": words().day.criterion.nothing[name], "rows": []} for name in _unread(kiln)),
    ]


def _unread(kiln: KilnPlan) -> Iterator[Opens]:
    """Yield what no reading says by itself on the path that is followed, though it comes to it."""
    if any(day.waits_for == "boiling" for day in kiln.days) and not criteria(kiln, "boiling"):
        yield "boiling"
    if kiln.days and not criteria(kiln, "done"):
        yield "done"


def _reading(one: Criterion) -> View:
    says = target(one)
    if one.from_degc:
        says = words().plan.criterion.on_top(what=says, degc=show_quantity(one.from_degc, "degC"))
    return {"says": says, "soon": _soon(one)}


def _soon(one: Criterion) -> str:
    """Say in how many draws a criterion was so with more water left than it may be."""
    told = words().plan.criterion
    if not one.false_share:
        return told.never(left=percent(one.left))
    return told.soon(share=percent(one.false_share), left=percent(one.left))


def _holds_up(kiln: KilnPlan) -> str:
    """Say which limits refused anything faster, nearest first, with what was reached of each."""
    told = words().plan.kept
    rows = [
        told.row(
            what=one.limit.what, reached=reached(one),
            limit=words().plan.asked[one.limit.stricter](value=limit_value(one.limit)),
        )
        for one in kiln.kept if one.binds
    ]  # fmt: skip
    if not kiln.kept:
        return ""
    return told.binds(rows="; ".join(rows)) if rows else told.none
