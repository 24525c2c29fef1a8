"""The record of a controller: what the inspection found, and the least where it found nothing."""

import pytest

from recover.asked.answers import Answers
from recover.controller.capability import Controller, Ramps
from recover.controller.compile import programme
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


def record(given) -> Answers:
    return controller_of(answers_from(given), KILN)


def test_what_was_found_is_in_the_record():
    found = record(KNOWN)
    assert found.letters == ("K", "S")
    assert (found.steps, found.programmes, found.overshoot_k, found.least_degc) == (8, 3, 5, 20)
    assert found.ramps == Ramps("rate", least_k_h=1, greatest_k_h=300)
    assert (found.starts_hot, found.waits_for_kiln, found.cutout) == (True, True, "own_probe")
    assert found.known_enough
    assert isinstance(programme(20, (Step(95, 30, 12), Step(200, 30, 12)), found, "S"), Programme)


def test_what_nobody_found_out_takes_the_value_that_asks_most():
    found = record(ELECTRONIC)
    assert found.assumed == Controller.known().assumed
    assert not found.known_enough
    assert (found.steps, found.programmes, found.overshoot_k, found.least_degc) == (1, 1, 25, 50)
    assert (found.cutout, found.after_power_cut, found.starts_hot) == ("none", "unknown", False)


@pytest.mark.parametrize("left_out", sorted(set(KNOWN) - set(ELECTRONIC)))
def test_an_answer_that_is_missing_never_makes_a_programme_of_a_refusal_nor_shortens_it(left_out):
    schedule = (Step(95, 30, 12), Step(200, 30, 12))
    whole = programme(20, schedule, record(KNOWN), "S")
    less = programme(20, schedule, record({key: KNOWN[key] for key in KNOWN if key != left_out}), "S")
    assert isinstance(less, Refusal) or len(less.runs) >= len(whole.runs)
    assert isinstance(less, Refusal) or less.hours >= whole.hours - less.controller.hold_step_min / 60 - 5


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
        (Ramps("rate", least_k_h=5, greatest_k_h=500, step_k_h=5), 19, 40, 15),
        (Ramps("rate", least_k_h=5, greatest_k_h=500, step_k_h=5), 4, 40, None),
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
    assert found.rounded_down(95) == pytest.approx((200 - 32) / 1.8)  # 203 °F become 200 °F
