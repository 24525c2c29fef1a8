"""The plan in the report: the ways to dry side by side, the one that is followed and why, the schedule, what binds.

A view is made of the plan as it is stored; nothing is computed again. What most readers need not read is in
`plan_details`, for the appendix.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import TYPE_CHECKING

from recover.assessment import Assessment, Hold
from recover.kiln import Address
from recover.measures import show_number, show_quantity
from recover.physics.draws import Spread
from recover.plan.instructions import step_lines
from recover.plan.programme import Programme, Run
from recover.plan.schedule import Day
from recover.plan.strategies import Strategy
from recover.plan.strategies import cards as ways
from recover.report.drying import drawn, share
from recover.report.paper import Numbered, View
from recover.report.plan_details import details, limit_value, named
from recover.report.way import way_of
from recover.report.words import words

if TYPE_CHECKING:
    from recover.plan.search import Binding, Plan
    from recover.plan.verify import Proof
    from recover.plan.whole import JobPlan, KilnPlan


def plan_section(found: Assessment, plan: JobPlan, numbered: Numbered, *, changed: bool = False) -> View:
    """Return the plan of a job, kiln by kiln. `changed`: something that it rests on has changed since it was made."""
    told = words()["plan"]
    return {
        "changed": told["changed"] if changed else "",
        "calculation": told["calculation"].format(draws=show_number(plan.draws)),
        "measure": told["measure"], "gate": told["gate"],
        "kilns": [_kiln(found, one, numbered) for one in plan.kilns],
    }  # fmt: skip


def _kiln(found: Assessment, kiln: KilnPlan, numbered: Numbered) -> View:
    return {
        "kiln": kiln.label,
        "missing": words()["plan"]["missing"].format(missing="; ".join(kiln.missing)) if kiln.missing else "",
        "chosen": chosen(kiln), "hold": _hold(found, kiln),
        "ways": [_way(kiln, one) for one in kiln.comparison.strategies] if kiln.comparison else [],
        "own": _own(kiln, kiln.own) if kiln.own else None,
        "details": details(kiln, numbered),
    }  # fmt: skip


def own_heat(found: Assessment, kiln: Address) -> Hold:
    """Return the hold point before heating with its own elements, of one kiln."""
    return next(hold for hold in found.holds if hold.point.id == "own_heat" and hold.at == kiln)


def _hold(found: Assessment, kiln: KilnPlan) -> str:
    hold = own_heat(found, kiln.kiln)
    return str(words()["plan"]["hold"]).format(title=hold.point.title, state=hold.state)


def chosen(kiln: KilnPlan) -> list[str]:
    """Say which way is recommended and why, and which is followed."""
    told, compared = words()["plan"], kiln.comparison
    if compared is None:
        return []
    best, followed = compared.recommended, way_of(kiln)
    lines = [
        told["recommended"].format(way=best.card.title, because=compared.because)
        if best else told["none_recommended"].format(because=compared.because)
    ]  # fmt: skip
    if followed is None:
        return [*lines, told["not_followed"]]
    asked = best is None or followed.card.id != best.card.id
    return [*lines, told["asked_for" if asked else "followed"].format(way=followed.card.title)]


# ---------------------------------------------------------------------------------------- the ways


def _way(kiln: KilnPlan, one: Strategy) -> View:
    told = words()["plan"]
    best = kiln.comparison.recommended if kiln.comparison else None
    marks = ["recommended"] if best and one.card.id == best.card.id else []
    marks += ["followed"] if one.card.id == kiln.way else []
    return {
        "title": one.card.title, "marks": marks, "closed": " ".join(one.closed),
        "waits": told["waits"] if one.unknown_before else "", "days": way_days(one), "attended": _hours(one.attended_h),
        "energy": drawn(one.kwh, "kWh") if one.kwh else "", "price": str(one.price) if one.price is not None else "",
        "left": share(one.left) if one.left else "", "fired": one.fired_again.isoformat() if one.fired_again else "",
        "needs": one.card.needs if one.open else [], "against": one.card.against if one.open else [],
    }  # fmt: skip


def way_days(one: Strategy) -> str:
    """Say how many days a way takes; nothing for a way that is closed."""
    told = words()["plan"]
    if not one.open:
        return ""
    if one.days is None:
        return str(told["not_within"]).format(days=show_quantity(ways().longest_days.mid, "day"))
    return show_quantity(one.days, "day")


def _hours(hours: float | None) -> str:
    return "" if hours is None else show_quantity(round(hours), "hour")


# ---------------------------------------------------------------------------------------- the searched schedule


def _own(kiln: KilnPlan, plan: Plan) -> View:
    told, schedule = words()["plan"], plan.proof.schedule
    count = len(schedule.days)
    return {
        "intro": told["own"].format(days=f"{count} day{'s' if count > 1 else ''}", attendance=str(schedule.attendance))
        + ("" if kiln.way == "own" or not plan.feasible else " " + told["own_later"]),
        "today": today(plan.proof), "today_h": _hours(schedule.days[0].hours), "later": later(plan.proof),
        "totals": totals(plan.proof),
        "p90": p90(plan.proof), "as_run": as_run(kiln), "holds": holds_up(plan),
        "broken": broken(plan),
    }  # fmt: skip


def broken(plan: Plan) -> str:
    """Say which limits the best schedule found does not keep; nothing where it keeps all."""
    rows = named(plan.limits, [one.id for one in plan.broken])
    return str(words()["plan"]["broken"]).format(rows=rows) if rows else ""


def today(proof: Proof) -> list[View]:
    """Return the steps of the first day: what is set, water left and casing at the end of each."""
    first = proof.schedule.days[0]
    ends = [end for end in proof.steps if end.day == 0]
    return [
        {"say": say, "left": share(end.left), "casing": _degrees(end.casing_degc)}
        for say, end in zip(step_lines(Run(1, first.from_degc, first.steps), "C"), ends, strict=True)
    ]


def later(proof: Proof) -> list[View]:
    """Return the later days, those with one top together: their top, attended hours, water left when they end."""
    days = list(enumerate(proof.schedule.days, start=1))[1:]
    rows = []
    for top, together in groupby(days, key=lambda pair: _top(pair[1])):
        numbers, found = zip(*together, strict=True)
        last = next(end for end in reversed(proof.steps) if end.day == numbers[-1] - 1)
        rows.append({
            "day": _day(numbers[0], numbers[-1]), "say": words()["plan"]["cool"].format(top=show_quantity(top, "degC")),
            "attended": _hours(sum(day.hours for day in found)), "left": share(last.left),
            "casing": _degrees(last.casing_degc),
        })  # fmt: skip
    return rows


def _top(day: Day) -> float:
    return max(step.to_degc for step in day.steps)


def _day(first: int, last: int) -> str:
    told = words()["plan"]
    return str(told["day"].format(day=first) if first == last else told["days"].format(first=first, last=last))


def _degrees(value: Spread) -> str:
    low, mid, high = (show_number(round(one)) for one in (value.p10, value.p50, value.p90))
    return f"{mid} °C ({low} to {high})"


def totals(proof: Proof) -> str:
    """Say what a schedule comes to: hours, attended hours, energy, water left."""
    return str(words()["plan"]["totals"]).format(
        hours=_hours(proof.schedule.hours), attended=_hours(proof.schedule.attended_h),
        kwh=drawn(proof.energy_kwh, "kWh"), left=share(proof.left),
    )  # fmt: skip


def p90(proof: Proof) -> str:
    """Say between which shares of the water so few draws settle the p90 of what is left."""
    low, high = (show_number(100 * end, 2) for end in (proof.left.p90_error.low, proof.left.p90_error.high))
    return str(words()["plan"]["p90"]).format(low=low, high=high, draws=show_number(proof.draws))


def as_run(kiln: KilnPlan) -> str:
    """Say what the schedule comes to with the set-points of the controller; nothing where it is done by hand."""
    run = kiln.followed
    if run is None or not run.by_controller:
        return ""
    proof = run.proof
    return str(words()["plan"]["as_run"]).format(
        days=f"{len(proof.schedule.days)} days", hours=_hours(proof.schedule.hours),
        kwh=drawn(proof.energy_kwh, "kWh"), left=share(proof.left),
    )  # fmt: skip


def holds_up(plan: Plan) -> str:
    """Say which limits make a plan longer, and by how much less with each a quarter looser."""
    told, unit = words()["plan"], "kWh" if plan.objective == "energy" else "hour"
    rows = "; ".join(_binding(one, unit) for one in plan.binding)
    return str(told["binding"].format(rows=rows) if rows else told["binding_none"])


def _binding(one: Binding, unit: str) -> str:
    """Say what a limit a quarter looser would change: hours or energy; where no schedule dries in time, the water."""
    told = words()["plan"]["looser"]
    if one.saves is not None:
        change = told["saves"].format(saves=show_quantity(one.saves, unit, figures=2))
    else:
        change = told["enough" if one.feasible else "dries"].format(dries=f"{show_number(100 * one.dries, 2)} %")
    return f"{one.limit.what}, {limit_value(one.limit)} ({change})"


# ---------------------------------------------------------------------------------------- what runs it


def day_of(kiln: KilnPlan, day: int) -> Programme | None:
    """Return the programme of a day, counted from 1; None where it is done by hand."""
    run = kiln.followed
    if run is None or run.broken or not 0 < day <= len(run.days):
        return None
    made = run.days[day - 1]
    return made if isinstance(made, Programme) else None


def by_hand(kiln: KilnPlan) -> Iterator[str]:
    """Say why the schedule is not run by the controller: reasons of every day once, limits that would break."""
    run = kiln.followed
    if run is None:
        return
    reasons = [reason.says for day in run.days if not isinstance(day, Programme) for reason in day.reasons]
    yield from dict.fromkeys(reasons)
    if run.broken and kiln.own:
        yield words()["plan"]["broken_run"].format(rows=named(kiln.own.limits, run.broken))
