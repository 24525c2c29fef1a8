"""Insulation, leakage, earth and supply beside worked cases, with a neighbour on either side of every limit.

Words beside a value say where it comes from. "From memory" names a document that was not looked at; "common practice"
has no published source; "computed" is arithmetic.
"""

import tomllib
from math import inf, nan, nextafter
from pathlib import Path
from typing import Literal, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recover.asked.compiled import questionnaire
from recover.base.errors import QuantityError
from recover.base.sources import bibliography
from recover.engineering import earth, insulation, leakage, supply
from recover.engineering.banks import bank
from recover.engineering.insulation import judge, judge_circuit, sentence, shape
from recover.engineering.leakage import entry_ma, printed_ma, residual_ma, response
from recover.engineering.supply import current_a, next_rating_a
from recover.profiles import PROFILES, limits, own_earth
from recover.profiles import profile as country
from recover.rules.table import evaluate, table

pytestmark = pytest.mark.quick

profiles = st.sampled_from(PROFILES)
megohms = st.floats(0, 1000)
kilowatts = st.floats(0.5, 60)


def below(value: float) -> float:
    return nextafter(value, -inf)


def above(value: float) -> float:
    return nextafter(value, inf)


# ---------------------------------------------------------------------------------------- insulation: printed limits

PRINTED = [
    ("uk", 3.1, 0.3),  # IET Code of Practice, from memory: heating above 3 kW
    ("uk", 3.0, 1.0),  # the same, class I; some copies say "from 3 kW", the stricter reading is used
    ("eu", 7.2, 0.3),  # EN 50678, from memory: heating elements switched on
    ("eu", 1.0, 0.3),  # the same: no lower power of its own
    ("au_nz", 7.2, 0.01),  # AS/NZS 3000, 8.3.6.2, from memory: appliances with heating elements
]


@pytest.mark.parametrize(("profile", "kw", "megohm"), PRINTED)
def test_the_printed_limit_of_a_heating_appliance_is_met_at_the_figure_and_missed_just_below(
    profile: str, kw: float, megohm: float
) -> None:
    assert judge(megohm, 500, kw, profile).limit_megohm == megohm
    assert judge(megohm, 500, kw, profile).passes_limit is True
    assert judge(below(megohm), 500, kw, profile).passes_limit is False


def test_a_7_2_kw_kiln_at_0_4_megohm_passes_what_is_printed_for_heating_and_fails_the_general_figure() -> None:
    # common practice (case 14): uk, eu and au_nz pass for heating, general class I fails
    assert [judge(0.4, 500, 7.2, name).passes_limit for name in ("uk", "eu", "au_nz")] == [True, True, True]
    general = {name: country(name).find("general_insulation_megohm") for name in PROFILES}
    assert {name: limit and limit.value for name, limit in general.items()} == {
        "uk": 1.0, "eu": 1.0, "us": None, "au_nz": 1.0,
    }  # fmt: skip


def test_where_no_country_prints_a_limit_nothing_passes_and_nothing_fails() -> None:
    judged = judge(0.4, 500, 7.2, "us")
    assert (judged.limit, judged.limit_megohm, judged.passes_limit, judged.step) == (None, None, None, "external_only")


def test_a_kiln_of_unknown_power_has_no_allowance_for_heating() -> None:
    assert judge(0.4, 500, None, "uk").limit_megohm == 1.0
    assert [judge(0.4, 500, None, profile).step for profile in PROFILES] == ["external_only"] * 4


def test_every_printed_limit_names_its_document() -> None:
    for profile, kw, _ in PRINTED:
        limit = judge(1, 500, kw, profile).limit
        assert limit is not None
        assert limit.source
        assert limit.clause


@pytest.mark.parametrize("profile", PROFILES)
def test_wiring_of_a_mains_circuit_passes_at_one_megohm_and_fails_just_below(profile: str) -> None:
    # BS 7671 Table 64 and IEC 60364-6 Table 6.1, from memory (case 12: 0.9 fails, 1.0 passes); us common practice
    assert [judge_circuit(value, 500, profile) for value in (0.9, below(1.0), 1.0)] == [False, False, True]


@pytest.mark.parametrize("profile", ["uk", "eu"])
def test_extra_low_voltage_passes_at_half_a_megohm_and_250_v(profile: str) -> None:
    # BS 7671 Table 64, from memory (case 13: 40 V SELV)
    assert judge_circuit(0.5, 250, profile, "extra_low") is True
    assert judge_circuit(below(0.5), 250, profile, "extra_low") is False
    assert judge_circuit(0.5, below(250), profile, "extra_low") is None


@pytest.mark.parametrize("profile", ["us", "au_nz"])
def test_where_no_figure_for_extra_low_voltage_is_known_none_is_made_up(profile: str) -> None:
    assert country(profile).find("extra_low_insulation_megohm") is None
    assert judge_circuit(0.5, 250, profile, "extra_low") is None


# ---------------------------------------------------------------------------------------- insulation: the ladder


@pytest.mark.parametrize(
    ("megohm", "uk_eu", "us_au_nz"),
    [
        # own limits: floor 0.1, low 0.3, entry 1.0
        (0.0, "fault_search", "fault_search"),
        (below(0.1), "fault_search", "fault_search"),
        (0.1, "external_only", "external_only"),
        (below(0.3), "external_only", "external_only"),
        (0.3, "electrician_only", "external_only"),
        (below(1.0), "electrician_only", "external_only"),
        (1.0, "entry", "entry"),
    ],
)
def test_each_step_of_the_ladder_begins_at_its_figure(megohm: float, uk_eu: str, us_au_nz: str) -> None:
    assert [judge(megohm, 500, 7.2, profile).step for profile in ("uk", "eu")] == [uk_eu, uk_eu]
    assert [judge(megohm, 500, 7.2, profile).step for profile in ("us", "au_nz")] == [us_au_nz, us_au_nz]


@pytest.mark.parametrize("profile", PROFILES)
def test_the_gate_opens_at_one_megohm_whatever_a_country_prints(profile: str) -> None:
    assert judge(1.0, 500, 7.2, profile).entry_megohm == 1.0
    assert judge(1.0, 500, 7.2, profile).step == "entry"
    assert judge(below(1.0), 500, 7.2, profile).step != "entry"


@pytest.mark.parametrize("profile", ["uk", "eu"])
def test_the_allowance_begins_above_three_kilowatts(profile: str) -> None:
    assert judge(0.5, 500, 3.0, profile).step == "external_only"
    assert judge(0.5, 500, above(3.0), profile).step == "electrician_only"


INSULATION = {"at_entry": 1.0, "below_entry": below(1.0), "below_low": below(0.3), "below_abort": below(0.1)}


@pytest.mark.parametrize("profile", PROFILES)
@pytest.mark.parametrize("joined", get_args(insulation.Joined))
@pytest.mark.parametrize("kw", [3.0, 7.2])
@pytest.mark.parametrize("fact", INSULATION)
def test_a_step_is_what_the_table_of_the_ladder_says(
    profile: str, joined: insulation.Joined, kw: float, fact: str
) -> None:
    allowance = "yes" if kw > limits(profile)["heating_allowance_kw"] else "no"
    known: dict[str, list[str]] = {"element_insulation": [fact], "heating_allowance": [allowance], "joined": [joined]}
    found = evaluate(table("ladder"), known)
    assert found.closed
    assert judge(INSULATION[fact], 500, kw, profile, joined).step == found.high


def test_a_reading_at_a_low_test_voltage_shows_no_pass_but_may_show_a_failure() -> None:
    assert judge(2.0, below(500), 7.2, "uk").passes_limit is None
    assert judge(2.0, 500, 7.2, "uk").passes_limit is True
    assert judge(0.2, 50, 7.2, "uk").passes_limit is False
    assert judge(2.0, 250, 7.2, "uk").next_step == "read_at_limit_volts"
    assert judge(0.05, 50, 7.2, "uk").next_step == "fault_search"


def test_a_reading_that_neither_passes_nor_fails_says_why() -> None:
    assert judge(2.0, 500, 7.2, "us").open_because == "no_limit"
    assert judge(2.0, 250, 7.2, "us").open_because == "no_limit"
    assert judge(2.0, 250, 7.2, "uk").open_because == "not_shown"
    assert [judge(value, 500, 7.2, "uk").open_because for value in (2.0, 0.2)] == [None, None]


def test_wiring_without_any_insulation_is_a_reading_that_fails() -> None:
    assert judge_circuit(0.0, 500, "uk") is False


def test_a_reading_with_the_electronics_left_in_is_to_be_taken_again() -> None:
    assert judge(5.0, 500, 7.2, "uk", "reduced").next_step == "read_in_full"


def test_a_reading_without_a_test_voltage_is_refused() -> None:
    with pytest.raises(QuantityError, match="test voltage"):
        judge(1.0, None, 7.2, "uk")
    with pytest.raises(QuantityError, match="test voltage"):
        judge_circuit(1.0, 0, "uk")


@pytest.mark.parametrize("megohm", [-0.1, nan, inf])
def test_a_reading_that_cannot_be_is_refused(megohm: float) -> None:
    with pytest.raises(QuantityError, match="insulation resistance"):
        judge(megohm, 500, 7.2, "uk")


def test_a_country_that_is_not_known_is_refused_by_name() -> None:
    for ask in (lambda: judge(1, 500, 7, "fr"), lambda: earth.limit_ohm("fr"), lambda: next_rating_a(10, "fr")):
        with pytest.raises(QuantityError, match="'fr'; expected one of uk, eu, us, au_nz"):
            ask()


def test_the_leakage_beside_a_reading_is_the_voltage_to_earth_over_it() -> None:
    # computed: the figure printed for Australia and New Zealand lets 23 mA through at 230 V
    assert judge(0.01, 500, 7.2, "au_nz").leakage_bound_ma == pytest.approx(23.0)
    assert judge(0.01, 500, 7.2, "us").leakage_bound_ma == pytest.approx(12.0)
    assert judge(0.01, 500, 7.2, "us", volts_to_earth=277).leakage_bound_ma == pytest.approx(27.7)
    assert judge(0, 500, 7.2, "us").leakage_bound_ma == inf


def test_every_next_step_has_a_sentence_and_none_calls_a_kiln_safe() -> None:
    ways = [(volts, joined) for volts in (250, 500) for joined in get_args(insulation.Joined)]
    steps = {
        judge(value, volts, 7.2, "uk", joined).next_step for value in (0.05, 0.2, 0.5, 2.0) for volts, joined in ways
    }
    assert steps == {*get_args(insulation.LadderStep), "read_at_limit_volts", "read_in_full"}
    words = [sentence(step) for step in steps] + [*supply.supply_data().sentence.values()]
    assert all(text.endswith(".") and "safe" not in text.lower() for text in words)


RANK = {False: 0, None: 1, True: 2}
STEPS = table("ladder").scale


@given(profiles, megohms, megohms, kilowatts, st.sampled_from([50, 250, 500, 1000]))
def test_a_lower_insulation_resistance_never_improves_a_judgement(
    profile: str, one: float, other: float, kw: float, volts: float
) -> None:
    low, high = (judge(value, volts, kw, profile) for value in sorted((one, other)))
    assert STEPS.index(low.step) >= STEPS.index(high.step)
    assert low.leakage_bound_ma >= high.leakage_bound_ma
    assert RANK[low.passes_limit] <= RANK[high.passes_limit]


# ---------------------------------------------------------------------------------------- insulation: the dry-out


def hours_apart(*megohm: float, hours: float = 2.0, degc: float = 100.0) -> list[tuple[float, float, float]]:
    return [(number * hours, value, degc) for number, value in enumerate(megohm)]


@pytest.mark.parametrize(
    ("megohm", "state"),
    [
        ([20], "cold"),
        ([20, 19, 20.5], "cold"),  # within a tenth: no change
        ([20, 18], "cold"),
        ([20, 5], "falling"),
        ([20, 5, 0.5], "falling"),
        ([20, 5, 0.5, 0.52], "minimum"),
        ([20, 5, 1.0, 1.1], "minimum"),
        ([20, 5, 5], "minimum"),
        ([20, 5, 0.5, 0.52, 0.4], "falling"),
        ([20, 5, 0.5, 0.6], "rising"),
        ([0.5, 0.6], "rising"),  # dried from outside, it may never dip
        ([20, 5, 0.5, 2, 4, 4.1, 4.2], "plateau"),
        ([20, 5, 1.0, 2, 4, 4.1, 4.2], "rising"),  # level, but not five times the minimum
        ([20, 5, 0.5, 2, 4, 4.1, 5.5], "rising"),
    ],
)
def test_a_dry_out_falls_passes_a_minimum_and_rises_to_a_plateau(megohm: list[float], state: str) -> None:
    found = shape(hours_apart(*megohm))
    assert (found.state, found.minimum_megohm, found.stops) == (state, min(megohm), ())


def test_a_plateau_takes_three_readings_four_hours_one_temperature_and_five_times_the_minimum() -> None:
    # own limits
    dip = [(0, 10, 20), (2, 0.8, 90), (4, 2, 100)]
    level = [(6, 4.0, 100), (8, 4.0, 100), (10, 4.0, 100)]
    assert shape(dip + level).state == "plateau"
    assert shape(dip + level[::2]).state == "rising"
    assert shape([*dip, (6.1, 4.0, 100), *level[1:]]).state == "rising"
    assert shape([*dip, *level[:2], (10, 4.0, 110)]).state == "plateau"
    assert shape([*dip, *level[:2], (10, 4.0, 110.1)]).state == "rising"
    assert shape([*dip, *level[:2], (10, 4.4, 100)]).state == "plateau"
    assert shape([*dip, *level[:2], (10, 4.41, 100)]).state == "rising"
    assert shape([(0, 10, 20), (2, 0.81, 90), (4, 2, 100), *level]).state == "rising"


def test_a_reading_below_the_floor_stops_the_heating_wherever_it_stands() -> None:
    found = shape(hours_apart(20, 0.1, below(0.1), 0.5))
    assert [(stop.hours, stop.reason) for stop in found.stops] == [(4.0, "below_abort")]


def test_a_fall_of_more_than_three_tenths_after_the_rise_stops_the_heating() -> None:
    assert shape(hours_apart(20, 1, 10, 7.0)).stops == ()
    found = shape(hours_apart(20, 1, 10, 6.99))
    assert [(stop.hours, stop.reason) for stop in found.stops] == [(6.0, "fell_after_rise")]
    assert found.state == "falling"
    assert [stop.hours for stop in shape(hours_apart(20, 5, 0.5, 2, 4, 4.1, 4.2, 2.9)).stops] == [14.0]
    assert sentence(found.stops[0].sentence).startswith("Stop")


def test_a_fall_in_small_steps_is_still_a_fall_from_the_highest_reading() -> None:
    assert [stop.hours for stop in shape(hours_apart(20, 1, 10, 9, 8, 7.1, 6.5)).stops] == [12.0]


def test_a_reading_taken_anew_within_half_an_hour_takes_the_place_of_the_one_before_it() -> None:
    # own limit
    readings = [(0.0, 5.0, 20.0), (0.495, 4.0, 20.0), (0.995, 3.0, 20.0), (2.0, 2.0, 20.0), (2.4, 3.0, 20.0)]
    assert insulation.without_corrections(readings) == [*readings[1:3], readings[4]]
    assert insulation.without_corrections(readings[:1]) == readings[:1]
    assert insulation.without_corrections([]) == []


def test_the_last_of_the_cold_readings_lies_on_a_way_down_where_it_is_clearly_below_any_of_the_day() -> None:
    # own rule: clearly is more than three tenths
    assert insulation.falling([2.0, 1.39])
    assert insulation.falling([2.0, 1.2, 1.39])
    assert not insulation.falling([1.0, 0.7])
    assert not insulation.falling([1.0, 1.5])
    assert not insulation.falling([2.0])


def test_the_dip_on_warming_is_no_stop() -> None:
    assert shape(hours_apart(50, 20, 2, 0.5)).stops == ()


@pytest.mark.parametrize(
    ("readings", "words"),
    [
        ([], "at least one"),
        ([(0, -1, 20)], "insulation resistance"),
        ([(2, 1, 20), (2, 1, 20)], "order of time"),
        ([(0, 1, 800)], "below 800"),  # from memory: sound refractory conducts from about there
        ([(0, 1, -50.1)], "reading"),
        ([(nan, 1, 20)], "reading"),
    ],
)
def test_a_series_that_says_nothing_of_water_is_refused(readings: list[tuple[float, float, float]], words: str) -> None:
    with pytest.raises(QuantityError, match=words):
        shape(readings)


def test_a_series_may_be_of_any_face_in_the_frost_and_below_800_degrees() -> None:
    assert shape([(0, 1, -50), (1, 0, 799)]).minimum_megohm == 0


@given(st.lists(st.floats(0.01, 100), min_size=1, max_size=12), st.floats(0.3, 1))
def test_a_lower_last_reading_takes_no_stop_back(megohm: list[float], share: float) -> None:
    lower = [*megohm[:-1], megohm[-1] * share]
    stops = [{(one.hours, one.reason) for one in shape(hours_apart(*series)).stops} for series in (megohm, lower)]
    assert stops[0] <= stops[1]


# ---------------------------------------------------------------------------------------- leakage


@pytest.mark.parametrize(
    ("connection", "state", "share"),
    [
        # computed, leakage even along the elements
        ("line_neutral", "all_on", 1 / 2), ("line_neutral", "return_open", 1), ("line_neutral", "line_open", 0),
        ("line_line", "all_on", 0), ("line_line", "one_leg_open", 1), ("star", "all_on", 0),
        ("star_neutral", "all_on", 0), ("delta", "all_on", 0), ("star_neutral", "one_phase_off", 1 / 6),
    ],
)  # fmt: skip
def test_what_a_device_sees_of_leakage_depends_on_connection_and_switching(
    connection: leakage.SupplyConnection, state: leakage.LoadState, share: float
) -> None:
    assert residual_ma(connection, 230, 10, state) == pytest.approx(23 * share)


def test_one_phase_off_leaves_two_banks_that_do_not_balance() -> None:
    # computed anew: each bank three times the whole resistance and half the volts along it, phasors 120° apart
    bank = 230 / 2 / (3 * 10)
    two = bank * abs(1 + complex(-0.5, 3**0.5 / 2))
    assert residual_ma("star_neutral", 230, 10, "one_phase_off") == pytest.approx(two)


def test_a_switching_state_that_a_connection_cannot_be_in_is_refused() -> None:
    with pytest.raises(QuantityError, match="one of all_on, one_phase_off"):
        residual_ma("star_neutral", 230, 10, "one_leg_open")


@given(st.sampled_from(sorted(leakage.SHARE)), st.floats(1, 500), st.floats(0, 1e6))
def test_no_residual_current_exceeds_the_bound(
    of: tuple[leakage.SupplyConnection, leakage.LoadState], volts: float, kohm: float
) -> None:
    assert residual_ma(of[0], volts, kohm, of[1]) <= leakage.bound_ma(volts, kohm)


@pytest.mark.parametrize(
    ("current", "expected"),
    [
        # IEC 61008, from memory: silent to half the rating, must trip at it
        (15.0, "silent"), (above(15.0), "may_trip"), (below(30.0), "may_trip"), (30.0, "must_trip"), (inf, "must_trip"),
    ],
)  # fmt: skip
def test_a_30_ma_device_is_undefined_between_15_and_30(current: float, expected: str) -> None:
    assert response(current, 30) == expected


@pytest.mark.parametrize(
    ("current", "expected"),
    # UL 943, from memory: class A trips between 4 and 6 mA
    [(below(4.0), "silent"), (4.0, "may_trip"), (below(6.0), "may_trip"), (6.0, "must_trip")],
)
def test_a_ground_fault_interrupter_trips_between_4_and_6_ma(current: float, expected: str) -> None:
    assert response(current, None) == expected


@pytest.mark.parametrize(
    ("profile", "kw", "limit"),
    [
        # EN 50699, from memory (case 17)
        ("eu", 3.0, 3.5), ("eu", 3.5, 3.5), ("eu", 7.2, 7.2), ("eu", 10.0, 10.0), ("eu", 12.0, 10.0),
        # IET Code of Practice, 5th edition, from memory (case 18)
        ("uk", 0.5, 5.0), ("uk", 7.2, 5.0), ("uk", 30.0, 5.0),
        ("au_nz", 7.2, 5.0),  # AS/NZS 3760, 2003, from memory
    ],
)  # fmt: skip
def test_what_a_country_prints_for_leakage(profile: str, kw: float, limit: float) -> None:
    assert printed_ma(profile, kw) == limit


@pytest.mark.parametrize(
    ("profile", "kw", "entry"),
    [
        # own limit 5 mA, or less where the country prints less for such a kiln
        ("uk", 7.2, 5.0), ("us", 7.2, 5.0), ("au_nz", 7.2, 5.0), ("uk", None, 5.0),
        ("eu", None, 3.5), ("eu", 3.5, 3.5), ("eu", 4.2, 4.2), ("eu", 5.0, 5.0), ("eu", 7.2, 5.0), ("eu", 12.0, 5.0),
    ],
)  # fmt: skip
def test_the_entry_of_leakage_is_the_stricter_of_what_is_printed_for_the_power_and_our_own(
    profile: str, kw: float | None, entry: float
) -> None:
    assert entry_ma(profile, kw) == entry


def test_the_united_states_print_no_limit_of_leakage_for_a_kiln() -> None:
    assert printed_ma("us", 7.2) is None


@given(st.floats(0, 200), st.floats(0, 200), st.sampled_from([10.0, 30.0, 100.0, None]))
def test_a_device_never_falls_silent_because_leakage_grows(one: float, other: float, rating: float | None) -> None:
    words = get_args(leakage.Response)
    low, high = (words.index(response(value, rating)) for value in sorted((one, other)))
    assert low <= high


def test_negative_ohms_and_currents_are_refused() -> None:
    for ask in (
        lambda: leakage.bound_ma(230, -1), lambda: residual_ma("line_neutral", 230, -1), lambda: response(-1, 30),
        lambda: earth.limit_ohm("uk").passes(-0.01),
        lambda: judge_circuit(-1, 500, "uk"), lambda: earth.limit_ohm("uk", -1, 2.5),
        lambda: entry_ma("eu", -7.2),
    ):  # fmt: skip
        with pytest.raises(QuantityError, match="expected"):
            ask()


# ---------------------------------------------------------------------------------------- earth continuity


@pytest.mark.parametrize(
    ("profile", "length_m", "area_mm2", "ohm"),
    [
        # uk: IET Code of Practice, from memory; copper of class 5 from memory of IEC 60228
        ("uk", 0, None, 0.1), ("uk", 10, None, 0.1), ("uk", 10, 2.5, 0.1798), ("uk", 10, 6, 0.133),
        # eu: DIN VDE 0701-0702, from memory; the last step before 1 ohm begins at 57.5 m
        ("eu", 0, None, 0.3), ("eu", 5, 4, 0.3), ("eu", 12.4, 4, 0.3), ("eu", 12.5, 4, 0.4), ("eu", 20, 4, 0.5),
        ("eu", 57.4, 4, 0.9), ("eu", 57.5, 4, 1.0), ("eu", 200, 4, 1.0),
        ("au_nz", 10, 6, 1.0),  # AS/NZS 3760, from memory
    ],
)  # fmt: skip
def test_what_a_country_prints_for_earth_continuity(
    profile: str, length_m: float, area_mm2: float | None, ohm: float
) -> None:
    limit = earth.limit_ohm(profile, length_m, area_mm2)
    assert limit.printed_ohm == pytest.approx(ohm)
    assert limit.passes_printed(ohm)
    assert not limit.passes_printed(ohm * 1.00001)


@pytest.mark.parametrize(
    ("profile", "length_m", "area_mm2", "ohm"),
    [
        # own limit: 0.1 ohm and the conductor's own, as far as its size is known; never above what is printed
        ("uk", 10, 6, 0.133), ("eu", 0, None, 0.1), ("eu", 12.5, None, 0.1), ("eu", 20, 4, 0.199),
        ("eu", 200, 2.5, 1.0), ("us", 10, 6, 0.133), ("us", 10, None, 0.1), ("au_nz", 0, None, 0.1),
        ("au_nz", 10, 6, 0.133), ("au_nz", 200, 2.5, 1.0),
    ],
)  # fmt: skip
def test_earth_continuity_passes_at_the_lesser_limit_and_fails_above(
    profile: str, length_m: float, area_mm2: float | None, ohm: float
) -> None:
    limit = earth.limit_ohm(profile, length_m, area_mm2)
    assert limit.ohm == pytest.approx(ohm)
    assert limit.passes(ohm)
    assert not limit.passes(ohm * 1.00001)


def test_the_united_states_print_no_figure_for_earth_continuity() -> None:
    assert earth.limit_ohm("us", 10, 6).printed_ohm is None
    assert earth.limit_ohm("us", 10, 6).passes_printed(5) is None


@pytest.mark.parametrize(
    ("copper", "per_km"),
    [
        ("solid_or_stranded", (18.1, 12.1, 7.41, 4.61, 3.08, 1.83, 1.15, 0.727)),  # common practice
        ("flexible", (19.5, 13.3, 7.98, 4.95, 3.30, 1.91, 1.21, 0.780)),  # from memory of IEC 60228, class 5
    ],
)
def test_the_resistance_of_copper_conductors(copper: supply.CopperClass, per_km: tuple[float, ...]) -> None:
    limits = [earth.limit_ohm("uk", 1000, area, copper) for area in (1, 1.5, 2.5, 4, 6, 10, 16, 25)]
    assert [limit.own_ohm - own_earth().ohm for limit in limits] == pytest.approx(per_km)
    with pytest.raises(QuantityError, match=r"one of 1, 1\.5, 2\.5, 4, 6, 10, 16, 25"):
        earth.limit_ohm("uk", 10, 5, copper)


@given(profiles, st.floats(0, 3), st.floats(0, 3), st.floats(0, 100))
def test_more_ohms_never_improve_earth_continuity(profile: str, one: float, other: float, length_m: float) -> None:
    low, high = sorted((one, other))
    limit = earth.limit_ohm(profile, length_m, 4)
    assert limit.passes(high) <= limit.passes(low)


# ---------------------------------------------------------------------------------------- supply


def test_currents_and_ohms_of_common_kilns() -> None:
    # cases 23, 24, 28 and 30, computed
    assert current_a(7.2, 230, 1) == pytest.approx(31.30, abs=0.005)
    assert bank("single", 230, 7.2).element_hot_ohm == pytest.approx(7.347, abs=0.0005)
    assert current_a(11.52, 240, 1) == pytest.approx(48.0)
    assert current_a(15, 400, 3) == pytest.approx(21.65, abs=0.005)
    assert current_a(15, 400, 3) / 3**0.5 == pytest.approx(12.5)  # in each branch of the delta
    assert bank("star", 400, 15).element_hot_ohm == pytest.approx(10.67, abs=0.005)
    assert bank("delta", 400, 15).element_hot_ohm == pytest.approx(32.0)
    assert current_a(8.64, 208, 1) == pytest.approx(41.5, abs=0.05)
    assert current_a(8.64, 208, 3) == pytest.approx(23.98, abs=0.005)


@pytest.mark.parametrize(
    ("profile", "between_lines", "volts"),
    [
        # computed: 480 V and 440 V over the square root of 3; elsewhere the usual voltage of the country
        ("us", None, 120), ("us", 208, 120), ("us", 240, 120), ("us", 440, 254.03), ("us", 480, 277.13),
        ("uk", 230, 230), ("eu", 400, 230), ("au_nz", 415, 230),
    ],
)  # fmt: skip
def test_the_voltage_of_a_line_to_earth(profile: str, between_lines: float | None, volts: float) -> None:
    assert supply.line_to_earth_volts(profile, between_lines) == pytest.approx(volts, abs=0.005)


def test_a_plate_calls_for_the_power_of_its_volts_and_amperes() -> None:
    # computed, the inverse of cases 23 and 28
    assert supply.plate_power_kw(230, 31.3, 1) == pytest.approx(7.2, abs=0.005)
    assert supply.plate_power_kw(400, 21.65, 3) == pytest.approx(15.0, abs=0.005)
    with pytest.raises(QuantityError, match="current"):
        supply.plate_power_kw(230, 0, 1)


def test_in_the_united_states_a_firing_is_a_continuous_load() -> None:
    # cases 24 to 26, computed on NEC articles as quoted: 48 A -> 60 A; 45 A -> 56.25 -> 60 A; 30 A -> 37.5 -> 40 A
    assert [next_rating_a(current, "us") for current in (48, 45, 30)] == [60, 60, 40]
    assert [next_rating_a(current, "us") for current in (40, 40.1)] == [50, 60]  # a quarter on top of 40 A is 50 A


@pytest.mark.parametrize(
    ("kw", "volts", "phases", "circuits"),
    [
        # NEC 422.11(F)(1), as a third party copies it: above 48 A, into loads of 48 A at most, behind 60 A at most
        (11.52, 240, 1, 1), (11.53, 240, 1, 2), (14.4, 240, 1, 2), (23.04, 240, 1, 2), (23.05, 240, 1, 3),
        (17.29, 208, 3, 1), (17.3, 208, 3, 2),
    ],
)  # fmt: skip
def test_in_the_united_states_elements_above_48_a_are_divided(
    kw: float, volts: float, phases: Literal[1, 3], circuits: int
) -> None:
    found = supply.division(current_a(kw, volts, phases), "us")
    assert found is not None
    assert (found.circuits, found.called_for) == (circuits, circuits > 1)
    assert (found.rule.value, found.device_a) == (48, 60)
    # 210.20(A), from memory: a quarter on top of the most that each may draw is the most that its device may be
    assert next_rating_a(found.rule.value, "us") == found.device_a


@pytest.mark.parametrize("profile", ["uk", "eu", "au_nz"])
def test_where_no_rule_divides_elements_nothing_is_made_up(profile: str) -> None:
    assert supply.division(100, profile) is None


@pytest.mark.parametrize("profile", ["uk", "eu", "au_nz"])
def test_elsewhere_the_rating_is_the_current_or_the_next_above(profile: str) -> None:
    # BS 7671, IEC 60364-4-43, AS/NZS 3000, from memory
    assert next_rating_a(31.3, profile) == 32
    assert next_rating_a(32.0, profile) == 32
    assert next_rating_a(32.1, profile) == 40


@pytest.mark.parametrize("profile", PROFILES)
def test_every_standard_rating_carries_its_own_load_and_no_more(profile: str) -> None:
    has, factor = country(profile).ratings.amps, country(profile).figure("load_factor")
    for rating, following in zip(has, [*has[1:], None], strict=True):
        assert next_rating_a(rating / factor, profile) == rating
        assert next_rating_a(rating / factor * 1.0001, profile) == following


@pytest.mark.parametrize(
    ("kw", "single", "three"),
    [
        # computed: 1.25 times the line current at 230 V and 400 V, next step
        (3, 20, 16), (4.5, 25, 16), (6, 40, 16), (7.2, 40, 16), (9, 50, 20), (12, 80, 25), (15, None, 32),
        (18, None, 40),
    ],
)  # fmt: skip
def test_the_ac_1_rating_of_a_contactor_has_a_quarter_in_hand(kw: float, single: float | None, three: float) -> None:
    assert supply.contactor_rating_a(current_a(kw, 400, 3)) == three
    assert supply.contactor_rating_a(current_a(kw, 230, 1)) == single


def test_the_steps_of_contactors_each_end_at_four_fifths_of_their_rating() -> None:
    assert [supply.contactor_rating_a(current) for current in (12.8, 12.81, 64.0, 64.1)] == [16, 20, 80, None]


def test_american_wire_for_the_loads_of_the_worked_cases() -> None:
    # cases 25 and 26: 6 AWG at 75 °C has 65 A, 8 AWG at 60 °C has 40 A; common practice
    for of, needed, size, capacity in (("awg_75", 56.25, 6, 65), ("awg_60", 37.5, 8, 40)):
        cable = cable_of(of)
        assert cable.thinnest(needed) == cable.thinnest(capacity) == size
        assert cable.thinnest(capacity * 1.0001) != size


def test_a_36_95_a_circuit_wants_more_than_four_square_millimetres() -> None:
    # common practice (case 32): 32 A in air of 40 °C; 4 mm² have 36 A, 6 mm² have 46 A
    cable = cable_of("pvc_clipped_two")
    assert [cable.thinnest(rating) for rating in (36, 36.95, 46)] == [4, 6, 6]


def test_beyond_the_table_there_is_no_cable() -> None:
    assert cable_of("pvc_clipped_two").thinnest(112) == 25
    assert cable_of("pvc_clipped_two").thinnest(112.1) is None


@pytest.mark.parametrize(
    ("cable_id", "amps"),
    [
        # BS 7671, table 4F3A, as two copies give it; DIN VDE 0298-4, table 11, as a copy gives it, agrees
        ("cord_two", {1: 10, 1.5: 16, 2.5: 25, 4: 32}), ("cord_three", {1: 10, 1.5: 16, 2.5: 20, 4: 25}),
        # BS 7671, table 4F1A, as two copies give it
        ("rubber_two", {4: 30, 6: 39, 10: 51, 16: 73, 25: 97}),
        ("rubber_three", {4: 26, 6: 34, 10: 47, 16: 63, 25: 83}),
        # NEC, table 400.5(A)(1), column B, as a product standard of heating appliances quotes it
        ("awg_cord_two", {16: 13, 14: 18, 12: 25}),
        # the same, column A, from memory
        ("awg_cord_three", {16: 10, 14: 15, 12: 20, 10: 25, 8: 35, 6: 45, 4: 60}),
    ],
)  # fmt: skip
def test_what_a_cord_carries(cable_id: str, amps: dict[float, float]) -> None:
    cord = cable_of(cable_id)
    assert {size: cord.amps[cord.sizes.index(size)] for size in amps} == amps
    borne = [cord.bears_a[cord.sizes.index(size)] for size in amps]
    assert [cord.thinnest(rating) for rating in borne] == list(amps)
    assert all(cord.thinnest(rating * 1.0001) != size for size, rating in zip(amps, borne, strict=True))


SMALL = {14.0: 15, 12.0: 20, 10.0: 30}
"""The largest device before an American gauge of copper: NEC, 240.4(D), from memory; copies agree."""


@pytest.mark.parametrize("phases", [1, 3])
@pytest.mark.parametrize("profile", PROFILES)
def test_no_device_is_larger_than_its_conductor_carries_or_may_be_protected_at(
    profile: str, phases: Literal[1, 3]
) -> None:
    ratings = set()
    for kw in (tenths / 10 for tenths in range(1, 400)):
        found = supply.supply(kw, 240, phases, profile)
        ratings.add(found.rating_a)
        for one in (one for one in found.conductors if one.size is not None):
            carries = one.cable.amps[one.cable.sizes.index(one.size)]
            most = SMALL.get(one.size, inf) if one.cable.unit == "AWG" else inf
            assert found.rating_a is not None
            assert found.rating_a <= min(carries, most), (kw, one)
            assert (one.carries_a, one.bears_a) == (carries, min(carries, most))
    assert len(ratings) > 8


@pytest.mark.parametrize(("kw", "rating", "size"), [(3.8, 20, 12), (4.7, 25, 10), (6.5, 35, 8)])
def test_small_american_wire_is_sized_by_the_device_that_it_may_have(kw: float, rating: float, size: float) -> None:
    # at 75 °C 14 AWG carry 20 A, 12 carry 25, 10 carry 35: NEC, 240.4(D) lets their devices be 15, 20, 30 A
    found = supply.supply(kw, 240, 1, "us")
    at_75 = next(one for one in found.conductors if one.cable.id == "awg_75")
    assert (found.rating_a, at_75.size) == (rating, size)


def test_a_judged_device_is_never_larger_than_any_table_lets_that_conductor_bear() -> None:
    for cable in supply.supply_data().cable:
        for size, most in zip(cable.sizes, cable.bears_a, strict=True):
            name = f"{'awg_' if cable.unit == 'AWG' else ''}{size:g}"
            borne = supply.bears_a(name, 3 if cable.loaded == 3 else 2, cord=cable.copper == "flexible")
            assert borne is not None
            assert borne <= most


@pytest.mark.parametrize(
    ("cable_id", "phases", "mv_a_m", "rel"),
    [
        # BS 7671, table 4F3B, as two copies give it: of tinned wire, which has up to 3 % more ohms
        ("cord_two", 1, {1: 46, 1.5: 32, 2.5: 19, 4: 12}, 0.05),
        ("cord_three", 3, {1: 40, 1.5: 27, 2.5: 16, 4: 10}, 0.05),
        # BS 7671, tables 4D1B and 4D2B, from memory
        ("pvc_clipped_two", 1, {2.5: 18, 4: 11, 6: 7.3, 10: 4.4, 16: 2.8, 25: 1.75}, 0.02),
        ("pvc_conduit_three", 3, {2.5: 15, 4: 9.5, 6: 6.4, 10: 3.8, 16: 2.4, 25: 1.5}, 0.025),
        # 2 K / circular mils, a common rule with K = 12.9 ohm mil²/ft at 75 °C: computed in mV/(A m)
        ("awg_75", 1, {12: 12.96, 10: 8.153, 8: 5.127, 6: 3.225, 4: 2.028}, 0.01),
    ],
)  # fmt: skip
def test_volt_drop_is_what_printed_tables_give(
    cable_id: str, phases: Literal[1, 3], mv_a_m: dict[float, float], rel: float
) -> None:
    cable, across = cable_of(cable_id), 3**0.5 if phases == 3 else 2
    drops = {
        size: across * 1000 * supply.conductor_ohm(1, size, cable.copper, cable.unit, cable.degc) for size in mv_a_m
    }
    assert drops == pytest.approx(mv_a_m, rel=rel)


def test_a_kiln_at_a_13_a_plug_has_a_cord_of_one_and_a_half_square_millimetres() -> None:
    # 2.9 kW at 230 V are 12.61 A (computed). BS 7671, table 4F3B, as copied: 32 mV/(A m), so 2.02 V over 5 m, 0.88 %
    found = supply.supply(2.9, 230, 1, "uk", length_m=5)
    cord = next(one for one in found.conductors if one.cable.id == "cord_two")
    assert (found.rating_a, cord.size) == (13, 1.5)
    assert cord.drop_v == pytest.approx(2.02, rel=0.05)
    assert cord.drop_percent == pytest.approx(0.88, rel=0.05)


def test_volts_between_lines_drop_by_less_than_twice_the_line_s() -> None:
    # 15 kW at 400 V are 21.65 A (computed). BS 7671, table 4F3B, as copied: 10 mV/(A m), so 2.17 V over 10 m of 4 mm²
    found = supply.supply(15, 400, 3, "eu", length_m=10)
    cord = next(one for one in found.conductors if one.cable.id == "cord_three")
    assert (found.rating_a, cord.size) == (25, 4)
    assert cord.drop_v == pytest.approx(2.17, rel=0.05)


def test_without_a_length_nothing_drops_and_without_a_rating_nothing_is_chosen() -> None:
    assert {one.drop_v for one in supply.supply(7.2, 230, 1, "uk").conductors} == {None}
    assert supply.supply(7.2, 230, 1, "uk", length_m=0).conductors[0].drop_v == 0
    assert supply.supply(64 * 0.23, 230, 1, "uk", length_m=5).conductors == []
    with pytest.raises(QuantityError, match="length"):
        supply.supply(7.2, 230, 1, "uk", length_m=-1)


@pytest.mark.parametrize("profile", PROFILES)
@pytest.mark.parametrize("phases", [1, 3])
def test_every_conductor_that_is_named_has_its_ohms(profile: str, phases: Literal[1, 3]) -> None:
    ratings = country(profile).ratings.amps
    for rating in ratings:
        amps = rating / country(profile).figure("load_factor")
        kw = amps * 0.4 * (3**0.5 if phases == 3 else 1)
        for one in supply.supply(kw, 400, phases, profile, length_m=10).conductors:
            assert (one.size is None) == (one.drop_v is None)
            assert one.cable.loaded in (0, 2 if phases == 1 else 3)


def cable_of(cable_id: str) -> supply.Cable:
    return next(cable for cable in supply.supply_data().cable if cable.id == cable_id)


def test_thicker_cables_carry_more_in_every_table() -> None:
    for cable in supply.supply_data().cable:
        assert len(cable.sizes) == len(cable.amps)
        assert cable.amps == sorted(set(cable.amps))
        assert cable.sizes == sorted(cable.sizes, reverse=cable.unit == "AWG")


@pytest.mark.parametrize(("kw", "volts"), [(0, 230), (-1, 230), (7, 0), (nan, 230), (7, inf)])
def test_power_and_voltage_are_more_than_nought(kw: float, volts: float) -> None:
    with pytest.raises(QuantityError, match="more than nought"):
        current_a(kw, volts, 1)


# ---------------------------------------------------------------------------------------- authority


def test_every_number_says_on_whose_authority_it_stands() -> None:
    data, known = supply.supply_data(), bibliography()
    wet = tomllib.loads((Path(insulation.__file__).parent / "insulation.toml").read_text("utf-8"))["limit"]
    for card in [*data.limit, *(row for name in PROFILES for row in country(name).printed())]:
        assert card.source in known or card.because or card.basis == "common_practice", card.what
    for one in wet:
        assert one.get("source") in known or one.get("because") or one["basis"] == "common_practice", one["what"]
    assert {row.source for row in data.copper if row.basis != "common_practice"} <= set(known)


def test_no_residual_current_device_trips_in_no_time() -> None:
    asked = questionnaire().questions["energise.rcd_ms"]

    assert (asked.takes(0), asked.takes(1)) == (False, True)
