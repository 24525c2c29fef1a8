"""What stands behind a plan, for the appendix: limits, fixed schedules beside it, what runs it, what comes after."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Literal

from recover.base.measures import show_hours_minutes, show_number, show_quantity
from recover.base.sources import BASIS_WORDS, Citation
from recover.controller.instructions import Instructions, instructions
from recover.controller.programme import Programme, Refusal, manual
from recover.engineering.thermocouples import Mismatch
from recover.physics.draws import Spread
from recover.physics.materials import Band
from recover.physics.wall import Step
from recover.plan.cards import TopCost, caution
from recover.plan.prices import Cost
from recover.plan.replacement import Match
from recover.plan.replacement import Way as MatchWay
from recover.profiles import Limit
from recover.report.paper import Numbered, View, band, days_text, share
from recover.report.words import words
from recover.schedule.limits import Limits

if TYPE_CHECKING:
    from recover.plan.whole import Firing, Followed, KilnPlan
    from recover.schedule.fixed import FixedRun
    from recover.schedule.search import Plan


def details(kiln: KilnPlan, numbered: Numbered) -> View:
    """Return what stands behind the plan of one kiln."""
    return {
        "limits": _limits(kiln, kiln.own, numbered) if kiln.own else [],
        "beside": [_fixed_row(kiln.own.limits, one) for one in kiln.beside] if kiln.own else [],
        "run": _run(kiln, kiln.followed) if kiln.followed else None,
        "match": _match(kiln.match, kiln.match_ways) if kiln.match else None,
        "after": [_firing(one, numbered) for one in kiln.after], "after_caution": caution(),
        "rechecks": [
            {"after": one.after, "look": list(one.look), "basis": BASIS_WORDS[one.basis]} for one in kiln.rechecks
        ],
    }  # fmt: skip


# ---------------------------------------------------------------------------------------- limits


def limit_value(limit: Limit) -> str:
    """Print a limit with its unit; a share in per cent."""
    return _value(limit.value, limit.unit)


def _value(value: float, unit: str) -> str:
    return show_quantity(value, unit) if unit else f"{show_number(100 * value)} %"


def named(limits: Limits, ids: Iterable[str]) -> str:
    """Return limits by what they are, with their values, as one phrase."""
    return "; ".join(f"{limits[one].what} ({limit_value(limits[one])})" for one in ids)


def _limits(kiln: KilnPlan, plan: Plan, numbered: Numbered) -> list[View]:
    """Return every limit with what the schedule came to, and what it comes to as run, overshoot and all."""
    peaks = {one.limit_id: one.reached for one in plan.proof.peaks}
    worst = {one.limit_id: one.reached for one in kiln.followed.at_worst} if kiln.followed else {}
    return [
        {
            "what": limit.what, "because": limit.because, "basis": BASIS_WORDS[limit.basis],
            "value": words().plan.asked[limit.stricter](value=limit_value(limit)),
            "reached": _reached(peaks[limit.id], limit.unit) if limit.id in peaks else _plain(plan, limit),
            "worst": _reached(worst[limit.id], limit.unit) if limit.id in worst else "",
            "broken": limit in plan.broken,
            "cites": numbered.cites([Citation(limit.source, limit.clause)]) if limit.source else [],
        }
        for limit in plan.limits
    ]  # fmt: skip


def _reached(value: Spread, unit: str) -> str:
    if not unit:
        return share(value)
    low, mid, high = (show_number(round(one, 6) + 0.0) for one in (value.p10, value.p50, value.p90))
    return f"{mid} {unit} ({words().span(first=low, last=high)})"


def _plain(plan: Plan, limit: Limit) -> str:
    """Return what can be read from the schedule itself; other limits were kept on the way, and left no figure."""
    schedule, limits = plan.proof.schedule, plan.limits
    steps = [step for day in schedule.days for step in day.steps]
    if limit.id == limits.water_left.id:
        return share(plan.proof.left)
    read = {
        limits.ramp.id: max(step.ramp_k_h for step in steps),
        limits.top.id: max(step.to_degc for step in steps),
        limits.attendance.id: max(day.hours for day in schedule.days),
        limits.days.id: schedule.hours / 24,
    }
    return _value(read[limit.id], limit.unit) if limit.id in read else words().plan.not_read


def _fixed_row(limits: Limits, one: FixedRun) -> View:
    told = words().plan
    kept = told.does_not_keep(rows=named(limits, one.broken)) if one.broken else told.keeps
    return {
        "title": one.title, "hours": show_quantity(round(one.hours), "hour"),
        "left": f"{show_number(100 * one.left_p90, 2)} %", "kept": told.beats if one.beats else kept,
    }  # fmt: skip


# ---------------------------------------------------------------------------------------- what runs it


def _run(kiln: KilnPlan, run: Followed) -> View:
    """Return the programmes, days that are alike together, or why there are none and what is done instead."""
    told = words().plan
    refusals = [day for day in run.days if isinstance(day, Refusal)]
    reasons = dict.fromkeys(reason.says for day in refusals for reason in day.reasons)
    broken = [told.broken_run(rows=named(kiln.own.limits, run.broken))] if run.broken and kiln.own else []
    manually = refusals[0].manual if refusals else manual() if run.broken else ()
    return {
        "intro": told.by_controller if run.by_controller else told.by_hand,
        "reasons": [*reasons, *broken], "manual": list(manually),
        "look_for": list(dict.fromkeys(line for day in refusals for line in day.look_for)),
        "days": _programmes(kiln, run), "always": _always(kiln, run), "cutout": told.run.cutout[_margin(run)],
    }  # fmt: skip


def _margin(run: Followed) -> Literal["known", "unknown"]:
    """Say whether it is known by how much the cut-out may lie above a run."""
    margins = [day.controller.cutout_margin_k for day in run.days if isinstance(day, Programme)]
    return "known" if margins and margins[0] is not None else "unknown"


def _programmes(kiln: KilnPlan, run: Followed) -> list[View]:
    """Return what is typed in, a row for each run: once for days with equal steps."""
    days: dict[tuple[Step, ...], list[int]] = {}
    for day in range(1, len(run.proof.schedule.days) + 1):
        if made := kiln.programme(day):
            days.setdefault(made.steps, []).append(day)
    return [
        _sheet(days_text(numbers), made, one) for numbers in days.values() if (made := kiln.programme(numbers[0]))
        for one in instructions(made)
    ]  # fmt: skip


def _sheet(day: str, made: Programme, of: Instructions) -> View:
    said, degc = words().plan.run, of.run.top_degc + (made.controller.cutout_margin_k or 0.0)
    least, most = (f"{one:.0f}" for one in of.warm_degc or (0.0, 0.0))
    return {
        "day": day, "run": of.run.number if len(made.runs) > 1 else 0, "steps": list(of.steps),
        "begins": said.begins(least=least, most=most) if of.warm_degc else said.cold,
        "cutout": show_quantity(round(degc), "degC"),
    }  # fmt: skip


def _always(kiln: KilnPlan, run: Followed) -> list[str]:
    """Return what is the same for every day that a controller runs, as the first day has it."""
    made, there, said = kiln.programme(1), run.proof.schedule.attendance, words().plan.run
    if made is None:
        return []
    first = instructions(made)[0]
    days = [day for day in run.days if isinstance(day, Programme)]
    cut = not there.always and any(day.hours > there.hours for day in days)
    lines = (first.precondition, said.warm, first.cutout, *first.see, *first.power_cut, first.change)
    return [*lines, said.leaves] if cut else list(lines)


# ---------------------------------------------------------------------------------------- probe and controller


def _match(found: Match, ways: Sequence[MatchWay]) -> View:
    return {
        "says": found.says,
        "rows": [] if found.suits else [_shown(one) for one in found.at],
        "ways": [
            {
                "title": way.title, "letter": way.letter, "parts": list(way.parts), "against": list(way.against),
                "energy": band(way.energy_kwh, "kWh"), "cost": _money(way.energy_cost),
            }
            for way in ways
        ],
    }  # fmt: skip


def _shown(one: Mismatch) -> View:
    true = words().plan.past if one.true_degc is None else show_quantity(round(one.true_degc), "degC")
    return {"shown": show_quantity(one.shown_degc or 0.0, "degC"), "true": true}


def _money(value: Cost | None) -> str:
    """Print money with its span; nothing where no price is known."""
    if value is None:
        return ""
    return words().plan.cost(low=value.low, mid=value.mid, high=value.high)


# ---------------------------------------------------------------------------------------- what comes after


def _firing(one: Firing, numbered: Numbered) -> View:
    card = one.card
    return {
        "title": card.title, "purpose": card.purpose, "needs": list(card.needs), "see": list(card.see),
        "steps": _steps(card.steps), "cone": card.cone, "advice": list(card.advice),
        "energy": band(one.kwh, "kWh") if one.kwh else "", "cost": _money(one.cost),
        "tops": [_top(top) for top in one.tops], "because": card.because, "basis": BASIS_WORDS[card.basis],
        "cites": numbered.cites([Citation(card.source, card.clause)]) if card.source else [],
    }  # fmt: skip


def _steps(steps: tuple[Step, ...]) -> list[str]:
    told = words().plan
    return [
        told.card_step(ramp=show_quantity(step.ramp_k_h, "K/h"), top=show_quantity(step.to_degc, "degC"))
        + (told.card_hold(hold=show_hours_minutes(step.hold_h)) if step.hold_h else "")
        for step in steps
    ]  # fmt: skip


def _top(one: TopCost) -> View:
    life = words().plan.life(times=show_number(one.life, 2)) if one.life not in (None, 1.0) else ""
    return {
        "degc": show_quantity(one.degc, "degC"), "says": one.says, "energy": _energy(one.kwh), "cost": _money(one.cost),
        "strain": "; ".join(part for part in (one.strain, life) if part),
    }  # fmt: skip


def _energy(kwh: Band) -> str:
    return band(kwh, "kWh")
