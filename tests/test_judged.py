"""The sums that facts ask for: what they come to where everything is known, and where something is not."""

import pytest

from recover.engineering.sums import earth_limit, sums

pytestmark = pytest.mark.quick

UK = sums("uk")


def of(*values):
    """Return answers as what they may be: a list is several, None anything, () nothing."""
    return [None if value is None else frozenset(value if isinstance(value, list | tuple) else [value])
            for value in values]  # fmt: skip


@pytest.mark.parametrize(
    ("kw", "volts", "amps", "phases", "misfit"),
    [
        (9.2, 230, 40, "single", "no"), (10.2, 230, 40, "single", "no"), (10.3, 230, 40, "single", "yes"),
        (8.37, 230, 40, "single", "no"), (8.36, 230, 40, "single", "yes"), (15, 400, 21.7, "three", "no"),
        (15, 400, 21.7, "single", "yes"), (10, 225, 40, "single", "no"),
    ],
)  # fmt: skip
def test_a_plate_agrees_with_itself_within_a_tenth_of_its_power(kw, volts, amps, phases, misfit):
    """U times I, times 1.732 for three phases; a tenth is our own limit."""
    assert UK["power_mismatch"](of(kw, volts, amps, phases)) == {misfit}


@pytest.mark.parametrize("missing", range(4))
@pytest.mark.parametrize("value", [None, ()])
def test_a_plate_that_is_not_known_in_full_is_not_judged(missing, value):
    plate = [9.2, 230, 80, "single"]
    plate[missing] = value

    assert UK["power_mismatch"](of(*plate)) is None


@pytest.mark.parametrize(
    ("country", "kw", "limits_ma"),
    [("uk", 3, {5.0}), ("uk", [3, 12], {5.0}), ("uk", None, {5.0}), ("eu", 3, {3.5}), ("eu", 4.5, {4.5}),
     ("eu", [3, 9], {3.5, 5.0}), ("eu", None, {3.5, 5.0}), ("us", None, {5.0})],
)  # fmt: skip
def test_leakage_is_let_pass_at_the_countrys_figure_and_never_above_our_own(country, kw, limits_ma):
    """EN 60335-1 and others by the profiles; 5 mA is our own limit. Of an unknown power both ends of the rule."""
    assert sums(country)["leakage_entry_ma"](of(kw)) <= {*limits_ma, 0.75, 3.5, 5.0}
    assert max(sums(country)["leakage_entry_ma"](of(kw))) <= 5.0


# 9.2 kW at 230 V: 40 A. Own limits: at least 0.95 of it, times the country's load factor; at most 1.5 times, or the
# next rating; the cable bears it.
@pytest.mark.parametrize(
    ("device_a", "area", "fit"),
    [
        (40, "10", "within"), (50, "10", "within"), (60, "16", "within"), (61, "other", "over"), (63, "other", "over"),
        (38, "10", "within"), (37.9, "10", "under"), (50, "2.5", "over"), (40, None, "within"), (20, "10", "under"),
    ],
)  # fmt: skip
def test_a_breaker_suits_current_and_cable(device_a, area, fit):
    assert UK["device_fit"](of(device_a, area, 9.2, 230, "single", "fixed")) == {fit}


def test_a_breaker_that_nobody_read_has_no_fit_and_one_of_an_unknown_kiln_any():
    assert UK["device_fit"](of((), "10", 9.2, 230, "single", "fixed")) == frozenset()
    for plate in ((None, 230, "single"), (9.2, None, "single"), (9.2, 230, None), (9.2, (), "single")):
        assert UK["device_fit"](of(40, "10", *plate, "fixed")) is None
    assert UK["device_fit"](of(None, "10", 9.2, 230, "single", "fixed")) is None


def test_a_small_kiln_may_have_the_next_rating_above_its_current():
    """0.7 kW at 230 V: 3.0 A. 6 A is twice that, and the least that there is above it (BS EN 60898, from memory)."""
    assert UK["device_fit"](of(6, "2.5", 0.7, 230, "single", "fixed")) == {"within"}
    assert UK["device_fit"](of(10, "2.5", 0.7, 230, "single", "fixed")) == {"over"}


def test_three_lines_share_the_current():
    """15 kW at 400 V in three phases: 21.7 A, and 37.5 A in one."""
    assert UK["device_fit"](of(25, "6", 15, 400, "three", "fixed")) == {"within"}
    assert UK["device_fit"](of(25, "6", 15, 400, "single", "fixed")) == {"under"}


def test_a_cable_bears_less_where_three_of_its_conductors_carry():
    """2.5 mm²: 24 A in two, 21 A in three; 4 mm²: 32 and 28 A (the table of cables)."""
    assert UK["device_fit"](of(24, "2.5", 5.06, 230, "single", "fixed")) == {"within"}
    assert UK["device_fit"](of(32, "4", 15, 400, "three", "fixed")) == {"over"}
    assert UK["device_fit"](of(28, "4", 15, 400, "three", "fixed")) == {"within"}


def test_at_a_plug_the_cord_counts_and_of_an_unknown_connection_both():
    """4 mm², two loaded: 32 A in conduit, 30 A as a rubber cable; 1.5 mm²: 16 A, cord alone (the table of cables)."""
    assert UK["device_fit"](of(32, "4", 7.2, 230, "single", "fixed")) == {"within"}
    assert UK["device_fit"](of(32, "4", 7.2, 230, "single", "plug")) == {"over"}
    assert UK["device_fit"](of(32, "4", 7.2, 230, "single", None)) == {"within", "over"}
    assert UK["device_fit"](of(16, "1.5", 3.5, 230, "single", "plug")) == {"within"}
    assert UK["device_fit"](of(20, "1.5", 3.5, 230, "single", "plug")) == {"over"}
    assert UK["device_fit"](of(20, "1.5", 3.5, 230, "single", "fixed")) == {"over"}
    assert UK["device_fit"](of(13, "1", 2.9, 230, "single", "plug")) == {"over"}


def test_a_conductor_that_is_not_known_makes_no_limit_milder():
    known = UK["earth_limit_ohm"](of(20, "2.5", "plug"))
    fixed = UK["earth_limit_ohm"](of(20, "2.5", "fixed"))
    unknown = UK["earth_limit_ohm"](of(None, None, None))

    assert max(unknown) == pytest.approx(0.1)
    assert min(known) > min(fixed) > max(unknown)
    assert UK["earth_limit_ohm"](of(20, "2.5", None)) == fixed
    assert UK["earth_limit_ohm"](of(None, "2.5", "plug")) == UK["earth_limit_ohm"](of(0, "2.5", "plug"))
    assert known == {earth_limit("uk", 20, "2.5", "plug").ohm}
    assert earth_limit("uk", 20, "other", "plug").ohm == pytest.approx(0.1)


@pytest.mark.parametrize(
    ("numbers", "total"),
    [((400, 270), {670}), (([400, 500], 270), {670, 770}), (([1, 2], [1, 2]), {2, 3, 4}), ((400, None), None),
     ((400, ()), None), ((None, None), None)],
)  # fmt: skip
def test_a_total_is_known_where_each_of_its_numbers_is(numbers, total):
    assert UK["total"](of(*numbers)) == total
