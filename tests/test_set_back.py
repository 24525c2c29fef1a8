"""A clock that was set back: every verb says it first, what is read is kept, and no later stop is forgotten."""

from datetime import timedelta

import pytest

from recover.interview.logbook import LogBook
from recover.job.folder import open_job
from recover.job.journal import Journal, utc_now
from recover.judged.assessment import answers_of
from recover.judged.set_back import note, set_back
from recover.plan.kinds import Typed, kinds
from recover.report.status import screen
from tests import logs
from tests.command import run
from tests.status_job import STATES, at, glance, outside, read
from tests.test_plan_papers import found

SET_BACK = "one of the two clocks is wrong"


@pytest.fixture
def ahead(tmp_path):
    """A job with a plan whose last line is two days ahead of this computer's clock."""
    folder = logs.write(tmp_path / "job")
    with Journal(folder / "journal.jsonl", lambda: utc_now() + timedelta(days=2)) as journal:
        book = LogBook(open_job(folder), journal, "kiln/1", None, by="A. Tendant")
        book.write(kinds()["stopped"], Typed(word="power_cut"), at=utc_now() + timedelta(days=2))
    return folder


@pytest.mark.parametrize("verb", [
    ("log", "--holds"), ("log", "--read", "kwh=4"), ("status",), ("check",), ("inspect", "--answers", "none.toml"),
    ("log", "--release", "hands_off", "--by", "E. Lectrician", "--as", "electrician", "--licence", "1"),
], ids=lambda verb: " ".join(verb[:2]))  # fmt: skip
def test_each_verb_says_that_the_clock_was_set_back_and_what_to_look_at(ahead, verb):
    (ahead.parent / "none.toml").write_text('format = "recover-answers"\nversion = 1\nby = "A"\n')
    more = [str(ahead.parent / one) if one == "none.toml" else one for one in verb[1:]]
    done = run(verb[0], ahead, *more)
    told = " ".join((done.stderr + done.stdout).split())

    assert SET_BACK in told
    assert "Look at date, time and zone of this computer" in told
    assert "--mend" in told or verb == ("status",)


def test_a_clock_that_stands_right_is_not_spoken_of(tmp_path):
    folder = logs.write(tmp_path / "job")

    for verb in (("log", "--holds"), ("status",), ("check",)):
        done = run(verb[0], folder, *verb[1:])
        assert SET_BACK not in done.stderr + done.stdout


def test_two_machines_a_few_minutes_apart_are_both_right(tmp_path):
    folder = logs.write(tmp_path / "job")
    answers = answers_of(open_job(folder))
    last = max(event.moment for event in open_job(folder).events)

    assert set_back(answers_of(open_job(folder), now=last - timedelta(minutes=9))) == ""
    assert set_back(answers_of(open_job(folder), now=last - timedelta(minutes=11))) != ""
    assert note(answers) == ""


def test_what_is_read_by_it_is_kept_with_a_note_that_says_so(ahead):
    done = run("log", ahead, "--read", "kwh=4")

    assert done.returncode == 0, done.stdout + done.stderr
    (one,) = [one for one in logs.logged(ahead) if one.what == "kwh"]
    assert one.said.startswith("by a clock that stood before a line of ")


def test_once_the_other_clock_is_known_to_have_been_wrong_nobody_is_held_up_any_more(ahead):
    run("check", ahead, "--mend", "--by", "A. Repairer")

    assert SET_BACK not in run("status", ahead).stdout
    assert run("check", ahead).returncode == 0


def test_only_what_was_written_by_the_clock_that_ran_ahead_is_void_and_the_visit_stays(ahead):
    """From the first line that is ahead to the last: what was read before it, and what is read since, counts on."""
    visit = len(open_job(ahead).events) - 1
    done = run("check", ahead, "--mend", "--by", "A. Repairer")
    run("log", ahead, "--read", "kwh=4", "--by", "A. Repairer")
    events = open_job(ahead).events
    known = answers_of(open_job(ahead))

    assert f"nothing on line {visit + 1} opens a hold point" in " ".join(done.stdout.split())
    assert [event.n for event in events if known.is_line_unproved(event.n)] == [visit + 1]
    assert [one.what for one in known.log_by_kiln["kiln/1"]] == ["kwh"]
    assert run("check", ahead, "--mend", "--by", "A. Repairer").returncode == 0
    assert len(open_job(ahead).events) == len(events)  # said once


def test_what_a_clock_that_ran_ahead_took_back_of_the_log_before_it_stands_again(tmp_path):
    folder = logs.write(tmp_path / "job")
    run("log", folder, "--happened", "power cut", "--by", "A. Repairer")
    (cut,) = logs.logged(folder)
    with Journal(folder / "journal.jsonl", lambda: utc_now() + timedelta(days=2)) as journal:
        LogBook(open_job(folder), journal, "kiln/1", None, by="A. Tendant").take_back(cut.line, "another kiln")
    assert logs.logged(folder) == []
    run("check", folder, "--mend", "--by", "A. Repairer")

    assert [one.line for one in logs.logged(folder)] == [cut.line]


def test_no_stop_of_a_later_time_is_forgotten_with_a_plan_or_without(tmp_path):
    cut = read("stopped", None, at(3, 12), unit="", word="power_cut")
    planned = glance(found(), outside(), at(1, 10), cut)
    alone = glance(found(), None, at(1, 10), cut)

    for look in (planned, alone):
        assert "Stop, hands off" in " ".join(" ".join(screen(look)).split())


def test_it_is_told_before_a_stop(monkeypatch):
    look = next(one() for name, one in STATES.items() if screen(one())[1].startswith("next     Stop"))
    monkeypatch.setattr(type(look.found.answers), "ahead", look.found.answers.now + timedelta(days=2))

    assert SET_BACK in " ".join(screen(look)[1:4])
