"""Laws that the drying model has to keep, whatever the wall: orders of its method, balances, symmetry, limits, trends.

Where no source stands beside a law it follows from the equations.
"""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from recover.base.errors import QuantityError, SimulationError
from recover.physics import drying, kernel
from recover.physics.air import ATMOSPHERE_PA, boiling_degc, saturation_line
from recover.physics.drying import NORMAL, Pace, simulate
from recover.physics.grid import COARSE, Grid
from recover.physics.wall import COLDEST_DEGC, HOTTEST_DEGC, Chamber, Course, Face, Setup, Wall, WallLayer
from tests import exact, validation
from tests.conftest import cases
from tests.validation import INSULATED, PRESCRIBED, dry
from tests.walls import BRICK, CASTABLE, DENSE, HOT, INSULATING, OPEN, TIGHT, dried, heating, share_left


def every(seconds):
    """Return steps of one length."""
    return Pace(longest_s=seconds, warms_k=1e9, empties=1e9)


def even(width_mm):
    """Return cells of one width."""
    return Grid(first_mm=width_mm, joint_mm=width_mm, growth=1.0, thickest_mm=width_mm, cells=10_000)


# ---------------------------------------------------------------------------------------- orders of the method


def test_conduction_is_of_first_order_in_time():
    half_m, k, heat = 0.057, 0.25, 8e5
    film = Face(film_w_m2k=2 * k / half_m)
    wall = Wall((WallLayer(2000 * half_m, dry(k, heat)),), film, film)
    hours = [0.0, 0.5 * half_m**2 * heat / k / 3600]
    exactly = 220 - 200 * exact.slab_share(2.0, 0.5, 1.0)
    errors = [
        abs(validation.run((wall,), 220.0, hours, room=220.0, pace=every(s)).walls[0].hot_face_degc[-1] - exactly)
        for s in (400.0, 200.0, 100.0)
    ]

    assert errors[0] / errors[1] == pytest.approx(2, abs=0.2)
    assert errors[1] / errors[2] == pytest.approx(2, abs=0.2)


def test_steps_with_a_tolerance_are_of_second_order_in_time():
    film = Face(film_w_m2k=10.0)
    wall = Wall((WallLayer(114.0, dry(0.25, 8e5)),), film, film)

    def casing_degc(longest_s):
        pace = replace(every(longest_s), tolerance_k=1e9)
        return validation.run((wall,), 220.0, [0, 4], pace=pace).walls[0].casing_degc[-1]

    far, near, nearest = map(casing_degc, (800.0, 400.0, 200.0))
    assert (far - near) / (near - nearest) == pytest.approx(4, abs=0.6)


@pytest.mark.parametrize("layers", [INSULATING, DENSE], ids=["insulating", "dense"])
def test_with_a_tolerance_drying_misses_a_fifth_of_what_it_misses_without(layers):
    """Steps as a front passes a cell stay of first order: they are few."""
    hours = np.arange(0, 25.0, 4)
    truly = dried(layers, heating(200), hours, OPEN, pace=Pace(20, 0.2, 0.005, 0.002)).water_kg

    def missed(tolerance_k):
        pace = replace(every(900.0), tolerance_k=tolerance_k)
        return np.abs(dried(layers, heating(200), hours, OPEN, pace=pace).water_kg - truly).max()

    assert missed(1.0) < 0.2 * missed(0.0)


def test_a_step_is_as_long_as_its_tolerance_allows():
    """Errors at the casing of a steep slab, and what they cost: a twentieth of the tolerance, a few more steps."""
    film = Face(film_w_m2k=10.0)
    wall = Wall((WallLayer(114.0, dry(0.25, 8e5)),), film, film)

    def done(tolerance_k):
        pace = Pace(longest_s=1e5, warms_k=1e9, empties=1e9, tolerance_k=tolerance_k)
        return validation.run((wall,), 220.0, [0, 4], pace=pace)

    truly = done(1e-4).walls[0].casing_degc[-1]
    errors = {tolerance: abs(done(tolerance).walls[0].casing_degc[-1] - truly) for tolerance in (1.0, 0.1, 0.01)}
    assert all(error < tolerance for tolerance, error in errors.items())
    assert errors[0.01] < errors[1.0]
    assert done(1.0).steps < done(0.01).steps < 400


def test_conduction_is_of_second_order_in_space():
    def missed(width_mm):
        wall = Wall((WallLayer(64.0, dry(0.2, 5e5)),), PRESCRIBED, PRESCRIBED, inner_radius_mm=50.0)
        rest = validation.run((wall,), 320.0, [0.0, 300.0, 301.0], pace=validation.PATIENT, grid=even(width_mm))
        return abs(1000 * np.diff(rest.walls[0].heat_in_kwh)[-1] - 0.2 * 300 / (0.05 * np.log(0.114 / 0.05)))

    assert missed(8.0) / missed(4.0) == pytest.approx(4, abs=0.4)
    assert missed(4.0) / missed(2.0) == pytest.approx(4, abs=0.4)


@pytest.mark.parametrize("layers", [INSULATING, DENSE], ids=["insulating", "dense"])
def test_drying_is_of_first_order_in_time(layers):
    coarse, middle, fine = (
        dried(layers, heating(200), [0, 24], OPEN, pace=every(s)).water_kg[-1] for s in (400.0, 200.0, 100.0)
    )

    assert (coarse - middle) / (middle - fine) == pytest.approx(2, abs=0.4)


def test_drying_is_of_first_order_in_space_and_the_grids_are_fine_enough():
    """Water evaporates at the middle of a cell, so that the way out is wrong by a share of its width."""
    left = [dried(INSULATING, heating(200), [0, 24], OPEN, grid=even(w)).water_kg[-1] for w in (2.0, 1.0, 0.5)]
    limit = 2 * left[2] - left[1]

    assert 1.5 < (left[0] - left[1]) / (left[1] - left[2]) < 2.5
    for grid, within in ((NORMAL, 0.005), (COARSE, 0.02)):
        run = dried(INSULATING, heating(200), [0, 24], OPEN, grid=grid)
        assert run.water_kg[-1] == pytest.approx(limit, abs=within * run.water_kg[0])


# ---------------------------------------------------------------------------------------- balances


@pytest.mark.parametrize("cold", [TIGHT, OPEN], ids=["tight", "open"])
@pytest.mark.parametrize("closure", ["coupled", "leaves_freely"])
@pytest.mark.parametrize("layers", [INSULATING, DENSE], ids=["insulating", "dense"])
def test_no_water_and_no_heat_is_lost(layers, closure, cold):
    run = dried(layers, heating(400), [0, 12, 36], cold, closure=closure)
    wall = run.walls[0]

    assert run.water_error < 1e-8
    assert run.heat_error < 1e-7
    # The gas in the pores holds some vapour of its own: below 1 kg/m³ of pores.
    gone = wall.to_chamber_kg[-1] + wall.to_room_kg[-1]
    assert gone == pytest.approx(run.water_kg[0] - run.water_kg[-1], abs=0.05)


PACKED = drying.Packed.of(Setup((Wall(INSULATING, HOT, TIGHT),), heating(200)), COARSE, Pace())


def test_a_run_that_loses_water_is_refused():
    audit = np.zeros(kernel.AUDIT_COLUMNS)
    audit[kernel.WATER_ERROR] = 1e-5
    with pytest.raises(SimulationError, match=r"lost 1\.0e-05 of the water"):
        drying.check(kernel.DONE, 0.0, audit, PACKED)

    audit[kernel.WATER_ERROR] = np.nan
    with pytest.raises(SimulationError, match="not used"):
        drying.check(kernel.DONE, 0.0, audit, PACKED)


def test_what_stands_twice_stands_twice_alike():
    """The compiled code holds its constants for itself."""
    assert (kernel.COLDEST, kernel.HOTTEST) == (COLDEST_DEGC, HOTTEST_DEGC)
    assert saturation_line(boiling_degc(ATMOSPHERE_PA))[0] == pytest.approx(ATMOSPHERE_PA)


def test_a_wet_wall_cannot_start_above_boiling():
    with pytest.raises(QuantityError, match=r"below 99\.97 °C where a wall is wet"):
        dried(INSULATING, heating(200), [0, 1], start_degc=120.0)


# ---------------------------------------------------------------------------------------- symmetry


def test_a_wall_and_its_mirror_image_do_the_same():
    face = replace(HOT, openness=0.3, vapour_film_m_s=0.0111)
    around = Chamber(vapour_share=0.0115)
    course = heating(90)
    kept = {"chamber": around, "grid": even(2.0), "room": validation.Room(course)}
    there = dried(Wall(INSULATING, face, face), course, [0, 10, 30], **kept).walls[0]
    back = dried(Wall(INSULATING[::-1], face, face), course, [0, 10, 30], **kept).walls[0]

    assert back.layer_kg[:, ::-1] == pytest.approx(there.layer_kg, rel=1e-4)
    assert back.to_room_kg == pytest.approx(there.to_chamber_kg, rel=1e-4)
    assert back.profile_degc[:, ::-1] == pytest.approx(there.profile_degc, abs=0.01)


# ---------------------------------------------------------------------------------------- more of what dries, dries


few = cases(8)
TIE = 1e-3  # of the water: what the steps of two runs may differ by


@few
@given(st.floats(60, 380), st.floats(20, 200), st.sampled_from([INSULATING, DENSE]))
def test_hotter_dries_faster(degc, more_k, layers):
    cooler, hotter = (share_left(dried(layers, heating(t), [0, 24], OPEN)) for t in (degc, degc + more_k))

    assert hotter <= cooler + TIE


@few
@given(st.floats(0.0, 0.5), st.floats(0.02, 0.3), st.floats(60, 300))
def test_a_drier_chamber_dries_faster(share, more, degc):
    dry_air, damp = (
        share_left(dried(INSULATING, heating(degc), [0, 24], chamber=Chamber(vapour_share=y)))
        for y in (share, share + more)
    )

    assert dry_air <= damp + TIE


@few
@given(st.floats(0.0, 0.5), st.floats(0.02, 0.5), st.floats(95, 400))
def test_a_more_open_casing_dries_faster(openness, more, degc):
    closed, opened = (
        share_left(dried(INSULATING, heating(degc), [0, 24], replace(TIGHT, openness=f)))
        for f in (openness, openness + more)
    )

    assert opened <= closed + TIE


@few
@given(st.floats(0.0, 0.5), st.floats(0.1, 0.5), st.floats(150, 400))
def test_a_wrapped_wall_dries_faster(wrap, more, degc):
    bare, wrapped = (
        share_left(dried(INSULATING, heating(degc), [0, 36], replace(TIGHT, wrap_m2k_w=r))) for r in (wrap, wrap + more)
    )

    assert wrapped <= bare + TIE


# ---------------------------------------------------------------------------------------- limits


def test_between_two_tight_faces_the_water_stays():
    wall = Wall(INSULATING, replace(HOT, openness=0.0), TIGHT)
    run = dried(wall, heating(95), [0, 24])

    assert run.walls[0].to_chamber_kg[-1] == run.walls[0].to_room_kg[-1] == 0.0
    assert run.water_error < 1e-9
    assert run.water_kg[-1] == pytest.approx(run.water_kg[0], abs=0.05)  # some is vapour in the pores


def test_where_all_is_alike_nothing_happens():
    around = saturation_line(20.0)[0] / exact.ATMOSPHERE
    face = Face(film_w_m2k=10.0, openness=1.0)
    run = dried(
        Wall((WallLayer(64.0, BRICK, 273.0),), face, face), Course.steady(20.0), [0, 240],
        chamber=Chamber(vapour_share=around), room=validation.Room(vapour_share=around),
    )  # fmt: skip

    assert run.water_kg[-1] == pytest.approx(run.water_kg[0], rel=1e-4)
    assert run.walls[0].profile_degc[-1] == pytest.approx(20.0, abs=0.01)
    assert run.walls[0].overpressure_kpa.max() < 1e-3


def test_a_dry_wall_is_pure_conduction_in_both_closures():
    layers = tuple(replace(layer, water_kg_m3=0.0) for layer in INSULATING)
    courses = [
        dried(layers, heating(600), [0, 3, 6, 12, 24], closure=closure).walls[0].casing_degc
        for closure in ("coupled", "leaves_freely")
    ]

    assert courses[0] == pytest.approx(courses[1], abs=0.5)  # air that leaves takes a little heat along


def test_twice_the_thickness_takes_four_times_the_hours():
    def hours(thickness_mm, until):
        layer = WallLayer(thickness_mm, dry(0.15, 2e3), 300.0)
        times = np.linspace(0, until, 400)
        run = validation.run((Wall((layer,), PRESCRIBED, INSULATED),), 200.0, times, start=100.0)
        return run.hours_gone(0.9)

    assert hours(100.0, 80) / hours(50.0, 20) == pytest.approx(4, rel=0.01)


def test_ten_times_the_permeability_gives_a_tenth_of_a_small_pressure():
    peaks = [
        dried(
            (replace(DENSE[0], matter=replace(CASTABLE, permeability_m2=k)),), heating(200), np.arange(25.0), OPEN
        ).walls[0].overpressure_kpa.max()
        for k in (1e-13, 1e-12, 1e-11)
    ]  # fmt: skip

    assert peaks[0] < 15
    assert peaks[1] / peaks[0] == pytest.approx(0.1, rel=0.2)  # in P², and a front that warmed by the pressure
    assert peaks[2] / peaks[1] == pytest.approx(0.1, rel=1e-9)  # beyond the cap it is scaled


def test_what_freezes_thaws_again_with_the_same_heat():
    phase = validation.Phase(0.0, 3.34e5, reversible=True)
    course = Course((0.0, 1.0, 40.0, 41.0, 90.0), (10.0, -20.0, -20.0, 10.0, 10.0))
    wall = Wall((WallLayer(64.0, dry(0.5, 5e5), 300.0),), Face(film_w_m2k=20.0), INSULATED)
    setup = Setup((wall,), course, start_degc=10.0, closure="leaves_freely", phase=phase)
    run = simulate(setup, [0, 40, 90])

    assert run.water_kg == pytest.approx([0.0, 19.2, 0.0], abs=1e-6)  # what is frozen
    warmth = 0.064 * ((5e5 + 300 * 4186) * 30 + 300 * 3.34e5) / 3.6e6
    assert run.walls[0].heat_in_kwh == pytest.approx([0.0, -warmth, 0.0], rel=1e-3, abs=1e-3)
