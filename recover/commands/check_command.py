"""The check as a command: the fifth file of the command line. Of the rule tables, or of a job's integrity."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from recover.base.errors import command
from recover.commands.options import NAME, WORDS, end_with, only_with, say

if TYPE_CHECKING:
    from recover.asked.questions import Questionnaire
    from recover.asked.readable import Helps
    from recover.base.errors import Problem
    from recover.job.folder import Job
    from recover.job.journal import Event
    from recover.rules.check import TableReport

PROVES = (
    "The chain shows a line that was changed while those after it were not. It cannot show that the whole was written "
    "anew, or that its end was cut off: a paper in other hands can, with --against."
)


@click.command()
@click.argument("job", required=False, type=click.Path(path_type=Path, file_okay=False))
@click.option("--against", metavar="PAPER", help="A paper of the job (PDF, HTML, JSON), or the code on it.")
@click.option("--mend", is_flag=True, help="Set aside what does not agree, and write that into the journal.")
@click.option("--without-copy", is_flag=True, help="With --mend: go on with a broken journal that has no copy.")
@click.option("--by", type=NAME, metavar="NAME", help="Who mends.")
@click.option(
    "--profile", type=WORDS, metavar="PROFILE", help="With --without-copy: as the job was begun; so the next."
)
@click.option("--paper", type=WORDS, metavar="SIZE", help="The paper size that it was begun with.")
@click.option("--zone", type=WORDS, metavar="ZONE", help="The time zone that it was begun with.")
@click.option("--grid", is_flag=True, help="Print every rule table as a grid to read and sign.")
@click.option("--questions", is_flag=True, help="Print the compiled questions as JSON.")
@click.option(
    "--table", "file", type=click.Path(path_type=Path, dir_okay=False), help="Check a rule table of your own."
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document on tables and questions, nothing else.")
def check(job: Path | None, against: str | None, mend: bool, without_copy: bool, by: str | None, profile: str | None,
          paper: str | None, zone: str | None, grid: bool, questions: bool, file: Path | None,
          as_json: bool) -> None:  # fmt: skip
    """Prove the rule tables by enumeration, or a job's integrity: journal, photographs, issued papers, plans.

    A paper that is out tells more than the job can of itself: each carries the number and the hash of the journal line
    that it rests on. What an interruption left is finished or set aside by --mend; nothing is deleted, and what was
    altered stays so.

    \b
    Example:  recover check
              recover check --grid > grids.md
              recover check --json
              recover check school-kiln
              recover check school-kiln --against recovery-01.pdf
              recover check school-kiln --against 315-0edd-b300-e237-1f2a
              recover check school-kiln --mend --by "A. Repairer"
    """
    from recover.asked.compiled import compiled, questionnaire
    from recover.job.folder import open_job

    if without_copy and not mend:
        raise click.UsageError("--without-copy says how --mend goes on: give both.")
    only_with("--mend", mend, {"--by": by})
    only_with("--without-copy", without_copy, {"--profile": profile, "--paper": paper, "--zone": zone})
    if (against is not None or mend) and not job:
        raise click.UsageError("Which job? Give its folder.")
    if as_json and (job or grid or questions):
        raise click.UsageError("--json is of the tables and the questions: give no job, no --grid and no --questions.")
    if questions:
        say(json.dumps(compiled(questionnaire()), ensure_ascii=False, indent=1))
    elif grid:
        from recover.rules.grids import grids

        say(grids())
    elif job:
        if not (job / "journal.jsonl").is_file():
            open_job(job)  # says why it is none
        if mend:
            begun = {"profile": profile, "paper": paper, "zone": zone}
            _mend(job, by or "", {key: of for key, of in begun.items() if of} if without_copy else None)
        _check_job(job, against)
    else:
        _check_tables(file, as_json)


def _check_job(folder: Path, against: str | None) -> None:
    from recover.base.errors import JournalError
    from recover.job.folder import open_job
    from recover.job.mending import integrity

    problems = integrity(folder)
    try:
        problems += _told(open_job(folder), against, sound=not problems)
    except JournalError as error:
        if not any(way in str(error) for way in ("update recover", "--mend puts it back")):
            go_on = command("check", folder, "--mend", "--without-copy")
            say(f"If there is no copy: {go_on} keeps what can be read, and nothing of it opens a hold point.")
    end_with(problems)


def _mend(folder: Path, by: str, begun: dict[str, str] | None) -> None:
    """Mend a job; with `begun`, what its first line may not say any more, also where its journal has no copy."""
    from recover.job.kept import sittings
    from recover.job.mending import mend, undo_editor
    from recover.job.rescue import chain_anew, take_in_sittings

    if begun is not None:
        say("\n".join(chain_anew(folder, by, begun)))
    before = [*undo_editor(folder), *take_in_sittings(folder, by)] if sittings(folder) else []
    done = [*before, *mend(folder, by)]  # pictures that a sitting had taken in are known by then
    say("\n".join(done or ["There is nothing to mend."]))


def _told(job: Job, against: str | None, *, sound: bool) -> list[Problem]:
    """Say what can be said of a journal that can be read, and return what an anchor of it finds."""
    from recover.base.counted import by_number
    from recover.job.anchor import anchor
    from recover.job.kept import ASIDE, known, rescued

    counted = known(job.events)
    missed = {name for event in job.events for name in event.data.get("missed", ())} - set(counted)
    if sound:
        files = [one for one in counted.values() if not one.file.startswith(f"{ASIDE}/")]
        unproved = sum(one.line <= rescued(job.events)[0] for one in files)
        lines = by_number(len(job.events), one="{number} journal line", other="{number} journal lines")
        taken = by_number(len(files) - unproved, one="{number} file as it was", other="{number} files as they were")
        held = f"{lines}, the chain holds; {taken} taken in"
        held += f", {unproved} as journal lines have them that nothing proves" if unproved else ""
        held += f", {len(missed)} missing ({', '.join(sorted(missed))})" if missed else ""
        say(f"{job.folder}: {held}; journal {anchor(len(job.events), job.head)}")
    for event in job.events:
        if event.kind == "set_aside":
            say(_history(event, set(counted)))
    for line in _decided_otherwise(job):
        say(line)
    if sound and against is None:
        say(PROVES)
    return [*_clock(job), *([] if against is None else _against(job, against))]


def _clock(job: Job) -> Iterator[Problem]:
    """Yield that a line of the journal is of a time that has not come: a clock was set back, or ran ahead."""
    from recover.base.errors import Problem
    from recover.judged.assessment import answers_of
    from recover.judged.set_back import ran_ahead, set_back

    if back := set_back(answers_of(job)):
        yield Problem("journal.jsonl", back.rstrip("."), ran_ahead(job.folder))


ROOMS = {
    "asked": "the questions and facts", "rules": "the rules", "profiles": "the limits", "judged": "how water is judged",
    "interview": "what is said of failures", "engineering": "the figures of the trade", "plan": "the ways to dry",
    "schedule": "the figures of schedules", "controller": "what is said of controllers",
    "physics": "the figures of linings", "kernel": "the drying model", "base": "units and sources",
    "program": "the program itself",
}  # fmt: skip
"""The parts of the fingerprint in words."""


def _decided_otherwise(job: Job) -> Iterator[str]:
    """Say of the last issue of each kind what decides otherwise now than when it was made."""
    from recover.base.fingerprint import changed_since, fingerprint

    last = {papers: event for event in job.events if (papers := ", ".join(event.data.get("papers", ())))}
    for papers, event in last.items():
        if event.source == "journal":  # written anew from what was left of its line
            if event.data["rules"] != fingerprint():
                what = "its journal line was cut off, and by what rules it was made is no longer known"
                yield f"{papers} {event.data['revision']}: {what}; make it anew to see what it says now."
        elif changed := [ROOMS.get(room, room) for room in changed_since(event.data.get("parts", {}))]:
            what = ", ".join(changed) if "parts" in event.data else "what it was decided by was not written down then"
            since = f"Since {papers} {event.data['revision']} was made, other than now"
            yield f"{since}: {what}. What it says may come out otherwise; make it anew to see."


def _history(event: Event, counted: set[str]) -> str:
    """Say what a line of the journal says was set aside, missed, put back or torn; and whether that is past."""
    from recover.job.kept import gone

    if "torn" in event.data and not event.data["files"]:
        return f"{event.at[:10]} line {event.n}: {event.data['why']}; what was left of it is kept there"
    names = [*gone(event), *event.data.get("back", ())] or ["journal.jsonl"]
    past = set(event.data.get("missed", ())) & counted
    why = f"{event.data['why']}{'; it is there again' if past else ''}"
    return f"{event.at[:10]} {', '.join(names)}: {why} ({'set aside' if event.data['files'] else 'said'} by {event.by})"


def _against(job: Job, paper: str) -> list[Problem]:
    """Hold a journal to a paper, which is named as it lies anywhere or in the job's papers, or to a typed code."""
    from recover.base.errors import AnswerError
    from recover.job import anchor

    path = next((one for one in (Path(paper), job.papers / paper) if one.is_file()), None)
    if path is None and Path(paper).suffix:
        raise AnswerError(f"{paper}: there is no such file, here or in {job.papers}")
    of, said, wrong = anchor.paper(job, path) if path else (anchor.read(paper), [], [])
    since, problems = anchor.against(job, of) if of else ([], [])
    for line in (*said, *since):
        say(line)
    return [*wrong, *problems]


def _check_tables(file: Path | None, as_json: bool) -> None:
    from recover.asked.compiled import questionnaire
    from recover.asked.readable import helps
    from recover.rules.check import check_everything, check_table
    from recover.rules.table import load_table

    questions = questionnaire()
    problems: list[Problem] = []
    if file:
        reports = [check_table(load_table(file), questions.facts)]
    else:
        reports, problems = check_everything(questions)
    helped = helps(questions)
    problems += [problem for one in reports for problem in one.problems]
    problems += [] if file else helped.problems
    if as_json:
        say(json.dumps(_as_json(reports, helped, problems), ensure_ascii=False, indent=1))
    else:
        _say_tables(reports, questions)
        say("\n".join(_helped(helped)))
    end_with(problems)


def _say_tables(reports: list[TableReport], questions: Questionnaire) -> None:
    from rich.console import Console

    from recover.base.fingerprint import fingerprint

    Console(width=None if sys.stdout.isatty() else 110, highlight=False).print(_table_of(reports))
    counted = f"{len(questions.question)} questions, {len(questions.fact)} facts"
    say(f"{counted}; next slate {questions.next_slate}; rules {fingerprint()[:12]}")


def _helped(helped: Helps) -> Iterator[str]:
    """Say in two lines how far the questions help, and how easily they are read."""
    yield (
        f"{len(helped.without_why)} questions without why; {helped.measured} are measured, "
        f"{len(helped.without_how)} of them without how"
    )
    if helped.grade is None:
        yield "how easily they are read is measured where the test libraries are (textstat)"
    else:
        hardest = f"{helped.worst[0].of} ({helped.worst[0].part}) at {helped.worst[0].grade:.0f}"
        yield f"their texts are read at grade {helped.grade:.1f} on average; the hardest is {hardest}"


def _as_json(reports: list[TableReport], helped: Helps, problems: list[Problem]) -> dict[str, Any]:
    return {
        "tables": {one.table.id: {"combinations": one.combinations, "cards": len(one.table.card)} for one in reports},
        "questions": {
            "number": sum(helped.sections.values()), "by_section": helped.sections, "without_why": helped.without_why,
            "measured": helped.measured, "measured_without_how": helped.without_how,
            "grade": None if helped.grade is None else round(helped.grade, 2),
            "hardest": [{**vars(one), "grade": round(one.grade, 1)} for one in helped.worst],
        },
        "problems": [str(problem) for problem in problems],
    }  # fmt: skip


def _table_of(reports: list[TableReport]) -> Any:
    from rich.table import Table

    shown = Table(title="Rule tables, every combination enumerated", title_justify="left", box=None, pad_edge=False)
    bases = ("document", "from_memory", "common_practice", "own_limit")
    for heading in ("table", "combinations", "cards", *(basis.replace("_", " ") for basis in bases), "problems"):
        shown.add_column(heading, justify="left" if heading == "table" else "right")
    for one in reports:
        counts = [len(one.table.card), *(one.by_basis.get(basis, 0) for basis in bases), len(one.problems)]
        shown.add_row(one.table.id, f"{one.combinations:,}", *map(str, counts))
    return shown
