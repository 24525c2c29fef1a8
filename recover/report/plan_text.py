"""The plan as lines for a terminal: what is followed and why, a day of it, the ways side by side, own elements."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from textwrap import wrap
from typing import TYPE_CHECKING, Any

from recover.base.measures import show_number, show_quantity
from recover.judged.assessment import Assessment
from recover.plan.strategies import Strategy, WayCard
from recover.plan.strategies import cards as ways
from recover.report import plan_days as days
from recover.report import plan_section as section
from recover.report.paper import referral_line, say
from recover.report.way import shown, way_of
from recover.report.words import words

if TYPE_CHECKING:
    from recover.plan.search import Plan
    from recover.plan.whole import JobPlan, KilnPlan

COLUMNS, LABEL = 80, 18
WAY, FIGURES = 49, (8, 8, 6, 9)
"""How wide the columns of the ways are: title, days, energy, price, water left."""

MOST = 3
"""How many reasons of a kind are said here; the report has them all."""


def text_lines(found: Assessment, plan: JobPlan, *, changed: bool = False) -> list[str]:
    """Return a plan as lines of no more than 80 columns, cautions and referral at the end."""
    told = words().plan
    lines = list(_said(words().plan.terminal.label.note, told.changed)) if changed else []
    for kiln in plan.kilns:
        lines += [*_kiln(found, plan, kiln), ""]
    lines += _said(words().plan.terminal.label.note, section.prices(found)) if section.prices(found) else []
    lines += _said(words().plan.terminal.label.note, told.calculation(draws=show_number(plan.draws)))
    lines += [
        *_said(words().plan.terminal.label.note, told.measure),
        *_said(words().plan.terminal.label.note, told.gate),
        "",
    ]
    for applied in found.group("caution"):
        lines += _said(words().plan.terminal.label.caution, say(applied))
    return [*lines, "", *wrap(referral_line(found), COLUMNS)]


def _said(label: str, text: str) -> list[str]:
    """Return a text beside its label; lines after the first stand under the text."""
    return wrap(text, COLUMNS, initial_indent=f"{label:{LABEL}} ", subsequent_indent=" " * (LABEL + 1))


def _list(label: str, lines: Iterable[str]) -> Iterator[str]:
    """Yield lines beside the label of all of them, each on a line of its own."""
    for number, line in enumerate(lines):
        yield from _said(label if number == 0 else "", line)


def _kiln(found: Assessment, plan: JobPlan, kiln: KilnPlan) -> Iterator[str]:
    told = words().plan
    yield kiln.label
    if kiln.missing:
        yield from _said(words().plan.terminal.label.note, told.missing(missing=" ".join(kiln.missing)))
    yield from _list(words().plan.terminal.label.way, section.chosen(plan, kiln))
    yield from _said(words().plan.terminal.label.state, section.hold_state(found, plan, kiln))
    way, own = way_of(kiln), list(_own(plan, kiln, kiln.own)) if kiln.own else []
    followed_by_own = days.own_way(kiln)
    if way and not followed_by_own:
        yield from ["", *_outside(plan, way.card)]
    if own and followed_by_own:
        yield from ["", *own]
    if kiln.comparison:
        yield from ["", *_ways(kiln, kiln.comparison.strategies)]
    if own and not followed_by_own:
        yield from ["", *own]


# ---------------------------------------------------------------------------------------- a day from outside


def _outside(plan: JobPlan, card: WayCard) -> Iterator[str]:
    """Yield a day of a way that needs no element of the kiln: what is done when, and what another day hangs on."""
    yield card.title
    yield from _said(words().plan.terminal.label.attended, f"{days.opens_on(plan)}, {days.there(plan, 0)}")
    label = words().plan.terminal.label
    for name, when in ((label.opens, "opens"), (label.hourly, "hourly"), (label.leaves, "leaves")):
        yield from _list(name, (check.say for check in card.routine if check.when == when))
    yield from _ends(card)


def _ends(card: WayCard) -> Iterator[str]:
    label = words().plan.terminal.label
    for name, text in ((label.go_on, card.go_on), (label.done, card.done), (label.stop, " ".join(card.stop))):
        if text:
            yield from _said(name, text)


# ---------------------------------------------------------------------------------------- ways side by side


def _ways(kiln: KilnPlan, found: Iterable[Strategy]) -> Iterator[str]:
    """Yield the ways that are open, a line each, and what closes the others."""
    told = words().plan
    one_of, closed = [one for one in found if one.open], [one for one in found if not one.open]
    if one_of:
        yield _row(told.terminal.ways)
        yield from (_row(_cells(kiln, one)) for one in one_of)
        yield told.terminal.ways_note
    for one in one_of:
        if one.unknown_before:
            yield from _said(words().plan.terminal.label.note, f"{one.card.title}: {told.waits}")
    yield from _list(
        words().plan.terminal.label.closed, (f"{one.card.title}. {' '.join(one.closed)}" for one in closed)
    )


def _row(cells: list[str]) -> str:
    title, *figures = cells
    return f"{title:{WAY}}" + "".join(f"{cell:>{wide}}" for cell, wide in zip(figures, FIGURES, strict=True))


def _cells(kiln: KilnPlan, one: Strategy) -> list[str]:
    longest = words().plan.terminal.no_days(days=show_number(ways().longest_days.mid))
    return [
        f"{'*' if one.card.id == kiln.way else ' '} {one.card.title}",
        longest if one.days is None else show_number(one.days, 2), show_number(one.kwh.p90) if one.kwh else "",
        f"{one.price:.0f}" if one.price is not None else "",
        show_quantity(round(100 * one.left.p90), "percent") if one.left else "",
    ]  # fmt: skip


# ---------------------------------------------------------------------------------------- own elements


def _own(plan: JobPlan, kiln: KilnPlan, own: Plan) -> Iterator[str]:
    """Yield the schedule: the first day by the clock, later days as ranges, what it comes to, what holds it up."""
    told, of = words().plan, shown(kiln) or own
    yield told.terminal.own if days.own_way(kiln) else told.terminal.own_later
    if own.broken:
        yield from _said(words().plan.terminal.label.binds, section.broken(own))
        yield from _said("", section.holds_up(own, MOST))
        return
    yield from _said(days.first(plan, kiln), days.there(plan, 0))
    for row in days.today(plan, kiln):
        yield from _said(f"  {row['at']}", _came_to(row))
    yield from _list(words().plan.terminal.label.later, (_range(row) for row in days.later(plan, kiln)))
    way = way_of(kiln)
    yield from (
        _ends(way.card) if way and days.own_way(kiln) else _said(words().plan.terminal.label.go_on, days.go_on(kiln))
    )
    yield from _said(words().plan.terminal.label.totals, section.totals(of.proof))
    yield from _said(words().plan.terminal.label.binds, section.holds_up(own, MOST))
    yield from _run(kiln)


def _came_to(row: dict[str, Any]) -> str:
    return words().plan.came_to(say=row["say"], left=row["left"], casing=row["casing"])


def _range(row: dict[str, Any]) -> str:
    named = f"{row['day']}, {row['dates']}" if row["dates"] else row["day"]
    return f"{named}: {_came_to(row)}"


def _run(kiln: KilnPlan) -> Iterator[str]:
    told = words().plan
    if kiln.followed is None:
        return
    if kiln.followed.by_controller:
        yield from _said(words().plan.terminal.label.programme, f"{told.by_controller} {section.as_run(kiln)}")
        return
    reasons = list(section.by_hand(kiln))
    yield from _list(words().plan.terminal.label.refused, [told.by_hand, *reasons[:MOST]])
    if more := len(reasons[MOST:]):
        yield from _said("", told.terminal.more(more=more))
