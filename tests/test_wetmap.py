"""How far the water reached: heights against the line, what climbs, what came from above, what somebody saw."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recover.asked.compiled import questionnaire
from recover.job.journal import Event
from recover.judged.wetmap import STATES, element_heights_mm, line_mm, rise_mm, wet_map, wetness
from recover.profiles import PROFILES
from tests.conftest import NOW, answers_from, assessed, cases, events_of
from tests.gates import answers_at

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


def test_no_terminal_lies_below_the_lowest_however_the_heights_of_the_elements_were_given():
    """The lowest at 450 mm, above a line of 430; the heights of the elements the wrong way round."""
    given = {**HEIGHTS, f"identity.terminal_low{KILN}": 450, f"identity.element_low{KILN}": 810,
             f"identity.element_high{KILN}": 330}  # fmt: skip

    for count in (5, None):
        found = states({**given, "element.count@kiln/1": count, "element.look@kiln/1/element/5": "sound"})
        assert found["terminal/5"] == "dry", count


@pytest.mark.parametrize(("lowest", "state"), [(350, "submerged"), (None, "dry/damp/splashed/submerged")])
def test_who_counts_elements_has_not_looked_at_their_terminals(lowest, state):
    """No element of five was reached; where the lowest terminal is, below a line of 640 mm, nobody knows."""
    given = {**HEIGHTS, f"event.water_line{KILN}": 640, f"identity.element_low{KILN}": 800,
             f"identity.element_high{KILN}": 1150, f"identity.terminal_low{KILN}": lowest,
             f"element.reached_count{KILN}": 0}  # fmt: skip

    assert states(given)["element/1"] == "dry"
    assert states(given)["terminal/1"] == state


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
    found = states({**HEIGHTS, f"event.reach{KILN}": "base", f"event.water_line{KILN}": 40, f"event.inside{KILN}": 150})

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
    beside = ("gear.devices", "vent.parts", "furniture.kinds", "contents.kinds")
    none_beside = {f"{name}{KILN}": ["none"] for name in beside}
    found = states({**HEIGHTS, **none_beside, f"event.reach{KILN}": "over"})

    assert set(found.values()) == {"submerged"}


@pytest.mark.parametrize(("seen", "state"), [("dry", "submerged"), ("submerged", "submerged")])
def test_a_look_does_not_dry_what_the_line_covers(seen, state):
    assert states({**HEIGHTS, "casing.reached@kiln/1/casing/base": seen})["casing/base"] == state


def test_a_look_wets_what_the_line_left_dry():
    assert states({**HEIGHTS, "probe.reached@kiln/1/probe/1": "splashed"})["probe/1"] == "splashed"


def test_a_part_is_as_wet_as_the_wettest_of_its_layers():
    """By the line the wall stayed dry; somebody saw one of its layers splashed."""
    low = {**HEIGHTS, f"event.reach{KILN}": "base", f"event.water_line{KILN}": 100}

    assert states(low)["part/wall"] == "dry"
    assert states({**low, "layer.reached@kiln/1/part/wall/layer/1": "splashed"})["part/wall"] == "splashed"


def test_water_on_the_floor_of_the_room_wets_what_the_kiln_stands_on():
    assert (
        states({**HEIGHTS, f"event.reach{KILN}": "base", f"event.water_line{KILN}": 0.5})["casing/stand"] == "submerged"
    )


def test_a_part_with_a_layer_that_may_be_two_things_is_judged_by_its_own_height():
    """Water from above that nobody spoke of leaves the layer dry or splashed; the part is not settled by it."""
    found = {
        wet.at: wet for wet in wet_map(answers_from({**HEIGHTS, f"event.above{KILN}": None})) if wet.kind == "part"
    }

    assert found["kiln/1/part/lid"].states == ("dry", "splashed")
    assert "layers" not in found["kiln/1/part/lid"].reason


@pytest.mark.parametrize("layers", [1, 2, None])
@pytest.mark.parametrize("seen", ["damp", "splashed", "submerged"])
def test_a_part_is_never_drier_than_a_layer_of_it_however_many_there_may_be(layers, seen):
    """The line is far below the floor slab; a look found its hot face wet. How many layers it has may not be known."""
    floor = "kiln/1/part/floor"
    low = {**HEIGHTS, f"event.reach{KILN}": "base", f"event.water_line{KILN}": 100, "lining.parts@kiln/1": ["floor"]}
    given = {**low, f"lining.layers@{floor}": layers, f"layer.reached@{floor}/layer/1": seen}

    assert answers_from(given).fact("part_reached", floor) <= set(STATES[STATES.index(seen) :])


def test_a_count_on_site_decides_where_no_height_is_known():
    counted = {"scope.kilns": 1, "element.count@kiln/1": 4, "element.reached_count@kiln/1": 2}
    found = states({**counted, f"event.reach{KILN}": "chamber"})

    assert [found[f"element/{number}"] for number in range(1, 5)] == ["submerged", "submerged", "dry", "dry"]
    assert states(counted)["element/3"] == "/".join(STATES)  # how far up it came is not known


@pytest.mark.parametrize(
    ("taken_back", "of"),
    [("identity.element_high", "element/2"), ("identity.element_low", "element/2"), ("event.water_line", "element/2"),
     ("identity.floor_under", "casing/base"), ("identity.probe_height", "probe/1"), ("event.water_line", "probe/1")],
)  # fmt: skip
def test_a_height_that_is_taken_back_dries_nothing_that_it_proved_wet(taken_back, of):
    """Who counts elements or looks at a probe sees no damp, and does not see what the line had covered."""
    looked = {
        f"element.reached_count{KILN}": 0,
        "probe.reached@kiln/1/probe/1": "dry",
        "casing.reached@kiln/1/casing/base": "dry",
    }
    told = {**HEIGHTS, f"event.water_line{KILN}": 620, f"identity.element_high{KILN}": 1010, **looked}
    before = states(told)[of]
    events = (*events_of(told), taking_back(f"{taken_back}{KILN}", len(told) + 2))
    known = wet_map(answers_at(events, NOW))
    (found,) = [one.states for one in known if one.at.endswith(of) and one.kind != "terminal"]

    assert before != "dry"
    assert STATES.index(found[0]) >= STATES.index(before.split("/")[0])


def taking_back(key, line):
    return Event(line, NOW.isoformat(), "A", "test", "answer", {"question": key, "state": "unknown"}, "")


@pytest.mark.parametrize("place", ["casing", "box"])
def test_water_from_above_may_have_reached_terminals_until_somebody_has_looked_at_them(place):
    above = {**HEIGHTS, f"event.above{KILN}": [place], f"element.reached_count{KILN}": 0}
    looked = {**above, f"element.terminals_reached{KILN}": "dry"}
    wet = {**above, f"element.terminals_reached{KILN}": "damp"}

    assert [states(one)["terminal/5"] for one in (above, looked, wet)] == ["dry/splashed", "dry", "damp"]


@pytest.mark.parametrize(
    "then", [{"value": None, "state": "unknown"}, {"question": f"event.above{KILN}", "value": ["none"]}]
)
def test_terminals_that_were_seen_under_water_stay_so(then):
    """Also where it is not known any more, or nothing is said to have come from above after all."""
    seen = {**HEIGHTS, f"event.above{KILN}": ["casing"], f"element.reached_count{KILN}": 0,
            f"element.terminals_reached{KILN}": "submerged"}  # fmt: skip
    data = {"question": f"element.terminals_reached{KILN}", "state": "given", "who": "A", "role": "repairer", **then}
    events = (*events_of(seen), Event(len(seen) + 2, NOW.isoformat(), "A", "test", "answer", data, ""))
    (found,) = [
        one.states for one in wet_map(answers_at(events, NOW)) if one.kind == "terminal" and one.at.endswith("/5")
    ]

    assert found[0] == "submerged"


def test_where_nobody_knows_how_far_the_water_came_it_may_have_been_over_the_kiln():
    """Neither a line nor a look makes anything dry then: what was under water can look dry weeks later."""
    unknown = {**HEIGHTS, f"event.reach{KILN}": None}

    assert states(unknown)["element/5"].endswith("/submerged")
    assert states({**unknown, f"element.reached_count{KILN}": 1})["element/5"].endswith("/submerged")
    assert states({**unknown, f"event.water_line{KILN}": None})["element/5"] == "/".join(STATES)


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


# ---------------------------------------------------------------------------------------- devices

DEVICE = "kiln/1/device/"
BOX = {
    "scope.kilns": 1, f"event.reach{KILN}": "base", f"event.water_line{KILN}": 430, f"event.above{KILN}": ["none"],
    f"identity.box_bottom{KILN}": 500, f"gear.reached{KILN}": "dry", f"safe.supply_reached{KILN}": "dry",
}  # fmt: skip


def device(name="door_switch", changed=None, **own):
    """Return the states of one device; `own` holds its place, height and look, `changed` answers about the kiln."""
    about = {f"gear.{question}@{DEVICE}{name}": value for question, value in own.items()}
    answers = answers_from({**BOX, f"gear.devices{KILN}": [name], **about, **(changed or {})})
    found = next(wet for wet in wet_map(answers) if wet.kind == "device")
    assert found.reason
    assert answers.fact("device_reached", f"{DEVICE}{name}") == set(found.states)
    return " ".join(found.states)


ANY = " ".join(STATES)


@pytest.mark.parametrize("name", ["door_switch", "cutout", "fan_motor", "solid_state", "socket"])
def test_a_dry_box_says_nothing_of_what_is_elsewhere_on_the_kiln(name):
    """Own rule: without a height and a look of its own it may be anything."""
    assert device(name, place="kiln") == ANY
    assert device(name, place="kiln", height=430) == "submerged"
    assert device(name, place="kiln", height=431) == "dry"


@pytest.mark.parametrize(
    ("reach", "state"), [("floor", "dry"), ("base", ANY), ("chamber", ANY), ("control", ANY), ("over", "submerged")]
)
def test_only_water_on_the_floor_or_over_the_kiln_settles_a_device_on_it(reach, state):
    assert device(place="kiln", changed={f"event.reach{KILN}": reach}) == state


@pytest.mark.parametrize(
    ("look", "height", "state"),
    [("dry", 430, "submerged"), ("dry", 431, "dry"), ("splashed", 431, "splashed"), ("damp", None, "damp")],
)
def test_a_look_at_a_device_wets_and_never_dries_below_the_line(look, height, state):
    own = {"height": height} if height else {}

    assert device(place="kiln", wet=look, **own) == state


def test_over_water_from_above_the_look_at_a_device_decides():
    above = {f"event.reach{KILN}": "floor", f"event.above{KILN}": ["casing"]}

    assert device(place="kiln", changed=above) == "dry splashed"
    assert device(place="kiln", wet="dry", changed=above) == "dry"
    assert device(place="kiln", wet="damp", changed=above) == "damp"
    assert device(place="box", changed={f"event.above{KILN}": ["box"]}) == "dry splashed"
    assert device(place="box", changed={f"event.above{KILN}": ["casing"]}) == "dry"


@pytest.mark.parametrize("said", STATES)
def test_what_hangs_in_the_box_is_as_wet_as_the_box_and_once_the_line_is_in_it_up_to_submerged(said):
    clear, at_its_edge = ({f"gear.reached{KILN}": said, f"event.water_line{KILN}": line} for line in (499, 500))

    assert device("contactor", place="box", changed=clear) == said
    assert device("contactor", place="box", changed=at_its_edge) == " ".join(STATES[STATES.index(said) :])


def test_a_height_in_a_box_that_was_reached_in_part_settles_what_hangs_in_it():
    reached = {f"gear.reached{KILN}": "submerged", f"event.water_line{KILN}": 640}

    assert device("contactor", place="box", height=600, wet="dry", changed=reached) == "submerged"
    assert device("contactor", place="box", height=900, wet="damp", changed=reached) == "damp"
    assert device("contactor", place="box", wet="damp", changed=reached) == "submerged"  # nobody measured it


@pytest.mark.parametrize("said", STATES)
def test_a_device_in_the_building_is_as_wet_as_the_supply(said):
    supply = {f"safe.supply_reached{KILN}": said}

    assert device("breaker", place="wall", changed=supply) == said
    assert device("breaker", place="wall", height=430, changed=supply) == "submerged"
    assert device("breaker", place="wall", height=1600, changed=supply) == " ".join(STATES[: STATES.index(said) + 1])
    assert device("breaker", place="wall", height=1600, wet="dry", changed=supply) == "dry"


def test_a_board_in_the_cellar_below_has_a_height_below_the_floor():
    assert device("breaker", place="wall", height=-1500) == "submerged"


def test_a_place_that_is_not_known_is_every_place_that_it_could_be():
    floor = {f"event.reach{KILN}": "floor"}

    assert device("contactor") == ANY
    assert device("contactor", changed=floor) == "dry"
    assert device("contactor", changed={**floor, f"gear.reached{KILN}": "splashed"}) == "dry splashed"
    assert device("contactor", changed={**floor, f"safe.supply_reached{KILN}": "damp"}) == "dry damp"


def test_an_older_answer_on_the_kiln_may_mean_in_the_box():
    """A fuse `on the kiln` once meant in or on it; it may have been in the box that water dripped into."""
    dripped = {f"event.reach{KILN}": "floor", f"gear.reached{KILN}": "splashed"}

    assert device("fuse", place="kiln", changed=dripped) == "dry splashed"
    assert device("fuse", place="kiln", wet="dry", changed=dripped) == "dry"
    assert device("door_switch", place="kiln", changed=dripped) == "dry"


LINES = [None, 0, 300, 430, 500, 700]
WORLDS = st.fixed_dictionaries({
    f"event.reach{KILN}": st.sampled_from([None, "floor", "base", "control", "over"]),
    f"event.water_line{KILN}": st.sampled_from(LINES),
    f"event.above{KILN}": st.sampled_from([None, ["none"], ["box"], ["casing"], ["lid", "chamber"]]),
    f"identity.box_bottom{KILN}": st.sampled_from(LINES),
    f"gear.reached{KILN}": st.sampled_from([None, *STATES]),
    f"safe.supply_reached{KILN}": st.sampled_from([None, *STATES]),
    "gear.place": st.sampled_from([None, "box", "kiln", "wall"]),
    "gear.height": st.sampled_from(LINES), "gear.wet": st.sampled_from([None, *STATES]),
})  # fmt: skip
WORSE = {
    f"event.reach{KILN}": [choice.id for choice in questionnaire().questions["event.reach"].choices],
    f"gear.reached{KILN}": STATES, f"safe.supply_reached{KILN}": STATES, "gear.wet": STATES,
    f"event.water_line{KILN}": LINES[1:], "gear.height": LINES[:0:-1], f"identity.box_bottom{KILN}": LINES[:0:-1],
}  # fmt: skip
OPTIONAL = {"gear.height", "gear.wet"}
MANY = cases(400)


def ends(world, name):
    """Return the mildest and the worst that a device may be; answers about it carry no address in `world`."""
    answered = {key if "@" in key else f"{key}@{DEVICE}{name}": value for key, value in world.items()}
    optional = {key for key, value in answered.items() if value is None and key.partition("@")[0] in OPTIONAL}
    given_answers = {key: value for key, value in answered.items() if key not in optional}
    states = wetness(answers_from({"scope.kilns": 1, f"gear.devices{KILN}": [name], **given_answers}), "device",
                     f"{DEVICE}{name}")  # fmt: skip
    places = [STATES.index(state) for state in (STATES if states is None else states)]
    return min(places), max(places)


@MANY
@given(WORLDS, st.sampled_from(sorted(WORSE)), st.sampled_from(["fuse", "door_switch"]), st.data())
def test_a_worse_line_height_box_supply_or_look_never_makes_a_device_milder(world, key, name, data):
    order = list(WORSE[key])
    if world[key] is None or world[key] == order[-1]:
        return
    worse = {**world, key: data.draw(st.sampled_from(order[order.index(world[key]) + 1 :]))}
    before, after = ends(world, name), ends(worse, name)

    assert after[0] >= before[0]
    assert after[1] >= before[1]


@MANY
@given(WORLDS, st.sampled_from(["fuse", "door_switch"]), st.data())
def test_not_knowing_never_lowers_the_worst_that_a_device_may_be(world, name, data):
    key = data.draw(st.sampled_from(sorted(set(world) - OPTIONAL)))
    before, after = ends(world, name), ends({**world, key: None}, name)

    assert after[0] <= before[0]
    assert after[1] >= before[1]


@pytest.mark.parametrize(
    ("own", "changed", "says"),
    [
        ({"place": "kiln", "height": 430, "wet": "dry"}, {}, "its lower edge"),
        ({"place": "kiln", "height": 431, "wet": "dry"}, {}, ""),
        ({"place": "kiln", "wet": "damp"}, {f"event.reach{KILN}": "over"}, "wholly under water"),
        ({"place": "wall", "wet": "splashed"}, {}, "the supply is said to be dry"),
        ({"place": "wall", "height": 430}, {}, "the supply is said to be dry"),
        ({"place": "wall", "height": 431, "wet": "dry"}, {}, ""),
        ({"place": "box"}, {f"identity.box_bottom{KILN}": 430}, "the box is said to be dry or damp"),
        ({"place": "box"}, {f"event.reach{KILN}": "floor", f"gear.reached{KILN}": "submerged"}, "stayed on the floor"),
        ({"place": "box"}, {f"identity.height{KILN}": 400}, "begins above the top"),
        ({"place": "box"}, {f"identity.height{KILN}": 400, f"identity.box_place{KILN}": "wall",
                            f"event.water_line{KILN}": 400}, ""),
    ],
)  # fmt: skip
def test_what_does_not_fit_about_a_device_is_said(own, changed, says):
    about = {f"gear.{question}@{DEVICE}breaker": value for question, value in own.items()}
    found = assessed({f"identity.height{KILN}": 1700, **BOX, f"gear.devices{KILN}": ["breaker"], **about, **changed})
    said = " ".join(problem.what for problem in found.problems)

    assert says in said
    assert bool(said) == bool(says)


@pytest.mark.parametrize(
    ("milliampere", "profile", "expected"),
    [
        *((ma, profile, expected) for profile in PROFILES if profile != "us"
          for ma, expected in [(30, "within"), (30.01, "over"), (300, "over"), (None, None)]),
        *((ma, "us", expected) for ma, expected in [(6, "within"), (6.01, "over"), (30, "over"), (None, None)]),
    ],
)  # fmt: skip
def test_a_device_rated_above_what_protects_people_protects_no_person(milliampere, profile, expected):
    """30 mA: IEC 60364-4-41, 411.3.3, own limit. In the USA 6 mA: what the UL 943 class A trips at, from memory."""
    answers = answers_from({f"energise.rcd_ma{KILN}": milliampere}, profile)

    assert answers.fact("rcd_rating", "kiln/1") == ({expected} if expected else {"within", "over"})


@pytest.mark.parametrize("profile", PROFILES)
@pytest.mark.parametrize(("ms", "expected"), [(300, "within"), (300.1, "over"), (900, "over"), (None, None)])
def test_a_device_that_trips_later_than_300_ms_is_too_slow(profile, ms, expected):
    """300 ms at rated residual current: IEC 61008, general type, from memory."""
    answers = answers_from({f"energise.rcd_ms{KILN}": ms, f"energise.rcd_ma{KILN}": 10}, profile)

    assert answers.fact("rcd_time", "kiln/1") == ({expected} if expected else {"within", "over"})


# ---------------------------------------------------------------------------------------- wires, cables, heights, words

WIRED = {
    **HEIGHTS, f"identity.box_bottom{KILN}": 500, f"identity.box_top{KILN}": 700, f"gear.reached{KILN}": "dry",
    f"wire.runs{KILN}": ["power", "supply_cord"], "wire.reached@kiln/1/wiring/power": "dry",
    "wire.reached@kiln/1/wiring/supply_cord": "dry", "probe.cable_reached@kiln/1/probe/1": "dry",
    "event.water_in": "2026-03-07T08:00:00+00:00",
}  # fmt: skip
ANYWHERE = {"dry", "damp", "length", "ends"}
BEFORE = {"measured": "2026-03-01T09:00:00+00:00"}


@pytest.mark.parametrize(
    ("run", "changed", "told", "may_be"),
    [
        ("power", {}, {}, {"dry"}), ("power", {"wire.reached@kiln/1/wiring/power": "damp"}, {}, {"damp"}),
        ("power", {f"event.water_line{KILN}": 499}, {}, {"dry"}),
        ("power", {f"event.water_line{KILN}": 600}, {}, ANYWHERE),
        ("power", {f"event.water_line{KILN}": 700}, {}, ANYWHERE),
        ("power", {f"event.water_line{KILN}": 700, f"gear.reached{KILN}": "submerged"}, {}, {"ends"}),
        ("power", {f"event.reach{KILN}": "over"}, {}, {"ends"}),
        ("power", {"wire.reached@kiln/1/wiring/power": "damp"}, BEFORE, {"damp", "length", "ends"}),
        ("supply_cord", {f"event.water_line{KILN}": 700}, {}, {"dry"}),
        ("supply_cord", {f"event.reach{KILN}": None}, {}, ANYWHERE),
        ("supply_cord", {f"event.reach{KILN}": "over"}, {}, {"ends"}),
    ],
)  # fmt: skip
def test_a_wire_is_wet_by_its_look_and_by_what_stood_in_the_box_where_it_ends(run, changed, told, may_be):
    """With the box under water to its upper edge the ends were wet; with the line in or above it they may have been."""
    key = f"wire.reached@kiln/1/wiring/{run}"

    assert answers_from({**WIRED, **changed}, told={key: told}).fact("wire_reached", f"kiln/1/wiring/{run}") == may_be


@pytest.mark.parametrize(
    ("line", "head", "may_be"),
    [(430, 600, {"dry"}), (430, 430, {"ends"}), (430, 431, {"dry"}), (None, 600, ANYWHERE), (430, None, ANYWHERE)],
)
def test_a_cable_is_wet_at_its_end_where_the_probe_stood_under_water(line, head, may_be):
    given = {**WIRED, f"event.water_line{KILN}": line, f"identity.probe_height{KILN}": head}

    assert answers_from(given).fact("cable_reached", "kiln/1/probe/1") == may_be


@pytest.mark.parametrize(
    ("low", "high", "count", "heights"),
    [
        (330, 810, 5, (330, 450, 570, 690, 810)), (330, 810, 1, (330,)), (330, None, 1, (330,)), (330, None, 2, ()),
        (None, 810, 5, ()), (330, 810, None, ()), (None, None, 1, ()),
    ],
)  # fmt: skip
def test_elements_are_spaced_evenly_from_the_lowest_to_the_highest(low, high, count, heights):
    given = {f"identity.element_low{KILN}": low, f"identity.element_high{KILN}": high, f"element.count{KILN}": count}

    assert element_heights_mm(answers_from({"scope.kilns": 1, **given}), "kiln/1") == heights


@pytest.mark.parametrize(("parts", "rise"), [(["wall", "floor"], 100), (["floor"], 0)])
def test_water_climbs_in_a_wall_and_where_there_is_none_nowhere(parts, rise):
    found = rise_mm(answers_from({**HEIGHTS, f"lining.parts{KILN}": parts}), "kiln/1")

    assert found == pytest.approx(rise, rel=0.2, abs=0.1)


def test_where_the_water_stayed_on_the_floor_its_line_may_be_nought():
    floor = {**HEIGHTS, f"event.reach{KILN}": "base", f"event.water_line{KILN}": 0}

    assert line_mm(answers_from(floor), "kiln/1") == 0


@pytest.mark.parametrize(
    ("changed", "of", "words"),
    [
        ({}, "kiln/1/element/1", "its lower edge is at 330 mm, the water line at 430 mm"),
        ({f"event.water_line{KILN}": None}, "kiln/1/element/1", "the water line"),
        ({f"identity.element_low{KILN}": None}, "kiln/1/element/1", "the height of its lower edge"),
        ({f"event.reach{KILN}": None, f"event.water_line{KILN}": 2000, f"identity.height{KILN}": 1700},
         "kiln/1/element/1", "its lower edge is at 330 mm, the water line at 2"),
        ({f"event.water_line{KILN}": 499}, "kiln/1/device/breaker", "above the line at 499 mm"),
        ({f"event.water_line{KILN}": 500}, "kiln/1/device/breaker", "the water line at 500 mm"),
    ],
)  # fmt: skip
def test_the_words_beside_a_state_name_the_heights_that_it_comes_of(changed, of, words):
    breaker = {f"gear.devices{KILN}": ["breaker"], "gear.place@kiln/1/device/breaker": "kiln",
               "gear.height@kiln/1/device/breaker": 500}  # fmt: skip
    reasons = {wet.at: wet.reason for wet in wet_map(answers_from({**WIRED, **breaker, **changed}))
               if wet.kind != "terminal"}  # fmt: skip

    assert words in reasons[of].replace("\u202f", " ")


def test_a_look_that_nothing_proves_any_more_may_have_been_any():
    """The journal is broken where somebody had seen the terminals under water."""
    seen = {**HEIGHTS, f"event.above{KILN}": ["casing"], f"element.reached_count{KILN}": 0,
            f"element.terminals_reached{KILN}": "submerged"}  # fmt: skip
    told = tuple(events_of(seen))
    why = {"why": "broken", "files": {}, "unproved": len(told), "doubtful": [len(told)]}
    events = (*told, Event(len(told) + 1, NOW.isoformat(), "A", "check", "set_aside", why, ""))
    (found,) = [
        one.states for one in wet_map(answers_at(events, NOW)) if one.kind == "terminal" and one.at.endswith("/5")
    ]

    assert found == STATES


def test_an_older_look_that_is_told_late_dries_no_terminal():
    looked = {**HEIGHTS, f"event.above{KILN}": ["casing"], f"element.reached_count{KILN}": 0,
              f"element.terminals_reached{KILN}": "submerged"}  # fmt: skip
    old = {
        "question": f"element.terminals_reached{KILN}",
        "state": "given",
        "value": "dry",
        "measured": "2026-03-09T09:00+00:00",
    }
    events = (*events_of(looked), Event(len(looked) + 2, NOW.isoformat(), "A", "test", "answer", old, ""))
    (found,) = [
        one.states for one in wet_map(answers_at(events, NOW)) if one.kind == "terminal" and one.at.endswith("/5")
    ]

    assert found == ("submerged",)
