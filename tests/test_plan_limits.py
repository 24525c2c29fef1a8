"""What a run came to beside its limits, told of runs of a few hours: arithmetic by hand."""

from dataclasses import replace
from types import SimpleNamespace
from typing import get_args

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from recover.judged.dryout import OUTDOORS, ventilation_m3_h
from recover.physics.air import boiling_degc, pressure_at_pa
from recover.physics.stages import StageClass, stages
from recover.profiles import own_limits
from recover.schedule.heated import OFF_DEGC
from recover.schedule.limits import Boiling, RoomCare, figures, limits_of, reached
from tests.plans import kiln, under

HOURS = np.array([0.0, 0.5, 1.0, 2.0, 3.0])
ASKED = 15.0 + 50.0 * HOURS


def limits(power_kw=4.0, care=None, **more):
    return limits_of(kiln().stages, power_kw, 12.0, care, OUTDOORS, **more)


def run(**more):
    """Return what two draws of two walls did: the second draw gives half the water of the first."""
    of_walls = np.array([[[20.0, 30.0], [25.0, 70.0], [60.0, 40.0], [50.0, 40.0], [40.0, 40.0]]])
    water = np.array([[10.0, 9.0, 8.0, 4.0, 3.0], [10.0, 9.5, 9.0, 7.0, 6.5]])
    did = {
        "hours": HOURS, "demand": np.concatenate([of_walls, of_walls / 2]) / 100,
        "casing_degc": np.concatenate([of_walls, of_walls + 1]), "water_kg": water,
        "chamber_degc": np.tile(np.array([15.0, 30.0, 50.0, 100.0, 165.0]), (2, 1)),
        "chamber_vapour": np.array([[0.1, 0.3, 0.1, 0.5, 0.5], [0.2] * 5]),
    } | more  # fmt: skip
    return SimpleNamespace(**did)


def test_of_several_walls_the_worst_counts():
    found = reached(limits(), run(), ASKED)

    assert found["plan_casing_degc"].tolist() == [[30, 70, 60, 50, 40], [31, 71, 61, 51, 41]]
    assert found["plan_demand"][0].tolist() == pytest.approx([0.3, 0.7, 0.6, 0.5, 0.4])


def test_steam_is_a_mean_of_the_last_hour_and_before_one_has_gone_of_what_there_was():
    """By hand: at 1 h a mean of 0.1, 0.3, 0.1 by halves of an hour is 0.2; at 2 h of 0.1 and 0.5, 0.3."""
    steam = reached(limits(), run(), ASKED)["plan_steam_share"]

    assert steam[0].tolist() == pytest.approx([0.1, 0.2, 0.2, 0.3, 0.5])
    assert steam[1].tolist() == pytest.approx([0.2] * 5)


def test_how_far_the_chamber_lags_counts_where_the_power_is_known():
    """The course climbs 50 K an hour from 15 °C."""
    assert reached(limits(), run(), ASKED)["plan_lag_k"][0].tolist() == pytest.approx([0, 10, 15, 15, 0])
    assert "plan_lag_k" not in reached(limits(None), run(), ASKED)


def test_vapour_in_the_room_is_what_went_in_the_last_hour():
    """By hand [kg/h]: 1 kg of the first half hour is 2; 4 kg of the second hour are 4."""
    room = reached(limits(care=RoomCare(100.0)), run(), ASKED)["plan_room"]

    assert room[0].tolist() == pytest.approx([0, 2, 2, 4, 1])
    assert room[1].tolist() == pytest.approx([0, 1, 1, 2, 0.5])
    assert "plan_room" not in reached(limits(), run(), ASKED)


def test_a_first_look_within_a_quarter_of_an_hour_makes_no_peak_of_a_drop():
    """0.1 kg in six minutes are 1 kg/h by their own time; a quarter of an hour is the least that is looked at: 0.4."""
    hours, water = np.array([0.0, 0.1, 0.25]), np.array([[10.0, 9.9, 9.75]])
    shape = {"demand": np.zeros((1, 3, 1)), "casing_degc": np.zeros((1, 3, 1)), "chamber_degc": np.zeros((1, 3)),
             "chamber_vapour": np.zeros((1, 3))}  # fmt: skip
    room = reached(limits(care=RoomCare(100.0)), run(hours=hours, water_kg=water, **shape), ASKED[:3])["plan_room"]

    assert room[0].tolist() == pytest.approx([0, 0.4, 1.0])


# ---------------------------------------------------------------------------------------- the limits themselves


def test_the_gentlest_ramp_that_practice_names_is_the_limit():
    named = [stage.ramp_max_k_h for stage in kiln().stages if stage.ramp_max_k_h]
    steep, gentle = (replace(kiln().stages[0], ramp_max_k_h=k_h) for k_h in (50.0, 20.0))
    unnamed = replace(steep, ramp_max_k_h=None)

    assert limits().ramp.value == min(named)
    assert limits_of((unnamed, steep, gentle), None, 12.0, None, OUTDOORS)["plan_ramp"].value == 20


def test_a_limit_that_a_kiln_lacks_is_none_among_them():
    assert {"plan_power", "plan_room"}.isdisjoint(one.id for one in limits(None))
    assert {"plan_power", "plan_room"} <= {one.id for one in limits(care=RoomCare(30.0))}


def test_where_elements_crumble_a_plan_stays_below():
    assert limits().top == own_limits()["plan_top_degc"]
    assert limits(pest=True).top == own_limits()["plan_pest_degc"]


@pytest.mark.parametrize("care", [None, RoomCare()])
def test_a_room_of_which_nothing_is_known_has_no_limit(care):
    assert limits(care=care).room is None


def test_what_is_known_of_a_room_is_its_limit_and_what_is_not_known_takes_nothing():
    """20 l a day are 0.83 kg/h; 30 m3/h of 1.24 kg/m3 take up 4 g/kg: 0.15 kg/h (by hand)."""
    air = pytest.approx(30 * OUTDOORS.dry_kg_m3 * 0.004)

    assert limits(care=RoomCare(None, 24.0)).room.value == pytest.approx(1.0)
    assert limits(care=RoomCare(30.0)).room.value == air
    assert limits(care=RoomCare(0.0, 0.0)).room.value == 0


def test_a_heater_that_is_off_lags_behind_nothing():
    assert np.all(reached(limits(), run(), np.full(len(HOURS), OFF_DEGC))["plan_lag_k"] < 0)


def test_the_gate_is_the_hold_of_practice_below_boiling():
    """Thin brick: 8 to 12 hours between 60 and 95 °C, the shortest of them at the least; before fibre 12 to 24."""
    assert Boiling.of(stages("ifb_thin"), 40.0) == Boiling(95.0, 60.0, 8.0)
    assert Boiling.of(stages("ifb_fibre"), 100.0).hours == 12.0
    assert Boiling.of(stages("ifb_thin", 3000.0), 40.0).hold_degc == 85.0


def test_what_each_draw_has_of_the_room_goes_with_some_of_the_draws():
    damp = replace(under(kiln()).day, room_vapour=np.array([0.01, 0.02, 0.03]))
    some = replace(under(kiln()), day=damp).only([2, 0])

    assert some.day.room_vapour.tolist() == [0.03, 0.01]
    assert some.night.room_vapour == 0.0115


def test_readings_are_taken_at_95_200_and_400_and_what_a_search_keeps_off_is_ours():
    """Own limits: nobody makes one milder by accident."""
    found = figures()

    assert found.hold_points_degc(0.0) == (95, 200, 400)
    assert (found.unknown_power_kw.value, found.least_draws.value, found.within_days.value) == (50, 64, 49)


@pytest.mark.parametrize(
    ("height_m", "boils", "first"),
    [(-400, 101.3, 95), (0, 100.0, 95), (100, 99.7, 95), (300, 99.0, 90), (1000, 96.7, 90), (2000, 93.4, 85),
     (3000, 90.0, 85), (5000, 83.2, 75)],
)  # fmt: skip
def test_a_hold_below_boiling_is_as_far_below_it_in_the_mountains(height_m, boils, first):
    """Boiling points by ISO 2533 and the saturation line; five kelvins under it in whole degrees, in fives."""
    assert boiling_degc(pressure_at_pa(height_m)) == pytest.approx(boils, abs=0.1)
    assert figures().hold_points_degc(height_m) == (first, 200, 400)
    assert replace(under(kiln()), height_m=height_m).hold_points_degc[0] == first
    assert [one.to_degc for one in stages("ifb_fibre", height_m)] == [first, 200, 400, 600]
    lowered = "boiling point at this height" in stages("ifb_fibre", height_m)[0].note
    assert lowered == (first < 95)


@given(st.floats(-450, 3000))
def test_a_height_that_nobody_told_gives_no_hotter_hold_than_any_up_to_3000_m(height_m):
    """Not known is never milder (own limit); pressures are those at the sea."""
    for lining in get_args(StageClass):
        unknown, told = stages(lining, None), stages(lining, height_m)
        assert all(one.to_degc <= other.to_degc for one, other in zip(unknown, told, strict=True))
        assert all(one.from_degc <= other.from_degc for one, other in zip(unknown, told, strict=True))
    assert figures().hold_points_degc(None)[0] <= figures().hold_points_degc(height_m)[0]
    assert "not known" in stages("ifb_fibre", None)[0].note
    assert pressure_at_pa(None) == pressure_at_pa(0.0)


def test_thin_air_takes_up_less_vapour():
    """Air at 3,000 m is lighter by three tenths: 70.1 against 101.3 kPa."""
    high = OUTDOORS.at(3000.0)

    assert high.dry_kg_m3 == pytest.approx(0.69 * OUTDOORS.dry_kg_m3, rel=0.01)
    assert ventilation_m3_h(1.0, high) == pytest.approx(ventilation_m3_h(1.0, OUTDOORS) / 0.69, rel=0.01)
    assert high.vapour_share == pytest.approx(OUTDOORS.vapour_share * 101.3 / 70.1, rel=0.01)


def test_a_room_that_dries_takes_air_by_the_vapour():
    """m = V ρ ΔW: 1 kg/h into air of 10 °C that may take up 4 g/kg, at 1.24 kg/m³: about 200 m³/h (by hand)."""
    assert ventilation_m3_h(1.0, OUTDOORS) == pytest.approx(1 / (1.24 * 0.004), rel=0.02)
    assert ventilation_m3_h(limits(care=RoomCare(30.0)).room.value, OUTDOORS) == pytest.approx(30.0)
