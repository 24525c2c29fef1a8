"""A schedule as it is followed by a controller: below the schedule's holds while wet, as dry, and inside its limits.

The laws are this program's own; no kiln was measured.
"""

import pytest

from recover.controller.capability import Ramps
from recover.controller.programme import Programme, Refusal
from recover.controller.proof import rising_parts, rules
from recover.plan.follow import followed
from recover.profiles import own_limits
from tests.plans import BRICK, DENSE, kiln, planned
from tests.test_programmes import controller

DAYTIME = (8.0, 20.0)
SHORT = (8.0, 13.0)
LONG = (6.0, 22.0)


@pytest.fixture(scope="module", params=[(BRICK, DAYTIME, 5), (BRICK, SHORT, 15), (DENSE, LONG, 5)])
def run(request):
    """A plan, the overshoot of a controller [K], and how it is followed."""
    layers, there, overshoot_k = request.param
    plan = planned(kiln(layers), *there)
    return plan, overshoot_k, followed(plan, controller(overshoot_k=overshoot_k), "K", "K")


def test_a_controller_that_can_runs_every_day_of_it(run):
    plan, _, found = run

    assert found.by_controller
    assert all(isinstance(day, Programme) for day in found.days)
    assert len(found.days) == len(plan.proof.schedule.days)


def test_set_points_lie_below_the_holds_by_the_overshoot_while_the_lining_is_wet(run):
    plan, overshoot_k, found = run
    parts = [part for day in plan.proof.schedule.days for _, part in rising_parts(day.from_degc, day.steps)]
    wet = [
        (asked.to_degc, step.to_degc) for part, day in zip(parts, found.days, strict=True)
        for asked, step in zip(part, day.steps, strict=False)
        if asked.hold_h and asked.to_degc < rules().dry_degc.value
    ]  # fmt: skip

    assert wet
    for asked, degc in wet:
        assert degc <= asked - overshoot_k


def test_nine_draws_in_ten_are_as_dry_as_the_schedule_promised(run):
    """All else is kept as well; the holds lie below the hold points by what may be overshot, as they should."""
    _, _, found = run

    assert found.proof.left.p90 <= own_limits()["plan_water_left"].value
    assert set(found.proof.broken) <= {"plan_hold_h"}


def test_at_worst_no_limit_is_broken(run):
    plan, _, found = run

    assert found.broken == ()
    assert {peak.limit_id for peak in found.at_worst} >= {"plan_demand", "plan_steam_share", "plan_casing_degc"}
    for peak in found.at_worst:
        assert peak.reached.p90 <= plan.limits[peak.limit_id].value


def test_lower_set_points_are_made_up_for_by_days_like_the_last():
    """All holds 10 K lower dry more slowly than 2 K lower, and both more slowly than the schedule."""
    plan = planned(kiln(DENSE), *LONG)
    near, far = (followed(plan, controller(overshoot_k=by), "K", "K").proof.schedule for by in (2, 10))

    assert len(plan.proof.schedule.days) < len(near.days) < len(far.days)
    assert len({day.steps for day in far.days[-4:-1]}) == 1
    assert all(day.hours <= 16 + 1e-6 for day in far.days)


def test_a_controller_that_refuses_leaves_the_schedule_as_it_is_and_says_each_reason_once():
    plan = planned(kiln(), *SHORT)
    found = followed(plan, controller(cutout="none", ramps=Ramps("none")), "K", "K")
    (refusal,) = found.days

    assert len(plan.proof.schedule.days) > 1
    assert isinstance(refusal, Refusal)
    assert [one.id for one in refusal.reasons] == ["no_ramp", "cutout"]
    assert refusal.manual
    assert sum("steps in a programme" in line for line in refusal.look_for) == 1
    assert found.proof == plan.proof
    assert not found.by_controller


def test_a_replacement_must_keep_the_steps_of_the_longest_day_not_of_all():
    plan = planned(kiln(), *SHORT)
    (refusal,) = followed(plan, controller(), None, "K").days
    most = max(len(day.steps) for day in plan.proof.schedule.days)

    assert f"At least {most} steps in a programme" in refusal.look_for[1]


def test_a_probe_of_which_nobody_knows_the_letter_is_refused():
    plan = planned(kiln())
    found = followed(plan, controller(), None, "K")
    (refusal,) = found.days

    assert [one.id for one in refusal.reasons] == ["no_probe"]
    assert found.proof == plan.proof
    assert not found.by_controller


def test_a_probe_of_another_letter_is_refused():
    (refusal,) = followed(planned(kiln()), controller(), "S", "K").days

    assert [one.id for one in refusal.reasons] == ["letter"]
