"""The command line: each verb parses, calls, and says what came of it. This room is the only door to click.

Exit status: 0 done; 1 the job or the data has problems, all of them listed; 2 the command was not understood;
130 interrupted, and everything answered so far is kept.
"""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import click

import recover
from recover.base.errors import JobError, advice, command
from recover.commands.calc import calc
from recover.commands.check_command import check
from recover.commands.log_command import log
from recover.commands.options import (
    NAME,
    WORDS,
    assessed,
    end_with,
    look_of,
    only_with,
    say,
    say_lines,
    screen_size,
    settled,
)
from recover.commands.plan_command import plan
from recover.commands.simulate import patience, simulate
from recover.commands.status_command import status
from recover.profiles import PROFILES
from recover.profiles import profile as profile_of

if TYPE_CHECKING:
    from datetime import datetime

    from recover.base.errors import Problem
    from recover.interview.script import AnswersFile
    from recover.job.folder import Job
    from recover.judged.assessment import Assessment

JOB = click.argument("job", type=click.Path(path_type=Path, file_okay=False))
BY = click.option("--by", type=NAME, metavar="NAME", help="Who answers. Kept with every line.")
AS_ROLE = click.option(
    "--as", "role", type=WORDS, metavar="ROLE", help="In which role: repairer, electrician, owner ..."
)
ANSWERS = click.option(
    "--answers", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE", help="Take the answers from a file."
)
AS_JSON = click.option("--json", "as_json", is_flag=True, help="Print one JSON document and nothing else.")


class _Verbs(click.Group):
    """Lists the verbs in the order of the work, not of the alphabet."""

    def list_commands(self, _ctx: click.Context) -> list[str]:
        """Return the verbs as they were defined."""
        return list(self.commands)


@click.group(cls=_Verbs, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(recover.__version__, prog_name="recover")
def verbs() -> None:
    """A kiln has been under water: inspect it, decide by sourced rules, hold people back, write the papers.

    The work in its order: start, inspect, photo, assess, plan, report; log and check at any time.
    This program never releases anything. A named, competent person does.
    """


@verbs.command()
@JOB
@ANSWERS
@BY
@click.option("--profile", type=click.Choice(PROFILES), help="Whose limits, words and paper hold.")
@click.option("--paper", type=click.Choice(["A4", "Letter"]), help="Paper size; the profile's, if not given.")
@click.option("--zone", metavar="ZONE", help="Time zone, as Europe/Berlin; this machine's, if not given.")
@AS_ROLE
@AS_JSON
def start(job: Path, answers: Path | None, by: str | None, profile: str | None, paper: str | None, zone: str | None,
          role: str | None, as_json: bool) -> None:  # fmt: skip
    """Take the call: a few questions, then the owner's first-days sheet, the bring list and the tag.

    Makes the folder JOB, which holds the job from now on. A call that was broken off goes on where it was left.

    \b
    Example:  recover start school-kiln --profile uk --by "A. Repairer"
    """
    from recover.job.folder import start as start_job

    file = _answers_file(answers)
    opened = _broken_off(job, profile, paper, zone)
    by = by or (file.by if file else "") or (opened.events[0].by if opened else _ask_name())
    if not opened:
        settings = _settings(job, file, profile, paper, zone)
        _prove_can_ask(file)
        opened = start_job(job, settings, by=by)
    problems = _sit(opened, file, answers, by, role or "", call=True)
    _after_call(job, as_json)
    end_with(problems)


@verbs.command()
@JOB
@ANSWERS
@click.option("--from-form", is_flag=True, help="Type in a filled-in paper form, in the order of the paper.")
@BY
@AS_ROLE
def inspect(job: Path, answers: Path | None, from_form: bool, by: str | None, role: str | None) -> None:
    """Inspect on site: sections in any order, leave and come back, correct what was said.

    Every answer is on the disk before the next question. Ctrl-C leaves; nothing is lost.

    \b
    Example:  recover inspect school-kiln
              recover inspect school-kiln --answers visit.toml
              recover inspect school-kiln --from-form
    """
    if from_form and answers:
        raise click.UsageError("A form is typed in and a file is read: give --from-form or --answers, not both.")
    file = _answers_file(answers)
    opened = settled(job)
    by = by or (file.by if file else "") or opened.events[0].by
    problems = _type_in(opened, by, role or "") if from_form else _sit(opened, file, answers, by, role or "")
    _after_visit(job)
    end_with(problems)


@verbs.command()
@JOB
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILE...")
@click.option("--question", metavar="KEY", help="The question they belong to, by slate (22, 22-2) or key.")
@BY
def photo(job: Path, files: tuple[Path, ...], question: str | None, by: str | None) -> None:
    """Take in photographs, or a folder of them, as they came from the camera.

    A picture belongs to the question whose slate number is in its name (slate-22.jpg; slate-22-2.jpg for the second
    kiln), or else to the question that was answered next after it was taken.

    \b
    Example:  recover photo school-kiln ~/phone/2026-03-10
              recover photo school-kiln plate.jpg --question identity.plate@kiln/1
    """
    from recover.interview import sittings

    opened = settled(job)
    refused = sittings.photographs(opened, files, question, by or opened.events[0].by, tell=say)
    _end([f"not taken: {line}" for line in refused])


@verbs.command()
@JOB
@click.option("--walls", type=click.Path(path_type=Path, file_okay=False), metavar="DIRECTORY",
              help="Write the walls of each kiln that has something to dry, for recover simulate.")  # fmt: skip
@click.option(
    "--all", "everything", is_flag=True, help="Everything at length before it: every component, need, caution."
)
@AS_JSON
def assess(job: Path, walls: Path | None, everything: bool, as_json: bool) -> None:
    """Say on one screen what the rules make of the answers so far: outcomes, what is next, by whom, hold points.

    With --all every line of it, how far the water reached, what does not fit, and what the stages of practice would do
    to the water that stays, by the drying model.

    \b
    Example:  recover assess school-kiln
              recover assess school-kiln --all
              recover assess school-kiln --json
              recover assess school-kiln --walls walls
    """
    from recover.job.folder import open_job
    from recover.judged.assessment import assess as assess_job
    from recover.report import plain
    from recover.report.one_screen import COLUMNS
    from recover.report.verdict import LINES, verdict_lines

    opened = open_job(job)
    found = assess_job(opened)
    with patience(quiet=as_json):
        shown = [_json(plain.as_json(found))] if as_json else [*plain.text_lines(found), ""] if everything else []
        files = _write_walls(found, walls) if walls else []
    say_lines(shown)
    for file in files:
        say(f"written: {file}", err=as_json)
    if not as_json:
        columns, lines = screen_size(COLUMNS, LINES)
        say("\n".join(verdict_lines(look_of(opened, job, found), columns=columns, most=lines)))
    if found.problems:
        sys.exit(1)


verbs.add_command(plan)
verbs.add_command(status)


verbs.add_command(log)


@verbs.command()
@JOB
@click.option("--issue", is_flag=True, help="Issue it: numbered, recorded in the journal, never overwritten.")
@click.option("--record", is_flag=True, help="The record of the visit as well: every answer.")
@click.option("--sheets", is_flag=True, help="The sheets of the call anew: first days, bring list, tag.")
@click.option("--handover", is_flag=True, help="The hand-over certificate, and the log of the drying as its annex.")
@BY
@click.option("--as", "capacity", type=WORDS, metavar="CAPACITY", help="In what capacity it is issued.")
@AS_JSON
def report(
    job: Path, issue: bool, record: bool, sheets: bool, handover: bool, by: str | None, capacity: str | None,
    as_json: bool,
) -> None:  # fmt: skip
    """Write the recovery report: a draft that says so, or an issued revision with a name on it, and its record.

    Without the Pango library the self-contained HTML is written, and what to install is said.

    \b
    Example:  recover report school-kiln
              recover report school-kiln --issue --by "A. Repairer" --as "kiln repairer"
              recover report school-kiln --handover
    """
    from recover.report import papers
    from recover.report.paper import SHEETS

    only_with("--issue", issue, {"--by": by, "--as": capacity})
    if issue and not (by and capacity):
        raise click.UsageError("An issued report needs a person: --by NAME --as CAPACITY.")
    if issue:
        settled(job)
    found = assessed(job)
    with patience(quiet=as_json):
        if as_json:
            say(_json((papers.certificate if handover else papers.report)(job, found, _now())))
            return
        if sys.stderr.isatty():
            say("Laying out the report ...", err=True)
        if issue and by and capacity:
            both = papers.HANDOVER if handover else papers.REPORT
            _name_files(files := papers.issue(job, found, by, capacity, _now(), both))
            say(papers.to_send(found, files))
            for problem in found.problems:
                say(f"issued with what does not fit: {problem}", err=True)
        else:
            also = papers.HANDOVER if handover else papers.REPORT if record else papers.REPORT[:1]
            kinds = SHEETS if sheets else also
            _name_files([file for kind in kinds for file in papers.draft(job, found, kind, _now())])


@verbs.command()
@click.option("--profile", type=click.Choice(PROFILES), default="eu", show_default=True,
              help="Whose words and paper hold.")  # fmt: skip
@click.option("--paper", type=click.Choice(["A4", "Letter"]), help="Paper size; the profile's, if not given.")
@click.option(
    "--to", "folder", type=click.Path(path_type=Path, file_okay=False), default=Path(), help="Where to write."
)
def form(profile: str, paper: str | None, folder: Path) -> None:
    """Print the blank inspection form: the same questions, on paper, to be filled in with a pencil.

    \b
    Example:  recover form --profile us --to papers
    """
    from recover.asked.compiled import questionnaire
    from recover.report import form as blank
    from recover.report import pdf

    chosen = profile_of(profile)
    view = blank.form(questionnaire(), paper or chosen.paper, chosen.terms.electrician)
    folder.mkdir(parents=True, exist_ok=True)
    _name_files(pdf.write(view, folder, "inspection-form"))


verbs.add_command(check)


# ---------------------------------------------------------------------------------------- what verbs share


def _answers_file(path: Path | None) -> AnswersFile | None:
    from recover.interview.script import load_answers

    return load_answers(path) if path else None


def _settings(job: Path, file: AnswersFile | None, profile: str | None, paper: str | None, zone: str | None) -> Any:
    from recover.job.folder import Settings

    chosen = profile or (file.profile if file else "") or _ask_profile()
    usual = profile_of(chosen).paper if chosen in PROFILES else "A4"
    size = paper or (file.paper if file else "") or usual
    return Settings(job.resolve().name, chosen, size, zone or (file.zone if file else "") or _local_zone())


def _sit(
    job: Job, file: AnswersFile | None, path: Path | None, by: str, role: str, *, call: bool = False
) -> tuple[Problem, ...]:
    from recover.interview import sittings

    if file and path:
        return sittings.by_file(job, file, path.name, by, role=role, tell=lambda line: say(line, err=True))
    _prove_can_ask(file)
    try:
        sittings.at_terminal(job, by, role, say=say, call=call)
    except (KeyboardInterrupt, EOFError):
        verb = "start" if call else "inspect"
        say(f"\nLeft. All that was answered is kept. Go on with: {command(verb, job.folder)}", err=True)
        sys.exit(130)
    return ()


def _prove_can_ask(file: AnswersFile | None) -> None:
    """Refuse to begin where nobody answers: neither a file nor a person at a terminal."""
    if not file and not sys.stdin.isatty():
        raise click.UsageError("There is no terminal to ask at; give the answers with --answers FILE.")


def _type_in(job: Job, by: str, role: str) -> tuple[Problem, ...]:
    from recover.interview import sittings

    try:
        sittings.by_form(job, by, sys.stdin, role, say=say, now=_now())
    except KeyboardInterrupt:
        say(f"\nLeft. All is kept. Go on with: {command('inspect', job.folder)} --from-form", err=True)
        sys.exit(130)
    return ()


def _write_walls(found: Assessment, folder: Path) -> list[Path]:
    """Write a wall file for each kiln that has something to dry: the middle of its draws, its chamber and stages."""
    from recover.judged.dryout import walls

    folder.mkdir(parents=True, exist_ok=True)
    return walls(found, folder)


def _after_call(folder: Path, as_json: bool) -> None:
    from recover.job.folder import open_job
    from recover.report import papers
    from recover.report.call_sheets import decision as call_decision
    from recover.report.one_screen import COLUMNS
    from recover.report.paper import SHEETS
    from recover.report.verdict import LINES, call_lines

    found = assessed(folder)
    decision = call_decision(found)
    try:
        files = [file for kind in SHEETS for file in papers.draft(folder, found, kind, _now())]
    except JobError as error:
        sheets = command("report", folder, "--sheets")
        say(" ".join((decision["outcome"], *decision["say"])), err=as_json)  # whatever becomes of its sheets
        raise JobError(f"{error}. All that was answered is kept; for the sheets: {sheets}") from error
    if as_json:
        say(_json({"decision": decision, "files": [str(file) for file in files]}))
        return
    _name_files(files)
    columns, _ = screen_size(COLUMNS, LINES)
    say("\n".join(["", *call_lines(look_of(open_job(folder), folder, found), columns=columns)]))


def _broken_off(folder: Path, *settings: str | None) -> Job | None:
    """Return a job whose call is still to be finished; None where there is none. Raises JobError on other settings."""
    from recover.base.errors import JobError
    from recover.interview import sittings
    from recover.job.folder import is_begun

    job = settled(folder) if is_begun(folder) else None
    if job is None or not sittings.call_is_open(job):
        return None
    begun = (job.settings.profile, job.settings.paper, job.settings.zone)
    if any(given and given != own for given, own in zip(settings, begun, strict=True)):
        raise JobError(
            f"{folder}: was begun with {', '.join(begun)}, which stand; leave the options out, or begin anew"
        )
    return job


def _after_visit(folder: Path) -> None:
    """Name the next step: the hold points, while any is not released; and the call, where it was broken off."""
    from recover.interview import sittings
    from recover.job.folder import open_job
    from recover.judged.assessment import answers_of
    from recover.judged.holds import hold_states

    job = open_job(folder)
    found = hold_states(answers_of(job), job.settings.profile)
    closed = any(hold.state != "released" for hold in found)
    say_lines(f"{hold.point.title} ({hold.label}): {hold.suspended}" for hold in found if hold.suspended)
    holds = [f"{command('log', folder)} --holds (what is missing, and who signs)"] if closed else []
    steps = ", ".join([*holds, command("photo", folder, "FOLDER")])
    say(f"Kept in {folder}. Next: {steps}, then {command('report', folder)}")
    if sittings.call_is_open(job):
        say(f"The call is not finished, and its sheets are not written: {command('start', folder)}")


def _name_files(files: list[Path]) -> None:
    from recover.report.pdf import NO_PANGO

    for file in files:
        say(f"written: {file}")
    if not any(file.suffix == ".pdf" for file in files):
        say(NO_PANGO, err=True)


def _end(lines: list[str]) -> None:
    for line in lines:
        say(line, err=True)
    if lines:
        sys.exit(1)


def _ask_name() -> str:
    if not sys.stdin.isatty():
        raise click.UsageError("Who answers? Give --by NAME.")
    return str(click.prompt("Who takes this call (name)", type=NAME))


def _ask_profile() -> str:
    if not sys.stdin.isatty():
        raise click.UsageError(f"Whose rules hold? Give --profile {', '.join(PROFILES)}.")
    return str(click.prompt("Whose rules hold", type=click.Choice(PROFILES)))


def _local_zone() -> str:
    import tzlocal

    return str(tzlocal.get_localzone_name() or "UTC")


def _now() -> datetime:
    from recover.job.journal import utc_now

    return utc_now()


def _json(document: Any) -> str:
    return json.dumps(document, ensure_ascii=False, indent=1)


verbs.add_command(calc)
verbs.add_command(simulate)


_KEPT = "Everything that was answered is kept."


def _fault(error: OSError) -> str:
    """Say where and why the system refused, and what can be done about that."""
    name = str(error.filename or "")
    where = f"{name if len(name) <= _LONGEST else f'{name[:_LONGEST]}…'}: " if name else ""
    return f"{where}{error.strerror or error}; {advice(error)}, and do it again. {_KEPT}"


_LONGEST = 200
"""How many letters of a name are printed."""


def _as_text() -> None:
    """Let every name and sentence be read and written as text: whatever the locale, and whatever is closed."""
    if os.name != "nt" and sys.getfilesystemencoding().lower() != "utf-8":  # begun again, as a program of letters
        again = [sys.executable, "-P", "-m", "recover", *sys.argv[1:]]  # -P: nothing that lies about here is run
        os.execve(sys.executable, again, {**os.environ, "PYTHONUTF8": "1"})
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        stream = getattr(sys, name) or Path(os.devnull).open(mode)  # noqa: SIM115 - for as long as the program runs
        setattr(sys, name, stream)
        if name != "stdin" and hasattr(stream, "reconfigure"):  # a Windows console may be set to a code page without Ω
            stream.reconfigure(errors="replace")


def main(argv: list[str] | None = None) -> NoReturn:
    """Run a verb and leave with its exit status."""
    from recover.base.errors import RecoverError

    _as_text()
    try:
        verbs.main(argv, prog_name="recover", standalone_mode=False)
    except click.ClickException as error:
        error.show()
        sys.exit(error.exit_code)
    except click.Abort:
        say("Interrupted. Everything answered so far is kept.", err=True)
        sys.exit(130)
    except RecoverError as error:
        say(str(error), err=True)
        sys.exit(1)
    except BrokenPipeError:  # whoever read it has read enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        sys.exit(1)
    except OSError as error:
        say(_fault(error), err=True)
        sys.exit(1)
    except MemoryError:
        say(f"There is not enough memory for this; close other programs, and do it again. {_KEPT}", err=True)
        sys.exit(1)
    sys.exit(0)
