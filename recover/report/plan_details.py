"""What stands behind a plan, for the appendix: its limits, what is typed in, what was assumed, what comes after."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from recover.base.measures import show_hours_minutes, show_number, show_quantity
from recover.base.sources import BASIS_WORDS, Citation
from recover.engineering.thermocouples import Mismatch
from recover.physics.materials import Band
from recover.physics.wall import Step
from recover.plan.cards import TopCost, caution
from recover.plan.prices import Cost
from recover.plan.replacement import Match, Way
from recover.profiles import Limit
from recover.report.paper import Numbered, View, band, days_text, percent
from recover.report.words import words

if TYPE_CHECKING:
    from recover.plan.whole import Firing, KilnPlan, LimitKept


def details(kiln: KilnPlan, views: Sequence[View], numbered: Numbered) -> View:
    """Return what stands behind the plan of one kiln; `views` are what `day_view` makes of its days."""
    return {
        "needs": [
            {"title": one.title, "needs": list(one.needs), "against": list(one.against)}
            for one in kiln.paths if one.open
        ],
        "limits": [_limit(one, numbered) for one in kiln.kept],
        "programmes": _programmes(views), "refusal": _refusal(kiln), "assumed": _assumed(views),
        "match": _match(kiln.match, kiln.match_ways) if kiln.match else None,
        "after": [_firing(one, numbered) for one in kiln.after], "after_caution": caution(),
        "rechecks": [
            {"after": one.after, "look": list(one.look), "basis": BASIS_WORDS[one.basis]} for one in kiln.rechecks
        ],
    }  # fmt: skip


# ---------------------------------------------------------------------------------------- limits


def limit_value(limit: Limit) -> str:
    """Print a limit with its unit; a share in per cent."""
    return show_quantity(limit.value, limit.unit) if limit.unit else percent(limit.value)


def reached(of: LimitKept) -> str:
    """Print what one draw in ten exceeds of a limit; nothing where it left no figure."""
    if of.reached is None:
        return words().plan.kept.unread
    return show_quantity(of.reached.p90, of.limit.unit) if of.limit.unit else percent(of.reached.p90)


def _limit(of: LimitKept, numbered: Numbered) -> View:
    limit = of.limit
    return {
        "what": limit.what, "because": limit.because, "basis": BASIS_WORDS[limit.basis],
        "value": words().plan.asked[limit.stricter](value=limit_value(limit)), "reached": reached(of),
        "binds": of.binds, "cites": numbered.cites([Citation(limit.source, limit.clause)]) if limit.source else [],
    }  # fmt: skip


# ---------------------------------------------------------------------------------------- what runs it


def _programmes(views: Sequence[View]) -> list[View]:
    """Return what is typed in, a row for each run: once for days on which it is the same."""
    alike: dict[str, list[View]] = {}
    for view in views:
        alike.setdefault(repr(view["runs"]), []).append(view)
    return [
        {
            "day": days_text([one["number"] for one in days]), "run": run["name"] if len(days[0]["runs"]) > 1 else "",
            "begins": run["begins"], "steps": run["said"]["steps"] if run["said"] else [], "cutout": run["cutout"],
        }
        for days in alike.values() for run in days[0]["runs"]
    ]  # fmt: skip


def _refusal(kiln: KilnPlan) -> View | None:
    """Return why its controller runs nothing, how it is done by hand, and what another must be able to do."""
    if kiln.refusal is None:
        return None
    return {
        "reasons": [reason.says for reason in kiln.refusal.reasons], "manual": list(kiln.refusal.manual),
        "look_for": list(kiln.refusal.look_for),
    }  # fmt: skip


def _assumed(views: Sequence[View]) -> list[View]:
    """Return what is set, or was assumed of equipment and room; once for the days on which it is the same."""
    alike: dict[tuple[str, ...], list[int]] = {}
    for view in views:
        told = tuple(f"{one['what']} {one['value']}" for one in view["numbers"])
        alike.setdefault(told, []).append(view["number"])
    return [{"day": days_text(numbers), "numbers": list(told)} for told, numbers in alike.items() if told]


# ---------------------------------------------------------------------------------------- probe and controller


def _match(found: Match, ways: Sequence[Way]) -> View:
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
