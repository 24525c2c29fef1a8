"""Edges and corners: what they hold, which of them are computed apart, and through which casing they dry.

How near they come to two and three dimensions is in `validation`.
"""

from dataclasses import replace
from itertools import accumulate

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from recover.physics.edges import edge
from recover.physics.figures import figures
from recover.physics.lining import ChamberShape, Layer, LayerStack, Lining
from recover.physics.staged import Heating, setups_of
from recover.physics.stages import stages
from tests.test_physics_estimate import box_kiln, round_kiln
from tests.walls import front_loader

INNER_MM, OUTER_MM = 114.0, 75.0
THICK_MM = INNER_MM + OUTER_MM


def heating(lining, casing="seams"):
    return Heating(
        lining=lining, stages=stages("ifb_board"), casing=casing, opening="plugs_out", room_degc=15.0,
        room_vapour=0.012, power_kw=None, draws=4,
    )  # fmt: skip


def walls(lining, casing="seams"):
    return {wall.name: wall for wall in setups_of(heating(lining, casing))[0].walls}


def volume_m3(wall, number):
    """Return the volume of a layer of a computed wall: rings grow outwards."""
    ends_m = [0.0, *accumulate(layer.thickness_mm / 1000 for layer in wall.layers)]
    inner, outer = ends_m[number : number + 2]
    bent = (outer**2 - inner**2) / (2 * wall.inner_radius_mm / 1000) if wall.inner_radius_mm else 0.0
    return wall.area_m2 * (outer - inner + bent)


@pytest.mark.parametrize(
    "lining", [box_kiln(), front_loader(), front_loader(thin_floor=True)], ids=["cube", "front-loader", "thin floor"]
)
def test_walls_and_edges_hold_each_layer_once(lining):
    computed = walls(lining)

    for stack in lining.stacks:
        for number in range(len(stack.layers)):
            apart = [wall for name, wall in computed.items() if name.split(",")[0] == stack.part]
            held = sum(volume_m3(wall, number) for wall in apart)
            assert held == pytest.approx(lining.layer_m3(stack.part, number), rel=1e-9)


@pytest.mark.parametrize("lining", [box_kiln(), front_loader()], ids=["box", "front-loader"])
def test_the_whole_is_the_outer_box_less_the_inner(lining):
    inside, computed = lining.chamber, walls(lining).values()
    sides_m = np.array([inside.width_mm, inside.depth_mm, inside.height_mm]) / 1000
    whole_m3 = np.prod(sides_m + 2 * THICK_MM / 1000) - np.prod(sides_m)

    assert sum(volume_m3(wall, at) for wall in computed for at in (0, 1)) == pytest.approx(whole_m3, rel=0.02)


@given(st.floats(200, 1500), st.floats(200, 1500), st.floats(200, 1500), st.floats(30, 200))
def test_heat_by_inner_areas_edges_and_corners(width, depth, height, thick):
    """Incropera & DeWitt, table 4.1, cases 8 and 9: 0.54 a metre of edge, 0.15 of the thickness for each corner."""
    layer = (Layer("ifb_23", thick),)
    lining = Lining(
        ChamberShape("rectangular", width, depth, height),
        tuple(LayerStack(part, layer) for part in ("wall", "floor", "lid")),
    )
    through = 0.0
    for part in ("wall", "floor", "lid"):
        bent = edge(lining, part)
        through += 1000 * bent.area_m2 / bent.inner_radius_mm / np.log1p(bent.layers_mm[0] / bent.inner_radius_mm)

    assert through == pytest.approx(0.54 * 4 * (width + depth + height) / 1000 + 0.15 * 8 * thick / 1000, rel=1e-9)


def test_a_ring_has_edges_where_its_slabs_reach_under_and_over_the_wall():
    lining = round_kiln()
    wider_m2 = np.pi / 4 * (0.708**2 - 0.580**2)

    assert lining.edge_m3("wall", 0) == 0
    assert lining.edge_m3("floor", 0) == pytest.approx(0.064 * wider_m2)
    assert list(walls(lining)) == ["wall", "floor", "floor, edges", "lid"]


def test_dry_parts_keep_their_edges():
    assert [name for name in walls(box_kiln(lid="dry")) if name.startswith("lid")] == ["lid"]
    assert [name for name in walls(box_kiln(lid="soaked")) if name.startswith("lid")] == ["lid", "lid, edges"]


def test_edges_that_hold_next_to_none_of_the_water_are_left_with_their_wall():
    """A floor of a thin hot face in a kiln with thick soaked walls, on both sides of the figure."""
    share = figures().edge_water.mid

    def lining(floor_mm):
        wall = LayerStack("wall", (Layer("ifb_23", 114, "soaked", 5000),))
        return Lining(
            ChamberShape("round", 600, 600, 2000), (wall, LayerStack("floor", (Layer("ifb_23", floor_mm, "soaked"),)))
        )

    def held(own):
        return own.edge_m3("floor", 0) / (own.layer_m3("wall", 0) + own.layer_m3("floor", 0))

    least_mm = next(mm for mm in range(5, 100) if held(lining(mm)) > share)
    assert "floor, edges" in walls(lining(least_mm))
    assert "floor, edges" not in walls(lining(least_mm - 1))


def test_the_edges_of_a_floor_are_half_in_the_pan():
    computed = walls(box_kiln())

    assert computed["floor"].cold.openness == 0
    assert computed["floor, edges"].cold.openness == pytest.approx(computed["wall, edges"].cold.openness / 2)


def test_a_wall_wet_in_part_has_edges_in_its_wet_zone_only():
    names = list(walls(box_kiln(water_line_mm=600)))

    assert names[:3] == ["wall, wet", "wall, edges, wet", "wall, dry"]


def test_edges_are_the_last_to_dry():
    from recover.physics.ensemble import simulate_many

    asked = replace(heating(box_kiln(), casing="loosened"), draws=2)
    found = setups_of(asked)
    did = simulate_many(found, [0.0, found[0].course.end_h])
    left = did.layer_kg[:, -1].mean(axis=0) / did.layer_kg[:, 0].mean(axis=0)
    by_wall = dict(zip((wall.name for wall in found[0].walls), left.reshape(-1, 2), strict=True))

    assert by_wall["wall, edges"].sum() > by_wall["wall"].sum()
