"""The record of a controller: what the inspection found, and the least where it found nothing."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recover.controller.capability import BY_HAND, Controller, Ramps
from recover.controller.compile import programmes
from recover.controller.programme import Programme, Refusal
from recover.physics.wall import Step
from recover.plan.installed import controller_of
from tests.conftest import answers_from

KILN = "kiln/1"
ELECTRONIC = {"scope.control@kiln/1": ["electronic"], "control.replacement@kiln/1": "fitted"}
KNOWN = ELECTRONIC | {
    "control.learnt@kiln/1": "papers", "control.letters@kiln/1": ["K", "S"], "control.steps@kiln/1": 8,
    "control.kept@kiln/1": 3, "control.ramps@kiln/1": "rate",
    "control.ramp_rates@kiln/1": "1 to 300", "control.least@kiln/1": 20, "control.longest_hold@kiln/1": 24,
    "control.waits@kiln/1": "yes", "control.starts@kiln/1": "present", "control.hot_start@kiln/1": "yes",
    "control.power_cut@kiln/1": "stops", "control.overshoot@kiln/1": 5, "control.cutout_probe@kiln/1": "match",
}  # fmt: skip


DAY = ((Step(95, 30, 4), Step(200, 30, 2)),)


def record(given) -> Controller:
    return controller_of(answers_from(given), KILN)


def test_what_was_found_is_in_the_record():
    found = record(KNOWN)
    assert found.letters == ("K", "S")
    assert (found.steps, found.programmes, found.overshoot_k, found.least_degc) == (8, 3, 5, 20)
    assert found.ramps == Ramps("rate", least_k_h=1, greatest_k_h=300)
    assert (found.starts_hot, found.waits_for_kiln, found.cutout) == (True, True, "own_probe")
    assert found.known_enough
    assert isinstance(programmes(20, DAY, found, "S"), Programme)


def test_what_nobody_found_out_takes_the_value_that_asks_most():
    found = record(ELECTRONIC)
    assert found.assumed == Controller.known().assumed
    assert not found.known_enough
    assert (found.steps, found.programmes, found.overshoot_k, found.least_degc) == (1, 1, 25, 50)
    assert (found.cutout, found.after_power_cut, found.starts_hot) == ("none", "unknown", False)


@pytest.mark.parametrize("left_out", sorted(set(KNOWN) - set(ELECTRONIC)))
def test_an_answer_that_is_missing_never_makes_a_programme_of_a_refusal_nor_shortens_it(left_out):
    whole = programmes(20, DAY, record(KNOWN), "S")
    less = programmes(20, DAY, record({key: KNOWN[key] for key in KNOWN if key != left_out}), "S")
    assert isinstance(less, Refusal) or len(less.runs) >= len(whole.runs)
    assert isinstance(less, Refusal) or less.hours >= whole.hours


def test_a_span_without_an_end_is_no_ramp():
    assert record(KNOWN | {"control.ramp_rates@kiln/1": "up to 300"}).ramps == Ramps("none")


def test_rates_are_read_from_the_line_that_was_written():
    given = {"control.ramps@kiln/1": "list", "control.ramp_rates@kiln/1": "25, 50, 80 and 150.5 K/h"}
    assert record(KNOWN | given).ramps.listed_k_h == (25, 50, 80, 150.5)


def test_the_letter_that_it_is_set_to_stands_where_nobody_looked_for_others():
    assert record(ELECTRONIC | {"control.set_type@kiln/1": "S"}).letters == ("S",)


def test_a_controller_that_the_water_took_and_nothing_replaces_is_not_asked_about():
    gone = {"scope.control@kiln/1": ["electronic"], "control.replacement@kiln/1": "no",
            "control.reached@kiln/1/controller/electronic": "submerged", "control.steps@kiln/1": 8}  # fmt: skip
    assert record(gone).steps == Controller.known().steps


@pytest.mark.parametrize(
    ("ramps", "wanted", "rise", "rate"),
    [
        (Ramps("rate", least_k_h=5, greatest_k_h=500, step_degrees_h=5), 19, 40, 15),
        (Ramps("rate", least_k_h=5, greatest_k_h=500, step_degrees_h=5), 4, 40, None),
        (Ramps("list", listed_k_h=(25, 50, 80)), 79, 40, 50),
        (Ramps("list", listed_k_h=(25, 50, 80)), 20, 40, None),
        (Ramps("time", step_min=30), 15, 40, pytest.approx(40 / 3)),  # 2 h 40 min become three hours
        (Ramps("time", step_min=30, longest_h=2), 15, 40, None),
        (Ramps("none"), 15, 40, None),
    ],
)
def test_a_ramp_is_rounded_down(ramps, wanted, rise, rate):
    assert ramps.at_most(wanted, rise) == rate


def test_a_set_point_is_rounded_down_in_its_own_degrees():
    found = Controller.known(degrees="F", temperature_step=5)
    assert found.set_degc(95) == pytest.approx((200 - 32) / 1.8)  # 203 °F become 200 °F


def test_a_rate_in_fahrenheit_is_a_whole_number_of_its_degrees_an_hour():
    """By hand: 24 K/h are 43.2 °F/h."""
    found = Controller.known(degrees="F", ramps=Ramps("rate", least_k_h=1, greatest_k_h=300))
    assert found.ramp_k_h(24, 40) * 9 / 5 == pytest.approx(43)
    assert found.ramp_k_h(25, 40) == pytest.approx(25)


def test_nothing_is_set_above_what_it_ramps_to_or_controls():
    assert Controller.known(ramps_to_degc=541, temperature_step=10).set_degc(600) == 540
    assert Controller.known(highest_degc=1000, ramps_to_degc=1280).set_degc(1200) == 1000


@pytest.mark.parametrize(
    ("step_min", "longest_h", "asked_h", "held_h"),
    [(60, 4, 0.5, (1,)), (60, 4, 4, (4,)), (60, 4, 9.5, (4, 4, 2)), (30, 4.25, 5, (4, 1)), (60, 0.5, 1, (0.5, 0.5))],
)
def test_holds_are_rounded_up_to_its_own_steps_and_repeated(step_min, longest_h, asked_h, held_h):
    found = Controller.known(hold_step_min=step_min, longest_hold_h=longest_h)
    assert found.holds_h(asked_h) == pytest.approx(held_h)


def test_where_the_step_of_its_holds_is_not_known_they_are_whole_hours():
    assert record(ELECTRONIC).hold_step_h == 1
    assert record(KNOWN | {"control.hold_step@kiln/1": 5}).hold_step_h == pytest.approx(1 / 12)


def test_by_hand_heat_is_led_by_fives_and_half_hours():
    assert (BY_HAND.set_degc(97), BY_HAND.ramp_k_h(28, 40), BY_HAND.ramp_k_h(4, 40)) == (95, 25, None)
    assert (BY_HAND.hold_step_h, BY_HAND.overshoot_k, BY_HAND.starts_hot) == (0.5, 25, True)


@given(st.floats(20, 1300), st.sampled_from(["C", "F"]), st.sampled_from([1, 2, 5, 10, 25]))
def test_a_set_point_that_can_be_set_is_set_as_it_is(degc, degrees, step):
    for alphabet in (Controller.known(degrees=degrees, temperature_step=step, ramps_to_degc=1300), BY_HAND):
        found = alphabet.set_degc(degc)
        assert found <= degc
        assert alphabet.set_degc(found) == pytest.approx(found)
        assert degc - found < max(step, 5)


@given(
    st.floats(6, 500),
    st.sampled_from([Ramps("rate", least_k_h=1, greatest_k_h=300), Ramps("list", listed_k_h=(5, 25, 50))]),
    st.sampled_from(["C", "F"]),
)
def test_a_ramp_that_can_be_set_is_set_as_it_is(wanted, ramps, degrees):
    for alphabet in (Controller.known(ramps=ramps, degrees=degrees), BY_HAND):
        found = alphabet.ramp_k_h(wanted, 40)
        assert found <= wanted * (1 + 1e-9)
        assert alphabet.ramp_k_h(found, 40) == pytest.approx(found)
