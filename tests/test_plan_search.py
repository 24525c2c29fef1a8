"""The searched schedule: inside its limits, simple, and longer or shorter as what binds it is tightened or relaxed.

The laws are this program's own; no kiln was measured.
"""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from recover.plan.opened import opened_h
from recover.schedule.march import _steps_of
from recover.schedule.verify import BRISK, examine, powered

from recover.base.errors import Problem, QuantityError
from recover.judged.dryout import OUTDOORS
from recover.physics.ensemble import Draws
from recover.physics.lining import Layer, LayerStack
from recover.physics.stages import stages
from recover.physics.wall import Step
from recover.plan.request import _attendance
from recover.profiles import own_limits
from recover.schedule.fixed import run_fixed
from recover.schedule.limits import Conditions, RoomCare, limits_of
from recover.schedule.search import _candidates, _incumbent, search
from recover.schedule.spells import Attendance, Day, Schedule
from tests.conftest import cases
from tests.plans import BRICK, BRICK_AND_FIBRE, DENSE, THIN_FIBRE_BEHIND, kiln, limits, planned

DAYTIME = (8.0, 20.0)
HELD = (Step(95.0, 40.0, 0.5), Step(200.0, 40.0, 0.5), Step(400.0, 40.0, 0.5))


# ---------------------------------------------------------------------------------------- a plan keeps its limits


@pytest.mark.parametrize(("layers", "there"), [(BRICK, DAYTIME), (DENSE, (0.0, 24.0))])
def test_a_plan_keeps_every_limit_and_dries_nine_draws_in_ten(layers, there):
    plan = planned(kiln(layers), *there)

    assert plan.feasible
    assert plan.proof.draws >= 64
    assert plan.proof.left.p90 <= own_limits()["plan_water_left"].value
    for peak in plan.proof.peaks:
        assert peak.reached.p90 <= plan.limits[peak.limit_id].value


def test_nobody_is_away_while_it_is_heated():
    schedule = planned(kiln(), *DAYTIME).proof.schedule

    assert all(day.hours <= 12 + 1e-6 for day in schedule.days)
    assert schedule.attended_h == pytest.approx(sum(day.hours for day in schedule.days))
    course = schedule.course(15.0)
    off = [degc for hour, degc in zip(course.hours, course.degc, strict=True) if hour % 24 > 12.01]
    assert off
    assert set(off) == {15.0}


def test_a_day_is_a_few_steps_that_a_person_can_read():
    for day in planned(kiln(), *DAYTIME).proof.schedule.days:
        assert len(day.steps) <= 6
        assert all(step.to_degc % 5 == 0 and step.ramp_k_h <= 50 for step in day.steps)


def test_the_fixed_schedules_of_other_trades_are_not_at_once_shorter_drier_and_inside_the_limits():
    plan = planned(kiln())
    rows = run_fixed(plan)

    assert len(rows) == 4
    assert not any(row.beats for row in rows)


def test_in_the_mountains_a_plan_holds_below_the_boiling_point_of_the_place():
    """At 3,000 m water boils at 90.0 °C, and the first readings are taken at 85."""
    high = replace(kiln(), height_m=3000.0, stages=stages("ifb_thin", 3000.0))
    plan = planned(high)
    steps = [step for day in plan.proof.schedule.days for step in day.steps]
    held = [step.to_degc for step in steps if step.hold_h >= plan.limits.hold.value]

    assert plan.feasible
    assert 85.0 in held
    assert not any(85.0 < degc < 110.0 for degc in held)
    assert "plan_hold_h" in examine(draws_of(plan), under(plan, height_m=0.0), plan.proof.schedule).broken


def on_a_floor(pan, height_m=0.0):
    """Return the kiln with a wet floor slab as well, in its pan or without it."""
    wet = LayerStack("floor", (Layer("ifb_23", 64.0, "soaked"),))
    heating = replace(kiln(), pan=pan, height_m=height_m, stages=stages("ifb_thin", height_m))
    return replace(heating, lining=replace(heating.lining, stacks=(*heating.lining.stacks, wet)))


@pytest.mark.parametrize("height_m", [0.0, 3000.0])
def test_a_pan_that_is_opened_never_leaves_a_kiln_without_a_schedule(height_m):
    """What dries more easily gives off more vapour, in a room that takes up half a kilogram of it an hour."""
    heating, there = on_a_floor("closed", height_m), Attendance()
    room = limits_of(heating.stages, heating.power_kw, 24.0, RoomCare(100.0), OUTDOORS.at(height_m))
    plan = search(heating, room, there, binding=False)
    opened = search(on_a_floor("removed", height_m), room, there, binding=False)

    for one in (plan, opened):
        assert one.feasible
        assert all(peak.reached.p90 <= one.limits[peak.limit_id].value for peak in one.proof.peaks)
    assert hours(opened) <= hours(plan)
    assert opened_h(replace(plan, limits=room.changed("plan_room", 0.01))) is None


def test_a_plan_with_a_floor_slab_says_what_the_same_days_take_with_its_pan_off():
    heating = on_a_floor("closed")
    plan = planned(heating)

    assert opened_h(plan) < plan.proof.schedule.hours
    assert opened_h(replace(plan, heating=replace(heating, pan="removed"))) is None
    assert opened_h(planned(kiln())) is None


def draws_of(plan):
    return Draws.of(powered(plan.heating, plan.limits), pace=BRISK)


def under(plan, height_m):
    """Return the conditions of a plan at another height."""
    return Conditions(plan.limits, plan.proof.schedule.attendance, plan.top, plan.heating.room_degc, height_m)


# ---------------------------------------------------------------------------------------- what binds


CASES = [(BRICK, (0.0, 24.0)), (BRICK, DAYTIME), (BRICK_AND_FIBRE, (0.0, 24.0)), (DENSE, (0.0, 24.0))]


def relaxed(layers, there, limit_id):
    """Return the plan with one limit a quarter looser."""
    attended = Attendance(*there)
    return search(kiln(layers), limits(kiln(layers), attended.hours).relaxed(limit_id), attended, binding=False)


def hours(plan):
    """Return what was to be least: the hours until it is dry."""
    return plan.proof.worth("elapsed")


@pytest.mark.parametrize(("layers", "there"), CASES)
def test_relaxing_what_binds_shortens_the_plan(layers, there):
    """It may save nothing where it was to save less than a twentieth: few draws find what binds."""
    plan = planned(kiln(layers), *there, binding=True)
    named = [one for one in plan.binding if one.limit.id != "plan_attendance"]

    assert named
    for one in named:
        after = hours(relaxed(layers, there, one.limit.id))
        assert after < hours(plan) or (after == hours(plan) and one.saves < 0.05 * after)


def test_longer_attendance_shortens_a_plan_that_it_binds():
    plan = planned(kiln(), *DAYTIME, binding=True)

    assert "plan_attendance" in {one.limit.id for one in plan.binding}
    assert hours(planned(kiln(), 8.0, 23.0)) < hours(plan)


@pytest.mark.parametrize(("layers", "there"), CASES[:2])
def test_relaxing_what_does_not_bind_changes_nothing(layers, there):
    """Less than a twentieth is the rounding of steps, and the few draws that what binds is found with."""
    plan = planned(kiln(layers), *there, binding=True)
    named = {one.limit.id for one in plan.binding} | {"plan_attendance"}
    others = [limit.id for limit in plan.limits if limit.id not in named]

    assert {"plan_demand", "plan_casing_degc", "plan_power"} <= set(others)
    for limit_id in others:
        near = pytest.approx(hours(plan), abs=max(1.0, 0.05 * hours(plan)))
        assert hours(relaxed(layers, there, limit_id)) == near


def test_a_plan_that_does_not_dry_in_time_names_what_binds_it():
    """Two days of twelve hours for a wall that takes four of them."""
    tight = limits(kiln(BRICK_AND_FIBRE), 12.0).changed("plan_days", 2)
    plan = search(kiln(BRICK_AND_FIBRE), tight, Attendance(*DAYTIME))

    assert not plan.feasible
    assert "plan_attendance" in {one.limit.id for one in plan.binding}
    assert all(one.saves is None and one.dries > 0 for one in plan.binding)


def test_a_plan_that_cannot_be_names_what_binds_it():
    """A dehumidifier that draws a tenth of a litre a day: vapour that nothing takes up."""
    tight = limits(kiln(), 24.0, RoomCare(dehumidifier_l_day=0.1)).changed("plan_days", 1)
    plan = search(kiln(), tight, Attendance())

    assert not plan.feasible
    assert {limit.id for limit in plan.broken} & {"plan_room", "plan_water_left"}
    assert "plan_room" in {one.limit.id for one in plan.binding}


# ---------------------------------------------------------------------------------------- never longer


@pytest.mark.parametrize(
    ("tight", "loose", "there", "more"),
    [
        (kiln(room_vapour=0.02), kiln(), (0.0, 24.0), {}),  # drier air
        (kiln(THIN_FIBRE_BEHIND), kiln(BRICK), (0.0, 24.0), {}),  # stripped
        (kiln(), kiln(), (0.0, 24.0), {"may_wrap": True}),
        (kiln(), kiln(), (6.0, 22.0), {}),  # longer attendance
    ],
    ids=["drier", "stripped", "wrapped", "attended"],
)
def test_what_eases_drying_never_lengthens_a_plan(tight, loose, there, more):
    before = planned(tight, *(DAYTIME if there[0] else there))
    attended = Attendance(*there)
    after = search(loose, limits(loose, attended.hours), attended, binding=False, **more)

    assert after.feasible
    assert hours(after) <= hours(before) + 1e-6


def test_a_plan_made_before_is_taken_where_it_is_better_and_still_holds():
    one = next(_candidates(replace(kiln(), draws=64), limits(kiln()), Attendance(), False, lambda *_: None))
    slow = examine(one.draws, one.under, Schedule((Day(15.0, (*HELD, Step(500.0, 25.0, 30.0))),)))
    fast = planned(kiln())

    assert _incumbent([one], (fast,), "elapsed", (one, slow))[1].schedule == fast.proof.schedule


@pytest.mark.parametrize("cut_h", [20.0, 15.5], ids=["it does not dry", "its ramps are too steep"])
def test_a_plan_made_before_that_no_longer_holds_is_not_taken(cut_h):
    before = planned(kiln(), *DAYTIME)
    shorter = replace(before, proof=replace(before.proof, schedule=before.proof.schedule.until(cut_h)))
    found = search(kiln(), limits(kiln()).changed("plan_ramp", 40), Attendance(), incumbents=(shorter,), binding=False)

    assert found.feasible
    assert found.proof.schedule != shorter.proof.schedule


@pytest.mark.parametrize("layers", [BRICK, BRICK_AND_FIBRE])
def test_what_is_to_be_least_is_least_by_its_own_plan(layers):
    """Day and night wrapping saves energy and costs hours, so that the plans differ."""
    plans = {name: planned(kiln(layers), objective=name, may_wrap=True) for name in ("elapsed", "attended", "energy")}

    for name, plan in plans.items():
        assert all(plan.proof.worth(name) <= other.proof.worth(name) + 1e-6 for other in plans.values())
    assert plans["energy"].wrapped
    assert not plans["elapsed"].wrapped


# ---------------------------------------------------------------------------------------- parts of it


@given(st.lists(st.tuples(st.floats(0.25, 8), st.floats(0, 60)), min_size=1, max_size=12))
@cases(50)
def test_simple_steps_are_nowhere_above_what_the_march_found(legs):
    """A rounded ramp is never steeper and a rounded top never hotter, so that the line stays below the march."""
    knots = [(0.0, 15.0)]
    for hours, rate in legs:
        knots.append((knots[-1][0] + hours, knots[-1][1] + rate * hours))
    steps = _steps_of(knots, (95.0, 200.0, 400.0))

    assert max(step.to_degc for step in steps) <= knots[-1][1] + 1e-6 or knots[-1][1] < 16
    assert max(step.ramp_k_h for step in steps) <= max(5.0, *(rate for _, rate in legs)) + 1e-6


@given(st.floats(0.5, 20))
def test_a_schedule_cut_at_an_hour_ends_there(hour):
    day = Day(15.0, (Step(95.0, 50.0, 2.0), Step(600.0, 50.0, 8.0)))

    assert Schedule((day,)).until(hour).hours == pytest.approx(min(hour, 20.0))


def test_a_kelvin_a_minute_is_sixty_an_hour():
    """Common practice, no source: hours are rise over rate."""
    assert Day(20.0, (Step(140.0, 60.0),)).hours == pytest.approx(2.0, rel=0.05)


# ---------------------------------------------------------------------------------------- what cannot be


@pytest.mark.parametrize("text", ["", "all day", "08:00-08:00", "08:00-09:00", "25:00-26:00", "24:00-08:00"])
def test_attendance_that_cannot_be_is_a_sentence(text):
    assert isinstance(_attendance(text), Problem)
    assert "08:00-20:00" in str(_attendance(text))


@pytest.mark.parametrize(("text", "hours"), [("08:00-20:00", 12), ("00:00-24:00", 24), ("20:00-06:00", 10)])
def test_attendance_is_read(text, hours):
    read = _attendance(text)

    assert isinstance(read, Attendance)
    assert read.hours == hours
    assert str(read) == text


def test_a_chamber_without_a_vent_is_refused():
    with pytest.raises(QuantityError, match="a way out for vapour"):
        search(kiln(opening="closed"), limits(kiln()), Attendance())


def test_fewer_draws_than_prove_anything_are_refused():
    with pytest.raises(QuantityError, match="64 or more"):
        search(replace(kiln()), limits(kiln()), Attendance(), draws=8)
