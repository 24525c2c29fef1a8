"""The log as a command: readings and what happened while a kiln dries, and signatures under hold points."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from recover.base.errors import AnswerError, DataError, Problem, command
from recover.commands.options import NAME, WORDS, assessed, end_with, only_with, say, say_clock, say_lines, settled

if TYPE_CHECKING:
    from recover.interview.logbook import LogBook
    from recover.job.folder import Job
    from recover.job.journal import Event
    from recover.judged.assessment import Assessment
    from recover.plan.log import Against
    from recover.plan.whole import JobPlan

_SIGNS = "--release or --withdraw"
_LOGS = "--read, --happened, --csv, --from-form or a round at a terminal"


@click.command()
@click.argument("job", type=click.Path(path_type=Path, file_okay=False))
@click.option(
    "--read",
    "reads",
    type=WORDS,
    multiple=True,
    metavar="WHAT=VALUE",
    help="A reading, as casing@wall=46, 'piece=2,1 kg', 'insulation=1.2 Mohm; all joined; 18 C; 500 V'.",
)
@click.option(
    "--happened",
    type=WORDS,
    multiple=True,
    metavar="WORD",
    help="What happened: power_cut, attendant_gone, probe_off, rcd_trip, rain, again, looked ...",
)
@click.option("--at", "moment", type=WORDS, default="", metavar="WHEN", help="When, as 10:05 or '2026-12-03 10:00'.")
@click.option("--note", type=WORDS, default="", metavar="TEXT", help="Why, or what was found; kept beside it.")
@click.option("--take-back", "back", type=WORDS, multiple=True, metavar="LINES",
              help="Take back lines of the log by their journal lines, as 41, 41-67 or '41, 50-67'; all stay in the "
                   "journal. --note says why.")  # fmt: skip
@click.option("--csv", "file", type=click.Path(path_type=Path), metavar="FILE", help="Take in a data logger's file.")
@click.option(
    "--columns",
    type=WORDS,
    default="",
    metavar="MAPPING",
    help="Which column is what, said once: 'Zeit=time, T1=casing@wall, RH=exhaust, RT=exhaust.degc'.",
)
@click.option("--clock", "stood", type=WORDS, default="", metavar="HOW",
              help="How wrong the logger's clock stood, as '60 min slow' or '12 min fast'; its rows are moved by that.",
              )  # fmt: skip
@click.option("--from-form", is_flag=True, help="Type in a filled-in sheet of a day, row by row.")
@click.option("--day", type=click.IntRange(1, 999), help="Which day's sheet; today's, if not given.")
@click.option("--holds", is_flag=True, help="List the hold points, at a terminal as well.")
@click.option("--release", "point", metavar="HOLD_POINT", help="The hold point that is released, as hands_off.")
@click.option("--withdraw", metavar="HOLD_POINT", help="The hold point whose signature is taken back.")
@click.option("--component", "at", metavar="ADDRESS", default="", help="Whose, as kiln/2, where there are several.")
@click.option("--by", type=NAME, metavar="NAME", help="Who reads, or signs.")
@click.option(
    "--as", "role", type=WORDS, metavar="ROLE", help="In which role: owner, duty_holder, electrician, attendant ..."
)
@click.option(
    "--licence", type=WORDS, metavar="NUMBER", default="", help="Licence or registration, where one is asked for."
)
@click.option("--reason", type=WORDS, metavar="WHY", default="", help="Why a signature is taken back.")
@click.option("--json", "as_json", is_flag=True, help="Print what was kept, and how it lies, as one JSON document.")
def log(job: Path, reads: tuple[str, ...], happened: tuple[str, ...], moment: str, note: str, back: tuple[str, ...],
        file: Path | None, columns: str, stood: str, from_form: bool, day: int | None, holds: bool, point: str | None,
        withdraw: str | None, at: str, by: str | None, role: str | None, licence: str, reason: str,
        as_json: bool) -> None:  # fmt: skip
    """Log a drying: a round of readings in a minute, a logger's file, what happened. Each is answered at once.

    At a terminal, on a job that has a plan, the readings that are due now are asked for, one line each, with the band
    that the day expects. Elsewhere, or with --holds, the hold points are listed with their signatures.

    A named person's signature is recorded with --release, and taken back with --withdraw. It is refused while anything
    is missing, and ends for good when something it rests on changes or is out of date.

    \b
    Example:  recover log school-kiln
              recover log school-kiln --read casing@wall=46 --read piece=2.1 --by "A. Ttendant"
              recover log school-kiln --happened power_cut --at 14:20
              recover log school-kiln --csv week1.csv --columns "Zeit=time, T1=casing@wall"
              recover log school-kiln --take-back 41-67 --note "The logger's clock stood an hour slow"
              recover log school-kiln --csv week1.csv --clock "60 min slow"
              recover log school-kiln --release hands_off --by "E. Lectrician" --as electrician --licence 1234
    """
    if point or withdraw:
        others = {"--read": reads, "--happened": happened, "--take-back": back, "--csv": file, "--from-form": from_form}
        _one_thing(f"--{'release' if point else 'withdraw'}", others)
    said = {"reads": reads, "happened": happened, "note": note, "moment": moment}
    something = bool(reads or happened or back)
    logs = bool(something or file or from_form or sys.stdin.isatty())
    _belong_together(point, withdraw, logs=logs, alone={"--component": at, "--by": by}, role=role, licence=licence,
                     reason=reason)  # fmt: skip
    only_with("--read, --happened or --take-back", something, {"--note": note})
    only_with(_LOGS, logs, {"--at": moment})
    only_with("--csv", file, {"--columns": columns, "--clock": stood})
    only_with("--from-form", from_form, {"--day": day})
    only_with("--read, --happened, --take-back or --csv", something or file, {"--json": as_json})
    if point or withdraw:
        _sign(job, point, withdraw, at, by, role, licence, reason)
    elif file:
        _one_thing("--csv", {"--read": reads, "--happened": happened, "--take-back": back, "--from-form": from_form,
                             "--at": moment})  # fmt: skip
        _take_in(job, file, columns, stood, at, by, as_json=as_json)
    elif something:
        _one_thing("--read, --happened and --take-back", {"--from-form": from_form})
        _write(job, said, back, at, by, as_json=as_json)
    elif from_form or (sys.stdin.isatty() and not holds and _has_days(job)):
        _ask(job, at, by, moment, form=from_form, number=day)
    else:
        found = assessed(job)
        say_clock(found.answers, job)
        _list_holds(job, found)


def _one_thing(option: str, others: Mapping[str, object]) -> None:
    """Refuse options that do something else beside one that does it all."""
    if given := [name for name, one in others.items() if one]:
        raise click.UsageError(f"{option} and {', '.join(given)}: one after the other; give one of them.")


def _belong_together(point: str | None, withdraw: str | None, *, logs: bool, alone: dict[str, Any], role: str | None,
                     licence: str, reason: str) -> None:  # fmt: skip
    if point and withdraw:
        raise click.UsageError("A hold point is released or taken back: give --release or --withdraw, not both.")
    signs = point or withdraw
    if not (signs or logs):
        only_with(f"{_SIGNS}, or with {_LOGS}", None, {**alone, "--as": role})
    only_with(_SIGNS, signs, {"--as": role})
    only_with("--release", point, {"--licence": licence})
    only_with("--withdraw", withdraw, {"--reason": reason})


# ---------------------------------------------------------------------------------------- what is logged


def _write(folder: Path, said: dict[str, Any], back: Sequence[str], at: str, by: str | None, *, as_json: bool) -> None:
    """Log what was said with the command: all of it, or nothing and everything that is wrong with it."""
    from recover.interview import log_words
    from recover.interview.logbook import still_a_stop

    with _book(folder, at, by, "log") as book:
        lines, problems = log_words.lines_of(
            book, reads=said["reads"], happened=said["happened"], note=said["note"], at=said["moment"],
            fahrenheit=_fahrenheit(book.job),
        )  # fmt: skip
        numbers, wrong = log_words.take_backs(book, back, said["note"])
        end_with([*problems, *wrong])
        gone = [book.take_back(line, said["note"]) for line in numbers]
        for line in lines:
            book.write(line.kind, line.typed, at=line.at, place=line.place, note=line.note)
    if as_json:
        _print_json([(entry.answer.against, entry.answer.lines) for entry in book.kept], [one.line for one in gone])
        return
    for one in gone:
        say(f"taken back: journal line {one.line}, {_shown(one)}")
        say_lines(f"  {line}" for line in still_a_stop(one, said["note"], book))
    for entry in book.kept:
        say(f"kept: journal line {entry.one.line}, {_shown(entry.one)}")
        say_lines(f"  {line}" for line in entry.answer.lines)
    _after_round(folder, book)


def _take_in(folder: Path, file: Path, said: str, stood: str, at: str, by: str | None, *, as_json: bool) -> None:
    """Log the rows of a logger's file; how its columns are read is kept with them."""
    from recover.asked.told import FILE
    from recover.base.measures import as_written
    from recover.interview import columns, from_logger, log_words

    with _book(folder, at, by, FILE + as_written(file.name.encode("utf-8", "surrogateescape"))) as book:
        mapping_said = said or book.said_columns()
        if not mapping_said:
            names = from_logger.column_names(from_logger.read_text(file).splitlines())
            what = f"nobody has said yet which of its columns is what: {from_logger.named(names)}"
            end_with([Problem(str(file), what, "say it once: --columns 'Zeit=time, T1=casing@wall'")])
        mapping, behind = columns.columns(mapping_said, book.expected), from_logger.read_clock(stood)
        read = from_logger.read_logger(file, mapping, zone=book.zone, now=book.now(), between=book.between,
                                       fahrenheit=_fahrenheit(book.job), behind=behind)  # fmt: skip
        end_with(log_words.by_another_clock(book, str(file), from_logger.note_of(behind)))
        book.keep_columns(mapping_said)
        held = book.write_all(read.lines)
    if as_json:
        _print_json([(one, ()) for one in held], [])
        return
    for line in read.says:
        say(line)
    say_lines(_sums(held, len(read.lines), book, folder))
    _after_round(folder, book)


def _sums(held: Sequence[Against], read: int, book: LogBook, folder: Path) -> Iterator[str]:
    """Yield what came of a file: how many readings lie how, and of each channel what its last one means."""
    from recover.plan.answered import answer
    from recover.plan.kinds import log_data
    from recover.plan.log import log_of

    yield f"kept: {len(held)} readings; {read - len(held)} were here before."
    by_channel: dict[tuple[str, str], list[Against]] = {}
    log = log_of(assessed(folder).answers, book.kiln) if held else ()
    for one in held:
        by_channel.setdefault((one.one.what, one.one.place), []).append(one)
    for (what, place), of in by_channel.items():
        lies = {says: sum(one.lies == name for one in of) for name, says in log_data().lies.items()}
        counted = ", ".join(f"{number} {says}" for says, number in lies.items() if number)
        yield f"{', '.join(filter(None, (what, place)))}: {counted}"
        last = next((one for one in of if one.lies == "stop"), of[-1])
        told = answer(last.one, book.plan, log, folder, book.since, book.whose)
        yield from (f"  {last.one.measured:%Y-%m-%d %H:%M} {line}" for line in told.lines)


def _ask(folder: Path, at: str, by: str | None, moment: str, *, form: bool, number: int | None) -> None:
    """Ask a round of readings, or row by row for a day's sheet. All that was answered is kept, however it ends."""
    from recover.interview.log_words import moment_of
    from recover.interview.round import FormLines, Round, head_of
    from recover.interview.terminal import Terminal
    from recover.plan.kinds import log_data

    try:
        with _book(folder, at, by, "form" if form else "log") as book:
            now = moment_of(book, moment)
            day = _day(book, now, number)
            rows = book.rows(day, now, form=form)
            shut = () if form else _hands_off(folder, book.kiln)
            say_lines([*shut, head_of(book.label, day, now, len(rows), form=form), ""])
            of: dict[str, Any] = {
                "day": day,
                "at": now if moment else None,
                "form": form,
                "fahrenheit": _fahrenheit(book.job),
                "named": bool(by),
            }
            if sys.stdin.isatty():
                with Terminal(say) as terminal:
                    Round(book, terminal, rows, **of).run()
            else:
                Round(book, FormLines(sys.stdin, say), rows, **of).run()
    except (KeyboardInterrupt, EOFError):
        say(f"\nLeft. All that was read is kept. Go on with: {command('log', folder)}", err=True)
        sys.exit(130)
    outside = sum(entry.answer.against.lies in ("below", "above", "stop") for entry in book.kept)
    say(log_data().ask.kept.format(kept=len(book.kept), outside=outside))
    if not (form or moment) and book.kept and book.kept[-1].answer.stops:
        _leave_the_stop(folder)
    else:
        _after_round(folder, book)


def _leave_the_stop(folder: Path) -> None:
    """End a round at its stop, which stays on the screen: no other screen follows, and no line that was typed ahead
    for the round goes to the shell."""
    from recover.interview.terminal import forget_typed
    from recover.plan.kinds import log_data

    forget_typed(sys.stdin)
    say(log_data().ask.stands.format(command=command("status", folder)))


def _hands_off(folder: Path, kiln: str) -> Iterator[str]:
    """Yield that nobody may touch a kiln, and who signs before that, while its first hold point is not released."""
    from recover.plan.kinds import log_data

    hold = assessed(folder).hold("hands_off", kiln)
    if hold.stands != "released":
        yield log_data().ask.hands_off.format(
            title=hold.point.title, stands=hold.stands, until=hold.point.until_then, who=hold.released_by,
            command=command("log", folder, "--holds"),
        )  # fmt: skip


def _day(book: LogBook, now: datetime, number: int | None) -> Any:
    """Return the day that is asked for: by its number, or that of the moment. Raises AnswerError."""
    if number is None:
        return book.day(now)
    day = next((one for one in (book.plan.days if book.plan else ()) if one.number == number), None)
    if day is None:
        raise AnswerError(f"there is no day {number} in the newest plan; expected 1 to "
                          f"{len(book.plan.days) if book.plan else 0}")  # fmt: skip
    return day


# ---------------------------------------------------------------------------------------- the book


@contextmanager
def _book(folder: Path, at: str, by: str | None, source: str) -> Iterator[LogBook]:
    """Open the log of a kiln for writing; `by` is who reads, whoever logged last where nobody is named."""
    from recover.interview.logbook import LogBook, kiln_named, kilns_of, plan_of
    from recover.job.journal import Journal
    from recover.judged.assessment import answers_of

    job = settled(folder)
    plan, answers = _plan(job), answers_of(job)
    kiln = kiln_named(answers, plan, at)
    who = by or (answers.logged[-1].by if answers.logged else job.events[0].by)
    with Journal(job.journal) as journal:
        yield LogBook(job, journal, kiln, plan_of(plan, kiln), by=who, source=source, label=answers.label(kiln),
                      waits=lambda at: heat_waited(folder, kiln, at),
                      several=len(kilns_of(answers, plan)) > 1)  # fmt: skip


def heat_waited(folder: Path, kiln: str, at: datetime) -> bool:
    """Return whether own heat of a kiln waited at a moment for anything but a reading, by what was written by then.

    A round is judged by what was so before it: of what is read in one minute nothing tells which was first, and a stop
    among it has not switched anything off yet.
    """
    from recover.interview.logbook import plan_of
    from recover.job.folder import open_job
    from recover.judged.assessment import assess
    from recover.plan.log import day_of
    from recover.report.status_view import look_at
    from recover.report.today import KilnNow

    job = open_job(folder)
    before = (one for one in job.events if one.moment.timestamp() <= at.timestamp() and not _is_of_round(one, at))
    then = replace(job, events=tuple(before))
    plan = _plan(then)
    of = plan_of(plan, kiln)
    if plan is None or of is None:
        return True
    look = look_at(assess(then, at), plan, at)
    return KilnNow(look=look, plan=plan, kiln=of, given=day_of(of, at)).heat_waits


def _is_of_round(event: Event, at: datetime) -> bool:
    """Whether a line of the log was read in the minute of a round, or later."""
    from recover.asked.told import to_the_minute

    if event.kind != "logged":
        return False
    measured = datetime.fromisoformat(event.data["measured"])
    return to_the_minute(measured).timestamp() >= to_the_minute(at).timestamp()


def _plan(job: Job) -> JobPlan | None:
    """Return the newest plan; where it is not as it was stored, say so and go on without it."""
    from recover.plan import store

    try:
        return store.newest(job)
    except DataError as error:
        say(f"{error}. What is logged is held against nothing.", err=True)
        return None


def _has_days(folder: Path) -> bool:
    """Whether the newest plan of a job has a day of any kiln."""
    from recover.job.folder import open_job

    plan = _plan(open_job(folder))
    return plan is not None and any(kiln.days for kiln in plan.kilns)


def _fahrenheit(job: Job) -> bool:
    from recover.profiles import profile

    return profile(job.settings.profile).imperial


# ---------------------------------------------------------------------------------------- what is printed


def _after_round(folder: Path, book: LogBook) -> None:
    """Show where the drying stands after what was just logged of a day: now, also where it was typed in late, unless
    that day is over."""
    from recover.report.status import round_lines

    last = max((entry.one.measured for entry in book.kept), key=lambda at: at.timestamp(), default=None)
    day = book.day(last) if last else None
    plan = _plan(book.job)
    if last and day and plan and book.plan:
        now = book.now()
        at = now if book.day(now) == day else last
        say("\n" + "\n".join(round_lines(assessed(folder), plan, book.plan, day, at, folder=folder)))


def _shown(one: Any) -> str:
    from recover.plan.answered import value_text
    from recover.plan.kinds import kinds

    label = kinds()[one.what].label if one.what in kinds() else one.what
    named = ", ".join(filter(None, (label, one.place)))
    return f"{named}: {value_text(one)}, {one.measured:%Y-%m-%d %H:%M}, by {one.by}"


def _print_json(held: Sequence[tuple[Against, Sequence[str]]], gone: Sequence[int]) -> None:
    kept = [
        {
            "line": one.one.line, "kiln": one.one.kiln, "what": one.one.what, "place": one.one.place,
            "measured": one.one.measured.isoformat(), "value": one.one.value, "unit": one.one.unit,
            "at_least": one.one.at_least, "word": one.one.word, "note": one.one.said,
            "details": dict(one.one.details), "joined": one.one.joined, "by": one.one.by,
            "day": one.day.number if one.day else None, "lies": one.lies, "expected": _band(one), "says": list(lines),
        }
        for one, lines in held
    ]  # fmt: skip
    say(json.dumps({"kept": kept, "taken_back": list(gone)}, ensure_ascii=False, indent=1))


def _band(one: Against) -> dict[str, float | None] | None:
    of = one.expected
    return {"low": of.low, "mid": of.mid, "high": of.high, "stop": of.stop} if of else None


# ---------------------------------------------------------------------------------------- hold points


def _sign(job: Path, point: str | None, withdraw: str | None, at: str, by: str | None, role: str | None, licence: str,
          reason: str) -> None:  # fmt: skip
    """Record a named person's signature under a hold point, or take one back."""
    from recover.judged import release as signing

    if not by or not role:
        raise click.UsageError("A signature needs a person: --by NAME --as ROLE.")
    if withdraw and not reason.strip():
        raise click.UsageError("A signature is taken back for a reason, which whoever signs next reads: --reason WHY.")
    settled(job, clock=bool(withdraw))
    say(signing.withdraw(job, withdraw, at, by=by, role=role, reason=reason) if withdraw
        else signing.release(job, point or "", at, by=by, role=role, licence=licence))  # fmt: skip


def _list_holds(folder: Path, found: Assessment) -> None:
    from recover.report.plain import hold_lines

    for hold in found.holds:
        still = [f"{'':18} to be signed by: {hold.still}"] if hold.still else []
        head = f"{hold.stands:18} {hold.point.id:12} {hold.at:8} {hold.point.title}"
        say_lines([head, *hold_lines(hold), *still])
    say_lines(_next_under(folder, found))
    for problem in (*found.of_journal, *found.of_files):
        say(str(problem), err=True)


def _next_under(folder: Path, found: Assessment) -> Iterator[str]:
    """Yield what can be done next on the way to the hand-over: what to sign and to answer; then what stands beside.

    Work on the way waits for nothing that stands beside it: only lifting does for the lift.
    """
    from recover.judged.standing import to_sign
    from recover.rules.gates import on_the_way

    way, heated = on_the_way("handover"), on_the_way("own_heat")
    near = [hold for hold in found.holds if hold.state != "released" and not hold.waits]
    near.sort(key=lambda hold: hold.point.id not in way)
    dried = next(one.title for one in found.answers.questions.section if one.id == "dried")
    if all(hold.state == "released" for hold in found.holds if hold.point.id in heated):
        yield f"{'next':18} {command('plan', folder)}; after each heating: {command('inspect', folder)}, “{dried}”"
    asks = next((hold for hold in near if hold.unmet), None)
    for hold in near:
        label = "next" if hold.point.id in way else "beside"
        if not hold.unmet:
            yield f"{label:18} {hold.point.title}: {to_sign(folder, hold, found.profile)}"
        elif hold is asks:
            yield f"{label:18} {command('inspect', folder)}, What is missing for “{hold.point.title}”"
