"""What is logged while a kiln dries stands in the journal, one line each, and is taken back by another line."""

from dataclasses import replace
from datetime import datetime

import pytest

from recover.base.errors import AnswerError
from recover.job.journal import Journal
from recover.judged.assessment import assess
from tests.plan_job import say, write

CASING = {
    "kiln": "kiln/1", "what": "casing", "place": "wall", "value": 46.0, "unit": "°C", "said": "46",
    "measured": "2026-03-12T10:00:00+00:00",
}  # fmt: skip


@pytest.fixture
def job(tmp_path):
    return write(tmp_path / "job")


def logged(job, *lines):
    with Journal(job.journal) as journal:
        for data in lines:
            journal.append("logged", data, by="A. Ttendant", source="log")
    return assess(say(job.folder, {})).answers


def test_a_reading_of_a_drying_stands_with_its_moment_by_the_clock_of_the_job(job):
    (one,) = logged(job, CASING).logged
    assert (one.what, one.place, one.value, one.unit, one.by) == ("casing", "wall", 46.0, "°C", "A. Ttendant")
    assert one.measured == datetime.fromisoformat(CASING["measured"])
    assert one.measured.tzinfo == assess(job).answers.zone


def test_a_slip_is_taken_back_by_a_line_of_its_own_and_stays_in_the_journal(job):
    answers = logged(job, CASING, {**CASING, "value": 64.0})
    first, second = answers.logged
    again = logged(job, {"kiln": "kiln/1", "what": "casing", "measured": CASING["measured"], "takes_back": first.line})
    assert again.logged == [replace(second)]


def test_what_is_logged_is_no_answer_and_opens_nothing(job):
    before = {hold.point.id: hold.missing for hold in assess(job).holds}
    logged(job, CASING, {**CASING, "what": "insulation", "value": 200.0, "unit": "MΩ"})
    assert {hold.point.id: hold.missing for hold in assess(say(job.folder, {})).holds} == before


@pytest.mark.parametrize("wrong", [{"value": "46"}, {"measured": "today"}, {"kiln": "the kiln"}, {"more": 1}])
def test_a_line_of_the_log_holds_what_its_kind_has_and_nothing_else(job, wrong):
    with Journal(job.journal) as journal, pytest.raises(AnswerError):
        journal.append("logged", CASING | wrong, by="A", source="log")
