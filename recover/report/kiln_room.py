"""The sheet that hangs by a kiln while it is dried: today's steps to tick, what is read, when to stop, who is called.

One page for one kiln and one day, all of it from that day of the plan. Where it may not be heated, there are no steps
to follow and no date.
"""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from recover.base.addresses import JOB, Address
from recover.base.errors import QuantityError
from recover.job.folder import Job
from recover.judged.assessment import Assessment
from recover.plan.log import standing
from recover.report.day import awaited, before_boiling, criteria, gate, handed_over_on, why_shut
from recover.report.kiln_room_day import Sheet, body
from recover.report.paper import View, in_words, paper, plain_cautions, referral_line, suspended
from recover.report.parties import said
from recover.report.words import words
from recover.rules.gates import duties

if TYPE_CHECKING:
    from collections.abc import Iterator

    from recover.plan.whole import Day, JobPlan, KilnPlan

_CLOSER = ("", "snug", "close", "closest", "packed", "small", "tiny", "least")
SETS = tuple(" ".join(_CLOSER[1 : number + 1]) for number in range(len(_CLOSER)))
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
    sheet = Sheet(found=found, plan=plan, kiln=one, day=_day(one, day), changed=changed)
    head = paper(job, found, "kiln-room", made)
    head |= {"subtitle": _subtitle(sheet, day), "changed_since": words().kiln_room.missing.changed if changed else None}
    return {
        "paper": head, "box": _box(sheet), "sign": _sign(sheet), "told": words().kiln_room.title, **body(sheet),
        "set": SETS[-1], "sets": list(SETS), "call": _call(sheet), "parties": said(found, "parties"),
        "cautions": plain_cautions(found), "referral_line": referral_line(found),
    }  # fmt: skip


def _day(kiln: KilnPlan, number: int) -> Day | None:
    """Return a day by its number; None where the kiln has no days at all."""
    if not kiln.days and number >= 1:
        return None
    found = next((day for day in kiln.days if day.number == number), None)
    if found is None:
        raise QuantityError("day of the plan", str(number), f"1 to {len(kiln.days)}" if kiln.days else "1 or more")
    return found


# ---------------------------------------------------------------------------------------- head


def _subtitle(sheet: Sheet, number: int) -> str:
    say, kiln, view = words().kiln_room.subtitle, sheet.kiln.label, sheet.view
    if view is None:
        return say.none(kiln=kiln)
    goes = sheet.goes or sheet.state == "nobody"
    if view["date"] and goes:
        return say.dated(kiln=kiln, day=number, days=len(sheet.kiln.days), date=view["date"])
    return (say.once if goes else say.undated)(kiln=kiln, day=number, days=len(sheet.kiln.days))


def _box(sheet: Sheet) -> View:
    """Return what stands in the black box: what may be done today, by whose release, and what is missing."""
    box, hold, clock = words().kiln_room.box[sheet.state], gate(sheet.found, sheet.kiln), sheet.found.answers.by_clock
    lines = box.lines(
        hold=hold.point.title, way=sheet.view["way"] if sheet.view else "", by=hold.signers,
        released_by=hold.released_by if sheet.state == "lapses" else hold.still,
        at=clock(hold.signed[-1].moment) if hold.signed else "",
        until=clock(hold.until) if hold.until else "",
        latest=words().kiln_room.latest(until=clock(hold.until)) if hold.until else "",
        first=". ".join(_released_first(sheet)),
    )  # fmt: skip
    return {
        "title": box.title,
        "lines": [
            *_over(sheet),
            *lines,
            *_today(sheet),
            *([] if sheet.state == "over" else suspended(sheet.found, sheet.kiln.kiln)),
        ],
    }


def _over(sheet: Sheet) -> Iterator[str]:
    """Yield that a day is no order any more: its kiln is handed over, it was stopped, or it is over."""
    day, say, found = sheet.day, words().kiln_room.over, sheet.found
    if day is None:
        return
    if signed := handed_over_on(found, sheet.kiln):
        yield say.handed_over(on=signed)
        return
    held = next((one for one in standing(found.answers, sheet.kiln.kiln, sheet.kiln) if one.day == day), None)
    if held and held.stop:
        yield say.stopped(stop=held.stop.say, at=found.answers.by_clock(held.one.measured))
    elif sheet.is_over(day):
        yield say.over


def _released_first(sheet: Sheet) -> Iterator[str]:
    """Yield what must be released before the day, and by whom; what the first of it lacks: the others wait for it."""
    say = words().kiln_room.missing
    holds = awaited(sheet.found, sheet.kiln, sheet.day) if sheet.day else []
    by = ["; ".join(duties()[duty] for duty in hold.wanted or hold.point.signatures) for hold in holds]
    yield "; ".join(say.by(hold=hold.point.title, duties=who) for hold, who in zip(holds, by, strict=True))
    for hold in [one for one in holds if one.missing][:1]:
        lacks = (*hold.waits, *(one.say for one in hold.unmet))
        yield say.first(hold=hold.point.title, missing="; ".join(lacks))


def _today(sheet: Sheet) -> Iterator[str]:
    """Yield what the box says of this day: who is there, when it ends, what it waits for; or why there is none."""
    if sheet.day is None:
        yield from _no_path(sheet.kiln)
    elif sheet.state == "shut":
        yield from _shut(sheet, sheet.day)
    elif sheet.state == "closed" and sheet.lacks:
        yield words().kiln_room.missing.lead(missing="; ".join(sheet.lacks))
    elif sheet.goes and sheet.view:
        yield from filter(None, [sheet.view["waits"] if sheet.state not in ("waits", "over") else ""])
        yield words().kiln_room.attended(there=sheet.view["attended"])
        yield from filter(None, (sheet.view["ends"], _boards(sheet, sheet.day, sheet.view)))
        if sheet.day.waits_for == "boiling" and sheet.state != "over":
            yield before_boiling(sheet.kiln)


def _shut(sheet: Sheet, day: Day) -> Iterator[str]:
    """Yield what shuts the way of the day, why, and what opens it again."""
    for why, lines in why_shut(sheet.found, sheet.kiln, day).items():
        say = words().kiln_room.shut[why]
        yield from filter(None, (say.says, *lines, say.opens))


def _boards(sheet: Sheet, day: Day, view: View) -> str:
    """Say that boards come out or go in; what that waits for has been said where the whole day waits."""
    return words().day.boards[day.boards] if day.boards and sheet.state == "waits" else str(view["boards"])


def _sign(sheet: Sheet) -> list[str]:
    """Return what is signed on the sheet before the day begins: a release, or the reading that it waits for."""
    sign = words().kiln_room.sign
    goes = sheet.goes and sheet.state != "over"
    waits = goes and sheet.day is not None and sheet.day.waits_for == "boiling"
    read = [words().kiln_room.sign_read[one.what] for one in criteria(sheet.kiln, "boiling")]
    return [*sign.get(sheet.state, []), *((*read, *sign["boiling"]) if waits else ())]


def _no_path(kiln: KilnPlan) -> Iterator[str]:
    """Yield why nothing is planned, or what closes each path and what would open it."""
    yield from (*kiln.missing, *([kiln.because] if kiln.because else []))
    for path in kiln.paths:
        opens = [words().kiln_room.would_open(what=path.would_open)] if path.would_open else []
        yield " ".join((f"{path.title}:", *path.closed_because, *opens))


def _call(sheet: Sheet) -> list[View]:
    """Return who is called and what must be found at once, as answered; who attends and the electrician by hand."""
    asked = sheet.found.answers.questions.printed("call")
    rows = [{"label": label, "value": _known(sheet, name)} for name, label in asked.items()]
    off = sheet.view["off"] if sheet.view and sheet.goes else ""
    rows = [row for row in rows if not off or row["value"].rstrip(".") != off]  # it stands with the stops
    return [*rows, *({"label": label, "value": ""} for label in words().kiln_room.by_hand)]


def _known(sheet: Sheet, name: str) -> str:
    """Return what was answered to a question, of the kiln or of the whole loss; nothing where it is not known."""
    answers = sheet.found.answers
    here = [at for at in answers.instances(answers.questions.questions[name]) if at in (sheet.kiln.kiln, JOB)]
    given = [answers.answer(name, at) for at in here]
    return "; ".join(in_words(sheet.found, one) for one in given if one and one.state == "given")
