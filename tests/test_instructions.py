"""What goes with each run: nobody starts one without it."""

from dataclasses import fields, replace
from re import sub

import pytest

from recover.controller.compile import programmes
from recover.controller.instructions import instructions, step_lines
from recover.controller.programme import ProgrammeRun
from recover.physics.wall import Step
from tests.test_programmes import MORNING, READ_AT_95, WORKED, A, controller


def sheets(of=A, *runs, start_degc=20, **more):
    """What is said of each run of a day."""
    return [run.said for run in programmes(start_degc, runs or READ_AT_95, of, "K", "K", **more).runs]


def everything(sheet):
    """All that is said of a run."""
    for one in fields(sheet):
        value = getattr(sheet, one.name)
        yield from (value,) if isinstance(value, str) else value


@pytest.mark.parametrize("degrees", ["C", "F"])
def test_every_run_has_all_of_it(degrees):
    for sheet in sheets(controller(degrees=degrees, delays_start=True, waits_for_kiln=False)):
        assert all(getattr(sheet, one.name) for one in fields(sheet))
        for text in everything(sheet):
            assert text
            assert "{" not in text


def test_what_is_kept_with_a_run_is_what_its_programme_says():
    found = programmes(20, READ_AT_95, A, "K", "K")
    assert tuple(run.said for run in found.runs) == instructions(found)


def test_each_step_is_read_back():
    (sheet,) = sheets(A, WORKED)
    assert sheet.steps[0] == "1: 15 °C an hour (in 2 h 20 min) to 55 °C, hold 4 h"
    assert len(sheet.steps) == len(WORKED)


def test_a_step_without_a_hold_says_nothing_of_one():
    (sheet,) = sheets(A, (Step(200, 20, 0),))
    assert sheet.steps == ("1: 20 °C an hour (in 9 h) to 200 °C",)


def test_a_controller_that_is_set_by_time_is_told_the_time_first():
    timed = controller(ramps=replace(A.ramps, entry="time", step_min=15))
    (sheet,) = sheets(timed, (Step(70, 20, 1),))
    assert sheet.steps == ("1: in 2 h 30 min (20 °C an hour) to 70 °C, hold 1 h",)


def test_by_hand_a_step_reads_the_same_in_degrees_celsius():
    assert step_lines(ProgrammeRun(1, 20, (Step(95, 25, 2),))) == ("1: 25 °C an hour (in 3 h) to 95 °C, hold 2 h",)


# ---------------------------------------------------------------------------------------- how it ends, and what then


def test_a_run_ends_by_itself_and_whoever_attends_stops_what_has_not_ended():
    (sheet,) = sheets(A, *MORNING)
    assert "ends by itself 6 h after its start" in sheet.ends[0]
    assert "waits for the kiln comes on top" in sheet.ends[1]
    assert "stops it and isolates" in sheet.ends[-1]
    assert "never heats unattended" in sheet.ends[-1]
    assert len(sheets(controller(waits_for_kiln=False), *MORNING)[0].ends) == 2


def test_at_a_hold_point_the_run_has_ended_the_kiln_is_isolated_read_and_started_again_by_hand():
    first, second = sheets()
    isolated, stays_off, again = first.then
    assert "has ended: the heater is off" in isolated
    assert "Isolate, lock, take the readings" in isolated
    assert "stays off" in stays_off
    assert again.startswith("Then run 2 is started by hand, if the readings allow it")
    assert second.then == ("When it has ended: isolate before anybody leaves. Nothing stays set to start.",)


@pytest.mark.parametrize("after", ["goes_on_if_near", "goes_on", "starts_again", "unknown"])
def test_where_it_might_heat_by_itself_when_power_is_back_somebody_looks_and_isolates_again(after):
    first, _ = sheets(controller(after_power_cut=after))
    assert "If it heats before run 2 is started, isolate again, and stop." in first.then[1]


def test_a_programme_that_has_too_few_steps_goes_on_with_the_next_at_once():
    first, _ = sheets(controller(steps=4), WORKED)
    assert first.then == ("When it has ended, run 2 is started by hand, at once.",)


@pytest.mark.parametrize(("start_degc", "said"), [(20, "at the room's temperature"), (45, "At 45 °C: start at")])
def test_a_day_that_opens_warm_says_how_warm_the_kiln_was_planned_to_be(start_degc, said):
    (sheet,) = sheets(A, *MORNING, start_degc=start_degc)
    assert said in sheet.before


def test_a_hotter_kiln_waits_until_the_ramp_would_have_passed_its_temperature():
    """By hand: 10 K at 50 K/h are 12 min."""
    _, second = sheets(A, *READ_AT_95, restarts_degc=[85])
    assert "Hotter: start 12 min later for each 10 K; it ends when it would have." in second.before
    assert "Cooler: the first ramp takes longer, 12 min for each 10 K; start only if" in second.before
    assert "still ends before whoever attends leaves" in second.before


def test_a_kiln_that_has_not_cooled_to_the_first_set_point_is_not_heated_until_it_has():
    _, second = sheets(A, *READ_AT_95, restarts_degc=[95])
    assert "does not heat until the kiln has cooled to the first set-point" in second.before
    assert second.steps[0] == "1: 50 °C an hour, should the kiln be cooler, to 95 °C, hold 30 min"


def test_a_hold_that_is_typed_in_twice_climbs_nowhere_the_second_time():
    (sheet,) = sheets(controller(longest_hold_h=1), *MORNING)
    assert sheet.steps[2] == "3: no climb to 95 °C, hold 1 h"


def test_a_time_to_the_target_is_made_longer_in_a_cooler_kiln_so_that_it_climbs_no_steeper():
    timed = controller(ramps=replace(A.ramps, entry="time"))
    _, second = sheets(timed, *READ_AT_95, restarts_degc=[85])
    assert "give the first ramp 12 min more for each 10 K, so that it climbs no steeper" in second.before
    assert "take as much off the time of the first ramp" in second.before


# ---------------------------------------------------------------------------------------- what else


def test_nothing_resumes_after_half_an_hour_or_fifty_kelvin():
    (sheet,) = sheets(A, *MORNING)
    assert "30 minutes, or cooled by 50 K" in sheet.power_cut[1]
    assert "still end before whoever attends leaves" in sheet.power_cut[1]


@pytest.mark.parametrize("after", ["stops", "goes_on_if_near", "goes_on", "starts_again", "unknown"])
def test_what_may_start_by_itself_is_isolated_until_somebody_has_looked(after):
    (sheet,) = sheets(controller(after_power_cut=after), *MORNING)
    assert ("isolate" in sheet.power_cut[0]) == (after != "stops")


def test_a_cut_out_stands_its_margin_above_the_run():
    assert "set to 105 °C, or as little above that as it can be set: 10 K above this run" in sheets()[0].cutout
    first, second = sheets(controller(cutout_margin_k=30))
    assert first.cutout.startswith("Cut-out: set to 125 °C, 30 K above this run's highest set-point of 95 °C")
    assert second.cutout.startswith("Cut-out: set to 180 °C")


def test_a_delayed_start_is_off():
    assert any(line.startswith("Delayed start off") for line in sheets(controller(delays_start=True))[0].see)


def test_a_controller_in_fahrenheit_is_spoken_of_in_fahrenheit_in_every_sentence():
    """By hand: 50 °C are 122 °F, 85 °C 185 °F; 25 K/h are 45 °F/h, 30 K 54 °F."""
    fahrenheit = controller(degrees="F", cutout_margin_k=30, waits_for_kiln=False)
    day = (Step(50, 25, 1), Step(85, 25, 2)), (Step(95, 25, 1),)
    first, second = sheets(fahrenheit, *day, restarts_degc=[75])
    assert first.steps[0] == "1: 45 °F (25 K) an hour (in 1 h 12 min) to 122 °F (50 °C), hold 1 h"
    assert first.cutout.startswith("Cut-out: set to 239 °F (115 °C), 54 °F (30 K) above")
    assert "At 167 °F (75 °C): start" in second.before
    assert "later for each 18 °F (10 K)" in second.before
    for sheet in (first, second):
        for text in everything(sheet):
            assert "°C" not in sub(r"°F \([\d.]+ °C\)", "", text)
            assert " K" not in sub(r"°F \([\d.]+ K\)", "", text)


def test_who_types_in_between_is_told():
    first, *_ = sheets(controller(programmes=1))
    assert any("fit in it at a time: 1" in line for line in first.see)


def test_a_short_cycle_needs_no_word():
    slow, fast = (sheets(controller(cycle_s=cycle), *MORNING)[0] for cycle in (30, 15))
    assert len(slow.see) == len(fast.see) + 1
