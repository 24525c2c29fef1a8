"""The sheet that hangs by a kiln while it is dried: today's steps to tick, what is read, when to stop, who is called.

One page for one kiln and one day. Where its own elements may not heat it, there are no steps to follow.
"""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from recover.base.addresses import JOB, Address
from recover.base.errors import QuantityError
from recover.base.measures import show_moment
from recover.job.folder import Job
from recover.judged.assessment import Assessment
from recover.report.kiln_room_day import Sheet, listed, own_day
from recover.report.paper import View, in_words, paper, plain_cautions, referral_line, suspended
from recover.report.plan_days import there
from recover.report.words import words

if TYPE_CHECKING:
    from recover.plan.whole import JobPlan

SETS = ("", "close", "close closest", "close closest packed", "close closest packed small")
"""How a sheet may be set, from the loosest on: one page, whatever there is to say."""


def kiln_room(
    job: Job,
    found: Assessment,
    plan: JobPlan,
    made: datetime,
    kiln: Address,
    day: int = 1,
    *,
    changed: bool = False,
) -> View:
    """Return the sheet of one kiln for a day, counted from 1. Raises QuantityError for a kiln or day not planned."""
    one = next((one for one in plan.kilns if one.kiln == kiln), None)
    if one is None:
        raise QuantityError("kiln of the plan", kiln, f"one of {', '.join(one.kiln for one in plan.kilns)}")
    sheet = Sheet(found=found, plan=plan, kiln=one, day=day, changed=changed)
    _check(sheet)
    head = paper(job, found, "kiln-room", made)
    head |= {"subtitle": _subtitle(sheet), "changed_since": words().kiln_room.missing.changed if changed else None}
    return {
        "paper": head, "box": _box(sheet), "told": words().kiln_room.title, **_body(sheet),
        "columns": {"at": words().kiln_room.columns.at, "do": words().kiln_room.columns.do},
        "set": SETS[-1], "sets": list(SETS),
        "call": _call(sheet),
        "cautions": plain_cautions(found), "referral_line": referral_line(found),
    }  # fmt: skip


def _check(sheet: Sheet) -> None:
    last = sheet.days
    if sheet.day < 1 or (last and sheet.day > last):
        raise QuantityError("day of the plan", str(sheet.day), f"1 to {last}" if last else "1 or more")


# ---------------------------------------------------------------------------------------- head


def _subtitle(sheet: Sheet) -> str:
    say, date = words().kiln_room.subtitle, f"{sheet.opens(sheet.day):%a %Y-%m-%d}"
    if sheet.days:
        return say.of_days(kiln=sheet.kiln.label, day=sheet.day, days=sheet.days, date=date)
    return say.day(kiln=sheet.kiln.label, day=sheet.day, date=date)


def _box(sheet: Sheet) -> View:
    """Return what stands in the black box: what may be done today, by whose release, and what is missing."""
    way = sheet.way
    box, hold = words().kiln_room.box[sheet.state], sheet.hold
    lines = box.lines(
        hold=hold.point.title, way=way.title if way else "", by=hold.signers,
        released_by=hold.released_by if sheet.state == "lapses" else hold.still,
        at=show_moment(hold.signed[-1].moment) if hold.signed else "",
        until=show_moment(hold.until) if hold.until else "",
    )  # fmt: skip
    if sheet.state in ("outside", "ready", "lapses", "released"):
        lines.append(words().kiln_room.attended(there=there(sheet.plan, sheet.day - 1)))
    lines += suspended(sheet.found, sheet.kiln.kiln)
    if sheet.state == "nothing" and sheet.kiln.comparison:
        lines.append(sheet.kiln.comparison.because)
        lines += [f"{one.card.title}: {' '.join(one.closed)}" for one in sheet.kiln.comparison.strategies if one.closed]
    if sheet.state == "nothing":
        lines += sheet.kiln.missing
    elif sheet.lacks and sheet.state == "closed":
        lines.append(words().kiln_room.missing.lead(missing="; ".join(sheet.lacks)))
    return {"title": box.title, "lines": lines}


def _call(sheet: Sheet) -> list[View]:
    """Return who is called and what must be found at once, as answered; who attends and the electrician by hand."""
    asked = sheet.found.answers.questions.printed("call")
    rows = [{"label": label, "value": _known(sheet, name)} for name, label in asked.items()]
    return [*rows, *({"label": label, "value": ""} for label in words().kiln_room.by_hand)]


def _known(sheet: Sheet, name: str) -> str:
    """Return what was answered to a question, of the kiln or of the whole loss; nothing where it is not known."""
    answers = sheet.found.answers
    here = [at for at in answers.instances(answers.questions.questions[name]) if at in (sheet.kiln.kiln, JOB)]
    given = [answers.answer(name, at) for at in here]
    return "; ".join(in_words(sheet.found, one) for one in given if one and one.state == "given")


# ---------------------------------------------------------------------------------------- bodies


def _body(sheet: Sheet) -> View:
    if sheet.state == "outside":
        return _outside(sheet)
    if sheet.kiln.own and sheet.follows and sheet.state in ("ready", "lapses", "released"):
        return own_day(sheet, sheet.kiln.own, sheet.follows)
    return {"steps": [], "late": False, "step_columns": [], "stop": listed("stop", []), "lists": []}


def _outside(sheet: Sheet) -> View:
    """Return a day of a way that needs no element of the kiln: its routine, when it ends, what another day hangs on."""
    way = sheet.way
    rows = [
        {"at": "", "say": say, "head": words().kiln_room.title[when] if number == 0 else ""}
        for when in ("opens", "hourly", "leaves") for number, say in enumerate(sheet.routine(when))
    ]  # fmt: skip
    return {
        "steps": rows, "late": False, "step_columns": words().kiln_room.columns.outside,
        "stop": listed("stop", way.stop if way else ()),
        "lists": [
            listed("go_on", [way.go_on] if way else []), listed("done", [way.done] if way else []),
            listed("power_cut", words().kiln_room.outside.power_cut),
        ],
    }  # fmt: skip
