"""How far the water reached: heights against the line, what climbs, what came from above, what somebody saw."""

import pytest

from recover.wetmap import element_heights_mm, wet_map
from tests.conftest import answers_from, assessed

KILN = "@kiln/1"
HEIGHTS = {
    "scope.kilns": 1,
    f"event.reach{KILN}": "chamber", f"event.water_line{KILN}": 430, f"event.above{KILN}": ["none"],
    f"event.inside{KILN}": 0,
    f"identity.stand_top{KILN}": 180, f"identity.floor_under{KILN}": 190, f"identity.floor_face{KILN}": 280,
    f"identity.element_low{KILN}": 330, f"identity.element_high{KILN}": 810, f"identity.terminal_low{KILN}": 430,
    f"identity.lid_joint{KILN}": 860, f"identity.opening{KILN}": "top", f"identity.probe_height{KILN}": 600,
    f"casing.parts{KILN}": ["shell", "base", "stand", "hinge"], f"lining.parts{KILN}": ["wall", "floor", "lid"],
    "lining.layers@kiln/1/part/wall": 1, "lining.layers@kiln/1/part/floor": 1, "lining.layers@kiln/1/part/lid": 1,
    "layer.material@kiln/1/part/wall/layer/1": "ifb_23", "layer.material@kiln/1/part/floor/layer/1": "ifb_23",
    "layer.material@kiln/1/part/lid/layer/1": "ifb_23", "element.count@kiln/1": 5, "scope.probes@kiln/1": 1,
}  # fmt: skip


def states(given):
    """Return the states of each component by its last two words; a terminal by `terminal/`."""
    found = {}
    for wet in wet_map(answers_from(given)):
        kind, name = wet.at.split("/")[-2:]
        key = f"terminal/{name}" if wet.kind == "terminal" else f"{kind}/{name}"
        found[wet.at.replace("kiln/1/part/", "") if wet.kind == "layer" else key] = "/".join(wet.states)
    return found


def test_the_line_against_the_lower_edge_of_each_component():
    """Elements at 330, 450, 570, 690, 810 mm; insulating brick lifts water by about 100 mm (own limit)."""
    found = states(HEIGHTS)

    assert [found[f"element/{number}"] for number in range(1, 6)] == ["submerged", "damp", "dry", "dry", "dry"]
    assert [found[f"terminal/{number}"] for number in range(1, 6)] == ["submerged", "dry", "dry", "dry", "dry"]
    assert found["casing/stand"] == found["casing/base"] == found["casing/shell"] == "submerged"
    assert found["casing/hinge"] == "dry"
    assert found["wall/layer/1"] == found["floor/layer/1"] == "submerged"
    assert found["lid/layer/1"] == found["part/lid"] == "dry"
    assert found["probe/1"] == "dry"


@pytest.mark.parametrize(("line", "state"), [(329, "damp"), (330, "submerged"), (229, "dry"), (230, "damp")])
def test_an_element_at_the_line_counts_as_under_water_and_one_within_the_rise_as_damp(line, state):
    assert states({**HEIGHTS, f"event.water_line{KILN}": line})["element/1"] == state


@pytest.mark.parametrize(("material", "state"), [("ifb_23", "dry"), ("calcium_silicate", "damp")])
def test_water_climbs_higher_in_board_than_in_brick(material, state):
    """100 mm in insulating brick and 300 mm in calcium silicate: pores of 0.3 and 0.1 mm, 4 gamma / (rho g d)."""
    given = {**HEIGHTS, "lining.layers@kiln/1/part/wall": 2, "layer.material@kiln/1/part/wall/layer/2": material}

    assert states(given)["element/4"] == state  # at 690 mm, 260 above the line


def test_water_in_the_chamber_reaches_what_the_room_never_saw():
    """A chamber that held 150 mm: its level is 280 + 150 = 430 mm, though the room had 40 mm."""
    found = states({**HEIGHTS, f"event.water_line{KILN}": 40, f"event.inside{KILN}": 150})

    assert found["element/1"] == "submerged"
    assert found["element/2"] == "dry"
    assert found["floor/layer/1"] == "submerged"
    assert found["casing/shell"] == "dry"


def test_water_from_above_splashes_what_it_is_said_to_have_reached():
    found = states({**HEIGHTS, f"event.reach{KILN}": "floor", f"event.above{KILN}": ["lid"]})

    assert found["lid/layer/1"] == "splashed"
    assert found["wall/layer/1"] == "dry"
    assert found["casing/shell"] == "splashed"


def test_what_is_not_known_about_water_from_above_leaves_both_ends():
    assert states({**HEIGHTS, f"event.above{KILN}": None})["element/5"] == "dry/splashed"


def test_a_kiln_that_was_over_under_water_has_nothing_dry():
    none_beside = {f"{name}{KILN}": ["none"] for name in ("vent.parts", "furniture.kinds", "contents.kinds")}
    found = states({**HEIGHTS, **none_beside, f"event.reach{KILN}": "over"})

    assert set(found.values()) == {"submerged"}


@pytest.mark.parametrize(("seen", "state"), [("dry", "submerged"), ("submerged", "submerged")])
def test_a_look_does_not_dry_what_the_line_covers(seen, state):
    assert states({**HEIGHTS, "casing.reached@kiln/1/casing/base": seen})["casing/base"] == state


def test_a_look_wets_what_the_line_left_dry():
    assert states({**HEIGHTS, "probe.reached@kiln/1/probe/1": "splashed"})["probe/1"] == "splashed"


def test_a_count_on_site_decides_where_no_height_is_known():
    found = states({"scope.kilns": 1, "element.count@kiln/1": 4, "element.reached_count@kiln/1": 2})

    assert [found[f"element/{number}"] for number in range(1, 5)] == ["submerged", "submerged", "dry", "dry"]


def test_nothing_known_leaves_everything_open_and_says_what_is_missing():
    found = wet_map(answers_from({"scope.kilns": 1}))

    assert all(len(wet.states) == 4 for wet in found)
    assert all(wet.reason for wet in found)


def test_elements_are_spaced_evenly_from_lowest_to_highest():
    assert element_heights_mm(answers_from(HEIGHTS), "kiln/1") == (330, 450, 570, 690, 810)
    assert element_heights_mm(answers_from({**HEIGHTS, "element.count@kiln/1": 1}), "kiln/1") == (330,)


def test_the_map_decides_over_a_soaked_board():
    """Soaked calcium silicate is replaced: decided, against a published milder row that is printed."""
    given = {**HEIGHTS, "layer.material@kiln/1/part/wall/layer/1": "calcium_silicate"}
    finding = next(one for one in assessed(given).findings if one.at == "kiln/1/part/wall/layer/1")

    assert finding.outcome.high == finding.outcome.low == "replace"
    assert any(row.source == "astm-c656" for reason in finding.outcome.reasons for row in reason.card.contrary)
