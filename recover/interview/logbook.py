"""Writes down what is logged while a kiln dries, a line each, and says at once what it means."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cached_property
from typing import TYPE_CHECKING, Any

from recover.asked.compiled import questionnaire
from recover.asked.told import NEEDS_REASON, Logged, seen_at
from recover.base.errors import AnswerError, command
from recover.base.measures import quoted
from recover.base.nothing_said import says_nothing
from recover.job.folder import open_job
from recover.job.journal import Journal, utc_now
from recover.judged import set_back
from recover.judged.assessment import answers_of, assess
from recover.judged.dry import too_light
from recover.judged.entry import ENTRY
from recover.judged.failed import COLD
from recover.judged.runs import HeatRelease, most_degc, releases
from recover.judged.stops import (
    AGAIN,
    LEAKAGE,
    LINING_STOP,
    MENDED,
    STOP,
    UNHEATED,
    bars_going_on,
    is_stop_word,
    lining_of,
    may_take_back,
    powered,
    stop_figure,
    stop_of,
)
from recover.plan.answered import WET, LogAnswer, answer
from recover.plan.due import DueReading, due, missed, of_the_sheet, read_before
from recover.plan.heat import Off, off_since, unheated_degc
from recover.plan.kinds import COLUMNS, LogKind, Typed, by_wet_weight, log_data
from recover.plan.log import (
    BESIDE,
    Against,
    against,
    day_at,
    expected_at,
    highest_stop,
    is_entered,
    is_entry,
    is_off,
    is_own,
    log_of,
    water_since,
)
from recover.plan.of_job import GATE, HANDED_OVER
from recover.profiles import own_limits, profile

if TYPE_CHECKING:
    from recover.asked.answers import Answers
    from recover.base.addresses import Address
    from recover.job.folder import Job
    from recover.judged.assessment import Assessment
    from recover.judged.standing import Hold
    from recover.plan.whole import Day, Expected, JobPlan, KilnPlan


@dataclass(frozen=True)
class ToLog:
    """One line that is going to be logged."""

    kind: LogKind
    typed: Typed
    at: datetime
    place: str = ""
    note: str = ""


@dataclass(frozen=True)
class Entry:
    """A line of the log as it was kept, and what was said of it."""

    one: Logged
    answer: LogAnswer


class LogBook:
    """The log of one kiln over an open journal. `by` is whoever reads."""

    def __init__(self, job: Job, journal: Journal, kiln: Address, plan: KilnPlan | None, *, by: str,
                 source: str = "log", label: str = "", clock: Callable[[], datetime] = utc_now,
                 waits: Callable[[datetime], bool] = lambda _: False, several: bool = False) -> None:  # fmt: skip
        """Take the job, its open journal, whose log it is, and the plan that it is held against; `waits` says whether
        own heat waited at a moment for anything but a reading of its day, `several` whether its job has other kilns."""
        self.job, self.kiln, self.plan, self.by, self.clock = job, kiln, plan, by, clock
        self.zone, self.label = job.settings.tz, label or kiln
        self.kept: list[Entry] = []
        """What was kept by this book, in its order."""
        self._journal, self._source, self._waits = journal, source, waits
        answers = self._answers = answers_of(job, now=clock())
        self._log = list(log_of(answers, kiln))
        self.since = powered(answers, kiln)
        """Since when it was powered, which makes a stop of more."""
        self._set_back = set_back.note(answers)
        """What is noted beside all that is taken by a clock that was set back."""
        self._wet_kg = answers.number(WET, kiln)
        self.whose = ("--component", kiln) if several else ()
        """What names its kiln in a command, where there are several."""

    def now(self) -> datetime:
        """Return the moment by the clock of the job."""
        return self.clock().astimezone(self.zone)

    def day(self, at: datetime) -> Day | None:
        """Return the day of the plan that a moment belongs to."""
        stub = Logged(line=0, by=self.by, kiln=self.kiln, what="", measured=at)
        return day_at(self.plan, stub) if self.plan else None

    @property
    def expected(self) -> list[Sequence[Expected]]:
        """All that each day of the plan expects."""
        return [day.readings for day in (self.plan.days if self.plan else ())]

    @property
    def between(self) -> tuple[datetime, datetime] | None:
        """From when to when the days of the plan last; None where there is no plan."""
        opens = [day.attended_from for day in (self.plan.days if self.plan else ()) if day.attended_from]
        return (opens[0] - BESIDE, opens[-1] + timedelta(days=1)) if opens else None

    def rows(self, day: Day | None, now: datetime, *, form: bool) -> list[DueReading]:
        """Return what is asked of a day: the insulation that opens its heat, where it was missed, what is due at a
        moment, then what else decides something and was missed; or all rows of its sheet up to then."""
        if day is None:
            return []
        if form:
            return [one for one in of_the_sheet(day) if one.at is None or one.at <= now]
        soon = due(day, now)
        there = {(one.kind.id, one.place) for one in soon}
        late = [one for one in missed(day, self._log, now) if (one.kind.id, one.place) not in there]
        first = [one for one in late if one.expected and is_entry(one.expected)]
        return [*first, *soon, *(one for one in late if one not in first)]

    def expects(self, row: DueReading, at: datetime) -> Expected | None:
        """Return what the plan expects of a row at a moment, by which it is answered as well."""
        if row.expected is None:
            return None
        one = Logged(line=0, by=self.by, kiln=self.kiln, what=row.kind.id, measured=at, place=row.place,
                     unit=row.expected.unit)  # fmt: skip
        day = self.day(at)
        return (expected_at(one, day) if day else None) or replace(row.expected, low=None, mid=None, high=None,
                                                                   stop=None)  # fmt: skip

    def kept_of(self, row: DueReading, at: datetime) -> Logged | None:
        """Return what stands in the log of a row within the hour before a moment; None where nothing does."""
        return read_before(row, self._log, at)

    @property
    def lines(self) -> list[int]:
        """The journal lines of this log that stand, but for those that keep how a logger is read."""
        return sorted(one.line for one in self._log if one.what != COLUMNS)

    @property
    def of_this_file(self) -> list[Logged]:
        """What stands in this log and came from the same file, by its name."""
        own = {one.n for one in self._journal.events if one.source == self._source}
        return [one for one in self._log if one.line in own and one.what != COLUMNS]

    def last(self, kind: LogKind) -> Logged | None:
        """Return what was read last of a kind."""
        of = [one for one in self._log if one.what == kind.id and one.value is not None]
        return max(of, key=lambda one: one.measured.timestamp(), default=None)

    def write(self, kind: LogKind, typed: Typed, *, at: datetime, place: str = "", note: str = "") -> Entry:
        """Write one line and wait until it is on the disk; return it with what it means. Raises JournalError."""
        data = self._data(ToLog(kind, typed, at, place, "; ".join(filter(None, (note, self._set_back)))))
        event = self._journal.append("logged", data, by=self.by, source=self._source)
        one = Logged(line=event.n, by=self.by, **{**data, "measured": at})
        shut = self._shut() if kind.id == AGAIN else None
        said = answer(one, self.plan, self._log, self.job.folder, self.since, self.whose, shut)
        light = too_light(self._answers, self.kiln, profile(self.job.settings.profile), one)
        entry = Entry(one, replace(said, lines=(*([f"{light}."] if light else []), *said.lines)))
        self._log.append(one)
        self.kept.append(entry)
        return entry

    def goes_on(self, at: datetime) -> None:
        """Say that a day may go on at a moment. Raises AnswerError where a stop of before bars that."""
        day = self.day(at)
        own = day is None or is_own(day)  # of a firing after its days nobody knows what is on: the graver words
        for one in sorted(self._log, key=lambda one: one.line, reverse=True):
            stop = stop_of(one, self._log, since=self.since) if one.measured <= at else None
            barred = bars_going_on(stop, self._log, at, self._answers, own=own) if stop else None
            if stop and barred:
                back = command("log", self.job.folder, *self.whose, "--take-back", str(one.line), "--note", "WHY")
                say, when = log_data().say[f"barred_{barred}"], f"{one.measured.astimezone(self.zone):%Y-%m-%d %H:%M}"
                raise AnswerError(say.format(stop=stop.say, at=when, line=one.line, back=back))

    def _shut(self) -> Hold | None:
        """Return the hold point of its own heat as it stands now; None where it is released."""
        hold = assess(open_job(self.job.folder), self.now()).hold(GATE, self.kiln)
        return hold if hold.stands != "released" else None

    def write_all(self, lines: Iterable[ToLog]) -> list[Against]:
        """Write many lines at once, but for those that were logged before, also where they were taken back since.

        Returns how each lies to its day. Raises JournalError; then none is written.
        """
        had = {_same(one.data) for one in self._journal.events if one.kind == "logged"}
        told = [(line, data) for line, data in self._with_data(lines) if _same(data) not in had]
        events = self._journal.append_all("logged", [data for _, data in told], by=self.by, source=self._source)
        new = [
            Logged(line=event.n, by=self.by, **{**data, "measured": line.at})
            for event, (line, data) in zip(events, told, strict=True)
        ]
        self._log += new
        held = [against(one, self.plan, self._log, self.since) for one in new]
        self.kept += [Entry(one.one, LogAnswer(one, (), stops=one.lies == "stop")) for one in held]
        return held

    def _with_data(self, lines: Iterable[ToLog]) -> list[tuple[ToLog, dict[str, Any]]]:
        """Return lines of a file with what is written of each: every one is held against those before it as well."""
        log, told = self._log, []
        self._log = [*log]
        for line in lines:
            told.append((line, data := self._data(line)))
            self._log.append(Logged(line=sys.maxsize, by=self.by, **{**data, "measured": line.at}))
        self._log = log
        return told

    def said_columns(self) -> str:
        """Return how the columns of a logger were read last in this log; empty where nobody said."""
        return next((one.said for one in reversed(self._log) if one.what == COLUMNS), "")

    def keep_columns(self, said: str) -> None:
        """Keep how the columns of a logger are read, where that is new."""
        if said != self.said_columns():
            now = self.now()
            data = {"kiln": self.kiln, "what": COLUMNS, "measured": now.isoformat(), "said": said}
            event = self._journal.append("logged", data, by=self.by, source=self._source)
            self._log.append(Logged(line=event.n, by=self.by, kiln=self.kiln, what=COLUMNS, measured=now, said=said))

    def _data(self, line: ToLog) -> dict[str, Any]:
        line = replace(line, typed=self._as_planned(line), place=line.place or self._only_place(line))
        told = _content(line.typed, line.place, line.note)
        if beside := {name: figure for name, figure in self._held_against(line).items() if figure is not None}:
            told["details"] = {**told.get("details", {}), **beside}
        return {"kiln": self.kiln, "what": line.kind.id, "measured": line.at.isoformat(), **told}

    def _only_place(self, line: ToLog) -> str:
        """Return the place at which the day of a line expects its kind, where it is one alone; else none."""
        day = self.day(line.at)
        places = {one.place for one in (day.readings if day else ()) if one.what == line.kind.id}
        return places.pop() if len(places) == 1 and line.typed.value is not None else ""

    def _as_planned(self, line: ToLog) -> Typed:
        """Return a reading in the unit in which the plan tells it, where what a piece weighed wet is known."""
        units = {one.unit for day in self.expected for one in day if one.what == line.kind.id}
        if not units or line.typed.unit in units or not self._wet_kg:
            return line.typed
        return by_wet_weight(line.typed, line.kind, self._wet_kg)

    def _held_against(self, line: ToLog) -> dict[str, float | None]:
        """Return what stands beside a reading, whatever is planned later: what a dry piece weighs, the band of a casing
        at that place and hour, the figure beyond which the day ends, and what a chamber makes without heat."""
        one = Logged(line=0, by=self.by, kiln=self.kiln, what=line.kind.id, measured=line.at, place=line.place,
                     value=line.typed.value, unit=line.typed.unit, details=dict(line.typed.details))  # fmt: skip
        day = self.day(line.at)
        expected = expected_at(one, day) if day else None
        lining = lining_of(one)
        heat = replace(lining, what="chamber", place="") if lining else one
        unbanded = self.plan and (water_since(one, self.plan, self._log) or is_off(one, day, self._log))
        banded = expected and one.what == "casing" and not unbanded
        band = {"low": expected.low, "high": expected.high} if expected and banded else {}
        return {"target": self._target(one), **band, ENTRY: _entry_megohm(one, day, expected),
                STOP: self._stop(one, day, expected), UNHEATED: self._unheated(heat, day),
                LINING_STOP: self._lining_stop(heat, day) if lining else None}  # fmt: skip

    def _unheated(self, one: Logged, day: Day | None) -> float | None:
        """Return how hot a chamber is at most without its own elements, where it is hotter and those are not to be on:
        on a day from outside, while its own day waits, before its insulation is at the entry, and on no day of the
        plan, once no release stands and no run that was begun under one can go on."""
        if one.what != "chamber" or one.value is None or self.plan is None or not self._is_planned(one.measured):
            return None
        off = off_since(one, self.plan, day, self._log, self._releases)
        most = unheated_degc(one, self.plan, day, self._log, off)
        if most is None or one.value <= most:
            return None
        return None if self._may_heat(day, one.measured, off) else most

    def _may_heat(self, day: Day | None, at: datetime, off: Off | None) -> bool:
        """Whether own heat may be on at a moment: on a day of its own, where nothing has stopped it and it waits for
        nothing; on no day of the plan, where no release has ended either."""
        if day is None or (off and off.stopped):
            return off is None
        return is_own(day) and is_entered(day, [*self._log, *self._answered], at) and not self._waits(at)

    def _is_planned(self, at: datetime) -> bool:
        """Whether the plan speaks of a moment: its days had begun, and the kiln was not handed over."""
        begun = self.between is not None and self.between[0] <= at
        return begun and not any(one.held(at) for one in self._handed_over)

    @cached_property
    def _answered(self) -> list[Logged]:
        """The insulation of the elements as it was answered, the lowest of all zones, as if it were logged: it is what
        own heat was released on."""
        answers = self._found.answers
        told = [answers.answer(COLD, zone) for zone in answers.components("zone", of=self.kiln)]
        given = [one for one in told if one and one.state == "given"]
        if not given or len(given) < len(told):
            return []
        return [Logged(line=0, by=self.by, kiln=self.kiln, what="insulation", value=min(one.value for one in given),
                       measured=min(map(seen_at, given)).astimezone(self.zone))]  # fmt: skip

    @cached_property
    def _releases(self) -> list[HeatRelease]:
        """Every release of own heat that was ever signed."""
        return self._releases_of(GATE)

    @cached_property
    def _handed_over(self) -> list[HeatRelease]:
        """Every release of its hand-over: what is fired under one is its owner's."""
        return self._releases_of(HANDED_OVER)

    def _releases_of(self, point: str) -> list[HeatRelease]:
        return [*releases(self._found.hold(point, self.kiln), {one.moment for one in self.job.events}, self.now())]

    @cached_property
    def _found(self) -> Assessment:
        return assess(self.job, self.now())

    def _lining_stop(self, heat: Logged, day: Day | None) -> float | None:
        """Return the figure of a chamber beyond which a lining is a stop as well; without a plan, before first power,
        what no plan goes beyond."""
        if self.plan is None:
            return None if self.since.line else own_limits()["plan_top_degc"].value
        return self._stop(heat, day, expected_at(heat, day) if day else None)

    def _target(self, one: Logged) -> float | None:
        """Return what the plan says that the piece weighs when it is dry."""
        criteria = self.plan.criteria if self.plan and one.what == "piece" else ()
        of = ("done", "piece", one.unit)
        return next((other.value for other in criteria if (other.opens, other.what, other.unit) == of), None)

    def _stop(self, one: Logged, day: Day | None, expected: Expected | None) -> float | None:
        """Return the figure beyond which the day ends; None where nothing was read."""
        if one.value is None:
            return None
        figure = self.since.leakage_ma if one.what == LEAKAGE else expected.stop if expected else None
        if figure is None and self.plan:
            figure = highest_stop(one, self.plan)
        if figure is None and one.what == "chamber" and self._is_planned(one.measured):
            figure = most_degc(self._found.answers, self.kiln, one.measured)
        return stop_figure(one, self._log, figure=figure, own=bool(self.since.line) or is_own(day))

    def take_back(self, line: int, why: str = "") -> Logged:
        """Take a line of the log back by one of its own, and return what it was. Raises AnswerError.

        A stop that is taken back without a reason, or by somebody who may not, is a stop all the same.
        """
        found = self.own_line(line, why)
        data = {
            "kiln": self.kiln, "what": found.what, "measured": found.measured.isoformat(), "takes_back": found.line,
            **({"said": why.strip()} if why.strip() else {}),
        }  # fmt: skip
        self._journal.append("logged", data, by=self.by, source=self._source)
        self._log.remove(found)
        self.kept = [entry for entry in self.kept if entry.one != found]
        return found

    def own_line(self, line: int, why: str = "") -> Logged:
        """Return a line of this log that stands and may be taken back. Raises AnswerError where it is none, was taken
        back before, or is taken back for a reason alone and none is said."""
        found = next((one for one in self._log if one.line == line), None)
        if found is None:
            raise AnswerError(f"journal line {line} is no line of the log of {self.kiln} that stands")
        if found.what in NEEDS_REASON and says_nothing(why):
            raise AnswerError(f"journal line {line} is taken back for a reason alone; say it with --note")
        return found


def _content(typed: Typed, place: str, note: str) -> dict[str, Any]:
    """Return what a line holds of what was typed: only what there is."""
    told = {
        "place": place, "value": typed.value, "unit": typed.unit, "at_least": typed.at_least, "word": typed.word,
        "said": note, "details": dict(typed.details), "joined": typed.joined,
    }  # fmt: skip
    return {name: one for name, one in told.items() if one not in (None, "", False, {})}


def _entry_megohm(one: Logged, day: Day | None, expected: Expected | None) -> float | None:
    """Return what insulation is to be at least for own heat; None of a lining that its own elements warm by its day,
    which dips."""
    warmed = is_own(day) and expected is not None and not is_entry(expected)
    return own_limits()["element_entry_megohm"].value if one.what == "insulation" and not warmed else None


def _same(data: Mapping[str, Any]) -> tuple[Any, ...]:
    """Return by what two lines are of one reading: whose, of what, where, when and how much."""
    value = data.get("value")
    at = datetime.fromisoformat(str(data["measured"])).timestamp()
    unit, said = data.get("unit", ""), data.get("said", "")  # a row that was moved is another than it was before
    return data["kiln"], data["what"], data.get("place", ""), at, value, unit, data.get("word", ""), said


def still_a_stop(one: Logged, why: str, book: LogBook) -> Iterator[str]:
    """Yield that a stop which was taken back without a reason, or by somebody who may not, counts as one all the
    same."""
    say, slate = log_data().say, questionnaire().questions[MENDED].slate
    if says_nothing(why) and (is_stop_word(one.what, one.word) or stop_of(one, own=True)):
        yield say["still_a_stop"].format(slate=slate)
    elif not may_take_back(one, book.by, book.since):
        yield say["still_its_stop"].format(slate=slate)


def kilns_of(answers: Answers, plan: JobPlan | None) -> Sequence[Address]:
    """Return the kilns of which something can be logged: those of the plan, where there is one."""
    return [one.kiln for one in plan.kilns] if plan else answers.kilns


def kiln_named(answers: Answers, plan: JobPlan | None, said: str) -> Address:
    """Return the kiln that is meant: the only one, where none is named. Raises AnswerError."""
    kilns = kilns_of(answers, plan)
    if said in kilns:
        return said
    if said or len(kilns) != 1:
        several = f"which kiln? {quoted(said)} is none" if said else "there are several kilns, and none was named"
        raise AnswerError(f"{several}; expected --component {' or '.join(kilns) or 'kiln/1'}")
    return kilns[0]


def plan_of(plan: JobPlan | None, kiln: Address) -> KilnPlan | None:
    """Return the plan of a kiln, None where there is none with days."""
    return next((one for one in plan.kilns if one.kiln == kiln and one.days), None) if plan else None
