"""What tests share: the program's questions, and answers out of plain pairs."""

from zoneinfo import ZoneInfo

import pytest

from recover.answers import Answers, split_key
from recover.assessment import assess_answers
from recover.bench import bench_value
from recover.journal import Event
from recover.profiles import limits
from recover.questions import questionnaire
from recover.wetmap import wetness

ZONE = ZoneInfo("Europe/London")


def events_of(given):
    """Return journal events for a mapping of keys to values; None stands for unknown."""
    for number, (key, value) in enumerate(given.items(), start=1):
        question = questionnaire().questions[split_key(key)[0]]
        plain = sorted(value) if isinstance(value, frozenset | set | list | tuple) else value
        data = {"question": key, "state": "unknown" if value is None else "given", "value": plain}
        if question.kind == "reading" and value is not None:
            data |= {"instrument": "I1", "details": {}}
        kind = "reading" if question.kind == "reading" else "answer"
        yield Event(number, "2026-03-10T09:00:00+00:00", "A. Repairer", "test", kind, data, "")


def answers_from(given, profile="uk"):
    """Return answers for a mapping of keys to values."""
    return Answers(questionnaire(), limits(profile), ZONE, events_of(given), wetness, bench_value)


def assessed(given, profile="uk"):
    """Return the assessment of a mapping of keys to values."""
    return assess_answers(answers_from(given, profile), "test", profile, "0" * 64)


@pytest.fixture(scope="session")
def questions():
    return questionnaire()
