"""What is said at once of a reading of the log: within its band, outside and what that means, or stop."""

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from recover.asked.told import Logged
from recover.base.errors import AnswerError
from recover.plan.answered import answer
from recover.plan.due import due, of_the_sheet
from recover.plan.kinds import OF_ITS_WET_WEIGHT, kind_named, kinds, read_typed
from recover.plan.whole import Expected
from recover.report.words import words
from tests import sample_plan

pytestmark = pytest.mark.quick

KILN = sample_plan.planned()
OUTSIDE = next(day for day in KILN.days if day.phase == "outside" and day.readings)
OWN = next(day for day in KILN.days if day.phase == "own" and day.runs)
JOB = Path("job")


def said(what, value=None, at=None, unit="°C", log=(), kiln=KILN, **more):
    at = at or sample_plan.moment(OUTSIDE.date, 10)
    one = Logged(line=9, by="A", kiln=KILN.kiln, what=what, measured=at, value=value, unit=unit, **more)
    return answer(one, kiln, log, JOB)


def casing(value, **more):
    return said("casing", value, place=sample_plan.CASING, **more)


# ---------------------------------------------------------------------------------------- a reading


def test_within_its_band_that_alone_is_said():
    assert casing(41.0).lines == ("41 °C: within 36 to 48 °C.",)


@pytest.mark.parametrize(
    ("value", "head", "means"),
    [
        (30.0, "30 °C: below 36 to 48 °C.", "the wall behind may hold more water"),
        (50.0, "50 °C: above 36 to 48 °C.", "the wall behind may already be dry there"),
    ],
)
def test_outside_it_what_that_means_is_said(value, head, means):
    found = casing(value)
    assert found.lines[0] == head
    assert means in found.lines[1]
    assert not found.stops


@pytest.mark.parametrize(("value", "edge", "lies"), [
    (48.0, 47.6, "within"), (48.0, 48.4, "within"), (48.3, 48.4, "above"),
])  # fmt: skip
def test_a_reading_that_is_printed_like_the_edge_of_its_band_is_within_it(value, edge, lies):
    """A band of 47.6 is told as 48 °C: 48 °C is none above it, and 48.3 °C is one above what was told."""
    readings = tuple(replace(one, high=edge, stop=None) if one.what == "casing" else one for one in OUTSIDE.readings)
    days = tuple(replace(day, readings=readings) if day == OUTSIDE else day for day in KILN.days)
    found = casing(value, kiln=replace(KILN, days=days))
    assert found.against.lies == lies
    assert f"{value:g} °C" in found.lines[0]


def test_where_a_day_ends_is_never_told_higher_than_it_is():
    readings = tuple(replace(one, stop=54.6) if one.what == "casing" else one for one in OUTSIDE.readings)
    days = tuple(replace(day, readings=readings) if day == OUTSIDE else day for day in KILN.days)
    assert casing(54.5, kiln=replace(KILN, days=days)).lines[0].endswith("54.5 °C: beyond 54 °C, where this day ends.")


def test_water_that_was_caught_on_a_way_that_catches_none_is_said_to_be_no_draws():
    readings = tuple(one for one in OUTSIDE.readings if one.what != "litres")
    days = tuple(replace(day, readings=readings) if day == OUTSIDE else day for day in KILN.days)
    bare, told = replace(KILN, days=days), "This way catches no water"

    assert any(line.startswith(told) for line in said("litres", 3.0, unit="l", kiln=bare).lines)
    assert not any(line.startswith(told) for line in said("litres", 0.0, unit="l", kiln=bare).lines)
    assert not any(line.startswith(told) for line in said("litres", 3.0, unit="l").lines)


def test_so_little_water_that_no_vessel_tells_it_is_not_below_its_band():
    readings = tuple(replace(one, low=0.03) if one.what == "litres" else one for one in OUTSIDE.readings)
    days = tuple(replace(day, readings=readings) if day == OUTSIDE else day for day in KILN.days)
    found = said("litres", 0.0, unit="l", kiln=replace(KILN, days=days))
    assert found.lines == ("0 l: within less than 0.1 to 2.9 l.",)


def test_beyond_its_stop_the_day_ends_and_where_it_is_switched_off_is_said():
    found = casing(56.0)
    assert found.stops
    assert found.lines[0] == "STOP, hands off. 56 °C: beyond 55 °C, where this day ends."
    assert found.lines[1] == f"Off: {sample_plan.HEATER_OFF}."


def test_where_no_switch_is_named_that_is_said_and_none_is_made_up():
    days = tuple(replace(day, off_switch=None) if day == OUTSIDE else day for day in KILN.days)
    assert "not said in the plan" in casing(56.0, kiln=replace(KILN, days=days)).lines[1]


def test_degrees_fahrenheit_taken_for_celsius_are_noticed():
    """106 °F is 41 °C."""
    assert "Told as °F it would fit" in casing(106.0).lines[-1]
    assert "recover log job --take-back 9 --note 'a slip: the meter told it in °F', and read" in casing(106.0).lines[-1]
    assert not [line for line in casing(70.0).lines if "would fit" in line]


def test_a_share_taken_for_per_cent_is_noticed():
    """0.21 of one is 21 %."""
    assert "was it told as a share of one, 21 %?" in said("exhaust", 0.21, unit="%").lines[-1]


@pytest.mark.parametrize("hour", [3, 10, 21])
@pytest.mark.parametrize("what", ["exhaust", "inlet", "room"])
def test_it_is_noticed_of_every_air_at_every_hour(what, hour):
    at = sample_plan.moment(OUTSIDE.date, hour)

    assert "was it told as a share of one, 12 %?" in said(what, 0.12, at, "%").lines[-1]
    for dry in (0.0, 2.0, 12.0):
        assert not any("a share of one" in line for line in said(what, dry, at, "%").lines)


def test_two_airs_never_have_the_same_label():
    read = words().day.read

    assert len(set(read.values())) == len(read)
    assert len({kind.label for kind in kinds().values()}) == len(kinds())


def before(what, value, unit, hours=24.0, at=None, **more):
    at = at or sample_plan.moment(OUTSIDE.date, 10)
    return Logged(line=3, by="A", kiln=KILN.kiln, what=what, measured=at - timedelta(hours=hours), value=value,
                  unit=unit, **more)  # fmt: skip


@pytest.mark.parametrize(("value", "leaps"), [(2.05, False), (2.12, False), (2.2, True), (1.4, True), (0.95, True)])
def test_a_piece_that_leaps_between_two_weighings_asks_for_scale_and_piece(value, leaps):
    """After 2.1 kg a day before: another scale, another piece, another unit."""
    eight = OUTSIDE.attended_from
    lines = said("piece", value, eight, "kg", [before("piece", 2.1, "kg", at=eight)]).lines
    assert any("on the same scale, in the same unit?" in line for line in lines) is leaps


def of_casing(value, hour, place=sample_plan.CASING, what="casing", **more):
    at = sample_plan.moment(OUTSIDE.date, hour)
    told = {"line": 5, "by": "A", "kiln": KILN.kiln, "what": what, "measured": at, "place": place, "unit": "°C"}
    return Logged(**(told | {"value": value} | more))


ROOM_AT_6 = of_casing(60.0, 8, place="", what="room", unit="%", details={"degc": 6.0})


@pytest.mark.parametrize(("value", "log", "leaps"), [
    (1.03, [of_casing(41.0, 9)], True), (1.03, [of_casing(41.0, 9, place="lid")], True), (1.03, [], False),
    (30.0, [of_casing(41.0, 9)], False), (16.0, [of_casing(41.0, 8), of_casing(18.0, 7)], False),
    (1.03, [ROOM_AT_6, of_casing(41.0, 9)], False), (0.5, [ROOM_AT_6, of_casing(41.0, 9)], True),
])  # fmt: skip
def test_a_casing_far_colder_than_it_was_and_than_its_room_is_no_wetter_wall(value, log, leaps):
    """A weight that was typed in the row of the casing; a morning after a cold night is none."""
    lines = casing(value, log=log).lines
    assert any("a leap. No wall cools so far below its room" in line for line in lines) is leaps
    assert any("the wall behind may hold more water" in line for line in lines) is not leaps


def by_mornings(first=(0.98, 1.03, 1.07), then=(0.94, 0.99, 1.04)):
    """A kiln whose piece weighs so on the first morning, and so on the next."""
    days = list(KILN.days)
    for number, (low, mid, high) in enumerate((first, then)):
        readings = tuple(replace(one, low=low, mid=mid, high=high) if one.what == "piece" else one
                         for one in days[number].readings)  # fmt: skip
        days[number] = replace(days[number], readings=readings)
    return replace(KILN, days=tuple(days))


def weighed(value, hour, kiln=None, **more):
    at = sample_plan.moment(KILN.days[0].date, hour)
    log = [before("piece", 1.033, "kg", hour - 8, at=at)]
    return said("piece", value, at, "kg", log, kiln=kiln or by_mornings(), **more)


@pytest.mark.parametrize(("value", "hour", "lies"), [
    (0.9, 14, "below"), (0.95, 14, "below"), (0.97, 14, "within"), (1.0, 14, "within"), (1.055, 14, "within"),
    (1.07, 14, "above"), (0.95, 21, "within"), (0.93, 21, "below"),
])  # fmt: skip
def test_a_weight_between_two_mornings_is_held_against_both(value, hour, lies):
    """Another scale in mid-drying: 0.9 kg in the afternoon, after 1.033 kg in the morning, is what no draw has."""
    found = weighed(value, hour)

    assert found.against.lies == lies
    assert any("Is it the scale that was used before" in line for line in found.lines) is (lies == "below")


def test_after_a_morning_on_which_it_was_soaked_only_less_than_the_next_morning_is_too_light():
    soaked = by_mornings(first=(None, None, None))

    assert [weighed(value, 9, soaked).against.lies for value in (0.9, 0.95, 2.0)] == ["below", "within", "within"]


def test_a_note_that_names_another_scale_says_of_which_scale_target_and_earlier_weights_are():
    for note in ("another scale", "The scale was changed.", "new balance", "my kitchen scale", "Küchenwaage"):
        assert any("of the first one" in line for line in weighed(1.0, 14, said=note).lines), note
    for note in ("", "weighed again on the same scale", "another hour", "as before, not another"):
        assert not any("of the first one" in line for line in weighed(1.0, 14, said=note).lines), note
    eight = OUTSIDE.attended_from
    assert not any("of the first one" in line for line in said("piece", 2.1, eight, "kg", said="a new scale").lines)


@pytest.mark.parametrize(("value", "leaps"), [(0.9, False), (30.0, False), (800.0, True), (0.0008, True)])
def test_ohm_or_kilohm_taken_for_megohm_is_noticed_by_what_was_read_before(value, leaps):
    """After 0.8 MΩ; a lining that dries rises tenfold and more, and not a hundredfold from one reading to the next."""
    lines = said("insulation", value, unit="MΩ", log=[before("insulation", 0.8, "MΩ")]).lines
    assert any("easily taken for one another" in line for line in lines) is leaps


def test_air_told_hotter_than_anything_that_is_set_is_noticed():
    """115 °F is 46 °C, where 50 °C are set."""
    assert any("is it in °F" in line for line in said("exhaust", 21.0, unit="%", details={"degc": 115.0}).lines)
    assert not any("is it in °F" in line for line in said("exhaust", 21.0, unit="%", details={"degc": 46.0}).lines)


def test_weight_catch_and_casing_that_contradict_each_other_are_noticed_whichever_was_read_first():
    hot = before("casing", 50.0, "°C", 0, place=sample_plan.CASING)
    assert any("catch and the casing contradict" in line for line in said("litres", 4.0, unit="l", log=[hot]).lines)
    much = before("litres", 4.0, "l", 1)
    assert any("catch and the casing contradict" in line for line in casing(50.0, log=[much]).lines)
    assert not any("contradict" in line for line in casing(41.0, log=[much]).lines)
    eight = OUTSIDE.attended_from
    little = before("litres", 0.1, "l", 0, at=eight)
    assert any("piece and the catch contradict" in line for line in said("piece", 1.5, eight, "kg", [little]).lines)
    assert not any("contradict" in line for line in said("piece", 2.1, eight, "kg", [little]).lines)


def test_what_no_day_expects_is_kept_and_says_so():
    assert said("kwh", 3.0, unit="kWh").lines == ("3 kWh: kept.",)
    assert said("chamber", 50.0).lines == ("50 °C: kept. The day expects nothing of it at this hour.",)
    late = sample_plan.moment(KILN.days[-1].date, 8) + timedelta(days=5)
    assert said("kwh", 3.0, late, "kWh").lines == ("3 kWh: kept. No day of the plan has this moment.",)
    assert said("kwh", 3.0, unit="kWh", kiln=None).lines == ("3 kWh: kept. No day of the plan has this moment.",)


def test_of_insulation_from_outside_what_it_was_before_is_said():
    evening = sample_plan.moment(OUTSIDE.date, 19.5)
    first = Logged(line=8, by="A", kiln=KILN.kiln, what="insulation", measured=evening - timedelta(days=1), value=0.2,
                   unit="MΩ", place=sample_plan.ELEMENTS)  # fmt: skip
    lines = said("insulation", 0.3, evening, "MΩ", [first], place=sample_plan.ELEMENTS).lines
    assert lines[0].startswith("0.3 MΩ: kept. Nothing is reckoned of it")
    assert lines[1].startswith("Before: 0.2 MΩ, ")


def insulation(value, hour=4, before=(), **more):
    """Insulation between two runs of its own elements; `before`: what was read an hour apart before it."""
    at = OWN.attended_from + timedelta(hours=hour)
    log = [
        Logged(line=n, by="A", kiln=KILN.kiln, what="insulation", measured=at - timedelta(hours=len(before) - n),
               value=one, unit="MΩ") for n, one in enumerate(before)
    ]  # fmt: skip
    return said("insulation", value, at, "MΩ", log, **more)


def test_insulation_below_the_floor_ends_own_heat_at_any_hour():
    assert insulation(0.09).stops
    assert "the floor at which a heating ends" in insulation(0.09).lines[0]
    assert not insulation(0.11).stops


def test_insulation_that_falls_after_it_had_risen_ends_own_heat():
    """Three tenths of the best of the day; a dip at the beginning is none."""
    assert insulation(1.3, before=(1.0, 2.0)).stops
    assert "after 2 MΩ, 2026-04-23 11:00" in insulation(1.3, before=(1.0, 2.0)).lines[0]
    assert not insulation(1.5, before=(1.0, 2.0)).stops
    assert not insulation(0.5, before=(2.0, 1.0)).stops


# ---------------------------------------------------------------------------------------- seen, happened


@pytest.mark.parametrize(("what", "word", "stops"), [
    ("drips", "none", False), ("drips", "some", False), ("drips", "running", True),
    ("smell", "none", False), ("smell", "musty", False), ("smell", "burning", True),
])  # fmt: skip
def test_what_is_seen_ends_a_day_or_does_not(what, word, stops):
    assert said(what, word=word).stops is stops


@pytest.mark.parametrize("word", [one.id for one in kinds()["stopped"].word])
def test_whatever_stopped_it_what_comes_next_is_said(word):
    for day in (OUTSIDE, OWN):
        lines = said("stopped", word=word, at=day.attended_from + timedelta(hours=2)).lines
        assert lines[0].startswith("STOP, hands off. Stopped: ")
        assert len(lines) > 1


@pytest.mark.parametrize("word", ["rcd_trip", "cutout_trip"])
def test_a_tripped_device_is_never_reset_before_somebody_competent_has_found_why(word):
    lines = said("stopped", word=word).lines
    assert "never reset" in lines[1]
    assert "before somebody competent has found why" in lines[1]


@pytest.mark.parametrize(("word", "hang"), [
    ("rcd_trip", "Heater, fan and extension lead unplugged"), ("cutout_trip", "Heater and fan unplugged"),
])  # fmt: skip
def test_a_trip_on_a_day_from_outside_is_looked_for_in_what_hangs_on_that_device(word, hang):
    """Its own elements are locked off all the while: nobody is sent to them, nor to their leads."""
    lines = " ".join(said("stopped", word=word).lines)
    own = " ".join(said("stopped", word=word, at=OWN.attended_from + timedelta(hours=2)).lines)
    assert hang in lines
    assert "is tried alone, one by one, by somebody competent. The one that trips" in lines
    assert "The kiln stays locked off." in lines
    assert not {"elements", "contactor"} & {*lines.replace(",", "").split()}
    assert "Heater" not in own


@pytest.mark.parametrize("word", [one.id for one in kinds()["stopped"].word])
def test_the_switch_of_a_heater_proves_no_kiln_dead(word):
    """Where it is switched off stands behind “off” alone: no lock hangs there, and nothing is proven dead by it."""
    lines = said("stopped", word=word).lines
    (off,) = {line.partition(OUTSIDE.off_switch)[0] for line in lines if OUTSIDE.off_switch in line} or {"Off: "}
    assert off.lower().startswith(("off", "heat is off", "heater and fan unplugged"))


def test_a_trip_on_no_day_is_told_as_one_of_its_own_elements():
    """After the last day nobody knows what was on: the graver words."""
    lines = " ".join(said("stopped", word="rcd_trip", at=KILN.days[-1].attended_from + timedelta(days=40)).lines)
    assert "proven dead at its own terminals" in lines


def test_after_a_power_cut_on_a_day_of_own_elements_what_its_controller_does_is_said():
    lines = said("stopped", word="power_cut", at=OWN.attended_from + timedelta(hours=2)).lines
    assert OWN.runs[0].said.power_cut[0] in lines
    assert f"Off at once, before power is back: {OWN.off_switch}. Isolated and locked." in lines
    assert not [line for line in said("stopped", word="power_cut").lines if line in OWN.runs[0].said.power_cut]


def test_rain_again_names_the_slates_of_the_water_and_that_the_plan_is_begun_anew():
    lines = " ".join(said("rain", word="rain").lines)
    assert "by slate 8, 14, 5, 18, 20, 21, 22, 70:" in lines
    assert "No reading from before it opens anything any more" in lines
    assert "recover plan JOB --start DATE" in lines


# ---------------------------------------------------------------------------------------- what is typed


@pytest.mark.parametrize(("what", "typed", "value", "unit"), [
    ("casing", "46", 46.0, "°C"), ("casing", "46,5", 46.5, "°C"), ("casing", "115 F", 46.111111, "°C"),
    ("piece", "2100 g", 2.1, "kg"), ("piece", "95 %", 95.0, OF_ITS_WET_WEIGHT), ("insulation", "800k", 0.8, "MΩ"),
    ("litres", "900 ml", 0.9, "l"), ("leakage", "0,4", 0.4, "mA"),
])  # fmt: skip
def test_a_number_is_read_with_or_without_its_unit(what, typed, value, unit):
    read = read_typed(kinds()[what], typed)
    assert (read.value, read.unit) == (value, unit)


def test_behind_semicolons_stands_what_it_was_read_with():
    read = read_typed(kinds()["insulation"], ">200 M; all joined; 18 C; 500 V")
    assert (read.value, read.at_least, read.joined) == (200.0, True, "all joined")
    assert read.details == {"lining_degc": 18.0, "test_volts": 500.0}
    assert read_typed(kinds()["exhaust"], "31; 46").details == {"degc": 46.0}


@pytest.mark.parametrize(("what", "typed", "why"), [
    ("casing", "500", "cannot be right here"), ("casing", "warm", "is not a number"),
    ("casing", ">46", "as the meter showed it"), ("insulation", "1.2", "has no unit"),
    ("insulation", "OL", "how far the meter reaches"),
    ("insulation", "1 M; 500", "cannot be read behind it; expected lining .°C., test voltage .V., what was joined"),
    ("drips", "maybe", "no word"),
    ("exhaust", "31; 46; 12", "cannot be read behind it"), ("piece", "0,01", "cannot be right"),
    ("chamber", "1 500", "not a unit"),
])  # fmt: skip
def test_what_cannot_be_right_is_refused_in_a_sentence(what, typed, why):
    with pytest.raises(AnswerError, match=why):
        read_typed(kinds()[what], typed)


def test_where_degrees_fahrenheit_are_read_a_bare_temperature_is_refused():
    with pytest.raises(AnswerError, match="has no unit"):
        read_typed(kinds()["casing"], "46", fahrenheit=True)
    assert read_typed(kinds()["casing"], "115F", fahrenheit=True).value == pytest.approx(46.11, abs=0.01)


def test_a_kind_is_named_by_its_id_its_label_or_a_word_of_the_trade():
    assert {kind_named(name).id for name in ("piece", "Weight", "brick", "Weight of the piece")} == {"piece"}
    with pytest.raises(AnswerError, match="expected one of chamber, casing, piece"):
        kind_named("pressure")


# ---------------------------------------------------------------------------------------- which are due


def test_due_is_of_each_place_what_is_nearest_and_what_is_read_over_the_whole_day():
    ten = sample_plan.moment(OUTSIDE.date, 10)
    at_ten = [(one.kind.id, one.expected and one.expected.at) for one in due(OUTSIDE, ten)]
    assert at_ten == [("exhaust", ten), ("inlet", None), ("casing", ten), ("litres", None)]


def test_where_none_is_near_those_of_the_nearest_hour_are_due():
    found = due(OUTSIDE, sample_plan.moment(OUTSIDE.date, 5))
    assert [one.kind.id for one in found] == ["piece", "litres"]


def test_the_sheet_is_asked_row_by_row():
    rows = of_the_sheet(OUTSIDE)
    assert [one.kind.id for one in rows if one.expected][:1] == ["piece"]
    assert len([one for one in rows if one.expected]) == len(OUTSIDE.readings)
    casings = [one.expected.at for one in rows if one.kind.id == "casing"]
    assert casings == sorted(casings)


def test_what_a_day_expects_has_a_kind_of_its_own():
    assert {one.what for day in KILN.days for one in day.readings} <= kinds().keys()
    assert set(Expected.__annotations__) >= {"what", "unit"}


def test_a_piece_that_is_told_in_another_unit_is_not_passed_over_in_silence(tmp_path):
    """The plan knows it as a share of its wet weight: kilograms would be held against nothing, and teach nothing."""
    day = next(one for one in sample_plan.planned().days if any(read.what == "piece" for read in one.readings))
    told = tuple(replace(one, unit="% of its wet weight") if one.what == "piece" else one for one in day.readings)
    kiln = replace(sample_plan.planned(), days=(replace(day, readings=told),))
    one = Logged(line=1, by="A", kiln="kiln/1", what="piece", measured=day.attended_from, value=2.1, unit="kg")
    assert "this plan tells it in % of its wet weight" in answer(one, kiln, [], tmp_path).lines[0]
