"""Where a kiln's drying stands at a moment: its day, what was read on it, what is to be read now.

The day is by the clock of the plan; what was read is held against the days that are stored.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Literal
from zoneinfo import ZoneInfo

from recover.asked.told import to_the_minute
from recover.judged.assessment import out_of_use
from recover.judged.dry import dry_evidence, told_against
from recover.judged.stops import LOOKED, powered
from recover.plan.due import by_place
from recover.plan.kinds import COLUMNS, kinds
from recover.plan.log import BESIDE, Against, against, day_at, log_of, standing, wetted
from recover.report.day import (
    HANDOVER_POINT,
    awaited,
    counts_towards_done,
    criteria,
    forbidden,
    own_heat,
    why_shut,
)
from recover.report.kiln_room_day import Sheet

if TYPE_CHECKING:
    from recover.asked.told import Logged
    from recover.base.addresses import Address
    from recover.judged.assessment import Assessment
    from recover.judged.standing import Hold
    from recover.plan.whole import Criterion, Day, Expected, JobPlan, KilnPlan

DayHour = Literal["ahead", "open", "over"]
"""Whether the day that is spoken of has still to open, is open, or is over with its night before it."""


@dataclass(frozen=True, kw_only=True)
class Glance:
    """A glance at a job at a moment: what is known of it, its newest plan, what that rests on and has changed since.

    `no_plan` says why there is a plan and it cannot be read; `call_open` whether the call was broken off.
    """

    found: Assessment
    plan: JobPlan | None
    changed: tuple[str, ...]
    now: datetime
    folder: Path
    no_plan: str = ""
    call_open: bool = False

    @property
    def unplanned(self) -> list[Address]:
        """The kilns of which no plan tells anything, though something may be in their log."""
        planned = {kiln.kiln for kiln in self.plan.kilns} if self.plan else set()
        return [kiln for kiln in self.found.answers.kilns if kiln not in planned]

    def stop_of(self, kiln: Address) -> Against | None:
        """Return the last stop of a kiln without a plan that nothing lifts; what ends its own day counts on that."""
        stops = standing(self.found.answers, kiln, None)
        return next((one for one in stops if _lasts(one, self.now)), None)

    @property
    def kilns(self) -> list[KilnNow]:
        """The kilns of the plan as they stand now; none without a plan."""
        plan = self.plan
        return [KilnNow(look=self, plan=plan, kiln=kiln) for kiln in plan.kilns] if plan else []


def _lasts(held: Against, now: datetime) -> bool:
    """Whether a stop is in the way of more than the day that it ended, or that day is today or, by a clock that
    was set back, has not come."""
    return held.one.measured.date() >= now.date() or (held.stop is not None and held.stop.until != "next_day")


@dataclass(frozen=True, kw_only=True)
class KilnNow:
    """A kiln of a plan at the moment of a look; `given` is the day that is spoken of, where not by the clock."""

    look: Glance
    plan: JobPlan
    kiln: KilnPlan
    given: Day | None = None

    # ------------------------------------------------------------------------------------ by the clock

    @cached_property
    def begun(self) -> Day | None:
        """The day that is open, or was last; None before the first, and where nothing is planned."""
        if self.given or self.slipped:
            return self.given or self.read_day
        now = self.look.now.timestamp()
        return next((day for day in reversed(self.kiln.days) if self._from(day) <= now), None)

    @cached_property
    def slipped(self) -> bool:
        """Whether the plan's dates have gone by without it: nothing of any day was logged, or none is left and the last
        ones were not. Nobody knows then that those days were dried."""
        ends = (
            self.given is None and bool(self.kiln.days) and self._until(self.kiln.days[-1]) <= self.look.now.timestamp()
        )
        return self.given is None and bool(self.behind) and (ends or not self.logged_days)

    @cached_property
    def hour(self) -> DayHour:
        """How the clock stands to the day that is or was last open."""
        if self.begun is None:
            return "ahead"
        return "open" if self.look.now.timestamp() < self._until(self.begun) else "over"

    @cached_property
    def day(self) -> Day | None:
        """The day whose work is done now, or comes next; None where no day is left."""
        if self.begun is None or self.hour == "open":
            return self.begun or next(iter(self.kiln.days), None)
        return next((day for day in self.kiln.days if day.number > self.begun.number), None)

    def clock(self, moment: datetime) -> str:
        """Print a moment by the clock of the place."""
        return f"{moment.astimezone(ZoneInfo(self.plan.zone)):%H:%M}"

    @property
    def past(self) -> bool:
        """Whether every planned day is over."""
        return bool(self.kiln.days) and self.day is None

    def _from(self, day: Day) -> float:
        return (day.attended_from - BESIDE).timestamp() if day.attended_from else self._midnight(day, 0)

    def _until(self, day: Day) -> float:
        return day.attended_to.timestamp() if day.attended_to else self._midnight(day, 1)

    def _midnight(self, day: Day, days: int) -> float:
        on = day.date + timedelta(days=days)
        return datetime(on.year, on.month, on.day, tzinfo=ZoneInfo(self.plan.zone)).timestamp()

    # ------------------------------------------------------------------------------------ what stands in its way

    @cached_property
    def sheet(self) -> Sheet:
        """The sheet by the kiln for the day that is spoken of."""
        return Sheet(found=self.look.found, plan=self.plan, kiln=self.kiln, day=self.day,
                     changed=bool(self.look.changed))  # fmt: skip

    @property
    def stands_still(self) -> bool:
        """Whether something is in the way of the day itself, or it should be open and is not released."""
        day, found = self.day, self.look.found
        if day is None:
            return False
        waits = self.hour == "open" and bool(awaited(found, self.kiln, day))
        shut = bool(self.shut(day)) or forbidden(found, self.kiln, day)
        before = self.barred and self.stopped is not None and self.stopped.day != self.begun
        return bool(self.look.changed) or self.slipped or waits or shut or before

    @property
    def heat_waits(self) -> bool:
        """Whether its own elements are not to be on, whatever was read on the day that is given: something is in the
        way of that, or its hold point is not released."""
        day, found = self.given, self.look.found
        if day is None or not own_heat(day) or self.look.changed:
            return True
        waits = why_shut(found, self.kiln, day) or awaited(found, self.kiln, day)
        return bool(waits) or forbidden(found, self.kiln, day)

    @property
    def goes(self) -> bool:
        """Whether the day is open, nothing is in its way and nothing has ended it: its readings are taken."""
        return self.hour == "open" and not self.stands_still and not self.ended

    @property
    def done_days(self) -> int:
        """How many days are done: those before the day that is open or next; up to the last that was logged, where it
        stands still or the days since were not."""
        if self.stands_still or self.behind:
            return self.read_day.number if self.read_day else 0
        last = self.kiln.days[-1].number if self.kiln.days else 0
        return self.day.number - 1 if self.day else last

    # ------------------------------------------------------------------------------------ what was read

    @cached_property
    def log(self) -> tuple[Logged, ...]:
        """Everything that was logged of the kiln: what stands in the journal has been read, whatever a clock says."""
        return log_of(self.look.found.answers, self.kiln.kiln)

    @cached_property
    def _by_the_minute(self) -> list[Logged]:
        """What was read and seen, in the order of the clock; of one minute, what was written later comes later: people
        tell minutes. How the columns of a logger are read is nothing that was read."""
        told = (one for one in self.log if one.what != COLUMNS)
        return sorted(told, key=lambda one: (to_the_minute(one.measured).timestamp(), one.line))

    @property
    def since(self) -> int:
        """How many lines of its log the plan has not taken in."""
        columns = [one.line for one in self.log if one.what == COLUMNS]
        if self.kiln.learnt:
            since = sorted(one.line for one in self.log)[self.kiln.learnt.lines :]
            return sum(line not in columns for line in since)
        made = datetime.fromisoformat(self.plan.made).timestamp()
        return sum(one.measured.timestamp() > made for one in self._by_the_minute)

    @cached_property
    def read_day(self) -> Day | None:
        """The last day on which something was read; the one that is given."""
        days = (day_at(self.kiln, one) for one in reversed(self._by_the_minute))
        return self.given or next((day for day in days if day), None)

    @cached_property
    def after(self) -> date | None:
        """The last date on which anything was read or happened, where no day of the plan is of then any more."""
        last = self._by_the_minute[-1] if self.past and not self.given and self._by_the_minute else None
        return last.measured.date() if last and day_at(self.kiln, last) is None else None

    @cached_property
    def of_day(self) -> list[Logged]:
        """What was read on that day; after the last day of the plan, on the last date on which anything was."""
        if self.after:
            return [one for one in self._by_the_minute if one.measured.date() == self.after]
        return [one for one in self._by_the_minute if self.read_day and day_at(self.kiln, one) == self.read_day]

    @cached_property
    def round(self) -> list[Against]:
        """The last reading of each thing on that day, in the order of the clock; what was caught is summed up."""
        last: dict[tuple[str, str], Logged] = {}
        for one in self.of_day:
            before = last.get(key := (one.what, one.place))
            summed = one.what == "litres" and before and None not in (before.value, one.value)
            last[key] = replace(one, value=(before.value or 0) + (one.value or 0)) if summed and before else one
        return [self._held(one) for one in sorted(last.values(), key=lambda one: one.measured.timestamp())]

    @cached_property
    def stopped(self) -> Against | None:
        """The last stop in the log that still ends a day: which nothing logged since lifts; of a day that is given, its
        own. None where there is none."""
        stops = standing(self.look.found.answers, self.kiln.kiln, self.kiln)
        if self.given:
            stops = (one for one in stops if one.one in self.of_day)
        return next((one for one in stops if self._still_ends(one)), None)

    def _still_ends(self, held: Against) -> bool:
        """Whether a stop ends the day that is spoken of: its own, or a later one; a power cut, or that nobody was
        there, ends its own alone."""
        if self.begun is None or held.one.measured.date() >= self.begun.date or held.day == self.begun:
            return True
        return held.stop is not None and held.stop.until != "next_day"

    @property
    def ended(self) -> bool:
        """Whether a stop has ended the day that is open, or one before it and nothing has gone on since."""
        return self.stopped is not None

    @property
    def barred(self) -> bool:
        """Whether a stop is in the way of every day that is to come: it ends more than its own."""
        return bool(self.stopped and self.stopped.stop and self.stopped.stop.until != "next_day")

    def shut(self, day: Day) -> list[str]:
        """Return what shuts the way of a day; not the stop that bars it, which is told before everything."""
        why = why_shut(self.look.found, self.kiln, day)
        return [line for by, lines in why.items() if not (by == "stop" and self.barred) for line in lines]

    def _held(self, one: Logged) -> Against:
        return against(one, self.kiln, self.log, powered(self.look.found.answers, self.kiln.kiln))

    @property
    def unlogged(self) -> list[int]:
        """The numbers of the attended days that are over, not logged, and not taken in by the plan.

        A plan that goes on with a day has taken those before it as left alone.
        """
        now, first = self.look.now.timestamp(), self.kiln.learnt.goes_on if self.kiln.learnt else 0
        over = (day for day in self.kiln.days if day.attended_from and first <= day.number and self._until(day) <= now)
        return [day.number for day in over if day.number not in self.logged_days and day.readings]

    @property
    def behind(self) -> list[int]:
        """Those of them that come after the last day that was logged; what is given is told by itself."""
        last = max(self.logged_days, default=0)
        return [] if self.given else [number for number in self.unlogged if number > last]

    @property
    def skipped(self) -> list[int]:
        """Those of them that come before a day that was logged: what is told of that one counts them as run."""
        last = max(self.logged_days, default=0)
        return [number for number in self.unlogged if number < last]

    @cached_property
    def logged_days(self) -> frozenset[int]:
        """The numbers of the days of which something was logged."""
        return frozenset(day.number for one in self._by_the_minute if (day := day_at(self.kiln, one)))

    # ------------------------------------------------------------------------------------ what is to be read

    @cached_property
    def due(self) -> list[Expected]:
        """What is to be read now: of each thing the last hour that has come, where nothing was logged for it."""
        if not self.goes or self.day is None:
            return []
        return [one for of in by_place(self.day) if (one := self._due(of, self.day))]

    def _due(self, of: Sequence[Expected], day: Day) -> Expected | None:
        soon = (self.look.now + BESIDE).timestamp()
        come = [one for one in of if (one.at.timestamp() if one.at else self._until(day)) <= soon]
        if not come or (come[-1] is of[-1] and self._is_late(come[-1])) or self._is_read(come[-1], day):
            return None
        return come[-1]

    @cached_property
    def missing(self) -> list[Expected]:
        """What was asked for last of each thing that decides something, and was not read from then on: told from when
        it is due no more until it is read, whatever day has opened since."""
        idle = self.past or self.slipped or self.ended or (self.hour == "open" and not self.goes)
        if self.look.changed or idle:
            return []
        due = {(one.what, one.place) for one in self.due}
        return [one for one in self._asked_last if (one.what, one.place) not in due and not self._was_read(one)]

    @property
    def _asked_last(self) -> list[Expected]:
        """What decides something and was asked for last at each place, on a day that was run or is open.

        Insulation on a day of own heat decides of that day alone.
        """
        of: dict[tuple[str, str], Expected] = {}
        for day in self.kiln.days:
            now = day == self.begun and self.goes
            for one in (one for rows in by_place(day) for one in rows if kinds()[one.what].decides):
                counts = now or (day.number in self.logged_days and not (own_heat(day) and one.what == "insulation"))
                if counts and one.at and one.at.timestamp() <= self.look.now.timestamp():
                    of[one.what, one.place] = one
        return [*of.values()]

    def _was_read(self, one: Expected) -> bool:
        return one.at is not None and self._is_read_since(one, (one.at - BESIDE).timestamp())

    @property
    def unentered(self) -> Logged | None:
        """The last insulation that was read on an open day of its own elements, where it is below the entry."""
        if not self.goes or self.day is None or not own_heat(self.day):
            return None
        read = [one for one in self.of_day if one.what == "insulation" and self.read_day == self.day]
        held = self._held(read[-1]) if read else None
        return held.one if held and held.lies == "below" else None

    def _is_late(self, one: Expected) -> bool:
        """Whether the hour of a reading is so long over that it has no band any more."""
        return one.at is not None and (one.at + BESIDE).timestamp() < self.look.now.timestamp()

    def _is_read(self, one: Expected, day: Day) -> bool:
        return self._is_read_since(one, (one.at - BESIDE).timestamp() if one.at else self._from(day))

    def _is_read_since(self, one: Expected, since: float) -> bool:
        return any(
            read.what == one.what and read.place in ("", one.place) and read.measured.timestamp() >= since
            for read in self.log
        )  # fmt: skip

    @cached_property
    def later(self) -> list[Expected]:
        """What is read next on the day, all of one hour; none where nothing more is."""
        if not self.goes or self.day is None:
            return []
        soon = (self.look.now + BESIDE).timestamp()
        hours = [(one.at.timestamp(), one) for one in self.day.readings if one.at and one.at.timestamp() > soon]
        first = min((at for at, _ in hours), default=0.0)
        return [one for at, one in hours if at == first]

    @property
    def looked(self) -> bool:
        """Whether somebody has looked since the plan that readings have shut, and it has not taken that in."""
        learnt = self.kiln.learnt
        since = sorted(self.log, key=lambda one: one.line)[learnt.lines :] if learnt and learnt.shut else []
        return any(one.what == LOOKED for one in since)

    @property
    def hand_over(self) -> Hold:
        """The hold point after which the owner uses it again."""
        return self.look.found.hold(HANDOVER_POINT, self.kiln.kiln)

    @property
    def handed_over(self) -> bool:
        """Whether everybody signed that it is handed over, since this drying was begun; whatever ended it."""
        first = self._from(self.kiln.days[0]) if self.kiln.days else 0.0
        since = any(one.release.moment.timestamp() >= first for one in self.hand_over.signatures)
        return since and self.hand_over.once_signed

    @property
    def nothing_left(self) -> bool:
        """Whether no day is left to plan: it was handed over, or its days are over and what the plan asks to be read is
        at its target; unless something that its plan rests on is another since, or water came again."""
        answers = self.look.found.answers
        if self.look.changed or wetted(self.kiln, answers, self.look.now.date()):
            return False
        return self.handed_over or (self.past and self.reads_dry)

    @cached_property
    def out_of_use(self) -> str:
        """What ended its hand-over, but for age alone, or says since that it is not dry; empty where nothing does."""
        return next(iter(out_of_use(self.look.found, self.hand_over)), "") if self.handed_over else ""

    # ------------------------------------------------------------------------------------ whether it is dry

    @cached_property
    def dry(self) -> bool:
        """Whether it is dry by the five kinds of evidence, as the hand-over asks: no weight says so alone."""
        found = self.look.found
        return dry_evidence(found.answers, self.kiln.kiln, found.profile) == {"agree"}

    @cached_property
    def told_against(self) -> list[str]:
        """What of the five does not agree yet, in words."""
        found = self.look.found
        return told_against(found.answers, self.kiln.kiln, found.profile)

    @property
    def reads_dry(self) -> bool:
        """Whether each reading that the plan names has been taken and is at its target: one of the five, no more."""
        asked = criteria(self.kiln, "done")
        return bool(asked) and all(map(self._is_met, asked))

    @property
    def undried(self) -> bool:
        """Whether its days are over and not every reading that is asked for says that it is dry."""
        return self.past and bool(criteria(self.kiln, "done")) and not (self.reads_dry or self.dry)

    @property
    def unproved(self) -> list[Criterion]:
        """The criteria of dryness of which nothing was read yet that counts, of what is read at all."""
        asked = (one for one in criteria(self.kiln, "done") if one.what in kinds())
        return [one for one in asked if not any(self._counts(read, one.from_degc) for read in self._read_of(one))]

    def _read_of(self, one: Criterion) -> list[Logged]:
        return [log for log in self.log if (log.what, log.unit) == (one.what, one.unit) and log.value is not None]

    def _is_met(self, one: Criterion) -> bool:
        """Whether the last reading of a criterion is so; what is no single reading is for people to say."""
        read = self._read_of(one)
        if not read or not self._counts(read[-1], one.from_degc):
            return False
        value = read[-1].value or 0.0
        return value <= one.value if one.at == "most" else value >= one.value

    def _counts(self, read: Logged, from_degc: float) -> bool:
        """Whether a day had come to the heat that a criterion asks for, and had ended it, when something was read."""
        at = read.measured.timestamp()
        ended = [day for day in self.kiln.days if day.programme_ends and day.programme_ends.timestamp() <= at]
        return any(
            counts_towards_done(self.kiln, day) and (day.top_degc or 0.0) >= from_degc for day in ended
        )  # fmt: skip
