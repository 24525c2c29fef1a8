"""Plays a drying that was logged day by day as if it ended now: answers, signatures, readings, plans, each in its time.

Who types what stands in examples/test-kiln. Its readings are of a kiln that was reckoned, and of none that was built:
`python -m tests.logged_jobs` makes them, and says with which errors.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from functools import cache
from pathlib import Path
from zoneinfo import ZoneInfo

from examples.story import moved
from recover.base.datafile import load
from recover.commands.log_command import heat_waited
from recover.interview import sittings
from recover.interview.log_words import lines_of
from recover.interview.logbook import LogBook, plan_of
from recover.interview.script import load_answers
from recover.job.folder import Settings, open_job, start
from recover.job.journal import Journal, utc_now
from recover.judged.assessment import assess
from recover.judged.release import release
from recover.plan import planning, store
from recover.plan.request import Requested, request
from recover.plan.whole import KilnPlan
from recover.profiles import profile

KILN = Path(__file__).parent / "test-kiln"
JOB = KILN / "job"
VISIT = date(2026, 3, 10)
"""The date of the visit in the files of the job: day 0."""

Plans = Callable[..., tuple[KilnPlan, ...]]
"""What plans the kilns of a job."""

OPEN = "of the day"
"""Stands in a file of answers for what each day reads anew."""

SET_BEFORE = timedelta(minutes=5)
"""So long before it is written down a cut-out that is set between two runs is read back, whenever that is."""


@dataclass(frozen=True, kw_only=True)
class Event:
    """What somebody did at a time of a day; the drying opens on day 1. One of the last of these says what.

    `read` are readings and `happened` a word, as they are typed to `recover log`, `note` is written down beside them;
    `insulation` is that of the elements, `top` the highest set-point of a run and `cutout` what the cut-out is set to
    for it, in a file of answers that leaves them open. `left` is the share of its water that the kiln had when it was
    planned: nobody reads it, and tests hold the plan to it.
    """

    day: int
    at: str
    by: str = ""
    role: str = ""
    licence: str = ""
    note: str = ""
    answers: str = ""
    insulation: str = ""
    top: str = ""
    cutout: str = ""
    sign: str = ""
    read: list[str] = field(default_factory=list)
    happened: str = ""
    plan: bool = False
    left: float = 0.0


@dataclass(frozen=True)
class _Drying:
    title: str
    event: list[Event]


def drying(which: str) -> _Drying:
    """Return one of the dryings that are kept. Raises DataError."""
    return load(f"{which}.toml", "recover-dried", _Drying, KILN)


@cache
def zone() -> ZoneInfo:
    """Return the time zone of the job."""
    return ZoneInfo(load_answers(JOB / "call.toml").zone)


def last_visit(events: list[Event], now: datetime) -> date:
    """Return the latest date for day 0 with which everything has happened by now."""
    local = now.astimezone(zone())
    last = max(events, key=lambda one: (one.day, one.at))
    visit = local.date() - timedelta(days=last.day)
    return visit if moment(last, visit) <= local else visit - timedelta(days=1)


def moment(event: Event, visit: date) -> datetime:
    """Return when an event was, by the clock of the job."""
    on = visit + timedelta(days=event.day)
    return datetime.combine(on, datetime.strptime(event.at, "%H:%M").time(), zone())  # noqa: DTZ007 - it has a zone


def play(
    folder: Path, events: list[Event], visit: date, plans: Plans = planning.kiln_plans
) -> Iterator[tuple[Event, datetime, list[str]]]:
    """Make the job in a folder that does not exist yet; yields each event with its moment, and what was said of it."""
    for event in events:
        at = moment(event, visit)
        yield event, at, happens(folder, event, at, plans)


def happens(folder: Path, event: Event, at: datetime, plans: Plans = planning.kiln_plans) -> list[str]:
    """Let one event happen at a moment, and return what the program says of it."""
    if event.answers:
        return _answer(folder, event, at)
    if event.sign:
        return [release(folder, event.sign, "", by=event.by, role=event.role, licence=event.licence, clock=lambda: at)]
    return _plan(folder, event, at, plans) if event.plan else _log(folder, event, at)


def _answer(folder: Path, event: Event, at: datetime) -> list[str]:
    told: list[str] = []
    file = load_answers(JOB / event.answers)
    if not folder.exists():
        settings = Settings(KILN.name, file.profile, profile(file.profile).paper, file.zone)
        start(folder, settings, by=file.by, clock=lambda: at)
    days = at.date() - date.fromisoformat(file.measured[:10])
    file = moved(file, lambda said: (datetime.fromisoformat(said) + days).isoformat(" ", "minutes"))
    if event.cutout and not event.insulation:
        file = replace(file, measured=f"{at - SET_BEFORE:%Y-%m-%d %H:%M}")
    of_day = {"zone.insulation": event.insulation, "energise.day_top": event.top, "energise.cutout_set": event.cutout}
    read = [
        replace(one, value=of_day[one.question.partition("@")[0]]) if one.value == OPEN else one for one in file.answer
    ]
    file = replace(file, answer=read)
    for problem in sittings.by_file(open_job(folder), file, event.answers, file.by, tell=told.append, clock=lambda: at):
        raise SystemExit(f"{event.answers}: {problem}")
    return told


def _log(folder: Path, event: Event, at: datetime) -> list[str]:
    job = open_job(folder)
    with Journal(job.journal, lambda: at) as journal:
        plan = plan_of(store.newest(job), "kiln/1")
        book = LogBook(job, journal, "kiln/1", plan, by=event.by, clock=lambda: at,
                       waits=lambda then: heat_waited(folder, "kiln/1", then))  # fmt: skip
        happened = [event.happened] if event.happened else []
        lines, problems = lines_of(book, reads=event.read, happened=happened, note=event.note, at="", fahrenheit=False)
        for problem in problems:
            raise SystemExit(f"day {event.day}, {event.at}: {problem}")
        kept = [book.write(line.kind, line.typed, at=line.at, place=line.place, note=line.note) for line in lines]
    return [line for entry in kept for line in entry.answer.lines]


def _plan(folder: Path, event: Event, at: datetime, plans: Plans) -> list[str]:
    job = open_job(folder)
    found, before = assess(job, at), store.newest(job)
    read = request(found, before)
    if not isinstance(read, Requested):
        raise SystemExit("\n".join(map(str, read)))
    kilns = plans(found, read.request, lambda _what, _share: None, before)
    made, _ = store.store(
        job, found, read.request, kilns, made=at.isoformat(timespec="seconds"), by=event.by, clock=lambda: at
    )  # fmt: skip
    return [line for one in made.kilns for line in (one.because, *(one.learnt.misfits if one.learnt else ()))]


def main(folder: Path, which: str) -> None:
    """Play one of the dryings, and print what was typed and what the program said, day by day."""
    told = drying(which)
    sys.stdout.write(f"{told.title}\n")
    for event, at, says in play(folder, told.event, last_visit(told.event, utc_now())):
        typed = event.answers or event.sign or event.happened or " ".join(event.read) or "plan"
        sys.stdout.write(f"{at:%Y-%m-%d %H:%M}  {typed}\n")
        shown = says if event.plan or event.happened or any(line.startswith("STOP") for line in says) else ()
        sys.stdout.writelines(f"    {line}\n" for line in shown)


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2])
