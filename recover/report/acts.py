"""What is to be done next in a job: by whom, until when, by which command; the most pressing first.

A clock that was set back is told first: by it no day is the right one. Then a stop goes before everything, then what
shuts a way, then what makes the plan no plan any more, then hold points in
their order, then the day. Nothing here releases anything; where something is in the way, no day has a date.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from recover.base.addresses import JOB
from recover.base.errors import command
from recover.judged.dry import CUTOUT, DAY_TOP
from recover.judged.set_back import set_back
from recover.judged.standing import to_sign
from recover.judged.stops import is_mended, told_unmended
from recover.plan.cards import rechecks
from recover.plan.clock import months_after
from recover.plan.kinds import kinds, log_data
from recover.plan.log import is_entry, trips_own_heat
from recover.plan.of_job import GATE
from recover.report.call_sheets import decision, who_goes, worst_call
from recover.report.day import (
    AT_THE_KILN,
    BOARDS_WAIT,
    INSIDE,
    aged_inside,
    awaited,
    before_boiling,
    criteria,
    dated,
    day_text,
    gate,
    idle,
    own_heat,
    runs_on,
    shut_by,
    target,
    why_shut,
)
from recover.report.paper import capital, days_text
from recover.report.reading_words import as_read, band, beyond, read_name, with_unit
from recover.report.words import words
from recover.rules.gates import duties, on_the_way

if TYPE_CHECKING:
    from recover.base.addresses import Address
    from recover.judged.assessment import Assessment
    from recover.judged.standing import Hold
    from recover.judged.stops import LogStop
    from recover.plan.log import Against
    from recover.plan.whole import Day, Expected
    from recover.report.today import Glance, KilnNow

ActKind = Literal[
    "stop", "shut", "ask", "plan", "sign", "evidence", "renew", "read", "open", "rest", "log", "prove", "mend"
]  # fmt: skip


@dataclass(frozen=True)
class Act:
    """What is to be done: a sentence, who does it, until when, and the command that goes with it; empty where none."""

    kind: ActKind
    say: str
    by: str = ""
    until: str = ""
    do: str = ""


def acts(look: Glance) -> list[Act]:
    """Return what is to be done next, the most pressing first; each once."""
    found = [
        *_clock(look),
        *(act for kiln in look.kilns for act in _stop(kiln)),
        *_stop_unplanned(look),
        *(act for kiln in look.kilns for act in _out_of_use(kiln)),
        *(act for kiln in look.kilns for act in (*_unmended(kiln), *_shut(kiln))),
        *_of_visit(look), *_of_plan(look),
        *(act for kiln in look.kilns for act in of_kiln(kiln)),
        *(act for kiln in look.kilns for act in _besides(kiln)),
        *_misfits(look),
    ]  # fmt: skip
    return [*dict.fromkeys(found)]


def now_at(kiln: KilnNow) -> list[Act]:
    """Return what is to be done at one kiln after a round of readings."""
    at_once = (*_clock(kiln.look), *_stop(kiln), *_out_of_use(kiln), *_unmended(kiln), *_shut(kiln))
    return [*at_once, *_overtaken(kiln.look), *of_kiln(kiln), *_besides(kiln)]


# ---------------------------------------------------------------------------------------- before everything


def _clock(look: Glance) -> Iterator[Act]:
    """Yield that the clock was set back: by a wrong one no day is the right day, and no stop is over."""
    if back := set_back(look.found.answers):
        yield Act("mend", back, do=command("check", look.folder))


def _stop(kiln: KilnNow) -> Iterator[Act]:
    """Yield that a day has ended, where the log has a stop since: by what, and where it is switched off."""
    one, say = kiln.stopped, words().status.act
    if one is None or one.stop is None:
        return
    moment = _when(kiln.look, one)
    if one.stop.why == "beyond" and one.expected and one.day:
        told = say.stop(
            what=f"{_of(kiln)}{read_name(one.expected)}", value=as_read(one.one.value or 0.0, one.one.unit), at=moment,
            beyond=beyond(one.expected), stop=with_unit(one.stop.limit, one.expected.unit), day=one.day.number,
        )  # fmt: skip
    else:
        told = _ended_by(one.stop)(what=f"{_of(kiln)}{capital(one.stop.say)}", at=moment)
    yield _stop_act(kiln.look, one, told, again=kiln.barred and not _is_today(kiln.look, one))


def _out_of_use(kiln: KilnNow) -> Iterator[Act]:
    """Yield that a kiln which was handed over is not used any more, and what ended that or is against it."""
    if kiln.out_of_use:
        say = words().status.act.out_of_use(ended=kiln.out_of_use)
        yield Act("shut", f"{_of(kiln)}{say}", by=duties()["hand_over"], do=_logs(kiln.look, kiln.kiln.kiln, "--holds"))


def _unmended(kiln: KilnNow) -> Iterator[Act]:
    """Yield the last stop of which nobody who may has said that its cause is found and mended, once somebody has logged
    that it goes on: that opens days, and no heat of its own elements."""
    told = told_unmended(kiln.look.found.answers, kiln.kiln.kiln)
    if told and kiln.stopped is None:
        say = words().status.act.unmended(stop=capital(told[0]))
        yield Act("evidence", f"{_of(kiln)}{say}", by=duties()["pass_electrics"], do=_inspect(kiln.look, "dried"))


def _stop_unplanned(look: Glance) -> Iterator[Act]:
    """Yield the stop of each kiln that no plan tells of: a log needs none."""
    several = len(look.found.answers.kilns) > 1
    for kiln in look.unplanned:
        one = look.stop_of(kiln)
        if one and one.stop:
            name = f"{look.found.answers.label(kiln)}. " if several else ""
            told = _ended_by(one.stop)(what=f"{name}{capital(one.stop.say)}", at=_when(look, one))
            again = one.stop.until != "next_day" and not _is_today(look, one)
            yield _stop_act(look, one, told, again=again)


def _ended_by(stop: LogStop) -> Callable[..., str]:
    """Return how a stop is told: what ends its own day alone has no cause that others wait for."""
    say = words().status.act
    return say.stop_day if stop.until == "next_day" else say.stop_logged


def _stop_act(look: Glance, one: Against, told: str, *, again: bool) -> Act:
    """Return a stop with its switch; of another day, that none begins before it is logged that it goes on."""
    say, kiln = words().status.act, one.one.kiln
    again = again and not one.one.is_water  # no word of the log lifts that
    mends = again and trips_own_heat(one) and one.stop is not None and not is_mended(one.stop, look.found.answers)
    do = _inspect(look, "dried") if mends else f"{_logs(look, kiln)} {WENT_ON}" if again else ""
    then = say.stop_mended if mends else say.stop_again if again else ""
    return Act("stop", " ".join(filter(None, (told, off(one.off), then))), do=do,
               by=duties()["pass_electrics"] if mends else say.attends)  # fmt: skip


def _logs(look: Glance, kiln: Address, *more: str) -> str:
    """Return the command that logs of a kiln, which is named where there are several."""
    whose = ("--component", kiln) if len(look.found.answers.kilns) > 1 else ()
    return command("log", look.folder, *whose, *more)


def _is_today(look: Glance, one: Against) -> bool:
    return one.one.measured.date() == look.now.date()


def _when(look: Glance, one: Against) -> str:
    """Print when something was logged, by the clock of the place; with its date, where that is another."""
    at = one.one.measured.astimezone(look.found.answers.zone)
    return f"{at:%H:%M}" if _is_today(look, one) else f"{day_text(at.date())} {at:%H:%M}"


def off(switch: str) -> str:
    """Say where heat is switched off; where no plan tells, that it is to be found."""
    return words().status.act.off(off=switch or words().status.act.off_unknown)


LOOKED = "--happened looked --note WHAT-WAS-FOUND"
"""What opens a plan again that readings have shut; a slip is taken back instead."""

WENT_ON = "--happened again --note WHAT-WAS-FOUND"
"""What lifts a stop of the log."""


def _shut(kiln: KilnNow) -> Iterator[Act]:
    """Yield why the way of the day is shut, by what it is opened again: readings that no draw shows by a look, and once
    that is logged by a plan that knows of it; a stop by what was found; hazards and water by answers."""
    why = why_shut(kiln.look.found, kiln.kiln, kiln.day) if kiln.day else {}
    log, say = _logs(kiln.look, kiln.kiln.kiln), words().status.act
    does = {"water": _inspect(kiln.look, "event"), "stop": f"{log} {WENT_ON}", "misfit": f"{log} {LOOKED}",
            "room": _inspect(kiln.look, "safe")}  # fmt: skip
    for one, lines in why.items():
        told = f"{_of(kiln)}{' '.join(lines)}"
        if one == "misfit" and kiln.looked:
            yield Act("plan", f"{_of(kiln)}{say.looked}", do=command("plan", kiln.look.folder))
        elif one != "stop" or not kiln.barred:
            yield Act("shut", told, say.attends if one == "misfit" else "", do=does[one])


# ---------------------------------------------------------------------------------------- visit and plan


def _of_visit(look: Glance) -> Iterator[Act]:
    """Yield what the visit still asks, where there is no plan yet, and which hold point comes first."""
    say = words().status.act
    if _is_called(look):
        yield Act("ask", say.call, say.calls, do=command("start", look.folder))
    if _is_called(look) or look.plan or look.no_plan:
        return
    if first := call_first(look):
        yield first
    if _is_refused(look):
        return
    near = _on_the_way(look)
    yield from (act for hold in near[:1] for act in _hold(look, hold))
    yield from _unanswered(look) if near else ()


def _on_the_way(look: Glance) -> list[Hold]:
    """Return the hold points on the way to its own heat that come next."""
    near = (one for one in look.found.holds if one.state != "released" and not one.waits)
    return [one for one in near if one.point.id in on_the_way(GATE)]


GO, DESK = "go", "desk_report"
"""What the call table says where nothing goes before a visit, and where only the desk does."""


def call_first(look: Glance) -> Act | None:
    """Return what the call says goes before a visit: who must go first, and to price it from the desk. Once somebody
    has gone it is only who must certainly go first. None where nothing does."""
    outcome, of = worst_call(look.found).outcome, decision(look.found)
    if outcome.high == GO or (_is_visited(look) and (outcome.high == DESK or not outcome.closed)):
        return None
    return Act("ask", " ".join((of["outcome"], *of["say"])), words().status.act.the(who=who_goes(look.found)))


def _is_visited(look: Glance) -> bool:
    """Whether anything was answered that is not asked in the call."""
    asked = look.found.answers.questions.questions
    return any(not asked[one.question].call for one in look.found.answers.given.values() if one.question in asked)


def _is_refused(look: Glance) -> bool:
    """Whether the kiln is certainly of a kind that nobody inspects with this program."""
    return worst_call(look.found).outcome.closed and not decision(look.found)["inspect"]


def unanswered(found: Assessment) -> int:
    """Return how many questions of the visit nobody has answered yet."""
    return sum(one.state is None for one in found.open)


def _unanswered(look: Glance) -> Iterator[Act]:
    say = words().status.act
    if number := unanswered(look.found):
        yield Act("ask", say.visit(number=number), say.inspects, do=command("inspect", look.folder))


def _is_called(look: Glance) -> bool:
    """Whether the job is no further than its call: nothing of a kiln has been looked at."""
    return not look.found.answers.given or (look.call_open and not _is_visited(look))


def _of_plan(look: Glance) -> Iterator[Act]:
    """Yield that there is no plan, that it cannot be read, or that it is overtaken."""
    say, again = words().status.act, command("plan", look.folder)
    if _is_called(look) or (look.plan is None and _is_refused(look)):
        return
    if look.plan is None:
        yield Act("plan", say.unread(why=look.no_plan) if look.no_plan else say.no_plan, say.plans, do=again)
    yield from _overtaken(look)


def _overtaken(look: Glance) -> Iterator[Act]:
    if look.plan and look.changed:
        what, more = look.changed[0], len(look.changed) - 1
        what = f"{what}; {words().plan.changed_more(number=more)}" if more else what
        told = words().status.act.overtaken(plan=look.plan.number, what=what)
        yield Act("plan", told, do=command("plan", look.folder))


def _misfits(look: Glance) -> Iterator[Act]:
    """Yield what does not fit together, what nobody has answered, and that the call was never finished."""
    say = words().status.act
    if look.call_open and not (look.plan or _is_called(look)):
        yield Act("ask", say.call, say.calls, do=command("start", look.folder))
    if problems := look.found.problems:
        everything = command("assess", look.folder, "--all")
        yield Act("mend", say.misfits(number=len(problems)), say.inspects, do=everything)
    if not (look.plan or look.no_plan or _is_called(look) or _is_refused(look)):
        yield from _unanswered(look)


# ---------------------------------------------------------------------------------------- hold points


def _hold(look: Glance, hold: Hold, until: str = "") -> Iterator[Act]:
    """Yield what one hold point lacks: evidence, first what has gone out of date, or a name."""
    say, where = words().status.act, look.found.answers.where(hold.at)
    title = f"{hold.point.title}, {where}" if where else hold.point.title
    ended = say.ended(hold=title, ended=hold.ended[-1].ended) if hold.ended and not hold.signed else ""
    if hold.suspended and hold.state == "released":
        yield Act("evidence", hold.suspended, by=_signers(hold), do=_missing(look, hold))
    elif hold.missing:
        first, *others = [*map(str, hold.unmet), *hold.waits]
        lacks = "; ".join([first, *([say.more(number=len(others))] if others else [])])
        told = " ".join(filter(None, (ended, say.closed(hold=title, missing=lacks))))
        yield Act("evidence", told, _signers(hold), do=_missing(look, hold))
    else:
        sign = to_sign(look.folder, hold, look.found.profile)
        yield Act("sign", " ".join(filter(None, (ended, say.sign(hold=title)))), _signers(hold), until, sign)


def _signers(hold: Hold) -> str:
    """Name who has still to sign, each by what is signed for; of one that is released, who signs it anew."""
    return "; ".join(duties()[duty] for duty in hold.wanted or hold.point.signatures)


def _missing(look: Glance, hold: Hold) -> str:
    return f"{command('inspect', look.folder)}, {words().status.act.section(hold=hold.point.title)}"


def _inspect(look: Glance, section: str) -> str:
    """Return the command that asks a section, with its name."""
    titles = (one.title for one in look.found.answers.questions.section if one.id == section)
    return ", ".join((command("inspect", look.folder), *(f"“{title}”" for title in titles)))


def _first_of(kiln: KilnNow, wanted: list[Hold]) -> list[Hold]:
    """Return, of hold points that are waited for and of all before them, those that wait for no other.

    What opens work at a dead kiln, and was released, is suspended on the way to heat of its own: it lacks nothing.
    """
    way = frozenset[str]().union(*(on_the_way(one.point.id) for one in wanted))
    return [
        one for one in kiln.look.found.holds
        if one.point.id in way and one.at in (kiln.kiln.kiln, JOB) and not one.waits
        and (one.state != "released" or (one.suspended and one in wanted))
    ]  # fmt: skip


# ---------------------------------------------------------------------------------------- the day


def of_kiln(kiln: KilnNow) -> Iterator[Act]:
    """Yield what a kiln waits for, or what its day asks for now."""
    yield from _before_heat(kiln)
    if kiln.kiln.missing or not kiln.kiln.days:
        yield from _nothing_planned(kiln)
    elif kiln.past or kiln.dry or kiln.handed_over:
        yield from _proof(kiln)
    elif kiln.day and not kiln.look.changed:
        yield from _of_day(kiln, kiln.day)


def _before_heat(kiln: KilnNow) -> Iterator[Act]:
    """Yield what own heat waits for on its day: a cut-out that is set for a hotter one, insulation that nobody has
    read, or that is below the entry."""
    yield from _set_for_another(kiln)
    yield from (_missing_reading(kiln, one) for one in kiln.missing if is_entry(one))
    if low := kiln.unentered:
        told = words().status.act.below_entry(value=with_unit(low.value, low.unit))
        yield Act("read", f"{_of(kiln)}{told}", words().status.act.attends, do=_logs(kiln.look, kiln.kiln.kiln))


def _set_for_another(kiln: KilnNow) -> Iterator[Act]:
    """Yield that the cut-out was set for a hotter day than the one that is open: as high as a firing of the proof it
    lets a drying pass every hold."""
    day, said = kiln.day, kiln.look.found.answers.number(DAY_TOP, kiln.kiln.kiln)
    top = day.top_degc if day and own_heat(day) and kiln.goes else None
    if top is None or said is None or said <= top + log_data().hotter_k.value:
        return
    slate = kiln.look.found.answers.questions.questions[CUTOUT].slate
    say = words().status.act.set_for_another(said=with_unit(said, "°C"), top=with_unit(top, "°C"), slate=slate)
    yield Act(
        "evidence",
        f"{_of(kiln)}{say}",
        by=duties()["pass_electrics"],
        do=_missing(kiln.look, gate(kiln.look.found, kiln.kiln)),
    )


def _besides(kiln: KilnNow) -> Iterator[Act]:
    """Yield what holds up no work of the day: other readings that decide and are missing, days that wait for a plan."""
    yield from (_missing_reading(kiln, one) for one in kiln.missing if not is_entry(one))
    yield from _one_of_five(kiln)
    shut = kiln.slipped or bool(kiln.day and shut_by(kiln.look.found, kiln.kiln, kiln.day))
    if kiln.day and not (kiln.look.changed or shut) and entry_unplanned(kiln):
        yield Act("plan", f"{_of(kiln)}{words().status.act.entry_open}", do=command("plan", kiln.look.folder))


def _missing_reading(kiln: KilnNow, one: Expected) -> Act:
    """Return what decides something and was not read at its hour: it is told until it is, and what waits for it."""
    say, entry = words().status.act, is_entry(one)
    name = ", ".join(filter(None, (capital(read_name(one)), band(one) if entry else "")))
    after = say.piece_cool if one.what == "piece" else _no_entry(kiln) if entry else ""
    told = " ".join(filter(None, (say.missing(reading=name, at=_asked(kiln, one)), after)))
    return Act("read", f"{_of(kiln)}{told}", say.attends, do=_logs(kiln.look, kiln.kiln.kiln))


def _no_entry(kiln: KilnNow) -> str:
    """Say that own heat waits for its insulation, and what else that decides was missed."""
    say = words().status.act
    others = "; ".join(f"{capital(read_name(one))} ({_asked(kiln, one)})" for one in kiln.missing if not is_entry(one))
    return " ".join(filter(None, (say.no_entry, say.missing_too(readings=others) if others else "")))


def _asked(kiln: KilnNow, one: Expected) -> str:
    """Print when a reading was to be taken; with its date, where that is another."""
    at = one.at.astimezone(kiln.look.found.answers.zone) if one.at else kiln.look.now
    return f"{at:%H:%M}" if at.date() == kiln.look.now.date() else f"{day_text(at.date())} {at:%H:%M}"


def _of_day(kiln: KilnNow, day: Day) -> Iterator[Act]:
    """Yield what a day waits for; the night before it; what it asks for where it waits for nothing. A hand inside that
    has aged is signed anew before what it is wanted for, else after what the day reads."""
    inside = [act for hold in aged_inside(kiln.look.found, kiln.kiln, day) for act in _hold(kiln.look, hold)]
    first = any(kinds()[one.what].inside for one in kiln.due)
    wanted = awaited(kiln.look.found, kiln.kiln, day)
    yield from _holds(kiln, wanted, _opening(kiln, day))
    if kiln.hour == "over" and kiln.begun and kiln.log and not kiln.slipped:
        yield Act("rest", _over(kiln, kiln.begun))
    if not wanted and not kiln.stands_still and not kiln.ended:
        yield from (_renewal(kiln, day, hold) for hold in _renewed(kiln, day, before=True))
        yield from inside if first else ()
        yield from _work(kiln, day)
        yield from (_renewal(kiln, day, hold) for hold in _renewed(kiln, day, before=False))
    yield from _unlogged(kiln)
    yield from () if first else inside


def entry_unplanned(kiln: KilnNow) -> bool:
    """Whether nothing is missing for own heat, and the plan was made before that: its days wait for a new one."""
    waits = not kiln.kiln.gate_open and any(map(own_heat, kiln.kiln.days))
    return waits and not gate(kiln.look.found, kiln.kiln).missing


def _holds(kiln: KilnNow, wanted: list[Hold], until: str = "") -> Iterator[Act]:
    """Yield what the hold points that are waited for lack, in their order: those that come first, then the others."""
    first = _first_of(kiln, wanted) or wanted[:1]
    for hold in first:
        yield from _hold(kiln.look, hold, until)
    yield from _after(first, wanted)


def _nothing_planned(kiln: KilnNow) -> Iterator[Act]:
    say, because = words().status.act, " ".join(kiln.kiln.missing) or kiln.kiln.because
    yield Act("ask", f"{_of(kiln)}{say.not_planned(because=because)}", do=command("inspect", kiln.look.folder))


def _after(holds: list[Hold], wanted: list[Hold]) -> Iterator[Act]:
    """Yield which hold points come after those that are told of, in their order."""
    if titles := [f"“{one.point.title}”" for one in wanted if one not in holds]:
        yield Act("sign", words().status.act.then(holds=", ".join(titles)))


def _opening(kiln: KilnNow, day: Day) -> str:
    """Print when a day opens, where it may have a date and that has not gone by."""
    if day.attended_from and day.attended_from <= kiln.look.now:
        return ""
    at = kiln.clock(day.attended_from) if day.attended_from else ""
    may = not (kiln.look.changed or kiln.slipped or kiln.barred) and dated(kiln.look.found, kiln.kiln, day)
    return f"{day_text(day.date)} {at}".rstrip() if may else ""


def _renewed(kiln: KilnNow, day: Day, *, before: bool) -> list[Hold]:
    """Return each release that the day needs and that ends before the day does: its evidence is out of date by then.

    `before` are those that its work needs; a hand inside comes after that, where no board is moved.
    """
    needs = (GATE,) if own_heat(day) else (*AT_THE_KILN, *(BOARDS_WAIT[day.boards] if day.boards else ()))
    here = [one for one in kiln.look.found.holds if one.point.id in needs and one.at in (kiln.kiln.kiln, JOB)]
    first = [one for one in here if day.boards or not kiln.logged_days or one.point.id != INSIDE]
    ends = day.attended_to.timestamp() if day.attended_to else 0.0
    return [
        one for one in here if (one in first) == before and one.until and one.until.timestamp() < ends
    ]  # fmt: skip


def _renewal(kiln: KilnNow, day: Day, hold: Hold) -> Act:
    """Return that a release ends before its day does, and until when it is signed anew."""
    until = kiln.look.found.answers.by_clock(hold.until) if hold.until else ""
    told = words().status.act.renew(hold=hold.point.title, until=until, day=day.number)
    return Act("renew", f"{_of(kiln)}{told}", _signers(hold), until, _missing(kiln.look, hold))


def _work(kiln: KilnNow, day: Day) -> Iterator[Act]:
    """Yield what an open day asks for now, or when the next one opens and what it waits for."""
    say, log, who = words().status.act, _logs(kiln.look, kiln.kiln.kiln), words().status.act.attends
    if day.attended_from is None:
        alone = runs_on(day) if day.runs_on else ""
        yield Act("rest", f"{_of(kiln)}{say.nobody(day=day.number, nobody=words().day.nobody)} {alone}".rstrip())
    elif kiln.hour != "open":
        first = before_boiling(kiln.kiln) if day.waits_for == "boiling" else ""
        told = say.opens(
            day=day.number, days=len(kiln.kiln.days), at=_opening(kiln, day) or kiln.clock(day.attended_from)
        )
        yield Act("open", " ".join(filter(None, (f"{_of(kiln)}{told}", first))), who)
    elif kiln.due:
        until = kiln.clock(day.attended_to) if day.attended_to and not any(one.at for one in kiln.due) else ""
        yield Act("read", f"{_of(kiln)}{say.read(readings=_named(kiln, kiln.due))}", who, until, log)
    else:
        yield Act("read", f"{_of(kiln)}{_later(kiln, day)}", who, do=log)


def _later(kiln: KilnNow, day: Day) -> str:
    """Say what is read next on an open day, or that it only ends."""
    say = words().status.act
    if at := next((one.at for one in kiln.later), None):
        return say.later(at=kiln.clock(at), readings=_named(kiln, kiln.later))
    ends = day.programme_ends or day.attended_to
    return say.ends(day=day.number, at=kiln.clock(ends) if ends else "")


def _over(kiln: KilnNow, day: Day) -> str:
    say = words().status.act
    if idle(day) or kiln.stands_still:
        return f"{_of(kiln)}{say.over(day=day.number, tonight=words().day.nothing_runs)}"
    return f"{_of(kiln)}{say.over(day=day.number, tonight=runs_on(day))}"


def _unlogged(kiln: KilnNow) -> Iterator[Act]:
    """Yield which days are over and have no reading: type it in, or begin the plan anew where none was begun."""
    if not kiln.unlogged:
        return
    say, folder = words().status.act, kiln.look.folder
    days = days_text(kiln.unlogged)
    if kiln.slipped and kiln.logged_days:
        yield Act("plan", f"{_of(kiln)}{say.went_by(days=days)}", do=command("plan", folder))
    elif kiln.logged_days:
        first = _logs(kiln.look, kiln.kiln.kiln, "--from-form", "--day", str(kiln.unlogged[0]))
        yield Act("log", f"{_of(kiln)}{say.unlogged(days=days)}", do=first)
    else:
        yield Act("log", f"{_of(kiln)}{say.not_begun(days=days)}", do=command("plan", folder, "--start", "DATE"))


def _proof(kiln: KilnNow) -> Iterator[Act]:
    """Yield what proves a kiln dry and hands it over, where its readings say so or its days are over."""
    look, say = kiln.look, words().status.act
    if kiln.handed_over:
        yield from () if kiln.out_of_use else (_rechecks(kiln),)
        return
    asked = [target(one) for one in criteria(kiln.kiln, "done")]
    if kiln.undried and kiln.unproved:
        told = say.unproved(readings="; ".join(map(target, kiln.unproved)))
        yield Act("read", f"{_of(kiln)}{told}", say.attends, do=_logs(look, kiln.kiln.kiln))
        return
    if kiln.undried:
        told = say.not_dry(readings="; ".join(asked))
        yield Act("plan", f"{_of(kiln)}{told}", say.attends, do=command("plan", look.folder))
        return
    yield Act("prove", f"{_of(kiln)}{_dry(kiln)}", say.attends, do=_inspect(look, "dried"))
    own = gate(look.found, kiln.kiln)
    yield from _holds(kiln, [own] if own.stands != "released" else [])
    for hold in look.found.holds:
        if GATE in hold.point.requires and hold.at == kiln.kiln.kiln and hold.stands != "released":
            yield from _hold(look, hold)
    yield Act("prove", f"{_of(kiln)}{say.hand_over}", do=_inspect(look, "handover"))


def _dry(kiln: KilnNow) -> str:
    """Say that it is dry, and that its proof comes next; or, where its days are over, what of the five says nothing."""
    say = words().status.act
    if kiln.dry:
        return f"{say.dry} {say.proof(proof=words().plan.phase.proof)}"
    against = ". ".join(capital(one) for one in kiln.told_against)
    return f"{say.past} {say.not_yet(against=against)}"


def _one_of_five(kiln: KilnNow) -> Iterator[Act]:
    """Yield, while its days go on, that a reading at its target is one of the five and no more."""
    if kiln.reads_dry and not (kiln.dry or kiln.past or kiln.handed_over or kiln.ended):
        told = words().status.act.one_of_five(readings="; ".join(map(target, criteria(kiln.kiln, "done"))))
        yield Act("read", f"{_of(kiln)}{told}")


def _rechecks(kiln: KilnNow) -> Act:
    """Return that a kiln was handed over, which of its re-checks are due by their dates, and which come next."""
    say, on, today = words().status.act, kiln.hand_over.signed_on, kiln.look.now.date()
    dated = {one.after: months_after(on, one.months) for one in rechecks(()) if one.months} if on else {}
    first = [one.after for one in rechecks(()) if not one.months]
    over, ahead = (
        [f"{after} ({at})" for after, at in dated.items() if (at <= today) is past] for past in (True, False)
    )
    if over:
        still = say.rechecks_coming(coming="; ".join(ahead)) if ahead else ""
        told = " ".join(filter(None, (say.rechecks_over(on=on, over="; ".join([*first, *over])), still)))
    else:
        told = say.handed_over(on=on, coming="; ".join([*first, *ahead]))
    return Act("prove", f"{_of(kiln)}{told}", do=command("report", kiln.look.folder, "--handover"))


# ---------------------------------------------------------------------------------------- in words


def _of(kiln: KilnNow) -> str:
    """Name the kiln where there are several."""
    return f"{kiln.kiln.label}. " if len(kiln.plan.kilns) > 1 else ""


def _named(kiln: KilnNow, expected: Iterable[Expected]) -> str:
    """Name readings with their bands: `Casing, lid, 36 to 48 °C (10:00)`."""
    return "; ".join(
        ", ".join(filter(None, (capital(read_name(one)), band(one))))
        + (f" ({kiln.clock(one.at)})" if one.at and kiln.due else "")
        for one in expected
    )  # fmt: skip
