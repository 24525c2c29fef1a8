"""Tells the story of an example as if it ended now: answers come in, people sign, each line stamped at its own time.

Readings and signatures do not hold for ever, so a job that is released today cannot lie in a file: it is told anew.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from recover.base.datafile import load
from recover.interview import sittings
from recover.interview.script import AnswersFile, Prepared, load_answers
from recover.job.folder import Settings, open_job, start
from recover.job.journal import utc_now
from recover.judged.release import release
from recover.profiles import profile

MOMENT = re.compile(r"\d{4}-\d\d-\d\d \d\d:\d\d")
SCHOOL = Path(__file__).parent / "school-art-block" / "released"


@dataclass(frozen=True)
class Step:
    """Answers that come in, or a signature under a hold point."""

    at: str
    answers: str = ""
    sign: str = ""
    component: str = ""
    by: str = ""
    role: str = ""
    licence: str = ""


@dataclass(frozen=True)
class Story:
    """The steps in their order, and when the story ends."""

    ends: str
    step: list[Step]


def tell(folder: Path, now: datetime, of: Path = SCHOOL) -> Iterator[tuple[Step, datetime]]:
    """Make the job in a folder that does not exist yet; yields each step with its moment once it is written."""
    story = load("story.toml", "recover-story", Story, of)
    call = load_answers(of.parent / "call.toml")
    zone = ZoneInfo(call.zone)
    later = now.replace(second=0, microsecond=0) - _moment(story.ends, zone)
    for step in story.step:
        at = _moment(step.at, zone) + later
        if not folder.exists():
            paper = profile(call.profile).paper
            start(folder, Settings(of.parent.name, call.profile, paper, call.zone), by=call.by, clock=lambda at=at: at)
        _write(folder, of, step, at, later)
        yield step, at


def _write(folder: Path, of: Path, step: Step, at: datetime, later: timedelta) -> None:
    if step.sign:
        release(folder, step.sign, step.component, by=step.by, role=step.role, licence=step.licence, clock=lambda: at)
        return
    file = load_answers(of / step.answers)
    zone = open_job(folder).settings.tz
    told = moved(file, lambda said: (_moment(said, zone) + later).astimezone(zone).isoformat(" ", "minutes"))
    for problem in sittings.by_file(open_job(folder), told, step.answers, file.by, tell=_nothing, clock=lambda: at):
        raise SystemExit(f"{step.answers}: {problem}")


def _nothing(_line: str) -> None:
    """Say nothing: what does not fit in the story is raised."""


def moved(file: AnswersFile, move: Callable[[str], str]) -> AnswersFile:
    """Return a file with every moment in it moved."""

    def if_moment(said: str) -> str:
        return move(said) if MOMENT.fullmatch(said) else said

    def answer(one: Prepared) -> Prepared:
        value = if_moment(one.value) if isinstance(one.value, str) else one.value
        return replace(one, value=value, measured=if_moment(one.measured))

    return replace(file, measured=if_moment(file.measured), answer=[answer(one) for one in file.answer])


def _moment(said: str, zone: ZoneInfo) -> datetime:
    """Return a local clock time in UTC, so that adding to it adds elapsed time."""
    return datetime.fromisoformat(said).replace(tzinfo=zone).astimezone(UTC)


if __name__ == "__main__":
    for told, at in tell(Path(sys.argv[1]), utc_now()):
        said = told.answers or f"signed: {told.sign}, {told.by}, {told.role}"
        sys.stdout.write(f"{at:%Y-%m-%d %H:%M}  {said}\n")
