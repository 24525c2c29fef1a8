"""What an answer stands for: itself; itself and all that is worse, where it was not taken as it must be."""

from datetime import UTC, datetime

import pytest

from recover.asked.questions import questionnaire
from tests.conftest import answers_from

K1, ZONE = "kiln/1", "kiln/1/zone/1"
WATER = {"scope.kilns": 1, "event.water_in": "2026-03-07T08:00:00+00:00"}
EARLY = {"measured": "2026-03-01T09:00:00+00:00"}


def look(key, value, told=None, more=None, now=None):
    question, _, at = key.partition("@")
    given = {**WATER, **(more or {}), key: value}
    return answers_from(given, told={key: told or {}}, **({"now": now} if now else {})).look(question, at or "job")


@pytest.mark.parametrize(
    ("told", "may_be"),
    [({}, {"light"}), (EARLY, {"light", "flaking", "deep", "through"})],
)
def test_a_look_from_before_the_water_stands_for_itself_and_all_that_is_worse(told, may_be):
    found = look(f"casing.rust@{K1}/casing/shell", "light", told, {f"casing.parts@{K1}": ["shell"]})

    assert found == may_be


def test_a_choice_of_kind_from_before_the_water_stands_for_itself():
    """What a kiln is made of the water does not change."""
    assert look(f"scope.connection@{K1}", "plug", EARLY) == {"plug"}


@pytest.mark.parametrize(
    ("day", "may_be"),
    [("2031-12-31", {5.0}), ("2032-01-01", {5.0, 0})],
)  # fmt: skip
def test_an_instrument_counts_by_the_day_on_which_it_was_read_not_written_down(day, may_be):
    """The meter of these tests is calibrated until the last day of 2031; both lines were written in February 2032."""
    key = f"zone.insulation@{ZONE}"
    told = {"measured": f"{day}T09:00:00+00:00", "written": "2032-02-01T09:00:00+00:00"}

    assert look(key, 5.0, told, {f"scope.zones@{K1}": 1}, datetime(2032, 2, 1, 12, tzinfo=UTC)) == may_be


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [(f"element.ohm@{K1}/element/1", 13.354, "13.35 Ω"), (f"identity.kw@{K1}", 13.354, "13.4 kW"),
     (f"scope.zones@{K1}", 3, "3")],
)  # fmt: skip
def test_a_reading_keeps_four_figures_and_a_number_three(key, value, words):
    answers = answers_from({**WATER, key: value})

    assert answers.in_words(answers.given[key]).replace("\u202f", " ") == words


def test_a_reading_beyond_the_range_says_that_it_is_at_least_that():
    key = f"zone.insulation@{ZONE}"
    answers = answers_from({**WATER, key: 200}, told={key: {"at_least": True, "value": 200}})

    assert answers.in_words(answers.given[key]).startswith("at least 200")


@pytest.mark.parametrize(("minutes", "counts"), [(9, True), (10, True), (11, False)])
def test_a_date_of_the_water_that_is_to_come_beyond_what_clocks_differ_is_a_slip(minutes, counts):
    """Ten minutes are this project's own; the lines were written at nine."""
    answers = answers_from({"event.water_in": f"2026-03-10T09:{minutes:02d}:00+00:00"})

    assert (answers.latest("event.water_in") is not None) is counts


def test_every_reading_that_a_gate_rests_on_has_a_duty_and_no_other_reading():
    for question in questionnaire().question:
        if question.kind == "reading":
            assert bool(question.duty) == bool(question.holds_for or question.attested), question.id


@pytest.mark.parametrize(
    ("height", "may_be"), [(300, {"ends"}), (900, {"dry"}), (None, {"dry", "damp", "length", "ends"})]
)
def test_a_probe_whose_height_nobody_knows_may_have_stood_in_the_water_with_its_cable(height, may_be):
    given = {
        **WATER, f"scope.probes@{K1}": 1, f"event.reach@{K1}": "base", f"event.water_line@{K1}": 500,
        f"probe.cable_reached@{K1}/probe/1": "dry", f"gear.reached@{K1}": "dry", f"identity.box_bottom@{K1}": 1000,
        f"event.above@{K1}": ["none"], f"identity.probe_height@{K1}": height,
    }  # fmt: skip

    assert answers_from(given).look("cable_reached", f"{K1}/probe/1") == may_be
