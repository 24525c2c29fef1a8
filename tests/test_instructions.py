"""What goes with each run: nobody starts one without them."""

from dataclasses import replace

import pytest

from recover.controller.compile import programme
from recover.controller.instructions import instructions
from recover.physics.wall import Step
from tests.test_programmes import SCHEDULE, C, controller


@pytest.fixture(scope="module")
def sheets():
    return instructions(programme(20, SCHEDULE, C, "K"))


def test_every_run_has_all_of_it(sheets):
    for sheet in sheets:
        for text in (sheet.precondition, *sheet.steps, sheet.cutout, sheet.change, *sheet.power_cut):
            assert text
            assert "{" not in text
        assert sheet.see


def test_each_step_is_read_back(sheets):
    assert sheets[0].steps[0] == "1: 15 °C an hour (in 2 h 20 min) to 55 °C, hold 4 h"
    assert len(sheets[0].steps) == len(sheets[0].run.steps)
    assert all("hold" in line for line in sheets[0].steps)


def test_a_second_run_begins_no_hotter_than_the_first_one_ended(sheets):
    assert "between 190 and 195 °C" in sheets[1].precondition


@pytest.mark.parametrize(("start_degc", "said"), [(20, "at the room's temperature"), (95, "between 90 and 95 °C")])
def test_a_day_that_opens_warm_says_how_warm_the_kiln_may_be(start_degc, said):
    """Common practice, no source: a programme proven from a warm kiln is not started in a hotter one."""
    (sheet,) = instructions(programme(start_degc, (Step(200, 20, 1),), C, "K"))
    assert said in sheet.precondition


def test_a_step_without_a_hold_says_nothing_of_one():
    (sheet,) = instructions(programme(20, (Step(200, 20, 0),), C, "K"))
    assert sheet.steps == ("1: 20 °C an hour (in 8 h 45 min) to 195 °C",)


def test_nothing_resumes_after_half_an_hour_or_fifty_kelvin(sheets):
    assert "30 minutes, or cooled by 50 K" in sheets[0].power_cut[1]


@pytest.mark.parametrize("after", ["stops", "goes_on_if_near", "goes_on", "starts_again", "unknown"])
def test_what_may_start_by_itself_is_isolated_until_somebody_has_looked(after):
    (sheet, *_) = instructions(programme(20, SCHEDULE, replace(C, after_power_cut=after), "K"))
    assert ("isolate" in sheet.power_cut[0]) == (after != "stops")


def test_a_cut_out_stands_its_margin_above_the_run(sheets):
    assert "overshoot of 5 K included" in sheets[0].cutout
    (sheet, *_) = instructions(programme(20, SCHEDULE, replace(C, cutout_margin_k=30), "K"))
    assert sheet.cutout.startswith("Cut-out: set to 225 °C, 30 K above")


def test_a_controller_in_fahrenheit_is_read_back_in_fahrenheit_and_never_rounded_up():
    found = programme(20, SCHEDULE, controller(degrees="F"), "K")
    (sheet,) = instructions(found)
    assert "to 131 °F" in sheet.steps[0]  # 55 °C
    assert found.steps[0].to_degc == pytest.approx(55)
    assert found.steps[1].to_degc == pytest.approx(90)


def test_who_types_in_between_is_told():
    (first, *_) = instructions(programme(20, SCHEDULE, replace(C, programmes=1), "K"))
    assert any("typed in when the earlier ones have run" in line for line in first.see)


def test_a_short_cycle_needs_no_word():
    slow, fast = (instructions(programme(20, SCHEDULE, replace(C, cycle_s=cycle), "K"))[0] for cycle in (30, 15))
    assert len(slow.see) == len(fast.see) + 1
