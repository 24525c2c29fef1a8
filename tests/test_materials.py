"""What a lining material is: handbook values with their source, and what is refused beyond their range."""

from math import e, exp

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recover.base.errors import QuantityError
from recover.physics.materials import material, material_data, materials
from recover.physics.matter import matter

hours = st.floats(0, 720)
days = st.floats(0, 30)
names = st.sampled_from(sorted(materials()))


@pytest.mark.parametrize(
    ("material_id", "values"),
    [  # J/kgK by °C: VDI Heat Atlas 2010, as quoted in ht 1.2.0
        ("ifb_23", {400: 942, 600: 979, 800: 1002, 1000: 1017}),
        ("ifb_26", {400: 954, 600: 994, 800: 1018, 1000: 1034}),
        ("ifb_28", {400: 979, 600: 1026, 800: 1054, 1000: 1075}),
        ("bubble_alumina", {400: 1011, 600: 1066, 800: 1099, 1000: 1124}),
        ("dense_brick", {400: 956, 600: 997, 800: 1021, 1000: 1037}),
        ("high_duty_brick", {400: 987, 600: 1035, 800: 1065, 1000: 1087}),  # mullite
    ],
)
def test_the_straight_line_of_heat_capacity_is_within_one_and_a_half_per_cent_of_the_handbook(material_id, values):
    for degc, cp in values.items():
        assert material(material_id).heat_capacity_j_kgk(degc).mid == pytest.approx(cp, rel=0.015)


def test_blanket_takes_up_more_heat_when_hot():
    """900 J/kgK at 20 °C (from memory)."""
    assert material("blanket").heat_capacity_j_kgk(20).mid == pytest.approx(900, rel=0.005)


@pytest.mark.parametrize(
    ("material_id", "permeability_m2"),
    [("ifb_23", 1e-11), ("calcium_silicate", 3e-14), ("dense_brick", 1e-14), ("castable_low_cement", 1e-16)],
)  # orders of magnitude, from memory; no measurement for insulating brick was found
def test_gas_passes_insulating_brick_far_more_easily_than_anything_dense(material_id, permeability_m2):
    found = material(material_id).moisture.permeability_m2
    assert found.mid == permeability_m2
    assert found.high / found.low >= 10


def test_steam_finds_a_castable_with_little_cement_the_tightest_of_all():
    """Published drying tests of castables (abstract): the highest pressure with fine silica and little cement."""
    tightest = min(materials().values(), key=lambda entry: entry.moisture.permeability_m2.mid)
    assert tightest.id == "castable_low_cement"


def test_liquid_moves_the_faster_the_fuller_the_pores():
    """The exponent is 8: from half full to full e⁴ = 54.6 times, from empty to half the same (own limits)."""
    brick = matter(material("ifb_23"), lambda _, quantity: quantity.mid)

    def liquid_m2_s(full):
        return brick.liquid0_m2_s * exp(brick.liquid_exponent * full)

    assert liquid_m2_s(0.5) == pytest.approx(2e-8)
    assert liquid_m2_s(1.0) == pytest.approx(2e-8 * e**4)
    assert liquid_m2_s(0.0) == pytest.approx(3.663e-10, rel=1e-3)


def test_full_pores_conduct_better_by_what_the_file_says():
    """Insulating brick: 0.10 W/mK dry at 0 °C and 0.35 more when full (own, after measured cellular concrete)."""
    brick = matter(material("ifb_23"), lambda _, quantity: quantity.mid)

    def conductivity_w_mk(degc, full):
        return brick.k0_w_mk + brick.k1_w_mk2 * degc + brick.wet_k_w_mk * full

    assert material("ifb_23").conductivity_w_mk(0).mid == pytest.approx(0.10)
    assert conductivity_w_mk(0, full=1) == pytest.approx(0.45)
    assert conductivity_w_mk(100, full=0.5) == pytest.approx(0.10 + 0.01 + 0.175)


@given(names)
def test_every_material_conducts_and_holds_heat_from_0_degc(name):
    assert material(name).conductivity_w_mk(0).low > 0
    assert material(name).heat_capacity_j_kgk(0).low > 700


@pytest.mark.parametrize(
    ("refused", "expected"),
    [
        (lambda: material("ifb_23").conductivity_w_mk(-1), "0 to 1000 °C"),
        (
            lambda: material("blanket").heat_capacity_j_kgk(601),
            "heat capacity of blanket: 601 °C; expected 0 to 600 °C",
        ),
        (lambda: material("ifb_23").soaked_for(721), "hours under water: 721; expected 0 to 720 h"),
        (lambda: material("ifb_23").soaked_for(-1), "0 to 720 h"),
        (lambda: material("ifb_23").soaked_for(24, 31), "days drained: 31; expected 0 to 30 days"),
    ],
)
def test_what_lies_outside_its_range_is_refused_with_the_range(refused, expected):
    with pytest.raises(QuantityError, match=expected):
        refused()


# ---------------------------------------------------------------------------------------- hours and days


def test_a_brick_that_was_wetted_for_minutes_holds_what_splashed_brick_holds():
    """About half a kilogram in a standard brick of 1.66 l, 270 kg/m³ (common practice)."""
    assert material("ifb_23").soaked_for(0.25).mid == pytest.approx(270)


def test_hours_to_days_fill_half_of_the_pores_and_a_month_not_all():
    """0.55 of the pores after hours to days, from 0.35 to 0.75; 740 to 780 only after long immersion (own)."""
    brick = material("ifb_23")
    for after in (12, 24, 48, 72):
        assert 0.35 < brick.soaked_for(after).mid / 780 < 0.75
    assert brick.soaked_for(48).mid == pytest.approx(400)
    assert 400 < brick.soaked_for(720).mid < 740


def test_after_days_the_coarse_pores_of_brick_have_drained_and_fine_board_has_not():
    """Drained for days: 270 kg/m³ (own); a pore of 50 µm holds a column of 0.6 m, more than a board is high."""
    assert material("ifb_23").soaked_for(48, 30).mid == pytest.approx(270, rel=0.01)
    board = material("calcium_silicate")
    assert board.soaked_for(48, 30) == board.soaked_for(48, 0)


def test_hours_that_nobody_knows_count_as_the_table_says():
    for entry in materials().values():
        table = entry.uptake.soaked_kg_m3
        assert entry.soaked_for(None).mid == table.mid
        assert (entry.soaked_for(None).low, entry.soaked_for(None).high) == (table.low, table.high)


def no_less(less, more):
    return all(getattr(less, end) <= getattr(more, end) + 1e-9 for end in ("low", "mid", "high"))


@given(names, hours, hours, days, days)
def test_longer_under_water_and_fewer_days_drained_is_never_less_water(name, short, long, few, many):
    (short, long), (few, many) = sorted((short, long)), sorted((few, many))
    found = material(name)
    assert no_less(found.soaked_for(short, few), found.soaked_for(long, few))
    assert no_less(found.soaked_for(long, many), found.soaked_for(long, few))


@given(names, hours, days)
def test_no_time_under_water_overfills_the_pores(name, under, drained):
    found = material(name).soaked_for(under, drained)
    assert material(name).uptake.splashed_kg_m3.low <= found.low + 1e-9
    assert found.high <= 1000 * material(name).open_porosity.high + 1e-9


def test_a_month_is_what_is_counted():
    assert material_data().counted_hours.mid == 30 * 24
    assert material_data().counted_days.mid == 30
