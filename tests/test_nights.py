"""Days and nights from outside: an enclosure's air, a chamber that floats, the air of the room, boards out and in."""

from dataclasses import replace

import numpy as np
import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from recover.base.errors import QuantityError
from recover.physics.air import ATMOSPHERE_PA, Air, saturation_line
from recover.physics.around import Around
from recover.physics.drying import PATIENT, Pace
from recover.physics.ensemble import Draws, carried, resume, stretch
from recover.physics.grid import ROUGH
from recover.physics.lining import Layer, LayerStack
from recover.physics.room import RoomAir
from recover.physics.staged import Heating, setups_of
from recover.physics.stages import stages
from recover.physics.wall import Chamber, Course, Room, Setup, Wall, WallLayer
from recover.plan.outside import Stood, run_day
from recover.plan.ways import way
from recover.schedule.heated import BRISK
from tests import plans
from tests.conftest import cases
from tests.small_kiln import taken
from tests.walls import BRICK, DENSE, HOT, INSULATING, OPEN, TIGHT, front_loader

SLOW = Pace(14400.0, 30.0, 0.5)
DAY, NIGHT = np.arange(0, 12.1, 0.25), np.arange(0, 12.1, 1.0)
ROOM = 0.0115
"""Mole fraction of vapour in a room of 20 °C and half its humidity."""

BOARDS = (("wall", 1), ("door", 1), ("lid", 1), ("floor", 1))
FRESH_MOL_S = ATMOSPHERE_PA / 8.314 / 293.15 / 3600
"""Of a cubic metre of fresh air an hour, at 20 °C."""

psychrolib.SetUnitSystem(psychrolib.SI)


def box(**more):
    """A front-loader of 114 mm brick and 75 mm board, its boards soaked too."""
    asked = {"casing": "loosened", "opening": "forced", "draws": 4, "power_kw": None, **more}
    return Heating(
        lining=front_loader(), stages=stages("ifb_board"), room_degc=15.0, room_vapour=ROOM, **asked
    )  # fmt: skip


def packed(walls, pace=SLOW, **more):
    """Return one draw of walls around a chamber, ready to run."""
    return Draws.of([Setup(walls, Course.steady(15.0), start_degc=15.0, **more)], ROUGH, pace)


def wet_kiln(layers=INSULATING, area_m2=3.0, vent_m3_h=20.0, cold=OPEN, pace=SLOW):
    wall = Wall(layers, HOT, cold, area_m2=area_m2)
    return packed((wall,), pace, chamber=Chamber(vent_m3_h=vent_m3_h))


def enclosure(degc=50.0, m3_h=30.0, room_degc=15.0, vapour=ROOM):
    """An enclosure that is warm half an hour after it opens."""
    warm = Course((0.0, 0.5), (room_degc, degc))
    return Around(room_degc=Course.steady(room_degc), room_vapour=vapour, chamber_degc=warm, enclosed_m3_h=m3_h)


def opened(room_degc=15.0, falls_k=4.0, vapour=ROOM):
    """A room that falls over four hours, the enclosure open to it."""
    return Around(room_degc=Course((0.0, 4.0), (room_degc, room_degc - falls_k)), room_vapour=vapour)


# ---------------------------------------------------------------------------------------- an enclosure's air


def vapour_out_kg(did, m3_h, vapour=ROOM):
    """What fresh air of a known flow takes up on its way, by what the air holds, hour by hour [kg]: a hand balance."""
    taken = did.around_vapour / (1 - did.around_vapour) - vapour / (1 - vapour)
    return np.trapezoid(m3_h * FRESH_MOL_S * 3600 * (1 - vapour) * taken * 0.018015, did.hours)


@pytest.mark.parametrize("m3_h", [5.0, 30.0, 200.0])
def test_what_an_enclosures_air_takes_up_is_what_the_kiln_loses(m3_h):
    kiln = wet_kiln(pace=Pace(longest_s=60.0))
    _, warm = stretch(kiln, kiln.begin(), enclosure(m3_h=m3_h), [0, 2])
    steady = replace(enclosure(m3_h=m3_h), chamber_degc=Course.steady(50.0))
    did, _ = stretch(kiln, warm, steady, DAY)

    assert vapour_out_kg(did, m3_h) == pytest.approx(did.water_kg[:, 0] - did.water_kg[:, -1], rel=0.01)
    assert (did.around_vapour == did.chamber_vapour).all()


@pytest.mark.parametrize("m3_h", [0.0, 1e-6, 0.1, 3.0, 1e4])
def test_an_enclosures_air_holds_no_more_than_air_of_its_warmth_can_whatever_is_taken_out(m3_h):
    kiln = wet_kiln()
    did, _ = stretch(kiln, kiln.begin(), enclosure(m3_h=m3_h), DAY)

    assert (did.around_vapour[:, 2:] <= saturation_line(50.0)[0] / ATMOSPHERE_PA).all()
    assert (np.diff(did.water_kg, axis=1) <= 1e-3).all()


def test_an_enclosure_with_endless_air_is_a_kiln_in_warm_room_air():
    vapour, warm = 0.02, Course((0.0, 0.5), (15.0, 50.0))
    kiln = wet_kiln()
    blown, _ = stretch(kiln, kiln.begin(), enclosure(m3_h=1e6, vapour=vapour), DAY)
    setup = replace(
        kiln.setups[0], chamber=Chamber(vapour_share=vapour), room=Room(warm, vapour), course=warm
    )  # fmt: skip
    given_air = Draws.of([setup], ROUGH, SLOW)
    stands, _ = resume(given_air, given_air.begin(), warm, DAY)

    assert blown.water_kg == pytest.approx(stands.water_kg, rel=1e-3)
    assert blown.casing_degc == pytest.approx(stands.casing_degc, abs=0.2)


def test_more_air_taken_out_dries_more_and_takes_more_heat():
    kiln = wet_kiln()
    runs = [stretch(kiln, kiln.begin(), enclosure(m3_h=m3_h), DAY)[0] for m3_h in (1.0, 10.0, 30.0, 100.0)]

    assert np.all(np.diff([did.water_kg[0, -1] for did in runs]) < 0)
    assert np.all(np.diff([did.heater_kwh[0, -1] for did in runs]) > 0)


def test_a_weak_heater_leaves_its_enclosure_cooler_and_gives_all_it_has():
    kiln = wet_kiln()
    strong, weak = (
        stretch(kiln, kiln.begin(), replace(enclosure(), power_kw=power_kw), DAY)[0] for power_kw in (5.0, 0.5)
    )

    assert strong.chamber_degc[0, 4:] == pytest.approx(50, abs=0.1)
    assert (weak.chamber_degc[0, 4:] < 40).all()
    assert weak.heater_kwh[0, -1] == pytest.approx(6.0, rel=0.01)
    assert weak.water_kg[0, -1] > strong.water_kg[0, -1]


def test_an_enclosure_is_the_same_in_steps_of_first_order_and_of_second():
    quick, patient = (wet_kiln(pace=pace) for pace in (SLOW, PATIENT))
    runs = [stretch(kiln, kiln.begin(), enclosure(), DAY)[0] for kiln in (quick, patient)]

    assert runs[0].water_kg == pytest.approx(runs[1].water_kg, rel=1e-2)
    assert runs[0].heater_kwh[0, -1] == pytest.approx(runs[1].heater_kwh[0, -1], rel=1e-2)


# ---------------------------------------------------------------------------------------- heat, by hand


def dry_kiln(kg=450.0):
    """Brick of 114 mm that weighs so much."""
    layer = WallLayer(114.0, replace(BRICK, cp0_j_kgk=920.0))
    return packed((Wall((layer,), HOT, TIGHT, area_m2=kg / (0.114 * BRICK.density_kg_m3)),))


def test_450_kg_of_lining_take_four_kilowatt_hours_to_warm_by_35_k_each_morning():
    """450 kg at 0.9 kJ/kgK: common practice, a sum by hand."""
    kiln = dry_kiln()
    did, _ = stretch(kiln, kiln.begin(), enclosure(m3_h=0.0), [0, 48])

    assert did.heater_kwh[0, -1] == pytest.approx(4.0, rel=0.15)


def test_air_that_is_taken_out_warm_costs_its_flow_by_its_rise():
    """30 m³/h of 1.2 kg/m³ and 1.005 kJ/kgK, 35 K warmer: 0.35 kW."""
    kiln = dry_kiln()
    _, warm = stretch(kiln, kiln.begin(), enclosure(), [0, 96])
    steady = replace(enclosure(), chamber_degc=Course.steady(50.0))
    did, _ = stretch(kiln, warm, steady, [0, 12])

    assert did.heater_kwh[0, -1] / 12 == pytest.approx(30 * 1.2 * 1.005 * 35 / 3600, rel=0.05)


def test_an_enclosures_heat_is_what_warms_evaporates_and_blows_out():
    """Exhaust, 0.68 kWh/kg for what evaporates at 50 °C (steam tables), and the warmth of a lining and its water."""
    area_m2 = 3.0
    kiln = wet_kiln(area_m2=area_m2)
    did, _ = stretch(kiln, kiln.begin(), enclosure(), [0, 36])
    gone_kg = did.water_kg[0, 0] - did.water_kg[0, -1]
    dry_j_k = sum(one.thickness_mm / 1000 * one.matter.density_kg_m3 * one.matter.cp0_j_kgk for one in INSULATING)
    warmed_kwh = (area_m2 * dry_j_k + 4186 * did.water_kg[0, -1]) * 30 / 3.6e6  # wet, it stays below 50 °C
    exhaust_kwh = 36 * 30 * 1.2 * 1.005 * 35 / 3600

    assert did.heater_kwh[0, -1] == pytest.approx(exhaust_kwh + 0.66 * gone_kg + warmed_kwh, rel=0.15)


# ---------------------------------------------------------------------------------------- nights


def test_a_chamber_without_heat_floats_down_to_its_room_and_takes_no_energy():
    kiln = wet_kiln()
    _, warm = stretch(kiln, kiln.begin(), enclosure(), DAY)
    night, cool = stretch(kiln, warm, opened(), NIGHT)
    chamber = night.chamber_degc[0]

    assert night.heater_kwh.max() == 0
    assert np.all(np.diff(chamber) < 0)
    assert chamber[0] == pytest.approx(50, abs=0.1)
    assert chamber[-1] == pytest.approx(11, abs=4)
    assert (night.around_vapour == ROOM).all()
    morning, _ = stretch(kiln, cool, enclosure(), DAY)
    assert morning.chamber_degc[0, 0] == pytest.approx(chamber[-1])  # it goes on from where it stands


def test_a_kiln_that_stood_warm_all_day_is_not_wetter_in_the_morning():
    """As was seen: 44.4, 41.5, and 46.3 kg again after a night in air that kept the vapour of a warm one."""
    kiln = box()
    draws = Draws.of(setups_of(kiln), ROUGH, SLOW)
    standing, kg = draws.begin(), [np.inf]
    for _ in range(3):
        for around, hours in ((enclosure(), DAY), (opened(), NIGHT)):
            did, standing = stretch(draws, standing, around, hours)
            kg.append(did.water_kg[:, -1].mean())

    assert np.all(np.diff(kg) < 0)


rooms = st.fixed_dictionaries({
    "room_degc": st.floats(8, 30), "falls_k": st.floats(0, 8), "percent": st.floats(20, 100),
})  # fmt: skip
enclosed_m3_h, warms_k, open_shares = st.floats(0, 200), st.floats(5, 40), st.sampled_from([TIGHT, OPEN])
linings = st.sampled_from([INSULATING, DENSE])
first_shares = st.sampled_from([0.0, 0.02, 0.3, 1.0])


@cases(12)
@given(rooms, enclosed_m3_h, warms_k, st.sampled_from([0.5, 3.0, 15.0, 40.0]), linings, open_shares, first_shares)
def test_no_way_from_outside_makes_a_kiln_wetter_over_a_day_than_the_air_of_its_room_could(
    room, m3_h, warms_k, vent_m3_h, layers, cold, share
):
    coldest = room["room_degc"] - room["falls_k"]
    vapour = room["percent"] / 100 * saturation_line(coldest)[0] / ATMOSPHERE_PA
    held = tuple(replace(one, water_kg_m3=share * one.water_kg_m3) for one in layers)
    kiln = packed((Wall(held, HOT, cold, area_m2=2.0),), chamber=Chamber(vent_m3_h=vent_m3_h))
    warm = enclosure(room["room_degc"] + warms_k, m3_h, room["room_degc"], vapour)
    night = opened(room["room_degc"], room["falls_k"], vapour)
    did, standing = stretch(kiln, kiln.begin(), warm, [0, 12])
    after, _ = stretch(kiln, standing, night, [0, 12])
    by_day = Around(  # with as much of its air
        room_degc=Course.steady(room["room_degc"]), room_vapour=vapour, vent_m3_h=max(vent_m3_h, m3_h)
    )  # fmt: skip
    _, meanwhile = stretch(kiln, kiln.begin(), by_day, [0, 12])
    stood, _ = stretch(kiln, meanwhile, night, [0, 12])

    begun = did.water_kg[0, 0]
    assert after.water_kg[0, -1] <= max(begun, stood.water_kg[0, -1]) + 2e-3


# ---------------------------------------------------------------------------------------- the room


def room(**more):
    asked = {
        "day_degc": 15.0, "night_degc": 11.0, "outside": Air(10, 80), "air_m3_h": 250.0, "dehumidifier_l_day": 20.0,
        "read": Air(15, 60), **more,
    }  # fmt: skip
    return RoomAir(**asked)


def ratio_of(share):
    """Vapour by dry air, of a mole fraction."""
    return 0.62198 * share / (1 - share)


def test_250_m3_an_hour_at_four_grams_and_20_litres_a_day_take_two_kilograms_an_hour():
    """250 x 1.23 x 0.004 + 20/24 = 2.06 kg/h: common practice, a sum by hand."""
    warm = room(day_degc=25.0, night_degc=20.0)
    still, drying = (ratio_of(float(warm.vapour_share(kg_h))) for kg_h in (20 / 24, 2.06))

    assert drying - still == pytest.approx(0.004, rel=0.15)


@pytest.mark.parametrize(("degc", "percent"), [(10, 80), (20, 50), (25, 90)])
def test_a_room_as_damp_as_outside_has_the_vapour_of_the_handbook(degc, percent):
    """ASHRAE Handbook Fundamentals (2017), ch. 1, by psychrolib."""
    air = Air(degc, percent)
    found = room(outside=air, read=air, day_degc=30.0, night_degc=28.0, dehumidifier_l_day=0.0).vapour_share(0.0)

    assert ratio_of(found) == pytest.approx(psychrolib.GetHumRatioFromRelHum(degc, percent / 100, 101325), rel=3e-3)


def test_a_room_is_never_damper_than_saturated_at_its_coldest():
    """ASHRAE Handbook Fundamentals (2017), ch. 1, by psychrolib."""
    damp = room(air_m3_h=0.0, dehumidifier_l_day=0.0).vapour_share(0.5)

    assert ratio_of(damp) == pytest.approx(psychrolib.GetSatHumRatio(11.0, 101325), rel=3e-3)


@given(st.floats(0, 3), st.floats(0, 500), st.floats(0, 60), st.floats(0, 100), st.floats(5, 25), st.floats(0, 8))
def test_a_room_lies_between_outside_and_saturated_and_grows_damper_with_what_a_kiln_gives(
    kg_h, air_m3_h, l_day, percent, degc, falls_k
):
    outside = Air(10, 70)
    one = room(
        day_degc=degc, night_degc=max(degc - falls_k, 0.0), air_m3_h=air_m3_h, dehumidifier_l_day=l_day,
        outside=outside, read=Air(degc, percent),
    )  # fmt: skip
    less, more = one.vapour_share(np.array([kg_h, kg_h + 0.1]))
    saturated = saturation_line(one.night_degc)[0] / ATMOSPHERE_PA

    assert min(outside.vapour_share, saturated) <= less * (1 + 1e-9)
    assert less <= more <= saturated * (1 + 1e-9)


def test_what_a_kiln_gives_is_what_air_and_dehumidifier_take_out_of_its_room():
    """The balance of room and kiln together: the room as damp as the kiln's vapour makes it, in a few rounds."""
    kiln, around = wet_kiln(area_m2=6.0), room(air_m3_h=200.0, dehumidifier_l_day=2.0, night_degc=15.0)
    kg_h = 0.1
    for _ in range(8):
        vapour = around.vapour_share(kg_h)
        steady = Around(room_degc=Course.steady(15.0), room_vapour=float(vapour), chamber_degc=Course.steady(40.0))
        _, warm = stretch(kiln, kiln.begin(), steady, [0, 12])
        did, _ = stretch(kiln, warm, steady, [0, 24])
        kg_h = float(did.water_kg[0, 0] - did.water_kg[0, -1]) / 24
    dry_kg_h = 200.0 * around.outside.dry_kg_m3
    carried_kg_h = dry_kg_h * (ratio_of(vapour) - around.read.humidity_ratio) + 2 / 24

    assert kg_h > 0.1
    assert carried_kg_h == pytest.approx(kg_h, rel=0.02)


def test_a_room_with_its_fan_and_dehumidifier_off_is_as_damp_as_what_comes_in_by_itself_leaves_it():
    """Nobody is there at night, and nothing runs on."""
    cared_for, shut = room(air_m3_h=250.0, dehumidifier_l_day=20.0), room(air_m3_h=20.0, dehumidifier_l_day=0.0)
    assert cared_for.vapour_share(0.05) < cared_for.unattended.vapour_share(0.05) == shut.vapour_share(0.05)
    assert shut.unattended == shut


def test_the_rooms_machines_dry_it_while_somebody_is_there_and_not_by_night():
    of = taken()
    cared_for = replace(of, room=replace(of.room, air_m3_h=250.0, dehumidifier_l_day=20.0))
    begun = replace(Stood.begin(drawn(of.heating)), gave_kg_h=np.full(of.heating.draws, 0.05))
    (_, day), (_, by_night) = run_day(way("air"), cared_for, begun, 11.5)[1]
    (_, alone), (_, without) = run_day(way("air"), of, begun, 11.5)[1]
    assert np.all(day.room_vapour < alone.room_vapour)
    assert np.all(by_night.room_vapour >= 0.9 * without.room_vapour)


def test_a_room_nobody_knows_of_has_little_air_and_no_dehumidifier_and_falls_at_night():
    found = RoomAir.of(Air(15, 70), Air(2, 90), None, None)

    assert (found.air_m3_h, found.dehumidifier_l_day, found.night_degc) == (20, 0, 11)
    assert RoomAir.of(Air(2, 70), Air(14, 80), 100.0, 20.0).night_degc == 0  # no drying is counted below


def test_a_room_and_its_outside_lie_at_one_height():
    with pytest.raises(QuantityError, match="one height"):
        room(read=Air(15, 60).at(2000.0))


# ---------------------------------------------------------------------------------------- boards out, boards in


def drawn(heating):
    return Draws.of(setups_of(heating), ROUGH, SLOW)


def test_a_draw_is_the_same_kiln_with_its_boards_as_found_out_or_new():
    found, out, new = (setups_of(one) for one in (box(), box(out=BOARDS), box(new=BOARDS)))
    assert [wall.name for wall in found[0].walls] == [wall.name for wall in out[0].walls]
    for before, meanwhile, after in zip(found, out, new, strict=True):
        for was, bare, again in zip(before.walls, meanwhile.walls, after.walls, strict=True):
            assert (was.area_m2, was.layers[:1]) == (bare.area_m2, bare.layers) == (again.area_m2, again.layers[:1])
            assert again.layers[1] == replace(was.layers[1], water_kg_m3=0.0)
            assert bare.cold.openness >= 0.3
            assert was.layers[1].water_kg_m3 > 0


def test_boards_that_leave_take_their_water_and_brick_keeps_its_own():
    as_found, out, new = drawn(box()), drawn(box(out=BOARDS)), drawn(box(new=BOARDS))
    before, standing = stretch(as_found, as_found.begin(), opened(), [0, 24])
    bare = carried(as_found, standing, out)
    meanwhile, dried = stretch(out, bare, enclosure(), [0, 24 * 5])
    after, _ = stretch(new, carried(out, dried, new), opened(), [0, 24 * 5])
    brick = np.arange(0, as_found.setups[0].walls.__len__() * 2, 2)

    assert meanwhile.layer_kg[:, 0] == pytest.approx(before.layer_kg[:, -1, brick], rel=5e-3, abs=1e-4)
    assert after.layer_kg[:, 0, brick] == pytest.approx(meanwhile.layer_kg[:, -1], rel=5e-3, abs=1e-4)
    assert after.layer_kg[:, 0, brick + 1].max() < 1e-3
    assert after.layer_kg[:, -1, brick + 1].sum() > 0.02  # new board draws water out of damp brick


def test_brick_dries_sooner_from_both_faces_while_its_boards_are_out():
    left = []
    for one in (box(new=BOARDS), box(out=BOARDS)):
        draws = drawn(one)
        did, _ = stretch(draws, draws.begin(), enclosure(), [0, 24 * 7])
        left.append(did.left[:, -1])

    assert (left[1] < left[0]).all()


def test_the_layers_of_a_hot_face_are_not_taken_out_nor_those_that_are_not_there():
    for number in (0, 2):
        with pytest.raises(QuantityError, match="layer behind the hot face"):
            box(out=(("wall", number),))


def test_draws_are_carried_to_the_same_walls_only():
    one, other = drawn(box()), drawn(replace(box(), lining=front_loader(thin_floor=True)))
    with pytest.raises(QuantityError, match="carried"):
        carried(one, one.begin(), drawn(box(draws=5)))
    with pytest.raises(QuantityError, match="carried"):
        carried(one, one.begin(), other)


# ---------------------------------------------------------------------------------------- what is not taken, and alike


def test_an_enclosure_is_told_what_it_is_kept_at_and_has_one_air():
    with pytest.raises(QuantityError, match="no chamber_degc"):
        Around(room_degc=Course.steady(50.0), room_vapour=ROOM, enclosed_m3_h=30.0)
    with pytest.raises(QuantityError, match="one air"):
        replace(enclosure(), vent_m3_h=3.0)
    with pytest.raises(QuantityError, match="0 or more"):
        replace(enclosure(), enclosed_m3_h=-1.0)


def test_a_vapour_for_each_draw_is_one_for_each():
    draws = drawn(box())
    damper = np.linspace(0.005, 0.02, 4)
    did, _ = stretch(draws, draws.begin(), opened(vapour=damper), [0, 12])
    assert (did.around_vapour[:, -1] == damper).all()
    with pytest.raises(QuantityError, match="room_vapour"):
        stretch(draws, draws.begin(), opened(vapour=damper[:3]), [0, 12])


def test_walls_that_are_alike_are_run_once_and_nothing_is_changed_by_it():
    apart, compact = box(), box()
    whole, joint = (
        Draws.of(setups_of(one, compact=so), ROUGH, SLOW) for one, so in ((apart, False), (compact, True))
    )  # fmt: skip
    names = [wall.name for wall in joint.setups[0].walls]
    runs = [stretch(draws, draws.begin(), enclosure(), DAY)[0] for draws in (whole, joint)]

    assert names[0] == "wall and door"
    assert len(names) < len(whole.setups[0].walls)
    assert runs[1].water_kg == pytest.approx(runs[0].water_kg, rel=1e-9)
    assert runs[1].heater_kwh == pytest.approx(runs[0].heater_kwh, rel=1e-9)
    assert sum(wall.area_m2 for wall in joint.setups[0].walls) == pytest.approx(
        sum(wall.area_m2 for wall in whole.setups[0].walls)
    )


# ---------------------------------------------------------------------------------------- a dry wall beside a wet one


def test_a_dry_lid_may_become_as_cool_as_the_wet_wall_makes_the_air_between_them():
    """A fan draws dry air of 10 °C through: evaporation cools the chamber, and a lid that heats and cools alone."""
    wet = plans.kiln(opening="forced")
    lid = LayerStack("lid", (Layer("ifb_23", 40.0, "dry", 400.0),))
    both = replace(wet.lining, stacks=(*wet.lining.stacks, lid))
    made = Draws.of(setups_of(replace(wet, lining=both, room_degc=10.0, room_vapour=0.004, draws=8)), ROUGH, BRISK)
    fresh = Around(room_degc=Course.steady(10.0), room_vapour=0.004)
    did, _ = stretch(made, made.begin(), fresh, [0.0, 24.0])

    assert any(not one.kiln.coupled.all() for one in made.packed)
    assert (did.chamber_degc[:, -1] < 10).all()
    assert (did.chamber_degc > 0).all()
