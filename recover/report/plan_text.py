"""The plan as lines for a terminal: what is followed and why, a day of it, the ways side by side, own elements."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from textwrap import wrap
from typing import TYPE_CHECKING

from recover.base.measures import show_number, show_quantity
from recover.judged.assessment import Assessment
from recover.plan.strategies import Strategy, WayCard
from recover.plan.strategies import cards as ways
from recover.report.paper import Numbered, View, referral_line, say
from recover.report.plan_days import assumed, opens_on, there
from recover.report.plan_section import holds_up, pan_off, plan_section
from recover.report.words import words

if TYPE_CHECKING:
    from recover.plan.whole import JobPlan, KilnPlan
    from recover.schedule.search import Plan

COLUMNS, LABEL = 80, 18
WAY, FIGURES = 49, (8, 8, 6, 9)
"""How wide the columns of the ways are: title, days, energy, price, water left."""

MOST = 3
"""How many reasons of a kind are said here; the report has them all."""


def text_lines(found: Assessment, plan: JobPlan, *, changed: bool = False) -> list[str]:
    """Return a plan as lines of no more than 80 columns, cautions and referral at the end."""
    label, view = words().plan.terminal.label, plan_section(found, plan, Numbered(), changed=changed)
    lines = _said(label.note, view["changed"])
    for kiln, shown in zip(plan.kilns, view["kilns"], strict=True):
        lines += [*_kiln(plan, kiln, shown), ""]
    for note in (view["prices"], view["calculation"], view["measure"], view["gate"]):
        lines += _said(label.note, note)
    lines.append("")
    for applied in found.group("caution"):
        lines += _said(label.caution, say(applied))
    return [*lines, "", *wrap(referral_line(found), COLUMNS)]


def _said(label: str, text: str) -> list[str]:
    """Return a text beside its label; lines after the first stand under the text."""
    return wrap(text, COLUMNS, initial_indent=f"{label:{LABEL}} ", subsequent_indent=" " * (LABEL + 1))


def _list(label: str, lines: Iterable[str]) -> Iterator[str]:
    """Yield lines beside the label of all of them, each on a line of its own."""
    for number, line in enumerate(lines):
        yield from _said(label if number == 0 else "", line)


def _kiln(plan: JobPlan, kiln: KilnPlan, shown: View) -> Iterator[str]:
    label = words().plan.terminal.label
    yield kiln.label
    yield from _said(label.note, shown["missing"])
    yield from _list(label.way, shown["chosen"])
    yield from _said(label.state, shown["hold"])
    own = list(_own(kiln, kiln.own, shown)) if kiln.own else []
    if kiln.strategy and not kiln.by_own:
        yield from ["", *_outside(plan, kiln.strategy.card)]
    if own and kiln.by_own:
        yield from ["", *own]
    if kiln.comparison:
        yield from ["", *_ways(kiln, kiln.comparison.strategies)]
    if own and not kiln.by_own:
        yield from ["", *own]


# ---------------------------------------------------------------------------------------- a day from outside


def _outside(plan: JobPlan, card: WayCard) -> Iterator[str]:
    """Yield a day of a way that needs no element of the kiln: what is done when, and what another day hangs on."""
    yield card.title
    yield from _said(words().plan.terminal.label.attended, f"{opens_on(plan)}, {there(plan, 0)}")
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


def _own(kiln: KilnPlan, own: Plan, shown: View) -> Iterator[str]:
    """Yield the schedule: the first day by the clock, later days as ranges, what it comes to, what holds it up."""
    told, label, day = words().plan.terminal, words().plan.terminal.label, shown["own"]
    yield told.own if kiln.by_own else told.own_later
    yield from _said(label.note, assumed(own.heating))
    if own.broken:
        yield from _said(label.binds, day["broken"])
        yield from _said("", " ".join([holds_up(own, MOST), *pan_off(kiln, own)]))
        return
    yield from _said(day["first"], day["there"])
    for row in day["today"]:
        yield from _said(f"  {row['at']}", _came_to(row))
    yield from _list(label.later, (_range(row) for row in day["later"]))
    yield from _ends(kiln.strategy.card) if kiln.strategy and kiln.by_own else _said(label.go_on, day["go_on"])
    yield from _said(label.totals, day["totals"])
    yield from _said(label.binds, " ".join([holds_up(own, MOST), *pan_off(kiln, own)]))
    yield from _run(kiln, shown)


def _came_to(row: View) -> str:
    return words().plan.came_to(say=row["say"], left=row["left"], casing=row["casing"])


def _range(row: View) -> str:
    named = f"{row['day']}, {row['dates']}" if row["dates"] else row["day"]
    return f"{named}: {_came_to(row)}"


def _run(kiln: KilnPlan, shown: View) -> Iterator[str]:
    label, run = words().plan.terminal.label, shown["details"]["run"]
    if kiln.followed is None:
        return
    if kiln.followed.by_controller:
        yield from _said(label.programme, f"{run['intro']} {shown['own']['as_run']}")
        return
    yield from _list(label.refused, [run["intro"], *run["reasons"][:MOST]])
    if more := len(run["reasons"][MOST:]):
        yield from _said("", words().plan.terminal.more(more=more))
