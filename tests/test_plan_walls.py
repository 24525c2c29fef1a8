"""A path written as a wall file and run again gives the plan back: its water, its temperatures, its pressure."""

import json
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from recover.job.folder import open_job
from recover.physics.drying import ACCURACIES, SLOW, simulate
from recover.physics.grid import NORMAL, ROUGH
from recover.physics.wallfile import read, write
from recover.plan import store
from recover.plan.walls import beside, middle, study_of
from recover.schedule.heated import BRISK
from tests import plan_job
from tests.command import run
from tests.plan_job import CONTROLLED
from tests.small_kiln import one_path, ran
from tests.test_paths import BOARDS
from tests.test_wetmap import KILN

GIVEN = pytest.mark.parametrize("given", [(), BOARDS], ids=["brick alone", "boards out and in"])


@cache
def written(given=()):
    """Return the study of a path."""
    return study_of(ran(given=given), "small kiln")


@cache
def again(given=(), grid=ROUGH, pace=SLOW):
    """Run it once more, shown at every opening and four hours after."""
    study = written(given)
    hours = sorted({*np.arange(0, study.hours + 1, 24), *np.arange(4, study.hours, 24)})
    return simulate(study.setup, hours, grid, pace, around=study.around)


def days_of(given):
    """Return each day of the path with its number, and the draw that was written."""
    path = ran(given=given)
    return enumerate(path.days), middle(path)


# ---------------------------------------------------------------------------------------- on the plan's own cells


@GIVEN
def test_the_water_left_at_the_end_of_every_day_comes_back(given):
    days, draw = days_of(given)
    found, first_kg = again(given), ran(given=given).days[0].did.water_kg[draw, 0]
    for number, one in days:
        at = np.searchsorted(found.hours, 24 * (number + 1))
        assert found.water_kg[at] == pytest.approx(one.did.water_kg[draw, -1], abs=0.01 * first_kg)


@GIVEN
def test_casings_and_chamber_come_back_within_a_kelvin(given):
    days, draw = days_of(given)
    found = again(given)
    for number, one in days:
        at = np.searchsorted(found.hours, 24 * number + 4)
        chamber_degc = np.interp(4, one.did.hours, one.did.chamber_degc[draw])
        assert found.chamber_degc[at] == pytest.approx(chamber_degc, abs=1)
        for wall, casing_degc in zip(found.walls, one.did.casing_degc[draw].T, strict=True):
            assert wall.casing_degc[at] == pytest.approx(np.interp(4, one.did.hours, casing_degc), abs=1)


@GIVEN
def test_the_highest_pressure_comes_back_as_the_same_quantity(given):
    """On the plan's cells both are raised, as such cells tell too little of it."""
    for pace in (SLOW, BRISK):
        found = beside(ran(given=given), written(given), ROUGH, pace)
        assert found.planned_demand > 0
        assert found.demand == pytest.approx(found.planned_demand, rel=0.01)


@GIVEN
def test_all_moments_that_a_plan_shows_come_back(given):
    found = beside(ran(given=given), written(given), ROUGH, SLOW)
    assert found.water < 0.01
    assert found.casing_k < 1


# ---------------------------------------------------------------------------------------- as anybody runs it

FAHRENHEIT = (
    *((name, tuple(value) if isinstance(value, list) else value) for name, value in CONTROLLED.items()),
    (f"control.degrees{KILN}", "F"), (f"control.hold_step{KILN}", 60),
    (f"control.ramp_rates{KILN}", "5, 300"),
)  # fmt: skip
VARIANTS = [
    ("enclosure", ()), ("enclosure", BOARDS), ("small_heater", ()), ("air", ()), ("enclosure", FAHRENHEIT),
]  # fmt: skip


def simulated(way_id, given, folder, *more):
    """Write a path as a wall file, run it by the command, and return what it shows."""
    write(study_of(ran(way_id, given), "small kiln"), folder / "kiln.toml")
    done = run("simulate", folder / "kiln.toml", "--json", *more)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def apart(shown, path):
    """Return by how much it differs from the path at the most: water [share of the first], casings [K], and the highest
    share of the strength [share]; looked at in the morning of each day, and at the end."""
    draw, rows = middle(path), shown["rows"]
    water_kg = [one.did.water_kg[draw, 0] for one in path.days] + [path.days[-1].did.water_kg[draw, -1]]
    casing_degc = [one.did.casing_degc[draw, 0] for one in path.days]
    demand = max(wall["share_of_strength"] for row in rows for wall in row["walls"])
    found_degc = [[wall["casing_degc"] for wall in row["walls"]] for row in rows[:-1]]
    return (
        np.abs(np.array([row["water_kg"] for row in rows]) - water_kg).max() / water_kg[0],
        np.abs(np.array(found_degc) - casing_degc).max(),
        abs(demand / max(one.did.demand[draw].max() for one in path.days) - 1),
    )


@pytest.mark.parametrize(("way_id", "given"), VARIANTS, ids=["enclosure", "boards", "heater", "air", "fahrenheit"])
def test_a_plain_run_of_the_file_gives_the_plan_back_within_one_part_in_a_hundred(way_id, given, tmp_path):
    water, casing_k, demand = apart(simulated(way_id, given, tmp_path), ran(way_id, given))
    assert (water < 0.01, casing_k < 0.5, demand < 0.01) == (True, True, True)


def test_in_finer_cells_it_does_not(tmp_path):
    """What is compared is seen to differ: rough cells tell a sixth too much of the pressure in a ring of 40 mm."""
    assert apart(simulated("enclosure", (), tmp_path, "--accuracy", "normal"), ran())[2] > 0.1


# ---------------------------------------------------------------------------------------- what is written


@GIVEN
def test_the_file_holds_all_that_the_study_does(given, tmp_path):
    write(written(given), tmp_path / "kiln.toml")
    assert read(tmp_path / "kiln.toml") == written(given)


def test_a_kiln_is_written_whole_with_every_day_of_its_path():
    path, study = ran(), written()
    assert study.setup.walls == path.days[0].did.setups[middle(path)].walls
    assert study.hours == 24 * len(path.days)
    assert {24 * number for number in range(len(path.days))} <= {hour for hour, _ in study.around}


def test_a_day_in_an_enclosure_is_its_warm_air_and_then_the_night():
    first, second, *_ = written().around
    assert first[1].enclosed_m3_h
    assert first[1].power_kw < 10
    assert (second[1].enclosed_m3_h, second[1].chamber_degc) == (None, None)


def test_own_elements_have_their_power_and_the_course_that_was_set():
    path = ran()
    number, own = next((number, one) for number, one in enumerate(path.days) if one.spell)
    heated = [one for hour, one in written().around if 24 * number <= hour < 24 * number + 24 and one.chamber_degc]
    assert [max(one.chamber_degc.degc) for one in heated] == [spell.top_degc for spell in own.spell.runs]
    assert {one.power_kw for one in heated} == {2.0}


def test_boards_are_out_from_the_beginning_and_come_in_dry_on_their_day():
    path, study = ran(given=BOARDS), written(BOARDS)
    day = next(number for number, one in enumerate(path.days) if one.boards == "in")
    added = [layer for change in study.setup.changes for layer in change.adds]
    assert {change.at_h for change in study.setup.changes} == {24.0 * day}
    assert {(layer.thickness_mm, layer.water_kg_m3) for layer in added} == {(25.0, 0.0)}
    assert all(len(wall.layers) == 1 for wall in study.setup.walls)


def test_the_draw_that_is_written_is_the_middle_one():
    """On every day it stands among the half of the draws that lie about the median."""
    for one in ran().days:
        low, high = np.quantile(one.left, (0.25, 0.75))
        assert low - 0.005 <= one.left[middle(ran())] <= high + 0.005


def test_the_command_writes_a_kiln_and_says_how_near_a_run_of_it_comes(tmp_path):
    folder = plan_job.write(tmp_path / "job").folder
    with one_path():
        done = run("plan", folder, "--json", "--walls", tmp_path / "walls")
    (file,) = (tmp_path / "walls").iterdir()

    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["format"] == "recover-plan"
    assert f"written: {file}\nrecover simulate on it" in done.stderr
    assert read(file).hours == 24 * len(store.newest(open_job(folder)).kilns[0].days)


@GIVEN
def test_in_normal_cells_and_steps_the_water_of_a_thin_ring_comes_back_nearly(given):
    """In a warm enclosure a ring of 40 mm loses most of
    its water on the first day; the steps of hours by which a plan goes through weeks then lag behind."""
    path, study = ran(given=given), written(given)
    found = simulate(study.setup, [0, study.hours], *ACCURACIES["normal"], around=study.around)
    assert beside(path, study, *ACCURACIES["normal"]).water < 0.05
    assert found.water_kg[-1] / found.water_kg[0] == pytest.approx(path.days[-1].left[middle(path)], abs=0.01)


@pytest.mark.parametrize("way_id", ["air", "enclosure"])
def test_in_air_from_outside_rough_cells_dry_no_slower_than_normal_ones(way_id):
    """All of it leaves through the first millimetre."""
    path = ran(way_id)
    study = study_of(path, "small kiln")
    hours = np.arange(0, study.hours + 1, 24)
    rough = simulate(study.setup, hours, ROUGH, SLOW, around=study.around)
    normal = simulate(study.setup, hours, NORMAL, SLOW, around=study.around)
    assert rough.water_kg == pytest.approx(normal.water_kg, abs=0.01 * normal.water_kg[0])


def test_a_path_is_compared_with_itself_and_not_with_another():
    """A room five kelvin warmer is no longer the plan's."""
    path, study = ran(), written()
    around = tuple((hour, replace(one, room_degc=_warmer(one.room_degc))) for hour, one in study.around)
    warmer = replace(study, around=around)
    assert beside(path, warmer, ROUGH, BRISK).casing_k > beside(path, study, ROUGH, BRISK).casing_k + 1


def _warmer(course):
    return replace(course, degc=tuple(degc + 5 for degc in course.degc))
