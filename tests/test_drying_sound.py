"""What no wall can come to is refused, with the place, the hour and what to change; all else is sound."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from recover.base.errors import QuantityError, SimulationError
from recover.physics.air import boiling_degc, pressure_at_pa
from recover.physics.drying import simulate
from recover.physics.wall import Chamber, Change, Course, Face, Matter, Phase, Room, Setup, Wall, WallLayer
from tests.many_walls import extreme, many, ordinary
from tests.walls import BLANKET, BRICK, CASTABLE, HOT, INSULATING, OPEN, TIGHT, dried, heating

SOAKED = Wall((WallLayer(64.0, BRICK, 400.0, "brick"),), HOT, TIGHT, name="side")


def test_ordinary_walls_are_sound_and_extreme_ones_are_sound_or_refused():
    for make, number in ((ordinary, 40), (extreme, 25)):
        found = many(make, number, seed=7)

        assert not [said for said in found if "UNSOUND" in said]
        assert found["sound"] >= (0.95 if make is ordinary else 0.3) * number


def test_a_blanket_whose_conductivity_falls_towards_nought_dries_like_any_other():
    """25 mm of 100 kg/m³, 60 K/h to 200 °C: cells at -449 °C, and 87 % of the water left, were once taken for sound."""
    for k0, k1 in ((0.02, 2e-4), (0.011, 2.1e-4)):
        blanket = replace(BLANKET, density_kg_m3=100, k0_w_mk=k0, k1_w_mk2=k1)
        run = dried((WallLayer(25.0, blanket, 400.0),), heating(200), np.arange(0, 73.0, 12), closure="leaves_freely")

        assert run.walls[0].profile_degc.min() > 19.9
        assert (np.diff(run.water_kg) <= 0).all()  # and the front stalls where the wall is at 100 °C
        assert 0.3 < run.water_kg[-1] / run.water_kg[0] < 0.7


def test_a_heater_that_is_off_leaves_the_chamber_to_cool():
    """What the walls give leaves with the air, and does not warm the chamber: it once climbed by itself from 95 °C."""
    wall = Wall((WallLayer(10.0, BLANKET, 855.0), WallLayer(114.0, BRICK, 700.0)), HOT, TIGHT)
    run = simulate(Setup((wall,), heating(95, 150.0), chamber=Chamber(power_kw=2.0)), np.arange(0, 73.0, 2))

    assert run.chamber_degc.max() < 95.1


@pytest.mark.parametrize(
    ("setup", "said"),
    [
        (
            Setup((replace(SOAKED, cold=OPEN),), Course.steady(1.0), room=Room(Course.steady(1.0), 0.0), start_degc=1.0,
                  chamber=Chamber(vapour_share=0.0)),
            r"side, layer 1 \(brick\), .* mm from the hot face, came to -1.* °C, colder than .* warm the room",
        ),
        (
            Setup((SOAKED,), Course.steady(30.0), chamber=Chamber(vapour_share=0.5)),
            r"side, layer 1 \(brick\), .* hotter than all .* more vapour around than such air can hold",
        ),
        (
            Setup((Wall((WallLayer(64.0, replace(BRICK, liquid0_m2_s=0.0), 700.0),), HOT, TIGHT),), heating(200)),
            r"wall, layer 1, .* times as much water as its pores hold\. .* give it less water",
        ),
        (
            Setup((Wall((WallLayer(100.0, replace(CASTABLE, permeability_m2=1e-24, vapour_tortuosity=0.0), 140.0),),
                        HOT, TIGHT),), heating(900, 300.0)),
            r".* came to 2.* Pa, beyond the critical pressure of water\. No lining holds that: heat it more slowly",
        ),
    ],
    ids=["too cold", "too hot", "too full", "too much pressure"],
)  # fmt: skip
def test_what_no_wall_can_come_to_is_refused_with_its_place_and_what_to_change(setup, said):
    with pytest.raises(SimulationError, match=r"The drying model stopped at hour \d+\.\d\d: " + said):
        simulate(setup, np.arange(0, 97.0, 12))


def test_a_number_with_which_no_step_has_a_solution_is_refused():
    carries_without_end = WallLayer(64.0, replace(BRICK, liquid0_m2_s=1e300), 400.0)
    with pytest.raises(SimulationError, match=r"found no solution at hour 0\.00, .*number of a material or a face"):
        simulate(Setup((Wall((carries_without_end,), HOT, TIGHT),), heating(200)), np.arange(0, 25.0))


def test_a_conductivity_is_above_nought_wherever_a_wall_may_be():
    with pytest.raises(QuantityError, match=r"a conductivity above 0 from -50 to 1400 °C"):
        Matter(100.0, 0.9, 0.01, 1000.0, k1_w_mk2=2e-4)
    with pytest.raises(QuantityError, match=r"a heat capacity above 0 at -50 °C"):
        Matter(100.0, 0.9, 0.1, 40.0, cp1_j_kgk2=1.0)


# ---------------------------------------------------------------------------------------- height and cold


@pytest.mark.parametrize(
    ("height_m", "pressure_pa", "boils_degc"),
    [  # pressures: ISO 2533, tables of the standard atmosphere, from memory; boiling: IAPWS line at them
        (0, 101_325, 99.97), (1000, 89_875, 96.7), (2000, 79_495, 93.4), (3000, 70_109, 90.0),
    ],
)  # fmt: skip
def test_water_boils_the_cooler_the_higher_a_kiln_stands(height_m, pressure_pa, boils_degc):
    assert pressure_at_pa(height_m) == pytest.approx(pressure_pa, rel=1e-4)
    assert boiling_degc(pressure_at_pa(height_m)) == pytest.approx(boils_degc, abs=0.1)


def test_a_castable_builds_more_pressure_over_the_room_where_the_air_is_thin():
    low, high = (
        dried((WallLayer(100.0, CASTABLE, 90.0),), heating(200), [0, 12], TIGHT, room=Room(height_m=metres))
        for metres in (0.0, 3000.0)
    )

    assert high.walls[0].overpressure_kpa[-1] > low.walls[0].overpressure_kpa[-1] + 15


def test_no_wet_wall_is_dried_below_freezing_and_a_dry_one_may_be_as_cold_as_it_is():
    cold, thin = Room(Course.steady(-3.0), 0.003), Chamber(vapour_share=0.003)
    with pytest.raises(QuantityError, match=r"-3 °C and water; expected 0 °C or more .* thaw it first"):
        Setup((SOAKED,), Course.steady(20.0), room=cold)

    bare = replace(SOAKED, layers=(replace(SOAKED.layers[0], water_kg_m3=0.0),))
    run = simulate(Setup((bare,), Course.steady(-3.0), room=cold, start_degc=-3.0, chamber=thin), [0, 4])
    assert run.walls[0].casing_degc[-1] == pytest.approx(-3.0, abs=0.01)
    # Freezing itself is computed where water stays: see the problem of freezing in `validation`.
    Setup((SOAKED,), Course.steady(-20.0), start_degc=10.0, closure="leaves_freely", phase=Phase(0.0, 3.34e5, True))


# ---------------------------------------------------------------------------------------- a wall that is changed


def changed(*changes, hours=tuple(range(0, 73, 6)), cold=TIGHT):
    wall = Wall(INSULATING, HOT, cold, name="side")
    return simulate(Setup((wall,), heating(200), changes=changes), hours, profiles=True)


def test_a_casing_that_is_opened_lets_out_vapour_from_then_on():
    shut, opened = changed(), changed(Change(at_h=24, wall="side", cold=OPEN))

    assert opened.water_kg[:4] == pytest.approx(shut.water_kg[:4], rel=1e-9)
    assert opened.water_kg[-1] < 0.6 * shut.water_kg[-1]
    assert opened.walls[0].to_room_kg[4] == pytest.approx(0.0, abs=0.05)
    assert opened.walls[0].to_room_kg[-1] > 1.0


def test_what_changes_nothing_changes_nothing():
    same = changed(Change(at_h=20, wall="side", cold=TIGHT))

    assert same.water_kg == pytest.approx(changed().water_kg, abs=1e-3 * same.water_kg[0])
    assert same.heater_kwh == pytest.approx(changed().heater_kwh, rel=1e-3)


def test_a_board_that_is_taken_off_takes_its_water_along_and_a_new_one_is_dry():
    new = WallLayer(25.0, BLANKET, 0.0, "new")
    off = Change(at_h=24, wall="side", keeps=1, cold=OPEN)
    run = changed(off, Change(at_h=48, wall="side", adds=(new,), cold=TIGHT))
    wall = run.walls[0]

    assert [layer.name for layer in wall.wall.layers] == ["brick", "blanket", "new"]
    assert wall.layer_kg[3, 1] > 5
    assert wall.layer_kg[4, 1] == wall.layer_kg[7, 2] == 0
    assert wall.layer_kg[-1, 2] < 0.2
    assert (np.diff(wall.layer_kg[:, 0]) < 0.01).all()
    assert np.isnan(wall.profile_degc[5, -1])
    assert np.isfinite(wall.profile_degc[-1, -1])


def test_a_dry_brick_that_took_up_water_dries_after_the_wet_layer_behind_it_has_gone():
    """It was named dry: its water once stood still from the change on, and boiled away by another law."""
    brick = WallLayer(76.0, BRICK, 0.0, "brick")
    wall = Wall((brick, WallLayer(25.0, BLANKET, 900.0, "fibre")), HOT, TIGHT, name="side")
    off = Change(at_h=48, wall="side", keeps=1, cold=OPEN)
    run = simulate(Setup((wall,), heating(95), changes=(off,)), np.arange(0, 241.0, 12)).walls[0]

    assert run.layer_kg[4, 0] > 2
    assert run.layer_kg[-1, 0] < 0.5 * run.layer_kg[4, 0]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"at_h": 4, "wall": "lid"}, "the name of one wall: side"),
        ({"at_h": 4, "wall": "side", "keeps": 3}, "at most the 2 layers"),
        ({"at_h": 4, "wall": "side", "keeps": 0}, "1 layer or more"),
        ({"at_h": 0, "wall": "side"}, "more than 0"),
    ],
)
def test_a_change_that_cannot_be_is_refused(change, said):
    with pytest.raises(QuantityError, match=said):
        changed(Change(**change))


def test_changes_come_in_their_order_and_not_where_water_freezes():
    late, early = Change(at_h=9, wall="wall", cold=OPEN), Change(at_h=4, wall="wall", cold=TIGHT)
    wall = Wall(INSULATING, HOT, TIGHT)
    with pytest.raises(QuantityError, match="in the order in which they come"):
        Setup((wall,), heating(200), changes=(late, early))
    with pytest.raises(QuantityError, match="not reversible"):
        Setup((wall,), heating(20), changes=(late,), closure="leaves_freely", phase=Phase(0.0, 3.34e5, True))


# ---------------------------------------------------------------------------------------- dry walls and films


def test_a_face_that_is_hardly_open_is_hardly_another_than_a_tight_one():
    """Flow through it once passed whole, however small the opening."""
    left = [
        dried((WallLayer(100.0, CASTABLE, 90.0),), heating(200), [0, 48], replace(TIGHT, openness=share)).water_kg[-1]
        for share in (0.0, 1e-9, 1e-5, 1e-3, 0.03, 1.0)
    ]

    assert all(more_open < less_open + 0.06 for less_open, more_open in pairwise(left))  # 7 parts in 1000 by the cells
    assert left[0] == pytest.approx(left[2], abs=0.06)
    assert left[2] > left[3] + 0.5 > left[4] + 1


def test_a_dry_wall_holds_heat_alone_where_there_is_no_vapour_to_take_up():
    """It is as warm as one of a gram of water; shut in with a wet one it takes up what that gives."""
    bare = replace(SOAKED, layers=(replace(SOAKED.layers[0], water_kg_m3=0.0),))
    damp = replace(SOAKED, layers=(replace(SOAKED.layers[0], water_kg_m3=1e-5),))
    alone, nearly = (simulate(Setup((wall,), heating(400)), np.arange(0, 25.0, 4)) for wall in (bare, damp))

    assert alone.walls[0].casing_degc == pytest.approx(nearly.walls[0].casing_degc, abs=0.2)
    assert alone.water_kg.max() == 0
    shut = Setup((SOAKED, replace(bare, name="lid")), heating(95), chamber=Chamber(vent_m3_h=1.0))
    assert simulate(shut, [0, 24, 48]).walls[1].water_kg.max() > 0.05


def test_vapour_leaves_a_casing_by_the_air_that_moves_there_and_not_by_its_radiation():
    """A closed casing has 0.0037 m/s at 4 W/m²K by moving air; the film of a draughty hot face was thrice as much."""
    still, radiating = (Face(natural_w_m2k13=1.6, emissivity=e, openness=1.0) for e in (0.0, 0.9))
    given = Face(natural_w_m2k13=1.6, emissivity=0.9, openness=1.0, vapour_film_m_s=0.0111)
    runs = [dried(INSULATING, heating(95), [0, 24], cold) for cold in (still, radiating, given)]
    less, some, much = (float(run.walls[0].to_room_kg[-1]) for run in runs)

    assert some < less  # radiation cools the casing, and carries no vapour
    assert much > 1.2 * some
