"""The water in a lining by draws: worked examples, and what may never make it less.

The worked examples are common practice and computed figures for invented kilns: they show that the parts fit together,
and are no measurement.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from recover.physics.draws import Ranks, spread
from recover.physics.lining import ChamberShape, Layer, LayerStack, Lining
from recover.physics.materials import Band, material
from recover.physics.uptake import calibrated, drawn_water, layer_water, water_kg
from tests.conftest import cases
from tests.test_physics_estimate import SOAKED_BRICK, box_kiln, exactly, round_kiln

DRAWS, SEED = 200, 1
LEVEL = cases(40)

heights = st.floats(1, 700)
shapes = st.sampled_from(["round", "oval", "polygon", "rectangular"])
names = st.sampled_from(["ifb_23", "blanket", "calcium_silicate", "dense_brick", "castable_dense", "unknown"])


def kiln(shape="round", line_mm=450.0, inner="ifb_23", outer="blanket", wet="soaked"):
    """Return a kiln of any shape with two layers, floor and lid of the hot-face material; a box has a door as well."""
    layers = Layer(inner, 64, wet, line_mm), Layer(outer, 25, wet, line_mm)
    slab = (Layer(inner, 64, wet),)
    stacks = [LayerStack("wall", layers), LayerStack("floor", slab), LayerStack("lid", (Layer(inner, 64),))]
    stacks += [LayerStack("door", layers)] if shape == "rectangular" else []
    return Lining(ChamberShape(shape, 580, 580, 680), tuple(stacks))


def drawn(lining, held=None, seed=SEED):
    return spread(drawn_water(lining, Ranks(DRAWS, seed), held).sum(axis=0))


def held_for(hours, days):
    return {name: material(name).soaked_for(hours, days) for name in ("ifb_23", "blanket")}


# ---------------------------------------------------------------------------------------- worked examples


def test_worked_example_1_by_draws():
    """180 l round: 47 kg submerged, 34 with water to 450 mm (22 to 65), brick at 273 and fibre at 237 kg/m³."""
    assert drawn(round_kiln(lid="soaked"), SOAKED_BRICK).p50 == pytest.approx(47, abs=0.5)
    found = drawn(round_kiln(450), SOAKED_BRICK)
    assert found.p50 == pytest.approx(34, rel=0.1)  # what is left open is how far it climbs: 100 mm, from 50 to 300
    assert 22 < found.p10 < found.p50 < found.p90 < 65


def test_worked_example_1_drained_for_days_as_practice_has_it():
    """Brick that drained for days holds about 270 kg/m³: the 34 kg lie between tenth and ninetieth percentile."""
    found = drawn(round_kiln(450), held_for(48, 14))
    assert found.p10 < 34 < found.p90


@pytest.mark.parametrize(("back_up", "kg_m3", "water"), [("calcium_silicate", 704, 256), ("blanket", 237, 86)])
def test_worked_example_2_by_draws(back_up, kg_m3, water):
    """200 l front-loader under water: brick 85 kg, board 256 kg or fibre 86 kg."""
    rows = drawn_water(box_kiln(back_up), Ranks(DRAWS, SEED), {"ifb_26": exactly(245), back_up: exactly(kg_m3)})
    brick, behind = rows[0::2], rows[1::2]  # of wall, floor and lid
    assert np.allclose(brick.sum(axis=0), 85, atol=1)
    assert np.allclose(behind.sum(axis=0), water, atol=1)


def test_worked_example_3_by_draws():
    """100 l of fibre, 150 mm of blanket: 83 kg drained, from 35 to 165; one family, low or high together."""
    wall, slab = (Layer("blanket", 150, "soaked", 10_000),), (Layer("blanket", 150, "soaked"),)
    stacks = LayerStack("wall", wall), LayerStack("floor", slab), LayerStack("lid", slab)
    found = drawn(Lining(ChamberShape("rectangular", 450, 450, 500), stacks))
    assert (found.p10, found.p50, found.p90) == pytest.approx((35, 83, 165), rel=0.05)


# ---------------------------------------------------------------------------------------- zones


def test_below_its_line_a_wall_is_wet_by_its_height_and_above_it_by_what_climbs():
    """Water to 450 of 680 mm: so much of the wall's 0.0880 m³ of brick at 273 kg/m³; it climbs 50 to 300 mm."""
    brick = drawn_water(round_kiln(450), Ranks(DRAWS, SEED), SOAKED_BRICK)[0]
    under = 0.0880 * 450 / 680 * 273
    assert np.quantile(brick, 0.1) == pytest.approx(under + 0.0880 * 50 / 680 * 273, rel=0.005)
    assert brick.min() > under
    assert brick.max() <= under * 1.001 + 0.0880 * (680 - 450) / 680 * 273 * 1.001
    assert brick.max() - brick.min() > 0.0880 * 100 / 680 * 273


def test_splashed_and_dry_layers_lift_nothing():
    """Water to 450 of 680 mm of a splashed wall is so much of what it holds when splashed all over."""
    splashed, over = (drawn_water(kiln(wet="splashed", line_mm=line), Ranks(DRAWS, SEED)) for line in (450.0, 680.0))
    assert np.allclose(splashed[:2], over[:2] * 450 / 680)
    assert splashed[-1].max() == 0  # the lid is dry


def test_a_line_below_the_chamber_reaches_the_wall_only_by_climbing():
    chamber = ChamberShape("round", 580, 580, 680, floor_mm=300)
    wall = drawn_water(
        Lining(chamber, (LayerStack("wall", (Layer("ifb_23", 64, "soaked", 150),)),)), Ranks(DRAWS, SEED)
    )[0]
    assert wall.min() == 0  # 50 mm of rise do not reach it
    assert wall.max() > 0  # 300 mm do


# ---------------------------------------------------------------------------------------- laws


TAIL = 0.01
"""By what share the tail of a span may fall though its middle and both ends rise: it goes on as steeply as the half
before it, and that half is shorter."""


def no_less(less, more, but=1e-9):
    return all(getattr(less, p) <= getattr(more, p) * (1 + but) + 1e-9 for p in ("p10", "p50", "p90"))


@LEVEL
@given(shapes, names, names, heights, heights)
def test_a_higher_line_is_never_less_water(shape, inner, outer, one, other):
    low, high = sorted((one, other))
    assert no_less(drawn(kiln(shape, low, inner, outer)), drawn(kiln(shape, high, inner, outer)))


@LEVEL
@given(heights, st.floats(0, 720), st.floats(0, 720), st.floats(0, 30), st.floats(0, 30))
def test_longer_under_water_or_fewer_days_drained_is_never_less_water(line, one, other, some, more):
    (short, long), (few, many) = sorted((one, other)), sorted((some, more))
    lining = kiln(line_mm=line)
    assert no_less(drawn(lining, held_for(short, few)), drawn(lining, held_for(long, few)), but=TAIL)
    assert no_less(drawn(lining, held_for(long, many)), drawn(lining, held_for(long, few)), but=TAIL)


SETTLED = 0.01
"""How far so many draws settle the percentile of one span: of one family, it is the end of the band itself."""


@LEVEL
@given(shapes, names, names, heights, st.sampled_from(["soaked", "splashed", "damp"]), st.integers(0, 1000))
def test_percentiles_stand_in_order_and_within_the_band(shape, inner, outer, line, wet, seed):
    lining = kiln(shape, line, inner, outer, wet)
    found, band = drawn(lining, seed=seed), water_kg(layer_water(lining))
    assert band.low <= found.p10 * (1 + SETTLED)
    assert found.p10 <= found.p50 <= found.p90
    assert found.p90 <= band.high * (1 + SETTLED)


@LEVEL
@given(st.floats(0.3, 0.9), heights)
def test_a_weighed_brick_narrows_the_draws(water_in_a_brick_kg, line):
    weighed = {"ifb_23": calibrated(material("ifb_23"), 0.813 + water_in_a_brick_kg, 0.813, 0.00166)}
    by_weight, by_table = drawn(round_kiln(line), weighed), drawn(round_kiln(line))
    assert by_weight.p90 / by_weight.p10 < by_table.p90 / by_table.p10


def test_layers_of_one_material_are_wet_together_and_different_ones_by_chance():
    """Wall and floor of one brick hold the same per cubic metre in every draw, the blanket behind them does not."""
    wall, blanket, floor, _ = drawn_water(round_kiln(), Ranks(DRAWS, SEED))
    assert np.corrcoef(wall, floor)[0, 1] == pytest.approx(1)
    assert abs(np.corrcoef(wall, blanket)[0, 1]) < 0.3


def test_another_layer_does_not_move_the_draws_of_the_first():
    with_board = drawn_water(kiln(outer="calcium_silicate"), Ranks(DRAWS, SEED))[0]
    with_fibre = drawn_water(kiln(outer="blanket"), Ranks(DRAWS, SEED))[0]
    assert np.array_equal(with_board, with_fibre)


def test_what_is_known_of_everything_has_no_spread():
    known = {name: Band.exactly(300) for name in ("ifb_23", "blanket")}
    found = drawn(kiln(line_mm=700), known)
    assert found.p90 == pytest.approx(found.p10)
