"""Supply, power and device beside the plate: what fits, what contradicts, and what stays open.

The kiln of most cases is the school's: 15 kW at 400 V, a star of six elements, 5.1 ohm each by its papers. Its plate
calls for 5.33 ohm an element when hot, 5.13 cold in a star and 15.4 in a delta (computed: U²/P over two, times three).
"""

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recover.engineering.supply import bears_a
from recover.report.resistances import resistances
from tests.conftest import answers_from, assessed

pytestmark = pytest.mark.quick

KILN = "kiln/1"
SCHOOL = {
    f"identity.volts@{KILN}": 400.0, f"identity.kw@{KILN}": 15.0, f"identity.phases@{KILN}": "three",
    f"identity.amps@{KILN}": 22.0, f"scope.zones@{KILN}": 1, f"element.count@{KILN}": 6,
    f"element.alloy@{KILN}": "fecral", f"element.connection@{KILN}": "star", f"element.strings@{KILN}": 1,
    f"element.alike@{KILN}": "yes", f"element.expected_ohm@{KILN}": 5.1, f"supply.volts@{KILN}": 400.0,
    f"zone.ohm@{KILN}/zone/1": 21.1,
    **{f"element.ohm@{KILN}/element/{place}": 5.17 + 0.03 * place for place in range(1, 7)},
}  # fmt: skip
ALL = {"within", "under", "over"}


def fact(name, known, profile="uk", at=KILN):
    return answers_from(known, profile).fact(name, at)


def school(**changed):
    """The school's kiln with some answers about the kiln changed: a name with one underscore for the point."""
    return SCHOOL | {f"{name.replace('_', '.', 1)}@{KILN}": value for name, value in changed.items()}


def problems(known, profile="uk"):
    return " ".join(str(problem) for problem in assessed(known, profile).problems)


def test_an_honestly_measured_kiln_closes_to_the_mildest_of_each():
    assert [fact(name, SCHOOL) for name in ("supply_fit", "power_fit", "papers_fit")] == [{"within"}] * 3
    assert fact("zone_ohms", SCHOOL, at=f"{KILN}/zone/1") == {"within"}
    assert fact("device_fit", SCHOOL) == frozenset()
    assert problems(SCHOOL) == ""


# ---------------------------------------------------------------------------------------- supply


@pytest.mark.parametrize(
    ("plate", "supply", "fit"),
    [
        # From memory: 1.15 of rated power (IEC 60335-1, 11) is 1.072 of the voltage; a tenth below (IEC 60038)
        (230.0, 230.0, "within"), (230.0, 240.0, "within"), (230.0, 246.5, "within"), (230.0, 246.6, "over"),
        (208.0, 240.0, "over"), (240.0, 208.0, "low"), (230.0, 207.0, "within"), (230.0, 206.9, "low"),
        (400.0, 415.0, "within"), (230.0, 400.0, "over"), (400.0, 230.0, "low"),
    ],
)  # fmt: skip
def test_measured_supply_is_held_against_the_plate(plate, supply, fit):
    assert fact("supply_fit", school(identity_volts=plate, supply_volts=supply)) == {fit}


@pytest.mark.parametrize("missing", ["identity_volts", "supply_volts"])
def test_a_supply_or_a_plate_that_is_not_known_may_be_anything(missing):
    assert fact("supply_fit", school(**{missing: None})) == {"within", "low", "over"}


# ---------------------------------------------------------------------------------------- power


def test_papers_of_a_star_in_a_delta_are_three_times_the_power():
    wrong = school(element_connection="delta")

    assert fact("papers_fit", wrong) == {"over"}
    assert fact("power_fit", wrong) == {"over"}
    assert fact("power_fit", {**wrong, f"element.expected_ohm@{KILN}": None}) == {"over"}  # by its elements alone


def test_papers_of_a_delta_in_a_star_are_a_third_of_the_power():
    assert fact("papers_fit", school(element_expected_ohm=15.4)) == {"under"}


def test_240_v_on_a_plate_of_208_v_is_over_in_power_as_well():
    kiln = {
        **school(identity_volts=208.0, identity_kw=8.64, identity_phases="single", element_connection="single",
                 supply_volts=240.0, element_expected_ohm=None, element_count=1),
        f"element.ohm@{KILN}/element/1": 4.9, f"zone.ohm@{KILN}/zone/1": 4.9,
    }  # fmt: skip  # computed: 208²/8640 is 5.007 ohm hot

    assert fact("power_fit", kiln, "us") == {"over"}
    assert fact("power_fit", {**kiln, f"supply.volts@{KILN}": 209.0}, "us") == {"within"}


@pytest.mark.parametrize(
    ("share", "fit"),
    [
        # own limit 0.8 and, from memory, 1.15 (IEC 60335-1, 11), of power hot: 1.04 of cold ohms (common practice)
        (0.836, {"over"}), (0.837, {"within"}), (1.0, {"within"}), (1.2015, {"within"}), (1.2025, {"under"}),
    ],
)  # fmt: skip
def test_the_power_of_measured_circuits_is_held_against_the_plate(share, fit):
    by_zones = school(element_singly="no", element_expected_ohm=None)

    assert fact("power_fit", {**by_zones, f"zone.ohm@{KILN}/zone/1": 2 * 400**2 / 15000 * share}) == fit


def test_a_supply_within_its_own_limit_can_still_be_too_much_with_ohms_that_are():
    low_ohms = school(element_singly="no", element_expected_ohm=None)
    low_ohms[f"zone.ohm@{KILN}/zone/1"] = 2 * 400**2 / 15000 * 0.9

    assert fact("power_fit", low_ohms) == {"within"}
    assert fact("power_fit", {**low_ohms, f"supply.volts@{KILN}": 425.0}) == {"over"}
    assert fact("supply_fit", {**low_ohms, f"supply.volts@{KILN}": 425.0}) == {"within"}


NEEDED = ["identity_volts", "identity_kw", "identity_phases", "supply_volts", "scope_zones", "element_connection",
          "element_alloy", "element_alike", "element_count", "element_strings"]  # fmt: skip


@pytest.mark.parametrize("missing", NEEDED)
def test_without_one_of_these_the_power_is_open(missing):
    assert {"within", "over"} <= fact("power_fit", school(**{missing: None}))


@pytest.mark.parametrize("reading", [f"zone.ohm@{KILN}/zone/1", f"element.ohm@{KILN}/element/4"])
def test_without_a_reading_the_power_is_open(reading):
    assert fact("power_fit", {**SCHOOL, reading: None}) == ALL


def test_where_elements_do_not_come_apart_the_circuits_are_enough():
    unread = {**SCHOOL, **{f"element.ohm@{KILN}/element/{place}": None for place in range(1, 7)}}

    assert fact("power_fit", unread) == ALL
    assert fact("power_fit", {**unread, f"element.singly@{KILN}": "no"}) == {"within"}
    assert fact("power_fit", {**unread, f"element.alike@{KILN}": "no"}) == {"within"}


def test_what_circuits_allow_does_not_outvote_the_elements():
    kiln = {**SCHOOL, **{f"element.ohm@{KILN}/element/{place}": 4.0 for place in range(1, 7)}}

    assert fact("power_fit", {**kiln, f"element.expected_ohm@{KILN}": None}) == {"over"}


def test_phases_that_contradict_the_connection_leave_the_power_open():
    assert fact("power_fit", school(identity_phases="single")) == ALL


@pytest.mark.parametrize("rods", ["carbide", "disilicide"])
def test_rods_are_judged_by_the_electrician_alone(rods):
    kiln = school(element_alloy=rods)

    assert fact("power_fit", kiln) == ALL
    assert fact("power_fit", {**kiln, f"energise.power_found@{KILN}": "yes"}) == {"within"}
    assert fact("power_fit", {**kiln, f"energise.power_found@{KILN}": "no"}) == {"over"}


def test_several_circuits_of_a_star_need_their_elements_or_the_electrician():
    kiln = {**school(scope_zones=2), f"zone.ohm@{KILN}/zone/2": 21.1}
    unlike = {**kiln, f"element.alike@{KILN}": "no"}

    assert fact("power_fit", kiln) == {"within"}
    assert fact("power_fit", unlike) == ALL
    assert fact("power_fit", {**unlike, f"energise.power_found@{KILN}": "yes"}) == {"within"}


def test_the_electricians_word_never_stands_against_ohms_that_tell():
    for wrong in (school(element_connection="delta"), school(supply_volts=None), school(identity_phases="single")):
        assert "over" in fact("power_fit", {**wrong, f"energise.power_found@{KILN}": "yes"})
    assert fact("power_fit", {**SCHOOL, f"energise.power_found@{KILN}": "no"}) == {"over"}


NOT_OPTIONAL = sorted(set(SCHOOL) - {f"element.expected_ohm@{KILN}"})


@given(st.sampled_from(NOT_OPTIONAL), st.sampled_from(["star", "delta", "star_neutral"]), st.floats(350, 480),
       st.floats(4, 18), st.floats(8, 30), st.sampled_from(["yes", "no", None]))  # fmt: skip
def test_what_is_not_known_stands_for_all_that_it_could_be(missing, connection, volts, ohm, circuit, found):
    known = {
        **school(element_connection=connection, supply_volts=volts, energise_power_found=found),
        **{f"element.ohm@{KILN}/element/{place}": ohm for place in range(1, 7)}, f"zone.ohm@{KILN}/zone/1": circuit,
    }  # fmt: skip
    for name, at in (("power_fit", KILN), ("supply_fit", KILN), ("zone_ohms", f"{KILN}/zone/1")):
        assert fact(name, known, at=at) <= fact(name, {**known, missing: None}, at=at)


@given(st.floats(370, 500), st.floats(370, 500))
def test_more_volts_never_make_supply_or_power_milder(one, other):
    lower, higher = (school(supply_volts=volts) for volts in sorted((one, other)))

    for name, order in (("supply_fit", ["within", "over"]), ("power_fit", ["within", "over"])):
        before, after = (fact(name, known) for known in (lower, higher))
        assert max(order.index(value) for value in after) >= max(order.index(value) for value in before)


# ---------------------------------------------------------------------------------------- circuits


@pytest.mark.parametrize(
    ("share", "judged"),
    [
        # the bands of elements by a plate; own limit 1.08 where one open string among many would hide
        (0.89, "reject"), (0.902, "look_closer"), (0.91, "within"), (1.0, "within"), (1.079, "within"),
        (1.081, "look_closer"), (1.112, "worn"), (1.151, "reject"), (200.0, "reject"),
    ],
)  # fmt: skip
def test_circuits_are_judged_by_the_plate(share, judged):
    known = {**SCHOOL, f"zone.ohm@{KILN}/zone/1": 2 * 400**2 / 15000 * share}

    assert fact("zone_ohms", known, at=f"{KILN}/zone/1") == {judged}


def test_circuits_side_by_side_are_judged_together_and_not_before_all_are_measured():
    two = {**school(scope_zones=2, identity_phases="single", element_connection="single", identity_volts=230.0,
                    identity_kw=9.0), f"zone.ohm@{KILN}/zone/1": 9.0, f"zone.ohm@{KILN}/zone/2": 16.5}  # fmt: skip

    for place in (1, 2):  # computed: 9 beside 16.5 are 5.82 ohm, 230²/9000 is 5.88
        assert fact("zone_ohms", two, at=f"{KILN}/zone/{place}") == {"within"}
    unread = {**two, f"zone.ohm@{KILN}/zone/2": None}
    assert len(fact("zone_ohms", unread, at=f"{KILN}/zone/1")) == 4


# ---------------------------------------------------------------------------------------- device


@pytest.mark.parametrize(
    ("profile", "device_a", "area", "fit"),
    [
        # 15 kW at 400 V are 21.65 A (computed). Next rating 25 A; from memory of the NEC, 422.11(E)(3): 1.5 times is
        # 32.5 A; own limit: 0.95 of the current. Cables: common practice, 4 mm² of three loaded conductors bears 28 A.
        ("uk", 20.0, None, "under"), ("uk", 20.6, None, "within"), ("uk", 25.0, None, "within"),
        ("uk", 32.0, None, "within"), ("uk", 33.0, None, "over"), ("uk", 63.0, None, "over"),
        ("uk", 25.0, "2.5", "over"), ("uk", 25.0, "4", "within"), ("uk", 32.0, "4", "over"),
        ("uk", 32.0, "6", "within"),
        ("uk", 32.0, "other", "within"),
        ("us", 25.0, None, "under"), ("us", 30.0, None, "within"), ("us", 30.0, "awg_10", "within"),
        ("us", 30.0, "awg_12", "over"), ("us", 35.0, "awg_10", "over"),
    ],
)  # fmt: skip
def test_a_device_is_held_against_current_and_cable(profile, device_a, area, fit):
    known = school(supply_device_a=device_a, supply_area=area, scope_connection="fixed")

    assert fact("device_fit", known, profile) == {fit}


def test_a_plug_of_13_a_bears_a_kiln_of_3_kw():
    kiln = {f"identity.volts@{KILN}": 230.0, f"identity.kw@{KILN}": 3.0, f"identity.phases@{KILN}": "single",
            f"supply.device_a@{KILN}": 13.0}  # fmt: skip

    assert fact("device_fit", kiln) == {"within"}


def test_a_device_before_an_unknown_kiln_may_be_anything():
    for name in ("identity_kw", "identity_volts", "identity_phases"):
        assert fact("device_fit", school(supply_device_a=25.0, **{name: None})) == ALL


def test_the_least_of_the_tables_counts_for_a_cable():
    assert [bears_a("4", 3), bears_a("4", 2), bears_a("awg_8", 3)] == [28, 32, 40]  # common practice
    assert [bears_a("4", 3, cord=True), bears_a("4", 2, cord=True), bears_a("awg_8", 3, cord=True)] == [
        25, 30, 35,
    ]  # fmt: skip
    assert [bears_a("1.5", 2), bears_a("awg_16", 2), bears_a("awg_18", 2)] == [16, 13, None]


# ---------------------------------------------------------------------------------------- what is said


@pytest.mark.parametrize(
    ("contrary", "neighbour", "words"),
    [
        ({"identity_volts": 208.0, "supply_volts": 240.0}, {"supply_volts": 428.0}, "supply is higher than the plate"),
        ({"supply_volts": 359.0}, {"supply_volts": 361.0}, "more than a tenth below the plate"),
        ({"identity_phases": "single"}, {"identity_phases": "three"}, "phases of the plate do not go with"),
        ({"element_connection": "single"}, {"element_connection": None}, "phases of the plate do not go with"),
        ({"element_connection": "delta"}, {"element_connection": "star_neutral"}, "do not give the power of the plate"),
        ({"element_expected_ohm": 15.4}, {"element_expected_ohm": 5.5}, "do not give the power of the plate"),
        # computed: 5.333 ohm an element by the plate; from memory, 0.905 to 1.111 of it (IEC 60335-1, 10.1)
        ({"element_expected_ohm": 5.93}, {"element_expected_ohm": 5.92}, "do not give the power of the plate"),
        ({"element_expected_ohm": 4.82}, {"element_expected_ohm": 4.83}, "do not give the power of the plate"),
        ({"supply_device_a": 33.0}, {"supply_device_a": 32.0}, "larger than this kiln, or its cable"),
        ({"supply_device_a": 32.0, "supply_area": "4"}, {"supply_device_a": 32.0, "supply_area": "6"}, "or its cable"),
        # BS 7671, table 4F3A, as copied: a cord of 2.5 mm² bears 20 A in three loaded conductors, one of 4 mm² 25 A
        ({"supply_device_a": 25.0, "supply_area": "2.5", "scope_connection": "plug"},
         {"supply_device_a": 25.0, "supply_area": "4", "scope_connection": "plug"}, "or its cable"),
        ({"supply_device_a": 20.0}, {"supply_device_a": 21.0}, "smaller than the kiln's current"),
    ],
)  # fmt: skip
def test_what_contradicts_the_plate_is_said(contrary, neighbour, words):
    assert words in problems(school(**contrary))
    assert words not in problems(school(**neighbour))


def said(known):
    (view,) = resistances(assessed(known))
    return " ".join(view["lines"])


def test_the_report_says_what_the_power_waits_for():
    assert "give the power of the plate" in said(SCHOOL)
    assert "more power than the plate allows" in said(school(element_connection="delta"))
    unread = {**school(supply_volts=None), f"element.ohm@{KILN}/element/6": None}
    assert "waits for slate 159, slate 152 (element 6)" in said(unread)
    assert "waits for slate 303" in said(school(element_alloy="carbide"))
    assert "contradict each other" in said(school(identity_phases="single"))


CLUB = {
    f"identity.volts@{KILN}": 230.0, f"identity.kw@{KILN}": 3.6, f"identity.phases@{KILN}": "single",
    f"identity.amps@{KILN}": 15.7, f"scope.zones@{KILN}": 1, f"element.count@{KILN}": 4, f"element.strings@{KILN}": 4,
    f"element.alloy@{KILN}": "fecral", f"element.alike@{KILN}": "yes", f"supply.volts@{KILN}": 230.0,
    f"element.connection@{KILN}": "single",
}  # fmt: skip


def club(each_ohm, **changed):
    """A kiln of 3.6 kW, its four elements side by side: 58.8 ohm each by the plate, 14.7 together (computed)."""
    read = {f"element.ohm@{KILN}/element/{place}": each_ohm for place in range(1, 5)}
    return CLUB | read | {f"zone.ohm@{KILN}/zone/1": each_ohm / 4} | changed


def test_power_that_passes_far_below_the_plate_is_called_low_with_both_figures():
    worn = club(4 * 17.3)

    assert fact("power_fit", worn) == {"within"}
    assert "2.94 kW hot of 3.6 kW: low, as worn elements are" in said(worn)
    assert "let pass down to 2.88 kW" in said(worn)
    assert "give the power of the plate" not in said(worn)


def test_power_is_that_of_the_plate_within_the_span_that_is_printed_beside_it():
    assert "give the power of the plate" in said(club(4 * 16.3))
    assert "hot of 3.6 kW: low" in said(club(4 * 16.4))
    assert "give the power of the plate" in said(club(4 * 13.4))
    assert "let pass up to 4.14 kW" in said(club(4 * 13.2))


def test_a_high_supply_is_counted_in_power_that_is_called_high():
    new = club(4 * 14.14)  # computed: 14.7 ohm together when hot, times 1.04

    assert "give the power of the plate" in said(new)
    assert "3.92 kW hot of 3.6 kW: high" in said({**new, f"supply.volts@{KILN}": 240.0})


def test_papers_of_another_kiln_pass_no_elements_that_its_plate_rejects():
    worn = club(4 * 17.3, **{f"element.expected_ohm@{KILN}": 68.0})

    assert "do not give the power of the plate" in problems(worn)
    assert fact("papers_fit", worn) == {"under"}


def test_every_rating_of_every_country_is_some_fit():
    for profile, device_a in product(("uk", "eu", "us", "au_nz"), (6.0, 25.0, 40.0, 100.0)):
        assert len(fact("device_fit", school(supply_device_a=device_a), profile)) == 1
