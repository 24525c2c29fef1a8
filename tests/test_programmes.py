"""Programmes: what a controller can run of a day that was searched in what it can set.

The worked outputs are own computations: a second program's compiler, whose steps are the days here, and whose hours,
runs and refusals are met exactly.
"""

from dataclasses import replace
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recover.base.errors import QuantityError
from recover.controller.capability import Controller, Ramps
from recover.controller.compile import programmes, unfit
from recover.controller.programme import Programme, Refusal, manual
from recover.controller.proof import Timeline, _lead_h, _true_steps, pieces, prove, rules
from recover.physics.wall import Step
from recover.profiles import own_limits
from tests.conftest import cases

WORKED = (
    Step(55, 15, 4), Step(90, 10, 6), Step(115, 10, 8.25), Step(195, 20, 4.15), Step(600, 50, 1), Step(900, 100, 0.5)
)  # fmt: skip
"""The worked output of controller A, its set-points already below the holds of its schedule by its overshoot."""

BEFORE = (Step(60, 15, 4), Step(95, 10, 6), Step(120, 10, 8), Step(200, 20, 4), Step(600, 50, 1), Step(900, 100, 0.5))
"""The schedule that it was made for."""

COARSE = Ramps("list", listed_k_h=(25, 50, 80, 150, 220))
MORNING = ((Step(60, 25, 1), Step(95, 25, 2)),)
READ_AT_95 = (*MORNING, (Step(95, 50, 0.5), Step(150, 25, 1)))
"""A day with readings at 95 °C, the kiln isolated: two runs."""


def controller(**known):
    known = {
        "letters": ("K",), "programmes": 9, "steps": 8, "ramps": Ramps("rate", least_k_h=1, greatest_k_h=999),
        "temperature_step": 1, "least_degc": 0, "hold_step_min": 1, "longest_hold_h": inf, "waits_for_kiln": True,
        "starts_from": "present", "starts_hot": True, "delays_start": False, "ramps_to_degc": inf, "overshoot_k": 5,
        "after_power_cut": "stops", "cutout": "own_probe", "degrees": "C",
    } | known  # fmt: skip
    return Controller.known(**known)


A = controller()
B = controller(steps=1, longest_hold_h=2)
C = controller(
    steps=4,
    ramps=Ramps("rate", least_k_h=5, greatest_k_h=500, step_degrees_h=5),
    hold_step_min=5,
    longest_hold_h=10,
    least_degc=50,
)
D = controller(least_degc=100)
F = controller(steps=2, starts_hot=False)


def run_by(of, *runs, start_degc=20, **more):
    """What a controller makes of a day of these runs."""
    return programmes(start_degc, runs or (WORKED,), of, "K", **more)


def why(found):
    assert isinstance(found, Refusal)
    return [one.id for one in found.reasons]


# ---------------------------------------------------------------------------------------- the worked outputs


def test_controller_a_runs_it_in_one_run_as_the_worked_output_has_it():
    found = run_by(A)
    assert found.steps == WORKED
    assert len(found.runs) == 1
    assert found.hours == pytest.approx(47.333, abs=5e-4)


def test_b_with_one_step_a_programme_restarts_too_often():
    """By hand: holds of two hours at most make 2 + 3 + 5 + 3 + 1 + 1 programmes of one step."""
    found = run_by(B)
    assert why(found) == ["restarts"]
    assert "14 restarts" in found.reasons[0].says


def test_c_runs_it_in_two_runs():
    """Holds of its own five minutes: 4.167 h in place of 4.15."""
    found = run_by(C, (*WORKED[:3], replace(WORKED[3], hold_h=4 + 1 / 6), *WORKED[4:]))
    assert [len(run.steps) for run in found.runs] == [4, 2]
    assert round(found.runs[0].steps[-1].hold_h, 3) == 4.167
    assert found.hours == pytest.approx(47.35, abs=5e-3)


def test_d_cannot_go_so_low():
    found = run_by(D)
    assert why(found) == ["too_cool", "too_cool"]
    assert "55 °C lies below the least of 100 °C" in found.reasons[0].says


def test_f_cannot_be_started_hot():
    found = run_by(F)
    assert why(found) == ["hot_start"]
    assert "3 runs" in found.reasons[0].says


# ---------------------------------------------------------------------------------------- a day in its own steps


def test_a_controller_with_ramps_of_25_and_50_gets_a_ramp_of_25_and_no_stairs():
    found = run_by(controller(ramps=Ramps("list", listed_k_h=(25, 50))), *MORNING)
    assert found.steps == MORNING[0]


def test_a_ramp_slower_than_all_that_it_has_is_refused():
    found = run_by(controller(ramps=COARSE), (Step(60, 15, 4),))
    assert why(found) == ["too_steep"]
    assert found.reasons[0].says == "All its ramps are steeper than 15 °C an hour on the way to 60 °C."


def test_whole_hours_stay_whole_hours():
    hours = controller(hold_step_min=60)
    assert [step.hold_h for step in run_by(hours, *MORNING).steps] == [1, 2]
    assert hours.holds_h(1.5) == (2,)


def test_a_hold_that_is_too_long_is_the_same_set_point_again():
    found = run_by(controller(hold_step_min=60, longest_hold_h=4), (Step(95, 25, 9),))
    assert [(step.to_degc, step.hold_h) for step in found.steps] == [(95, 4), (95, 4), (95, 1)]
    assert found.hours == 3 + 9


def test_more_steps_than_a_programme_has_are_typed_in_as_several_that_follow_at_once():
    found = run_by(controller(steps=4))
    assert [(run.number, run.begins_degc, run.reads) for run in found.runs] == [(1, 20, False), (2, 195, False)]


def test_a_hold_that_rounding_would_make_longer_at_the_top_is_refused():
    found = run_by(controller(hold_step_min=60), (Step(95, 25, 2), Step(150, 25, 0.5)))
    assert "longer" in {one.part for one in prove(20, (Step(95, 25, 2),), (Step(95, 25, 3),))}
    assert why(found) == ["unproven", "late"]
    assert "30 min later" in found.reasons[1].says


# ---------------------------------------------------------------------------------------- two runs in a day


def test_readings_at_a_hold_point_part_a_day_into_two_runs_each_with_its_own_end():
    found = run_by(controller(cutout_margin_k=30), *READ_AT_95, restarts_degc=[85])
    first, second = found.runs
    assert (first.reads, second.reads) == (True, False)
    assert (first.hours, second.hours) == (pytest.approx(3 + 3), pytest.approx(10 / 50 + 0.5 + 55 / 25 + 1))
    assert second.begins_degc == 85


def test_a_cut_out_stands_above_the_top_of_its_own_run_and_no_other():
    """By its margin; where that is not known, clear of what the controller may go past its set-point: 5 K of overshoot,
    and 5 K by which two probes may lie apart."""
    found = run_by(controller(cutout_margin_k=30), *READ_AT_95)
    assert [run.cutout_degc for run in found.runs] == [125, 180]
    assert [run.cutout_degc for run in run_by(A, *READ_AT_95).runs] == [105, 160]


@pytest.mark.parametrize(
    ("known", "says"),
    [
        ({"cutout_margin_k": 4}, "margin of 4 K is less than it overshoots"),
        ({"cutout_margin_k": 60, "plate_degc": 150}, "margin of 60 K would have it trip too late"),
        ({"cutout_margin_k": 500}, "margin of 500 K would have it trip too late"),
    ],
)
def test_a_margin_that_trips_in_good_order_or_too_late_counts_as_not_known(known, says):
    """The top is 95 °C, the overshoot 5 K: 155 °C is past what the second kiln stands."""
    (run,) = run_by(controller(**known), *MORNING).runs

    assert run.cutout_degc == 105
    assert "as little above that as it can be set" in run.said.cutout
    assert says in run.said.cutout
    assert run_by(controller(cutout_margin_k=5), *MORNING).runs[0].cutout_degc == 100


def test_a_cut_out_is_set_no_further_above_its_day_than_may_be_signed_for():
    """One figure, for what is set and for what opens own heat."""
    most_k = own_limits()["cutout_above_degrees"].value
    assert run_by(controller(cutout_margin_k=most_k), *MORNING).runs[0].cutout_degc == 95 + most_k
    assert run_by(controller(cutout_margin_k=most_k + 1), *MORNING).runs[0].cutout_degc == 105


def test_what_cannot_be_started_hot_runs_once_a_day():
    cold = controller(starts_hot=False)
    assert isinstance(run_by(cold, *MORNING), Programme)
    assert why(run_by(cold, *READ_AT_95)) == ["hot_start"]


def test_a_second_run_in_a_kiln_that_has_not_cooled_has_no_climb_to_where_it_is():
    found = run_by(A, *READ_AT_95, restarts_degc=[97])
    assert found.runs[1].hours == pytest.approx(0.5 + 55 / 25 + 1)


def test_a_controller_that_counts_from_the_room_runs_no_day_since_the_kiln_is_warm_from_the_day_before():
    assert [one.id for one in unfit(controller(starts_from="room"), "K")] == ["room_start"]


# ---------------------------------------------------------------------------------------- degrees Fahrenheit


def test_a_set_point_in_fahrenheit_is_a_whole_step_and_is_spoken_of_in_fahrenheit():
    """By hand: 95 °C are 203 °F; in steps of five 200 °F, 93.3 °C."""
    fahrenheit = controller(degrees="F", temperature_step=5, highest_degc=93, cutout_margin_k=30)
    degc = controller(degrees="F", temperature_step=5).set_degc(95)
    assert degc == pytest.approx((200 - 32) / 1.8)
    refused = run_by(fahrenheit, (Step(degc, 25, 1),))
    assert "200 °F (93.3 °C) lies above the 199.4 °F (93 °C)" in refused.reasons[0].says
    assert any("more than 9 °F (5 K) above the step" in line for line in refused.manual)
    assert any("45 °F (25 K) an hour" in line and "200 °F" in line for line in refused.look_for)


# ---------------------------------------------------------------------------------------- what the proof finds


@pytest.mark.parametrize(
    ("changed", "part"),
    [
        (Step(90, 10, 5.5), "earlier"),
        (Step(95, 10, 7), "hotter"),
        (Step(90, 40, 9), "steeper"),
    ],
)
def test_a_programme_that_leaves_its_day_is_found_out(changed, part):
    steps = list(WORKED)
    steps[1] = changed
    assert part in {one.part for one in prove(20, WORKED, steps)}


def test_lower_holds_that_are_not_longer_are_left_five_minutes_early():
    """Worked regression, own computation: -0.083 h between 115 and 120 °C, and 0.15 h more at 200 °C."""
    unrepaired = [replace(step, hold_h=hold) for step, hold in zip(WORKED, (4, 6, 8, 4, 1, 0.5), strict=True)]
    asked, made = Timeline.of(20, BEFORE), Timeline.of(20, unrepaired)
    assert made.left_h(120) - asked.left_h(120) == pytest.approx(-0.083, abs=5e-4)
    assert _lead_h(20, BEFORE, unrepaired) == (pytest.approx(-0.083 - 0.15, abs=5e-4), 200)
    assert {one.part for one in prove(20, BEFORE, unrepaired)} == {"earlier", "steeper"}


@pytest.mark.parametrize(("set_degc", "found"), [(60, []), (59, []), (60.5, ["hotter"])])
def test_half_a_kelvin_above_a_hold_that_is_not_finished_is_hotter(set_degc, found):
    day = (Step(60, 10, 4), Step(85, 10, 0))
    climbed = (Step(set_degc, 10, 4), Step(85, 10, 4))
    assert [one.part for one in prove(20, day, climbed) if one.part == "hotter"] == found


def test_nothing_goes_above_the_top_of_the_day_however_long_it_waited():
    day = (Step(95, 10, 2),)
    assert [one.part for one in prove(20, day, (Step(95, 10, 2), Step(100, 10, 0)))] == ["hotter"]


@pytest.mark.parametrize(("hold_h", "found"), [(2, []), (1, []), (2.5, ["longer"])])
def test_the_top_is_held_no_longer_than_was_searched(hold_h, found):
    assert [one.part for one in prove(20, (Step(95, 10, 2),), (Step(95, 10, hold_h),))] == found


def test_a_course_that_never_falls_tells_when_it_reaches_and_leaves_a_temperature():
    """By hand: 40 K at 10 K/h from the second hour on, held 3 h."""
    line = Timeline((2, 6, 9), (20, 60, 60))
    assert [line.reached_h(degc) for degc in (10, 20, 30, 60, 60.1)] == [2, 2, 3, 6, inf]
    assert [line.left_h(degc) for degc in (10, 20, 30, 60)] == [2, 2, 3, inf]
    assert Timeline.of(20, [Step(60, 10, 3)]) == Timeline((0, 4, 7), (20, 60, 60))


def test_a_climb_has_the_ramps_that_lie_within_it_and_no_other():
    steps = (Step(60, 10, 4), Step(95, 20, 6), Step(120, 30, 8))
    assert pieces(20, steps, 60, 95) == [Step(95, 20)]
    assert pieces(20, steps, 59, 96) == [Step(60, 10), Step(95, 20), Step(96, 30)]


def test_no_wait_pays_for_a_steeper_climb():
    day = (Step(60, 10, 4), Step(85, 10, 4))
    paid = (Step(60, 10, 4 + 25 * (1 / 10 - 1 / 40)), Step(85, 40, 4))
    assert [one.part for one in prove(20, day, paid)] == ["steeper"]


def test_a_probe_read_by_another_letter_is_hotter_than_is_shown():
    """R read as K, shown 200 °C, is 745 °C: own computation from ITS-90."""
    assert prove(20, WORKED, WORKED, ("R", "K"))


def test_a_probe_read_by_another_letter_is_heated_faster_by_as_much_as_it_is_hotter():
    """Linear from nought: 745 °C for 200 °C shown is 3.7 times the rate (own computation from ITS-90)."""
    (true,) = _true_steps([Step(200, 10, 3)], ("R", "K"))
    assert true.to_degc == pytest.approx(745, abs=1)
    assert true.ramp_k_h == pytest.approx(10 * true.to_degc / 200)
    assert true.hold_h == 3


def test_a_programme_is_not_proven_for_a_probe_that_is_beyond_its_table_when_it_is_shown():
    shown = (Step(1200, 50, 1),)  # 49 mV of type K; type R ends at 21 mV
    assert [one.part for one in prove(20, shown, shown, ("R", "K"))] == ["sensor"]


def test_one_wait_that_is_left_out_hides_no_other():
    day = (Step(60, 10, 4), Step(85, 10, 0.5), Step(110, 10, 0.5), Step(130, 10, 4))
    hurried = tuple(replace(step, hold_h=0) for step in day)
    assert [one.degc for one in prove(20, day, hurried) if one.part == "hotter"] == [60, 85, 110]


def test_one_climb_that_is_steeper_hides_no_other():
    day = (Step(60, 10), Step(65, 10), Step(105, 10), Step(110, 10))
    steep = (Step(60, 10), Step(65, 20), Step(105, 10), Step(110, 20))
    assert [one.degc for one in prove(20, day, steep) if one.part == "steeper"] == [65, 110]


# ---------------------------------------------------------------------------------------- any day, any controller

ramps = st.one_of(
    st.builds(
        Ramps, st.just("rate"), least_k_h=st.floats(0, 60), greatest_k_h=st.floats(60, 1000),
        step_degrees_h=st.sampled_from([1.0, 5.0, 10.0]),
    ),
    st.builds(Ramps, st.just("list"), listed_k_h=st.lists(st.floats(1, 300), min_size=1, max_size=6).map(tuple)),
    st.builds(
        Ramps, st.just("time"),
        step_min=st.sampled_from([1.0, 15.0, 60.0]), longest_h=st.sampled_from([4.0, 24.0, inf]),
    ),
    st.just(Ramps("none")),
)  # fmt: skip
controllers = st.builds(
    controller, steps=st.integers(1, 20), ramps=ramps, degrees=st.sampled_from(["C", "F"]),
    temperature_step=st.sampled_from([1, 2, 5, 10, 25]), least_degc=st.sampled_from([0, 20, 50, 100]),
    hold_step_min=st.sampled_from([1, 5, 30, 60]), longest_hold_h=st.sampled_from([1, 4, 10, inf]),
    starts_hot=st.booleans(), overshoot_k=st.floats(0, 30), ramps_to_degc=st.sampled_from([90, 350, 540, inf]),
    cutout_margin_k=st.sampled_from([None, 30]),
    highest_degc=st.sampled_from([500, 1300]), after_power_cut=st.sampled_from(["stops", "goes_on", "unknown"]),
)  # fmt: skip
climb = st.tuples(st.floats(0, 200), st.one_of(st.floats(2, 150), st.just(inf)), st.floats(0, 12))
climbs = st.lists(st.lists(climb, min_size=1, max_size=5), min_size=1, max_size=3)


def day_of(runs, start_degc=20.0):
    """Runs that rise, one after the other."""
    made, here = [], start_degc
    for run in runs:
        steps = []
        for rise, ramp, hold in run:
            here += rise
            steps.append(Step(here, ramp, hold))
        made.append(tuple(steps))
    return made


def in_own_steps(runs, of, start_degc=20.0):
    """The same day in what a controller can set, as a search would have it; None where it has no ramp for it."""
    made, here = [], start_degc
    for run in runs:
        steps = []
        for step in run:
            degc = max(of.set_degc(step.to_degc), here)
            ramp = of.ramp_k_h(step.ramp_k_h, degc - here) if degc > here else step.ramp_k_h
            if ramp is None or of.set_degc(degc) != pytest.approx(degc):
                return None
            steps.append(Step(degc, ramp, sum(of.holds_h(step.hold_h))))
            here = degc
        made.append(tuple(steps))
    return made


def knots(start, steps):
    """Hours and degrees of each ramp and hold, written without any of the program's own arithmetic of courses."""
    here = start
    for step in steps:
        yield 0 if step.ramp_k_h == inf else (step.to_degc - here) / step.ramp_k_h, step.hold_h, here, step.to_degc
        here = step.to_degc


def hours_below(start, steps, degc):
    """Hours until it is hotter than this, by walking the steps."""
    total = 0.0
    for rise, hold, low, high in knots(start, steps):
        if high > degc:
            return total + (rise * (degc - low) / (high - low) if degc > low else 0)
        total += rise + hold
    return inf


def hours_of(start, steps):
    return sum(rise + hold for rise, hold, _, _ in knots(start, steps))


@cases(300)
@given(climbs, controllers, st.floats(0.001, 0.999))
def test_every_programme_keeps_to_its_day_or_is_a_refusal_with_a_reason(runs, of, share):
    day = day_of(runs)
    found = programmes(20, day, of, "K")
    if isinstance(found, Refusal):
        assert found.reasons
        assert len(set(found.reasons)) == len(found.reasons)
        assert all(one.says and "{" not in one.says for one in found.reasons)
        assert found.manual
        assert found.look_for
        return
    asked = [step for run in day for step in run]
    degc = 20 + share * (asked[-1].to_degc - 20)
    if len(day) == 1:  # a run that follows another begins where the chamber is by then
        assert hours_below(20, found.steps, degc) >= hours_below(20, asked, degc) - 1e-6
    assert found.hours <= hours_of(20, asked) + rules().later_h.value * len(day) + 1e-6
    assert max(step.to_degc for step in found.steps) <= asked[-1].to_degc
    assert all(len(run.steps) <= of.steps for run in found.runs)
    assert all(step.hold_h <= of.longest_hold_h + 1e-9 for step in found.steps)
    assert len(found.runs) == 1 or of.starts_hot
    assert sum(run.reads for run in found.runs) == len(day) - 1
    assert all(run.said and run.said.then for run in found.runs)


@cases(300)
@given(climbs, controllers)
def test_a_day_in_its_own_steps_is_typed_in_as_it_is(runs, of):
    """What was searched in a controller's own steps is rounded no more; only what it cannot do at all is refused."""
    day = in_own_steps(day_of(runs), of)
    if day is None:
        return
    found = programmes(20, day, of, "K")
    if isinstance(found, Refusal):
        assert not {"unproven", "late", "too_steep", "too_hot", "past_ramps", "falls"} & set(why(found))
        return
    assert found.hours == pytest.approx(hours_of(20, [step for run in day for step in run]))
    assert dict.fromkeys(round(step.to_degc, 6) for step in found.steps) == dict.fromkeys(
        round(step.to_degc, 6) for run in day for step in run
    )


@given(st.floats(10, 600), st.floats(20, 1000))
def test_sixty_kelvin_an_hour_is_one_a_minute_and_hours_are_rise_by_rate(rate, rise):
    """A rule of thumb: common practice, no source; within 5 %."""
    assert Timeline.of(20, [Step(80, 60)]).end_h * 60 == pytest.approx(60, rel=0.05)
    assert Timeline.of(20, [Step(20 + rise, rate)]).end_h == pytest.approx(rise / rate, rel=0.05)


# ---------------------------------------------------------------------------------------- what cannot be


@pytest.mark.parametrize(
    ("known", "reason", "says"),
    [
        ({"letters": ("K", "N")}, "letter", "type R, and this controller can be set to K, N"),
        ({"letters": ("R",), "cutout": "shared"}, "cutout", "no over-temperature cut-out with a probe of its own"),
        ({"letters": ("R",), "starts_from": "jumps"}, "jumps", "full power"),
        ({"letters": ("R",), "ramps": Ramps("none")}, "no_ramp", "no ramp"),
        ({"letters": ("R",), "ramps_to_degc": 540}, "past_ramps", "600 °C lies above the 540 °C"),
    ],
)
def test_a_controller_that_cannot_is_told_so_in_a_sentence(known, reason, says):
    found = programmes(20, (WORKED,), controller(**known), "R")
    assert reason in why(found)
    assert says in found.reasons[0].says


def test_every_reason_is_told_at_once_and_the_probe_is_no_excuse_for_silence():
    found = programmes(20, READ_AT_95, controller(cutout="none", starts_from="room"), None)
    assert why(found) == ["no_probe", "room_start", "cutout"]


def test_what_keeps_it_from_any_day_is_known_before_a_day_is_searched():
    assert unfit(A, "K", "K") == ()
    assert [one.id for one in unfit(controller(cutout="none"), "S")] == ["letter", "cutout"]


def test_a_controller_set_to_another_letter_is_refused():
    (reason,) = run_by(A, setting="R").reasons
    assert "type K and the controller is set to R: it would not show the kiln's temperature" in reason.says


def test_a_programme_for_a_setting_that_nobody_read_begins_with_reading_it():
    says = "Not before the letter that is set is read, and is that of the probe: K."
    unread, read = run_by(A, *READ_AT_95), run_by(A, *READ_AT_95, setting="K")

    assert [run.said.before.startswith(says) for run in unread.runs] == [True, False]
    assert unread.runs[0].said.see[0] == says
    assert not any(says in (run.said.before, *run.said.see) for run in read.runs)


def test_a_probe_of_type_b_is_blind_where_drying_begins():
    (reason,) = programmes(20, (WORKED,), controller(letters=("B",)), "B").reasons
    assert reason.id == "blind"


def test_of_a_controller_that_nobody_knows_nothing_is_compiled():
    found = programmes(20, MORNING, Controller.known(), "K")
    assert set(why(found)) == {"unknown", "letter", "no_ramp", "cutout", "room_start"}
    assert Controller.known().overshoot_k == 25


def test_by_hand_a_probe_is_read_and_the_kiln_isolated_before_anybody_leaves():
    assert "independent probe" in manual()[0]
    assert any(line.startswith("Isolated before anybody leaves") for line in manual())
    assert not any("{" in line for line in manual())


def test_a_day_that_cools_in_between_is_two():
    assert why(run_by(A, (Step(95, 10, 6), Step(30, 20), Step(120, 10, 8)))) == ["falls"]


@pytest.mark.parametrize("runs", [(), ((),), (MORNING[0], ())])
def test_a_day_without_a_step_is_refused_in_a_sentence(runs):
    with pytest.raises(QuantityError, match="at least one"):
        programmes(20, runs, A, "K")
