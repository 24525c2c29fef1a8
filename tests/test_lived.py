"""A drying as it was lived: which days were run and for how long, and what draws stand at after them."""

from dataclasses import replace
from datetime import timedelta
from functools import cache

import numpy as np
import pytest

from recover.asked.told import Logged
from recover.physics.wall import Step
from recover.plan.days import days_of
from recover.plan.lived import LivedKiln, cut, done_days, spell_of
from recover.plan.walk import RunDay
from recover.plan.ways import way
from recover.plan.whole import Request
from recover.schedule.spells import Attendance, HeatedRun, Spell
from tests.small_kiln import ran, taken
from tests.test_criteria import PIECE
from tests.test_plan_days import OPENS, ZONE


@cache
def days():
    return days_of(ran(), taken(), Request(OPENS, Attendance(8, 20)), ZONE, PIECE)


def logged(what, at, value=1.0, **more):
    return Logged(line=1, by="A", kiln="kiln/1", what=what, measured=at, value=value, **more)


def own():
    return next(day for day in days() if day.steps)


def hourly(day, *, until_h=11.5, **more):
    """What is read every two hours: the casing, of its own elements the chamber as it is set."""
    opens = day.steps[0].begins if day.steps else day.attended_from
    at = [opens + timedelta(hours=float(hour)) for hour in np.arange(0.5, until_h, 2.0)]
    if not day.steps:
        return [logged("casing", one, **more) for one in at]
    return [logged("chamber", one, day.top_degc) for one in at if one <= day.steps[-1].ends]


# ---------------------------------------------------------------------------------------- what was run


def test_a_day_counts_as_run_where_something_was_logged_while_it_was_on():
    first, second = days()[:2]
    done = done_days(days(), hourly(first), second.attended_to)
    assert [(one.day.number, one.run) for one in done] == [(1, True), (2, False)]
    assert done[0].on_h == pytest.approx(ran().days[0].on_h, abs=0.02)


@pytest.mark.parametrize("line", [
    {"what": "casing", "value": None, "word": "not_read"}, {"what": "inlet"}, {"what": "insulation"},
    {"what": "litres", "value": 0.0},
])  # fmt: skip
def test_a_line_that_shows_nothing_of_heat_makes_no_day_of_it(line):
    day = days()[1]
    one = logged(line["what"], day.attended_from + timedelta(hours=1), **{k: v for k, v in line.items() if k != "what"})
    assert not done_days(days(), [one], day.attended_to)[1].run


def test_a_single_reading_shows_no_more_than_the_hours_until_the_next():
    day = days()[0]
    (done,) = done_days(days()[:1], [logged("casing", day.attended_from + timedelta(hours=1))], day.attended_to)
    assert done.on_h == pytest.approx(3.0, abs=0.02)


def test_what_was_caught_shows_that_it_was_on_until_it_was_emptied():
    day = days()[0]
    (done,) = done_days(days()[:1], [logged("litres", day.attended_to, 2.0)], day.attended_to + timedelta(hours=1))
    assert done.on_h == pytest.approx(ran().days[0].on_h, abs=0.02)


def test_a_fall_of_insulation_after_it_had_risen_ends_the_heat_of_its_day_by_the_log_alone():
    """No figure stands beside the readings."""
    day = own()
    begins = day.steps[0].begins
    fell = [
        logged("insulation", begins + timedelta(hours=n + 1), value, unit="MΩ") for n, value in enumerate((5, 9, 2))
    ]
    log = sorted([*hourly(day), *fell], key=lambda one: one.measured)
    done = done_days(days(), log, day.attended_to + timedelta(hours=1))
    assert next(one for one in done if one.day == day).on_h == pytest.approx(3.0, abs=0.02)


@pytest.mark.parametrize("degc", [9.0, 18.0])
def test_a_cold_chamber_shows_that_its_own_elements_were_off(degc):
    day = own()
    held = day.steps[0].hold_from + timedelta(minutes=5)
    cold = [logged("chamber", held, degc), logged("casing", held, 400.0)]
    assert not done_days(days(), cold, day.attended_to)[-1].run
    assert done_days(days(), [logged("chamber", held, day.steps[0].to_degc)], day.attended_to)[-1].run


def test_a_weighing_before_it_was_switched_on_does_not_tell_that_its_own_elements_were_on():
    day = own()
    at_the_opening = [logged("piece", day.attended_from), logged("insulation", day.attended_from)]
    last = done_days(days(), at_the_opening, day.attended_to)[-1]
    assert last.day == day
    assert not last.run
    assert last.reached


def test_a_day_that_is_open_counts_as_it_was_planned():
    day = days()[2]
    assert [one.run for one in done_days(days(), [], day.attended_from + timedelta(hours=1))] == [False, False, True]


def test_what_stopped_a_day_from_outside_ends_its_heat_until_it_went_on():
    day = days()[0]
    noon, three = (day.attended_from + timedelta(hours=hours) for hours in (4, 7))
    for more, hours in (
        ([logged("stopped", noon, None, word="rcd_trip")], 4.0),
        ([logged("stopped", noon, None, word="power_cut"), logged("again", three, None)], ran().days[0].on_h - 3.0),
    ):
        (done, *_) = done_days(days(), [*hourly(day), *more], day.attended_to)
        assert done.on_h == pytest.approx(hours, abs=0.02)


def test_its_own_elements_that_were_stopped_lose_the_end_of_their_day():
    day = own()
    stop, go = (day.steps[0].begins + timedelta(hours=hours) for hours in (3, 4))
    log = [*hourly(day), logged("stopped", stop, None)]
    assert done_days(days(), log, day.attended_to)[-1].on_h == pytest.approx(3.0, abs=0.02)
    log.append(logged("again", go, None))
    whole_h = (day.steps[-1].ends - day.steps[0].begins) / timedelta(hours=1)
    assert done_days(days(), log, day.attended_to)[-1].on_h == pytest.approx(whole_h - 1.0, abs=0.02)


def test_what_was_seen_and_is_a_stop_ends_the_day_and_what_is_none_does_not():
    day = days()[0]
    noon = day.attended_from + timedelta(hours=4)
    for word, hours in (("running", 4.0), ("some", ran().days[0].on_h)):
        (done, *_) = done_days(days(), [*hourly(day), logged("drips", noon, None, word=word)], day.attended_to)
        assert done.on_h == pytest.approx(hours, abs=0.02)


# ---------------------------------------------------------------------------------------- what was set


def test_what_a_day_was_set_to_is_read_from_the_day_that_is_stored():
    number = own().number - 1
    searched, stored = ran().days[number].spell, spell_of(own())
    assert [run.reads for run in stored.runs] == [run.reads for run in searched.runs]
    for one, other in zip(searched.steps, stored.steps, strict=True):
        assert other.to_degc == one.to_degc
        assert other.hold_h == pytest.approx(one.hold_h, abs=0.05)
    assert stored.hours == pytest.approx(searched.hours, abs=0.1)


def test_a_run_that_was_stopped_came_as_far_as_its_ramp_had_come():
    run = HeatedRun(20.0, (Step(60.0, 20.0, 2.0), Step(90.0, 10.0, 1.0)))
    assert cut(Spell((run,)), 1.0).steps == (Step(40.0, 20.0, 0.0),)
    assert cut(Spell((run,)), 3.0).steps == (Step(60.0, 20.0, 1.0),)
    assert cut(Spell((run,)), 5.0).steps == (Step(60.0, 20.0, 2.0), Step(70.0, 10.0, 0.0))
    assert cut(Spell((run,)), 99.0) == Spell((run,))


# ---------------------------------------------------------------------------------------- where it stands


def lived(log, until) -> LivedKiln:
    walk = LivedKiln(card=way("enclosure"), of=taken(), heating=replace(taken().heating, draws=16))
    return walk.through(done_days(days(), log, until))


def test_days_that_were_run_as_planned_leave_each_draw_where_the_plan_left_it():
    upto = own().number
    walk = lived([one for day in days()[:upto] for one in hourly(day)], days()[upto - 1].attended_to)
    for one, planned in zip(walk.days, ran().days, strict=False):
        assert one.left == pytest.approx(planned.left, abs=0.01)


def test_a_day_that_was_not_run_leaves_more_water_than_one_that_was():
    until = days()[1].attended_to
    run, idle = lived(hourly(days()[0]), until), lived([], until)
    assert (run.days[0].left < idle.days[0].left).all()
    assert isinstance(idle.days[0], RunDay)
    assert idle.days[0].on_h == 0
