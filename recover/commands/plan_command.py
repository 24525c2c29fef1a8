"""The plan as a command: the fourth file of the command line.

What is left out of a request is as in the newest plan of the job; a plan that would come out the same is not made anew.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from recover.commands.options import NAME, say, say_clock, settled

if TYPE_CHECKING:
    from recover.job.folder import Job
    from recover.judged.assessment import Assessment
    from recover.plan.whole import JobPlan, Request

Options = dict[str, Any]


@click.command()
@click.argument("job", type=click.Path(path_type=Path, file_okay=False))
@click.option("--path", metavar="PATH", help="The path that is followed, by its id; back to ours: recommended.")
@click.option("--attend", metavar="FROM-TO", help="When somebody is there, as 08:00-20:00; day and night: 00:00-24:00.")
@click.option("--closed", metavar="DAYS", help="Days on which nobody comes, as sat,sun,2026-12-24/2027-01-02; or none.")
@click.option("--start", metavar="DATE", help="First opening, as 2026-03-12 or '2026-03-12 09:00', by the job's clock.")
@click.option("--day", type=click.IntRange(1, 999), help="Which day the sheet is for; the next one, if not given.")
@click.option("--json", "form", flag_value="json", help="Print the plan as one JSON document and nothing else.")
@click.option("--csv", "form", flag_value="csv", help="Print its steps as CSV and nothing else.")
@click.option("--ics", "form", flag_value="ics", help="Print its days as a calendar file and nothing else.")
@click.option("--walls", type=click.Path(path_type=Path, file_okay=False), metavar="DIRECTORY",
              help="Write each kiln as it dries on the path that is followed, for recover simulate.")  # fmt: skip
@click.option("--by", type=NAME, metavar="NAME", help="Who plans. Kept with the plan.")
def plan(
    job: Path, path: str | None, attend: str | None, closed: str | None, start: str | None, day: int | None,
    form: str | None, walls: Path | None, by: str | None,
) -> None:  # fmt: skip
    """Plan the dry-out: one path from soaked to fired, day by day, and what the controller runs of each.

    Sets the paths side by side as they end in a first firing: dates, attended hours, energy, money. Recommends one and
    stores it in JOB, with a sheet for the kiln room. It is a calculation with assumed inputs; it releases nothing, and
    own elements and open heaters are attended in every hour of it.

    What is left out is as in the newest plan of JOB, at first 08:00-20:00 on every day, from the day after the last
    answer. A plan that is under way keeps its first opening; --start begins it anew. One that would come out the
    same is taken as it is stored.

    \b
    Example:  recover plan school-kiln --attend 08:00-20:00 --closed sat,sun --start 2026-03-12
              recover plan school-kiln --path enclosure
              recover plan school-kiln --day 2
              recover plan school-kiln --ics > drying.ics
    """
    asked: Options = {"path": path, "attend": attend, "closed": closed, "start": start}
    made = _planned(job, asked, by, quiet=form is not None)
    _show(job, made, day, form)
    if walls:
        _walls(job, made, walls, quiet=form is not None)


def _planned(folder: Path, asked: Options, by: str | None, *, quiet: bool) -> JobPlan:
    """Return the newest plan where it is what is asked for and still holds; else make one, and store it."""
    from recover.job.folder import open_job
    from recover.job.journal import utc_now
    from recover.judged.assessment import assess
    from recover.plan import planning, store

    job = open_job(folder)
    found, before = assess(job), _before(job)
    say_clock(found.answers, folder)
    request = _request(found, before, asked, quiet=quiet)
    holds = before and before.request == request and not store.changed(found, before)
    if before and holds and planning.has_taken_in(found, before):
        return before
    if before and before.request == request and (over := _nothing_left(folder, found, before)):
        say(over, err=quiet)
        return before
    job = settled(folder, clock=False)  # also proves that the plan can be kept, before it is searched for
    who = by or job.events[0].by
    if before is None and (told := store.set_aside(job, by=who)):
        say("\n".join(told), err=True)
        job = open_job(folder)
    found = found if job.head == found.head else assess(job)
    with _progress(quiet=quiet) as told_how_far:
        kilns = planning.kiln_plans(found, request, told_how_far, before)
    at = utc_now().isoformat(timespec="seconds")
    made, path = store.store(job, found, request, kilns, made=at, by=who)
    say(f"written: {path}", err=quiet)
    return made


def _nothing_left(folder: Path, found: Assessment, before: JobPlan) -> str:
    """Say that nothing is left to plan, where that is so of every kiln; empty where it is not."""
    from recover.report.status_view import look_at, nothing_left

    return nothing_left(look_at(found, before, found.answers.now, folder=folder))


def _before(job: Job) -> JobPlan | None:
    """Return the newest plan; where it is not as it was stored, say so and go on without it."""
    from recover.base.errors import DataError
    from recover.plan import store

    try:
        return store.newest(job)
    except DataError as error:
        say(f"{error}. The plan is made anew.", err=True)
        return None


def _request(found: Assessment, before: JobPlan | None, asked: Options, *, quiet: bool) -> Request:
    """Read what is asked for; where it cannot be, list everything that is wrong with it and leave."""
    from recover.plan.request import Requested, request

    read = request(found, before, **asked)
    if isinstance(read, Requested):
        for line in read.says:
            say(line, err=quiet)
        return read.request
    for problem in read:
        say(str(problem), err=True)
    sys.exit(1)


@contextmanager
def _progress(*, quiet: bool) -> Iterator[Callable[[str, float], None]]:
    """Say how far a plan is: a bar on a terminal, a line a stage elsewhere, nothing beside a document."""
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    console = Console(stderr=True)
    if quiet or not console.is_terminal:
        yield lambda what, share: None if quiet else say(f"{share:4.0%}  {what}", err=True)
        return
    with Progress(BarColumn(24), TimeElapsedColumn(), TextColumn("{task.description}"), console=console,
                  transient=True) as bar:  # fmt: skip
        task = bar.add_task("", total=1.0)
        yield lambda what, share: bar.update(task, completed=share, description=what)


# ---------------------------------------------------------------------------------------- what is shown


def _show(folder: Path, made: JobPlan, day: int | None, form: str | None) -> None:
    """Print a plan as it was asked for; as lines, with the sheets for the kiln room beside."""
    from recover.job.folder import open_job
    from recover.job.journal import utc_now
    from recover.judged.assessment import assess
    from recover.plan import store
    from recover.report import calendar, papers, plan_json, plan_table, plan_text

    job = open_job(folder)
    found = assess(job)
    if form == "json":
        click.echo(plan_json.json_text(found, made), nl=False)
    elif form == "csv":
        click.echo(plan_table.csv_text(found, made), nl=False)
    elif form == "ics":
        stood = partial(store.stood, job, found)
        click.echo(calendar.of_job(found, made, store.earlier(job, made), stood), nl=False)
    else:
        day = day or _next_day(made)
        files = papers.kiln_rooms(folder, found, made, day, utc_now())
        say("\n".join(plan_text.text_lines(found, made, day=day, changed=store.overtaken(found, made))))
        for file in files:
            say(f"written: {file}")


def _next_day(made: JobPlan) -> int:
    """Return the day that is to come: the first, or the one that a drying goes on with, as far as there is one."""
    return min((min(kiln.learnt.goes_on, len(kiln.days)) for kiln in made.kilns if kiln.learnt), default=1)


def _walls(folder: Path, made: JobPlan, into: Path, *, quiet: bool) -> None:
    """Write the wall files of a plan, and say how near a run of each in normal cells comes to it."""
    from recover.job.folder import open_job
    from recover.judged.assessment import assess
    from recover.plan.walls import write_walls
    from recover.report.simulation import beside_line

    into.mkdir(parents=True, exist_ok=True)
    for one in write_walls(assess(open_job(folder)), made, into):
        say(f"written: {one.file}\n{beside_line(one.normal)}", err=quiet)
