"""Elements and banks of elements: worked cases of handbooks, the trade's tables, and the way there and back.

Where a value comes from stands beside it. "Computed" means worked out by hand from the formula, not by this program.
"""

import tomllib
from dataclasses import dataclass
from math import inf
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from recover.base.errors import QuantityError
from recover.base.sources import bibliography
from recover.engineering import banks, elements
from recover.engineering.banks import bank, delta, diagnose
from recover.engineering.circuits import Connection, circuit_ohm, inferred_kw
from recover.engineering.elements import _resistance_factor, coil
from recover.engineering.supply import current_a

pytestmark = pytest.mark.quick

THREE_PHASE: list[Connection] = ["star", "star_neutral", "delta"]
ALL: list[Connection] = ["single", *THREE_PHASE]

DATA = tomllib.loads((Path(elements.__file__).parent / "elements.toml").read_text("utf-8"))


# ---------------------------------------------------------------------------------------------------- alloys


@pytest.mark.parametrize(("degc", "factor"), [(400, 1.00), (500, 1.01), (800, 1.03), (1200, 1.04), (1400, 1.05)])
def test_the_22_58_alloy_is_4_per_cent_up_when_hot(degc: float, factor: float) -> None:
    assert _resistance_factor("fecral_22_58", degc) == factor  # common practice; the handbook agrees at 500, 800, 1200


@pytest.mark.parametrize(
    ("alloy", "degc", "factor"),
    [
        ("fecral_22_53", 250, 1.01),  # handbook of appliance alloys, excerpt
        ("fecral_22_53", 800, 1.05),  # the same
        ("fecral_22_53", 1000, 1.06),  # the same
        ("fecral_22_53", 1200, 1.06),  # the same
        ("fecral_d", 700, 1.05),  # the same, a worked example
        ("nicr_80_20", 1000, 1.05),  # from memory
        ("nicr_80_20", 1100, 1.071),  # common practice
    ],
)
def test_each_alloy_has_its_own_temperature_factors(alloy: str, degc: float, factor: float) -> None:
    assert _resistance_factor(alloy, degc) == factor


def test_between_two_points_the_factor_follows_a_straight_line() -> None:
    assert _resistance_factor("fecral_22_53", 375) == pytest.approx(1.02)  # half way from 1.01 at 250 to 1.03 at 500


@pytest.mark.parametrize(
    ("alloy", "degc", "valid"), [("fecral_d", 1000, "20 to 700"), ("fecral_22_58", 0, "20 to 1400")]
)
def test_outside_its_table_a_factor_is_refused_with_the_range(alloy: str, degc: float, valid: str) -> None:
    with pytest.raises(QuantityError, match=valid):
        _resistance_factor(alloy, degc)


def test_an_alloy_that_is_not_known_is_refused_with_those_that_are() -> None:
    with pytest.raises(QuantityError, match="fecral_22_58, fecral_22_53, fecral_d, nicr_80_20"):
        _resistance_factor("copper", 20)


def test_every_figure_names_a_source_that_is_listed_or_its_reason() -> None:
    figures = [*DATA["figures"].values(), *DATA["surface_load"]]
    for alloy in DATA["alloy"]:
        figures += [alloy["resistivity_ohm_mm2_m"], alloy["density_g_cm3"], alloy["factor"]]
    for one in figures:
        published = one["basis"] == "document"
        assert (one["source"] in bibliography() and one["clause"]) if published else one["because"]


def test_every_factor_table_begins_at_one_and_rises_in_temperature() -> None:
    for alloy in DATA["alloy"]:
        degrees = [degc for degc, _ in alloy["factor"]["points"]]
        assert alloy["factor"]["points"][0] == [20, 1.0]
        assert degrees == sorted(set(degrees))


# ---------------------------------------------------------------------------------------------------- wire


@dataclass(frozen=True)
class Metre:
    ohm: float
    g: float
    cm2: float

    @property
    def cm2_per_ohm(self) -> float:
        """The design number A/R: surface load times it is I² Ct."""
        return self.cm2 / self.ohm


def wire(alloy: str, diameter_mm: float) -> Metre:
    """Return a metre of wire, from a coil of one ohm of it."""
    wound = coil(1, diameter_mm, 10 * diameter_mm, alloy)
    return Metre(1 / wound.length_m, wound.wire_g / wound.length_m, wound.surface_cm2 / wound.length_m)


WIRE_TABLE = [  # computed with the handbook's formulas: mm, cm²/m; 22-5.8: ohm/m, g/m, cm²/ohm; 80/20: the same
    (1.0, 31.4, 1.846, 5.6, 17, 1.388, 6.5, 23),
    (1.2, 37.7, 1.282, 8.0, 29, 0.964, 9.4, 39),
    (1.5, 47.1, 0.8205, 12.5, 57, 0.6168, 14.7, 76),
    (1.6, 50.3, 0.7212, 14.3, 70, 0.5421, 16.7, 93),
    (1.8, 56.5, 0.5698, 18.1, 99, 0.4283, 21.1, 132),
    (2.0, 62.8, 0.4615, 22.3, 136, 0.3470, 26.1, 181),
    (2.2, 69.1, 0.3814, 27.0, 181, 0.2867, 31.6, 241),
    (2.3, 72.3, 0.3490, 29.5, 207, 0.2623, 34.5, 275),
    (2.5, 78.5, 0.2954, 34.9, 266, 0.2221, 40.7, 354),
    (2.8, 88.0, 0.2355, 43.7, 374, 0.1770, 51.1, 497),
    (3.0, 94.2, 0.2051, 50.2, 459, 0.1542, 58.7, 611),
    (3.5, 110.0, 0.1507, 68.3, 730, 0.1133, 79.9, 971),
    (4.0, 125.7, 0.1154, 89.2, 1089, 0.0867, 104.3, 1449),
    (5.0, 157.1, 0.0738, 139.4, 2127, 0.0555, 163.0, 2830),
]


@pytest.mark.parametrize("row", WIRE_TABLE, ids=[f"{row[0]} mm" for row in WIRE_TABLE])
def test_the_wire_table_comes_out_to_its_last_figure(row: tuple[float, ...]) -> None:
    diameter, surface, *rest = row
    for alloy, (ohm, grams, design) in (("fecral_22_58", rest[:3]), ("nicr_80_20", rest[3:])):
        metre = wire(alloy, diameter)
        assert metre.cm2 == pytest.approx(surface, abs=0.051)
        assert metre.ohm == pytest.approx(ohm, rel=6e-4, abs=5.1e-5)
        assert metre.g == pytest.approx(grams, abs=0.051)
        assert metre.cm2_per_ohm == pytest.approx(design, abs=0.51)


def test_the_formulas_reproduce_a_printed_wire_table() -> None:
    # Handbook of appliance alloys, excerpt: copper-nickel of 0.49 ohm mm²/m. Ohms go with the resistivity, grams with
    # the density; 8.9 is that of the printed 28.0 g/m.
    metre, resistivity, density = wire("nicr_80_20", 2.0), 0.49 / 1.09, 8.9 / 8.30
    assert metre.ohm * resistivity == pytest.approx(0.156, abs=0.0005)
    assert metre.g * density == pytest.approx(28.0, abs=0.05)
    assert metre.cm2 == pytest.approx(62.8, abs=0.05)
    assert metre.cm2_per_ohm / resistivity == pytest.approx(403, abs=0.5)


@pytest.mark.parametrize(
    ("alloy", "ohm_per_m", "g_per_m"),  # computed, on 1 mm² of section
    [("fecral_22_58", 1.45, 7.10), ("fecral_22_53", 1.39, 7.15), ("fecral_d", 1.35, 7.25), ("nicr_80_20", 1.09, 8.30)],
)
def test_a_metre_of_one_square_millimetre(alloy: str, ohm_per_m: float, g_per_m: float) -> None:
    metre = wire(alloy, 1.1283792)
    assert metre.ohm == pytest.approx(ohm_per_m)
    assert metre.g == pytest.approx(g_per_m)


def test_a_coil_of_20_ohm() -> None:
    wound = coil(20, 2.0, 16, "fecral_22_58")  # computed
    assert wound.length_m == pytest.approx(43.33, abs=0.005)
    assert wound.turns == pytest.approx(985.2, abs=0.05)
    assert wound.surface_cm2 == pytest.approx(2723, abs=0.5)


@pytest.mark.parametrize(("ohm", "wire_mm", "coil_mm"), [(0, 2, 16), (20, 0, 16), (20, 2, 4), (float("nan"), 2, 16)])
def test_a_coil_that_cannot_be_wound_is_refused(ohm: float, wire_mm: float, coil_mm: float) -> None:
    with pytest.raises(QuantityError, match="expected more than"):
        coil(ohm, wire_mm, coil_mm, "fecral_22_58")


def test_the_flat_iron_of_the_handbook() -> None:
    # Handbook of appliance alloys, excerpt: 1000 W, 220 V, tube of 8 by 250 mm, 15.91 W/cm²; the wire bears three times
    # as much on 20.83 cm², of 0.28 to 0.30 mm.
    whole = bank("single", 220, 1, alloy="fecral_d")
    assert whole.element_hot_ohm == pytest.approx(48.4)
    assert whole.element_cold_ohm == pytest.approx(46.1, abs=0.05)
    assert wire("fecral_d", 0.28).cm2_per_ohm < 21 / 46.1 < wire("fecral_d", 0.30).cm2_per_ohm
    assert wire("fecral_d", 0.30).cm2_per_ohm == pytest.approx(0.493, abs=0.0006)
    assert wire("fecral_d", 0.28).cm2_per_ohm == pytest.approx(0.401, abs=0.0005)
    thin, thick = (coil(46.1, mm, 3, "fecral_d") for mm in (0.28, 0.30))
    assert thin.surface_cm2 < 20.83 < thick.surface_cm2
    assert thin.load_w_cm2(1000) > 3 * 15.91 > thick.load_w_cm2(1000)


def test_the_handbook_formula_for_a_diameter() -> None:
    # Handbook, excerpt: 40 ohm of wire of 1.35 ohm mm²/m bears 8 W/cm² at 1000 W where it is 0.555 mm thick.
    assert coil(40, 0.5545, 5, "fecral_d").load_w_cm2(1000) > 8 > coil(40, 0.5555, 5, "fecral_d").load_w_cm2(1000)


@pytest.mark.parametrize(("hotter_k", "life", "share"), [(-100, 3.40, 0.05), (0, 1.0, 0), (100, 0.30, 0.02)])
def test_life_falls_to_a_third_for_100_k(hotter_k: float, life: float, share: float) -> None:
    assert elements.relative_life(hotter_k) == pytest.approx(life, rel=share or 1e-12, abs=0.01)  # handbook, excerpt


def test_life_beyond_the_published_points_is_refused() -> None:
    with pytest.raises(QuantityError, match="-200 to 200 K"):
        elements.relative_life(250)


# ---------------------------------------------------------------------------------------------------- banks


@pytest.mark.parametrize(
    ("connection", "volts", "kw", "amps", "hot", "cold", "terminals"),  # computed
    [
        ("single", 230, 3, 13.0, 17.63, 16.96, 16.96),
        ("single", 230, 4.5, 19.6, 11.76, 11.30, 11.30),
        ("single", 230, 6, 26.1, 8.82, 8.48, 8.48),
        ("single", 230, 9, 39.1, 5.88, 5.65, 5.65),
        ("single", 240, 7.2, 30.0, 8.00, 7.69, 7.69),
        ("single", 240, 11.5, 47.9, 5.01, 4.82, 4.82),
        ("star", 400, 9, 13.0, 17.78, 17.09, 34.19),
        ("star", 400, 18, 26.0, 8.89, 8.55, 17.09),
        ("delta", 400, 12, 17.3, 40.0, 38.46, 25.64),
        ("delta", 400, 18, 26.0, 26.67, 25.64, 17.09),
    ],
)
def test_banks_of_the_table(
    connection: Connection, volts: float, kw: float, amps: float, hot: float, cold: float, terminals: float
) -> None:
    whole = bank(connection, volts, kw)
    assert whole.line_current_a == pytest.approx(amps, abs=0.051)
    assert whole.element_hot_ohm == pytest.approx(hot, abs=0.0051)  # one element is the whole phase
    assert whole.element_cold_ohm == pytest.approx(cold, abs=0.0051)
    assert whole.terminal_cold_ohm == pytest.approx([terminals] * len(whole.terminal_cold_ohm), abs=0.0051)


def test_nine_kilowatts_of_three_strings_of_two() -> None:
    whole = bank("single", 230, 9, strings=3, series=2)  # computed
    assert whole.line_current_a == pytest.approx(39.13, abs=0.005)
    assert whole.element_hot_ohm == pytest.approx(8.817, abs=0.0005)
    assert bank("single", 230, 9, strings=3).element_hot_ohm == pytest.approx(17.633, abs=0.0005)  # a whole string
    assert bank("single", 230, 9).element_hot_ohm == pytest.approx(5.878, abs=0.0005)
    assert whole.element_cold_ohm == pytest.approx(8.478, abs=0.0005)
    wound = coil(whole.element_cold_ohm, 2.3, 20, "fecral_22_58")
    assert wound.length_m == pytest.approx(24.29, abs=0.005)
    assert wound.load_w_cm2(1500) == pytest.approx(0.855, abs=0.0005)


def test_fifteen_kilowatts_on_three_phases() -> None:
    wye, ring = bank("star", 400, 15), bank("delta", 400, 15)  # computed
    assert (wye.line_current_a, ring.line_current_a) == pytest.approx((21.65, 21.65), abs=0.005)
    assert (wye.element_hot_ohm, ring.element_hot_ohm) == pytest.approx((10.67, 32), abs=0.005)
    assert 400 / ring.element_hot_ohm == pytest.approx(12.5)
    assert bank("single", 230, 7.2).element_hot_ohm == pytest.approx(7.347, abs=0.0005)


@pytest.mark.parametrize(("strings", "rise"), [(2, 100), (3, 50), (4, 33.3), (5, 25), (6, 20), (8, 14.3)])
def test_one_open_string_of_many_raises_the_whole(strings: int, rise: float) -> None:
    whole, broken = bank("single", 230, 9, strings), bank("single", 230, 9, strings, open_strings=1)  # computed
    assert 100 * (broken.terminal_cold_ohm[0] / whole.terminal_cold_ohm[0] - 1) == pytest.approx(rise, abs=0.05)
    assert broken.power_kw == pytest.approx(9 * (strings - 1) / strings)


@pytest.mark.parametrize(
    ("connection", "share"), [("single", 0), ("star", 1 / 2), ("star_neutral", 2 / 3), ("delta", 2 / 3)]
)
def test_one_phase_open_leaves_this_share_of_the_power(connection: Connection, share: float) -> None:
    assert bank(connection, 400, 18, open_strings=1).power_kw == pytest.approx(18 * share)  # computed


def test_what_a_meter_reads_with_one_phase_open() -> None:
    wye, ring = bank("star", 400, 18, open_strings=1), bank("delta", 400, 18, open_strings=1)  # computed
    assert wye.terminal_cold_ohm == pytest.approx((inf, 2 * wye.element_cold_ohm, inf))
    ohm = ring.element_cold_ohm
    assert ring.terminal_cold_ohm == pytest.approx((2 * ohm, ohm, ohm))


def test_a_poor_joint_heats() -> None:
    assert banks.joint_w(0.1, 20) == pytest.approx(40)  # computed
    assert banks.joint_w(0.01, 20) == pytest.approx(4)


def test_a_nickel_alloy_reads_7_per_cent_lower_cold_and_a_short_table_ends_where_it_ends() -> None:
    assert bank("single", 230, 9, alloy="nicr_80_20").element_cold_ohm == pytest.approx(5.878 / 1.07, abs=0.0005)
    assert bank("single", 230, 9, alloy="fecral_d").element_cold_ohm == pytest.approx(5.878 / 1.05, abs=0.0005)


@pytest.mark.parametrize(
    ("given_", "words"),
    [
        ({"open_strings": 3}, "3 in one phase; expected 0 to 2"),
        ({"open_strings": -1}, "expected 0 to 2"),
        ({"open_strings": [1, 0]}, "2 numbers; expected 3"),
        ({"strings": 0}, "strings side by side: 0"),
        ({"series": 0}, "elements in a row: 0"),
        ({"volts": 0}, "voltage: 0 V"),
        ({"kw": -9}, "power: -9 kW"),
        ({"kw": inf}, "power: inf kW"),
    ],
)
def test_a_bank_that_cannot_be_is_refused(given_: dict[str, object], words: str) -> None:
    with pytest.raises(QuantityError, match=words):
        bank(**{"connection": "delta", "volts": 400, "kw": 18, "strings": 2, **given_})  # type: ignore[arg-type]


# ---------------------------------------------------------------------------------------------------- readings


def test_a_delta_of_unlike_branches_is_found_from_its_readings() -> None:
    # Computed: branches 10, 20, 30 ohm read 10 || 50, 20 || 40, 30 || 30.
    assert delta([500 / 60, 800 / 60, 15]) == pytest.approx((10, 20, 30))


def test_a_delta_branch_is_open_where_a_reading_equals_the_two_others() -> None:
    assert delta([20, 10, 10]) == pytest.approx((inf, 10, 10))
    assert delta([20.1, 10, 10])[0] == inf  # within the meter's error
    assert delta([10, inf, inf]) == (10, inf, inf)


@pytest.mark.parametrize(
    ("readings", "words"),
    [
        ([25, 10, 10], "none larger than the two others together"),
        ([10, -1, 10], "reading: -1 ohm"),
        ([10, 10, inf], "two open or three"),
        ([], "0 given; expected 3"),
        ([10, 10], "2 given; expected 3"),
        ([10, 10, 10, 10], "4 given; expected 3"),
    ],
)
def test_readings_that_cannot_be_are_refused(readings: list[float], words: str) -> None:
    with pytest.raises(QuantityError, match=words):
        delta(readings)


# ---------------------------------------------------------------------------------------------------- diagnosis


def findings(readings: list[float], expected: float, strings: int = 1) -> list[str]:
    return [circuit.finding for circuit in diagnose(readings, expected, strings).circuits]


def test_a_rise_that_all_share_is_wear() -> None:
    found = diagnose([11.0, 11.1, 10.9], 10)
    assert {circuit.finding for circuit in found.circuits} == {"worn"}
    assert found.common_rise == pytest.approx(0.10)
    assert (found.open_strings, found.odd) == (0, ())


def test_one_that_differs_from_its_like_is_singled_out_even_within_the_band() -> None:
    assert diagnose([10.0, 10.0, 10.6], 10).odd == (2,)
    assert findings([10.0, 10.0, 10.6], 10) == ["as_expected", "as_expected", "odd_high"]
    assert findings([10.0, 9.3, 10.0], 10) == ["as_expected", "odd_low", "as_expected"]


def test_wear_and_an_open_string_are_told_apart() -> None:
    found = diagnose([11, 11 * 3 / 2, 11], 10, strings=3)
    assert [circuit.finding for circuit in found.circuits] == ["worn", "open_strings", "worn"]
    assert (found.open_strings, found.odd) == (1, (1,))


def test_an_open_element_among_those_measured_alone() -> None:
    found = diagnose([8.5, inf, 8.5, 8.5], 8.478)
    assert [circuit.open_strings for circuit in found.circuits] == [0, 1, 0, 0]
    assert found.odd == (1,)


def test_of_a_pair_the_open_one_is_odd_not_the_closed_one() -> None:
    assert banks.odd_ones([10, inf]) == (1,)
    assert banks.odd_ones([inf, 10, inf]) == (0, 2)
    assert banks.odd_ones([inf, inf]) == ()


def test_open_strings_in_two_phases_are_not_taken_for_wear() -> None:
    assert findings([15, 15, 10], 10, strings=3) == ["open_strings", "open_strings", "as_expected"]
    assert findings([15, 15, 15], 10, strings=3) == ["open_strings"] * 3


def test_all_low_is_no_wear() -> None:
    assert findings([9, 9, 9], 10) == ["low"] * 3


def test_one_open_string_of_eight_looks_like_wear_so_every_element_is_measured() -> None:
    alone = diagnose([10 * 8 / 7], 10, strings=8)  # computed: 14 % up
    assert alone.circuits[0].finding == "worn"
    assert alone.measure_each
    assert not diagnose([10.2], 10, strings=3).measure_each
    assert diagnose([10.2], 10, strings=4).measure_each
    assert not diagnose([11.2], 10, strings=1).measure_each  # measured alone already
    assert diagnose([10.9], 10, strings=3).measure_each


def test_every_finding_has_its_words() -> None:
    for readings, strings in (([10, 10, 15], 3), ([10, 10.7, 10], 1), ([10, 9.3, 10], 1), ([11] * 3, 1), ([9] * 3, 1)):
        assert all(
            circuit.because.endswith(".") for circuit in diagnose([float(r) for r in readings], 10, strings).circuits
        )


@pytest.mark.parametrize(("readings", "expected"), [([], 10.0), ([10.0, 0.0], 10.0), ([10.0], 0.0)])
def test_readings_that_say_nothing_are_refused(readings: list[float], expected: float) -> None:
    with pytest.raises(QuantityError, match="expected"):
        diagnose(readings, expected)


# ---------------------------------------------------------------------------------------------------- there and back

volts_ = st.floats(100, 690)
kw_ = st.floats(0.5, 60)
counts_ = st.integers(1, 8)


@given(st.sampled_from(ALL), volts_, kw_)
def test_banks_agree_with_what_the_papers_say(connection: Connection, volts: float, kw: float) -> None:
    whole = bank(connection, volts, kw, strings=2)
    hot = [whole.element_hot_ohm / 2] * (1 if connection == "single" else 3)
    assert whole.line_current_a == pytest.approx(current_a(kw, volts, 1 if connection == "single" else 3))
    assert [ohm * 1.04 for ohm in whole.terminal_cold_ohm] == pytest.approx(
        [circuit_ohm(connection, volts, kw)] * len(hot)
    )
    measured = [hot[0] * 2] if connection == "star" else hot
    assert inferred_kw(connection, volts, measured) == pytest.approx(kw)
    assert whole.power_kw == pytest.approx(kw)


@given(volts_, kw_, counts_, counts_)
def test_from_the_plate_to_the_readings_to_the_elements_and_back(
    volts: float, kw: float, strings: int, series: int
) -> None:
    whole = bank("delta", volts, kw, strings, series)
    branches = [whole.element_cold_ohm * series / strings] * 3
    assert delta(whole.terminal_cold_ohm) == pytest.approx(branches)
    assert bank("star", volts, kw, strings, series).terminal_cold_ohm == pytest.approx([2 / 3 * branches[0]] * 3)


@given(st.sampled_from(["single", "star_neutral", "delta"]), volts_, kw_, counts_, st.data())
def test_open_strings_are_found_again_from_the_terminals(
    connection: Connection, volts: float, kw: float, strings: int, data: st.DataObject
) -> None:
    count, phase = data.draw(st.integers(0, strings)), data.draw(st.integers(0, 0 if connection == "single" else 2))
    assume(connection != "single" or count / strings > 0.15 or count == 0)  # one of eight alone looks like wear
    each = [count if place == phase else 0 for place in range(1 if connection == "single" else 3)]
    broken = bank(connection, volts, kw, strings, open_strings=each)
    read = broken.terminal_cold_ohm
    phases = delta(read) if connection == "delta" else read
    assert [one.open_strings for one in diagnose(phases, broken.element_cold_ohm / strings, strings).circuits] == each


@given(st.lists(st.integers(0, 7), min_size=3, max_size=3))
def test_three_unlike_phases_are_found_again_from_the_terminals(open_strings: list[int]) -> None:
    ring = bank("delta", 400, 18, 8, open_strings=open_strings)
    branches = [ring.element_cold_ohm / (8 - count) for count in open_strings]
    assert delta(ring.terminal_cold_ohm) == pytest.approx(branches, rel=1e-6)
    wye = bank("star", 400, 18, 8, open_strings=open_strings)
    first, second, third = (wye.element_cold_ohm / (8 - count) for count in open_strings)
    assert wye.terminal_cold_ohm == pytest.approx((first + second, second + third, third + first))


@given(st.sampled_from(ALL), st.integers(1, 8), st.data())
def test_more_open_strings_never_raise_the_power(connection: Connection, strings: int, data: st.DataObject) -> None:
    size = 1 if connection == "single" else 3
    fewer = data.draw(st.lists(st.integers(0, strings), min_size=size, max_size=size))
    more = [data.draw(st.integers(count, strings)) for count in fewer]
    less_kw = bank(connection, 400, 18, strings, open_strings=more).power_kw
    assert -1e-9 <= less_kw <= bank(connection, 400, 18, strings, open_strings=fewer).power_kw + 1e-9
