"""The plan in the report: the ways to dry side by side, the one that is followed and why, the schedule, what binds.

A view is made of the plan as it is stored; nothing is computed again. What most readers need not read is in
`plan_details`, for the appendix.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from recover.base.measures import show_moment, show_number, show_quantity
from recover.judged.assessment import Assessment
from recover.judged.dryout import OUTDOORS, to_weigh, ventilation_m3_h
from recover.plan.prices import money, price_kwh
from recover.plan.strategies import Strategy
from recover.plan.strategies import cards as ways
from recover.profiles import Limit
from recover.report.paper import Numbered, View, drawn, share
from recover.report.plan_days import assumed, day_ends, first, later, there, today
from recover.report.plan_details import details, limit_value, named
from recover.report.words import words

if TYPE_CHECKING:
    from recover.plan.whole import JobPlan, KilnPlan
    from recover.schedule.search import Binding, Plan
    from recover.schedule.verify import Proof

LEAST = 0.005
"""A share of the water that is less than this is printed as none."""

PAN_WORTH = 0.05
"""What share of a schedule's hours opening the pan must save to be told."""


def plan_section(found: Assessment, plan: JobPlan, numbered: Numbered, *, changed: bool = False) -> View:
    """Return the plan of a job, kiln by kiln. `changed`: something that it rests on has changed since it was made."""
    told = words().plan
    return {
        "changed": told.changed if changed else "",
        "calculation": told.calculation(draws=show_number(plan.draws)),
        "measure": _measure(found), "gate": told.gate, "prices": _prices(found),
        "kilns": [_kiln(found, plan, one, numbered, changed) for one in plan.kilns],
    }  # fmt: skip


def _prices(found: Assessment) -> str:
    """Say at what price and in which money energy is reckoned; empty where nobody said a price."""
    price = price_kwh(found.answers)
    if price is None:
        return ""
    return " ".join(words().plan.prices(price=price, money=money(found.answers)).split())


def _kiln(found: Assessment, plan: JobPlan, kiln: KilnPlan, numbered: Numbered, changed: bool) -> View:
    rows = [_way(kiln, one, changed) for one in kiln.comparison.strategies] if kiln.comparison else []
    return {
        "kiln": kiln.label,
        "missing": words().plan.missing(missing=" ".join(kiln.missing)) if kiln.missing else "",
        "chosen": _overtaken(kiln) if changed else _chosen(plan, kiln), "hold": _hold_state(found, plan, kiln),
        "ways": rows, "fired": any(row["fired"] for row in rows),
        "own": _own(plan, kiln, kiln.own) if kiln.own else None,
        "details": details(kiln, numbered),
    }  # fmt: skip


def _measure(found: Assessment) -> str:
    """Say what could be measured where all is assumed: no piece where one was weighed, or no brick holds water."""
    told = words().plan
    piece = any(to_weigh(found, kiln) for kiln in found.answers.kilns)
    return told.measure(piece=told.measure_piece if piece else "")


def _hold_state(found: Assessment, plan: JobPlan, kiln: KilnPlan) -> str:
    """Say how the hold point before its own elements stands, until when, and whether that is before a day has ended."""
    told, hold = words().plan, found.hold("own_heat", kiln.kiln)
    said = told.hold(title=hold.point.title, state=hold.state)
    if hold.until:
        said = told.hold_until(title=hold.point.title, state=hold.state, until=show_moment(hold.until))
    ends = day_ends(plan, 0)
    lapses = kiln.by_own and hold.until and hold.until < ends
    return f"{said} {told.hold_lapses(ends=show_moment(ends))}" if lapses else said


def _chosen(plan: JobPlan, kiln: KilnPlan) -> list[str]:
    """Say which way is followed and why, what closes the one that was asked for, and which is recommended instead."""
    told, compared, followed = words().plan, kiln.comparison, kiln.strategy
    if compared is None:
        return []
    best, because = compared.recommended, compared.because
    if best and followed and best.card.id == followed.card.id:
        return [told.followed(way=followed.card.title, because=because)]
    return [
        told.asked_for(way=followed.card.title) if followed else told.not_followed,
        *_refused(plan, kiln),
        told.recommended(way=best.card.title, because=because)
        if best else told.none_recommended(because=because),
    ]  # fmt: skip


def _overtaken(kiln: KilnPlan) -> list[str]:
    """Say which way was followed before something changed: nothing of it is advice any more."""
    return [words().plan.overtaken(way=kiln.strategy.card.title)] if kiln.strategy else []


def _refused(plan: JobPlan, kiln: KilnPlan) -> Iterator[str]:
    """Say what closes the way that was asked for."""
    if kiln.refused:
        title = next((card.title for card in ways().strategy if card.id == plan.request.way), plan.request.way)
        yield words().plan.refused(way=title, reasons=" ".join(kiln.refused))


# ---------------------------------------------------------------------------------------- the ways


def _way(kiln: KilnPlan, one: Strategy, changed: bool) -> View:
    told = words().plan
    best = kiln.comparison.recommended if kiln.comparison else None
    marks = ["recommended"] if best and one.card.id == best.card.id else []
    marks += ["followed"] if one.card.id == kiln.way else []
    return {
        "title": one.card.title, "marks": [] if changed else marks, "closed": " ".join(one.closed),
        "waits": told.waits if one.unknown_before else "",
        "days": _way_days(one), "attended": _hours(one.attended_h),
        "energy": drawn(one.kwh, "kWh") if one.kwh else "", "price": str(one.price) if one.price is not None else "",
        "left": share(one.left) if one.left else "", "fired": one.fired_again.isoformat() if one.fired_again else "",
        "needs": one.card.needs if one.open else [], "against": one.card.against if one.open else [],
    }  # fmt: skip


def _way_days(one: Strategy) -> str:
    """Say how many days a way takes; nothing for a way that is closed."""
    told = words().plan
    if not one.open:
        return ""
    if one.days is None:
        return told.not_within(days=show_quantity(ways().longest_days.mid, "day"))
    return show_quantity(one.days, "day")


def _hours(hours: float | None) -> str:
    return "" if hours is None else show_quantity(round(hours), "hour")


# ---------------------------------------------------------------------------------------- the searched schedule


def _own(plan: JobPlan, kiln: KilnPlan, own: Plan) -> View:
    of, follow = kiln.shown or own, own.feasible
    return {
        "intro": _intro(kiln, own), "first": first(plan, kiln), "there": there(plan, 0),
        "today": today(plan, kiln) if follow else [], "later": later(plan, kiln) if follow else [],
        "go_on": kiln.go_on, "totals": _totals(of.proof), "p90": _p90(of.proof), "as_run": _as_run(kiln),
        "holds": " ".join([holds_up(own), *pan_off(kiln, own)]), "broken": _broken(own),
    }  # fmt: skip


def _intro(kiln: KilnPlan, own: Plan) -> str:
    """Say what the schedule is, and that it is not followed now where another way is."""
    told, schedule = words().plan, (kiln.shown or own).proof.schedule
    says = told.own(days=told.for_days(number=len(schedule.days)), attendance=str(schedule.attendance))
    says = f"{says} {assumed(own.heating)}"
    return says if kiln.by_own or not own.feasible else f"{says} {told.own_later}"


def _broken(plan: Plan) -> str:
    """Say which limits the best schedule found does not keep; nothing where it keeps all."""
    rows = named(plan.limits, [one.id for one in plan.broken])
    return words().plan.broken(rows=rows) if rows else ""


def _totals(proof: Proof) -> str:
    """Say what a schedule comes to: hours, attended hours, energy, water left."""
    return words().plan.totals(
        hours=_hours(proof.schedule.hours), attended=_hours(proof.schedule.attended_h),
        kwh=drawn(proof.energy_kwh, "kWh"), left=share(proof.left),
    )  # fmt: skip


def _p90(proof: Proof) -> str:
    """Say between which shares of the water so few draws settle the p90 of what is left."""
    low, high = (show_number(100 * end, 2) for end in (proof.left.p90_error.low, proof.left.p90_error.high))
    return words().plan.p90(low=low, high=high, draws=show_number(proof.draws))


def _as_run(kiln: KilnPlan) -> str:
    """Say what the schedule that was searched comes to, where the controller runs it with set-points of its own."""
    if kiln.own is None or kiln.shown is kiln.own:
        return ""
    proof = kiln.own.proof
    return words().plan.as_run(
        days=words().plan.for_days(number=len(proof.schedule.days)), hours=_hours(proof.schedule.hours),
        kwh=drawn(proof.energy_kwh, "kWh"), left=share(proof.left),
    )  # fmt: skip


def holds_up(plan: Plan, most: int | None = None) -> str:
    """Say which limits make a plan longer, and by how much less with each a quarter looser; so many of them at most."""
    told, unit = words().plan, "kWh" if plan.objective == "energy" else "hour"
    rows = [_binding(one, unit) + _deed(plan, one.limit) for one in plan.binding[:most]]
    if more := len(plan.binding) - len(rows):
        rows.append(told.binding_more(more=more))
    word = told.binding if plan.feasible else told.in_the_way
    return word(rows="; ".join(rows)) if rows else told.binding_none


def pan_off(kiln: KilnPlan, own: Plan) -> Iterator[str]:
    """Say what the same days would take with the pan under the floor off, where that is worth the work."""
    hours = own.proof.schedule.hours
    if kiln.opened_h is not None and (not own.feasible or kiln.opened_h < (1 - PAN_WORTH) * hours):
        yield words().plan.pan_off(hours=_hours(kiln.opened_h), instead=_hours(hours))


def _deed(plan: Plan, limit: Limit) -> str:
    """Say what air would have to be let out of the room for what came of vapour, where it takes up less."""
    if limit not in plan.broken or limit != plan.limits.room:
        return ""
    came = next(peak.reached.p90 for peak in plan.proof.peaks if peak.limit_id == limit.id)
    air_m3_h = ventilation_m3_h(came, OUTDOORS.at(plan.heating.height_m))
    reached, air = show_quantity(came, limit.unit, figures=3), show_quantity(air_m3_h, "m3/h", figures=2)
    return words().plan.looser.needs(reached=reached, air=air)


def _binding(one: Binding, unit: str) -> str:
    """Say what a limit a quarter looser would change: hours or energy; where no schedule dries in time, the water."""
    told = words().plan.looser
    if one.saves is not None:
        change = told.saves(saves=show_quantity(one.saves, unit, figures=2))
    elif one.feasible:
        change = told.enough
    else:
        change = told.dries(dries=f"{show_number(100 * one.dries, 2)} %") if one.dries >= LEAST else told.nothing
    return f"{one.limit.what}, {limit_value(one.limit)} ({change})"
