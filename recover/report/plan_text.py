"""The plan as lines for a terminal: what is recommended, the paths side by side, a day, what is missing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import zip_longest
from textwrap import wrap
from typing import TYPE_CHECKING

from recover.judged.assessment import Assessment
from recover.report.day import before_boiling, day_view, dry_when, gate, own_heat, shut_by
from recover.report.kiln_room_day import Sheet
from recover.report.paper import Numbered, View, referral_line, say
from recover.report.plan_section import over_since, plan_section
from recover.report.words import words

if TYPE_CHECKING:
    from recover.plan.whole import Day, JobPlan, KilnPlan, Path

COLUMNS, LABEL = 80, 16

ABREAST = 3
"""How many paths stand beside one another."""

MOST = 3
"""How many reasons of a kind are said here; the report has them all."""


def text_lines(found: Assessment, plan: JobPlan, *, day: int = 1, changed: Sequence[str] = ()) -> list[str]:
    """Return a plan as lines of no more than 80 columns, cautions and referral at the end.

    `day` is which one is shown, from 1; `changed` what the plan rests on and has changed since it was made.
    """
    label, view = words().plan.terminal.label, plan_section(found, plan, Numbered(), changed=changed)
    lines = _said(label.note, view["changed"])
    for kiln, shown in zip(plan.kilns, view["kilns"], strict=True):
        today = next((one for one in kiln.days if one.number == day), None)
        lines += [*_kiln(found, plan, kiln, shown, view["money"], None if changed else today), ""]
    for note in (view["each_kiln"], view["prices"], view["calculation"], view["measure"], view["gate"]):
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


def _kiln(
    found: Assessment, plan: JobPlan, kiln: KilnPlan, shown: View, money: str, day: Day | None
) -> Iterator[str]:  # fmt: skip
    label = words().plan.terminal.label
    first, *more = shown["chosen"] or [shown["missing"]]
    yield from wrap(f"{kiln.label}. {first}", COLUMNS)
    yield from _list(label.note, more)
    yield from _paths(kiln, shown["paths"], money)
    if over_since(found, kiln):
        return
    if day:
        yield from ["", *_day(found, plan, kiln, day, day_view(found, plan, kiln, day))]
    yield from _missing(found, kiln, shown)
    if not kiln.days:
        yield from ["", *_said(label.note, words().plan.terminal.no_sheet)]


# ---------------------------------------------------------------------------------------- paths side by side


def _paths(kiln: KilnPlan, shown: list[View], money: str) -> Iterator[str]:
    """Yield the paths that nothing beats beside one another; of each other what it lacks, or what would open it."""
    label, both = words().plan.terminal.label, [*zip(kiln.paths, shown, strict=True)]
    best = [view for path, view in both if _stands(kiln, path)]
    for first in range(0, len(best), ABREAST):
        yield from ["", *_abreast(best[first : first + ABREAST], money)]
    yield from _list(label.open, (_behind(view) for path, view in both if path.open and view not in best))
    yield from _list(label.closed, (_sentence(view["title"], view["closed"], view["opens"])
                                    for path, view in both if not path.open))  # fmt: skip


def _stands(kiln: KilnPlan, path: Path) -> bool:
    """Whether a path stands in the comparison: it ends and nothing beats it, or it is advised or followed."""
    best = path.open and path.finishes is not False and not path.beaten_by
    return best or path.id in (kiln.recommended, kiln.followed)


def _behind(view: View) -> str:
    """Say of an open path why it does not stand in the comparison."""
    said = filter(None, (*view["marks"], view["fires"]))
    return _sentence(view["title"], *(f"{one}." for one in said), view["opens"])


def _sentence(title: str, *parts: str) -> str:
    return " ".join((f"{title}:", *filter(None, parts)))


def _abreast(paths: list[View], money: str) -> Iterator[str]:
    """Yield a row to each figure, a column to each path."""
    row, said = words().plan.terminal.row, words().plan.terminal
    yield from _row("", [one["title"] for one in paths])
    yield from _row("", [", ".join(one["marks"]) for one in paths])
    yield from _row(row["fires"], [one["fires"] for one in paths])
    there = [said.there(hours=one["attended"], visits=one["visits"]) if one["attended"] else "" for one in paths]
    yield from _row(row["attended"], there)
    yield from _row(row["energy"], [one["energy"] for one in paths])
    yield from _row(row["cost"], [_cost(one, money) for one in paths])
    yield from _row(row["left"], [one["left"] for one in paths])


def _cost(one: View, money: str) -> str:
    """Print what a path costs, in which money, and what that contains; nothing where no price is known."""
    return ", ".join((f"{one['cost']} {money}".strip(), one["contains"])) if one["cost"] else ""


def _row(label: str, cells: list[str]) -> Iterator[str]:
    """Yield a row whose cells are as many lines high as the highest needs; none where all are empty."""
    wide = (COLUMNS - LABEL) // ABREAST
    wrapped = [wrap(cell, wide - 1) for cell in cells]
    for number, parts in enumerate(zip_longest(*wrapped, fillvalue="")):
        head = label if number == 0 else ""
        yield f"{head:{LABEL}}{''.join(f' {part:{wide - 1}}' for part in parts)}".rstrip()


# ---------------------------------------------------------------------------------------- a day, and what is missing


def _day(found: Assessment, plan: JobPlan, kiln: KilnPlan, day: Day, view: View) -> Iterator[str]:
    """Yield a day: who is there, what is set, its steps, where it is switched off; or why there is none."""
    said, label = words().plan.terminal, words().plan.terminal.label
    when = view["date"] or ("" if own_heat(day) else words().day.once)
    yield ", ".join(filter(None, (f"{view['name']} {view['of']}", when, view["way"] or view["phase"])))
    if why := shut_by(found, kiln, day):
        yield from _list(label.shut, why)
        return
    state = Sheet(found=found, plan=plan, kiln=kiln, day=day, changed=False).state
    if state == "closed":
        yield from _said(label.state, said.waits)
        return
    over = [words().kiln_room.over.over] if state == "over" else []
    yield from _list(label.note, over)
    yield from _list(label.first, filter(None, [view["waits"]] if not over else []))
    yield from _said(label.attended, ". ".join(filter(None, (view["attended"], view["ends"]))))
    yield from _list(label.note, filter(None, [view["boards"]]))
    if day.waits_for == "boiling" and not over:
        yield from _said(label.first, before_boiling(kiln))
    if view["source"]:
        cutout = view["cutout"] or said.low
        yield from _said(label.heat, said.heat(source=view["source"], top=view["top"], cutout=cutout))
        yield from _said(label.off, view["off"] or said.off)
    for row in view["steps"]:
        yield from _said(f"  {row['at']}", row["say"])
    yield from _said(label.numbers, "; ".join(f"{one['what']} {one['value']}" for one in view["beside"]))
    yield from _list(label.dry, dry_when(kiln, day))
    yield from _said(label.tonight, view["runs_on"])


def _missing(found: Assessment, kiln: KilnPlan, shown: View) -> Iterator[str]:
    """Yield how the hold point before own elements stands and what it lacks, and why a controller runs nothing."""
    said, label = words().plan.terminal, words().plan.terminal.label
    if not any(own_heat(day) for day in kiln.days):
        return
    yield from ["", *_said(label.state, shown["hold"])]
    yield from _few(label.missing, gate(found, kiln).missing)
    if kiln.refusal:
        yield from _said(label.by_hand, said.refused)
        yield from _few("", [reason.says for reason in kiln.refusal.reasons])


def _few(label: str, lines: Sequence[str]) -> Iterator[str]:
    more = [words().plan.terminal.more(more=len(lines) - MOST)] if len(lines) > MOST else []
    yield from _list(label, [*lines[:MOST], *more])
