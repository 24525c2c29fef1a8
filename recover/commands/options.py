"""What verbs share: words that are typed and kept, a job that is going to be written to, and how a verb ends."""

from __future__ import annotations

import shutil
import sys
import textwrap
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from recover.base.errors import AnswerError, listed
from recover.base.measures import as_shown, is_writable

if TYPE_CHECKING:
    from recover.asked.answers import Answers
    from recover.base.errors import Problem
    from recover.job.folder import Job
    from recover.judged.assessment import Assessment
    from recover.plan.whole import JobPlan
    from recover.report.today import Glance


class _PlainText(click.ParamType[str]):
    """A name, a role, a number: letters that can be written down and printed."""

    name = "text"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """Take words as they are; refuse what is no text, or would move a cursor or turn a line round."""
        if is_writable(str(value)):
            return str(value)
        return self.fail("holds letters that cannot be written down; type it again", param, ctx)


class _Name(_PlainText):
    """The name of a person, which stands with what that person says: it has a letter."""

    name = "name"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """Take a name as it is; refuse what nobody is called."""
        from recover.asked.said import person

        try:
            return person(super().convert(value, param, ctx))
        except AnswerError as error:
            return self.fail(str(error), param, ctx)


WORDS, NAME = _PlainText(), _Name()


def say(message: str = "", *, err: bool = False, nl: bool = True) -> None:
    """Print a line. Names of files and broken journals may hold anything: nothing of it commands the terminal."""
    click.echo(as_shown(message), err=err, nl=nl)


def say_lines(lines: Iterable[str]) -> None:
    """Print lines; on a terminal broken between words, what follows a first column set in under it."""
    for line in lines:
        say(textwrap.fill(line, _width(), subsequent_indent=" " * 19) if sys.stdout.isatty() else line)


def _width() -> int:
    return max(60, shutil.get_terminal_size().columns - 1)


def assessed(folder: Path) -> Assessment:
    """Open a job and assess it."""
    from recover.job.folder import open_job
    from recover.judged.assessment import assess

    return assess(open_job(folder))


def look_of(job: Job, folder: Path, found: Assessment) -> Glance:
    """Return a look at a job as it stands now, by its newest plan."""
    from recover.interview.sittings import call_is_open
    from recover.job.journal import utc_now
    from recover.report.status_view import look_at

    plan, no_plan = _newest(job)
    return look_at(found, plan, utc_now(), folder=folder, no_plan=no_plan, call_open=call_is_open(job))


def _newest(job: Job) -> tuple[JobPlan | None, str]:
    """Return the newest plan of a job; where it is not as it was stored, none and why."""
    from recover.base.errors import DataError
    from recover.plan import store

    try:
        return store.newest(job), ""
    except DataError as error:
        return None, str(error).rstrip(".")


def screen_size(columns: int, lines: int) -> tuple[int, int]:
    """Return how many columns and lines a screen of answers has: so many, on a smaller terminal as many as that shows
    with the line at which the next command is typed."""
    if not sys.stdout.isatty():
        return columns, lines
    size = shutil.get_terminal_size()
    return min(columns, size.columns), min(lines, size.lines - 1)


def settled(folder: Path, *, clock: bool = True) -> Job:
    """Open a job that will be written to: prove that it can be, and say what an interruption had left, and, unless
    that is said already, that a clock was set back."""
    from recover.job.folder import open_job
    from recover.job.mending import settle

    job = open_job(folder)  # where there is none, nothing is to be made by looking
    done = settle(folder)
    for line in done:
        say(line, err=True)
    job = open_job(folder) if done else job
    if clock:
        say_clock(_answers(job), folder)
    return job


def _answers(job: Job) -> Answers:
    from recover.judged.assessment import answers_of

    return answers_of(job)


def say_clock(answers: Answers, folder: Path) -> None:
    """Say first of all where a line of a job is of a time that has not come, and what is looked at."""
    from recover.judged.set_back import kept_all_the_same, ran_ahead, set_back

    if back := set_back(answers):
        say(f"{back} {ran_ahead(folder)} {kept_all_the_same()}\n", err=True)


def only_with(option: str, present: object, others: Mapping[str, object]) -> None:
    """Refuse options that say nothing without another one: whoever gave them meant more than would be done."""
    if not present and (alone := [name for name, given in others.items() if given]):
        raise click.UsageError(f"{', '.join(alone)}: only together with {option}; give both, or neither.")


def end_with(problems: Iterable[Problem]) -> None:
    """Show every problem and leave with its exit status, if there is any."""
    if found := list(problems):
        say(listed(found), err=True)
        sys.exit(1)
