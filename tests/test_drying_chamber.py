"""The chamber between the walls: its heater, its ventilation, its own balance; several walls; walls that are round."""

from dataclasses import replace

import numpy as np
import pytest

from recover.physics.drying import PATIENT, STEADY, simulate
from recover.physics.grid import COARSE, NORMAL
from recover.physics.wall import Chamber, Course, Face, Room, Setup, Wall, WallLayer
from tests import exact, validation
from tests.validation import INSULATED, PRESCRIBED, dry
from tests.walls import DENSE, HOT, INSULATING, OPEN, TIGHT, heating

DRY = tuple(replace(layer, water_kg_m3=0.0) for layer in INSULATING)
HOURS = np.arange(0, 25.0)


def kiln(walls, chamber, course=None, hours=HOURS, grid=NORMAL, pace=STEADY, **more):
    """Run walls around a chamber."""
    return simulate(Setup(walls, course or heating(400), chamber=chamber, **more), hours, grid, pace)


def test_a_weak_heater_lags_behind_the_schedule_and_gives_all_it_has():
    wall = Wall(INSULATING, HOT, OPEN, area_m2=1.5)
    run = kiln((wall,), Chamber(power_kw=0.5))
    asked = np.interp(HOURS, [0, 380 / 60], [20, 400])
    behind = run.chamber_degc < asked - 1

    assert behind[2:].all()
    assert run.heater_kw[behind & (HOURS > 0)] == pytest.approx(0.5, rel=1e-9)
    assert (run.chamber_degc <= asked + 0.01).all()
    assert 0.5 * 23 < run.heater_kwh[-1] < 0.5 * 24  # within the first hour it needs less


def test_a_strong_heater_keeps_to_the_schedule():
    wall = Wall(INSULATING, HOT, OPEN)
    strong, endless = (kiln((wall,), Chamber(power_kw=power)) for power in (50.0, np.inf))

    assert strong.chamber_degc == pytest.approx(endless.chamber_degc, abs=0.01)
    assert strong.water_kg == pytest.approx(endless.water_kg, rel=1e-3)


def test_a_chamber_that_is_to_cool_is_not_cooled():
    wall = Wall(DRY, HOT, TIGHT)
    run = kiln((wall,), Chamber(power_kw=5.0), Course((0.0, 4.0, 12.0, 12.5), (20.0, 400.0, 400.0, 20.0)))

    assert (run.heater_kw[14:] == 0).all()
    assert run.chamber_degc[14] > 60  # the wall is still hot
    assert (np.diff(run.chamber_degc[14:]) < 0).all()


@pytest.mark.parametrize("fresh_m3_h", [1.0, 5.0, 20.0])
def test_ventilation_holds_the_share_of_vapour_that_its_formula_says(fresh_m3_h):
    """V = 24.1/18 m (1 - y) / y, in m³/h and kg/h, for dry fresh air: a mole of gas fills 24.1 l at 20 °C."""
    wall = Wall(INSULATING, HOT, TIGHT)
    hours = np.arange(0, 20.05, 0.05)
    run = kiln((wall,), Chamber(vent_m3_h=fresh_m3_h), heating(200), hours, room=Room(vapour_share=0.0))
    rate = np.diff(run.walls[0].to_chamber_kg)[-20:].mean() / 0.05
    share = run.chamber_vapour[-20:].mean()

    assert 24.1 / 18 * rate * (1 - share) / share == pytest.approx(fresh_m3_h, rel=0.02)


@pytest.mark.parametrize("vent_m3_h", [np.inf, 4.0])
def test_what_the_heater_gives_is_in_the_walls_the_vent_and_the_chamber(vent_m3_h):
    """Heater = walls + vent + storage; what the vent carries off is vapour and fresh air, here at 0 % of it."""
    wall = Wall(DRY, Face(film_w_m2k=40.0), TIGHT, area_m2=2.0)
    run = kiln((wall,), Chamber(power_kw=3.0, vent_m3_h=vent_m3_h, heat_j_k=20_000.0), room=Room(vapour_share=0.0))
    stored = 20_000.0 * (run.chamber_degc - 20.0) / 3.6e6
    moles = vent_m3_h / 0.02406 if vent_m3_h < np.inf else 0.0
    warmed = np.concatenate([[0.0], np.cumsum((run.chamber_degc[1:] + run.chamber_degc[:-1]) / 2 - 20.0)])
    vented = moles * 0.028965 * 1005 * warmed / 3.6e6

    # The warm-up is summed by trapezes of an hour, and the air is taken as dry.
    assert run.heater_kwh[-1] == pytest.approx((run.walls[0].heat_in_kwh + stored + vented)[-1], rel=0.01)


def test_walls_that_share_a_chamber_share_its_vapour():
    wet, lid = Wall(INSULATING, HOT, TIGHT, area_m2=1.2, name="wet"), Wall(DRY, HOT, TIGHT, area_m2=0.5, name="lid")
    both = kiln((wet, lid), Chamber(vent_m3_h=1.0), heating(95))
    alone = kiln((lid,), Chamber(vent_m3_h=1.0), heating(95))

    assert both.walls[1].water_kg.max() > 0.05  # the lid takes up what the wall gives
    assert alone.walls[0].water_kg.max() < 0.05
    assert both.water_error < 1e-8


def test_in_an_endless_chamber_walls_do_not_know_of_each_other():
    wet, dense = Wall(INSULATING, HOT, OPEN, area_m2=1.2, name="wet"), Wall(DENSE, HOT, OPEN, area_m2=0.5, name="dense")
    both = kiln((wet, dense), Chamber(), pace=PATIENT)

    for wall, together in zip((wet, dense), both.walls, strict=True):
        single = kiln((wall,), Chamber(), pace=PATIENT).walls[0]
        assert together.water_kg == pytest.approx(single.water_kg, abs=5e-3 * single.water_kg[0])  # other steps
        assert together.casing_degc == pytest.approx(single.casing_degc, abs=0.5)


def test_twice_the_area_is_twice_the_water():
    small, large = (kiln((Wall(INSULATING, HOT, OPEN, area_m2=a),), Chamber(), grid=COARSE) for a in (1.0, 2.0))

    assert large.water_kg == pytest.approx(2 * small.water_kg, rel=1e-9)
    own = 5000.0 * (small.chamber_degc - 20.0) / 3.6e6  # the chamber's heat, which is there once
    assert large.heater_kwh == pytest.approx(2 * small.heater_kwh - own, abs=1e-3)  # it does not cool


def test_a_large_cylinder_is_flat():
    flat, round_ = (
        kiln((Wall(INSULATING, HOT, OPEN, inner_radius_mm=r),), Chamber(), pace=PATIENT) for r in (None, 1e7)
    )

    assert round_.water_kg == pytest.approx(flat.water_kg, rel=2e-4)
    assert round_.walls[0].casing_degc == pytest.approx(flat.walls[0].casing_degc, abs=0.05)


def test_a_front_outwards_in_a_cylinder_is_as_much_later_as_the_exact_one():
    """64 mm on a radius of 0.25 m: 8 % later than in a flat wall."""
    layer = WallLayer(64.0, dry(0.15, 2e3), 300.0)

    def through(radius_mm):
        wall = Wall((layer,), PRESCRIBED, INSULATED, inner_radius_mm=radius_mm)
        return validation.run((wall,), 200.0, np.arange(0, 32, 0.1), start=100.0).hours_gone(0.99)

    def exactly(radius_m):
        outer = np.sqrt(radius_m**2 + 0.99 * ((radius_m + 0.064) ** 2 - radius_m**2))
        return exact.cylinder_front_s(radius_m, outer - radius_m, 0.15, 100.0, 300 * 2.257e6)

    assert through(250.0) / through(None) == pytest.approx(exactly(0.25) / exactly(1e3), rel=2e-3)
    assert through(250.0) / through(None) == pytest.approx(1.08, abs=0.01)
