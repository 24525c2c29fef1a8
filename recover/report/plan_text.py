"""The plan as lines for a terminal: the ways, the one that is followed, today's steps, later days, what binds."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap
from typing import TYPE_CHECKING

from recover.assessment import Assessment
from recover.plan.strategies import Strategy
from recover.report import plan as section
from recover.report.drying import share
from recover.report.paper import referral_line, say
from recover.report.words import words

if TYPE_CHECKING:
    from recover.plan.whole import JobPlan, KilnPlan

COLUMNS, LABEL = 80, 18


def text_lines(found: Assessment, plan: JobPlan, *, changed: bool = False) -> list[str]:
    """Return a plan as lines of no more than 80 columns, cautions and referral at the end."""
    told = words()["plan"]
    lines = list(_said("note", told["changed"])) if changed else []
    for kiln in plan.kilns:
        lines += [*_kiln(found, kiln), ""]
    lines += _said("note", told["calculation"].format(draws=plan.draws))
    lines += [*_said("note", told["measure"]), *_said("note", told["gate"]), ""]
    for applied in found.group("caution"):
        lines += _said("caution", say(applied))
    return [*lines, "", *wrap(referral_line(found), COLUMNS)]


def _said(name: str, text: str) -> list[str]:
    """Return a text beside its name; lines after the first stand under the text."""
    label = words()["plan"]["terminal"].get(name, name)
    return wrap(text, COLUMNS, initial_indent=f"{label:{LABEL}} ", subsequent_indent=" " * (LABEL + 1))


def _kiln(found: Assessment, kiln: KilnPlan) -> Iterator[str]:
    told = words()["plan"]
    yield kiln.label
    if kiln.missing:
        yield from _said("note", told["missing"].format(missing="; ".join(kiln.missing)))
    for one in kiln.comparison.strategies if kiln.comparison else ():
        yield from _said("way", _way(one))
    for line in section.chosen(kiln):
        yield from _said("followed", line)
    hold = section.own_heat(found, kiln.kiln)
    yield from _said("note", told["hold"].format(title=hold.point.title, state=hold.state))
    if kiln.own:
        yield from _own(kiln)


def _way(one: Strategy) -> str:
    """Return a way in a line: its title, and what closes it or what it comes to."""
    told = words()["plan"]
    if one.closed:
        return f"{one.card.title}. {told['closed'].format(closed=' '.join(one.closed))}"
    left = told["terminal"]["left"].format(left=share(one.left)) if one.left else ""
    waits = told["waits"] if one.unknown_before else ""
    came_to = "; ".join(part for part in (section.way_days(one), left) if part)
    return f"{one.card.title}: {came_to}. {waits}".strip()


def _own(kiln: KilnPlan) -> Iterator[str]:
    """Yield the searched schedule: today step by step, later days together, what it comes to, what holds it up."""
    if kiln.own is None:
        return
    proof, told = kiln.own.proof, words()["plan"]
    if kiln.own.broken:
        yield from _said("binds", section.broken(kiln.own))
    for row in section.today(proof):
        yield from _said(told["day"].format(day=1), row["say"])
    for row in section.later(proof):
        left = told["terminal"]["left"].format(left=row["left"])
        yield from _said(row["day"], f"{row['say']}; {row['attended']}; {left}")
    yield from _said("totals", section.totals(proof))
    yield from _said("binds", section.holds_up(kiln.own))
    yield from _run(kiln)


def _run(kiln: KilnPlan) -> Iterator[str]:
    told = words()["plan"]
    if kiln.followed is None:
        return
    if kiln.followed.by_controller:
        yield from _said("programme", told["by_controller"])
        yield from _said("programme", section.as_run(kiln))
    else:
        yield from _said("refused", told["by_hand"])
        for line in section.by_hand(kiln):
            yield from _said("refused", line)
