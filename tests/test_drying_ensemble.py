"""The same kiln with many draws: what staged holds do, and that a draw is what it would be alone."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from recover.base.errors import QuantityError, SimulationError
from recover.physics.around import Around
from recover.physics.draws import spread
from recover.physics.drying import QUICK, simulate
from recover.physics.ensemble import Draws, Standing, simulate_many, stretch
from recover.physics.grid import COARSE
from recover.physics.lining import ChamberShape, Layer, LayerStack, Lining
from recover.physics.materials import Band
from recover.physics.staged import Heating, middle_run, setups_of, staged
from recover.physics.stages import stages
from recover.physics.uptake import drawn_water
from recover.physics.wall import Chamber, Course, Setup, Wall
from tests.walls import HOT, INSULATING, OPEN, front_loader, heating

HOURS = np.arange(0, 25.0)
HOT_AIR = Course((0.0, 3.0), (15.0, 90.0))


def half_flooded(line_mm=400.0, behind="blanket", **more):
    """A round top-loader, 450 mm wide and 500 high, its floor at 200 mm, with water up to a line."""
    wall = (
        Layer("ifb_23", 64, "soaked", line_mm),
        Layer(behind, 25, "soaked", line_mm),
    )
    slab = (Layer("ifb_23", 64, "soaked", 700.0),)
    lid = (Layer("ifb_23", 64, "dry", 700.0),)
    lining = Lining(
        ChamberShape("round", 450, 450, 500, floor_mm=200),
        (LayerStack("wall", wall), LayerStack("floor", slab), LayerStack("lid", lid)),
    )
    asked = {"casing": "seams", "opening": "plugs_out", "power_kw": 6.0, "draws": 12, **more}
    return Heating(lining=lining, stages=stages("ifb_fibre"), room_degc=15.0, room_vapour=0.012, **asked)


def test_bricks_are_quick_or_slow_together_and_one_factor_moves_the_water_of_all_layers():
    """Two groups of brick have one rank; the factor is shared, and fibre has a rank of its own beside it."""
    asked = replace(half_flooded(), draws=1000)
    floor = LayerStack("floor", (Layer("ifb_26", 64, "soaked", 700.0),))
    asked = replace(asked, lining=replace(asked.lining, stacks=(asked.lining.wall, floor)))
    first, behind, other = (
        np.array([setup.walls[wall].layers[layer].matter.liquid0_m2_s for setup in setups_of(asked)])
        for wall, layer in ((0, 0), (0, 1), (2, 0))
    )

    assert first == pytest.approx(other)
    assert 0.15 < stats.spearmanr(first, behind).statistic < 0.9


def test_porosity_runs_against_density_and_both_numbers_of_a_conductivity_with_one_another():
    matters = [setup.walls[0].layers[0].matter for setup in setups_of(half_flooded())]

    def ranks(name):
        return stats.rankdata([getattr(one, name) for one in matters])

    assert list(ranks("porosity")) == list(13 - ranks("density_kg_m3"))
    assert list(ranks("k0_w_mk")) == list(ranks("k1_w_mk2"))
    assert list(ranks("cp0_j_kgk")) == list(ranks("cp1_j_kgk2"))


def test_of_draws_of_which_half_are_doubted_every_second_one_is_and_all_others_are_as_they_were():
    """The same kilns as without doubt, and as with nothing else, one after the other."""
    asked = half_flooded()
    sure, doubted = (setups_of(one) for one in (asked, replace(asked, knowledge="doubted")))
    half = replace(asked, doubted_share=0.5)

    assert half.doubted == (False, True) * 6
    assert setups_of(half) == [(doubted if draw % 2 else sure)[draw] for draw in range(12)]
    assert not any(asked.doubted)


def test_a_conductivity_that_falls_with_heat_falls_more_where_it_is_high():
    """So that it stays above nought in every tail: 2000 draws."""
    asked = replace(half_flooded(), draws=2000)
    stack = LayerStack("wall", (Layer("bubble_alumina", 64, "soaked", 400.0),))
    matters = [
        one.walls[0].layers[0].matter
        for one in setups_of(replace(asked, lining=replace(asked.lining, stacks=(stack,))))
    ]
    assert min(one.k0_w_mk + 1400 * one.k1_w_mk2 for one in matters) > 0


BRICK_WEIGHED = {"held": (("ifb_23", Band(340, 400, 460)),), "knowledge": "weighed"}


def test_hours_at_a_hold_are_known_to_1_7_and_better_where_a_brick_was_weighed():
    """Nine tenths gone at 200 °C, p10 to p90 about p50."""
    assumed, weighed = (
        _hours_at_200(half_flooded(casing="loosened", draws=64, **more)) for more in ({}, BRICK_WEIGHED)
    )

    assert min(assumed.p50 / assumed.p10, assumed.p90 / assumed.p50) > 1.7
    assert weighed.p90 / weighed.p10 < assumed.p90 / assumed.p10


def _hours_at_200(asked):
    course = Course((0.0, 12.0), (15.0, 200.0))
    return spread(simulate_many(setups_of(asked, course), np.arange(0.0, 961.0, 8.0)).hours_gone(0.9))


def test_printed_hours_of_stages_claim_no_more_than_is_known():
    """Stages that grow hotter hurry what is slow: the draws alone would spread by a quarter."""
    asked = half_flooded(casing="loosened", opening="forced", draws=24, pan="removed", **BRICK_WEIGHED)
    long = tuple(replace(stage, hours_from=200.0, hours_to=240.0) for stage in asked.stages)
    hours = staged(replace(asked, stages=long)).hours_to_nine_tenths

    assert hours.p10 <= hours.p50 * 0.7
    assert hours.p90 >= hours.p50 * 1.4


def test_a_draw_side_by_side_with_others_is_what_it_is_alone():
    walls = (Wall(INSULATING, HOT, OPEN), Wall(INSULATING, HOT, replace(OPEN, openness=0.1)))
    setups = [Setup((wall,), heating(400), chamber=Chamber()) for wall in walls]
    together = simulate_many(setups, HOURS)

    for number, setup in enumerate(setups):
        alone = simulate(setup, HOURS, COARSE, QUICK)
        assert together.water_kg[number] == pytest.approx(alone.water_kg, rel=1e-12)
        assert together.casing_degc[number, :, 0] == pytest.approx(alone.walls[0].casing_degc, rel=1e-12)


def test_a_draw_that_is_there_more_than_once_is_run_once_and_does_what_it_does_alone(monkeypatch):
    """What was read leaves likely draws more than once; one that stands elsewhere, or in other air, is another."""
    ran = []
    monkeypatch.setattr("recover.physics.ensemble.check", lambda *args, **_: ran.append(args[3]))
    draws = Draws.of(setups_of(replace(half_flooded(), draws=3)))
    each = draws.begin()
    air = Around(room_degc=Course.steady(15.0), room_vapour=np.array([0.010, 0.011, 0.012]), chamber_degc=HOT_AIR)
    alone, ends = stretch(draws, each, air, [0.0, 6.0])
    ran.clear()
    chosen = [2, 0, 0, 2, 2]
    begins = Standing(each.unknowns[chosen], each.held[chosen])
    often, stand = stretch(draws.only(chosen), begins, air.only(chosen), [0.0, 6.0])

    assert len(ran) == len({*chosen})
    assert (often.layer_kg == alone.layer_kg[chosen]).all()
    assert (often.casing_degc == alone.casing_degc[chosen]).all()
    assert (stand.unknowns == ends.unknowns[chosen]).all()
    ran.clear()
    begins.unknowns[2, :, 0] += 5.0
    damper = replace(air, room_vapour=np.array([0.012, 0.010, 0.010, 0.012, 0.013]))
    stretch(draws.only(chosen), begins, damper, [0.0, 6.0])
    assert len(ran) == 4


def test_a_run_that_cannot_be_trusted_spoils_the_whole():
    """Beside a wall that dries, one that lets no vapour through: no lining holds the pressure in it."""
    sound = Setup((Wall(INSULATING, HOT, OPEN),), heating(400), chamber=Chamber())
    tight = tuple(
        replace(layer, matter=replace(layer.matter, permeability_m2=1e-24, vapour_tortuosity=0.0))
        for layer in INSULATING
    )
    wrong = replace(sound, walls=(replace(sound.walls[0], layers=tight),))

    assert simulate_many([sound, sound], HOURS).left[:, -1].max() < 1
    for setups in ([sound, wrong], [wrong, sound]):
        with pytest.raises(SimulationError, match="beyond the critical pressure of water"):
            simulate_many(setups, HOURS)


@pytest.mark.parametrize("lining", [None, front_loader(), front_loader(line_mm=900.0), front_loader(board="dry")])
def test_every_draw_begins_with_the_water_that_was_drawn(lining):
    asked = half_flooded()
    asked = replace(asked, lining=lining or asked.lining)
    drawn = drawn_water(asked.lining, asked.ranks).sum(axis=0)
    kg = [
        sum(wall.area_m2 * _volume_m(wall) for wall in setup.walls) for setup in setups_of(asked)
    ]  # fmt: skip

    assert np.median(kg / drawn) == pytest.approx(1, rel=1e-6)
    assert (np.array(kg) <= drawn * (1 + 1e-6)).all()  # what its pores do not hold has run out of it
    assert (np.array(kg) > 0.9 * drawn).all()


def _volume_m(wall):
    """Return the water of a wall per m² of hot face [kg/m²]: in a ring each layer is larger outwards."""
    inside, kg = 0.0, 0.0
    for layer in wall.layers:
        d = layer.thickness_mm / 1000
        around = 1 + (inside + d / 2) / (wall.inner_radius_mm / 1000) if wall.inner_radius_mm else 1.0
        kg, inside = kg + layer.water_kg_m3 * d * around, inside + d
    return kg


def test_a_wall_below_and_above_the_line_is_run_in_two_zones():
    names = [wall.name for wall in setups_of(half_flooded())[0].walls]

    assert names == ["wall, wet", "wall, dry", "floor", "floor, edges", "lid"]
    whole = [wall.name for wall in setups_of(half_flooded(line_mm=700.0))[0].walls]
    assert whole == ["wall", "floor", "floor, edges", "lid"]


def test_percentiles_lie_in_order_and_water_only_leaves_in_the_end():
    found = staged(half_flooded())

    for held in found.held:
        assert 0 <= held.left.p10 <= held.left.p50 <= held.left.p90 <= held.left.p90_error.high <= 1.001
    assert [held.left.p50 for held in found.held] == sorted((held.left.p50 for held in found.held), reverse=True)
    assert found.energy_kwh.p10 > 0


def test_the_same_question_has_the_same_answer():
    assert staged.__wrapped__(half_flooded()) == staged(half_flooded())


@pytest.mark.parametrize(
    ("more", "less"),
    [
        ({"casing": "sealed"}, {"casing": "loosened"}),
        ({"casing": "seams"}, {"casing": "wrapped"}),
        ({"opening": "closed"}, {"opening": "forced"}),
        ({"held": (("ifb_23", Band(500, 520, 540)),)}, {"held": (("ifb_23", Band(250, 260, 270)),)}),
    ],
    ids=["an open casing", "a wrapped casing", "fresh air", "a weighed brick that held less"],
)
def test_what_leaves_less_water_behind(more, less):
    worse, better = staged(half_flooded(**more)), staged(half_flooded(**less))

    kept = [one.held[-2].left.p50 * _first_kg(one) for one in (worse, better)]
    assert kept[1] < kept[0]


def _first_kg(found):
    asked = found.heating
    return float(np.median(drawn_water(asked.lining, asked.ranks, dict(asked.held)).sum(axis=0)))


def test_the_casing_of_a_wet_wall_stays_below_that_of_a_dry_one_on_the_way_up():
    found = staged(half_flooded())
    at = int(np.searchsorted(found.curve_h, found.held[1].ends_h))

    assert found.casing_curve[at].p50 < found.dry_casing_curve[at] + 10
    assert middle_run(found).walls[found.wall].profile_degc.shape[0] == len(found.held) + 1


def test_a_weak_heater_does_not_reach_its_stages():
    weak = staged(half_flooded(power_kw=0.8))
    strong = staged(half_flooded(power_kw=8.0))

    assert weak.held[-1].left.p50 > strong.held[-1].left.p50
    assert weak.energy_kwh.p50 < strong.energy_kwh.p50


@pytest.mark.parametrize("wrong", [{"casing": "velvet"}, {"opening": "ajar"}])
def test_a_casing_or_an_opening_that_is_not_known_is_refused_with_those_that_are(wrong):
    with pytest.raises(QuantityError, match="expected one of"):
        setups_of(half_flooded(**wrong))


def test_stages_are_run_by_their_upper_temperature_and_the_middle_of_their_hours():
    asked = half_flooded()
    course = setups_of(asked)[0].course

    assert course.degc[1::2] == tuple(stage.to_degc for stage in asked.stages)
    lasts = np.diff(course.hours)[1::2]
    assert lasts == pytest.approx([stage.hours(asked.thickness_mm).mid for stage in asked.stages])
    assert isinstance(course, Course)
