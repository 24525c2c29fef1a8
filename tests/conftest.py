"""What tests share: the program's questions, and answers out of plain pairs."""

import gc
import os
from dataclasses import replace
from datetime import UTC, datetime
from shutil import rmtree
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, settings

from recover.asked.answers import Answers
from recover.asked.compiled import questionnaire
from recover.asked.told import split_key
from recover.base.errors import PaperError
from recover.engineering.sums import sums
from recover.job.journal import Event
from recover.judged.assessment import assess_answers
from recover.judged.outcomes import outcome
from recover.judged.readings import reckoning
from recover.judged.wetmap import wetness
from recover.profiles import limits
from tests.school import PLACE

TIMES = int(os.environ.get("RECOVER_DRAWS", "0"))
"""How many times the suite's cases the laws are tried on, each run on others: the campaign outside the suite."""

settings.register_profile("suite", derandomize=not TIMES, deadline=None, suppress_health_check=list(HealthCheck))
settings.load_profile("suite")  # the same cases in every run: what a run finds is of the change, not of the draw


def cases(count):
    """Return the settings of a law that is tried on so many cases in the suite."""
    return settings(max_examples=count * max(TIMES, 1))


gc.set_threshold(200_000, 20, 50)  # what a test leaves is small beside the tables that stay, which are walked each time

os.environ.pop("PYTHONDONTWRITEBYTECODE", None)  # programs that tests begin do not read in every module anew

ZONE = ZoneInfo("Europe/London")
SEEN = "2026-03-10T09:00:00+00:00"
NOW = datetime(2026, 3, 10, 12, 0, tzinfo=UTC)
ELECTRICIAN = ("E. Lectrician", "electrician")
THERMOMETER = "I9"
WARM = ("energise.cutout_off", "energise.probe_apart")
"""The meter that reads what no tester of electrics reads, and what: it is registered where that was read."""
WITNESSES = {
    "hand_over": ("R. Epairer", "repairer"), "take_back": ("O. Wner", "owner"),
    "clear_hazard": ("S. Pecialist", "specialist"), "consent": ("O. Wner", "owner"),
    "answer_for_room": ("H. Premises", "duty_holder"), "attend": ("A. Tendant", "attendant"),
    "lead_lift": ("A. Repairer", "repairer"),
}  # fmt: skip
"""Who attests and signs for a duty, and in which role; the electrician for all others."""

COLD = {"test_volts": 500, "air_c": 12, "humidity_percent": 60, "lining_c": 12, "test_amps": 10, "water_c": 12}


def told_of(question, value):
    """Return what an honest answer says beside its value: who, in which role, when, how it was read, by which paper."""
    who, role = WITNESSES.get(question.attested, ELECTRICIAN)
    told = {"measured": SEEN, "who": who, "role": role}
    if question.kind == "reading":
        names = [detail.id for detail in question.details]
        meter = THERMOMETER if question.id in WARM else "I1"
        told |= {"instrument": meter, "details": {name: COLD[name] for name in names if name in COLD}}
    return told | ({"document": "paper 1"} if value in question.documented else {})


def events_of(given, told=None):
    """Return journal events for a mapping of keys to values; None stands for unknown. `told` changes what is told."""
    meter = {"id": "I1", "what": "multifunction tester", "maker": "", "serial": "", "calibrated": "2031-12-31"}
    yield Event(1, SEEN, "A. Repairer", "test", "instrument", meter, "")
    written = SEEN
    for number, (key, value) in enumerate(given.items(), start=2):
        question = questionnaire().questions[split_key(key)[0]]
        plain = sorted(value) if isinstance(value, frozenset | set | list | tuple) else value
        data = {"question": key, "state": "unknown" if value is None else "given", "value": plain}
        data |= told_of(question, plain) if value is not None else {}
        data |= (told or {}).get(key, {})
        kind = "reading" if question.kind == "reading" else "answer"
        written = max(written, _written(data), key=datetime.fromisoformat)  # no line is written before the last one
        yield Event(number, data.pop("written", written), "A. Repairer", "test", kind, data, "")
    if any(split_key(key)[0] in WARM for key in given):
        read = {**meter, "id": THERMOMETER, "what": "contact thermometer"}
        yield Event(len(given) + 2, written, "A. Repairer", "test", "instrument", read, "")


def _written(data):
    """Return when an answer was written: on the spot; of a time still to come by the noon of the visit, before that."""
    said = data.get("measured") or SEEN
    return said if datetime.fromisoformat(SEEN) <= datetime.fromisoformat(said) <= NOW else SEEN


def answers_from(given, profile="uk", told=None, now=NOW, log=()):
    """Return answers for a mapping of keys to values, as of the noon of the visit; before them lines of a `log`, and
    what was signed while it was kept."""
    kinds = (("release" if "hold_point" in line else "logged", line) for line in log)
    logged = [
        Event(n, min(line.get("measured", SEEN), SEEN), "A. Tendant", "log", kind, line, "")
        for n, (kind, line) in enumerate(kinds, 1)
    ]  # fmt: skip
    sum_of = sums(profile)
    events = [*logged, *(replace(one, n=one.n + len(logged)) for one in events_of(given, told))]
    return Answers(questionnaire(), limits(profile), ZONE, events, wetness, reckoning(profile), sum_of, now, outcome)


def assessed(given, profile="uk", told=None, now=NOW):
    """Return the assessment of a mapping of keys to values."""
    return assess_answers(answers_from(given, profile, told, now), "test", profile, "0" * 64)


def pytest_unconfigure(config):
    """Take away what the whole run shared, once its last worker has ended."""
    if not hasattr(config, "workerinput"):
        rmtree(PLACE, ignore_errors=True)


SLOW_FILES = (
    "test_gates", "test_plan_search", "test_logged_jobs", "test_paths", "test_terminal", "test_under_way",
    "test_campaign", "test_examples", "test_plan_papers", "test_report", "test_signatures", "test_plan_walls",
    "test_properties", "test_planning", "test_learning", "test_cli", "test_state_machine", "test_plan_command",
    "test_plan_supply", "test_undated",
)  # fmt: skip
"""Begun first, the slowest first, so that no worker waits for another at the end."""


def pytest_collection_modifyitems(items):
    order = {name: number for number, name in enumerate(SLOW_FILES)}
    items.sort(key=lambda item: order.get(item.path.stem, len(order)))


@pytest.fixture(scope="session")
def questions():
    return questionnaire()


@pytest.fixture
def without_pdf(monkeypatch):
    """Papers as HTML alone, as without Pango: for tests of what is kept of them."""
    from recover.report import pdf

    def missing(_document):
        raise PaperError(pdf.NO_PANGO)

    monkeypatch.setattr(pdf, "pdf", missing)
