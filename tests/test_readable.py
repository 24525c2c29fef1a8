"""Every question helps: it says why, what is measured says how, and all of it is read at a glance."""

import json
import re
from dataclasses import replace

import pytest

from recover.asked.compiled import questionnaire
from recover.asked.readable import HIGHEST_GRADE, WORST, helps
from recover.base.measures import show_quantity
from recover.profiles import own_limits
from tests.command import run

pytestmark = pytest.mark.quick

WHOLE = questionnaire()
QUESTIONS = WHOLE.question
TEXTS = [(one.id, says) for one in QUESTIONS for says in (one.why, one.how) if says]

BY_LOOK = ["safe.water_gone", "casing.rust", "element.look", "claim.consent", "identity.volts", "scope.zones"]
BY_METER = ["earth.ohm", "zone.insulation", "supply.volts", "dried.amps", "event.air"]
BY_TAPE_OR_SCALE = ["event.water_line", "identity.box_top", "lining.gap", "element.wire_mm", "lining.brick_dry"]
BY_TEST = ["safe.dead", "gear.works", "energise.cuts", "element.alloy", "probe.off_ice", "casing.level", "dried.cones"]
INSULATION = ["wire.insulation", "zone.insulation", "dried.insulation"]


def sentences(text):
    """Sentences end in a stop before a capital letter or the end: a code in brackets or a figure ends none."""
    return re.split(r"(?<=[.!?]) (?=[A-Z“])", text)


def changed(name, **fields):
    """The questionnaire with one question that says otherwise."""
    return replace(WHOLE, question=[replace(one, **fields) if one.id == name else one for one in QUESTIONS])


# ---------------------------------------------------------------------------------------- why and how


def test_every_question_says_why_and_every_measured_one_how():
    assert helps(WHOLE).without_why == []
    assert helps(WHOLE).without_how == []
    assert [*helps(WHOLE).problems] == []


def test_a_question_that_does_not_say_why_is_named():
    found = helps(changed("claim.policy", why=""))

    assert found.without_why == ["claim.policy"]
    assert "claim.policy" in str([*found.problems])


@pytest.mark.parametrize("name", [*BY_METER, *BY_TAPE_OR_SCALE, *BY_TEST])
def test_a_measured_question_that_does_not_say_how_is_named(name):
    found = helps(changed(name, how=""))

    assert found.without_how == [name]
    assert [f"[{name}]" in str(problem) for problem in found.problems] == [True]


@pytest.mark.parametrize("name", BY_LOOK)
def test_what_is_looked_at_or_read_off_needs_no_how(name):
    assert helps(changed(name, how="")).without_how == []


# ---------------------------------------------------------------------------------------- plain words


@pytest.mark.parametrize("one", QUESTIONS, ids=lambda one: one.id)
def test_why_is_one_sentence_of_twenty_words_and_how_is_three_at_most(one):
    assert len(sentences(one.why)) == 1
    assert len(one.why.split()) <= 20
    assert len(sentences(one.how)) <= 3
    assert all(says.endswith(".") for says in (one.why, one.how) if says)


def test_no_help_calls_anything_safe_or_hides_a_second_thought_behind_a_semicolon():
    assert not [name for name, says in TEXTS if re.search(r"\bsafe(ly)?\b|;|—", says, re.IGNORECASE)]


def test_no_help_tells_anybody_to_bridge_or_switch_on_a_wet_kiln():
    """Contactors alone are bridged, by hand, in a dead kiln, and the bridges come off again."""
    bridged = [(name, says) for name, says in TEXTS if re.search(r"\bbridg", says)]

    assert [name for name, _ in bridged] == ["zone.joined"]
    assert "Take the bridges off again" in bridged[0][1]


# ---------------------------------------------------------------------------------------- as limits and readings ask


@pytest.mark.parametrize("name", INSULATION)
def test_an_insulation_reading_says_dead_the_lower_range_first_the_volts_that_count_and_discharge(name):
    how = WHOLE.questions[name].how

    assert "proven dead" in how
    assert "lower range first, then " + show_quantity(own_limits()["insulation_test_volts"].value, "V") in how
    assert "Discharge" in how
    assert "electronics" in how


@pytest.mark.parametrize(("name", "limit"), [
    ("wire.insulation", "extra_low_test_volts"), ("zone.insulation", "cold_lining_degc"),
    ("earth.ohm", "earth_test_amps"),
])  # fmt: skip
def test_a_figure_that_decides_whether_a_reading_counts_is_the_limits_own(name, limit):
    of = own_limits()[limit]

    assert show_quantity(of.value, of.unit) in WHOLE.questions[name].how


def test_a_probe_is_measured_with_little_voltage_and_never_through_a_controller():
    how = WHOLE.questions["probe.insulation"].how

    assert "At most 50 V" in how
    assert "never test into a controller" in how


@pytest.mark.parametrize(
    "name", ["energise.cuts", "energise.safety", "energise.weld", "energise.rcd", "energise.self_test"]
)
def test_what_is_tried_with_power_is_tried_with_the_elements_disconnected(name):
    assert "lements disconnected" in WHOLE.questions[name].how


# ---------------------------------------------------------------------------------------- how easily it is read


def test_texts_are_read_at_grade_eight_or_lower_on_average():
    found = helps(WHOLE)

    assert found.grade is not None
    assert found.grade <= HIGHEST_GRADE == 8
    assert len(found.worst) == WORST
    assert found.worst == sorted(found.worst, key=lambda one: -one.grade)


def test_texts_in_long_words_and_sentences_are_a_problem():
    stilted = "Notwithstanding documentation, determination of insulation characteristics necessitates instrumentation."
    found = helps(replace(WHOLE, question=[replace(one, why=stilted) for one in QUESTIONS]))

    assert found.grade > HIGHEST_GRADE
    assert "8 or lower" in str([*found.problems])


def test_where_the_test_libraries_are_not_there_no_grade_is_told(monkeypatch):
    monkeypatch.setattr("recover.asked.readable.find_spec", lambda _: None)
    found = helps(WHOLE)

    assert found.grade is None
    assert found.worst == []
    assert [*found.problems] == []


# ---------------------------------------------------------------------------------------- said by the check


def test_the_check_tells_in_json_how_far_the_questions_help():
    document = json.loads(run("check", "--json").stdout)
    told = document["questions"]

    assert document["problems"] == []
    assert told["number"] == len(QUESTIONS) == sum(told["by_section"].values())
    assert list(told["by_section"]) == [section.id for section in WHOLE.section]
    assert (told["without_why"], told["measured_without_how"]) == ([], [])
    assert told["measured"] == sum(one.measured for one in QUESTIONS)
    assert told["grade"] <= HIGHEST_GRADE
    assert {*told["hardest"][0]} == {"of", "part", "says", "grade"}


def test_the_plain_check_says_the_same_in_two_lines():
    *_, why_and_how, grade = run("check").stdout.splitlines()

    assert why_and_how.startswith("0 questions without why; ")
    assert why_and_how.endswith("0 of them without how")
    assert "at grade" in grade


def test_the_compiled_questions_carry_why_and_how():
    asked = json.loads(run("check", "--questions").stdout)["question"]

    assert [(one["why"], one["how"]) for one in asked] == [(one.why, one.how) for one in QUESTIONS]


@pytest.mark.parametrize("beside", ["--grid", "--questions", "some-job"])
def test_json_is_of_tables_and_questions_alone(beside, tmp_path):
    assert run("check", "--json", beside).returncode == 2
