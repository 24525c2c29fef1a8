"""What shows that a kiln was on after its lock or its proof of death, told of few answers.

A lock and a proof say nothing of a kiln that was switched on since: common practice (no source).
"""

import pytest

from recover.judged.live import shown_on, signs
from recover.profiles import limits
from tests.conftest import answers_from

DEAD, AMPS, CONES, HEATED = "safe.dead@kiln/1", "dried.amps@kiln/1", "dried.cones@kiln/1", "dried.heated@kiln/1"
ZONE, FIRED_ZONE = "zone.insulation@kiln/1/zone/1", "dried.insulation@kiln/1/zone/1"
SOLAR = "feed.dead@feed/solar"
PROVEN = (DEAD, "proven", "10:00")


def told(*said, **more):
    """Return answers for (key, value, clock time), in the order in which they were written."""
    notes = {
        key: {"measured": f"2026-03-10T{time}:00+00:00", **more.get(key.split(".")[0], {})} for key, _, time in said
    }
    return answers_from({key: value for key, value, _ in said}, told=notes)


def shown(*said, key=DEAD, **more):
    """Return the keys of what shows that the kiln was on after a piece of evidence."""
    found = told(*said, **more)
    question = found.questions.questions[key.partition("@")[0]]
    return [f"{one.question}@{one.at}" for one in shown_on(found, question, found.given[key])]


def test_what_is_read_on_a_live_kiln_shows_that_it_was_on_then():
    assert shown(PROVEN, (AMPS, 20, "10:01")) == [AMPS]
    assert shown((AMPS, 20, "09:59"), PROVEN) == []
    assert shown(PROVEN, (AMPS, None, "10:01")) == []


def test_only_what_being_switched_on_undoes_is_undone():
    assert shown((ZONE, 5, "10:00"), (AMPS, 20, "10:30"), key=ZONE) == []


def test_a_kiln_says_nothing_of_its_neighbour_and_everything_of_a_supply():
    other = ("dried.amps@kiln/2", 20, "10:30")

    assert shown(PROVEN, other) == []
    assert shown((SOLAR, "proven", "10:00"), other, key=SOLAR) == ["dried.amps@kiln/2"]


def test_within_the_hour_after_a_proof_no_kiln_is_fired_and_cold_again():
    """Own limit."""
    assert shown(PROVEN, (CONES, "even", "11:00")) == []
    assert shown(PROVEN, (CONES, "even", "11:01")) == [CONES]
    assert shown(PROVEN, (AMPS, 20, "10:59")) == [AMPS]


@pytest.mark.parametrize(
    "heating",
    [[(HEATED, "yes", "09:30")], [(AMPS, 20, "09:30")],
     [("dried.heated@kiln/2", "yes", "09:20"), (HEATED, "yes", "09:30")]],
)  # fmt: skip
def test_what_is_read_after_a_firing_is_of_the_heating_that_was_told_of_before_the_proof(heating):
    assert shown(*heating, PROVEN, (CONES, "even", "11:30")) == []


@pytest.mark.parametrize(
    "other",
    [(HEATED, "no", "09:30"), ("dried.heated@kiln/2", "yes", "09:30"), (FIRED_ZONE, 5, "09:30"),
     ("dried.mended@kiln/1", "yes", "09:30")],
)  # fmt: skip
def test_it_is_of_a_later_one_where_no_heating_of_that_kiln_was_told_of_before_the_proof(other):
    assert CONES in shown(other, PROVEN, (CONES, "even", "11:30"))


def test_a_heating_that_was_told_of_after_the_proof_is_no_heating_of_before_it():
    assert shown(PROVEN, (HEATED, "yes", "10:10"), (CONES, "even", "11:30")) == [CONES]


def test_a_lining_as_hot_as_its_own_elements_make_it_was_heated_by_them():
    heated = limits("uk")["heated_lining_degc"]
    hot, warm = ({"zone": {"details": {"test_volts": 500, "lining_c": degc}}} for degc in (heated, heated - 0.1))
    noted_nowhere = {"zone": {"details": {"test_volts": 500}}}
    reading = (ZONE, 5, "11:30")

    assert [one.question for one in signs(told(reading, **hot))] == ["zone.insulation"]
    assert not list(signs(told(reading, **warm)))
    assert not list(signs(told(reading, **noted_nowhere)))
    assert shown(PROVEN, reading, **hot) == [ZONE]
    assert shown(PROVEN, (ZONE, 5, "10:30"), **hot) == [ZONE]  # a lining is hot within the hour
