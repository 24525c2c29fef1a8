"""What is around walls by stretches: it gives what one course and one room give, and what many draws go through."""

from dataclasses import replace

import numpy as np
import pytest

from recover.base.errors import QuantityError
from recover.physics.around import Around
from recover.physics.drying import QUICK, STEADY, simulate
from recover.physics.ensemble import Draws, joined, stretch
from recover.physics.grid import COARSE, NORMAL
from recover.physics.wall import Chamber, Change, Course, Room, Setup, Wall
from tests.walls import DENSE, HOT, INSULATING, OPEN, TIGHT, heating

VAPOUR = 0.01
ROOM = Room(Course.steady(20.0), VAPOUR)
KILN = Setup((Wall(INSULATING, HOT, OPEN),), heating(200), room=ROOM, chamber=Chamber(power_kw=2.0, vent_m3_h=6.0))
NIGHT = Around(room_degc=Course((0.0, 10.0, 12.0), (20.0, 8.0, 20.0)), room_vapour=VAPOUR)
ENCLOSED = Around(room_degc=Course.steady(20.0), room_vapour=VAPOUR, chamber_degc=Course((0.0, 0.5), (20.0, 55.0)),
                  power_kw=1.0, enclosed_m3_h=30.0)  # fmt: skip
DAYS = ((0.0, ENCLOSED), (12.0, NIGHT), (24.0, ENCLOSED), (36.0, NIGHT))


def heated(course, power_kw=2.0):
    """The room and the course of the kiln above, as a stretch."""
    return Around(room_degc=ROOM.degc, room_vapour=VAPOUR, chamber_degc=course, power_kw=power_kw)


def later(course, hours):
    """Return a course whose hours count from a later one."""
    return Course(tuple(hour - hours for hour in course.hours), course.degc)


def test_one_stretch_is_the_kilns_own_room_and_course():
    hours = np.arange(0, 13.0)
    own = simulate(KILN, hours)
    found = simulate(KILN, hours, around=((0.0, heated(KILN.course)),))
    assert found.water_kg == pytest.approx(own.water_kg, rel=1e-9)
    assert found.walls[0].casing_degc == pytest.approx(own.walls[0].casing_degc, abs=1e-6)
    assert found.heater_kwh == pytest.approx(own.heater_kwh, rel=1e-9)


def test_a_stretch_that_is_cut_in_two_goes_on_where_it_was():
    hours = np.arange(0, 13.0)
    whole = simulate(KILN, hours, around=((0.0, heated(KILN.course)),))
    cut = simulate(KILN, hours, around=((0.0, heated(KILN.course)), (5.0, heated(later(KILN.course, 5.0)))))
    assert cut.water_kg == pytest.approx(whole.water_kg, abs=2e-3 * whole.water_kg[0])
    assert cut.chamber_degc == pytest.approx(whole.chamber_degc, abs=0.2)
    assert cut.heater_kwh == pytest.approx(whole.heater_kwh, abs=0.02)


def test_a_run_by_stretches_is_a_draw_that_goes_through_them():
    hours = np.arange(0, 48.5, 0.5)
    alone = simulate(KILN, hours, COARSE, QUICK, around=DAYS)
    draws = Draws.of([KILN], COARSE, QUICK)
    standing, parts = draws.begin(), []
    for _, around in DAYS:
        did, standing = stretch(draws, standing, around, np.arange(0, 12.5, 0.5))
        parts.append(did)
    drawn = joined(parts)
    assert alone.water_kg == pytest.approx(drawn.water_kg[0], rel=1e-9)
    assert alone.heater_kwh == pytest.approx(drawn.heater_kwh[0], abs=1e-9)
    altered = np.isin(hours, (12.0, 24.0, 36.0))  # when a face has two temperatures: a run alone is shown just after
    assert alone.walls[0].casing_degc[~altered] == pytest.approx(drawn.casing_degc[0, ~altered, 0], abs=1e-6)
    assert alone.walls[0].demand.max() == pytest.approx(drawn.demand.max(), rel=1e-9)


def test_in_an_enclosure_its_air_is_around_the_casing_and_the_rooms_at_night():
    run = simulate(KILN, np.arange(0, 25.0), around=DAYS)
    assert run.around_degc[6] == run.chamber_degc[6] == pytest.approx(55)
    assert run.around_degc[22] == pytest.approx(8)
    assert (run.heater_kw[13:24] == 0).all()


def test_with_the_heater_off_the_chamber_floats_down_to_the_room():
    run = simulate(
        KILN, [0, 12, 36, 84], around=((0.0, heated(KILN.course)), (12.0, replace(NIGHT, room_degc=ROOM.degc)))
    )
    assert run.chamber_degc[1] > 100 > run.chamber_degc[2]
    assert 10 < run.chamber_degc[3] < 20  # what still evaporates keeps it below the room


def test_a_change_of_layers_may_come_within_a_stretch():
    change = Change(at_h=6.0, wall="wall", keeps=1)
    kiln = replace(KILN, changes=(change,))
    run = simulate(kiln, [0, 5, 7, 24], around=DAYS)
    brick, blanket = run.walls[0].layer_kg.T
    assert (blanket[1] > 1, blanket[2]) == (True, 0)
    assert brick[0] > brick[2] > brick[3]


def test_a_peak_at_the_end_of_a_stretch_is_told_though_the_next_one_begins_there():
    """The heater goes off at its hottest, at an hour that is not shown: what was before it is not forgotten."""
    dense = Setup((Wall(DENSE, HOT, TIGHT),), heating(250), room=ROOM, chamber=Chamber(vent_m3_h=20.0))
    course = Course((0.0, 6.2), (20.0, 250.0))
    around = ((0.0, heated(course, np.inf)), (6.2, replace(NIGHT, room_degc=ROOM.degc)))
    fine = simulate(dense, np.arange(0, 12.01, 0.05), around=around).walls[0].overpressure_kpa
    coarse = simulate(dense, [0, 6, 7, 12], around=around).walls[0].overpressure_kpa
    assert coarse.max() == pytest.approx(fine.max(), rel=1e-3)


def test_coarse_cells_tell_too_little_of_pressure_and_are_raised_alone_and_in_many_draws_alike():
    kiln = replace(KILN, walls=(Wall(DENSE, HOT, TIGHT),))
    hours = np.arange(0, 48.5, 0.5)
    coarse, normal = simulate(kiln, hours, COARSE, QUICK), simulate(kiln, hours, NORMAL, STEADY)
    bare = simulate(kiln, hours, replace(COARSE, raises=1.0), QUICK)
    peak, bare_peak, normal_peak = (one.walls[0].overpressure_kpa.max() for one in (coarse, bare, normal))
    assert peak == pytest.approx(COARSE.raises * bare_peak)
    assert abs(peak - normal_peak) < abs(bare_peak - normal_peak)


@pytest.mark.parametrize(
    ("around", "sentence"),
    [
        (((1.0, NIGHT),), "hours that rise, the first 0"),
        (((0.0, NIGHT), (12.0, NIGHT), (12.0, NIGHT)), "hours that rise, the first 0"),
        (((0.0, NIGHT), (9.0, replace(NIGHT, room_degc=Course.steady(-4.0)))), "at 9 h, setup: -4 °C and water"),
    ],
)
def test_stretches_that_cannot_be_are_refused(around, sentence):
    with pytest.raises(QuantityError, match=sentence):
        simulate(KILN, [0, 24], around=around)
