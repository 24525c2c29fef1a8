"""A round of readings: what is due, each on the disk before the next is asked and answered at once; a sheet too."""

import json
import signal
import subprocess
import sys
from dataclasses import replace
from datetime import timedelta
from io import StringIO
from pathlib import Path

import pytest

from recover.asked.told import Logged
from recover.commands import log_command
from recover.interview import terminal
from recover.interview.logbook import Entry, LogBook
from recover.interview.round import FormLines, Round
from recover.job.folder import open_job
from recover.job.journal import Journal
from recover.judged.assessment import answers_of
from recover.plan.answered import LogAnswer
from recover.plan.due import due, of_the_sheet
from recover.plan.kinds import Typed as Read
from recover.plan.kinds import kinds
from recover.plan.log import Against
from recover.plan.whole import Expected
from tests import logs, plan_job, sample_plan
from tests.command import run
from tests.terminal import Desk

KILN = sample_plan.planned()
DAY = KILN.days[0]
TEN = sample_plan.moment(DAY.date, 10)
HEATED = sample_plan.by_own().days[0]
AT_OPENING = Expected(what="insulation", place=sample_plan.ELEMENTS, at=HEATED.attended_from, unit="MΩ", low=1.0)
OWN = replace(HEATED, readings=(AT_OPENING, *HEATED.readings))
PICTURES = Path(__file__).parent / "jobs" / "v3" / "photographs"
SEEN = "Drips, smell, a trip"


@pytest.fixture
def job(tmp_path):
    return logs.write(tmp_path / "job")


class Typed:
    """Types lines, then leaves; keeps what was shown."""

    def __init__(self, *lines):
        self.lines, self.asked, self.said, self.refused = list(lines), [], [], []

    def row(self, text, read):
        self.asked.append(text)
        while True:
            try:
                return read(self.lines.pop(0) if self.lines else "leave")
            except Exception as error:
                if not hasattr(error, "args") or type(error).__name__ != "AnswerError":
                    raise
                self.refused.append(str(error))

    def say(self, text):
        self.said.append(text)


def asked(job, *lines, day=DAY, kiln=KILN, at=None, now=TEN, **more):
    """Ask a round of these lines; return who typed them and what the log holds then."""
    typed = Typed(*lines)
    with Journal(job / "journal.jsonl") as journal:
        book = LogBook(open_job(job), journal, "kiln/1", kiln, by="A. Repairer", clock=lambda: now)
        by_now = due(day, now) if day else []  # nothing was missed before
        rows = book.rows(day, now, form=True) if more.get("form") else by_now
        Round(book, typed, rows, day=day, at=at, **more).run()
    return typed, [(one.what, one.value if one.value is not None else one.word) for one in logs.logged(job)]


# ---------------------------------------------------------------------------------------- the way through


def test_what_decides_and_was_missed_is_asked_in_every_round_until_it_is_read(job):
    def rows(now, *lines, day=OWN):
        with Journal(job / "journal.jsonl") as journal:
            book = LogBook(open_job(job), journal, "kiln/1", sample_plan.by_own(days=(OWN,)), by="A")
            for what, value, unit in lines:
                book.write(kinds()[what], Read(value=value, unit=unit), at=day.attended_from)
            return [one.kind.id for one in book.rows(day, now, form=False)]

    noon = sample_plan.moment(OWN.date, 12.1)
    asked_for = rows(noon)
    assert (asked_for[0], asked_for[-1]) == ("insulation", "piece")
    assert rows(noon, ("insulation", 2.0, "MΩ"))[-1] == "piece"
    assert not {"insulation", "piece"} & set(rows(noon, ("piece", 1.5, "kg")))


def test_what_is_due_is_asked_with_its_band_and_enter_skips(job):
    typed, log = asked(job, "B. Reader", "", "", "46", "", "", "none")
    assert typed.asked[0] == "Who reads (Enter: A. Repairer)"
    assert f"Casing, {sample_plan.CASING} (36 to 48 °C, stop 55 °C)" in typed.asked
    assert log == [("casing", 46.0), ("drips", "none"), ("smell", "none")]
    assert {one.by for one in logs.logged(job)} == {"B. Reader"}
    assert typed.said[0] == "  46 °C: within 36 to 48 °C."


def test_a_round_that_was_broken_off_names_what_was_kept_of_it_and_enter_keeps_it(job):
    """Killed after the casing, and begun anew three minutes later; an hour later it is read anew."""
    asked(job, "", "", "", "46")
    again, log = asked(job, *[""] * 9, now=TEN + timedelta(minutes=3))
    of_casing = [line for line in again.asked if line.startswith("Casing")]
    later, _ = asked(job, "leave", now=TEN + timedelta(hours=1))

    assert of_casing == [f"Casing, {sample_plan.CASING} (36 to 48 °C, stop 55 °C) [kept 10:00: 46 °C; Enter keeps it]"]
    assert not [line for line in again.asked if "[kept" in line and line not in of_casing]
    assert log == [("casing", 46.0)]
    assert not [line for line in later.asked if "[kept" in line]


def test_a_reading_of_another_place_is_none_of_this_one(job):
    with Journal(job / "journal.jsonl") as journal:
        book = LogBook(open_job(job), journal, "kiln/1", KILN, by="A. Repairer", clock=lambda: TEN)
        book.write(kinds()["casing"], Read(value=46.0, unit="°C"), at=TEN, place="lid")
    typed, _ = asked(job, "", "", "", now=TEN + timedelta(minutes=3))

    assert not [line for line in typed.asked if "[kept" in line]


def test_help_says_what_may_be_typed_and_a_condition_that_could_not_be_read_is_left_open(job):
    """As the header of the round says: `?` at a reading, and at what stands beside it."""
    typed, log = asked(job, "", "help", "21", "?", "leave")
    assert any("could not be read" in line for line in typed.refused)
    assert log == [("exhaust", 21.0)]


def test_a_number_is_nobody_s_name_and_is_asked_again(job):
    typed, log = asked(job, "44", "B. Reader", "", "", "46", "", "", "none")

    assert typed.refused == ["'44' is no name; type who it is, as in 'A. Attendant'"]
    assert {one.by for one in logs.logged(job)} == {"B. Reader"}
    assert log[0] == ("casing", 46.0)


def test_who_reads_is_not_asked_where_the_command_said_it(job):
    typed, _ = asked(job, "", "", "46", "", "", "none", named=True)

    assert not any(one.startswith("Who reads") for one in typed.asked)
    assert {one.by for one in logs.logged(job)} == {"A. Repairer"}


@pytest.mark.parametrize("verb", [("log", "--read", "kwh=4"), ("plan",), ("check", "--mend")])
def test_no_verb_takes_a_number_for_the_name_of_whoever_says_it(job, verb):
    done = run(verb[0], job, *verb[1:], "--by", "12")

    assert done.returncode == 2
    assert "is no name; type who it is" in " ".join(done.stderr.split())


def test_the_band_that_is_asked_with_is_the_one_that_answers(job):
    """Between ten and twelve it is what lies between theirs, on the line and in the answer alike."""
    higher = {"low": 46.0, "mid": 51.0, "high": 58.0, "stop": 65.0}
    noon = sample_plan.moment(DAY.date, 12)
    readings = tuple(replace(one, **higher) if one.what == "casing" and one.at == noon else one for one in DAY.readings)
    day = replace(DAY, readings=readings)
    eleven = sample_plan.moment(DAY.date, 11)
    kiln = replace(KILN, days=(day, *KILN.days[1:]))
    typed, _ = asked(job, "", "", "", "46", "leave", day=day, kiln=kiln, now=eleven)
    assert f"Casing, {sample_plan.CASING} (41 to 53 °C, stop 60 °C)" in typed.asked
    assert typed.said[0] == "  46 °C: within 41 to 53 °C."


def test_each_line_is_on_the_disk_before_the_next_is_asked(job):
    seen = []

    class Watching(Typed):
        def row(self, text, read):
            seen.append((text, len(logs.logged(job))))
            return super().row(text, read)

    with Journal(job / "journal.jsonl") as journal:
        book = LogBook(open_job(job), journal, "kiln/1", KILN, by="A", clock=lambda: TEN)
        Round(book, Watching("", "21;46", "18;17", "46"), due(DAY, TEN), day=DAY).run()
    assert [n for _, n in seen] == [0, 0, 1, 2, 3]


def test_what_could_not_be_read_is_written_down_as_that(job):
    _, log = asked(job, "", "?", "", "leave")
    assert log == [("exhaust", "not_read")]


def test_back_asks_again_and_the_new_reading_stands_in_the_place_of_the_old(job):
    _, log = asked(job, "", "", "", "44", "back", "46", "leave")
    assert log == [("casing", 46.0)]
    assert [one.data.get("takes_back") for one in open_job(job).events if one.kind == "logged"].count(None) == 2


def test_back_out_of_what_is_read_with_it_comes_to_the_reading_itself(job):
    _, log = asked(job, "", "12", "back", "21", "46", "leave")
    assert log == [("exhaust", 21.0)]


def test_back_from_the_last_question_comes_to_the_last_row(job):
    _, log = asked(job, "", "", "", "", "", "", "/", "/", "1.6", "leave")
    assert log == [("litres", 1.6)]


def test_leave_keeps_what_was_typed(job):
    assert asked(job, "", "21;46", "leave")[1] == [("exhaust", 21.0)]
    assert asked(job)[1] == [("exhaust", 21.0)]


def test_a_time_of_its_own_stands_behind_a_reading(job):
    asked(job, "", "", "", "46 @ 09:40", "leave")
    assert logs.logged(job)[0].measured == sample_plan.moment(DAY.date, 9 + 40 / 60)


def test_a_time_that_has_not_come_is_refused(job):
    typed, log = asked(job, "", "", "", "46 @ 15:00", "", "leave")
    assert "has not come yet" in typed.refused[0]
    assert log == []


def test_what_is_read_with_it_is_asked_and_taken_from_before_by_a_sign(job):
    """Insulation is due in the evening: value, what was joined, lining, test voltage."""
    evening = sample_plan.moment(DAY.date, 19.5)
    rows = ("", "", "", "", "0.3 M", "all lives", "18 C", "500")
    typed, _ = asked(job, *_at_insulation(evening, rows), now=evening)
    assert "    What was joined" in typed.asked
    typed, _ = asked(
        job, *_at_insulation(evening, ("", "", "", "", "0.4M", "=", "=", "=")), now=evening + timedelta(minutes=1)
    )
    assert "    What was joined, =: all lives" in typed.asked
    assert "    test voltage (V), =: 500 V" in typed.asked
    first, second = logs.logged(job)
    assert (first.joined, first.details) == (second.joined, second.details)
    assert first.details.items() >= {"lining_degc": 18.0, "test_volts": 500.0}.items()


def _at_insulation(at, lines):
    """Return lines with as many empty ones before the insulation as there are rows before it."""
    before = [one.kind.id for one in due(DAY, at)].index("insulation")
    return ["", *[""] * before, *lines[4:], "leave"]


def test_anything_else_is_taken_by_its_name(job):
    typed, log = asked(
        job, "", "", "", "", "", "pressure 3", "kwh 14,2", "leakage=0.4 mA", "casing@wall 44", "", "none"
    )
    assert "is nothing that is logged" in typed.refused[0]
    assert log[:3] == [("kwh", 14.2), ("leakage", 0.4), ("casing", 44.0)]
    assert logs.logged(job)[2].place == sample_plan.CASING


@pytest.mark.parametrize("said", [
    f"casing@{sample_plan.CASING} 44", f"casing@{sample_plan.CASING}=44", "casing@wall, low 44 C",
    "casing@wall 44 @ 09:50",
])  # fmt: skip
def test_a_place_may_hold_blanks(job, said):
    _, log = asked(job, "", "", "", "", "", said, "", "none")
    assert log[0] == ("casing", 44.0)
    assert logs.logged(job)[0].place == sample_plan.CASING


def test_what_was_seen_is_told_in_one_line_by_the_beginnings_of_words(job):
    typed, log = asked(job, "", "", "", "", "", "", "maybe", "some musty")
    assert "is none of these words" in typed.refused[0]
    assert log == [("drips", "some"), ("smell", "musty")]


def test_nothing_is_preselected_where_nobody_looked(job):
    assert asked(job, "", "", "", "", "", "", "")[1] == []


# ---------------------------------------------------------------------------------------- a stop


def test_a_stop_ends_a_round_of_readings_that_are_taken_now(job):
    typed, log = asked(job, "", "", "", "57", "1.6", "", "none")
    assert log == [("casing", 57.0)]
    assert typed.said[0].startswith("  STOP, hands off. 57 °C: beyond 55 °C")
    assert f"Off: {sample_plan.HEATER_OFF}." in typed.said[0]
    assert "The round ends here" in typed.said[-1]
    assert "--happened other" in typed.said[-3]
    assert "--take-back" in typed.said[-2]


@pytest.mark.parametrize(("why", "struck"), [("Read off the wrong dial", True), ("", False)])
def test_a_stop_that_is_corrected_asks_why_and_without_a_reason_says_that_it_stays_one(job, why, struck):
    typed, log = asked(job, "", "", "", "57", "/", "47", why, "leave", at=TEN)
    assert log == [("casing", 47.0)]
    assert "    57 °C was a stop: why is it taken back (Enter: not said, and it stays a stop)" in typed.asked
    answers = answers_of(open_job(job))
    assert list(answers.struck.values()) == ([why] if struck else [])
    assert any("it stays one for the hold points" in line for line in typed.said) is not struck


def test_no_reason_is_asked_for_what_was_no_stop(job):
    typed, _ = asked(job, "", "", "", "44", "/", "46", "leave", at=TEN)
    assert not [line for line in typed.asked if "why is it taken back" in line]


def test_what_is_copied_later_goes_on_after_it(job):
    _, log = asked(job, "", "", "", "57", "1.6", "", "none", at=TEN)
    assert [what for what, _ in log] == ["casing", "litres", "drips", "smell"]


def test_a_trip_ends_it_too_and_says_that_nobody_resets_it(job):
    typed, log = asked(job, "", "", "", "", "", "", "rcd")
    assert log == [("stopped", "rcd_trip")]
    assert "never reset" in typed.said[0]


# ---------------------------------------------------------------------------------------- other kilns, other degrees


def test_a_moment_of_no_day_asks_for_no_row(job):
    typed, log = asked(job, "", "casing@wall 30", "", "none", day=None, now=sample_plan.moment(DAY.date, 3))
    assert len(typed.asked) == 4
    assert log[0] == ("casing", 30.0)


def test_where_degrees_fahrenheit_are_read_the_band_is_told_in_both(job):
    typed, log = asked(job, "", "", "", "46", "108 F", "leave", fahrenheit=True)
    assert f"Casing, {sample_plan.CASING} (97 to 118 °F; 36 to 48 °C, stop 55 °C)" in typed.asked
    assert "has no unit" in typed.refused[0]
    assert log == [("casing", pytest.approx(42.22, abs=0.01))]


# ---------------------------------------------------------------------------------------- a sheet as a form


def test_a_sheet_is_typed_in_row_by_row_each_at_its_hour(job):
    rows = of_the_sheet(DAY)
    text = "A. Ttendant\n" + "".join(
        "46\n" if one.kind.id == "casing" else "2.0\n" if one.kind.id == "piece" else "\n" for one in rows
    )
    with Journal(job / "journal.jsonl") as journal:
        book = LogBook(open_job(job), journal, "kiln/1", KILN, by="A", clock=lambda: TEN + timedelta(hours=12))
        Round(book, FormLines(StringIO(text), lambda *_, **__: None), rows, day=DAY, form=True).run()
    casings = [one for one in logs.logged(job) if one.what == "casing"]
    assert [one.measured.hour for one in casings] == [10, 12, 14, 16, 18]
    assert next(one.measured.hour for one in logs.logged(job) if one.what == "piece") == 8


def test_the_form_of_a_named_day_comes_from_a_stream_too(job):
    done = subprocess.run(
        [sys.executable, "-m", "recover", "log", job, "--from-form", "--day", "2"],
        input="B. Reader\n2.05\n\n\n\n\n\n", text=True, capture_output=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "Kiln 1, day 2: its sheet, row by row" in done.stdout
    (one,) = [one for one in logs.logged(job) if one.what == "piece"]
    assert (one.value, f"{one.measured:%Y-%m-%d %H:%M}") == (2.05, "2026-04-15 08:00")


def test_a_day_that_the_plan_has_not_is_refused(job):
    assert "there is no day 99 in the newest plan" in run("log", job, "--from-form", "--day", "99").stderr


# ---------------------------------------------------------------------------------------- at a terminal


@pytest.fixture
def heated(tmp_path):
    """A job of own heat on whose first day eight readings are due at ten."""
    day = sample_plan.heated(1, 0.5)
    ten = sample_plan.moment(day.date, 10)
    casing = next(one for one in day.readings if one.what == "casing" and one.at == ten)
    more = [replace(casing, place=place) for place in ("door", "floor", "lid")]
    insulation = replace(
        casing, what="insulation", place=sample_plan.ELEMENTS, unit="MΩ", low=None, high=None, stop=0.1
    )
    exhaust = replace(casing, what="exhaust", place="out", unit="%", low=20, high=40, stop=None)
    kiln = sample_plan.by_own(days=(replace(day, readings=(*day.readings, *more, insulation, exhaust)),))
    return logs.write(tmp_path / "heated", kiln)


def test_a_round_of_eight_readings_is_typed_in_no_more_than_120_keystrokes(heated):
    desk = Desk("log", str(heated), "--at", logs.TEN)
    turns = [
        ("Who reads", "\r"), ("Chamber, independent probe", "44\r"), (f"Casing, {sample_plan.CASING}", "33,5\r"),
        ("Casing, door", "34\r"), ("Casing, floor", "31\r"), ("Casing, lid", "36\r"),
        ("Insulation", "1.2M;all lives;60C;500V\r"), ("Air that leaves", "31;46\r"), ("Air that enters", "40;18\r"),
        ("Water caught", "0.6\r"), ("Weight of the piece", "\r"), ("Anything else", "kwh 4\r"),
        ("Anything else", "\r"), (SEEN, "none\r"),
    ]  # fmt: skip
    for shown, keys in turns:
        desk.wait_for(f"? {shown}")
        desk.send(keys)
    desk.wait_for("kept, 2 of them outside")  # chamber and lining: nobody has released own heat here
    assert desk.finish() == 0
    assert sum(len(keys) for _, keys in turns) <= 120
    assert len([one for one in logs.logged(heated) if one.value is not None]) >= 8


def test_a_round_at_a_kiln_that_nobody_may_touch_says_that_first_and_keeps_what_was_read(job):
    desk = Desk("log", str(job), "--at", logs.TEN)
    desk.wait_for("“Hands off” is closed: nobody touches this kiln.", "It is signed by: ", "? Who reads")
    for shown, keys in (("Who reads", "\r"), ("Air that leaves", "21;46\r"), ("Air that enters", "leave\r")):
        desk.wait_for(f"? {shown}")
        desk.send(keys)
    assert desk.finish() == 0
    assert [one.what for one in logs.logged(job)] == ["exhaust"]


def test_a_slip_is_refused_and_asked_again_and_a_stop_is_answered_at_once(job):
    desk = Desk("log", str(job), "--at", logs.TEN)
    for shown, keys in (
        ("Who reads", "\r"),
        ("Air that leaves", "\r"),
        ("Air that enters", "\r"),
        ("Casing", "warm\r"),
    ):
        desk.wait_for(f"? {shown}")
        desk.send(keys)
    desk.wait_for("! 'warm' is not a number", "? Casing")
    desk.send("57\r")
    desk.wait_for("STOP, hands off. 57 °C: beyond 55 °C", f"Off: {sample_plan.HEATER_OFF}.", "? Water caught")
    desk.send("leave\r")
    assert desk.finish() == 0


def test_a_stop_in_a_round_of_now_stays_on_the_screen_and_no_line_typed_ahead_is_left(tmp_path, monkeypatch):
    """At the end stand its answer, how a slip is taken back, and where the drying stands by a command."""
    job, said, flushed = logs.write(tmp_path / "job"), [], []
    one = Logged(line=9, by="A", kiln="kiln/1", what="casing", measured=TEN)
    row = Entry(one, LogAnswer(Against(one, None, None, "stop"), (), stops=True))
    monkeypatch.setattr(Round, "run", lambda round_: round_.book.kept.append(row))
    monkeypatch.setattr(log_command, "say", lambda text, **_: said.append(text))
    monkeypatch.setattr(terminal, "forget_typed", lambda stream: flushed.append(stream))
    log_command._ask(job, "", "A", "", form=False, number=None)

    assert said[-1] == f"Where the drying stands: recover status {job}"
    assert len(flushed) == 1


@pytest.mark.parametrize("ending", ["interrupt", "kill"])
def test_whatever_ends_a_round_loses_at_most_the_reading_that_is_being_typed(job, ending):
    desk = Desk("log", str(job), "--at", logs.TEN)
    for shown, keys in (
        ("Who reads", "\r"),
        ("Air that leaves", "21;46\r"),
        ("Air that enters", "40;18\r"),
        ("Casing", "4"),
    ):
        desk.wait_for(f"? {shown}")
        desk.send(keys)
    desk.wait_for("4")
    if ending == "kill":
        desk.child.kill(signal.SIGKILL)
        desk.child.wait()
    else:
        assert desk.interrupt() == 130
        assert "All that was read is kept" in " ".join(desk.screen.display)
    assert [one.what for one in logs.logged(job)] == ["exhaust", "inlet"]
    assert json.loads((job / "journal.jsonl").read_text().splitlines()[-1])["kind"] == "logged"


def test_a_job_without_days_lists_its_hold_points_at_a_terminal_and_holds_lists_them_anyway(job, tmp_path):
    for words in ((str(plan_job.write(tmp_path / "none").folder),), (str(job), "--holds")):
        desk = Desk("log", *words)
        desk.wait_for("own_heat")
        assert desk.finish() == 0


def test_the_photograph_of_a_signed_sheet_is_kept_under_its_slate(job, tmp_path):
    picture = tmp_path / "slate-341.jpg"
    picture.write_bytes((PICTURES / "slate-22-water-line.jpg").read_bytes())
    done = run("photo", job, picture)
    assert "dried.sheet@kiln/1 (by slate)" in done.stdout, done.stderr


def test_a_weighing_stands_with_what_the_plan_says_that_a_dry_piece_weighs(job):
    """What it was held against goes with it: a later plan may say something else."""
    kiln = replace(KILN, criteria=sample_plan.criteria())
    rows = [one.kind.id for one in due(DAY, DAY.attended_from)]
    typed = ["2.0" if one == "piece" else "" for one in rows]
    asked(job, "", *typed, kiln=kiln, now=DAY.attended_from)
    (one,) = [one for one in logs.logged(job) if one.what == "piece"]
    assert one.details == {"target": 1.32}
