"""Thermocouples against tables, an independent reckoning, and the worked cases of mix-ups between probe and setting."""

import csv
from itertools import pairwise
from math import exp
from pathlib import Path
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recover.asked.compiled import questionnaire
from recover.base.errors import QuantityError
from recover.engineering.colours import candidates
from recover.engineering.thermocouples import (
    BENCH_DEGC,
    Wire,
    cable_fault,
    diameter_of_area_mm,
    diameter_of_awg_mm,
    emf_mv,
    loop_ohm,
    loop_wires,
    mismatch,
    range_degc,
    temperature_degc,
    tolerance_class,
)
from recover.physics.air import HIGHEST_M, LOWEST_M, boiling_degc, pressure_at_pa

pytestmark = pytest.mark.quick

KILN_TYPES = ["K", "N", "R", "S", "B"]

# Every 10 °C, computed with the package thermocouples_reference 0.20 (2014, public domain), which is independent of the
# one that the program uses.
VECTORS = list(
    csv.DictReader((Path(__file__).parent / "vectors" / "thermocouples.csv").read_text(encoding="utf-8").splitlines())
)

# NIST SRD 60, reference functions E(t) = Σ c_i t^i, from memory: lowest and highest temperature, c0, c1 ...
POLYNOMIALS = {
    "R": [
        (-50, 1064.18, (0, 5.28961729765e-3, 1.39166589782e-5, -2.38855693017e-8, 3.56916001063e-11,
                        -4.62347666298e-14, 5.00777441034e-17, -3.73105886191e-20, 1.57716482367e-23,
                        -2.81038625251e-27)),
        (1064.18, 1664.5, (2.95157925316, -2.52061251332e-3, 1.59564501865e-5, -7.64085947576e-9, 2.05305291024e-12,
                           -2.93359668173e-16)),
        (1664.5, 1768.1, (1.52232118209e2, -2.68819888545e-1, 1.71280280471e-4, -3.45895706453e-8,
                          -9.34633971046e-15)),
    ],
    "S": [
        (-50, 1064.18, (0, 5.40313308631e-3, 1.25934289740e-5, -2.32477968689e-8, 3.22028823036e-11,
                        -3.31465196389e-14, 2.55744251786e-17, -1.25068871393e-20, 2.71443176145e-24)),
        (1064.18, 1664.5, (1.32900444085, 3.34509311344e-3, 6.54805192818e-6, -1.64856259209e-9, 1.29989605174e-14)),
        (1664.5, 1768.1, (1.46628232636e2, -2.58430516752e-1, 1.63693574641e-4, -3.30439046987e-8,
                          -9.43223690612e-15)),
    ],
    "N": [
        (-270, 0, (0, 2.6159105962e-2, 1.0957484228e-5, -9.3841111554e-8, -4.6412039759e-11, -2.6303357716e-12,
                   -2.2653438003e-14, -7.6089300791e-17, -9.3419667835e-20)),
        (0, 1300, (0, 2.5929394601e-2, 1.5710141880e-5, 4.3825627237e-8, -2.5261169794e-10, 6.4311819339e-13,
                   -1.0063471519e-15, 9.9745338992e-19, -6.0863245607e-22, 2.0849229339e-25, -3.0682196151e-29)),
    ],
    "K": [
        (-270, 0, (0, 3.9450128025e-2, 2.3622373598e-5, -3.2858906784e-7, -4.9904828777e-9, -6.7509059173e-11,
                   -5.7410327428e-13, -3.1088872894e-15, -1.0451609365e-17, -1.9889266878e-20, -1.6322697486e-23)),
        (0, 1372, (-1.7600413686e-2, 3.8921204975e-2, 1.8558770032e-5, -9.9457592874e-8, 3.1840945719e-10,
                   -5.6072844889e-13, 5.6075059059e-16, -3.2020720003e-19, 9.7151147152e-23, -1.2104721275e-26)),
    ],
    "B": [
        (0, 630.615, (0, -2.4650818346e-4, 5.9040421171e-6, -1.3257931636e-9, 1.5668291901e-12, -1.6944529240e-15,
                      6.2990347094e-19)),
        (630.615, 1820, (-3.8938168621, 2.8571747470e-2, -8.4885104785e-5, 1.5785280164e-7, -1.6835344864e-10,
                         1.1109794013e-13, -4.4515431033e-17, 9.8975640821e-21, -9.3791330289e-25)),
    ],
}  # fmt: skip


def bump_mv(letter, degc, low):
    """Return what type K adds above 0 °C: a0 exp(a1 (t - a2)²), from memory."""
    return 0.1185976 * exp(-1.183432e-4 * (degc - 126.9686) ** 2) if letter == "K" and low == 0 else 0.0


# Reference table against 0 °C, computed with two independent codes; type R, S, K and N agree with printed tables from
# memory.
TABLE_DEGC = [20, 25, 40, 60, 100, 200, 300, 400, 500, 600, 700, 800, 900, 1000, 1100, 1200, 1250, 1280, 1300]
TABLE_MV = {
    "R": "0.111 0.141 0.232 0.363 0.647 1.469 2.401 3.408 4.471 5.583 6.743 7.950 9.205 10.506 11.850 13.228 13.926 "
    "14.347 14.629",
    "S": "0.113 0.143 0.235 0.365 0.646 1.441 2.323 3.259 4.233 5.239 6.275 7.345 8.449 9.587 10.757 11.951 12.554 "
    "12.917 13.159",
    "K": "0.798 1.000 1.612 2.436 4.096 8.138 12.209 16.397 20.644 24.905 29.129 33.275 37.326 41.276 45.119 48.838 "
    "50.644 51.708 52.410",
    "N": "0.525 0.659 1.065 1.619 2.774 5.913 9.341 12.974 16.748 20.613 24.527 28.455 32.371 36.256 40.087 43.846 "
    "45.694 46.789 47.513",
    "B": "-0.003 -0.002 -0.000 0.006 0.033 0.178 0.431 0.787 1.242 1.792 2.431 3.154 3.957 4.834 5.780 6.786 7.311 "
    "7.632 7.848",
}


@pytest.mark.parametrize("letter", KILN_TYPES)
def test_agrees_with_an_independent_reckoning_over_the_range(letter):
    rows = [row for row in VECTORS if row["type"] == letter]
    assert len(rows) > 140
    for row in rows:
        degc, mv = float(row["degc"]), float(row["emf_mv"])
        assert emf_mv(letter, degc) == pytest.approx(mv, abs=0.001)
        if letter != "B" or 260 <= degc < 1820:  # read back to 13.820 mV, 1819.97 °C
            assert temperature_degc(letter, mv) == pytest.approx(degc, abs=0.01)


def test_the_polynomials_leave_nothing_of_a_range_out():
    for letter in KILN_TYPES:
        spans = POLYNOMIALS[letter]
        assert (spans[0][0], spans[-1][1]) == range_degc(letter)
        assert all(one[1] == other[0] for one, other in pairwise(spans))


@pytest.mark.parametrize("letter", POLYNOMIALS)
def test_agrees_with_the_polynomials_over_their_whole_range(letter):
    for low, high, coefficients in POLYNOMIALS[letter]:
        for step in range(401):
            degc = min(low + (high - low) * step / 400, range_degc(letter)[1])
            mv = sum(c * degc**power for power, c in enumerate(coefficients)) + bump_mv(letter, degc, low)
            assert emf_mv(letter, degc) == pytest.approx(mv, abs=0.001)
            if degc > -260 and (letter != "B" or 260 <= degc < 1819.9):  # flat at the cold end; B is read from 0.291 mV
                assert temperature_degc(letter, mv) == pytest.approx(degc, abs=0.01)


@pytest.mark.parametrize("letter", TABLE_MV)
def test_gives_the_reference_table(letter):
    for degc, mv in zip(TABLE_DEGC, TABLE_MV[letter].split(), strict=True):
        assert emf_mv(letter, degc) == pytest.approx(float(mv), abs=0.00051)


# Computed, µV/K at 25, 100, 600, 1000 and 1250 °C.
# Cases 1 to 3: printed in the documents of the packages thermocouple-its90 (1, 2) and thermocouples_reference (3).
@pytest.mark.parametrize(
    ("letter", "degc", "mv"), [("K", 300, 12.209), ("S", 1400, 14.373), ("K", 42, 1.6938477), ("B", 1000, 4.834)]
)
def test_printed_emf(letter, degc, mv):
    assert emf_mv(letter, degc) == pytest.approx(mv, abs=0.001)


def test_the_cold_junction_is_added():
    # Case 4: printed in the documents of thermocouples_reference. Case 5: in those of thermocouple-its90.
    assert temperature_degc("K", 1.1, 23) == pytest.approx(49.908, abs=0.01)
    assert temperature_degc("K", 4.096, 25) == pytest.approx(124.3, abs=0.05)
    assert temperature_degc("K", 4.096) == pytest.approx(100.0, abs=0.02)


@given(st.sampled_from(["K", "N", "R", "S", "B"]), st.floats(0, 1), st.floats(0, 60))
def test_there_and_back(letter, share, cold_junction):
    low, high = range_degc(letter)
    low = {"B": 260.0}.get(letter, max(low, -200.0))
    degc = low + share * (high - low)
    mv = emf_mv(letter, degc, cold_junction)
    # Type B is read to 13.820 mV, which is 0.03 K short of its end.
    assert temperature_degc(letter, mv, cold_junction) == pytest.approx(degc, abs=0.03 if letter == "B" else 1e-6)


@pytest.mark.parametrize(
    ("letter", "degc", "span"),
    [("K", 1400, "-270 to 1372 °C"), ("N", 1301, "-270 to 1300 °C"), ("R", -60, "-50 to 1768.1 °C")],
)
def test_a_temperature_beyond_the_type_is_refused_with_its_range(letter, degc, span):
    with pytest.raises(QuantityError, match=f"type {letter} thermocouple: {degc} °C; expected {span}"):
        emf_mv(letter, degc)


@pytest.mark.parametrize(("letter", "mv"), [("K", 60.0), ("R", -1.0), ("B", 0.2), ("K", float("nan"))])
def test_an_emf_beyond_the_type_is_refused_with_its_range(letter, mv):
    with pytest.raises(QuantityError, match=f"type {letter} thermocouple: .* mV against 0 °C; expected .* to .* mV"):
        temperature_degc(letter, mv)


def test_an_unknown_type_is_refused():
    with pytest.raises(QuantityError, match="thermocouple: 'Z'; expected one of B, E, J, K, N, R, S, T"):
        emf_mv("Z", 100)


# Computed: what is shown at these true temperatures, cold junction 25 °C; None is above the range of the setting.
TRUE_DEGC = [100, 300, 600, 900, 1000, 1100, 1200, 1250, 1280]
SHOWN = {
    "R S": [100, 309, 634, 967, 1079, 1192, 1306, 1363, 1398],
    "R K": [37, 80, 158, 248, 280, 312, 345, 362, 372],
    "R N": [44, 105, 206, 311, 347, 384, 421, 439, 451],
    "R B": [323, 674, 1065, 1409, 1523, 1638, 1756, 1817, None],
    "S R": [100, 292, 569, 840, 930, 1019, 1107, 1151, 1177],
    "S K": [37, 78, 149, 229, 257, 286, 314, 329, 338],
    "S N": [44, 102, 195, 289, 321, 354, 386, 403, 412],
    "S B": [322, 662, 1028, 1342, 1443, 1544, 1646, 1698, 1729],
    "K R": [383, 1063] + 7 * [None],
    "K S": [398, 1150] + 7 * [None],
    "K N": [132, 370, 701, 1019, 1122, 1225] + 3 * [None],
    "K B": [792, 1595] + 7 * [None],
    "N R": [285, 870, 1691] + 6 * [None],
    "N S": [293, 933] + 7 * [None],
    "N K": [76, 238, 507, 786, 882, 978, 1076, 1124, 1154],
    "N B": [652, 1375] + 7 * [None],
    "B R": [31, 90, 251, 466, 546, 630, 716, 759, 786],
    "B S": [31, 90, 257, 487, 575, 667, 762, 810, 839],
    "B K": [26, 36, 69, 121, 143, 166, 191, 204, 212],
    "B N": [26, 41, 89, 160, 187, 216, 246, 261, 270],
}
OVERFIRES = {"R K", "S K", "R N", "S N", "S R", "N K", "B R", "B S", "B K", "B N"}


@pytest.mark.parametrize("pair", SHOWN)
def test_what_a_wrong_setting_shows(pair):
    probe, setting = pair.split()
    for true, shown in zip(TRUE_DEGC, SHOWN[pair], strict=True):
        found = mismatch(probe, setting, true_degc=true)
        assert found.out_of_range == ("above" if shown is None else "")
        if shown is not None:
            assert found.shown_degc == pytest.approx(shown, abs=0.51)
            assert found.error_k == pytest.approx(shown - true, abs=0.51)
        assert found.overfires == (pair in OVERFIRES)


# Computed: what the kiln is when these are shown, cold junction 25 °C; None is never reached.
WHEN_SHOWN = [60, 95, 120, 200, 300, 600, 1000, 1250]
TRUE = {
    "R K": [212, 363, 462, 745, 1063, None, None, None],
    "S K": [216, 376, 483, 794, 1150, None, None, None],
    "R N": [157, 270, 346, 583, 870, 1691, None, None],
    "S N": [159, 277, 358, 616, 933, None, None, None],
    "N K": [77, 126, 159, 256, 370, 701, 1122, None],
    "S R": [60, 95, 121, 204, 309, 634, 1079, 1363],
    "R S": [60, 95, 119, 197, 292, 569, 930, 1151],
    "K N": [48, 73, 91, 153, 238, 507, 882, 1124],
    "K R": [30, 37, 41, 57, 80, 158, 280, 362],
    "K S": [30, 36, 41, 57, 78, 149, 257, 329],
}


@pytest.mark.parametrize("pair", TRUE)
def test_what_the_kiln_is_when_the_set_point_is_shown(pair):
    probe, setting = pair.split()
    for shown, true in zip(WHEN_SHOWN, TRUE[pair], strict=True):
        found = mismatch(probe, setting, shown_degc=shown)
        if true is None:
            assert (found.true_degc, found.shown_degc, found.error_k) == (None, shown, None)
            assert (found.overfires, found.out_of_range) == (True, "above")
        else:
            assert found.true_degc == pytest.approx(true, abs=0.51)


def test_an_s_probe_on_an_r_setting():
    # Case 12, computed.
    assert emf_mv("S", 1250, 25) == pytest.approx(12.411, abs=0.001)
    found = mismatch("S", "R", true_degc=1250)
    assert found.shown_degc == pytest.approx(1151.18, abs=0.01)
    assert found.error_k == pytest.approx(-98.82, abs=0.01)
    assert mismatch("S", "R", shown_degc=1250).true_degc == pytest.approx(1363.4, abs=0.05)


@given(st.sampled_from(KILN_TYPES), st.floats(300, 1250))
def test_the_right_setting_shows_what_is(letter, degc):
    found = mismatch(letter, letter, true_degc=degc)
    assert found.error_k == pytest.approx(0, abs=1e-6)
    assert not found.overfires


def test_where_type_b_cannot_be_read_the_hotter_side_is_kept_in_mind():
    # Nobody knows what a B setting shows of a cold kiln, but it is less than 250 °C.
    cold, hot = mismatch("R", "B", true_degc=30), mismatch("B", "K", shown_degc=26)
    assert (cold.shown_degc, cold.out_of_range, cold.overfires) == (None, "below", False)
    assert (hot.true_degc, hot.out_of_range, hot.overfires) == (None, "below", True)


@pytest.mark.parametrize("both_or_none", [{}, {"true_degc": 100, "shown_degc": 100}])
def test_a_mismatch_starts_from_one_temperature(both_or_none):
    with pytest.raises(QuantityError, match="either the true or the shown temperature"):
        mismatch("R", "K", **both_or_none)


# Computed, controller at 25 °C: error with the head at 40 and at 60 °C, for R, S, K, N.
@pytest.mark.parametrize(
    ("fault", "true", "at_40", "at_60"),
    [
        ("copper", 100, [-12.5, -12.7, -14.8, -13.8], [-30.8, -31.3, -34.6, -33.1]),
        ("copper", 1000, [-6.9, -8.0, -15.7, -10.5], [-16.8, -19.3, -36.7, -24.8]),
        ("copper", 1250, [-6.6, -7.6, -17.1, -11.0], [-15.9, -18.4, -39.9, -26.1]),
        ("double_reversed", 1000, [-13.9, -16.0, -31.2, -21.0], [-33.8, -38.7, -73.0, -49.6]),
        ("double_reversed", 100, [-25, -26, -30, -28], [-65, -65, -70, -68]),
    ],
)
def test_errors_of_a_wrong_cable(fault, true, at_40, at_60):
    for head, errors in ((40, at_40), (60, at_60)):
        for letter, error in zip("RSKN", errors, strict=True):
            found = cable_fault(letter, fault, head, true)
            assert found.error_k == pytest.approx(error, abs=0.6 if true == 100 and fault != "copper" else 0.06)
            assert found.overfires


# Computed: probe, cable, true temperature, error with the head at 40 and 60 °C.
@pytest.mark.parametrize(
    ("probe", "cable", "true", "at_40", "at_60"),
    [
        ("R", "K", 100, 65, 143), ("S", "K", 100, 67, 148), ("N", "K", 100, 7, 16),
        ("R", "K", 1000, 39, 91), ("S", "K", 1000, 45, 104), ("N", "K", 1000, 5, 12),
        ("K", "S", 1000, -13, -31), ("K", "N", 1000, -5, -12),
    ],
)  # fmt: skip
def test_errors_of_a_cable_of_another_type(probe, cable, true, at_40, at_60):
    assert cable_fault(probe, "wrong_cable", 40, true, cable=cable).error_k == pytest.approx(at_40, abs=0.51)
    assert cable_fault(probe, "wrong_cable", 60, true, cable=cable).error_k == pytest.approx(at_60, abs=0.6)


@pytest.mark.parametrize(("probe", "cable"), [("R", "S"), ("S", "R"), ("K", "K")])
def test_the_cables_of_r_and_s_are_the_same(probe, cable):
    # Case 37, computed.
    assert cable_fault(probe, "wrong_cable", 60, 1000, cable=cable).error_k == pytest.approx(0, abs=1e-6)


def test_copper_at_a_hot_head():
    # Computed: head at 80 °C, 1250 °C.
    assert cable_fault("K", "copper", 80, 1250).error_k == pytest.approx(-63, abs=0.51)
    assert cable_fault("R", "copper", 80, 1250).error_k == pytest.approx(-26, abs=0.51)


def test_a_double_reversal_of_type_e():
    # Case 17: common practice; -2.456 mV, about -30 °C at 500 °C.
    assert emf_mv("E", 40) == pytest.approx(2.420, abs=0.001)
    assert emf_mv("E", 20) == pytest.approx(1.192, abs=0.001)
    found = cable_fault("E", "double_reversed", 40, 500, cold_junction_degc=20)
    assert emf_mv("E", found.shown_degc) - emf_mv("E", 500) == pytest.approx(-2.456, abs=0.002)
    assert found.error_k == pytest.approx(-30, abs=1)


# Computed, head and controller at 25 °C; None is below the range.
@pytest.mark.parametrize(
    ("probe", "true", "shown"),
    [("R", 30, 19.9), ("R", 50, -2.9), ("R", 75, -39), ("R", 100, None), ("R", 1000, None),
     ("K", 30, 20.0), ("K", 50, -0.6), ("K", 100, -56), ("K", 200, -218)],
)  # fmt: skip
def test_a_reversed_probe_falls_as_the_kiln_warms(probe, true, shown):
    found = cable_fault(probe, "reversed", 25, true)
    assert found.overfires
    assert found.out_of_range == ("below" if shown is None else "")
    if shown is not None:
        assert found.shown_degc == pytest.approx(shown, abs=0.51)


@pytest.mark.parametrize("true", [100, 600, 1250])
def test_a_dead_short_shows_the_head_whatever_the_kiln_is(true):
    found = cable_fault("R", "short", 45, true)
    assert found.shown_degc == pytest.approx(45, abs=1e-6)
    assert found.overfires


@pytest.mark.parametrize(("fault", "cable"), [("wrong_cable", None), ("copper", "K"), ("moth", None)])
def test_a_cable_fault_that_is_not_whole_is_refused(fault, cable):
    with pytest.raises(QuantityError, match="cable"):
        cable_fault("R", fault, 40, 1000, cable=cable)


# Case 19, and the values beside the table: computed from tables of the trade that give IEC 60584-1:2013.
@pytest.mark.parametrize(
    ("letter", "name", "degc", "expected"),
    [
        ("R", "1", 1250, 1.45), ("R", "2", 1000, 2.5), ("K", "2", 1000, 7.5), ("K", "1", 1250, None),
        ("R", "2", 1200, 3.0), ("K", "2", 1200, 9.0), ("K", "2", 1250, None), ("R", "1", 1100, 1.0),
        ("S", "1", 1100.001, 1.0), ("K", "1", 375, 1.5), ("R", "2", 600, 1.5), ("B", "2", 600, 1.5),
        ("B", "3", 800, 4.0),
        ("K", "3", -200, 3.0), ("N", "3", -100, 2.5), ("K", "3", 40, 2.5), ("K", "3", 41, None), ("K", "2", -40, 2.5),
        ("K", "standard", 1000, 7.5), ("R", "special", 1000, 1.0), ("R", "special", 300, 0.6),
    ],
)  # fmt: skip
def test_tolerances_of_new_wire(letter, name, degc, expected):
    found = tolerance_class(letter, name).at(degc)
    assert found == (None if expected is None else pytest.approx(expected, abs=0.001))


def test_a_k_probe_has_no_tolerance_where_stoneware_is_fired():
    assert tolerance_class("K", "1").to_degc == 1000
    assert tolerance_class("K", "2").to_degc == 1200
    assert tolerance_class("K", "3").at(1000) is None
    with pytest.raises(QuantityError, match="tolerance of type K: '4'; expected one of 1, 2, 3, standard"):
        tolerance_class("K", "4")


# Common practice: the examples beside the table of colours.
@pytest.mark.parametrize(
    ("colours", "types"),
    [
        (("green", "", "white"), {"K"}),
        (("green", "black", "red"), {"R", "S"}),
        (("green", "white", "blue"), {"R", "S"}),
        (("green", "red", "green"), {"K"}),
        (("orange", "", "white"), {"R", "S"}),
        (("orange", "", "red"), {"N"}),
        (("pink", "pink", "white"), {"N"}),
        (("green", "", ""), {"K", "R", "S"}),
        (("orange", "", ""), {"R", "S", "N"}),
    ],
)
def test_what_the_colours_of_a_cable_may_mean(colours, types):
    assert {letter for letter, _ in candidates(*colours)} == types


def test_green_with_a_green_conductor_is_the_old_german_k():
    assert candidates("green", "red", "green") == [("K", "DIN 43714 (old)")]


def test_red_is_negative_in_one_standard_and_positive_in_others():
    assert {standard for _, standard in candidates(negative="red")} == {"ANSI MC96.1"}
    assert {standard for _, standard in candidates(positive="red")} == {"DIN 43714 (old)", "JIS C1610 (1981)"}


def test_colours_that_no_standard_joins_are_no_candidate():
    assert candidates("pink", "black", "red") == []


@pytest.mark.parametrize("colours", [("tartan", "", ""), ("", "", "")])
def test_a_colour_that_no_standard_has_is_refused(colours):
    with pytest.raises(QuantityError, match="thermocouple cable"):
        candidates(*colours)


# Computed from resistivities from memory (case 33: K 1.0 mm and R 0.5 mm); K and N agree with a common wire table.
@pytest.mark.parametrize(
    ("letter", "diameter", "expected", "within"),
    [
        ("K", 1.0, 1.27, 0.01), ("R", 0.5, 1.53, 0.01), ("K", 0.35, 10.4, 0.05), ("K", 0.5, 5.09, 0.01),
        ("K", 3.0, 0.14, 0.01), ("N", 0.5, 6.77, 0.01), ("N", 1.0, 1.69, 0.01), ("N", 3.26, 0.16, 0.01),
        ("S", 0.5, 1.5, 0.05), ("R", 1.0, 0.38, 0.01), ("K", 0.511, 4.89, 0.03),
    ],
)  # fmt: skip
def test_ohms_of_a_loop(letter, diameter, expected, within):
    assert loop_ohm(letter, 1, diameter) == pytest.approx(expected, abs=within)


# Ohms of a double foot at 20 °C, as a common table of thermocouple and extension wire gives them; KCA as its J, KCB as
# its T.
@pytest.mark.parametrize(
    ("wire", "by_gauge"),
    [
        ("KX", {14: 0.147, 16: 0.233, 18: 0.376, 20: 0.589, 24: 1.490}),
        ("NX", {14: 0.195, 16: 0.310, 18: 0.500, 20: 0.783, 24: 1.980}),
        ("KCA", {14: 0.091, 16: 0.145, 18: 0.234, 20: 0.367, 24: 0.928}),
        ("KCB", {14: 0.076, 16: 0.120, 18: 0.194, 20: 0.304, 24: 0.768}),
        ("RX", {18: 0.025, 20: 0.040, 22: 0.063, 24: 0.100, 26: 0.159}),
        ("SX", {18: 0.025, 20: 0.040, 22: 0.063, 24: 0.100, 26: 0.159}),
    ],
)
def test_ohms_of_a_cable_are_those_of_a_printed_table(wire, by_gauge):
    found = {gauge: loop_ohm(wire, 0.3048, diameter_of_awg_mm(gauge)) for gauge in by_gauge}

    assert found == pytest.approx(by_gauge, rel=0.02)


def test_probe_and_cable_add_up_to_a_worked_example():
    # 3 ft of K, 20 AWG, and 20 ft of its cable, 14 AWG: 4.7002 ohm (documentation of a package of thermocouple sums)
    probe, cable = (loop_ohm(wire, feet * 0.3048, diameter_of_awg_mm(gauge))
                    for wire, feet, gauge in (("K", 3, 20), ("KX", 20, 14)))  # fmt: skip

    assert probe + cable == pytest.approx(4.7002, rel=0.005)


def test_a_cross_section_is_that_of_a_round_wire():
    # ASTM B258, from memory: 14 AWG is 1.628 mm and 2.081 mm², 20 AWG 0.8118 mm and 0.5176 mm²
    for gauge, diameter, area in ((14, 1.628, 2.081), (20, 0.8118, 0.5176)):
        assert diameter_of_awg_mm(gauge) == pytest.approx(diameter, rel=1e-3)
        assert diameter_of_area_mm(area) == pytest.approx(diameter, rel=1e-3)


def test_every_wire_that_may_be_named_has_its_ohms_once():
    assert sorted(loop_wires()) == sorted(get_args(Wire))


@pytest.mark.parametrize("size", [-1, float("nan"), 301])
def test_a_conductor_that_cannot_be_is_refused(size):
    for of in (diameter_of_area_mm, diameter_of_awg_mm):
        with pytest.raises(QuantityError, match="conductor"):
            of(size)


def test_ohms_alone_do_not_tell_the_type():
    # Computed: 0.4 m of R, 0.5 mm, has ten times the ohms of 0.4 m of K, 3 mm; of equal size, K has 3.3 times as many.
    assert loop_ohm("R", 0.4, 0.5) == pytest.approx(0.6, abs=0.02)
    assert loop_ohm("K", 0.4, 3.0) == pytest.approx(0.06, abs=0.005)
    assert loop_ohm("K", 1, 1) / loop_ohm("R", 1, 1) == pytest.approx(3.3, abs=0.05)


@pytest.mark.parametrize(("letter", "length", "diameter"), [("B", 1, 1), ("K", 0, 1), ("K", 1, -1)])
def test_a_loop_that_cannot_be_is_refused(letter, length, diameter):
    with pytest.raises(QuantityError, match="loop"):
        loop_ohm(letter, length, diameter)


# Computed: what boiling water (99.97 °C) gives, head and meter at 25 and at 20 °C.
@pytest.mark.parametrize(
    ("letter", "at_25", "at_20"), [("K", 3.095, 3.297), ("N", 2.115, 2.248), ("R", 0.507, 0.536), ("S", 0.503, 0.533)]
)
def test_millivolts_of_a_probe_in_boiling_water(letter, at_25, at_20):
    assert emf_mv(letter, 99.97, 25) == pytest.approx(at_25, abs=0.00051)
    assert emf_mv(letter, 99.97, 20) == pytest.approx(at_20, abs=0.00051)


# Computed: 0.3 V through 100 or 10 kΩ of wet insulation, in a loop of 3 Ω.
def test_on_the_bench_millivolts_give_what_a_controller_must_show():
    for degc in BENCH_DEGC:
        assert temperature_degc("R", emf_mv("R", degc, 22), 22) == pytest.approx(degc, abs=1e-6)
    # The printed table less the emf of the terminals: 10.506 - 0.123 mV (0.111 at 20 and 0.141 at 25 °C).
    assert emf_mv("R", 1000, 22) == pytest.approx(10.506 - 0.123, abs=0.001)


def test_saturation_gives_the_published_check_values():
    # Case 30: IF97, region 4, verification values from memory; the saturation line is another fit to the same water.
    assert boiling_degc(100_000) + 273.15 == pytest.approx(372.755919, abs=2e-3)
    assert boiling_degc(1_000_000) + 273.15 == pytest.approx(453.035632, abs=2e-2)


# Computed; the standard atmosphere from memory.
@pytest.mark.parametrize(
    ("altitude", "hpa", "degc"),
    [(0, 1013.2, 99.97), (100, 1001.3, 99.64), (200, 989.5, 99.31), (300, 977.7, 98.98), (500, 954.6, 98.31),
     (1000, 898.7, 96.65), (1500, 845.6, 94.98), (1600, 835.2, 94.65), (2000, 795.0, 93.32), (2500, 746.8, 91.64),
     (3000, 701.1, 89.97)],
)  # fmt: skip
def test_boiling_by_altitude(altitude, hpa, degc):
    assert pressure_at_pa(altitude) == pytest.approx(100 * hpa, abs=6)
    assert boiling_degc(pressure_at_pa(altitude)) == pytest.approx(degc, abs=0.006)


@given(st.floats(950, 1030))
def test_the_short_form_of_boiling_holds_near_sea_level(hpa):
    # Computed: 99.97 + 0.0276 (p - 1013.25), within 0.06 K from 950 to 1030 hPa.
    assert boiling_degc(100 * hpa) == pytest.approx(99.97 + 0.0276 * (hpa - 1013.25), abs=0.06)


@pytest.mark.parametrize("altitude", [-451, 5001, float("nan")])
def test_an_altitude_without_kilns_is_refused(altitude):
    with pytest.raises(QuantityError, match="height above the sea"):
        pressure_at_pa(altitude)


def test_the_heights_that_are_asked_for_are_those_that_can_be_reckoned():
    asked = questionnaire().questions["site.altitude"]

    assert (asked.at_least, asked.at_most) == (LOWEST_M, HIGHEST_M)
