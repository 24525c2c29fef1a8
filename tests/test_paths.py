"""A path from soaked to fired is one walk: each day begins where the day before left the kiln, to the end."""

from dataclasses import replace
from itertools import pairwise
from math import pi, sqrt

import numpy as np
import pytest

from recover.controller.capability import BY_HAND, Controller, Ramps
from recover.controller.compile import unfit
from recover.physics.stages import below_boiling_degc
from recover.plan.outside import _around
from recover.plan.paths import run_path
from recover.plan.ways import closed_because, runs_alone, way, ways
from recover.profiles import own_limits
from tests.small_kiln import by_day, ran, taken, weekdays
from tests.test_programmes import controller
from tests.test_wetmap import KILN

ENDS_BEFORE_H = own_limits()["plan_ends_before_h"].value
LEFT = own_limits()["plan_water_left"].value


# ---------------------------------------------------------------------------------------- one state of water


def test_a_soaked_kiln_is_dried_from_outside_and_then_by_its_own_elements_and_the_path_ends():
    run = ran()
    phases = [one.phase for one in run.days]
    assert phases == [*["outside"] * phases.count("outside"), *["own"] * phases.count("own")]
    assert set(phases) == {"outside", "own"}
    assert run.dry
    assert np.quantile(run.days[-1].left, 0.95) <= LEFT


def test_each_day_begins_with_the_water_that_the_day_before_left():
    for before, after in pairwise(ran().days):
        assert after.did.water_kg[:, 0] == pytest.approx(before.did.water_kg[:, -1], rel=1e-9)


def test_what_is_left_always_refers_to_the_water_of_the_first_day():
    first, *_, last = ran().days
    assert last.left == pytest.approx(last.did.water_kg[:, -1] / first.did.water_kg[:, 0], rel=1e-9)


def test_own_elements_wait_until_the_hot_face_has_dried_where_they_lie():
    run, figures = ran(), ways()
    begun = next(day for day, one in enumerate(run.days) if one.phase == "own")
    assert begun > 0
    opened = ran(given=(("plan.lead_days" + KILN, 15),))  # nor before parts are there
    assert next(day for day, one in enumerate(opened.days) if one.phase == "own") >= 15
    assert figures.entry_left.mid < 1


def test_a_kiln_whose_entry_is_open_needs_no_day_from_outside():
    of = replace(taken(), gate_open=True)
    run = run_path(way("own"), of, by_day, 16)
    assert {one.phase for one in run.days} == {"own"}
    assert run.dry


# ---------------------------------------------------------------------------------------- who sets it


def test_a_controller_that_refuses_a_day_leaves_days_that_were_searched_as_a_hand_overshoots():
    """Fit by its record, and blind: a probe of type B tells nothing of a hold below boiling."""
    blind = controller(letters=("B",), overshoot_k=2, cutout_margin_k=25.0)
    of = replace(taken(), gate_open=True, controller=blind, probe="B", setting="B")
    run = run_path(way("own"), of, by_day, 16)

    assert not unfit(blind, "B", "B")
    assert [one.id for one in run.own.refusal.reasons] == ["blind"]
    assert {one.overshoot_k for one in run.days if one.spell} == {BY_HAND.overshoot_k}
    assert not any(one.programme for one in run.days)
    assert [one.spell for one in run.days] == [one.spell for one in _by_hand().days]


def test_a_controller_that_can_set_nothing_leaves_days_that_are_set_by_hand():
    """Its slowest ramp is steeper than what this lining bears."""
    coarse = controller(ramps=Ramps("list", listed_k_h=(150.0, 220.0)), cutout_margin_k=25.0)
    run = run_path(way("own"), replace(taken(), gate_open=True, controller=coarse, probe="K", setting="K"), by_day, 16)

    assert {one.id for one in run.own.refusal.reasons} == {"too_steep"}
    assert [one.spell for one in run.days] == [one.spell for one in _by_hand().days]


def test_a_controller_whose_days_do_not_end_is_not_given_up_for_a_hand():
    """With all its overshoot kept clear of boiling it is set to so little that the lining does not dry; a hand that
    switches all the power is believed to do no better."""
    wild = controller(overshoot_k=78, cutout_margin_k=None)
    run = run_path(way("own"), replace(taken(), gate_open=True, controller=wild, probe="K", setting="K"), by_day, 16)

    assert not run.dry
    assert run.own.refusal is None
    assert {one.overshoot_k for one in run.days if one.spell} == {78}


def test_a_hand_overshoots_by_no_less_than_a_controller_that_nobody_has_tried():
    assert BY_HAND.overshoot_k >= Controller.known().overshoot_k


@pytest.mark.parametrize("seconds", [30, 90])
def test_a_hand_that_leaves_full_power_on_passes_boiling_long_before_it_is_read_again(seconds):
    """ΔT = 2 q √(t / π) / √(k ρ c), Carslaw & Jaeger 2.9, from memory: 15 kW on 2.5 m² of insulating brick."""
    rise_k = 2 * (15_000 / 2.5) * sqrt(seconds / pi) / sqrt(0.2 * 600 * 1000)
    assert rise_k > BY_HAND.overshoot_k


def _by_hand():
    return run_path(way("own"), replace(taken(), gate_open=True), by_day, 16)


# ---------------------------------------------------------------------------------------- who is there


def test_nothing_that_heats_runs_outside_attendance_and_all_of_it_ends_before_somebody_leaves():
    for one in ran().days:
        assert one.on_h <= max(one.attended_h - ENDS_BEFORE_H, 0) + 1e-6


def test_on_a_day_on_which_nobody_comes_nothing_is_on():
    run = ran(attended=weekdays)
    idle = [one for day, one in enumerate(run.days) if weekdays(day) == 0]
    assert idle
    assert all(one.on_h == one.attended_h == 0 and one.spell is None for one in idle)
    assert len(run.days) > len(ran().days)


def test_own_elements_and_a_heater_in_the_chamber_never_run_alone_whatever_was_agreed():
    of = replace(taken(), movers_alone=True, enclosure_alone=True)
    assert not runs_alone(way("own"), of)
    assert not runs_alone(way("small_heater"), of)
    assert runs_alone(way("air"), of)
    assert runs_alone(way("enclosure"), of)


def test_nothing_runs_alone_unless_that_was_agreed():
    assert not any(runs_alone(card, taken()) for card in ways().way)


def test_an_enclosure_that_may_run_day_and_night_dries_sooner_and_is_visited_daily():
    of = replace(taken(), enclosure_alone=True)
    run = run_path(way("enclosure"), of, by_day, 16)
    warm = [one for one in run.days if one.phase == "outside" and one.on_h]
    assert {one.on_h for one in warm} == {24.0}
    assert {one.attended_h for one in warm} == {ways().visit_h.mid}
    assert len(warm) < sum(one.phase == "outside" and one.on_h > 0 for one in ran().days)


def test_nothing_runs_alone_into_a_day_on_which_nobody_comes():
    of = replace(taken(), enclosure_alone=True)
    run = run_path(way("enclosure"), of, weekdays, 16)
    for day, one in enumerate(run.days):
        if one.on_h > one.attended_h:
            assert weekdays(day + 1) > 0


def test_nobody_uses_parts_before_they_are_there():
    """Six weeks of waiting: boards, fitting and its own heat come after them, whatever has dried by then."""
    run = ran(given=(*BOARDS, ("plan.lead_days" + KILN, 42)))
    fitted = next(day for day, one in enumerate(run.days) if one.boards == "in")
    assert fitted >= 42
    assert all(day > fitted for day, one in enumerate(run.days) if one.phase == "own")


def test_days_on_which_nobody_comes_are_none_of_the_four_weeks():
    """Moving air does not dry it: it runs on as many days by five a week as by seven."""
    by_seven, by_five = (sum(one.on_h > 0 for one in ran("air", attended=days).days) for days in (by_day, weekdays))
    assert by_seven == by_five == ways().longest_days.mid


def test_somebody_who_comes_seldom_does_not_draw_it_out_beyond_ten_weeks():
    outside = [one for one in ran("air", attended=mondays).days if one.phase == "outside"]
    assert sum(one.on_h > 0 for one in outside) < ways().longest_days.mid
    assert len(outside) <= ways().within_days.mid + 7  # parts are fitted on the Monday after


def mondays(day: int) -> float:
    return 12.0 if day % 7 == 0 else 0.0


def test_in_shifts_it_takes_fewer_days():
    assert len(ran(shifts=True).days) < len(ran().days)


# ---------------------------------------------------------------------------------------- boards


BOARDS = (
    ("casing.build" + KILN, "framed"), ("lining.layers@kiln/1/part/wall", 2),
    ("layer.material@kiln/1/part/wall/layer/2", "calcium_silicate"), ("layer.thickness@kiln/1/part/wall/layer/2", 25),
)  # fmt: skip


def test_boards_that_are_replaced_are_out_on_the_first_day_and_in_before_own_heat():
    run = ran(given=BOARDS)
    out, back = (next(day for day, one in enumerate(run.days) if one.boards == do) for do in ("out", "in"))
    own = next(day for day, one in enumerate(run.days) if one.phase == "own")
    assert out == 0
    assert out < back < own
    assert run.days[out].on_h == run.days[back].on_h == 0


def test_with_its_boards_out_the_brick_dries_faster_than_behind_new_ones():
    out, jacketed = ran(given=BOARDS), ran(given=(*BOARDS, ("casing.build" + KILN, "jacket")))
    at = 6
    assert np.median(out.days[at].left) < np.median(jacketed.days[at].left)


def test_a_new_board_comes_in_dry_and_takes_up_what_moves_into_it():
    run = ran(given=BOARDS)
    back = next(day for day, one in enumerate(run.days) if one.boards == "in")
    before, after = run.days[back - 1].did, run.days[back].did
    assert after.water_kg[:, 0] == pytest.approx(before.water_kg[:, -1], abs=1e-3)
    assert after.layer_kg.shape[2] > before.layer_kg.shape[2]


# ---------------------------------------------------------------------------------------- before boiling


def test_no_chamber_passes_boiling_on_a_day_that_is_not_marked_as_waiting_for_the_reading():
    hottest = below_boiling_degc(0.0)
    for one in ran().days:
        if one.spell and one.spell.top_degc > hottest:
            assert one.passes_boiling
        else:
            assert not one.passes_boiling


# ---------------------------------------------------------------------------------------- what closes


def test_what_closes_a_way_is_named_and_what_is_not_known_opens_nothing():
    assert closed_because(way("workshop"), taken())
    assert closed_because(way("own"), taken())
    assert not closed_because(way("enclosure"), taken())
    assert closed_because(way("enclosure"), replace(taken(), supply_kw=0.5))


def test_salt_closes_own_heat_and_no_path_goes_on_to_it():
    of = replace(taken(), salt="sea")
    run = run_path(way("air"), of, by_day, 16)
    assert {one.phase for one in run.days} == {"outside"}


def test_in_a_workshop_no_air_is_moved_through_it_by_night_unless_the_fan_may_run_alone():
    of = replace(taken(), workshop=True, boards_can_go=False)
    day, night = (_around(way("workshop"), of, None, 12.0, on=on) for on in (True, False))
    assert day.room_degc == night.room_degc
    assert (day.vent_m3_h > 0, night.vent_m3_h) == (True, 0.0)
