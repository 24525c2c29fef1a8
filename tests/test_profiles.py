"""What each country prints, against an explicit table: every row of every profile, just under, at and just over.

`tests/vectors/profiles.csv` says for each limit what it is for a kiln of so much power or so much conductor, and on
which side it passes: `from` the figure upwards, up `to` it, only `above` it, `trips from` it; `value` where nothing is
judged by it alone. Its column `source` names the document, its column `basis` how that was seen. A limit that ends in
`_entry` is what opens something here: the stricter of the country's figure and this project's own, by the fact that the
rules test; where both print the same the country's is named.
"""

import csv
from math import inf, nextafter
from pathlib import Path

import pytest

from recover.engineering.earth import limit_ohm
from recover.engineering.insulation import judge, judge_circuit
from recover.engineering.leakage import printed_ma, response
from recover.engineering.supply import division, next_rating_a
from recover.profiles import PROFILES, Elsewhere, Limit, limits, own_earth, own_limits, profile
from recover.rules.grids import grids
from tests.conftest import answers_from

VECTORS = (Path(__file__).parent / "vectors" / "profiles.csv").read_text("utf-8")
ROWS = list(csv.DictReader(VECTORS.splitlines()))
PASSES = {
    "from": (False, True, True), "to": (True, True, False), "above": (False, False, True),
    "trips from": (False, True, True),
}  # fmt: skip


@pytest.mark.parametrize(
    ("country", "connection", "amps", "expected"),
    [("au_nz", "fixed", 10, "called_for"), ("au_nz", "fixed", 32, "called_for"), ("au_nz", "plug", 32, "called_for"),
     ("au_nz", "fixed", 33, "not_called_for"), *((name, "fixed", 10, "not_called_for") for name in ("uk", "eu", "us"))],
)  # fmt: skip
def test_whether_fixed_wiring_has_a_residual_current_device_is_the_countrys_to_say(country, connection, amps, expected):
    """AS/NZS 3000, 2.6, from memory: every final circuit up to 32 A, not its sockets alone."""
    said = {"scope.connection@kiln/1": connection, "identity.amps@kiln/1": amps}

    assert answers_from(said, country).fact("socket_rcd", "kiln/1") == {expected}


def name_of(row):
    return f"{row['profile']}-{row['limit']}-{row['kw'] or row['length_m'] or row['value']}"


def number(text):
    return float(text) if text else None


ENTRIES = {
    "earth_entry": ("earth", own_earth), "leakage_entry": ("leakage", lambda: own_limits()["leakage_ma"]),
    "wiring_entry": ("wiring_insulation_megohm", lambda: own_limits()["wiring_insulation_megohm"]),
    "allowance_entry": ("heating_allowance_kw", None),
}  # fmt: skip


def rule_of(row):
    """The row of a profile, or of our own limits, that a line of the table speaks of."""
    country = profile(row["profile"])
    if row["limit"] in ENTRIES:
        name, own = ENTRIES[row["limit"]]
        ours = row["basis"] == "own_limit" and own
        return own() if ours else country.find(name) or getattr(country, name)
    return country.find(row["limit"]) or getattr(country, row["limit"])


def passes_entry(row, value):
    """Judge a value by the fact that opens something."""
    kiln, given = "kiln/1", {"identity.kw": number(row["kw"]), "earth.length": number(row["length_m"]) or 0.0,
                             "earth.area": row["area_mm2"] or "other", "scope.connection": "plug"}  # fmt: skip
    fact, at, reading, good = {
        "earth_entry": ("earth", f"{kiln}/bond/shell", {"earth.ohm@kiln/1/bond/shell": value}, "within"),
        "leakage_entry": ("leakage", kiln, {"energise.leakage@kiln/1": value}, "within"),
        "wiring_entry": ("wiring_insulation", f"{kiln}/wiring/power", {"wire.insulation@kiln/1/wiring/power": value},
                        "at_limit_or_above"),
        "allowance_entry": ("heating_allowance", kiln, {"identity.kw@kiln/1": value}, "yes"),
    }[row["limit"]]  # fmt: skip
    known = {f"{key}@{kiln}": each for key, each in given.items() if each is not None}
    known |= {"earth.points@kiln/1": ["shell"], "wire.runs@kiln/1": ["power"]}
    known |= {"wire.joined@kiln/1/wiring/power": "wiring_alone"}
    return answers_from({**known, **reading}, row["profile"]).fact(fact, at) == {good}


def passes(row, value):
    """Judge a value as its limit is judged everywhere."""
    name, kw = row["profile"], number(row["kw"])
    if row["limit"] in ENTRIES:
        return passes_entry(row, value)
    if row["limit"] == "wiring_insulation_megohm":
        return judge_circuit(value, 500, name)
    if row["limit"] == "extra_low_insulation_megohm":
        return judge_circuit(value, 250, name, "extra_low")
    if row["limit"] in ("general_insulation_megohm", "appliance_insulation_megohm"):
        assert judge(value, 500, kw, name).limit == rule_of(row)
        return judge(value, 500, kw, name).passes_limit
    if row["limit"] == "heating_allowance_kw":
        return judge(0.5, 500, value, name).step == "electrician_only"
    if row["limit"] == "earth":
        return limit_ohm(name, float(row["length_m"]), number(row["area_mm2"])).passes_printed(value)
    if row["limit"] == "leakage":
        return value <= printed_ma(name, kw)
    if row["limit"] == "ratings":
        return next_rating_a(value / profile(name).figure("load_factor"), name) == float(row["value"])
    if row["limit"] == "subdivide_above_a":
        return division(value, name).called_for
    if row["limit"] == "rcd_person_ma":
        return rated(value, name)
    assert row["limit"] == "rcd_ma"
    return response(value, rule_of(row).value) == "must_trip"


def rated(milliampere, name):
    """Say whether a device of this rating counts as protecting a person in a country."""
    return answers_from({"energise.rcd_ma@kiln/1": milliampere}, name).fact("rcd_rating", "kiln/1") == {"within"}


@pytest.mark.parametrize("row", ROWS, ids=name_of)
def test_each_limit_is_what_the_table_says_and_names_its_document(row):
    rule = rule_of(row)

    assert (rule.unit, rule.source, rule.basis) == (row["unit"], row["source"], row["basis"])
    assert rule.source == "" or rule.clause
    if isinstance(rule, Limit) and row["limit"] not in ENTRIES:
        assert rule.value == float(row["value"])


@pytest.mark.parametrize("row", [row for row in ROWS if row["passes"] != "value"], ids=name_of)
def test_each_limit_has_its_neighbours(row):
    value = float(row["value"])
    near = 1e-6 * value  # wider than the rounding of a sum, narrower than any meter

    assert (passes(row, value - near), passes(row, value), passes(row, value + near)) == PASSES[row["passes"]]


@pytest.mark.parametrize("name", PROFILES)
def test_no_row_of_a_profile_is_without_its_expectation(name):
    country = profile(name)
    rules = {part for part in ("earth", "leakage", "ratings") if getattr(country, part)}
    expected = {row["limit"] for row in ROWS if row["profile"] == name} - set(ENTRIES)

    assert {limit.id for limit in country.limit} | rules == expected


# ---------------------------------------------------------------------------------------- what conflicts


@pytest.mark.parametrize(
    ("name", "of", "status", "value"),
    [
        ("uk", "leakage", "superseded", "0.75 for each kW, at least 0.75, at most 5"),  # IET CoP, 4th ed., from memory
        ("eu", "earth", "contrary", "0.1 ohm and the conductor's own"),  # EN 50678, from memory
        ("us", "wiring_insulation_megohm", "contrary", "25"),  # NETA ATS Table 100.1, from memory
        ("us", "wiring_insulation_megohm", "contrary", "100"),  # the same, 600 V class
        ("au_nz", "earth", "contrary", "0.5"),  # no source, common practice
    ],
)
def test_what_is_superseded_or_contrary_is_held_beside_what_decides(name, of, status, value):
    elsewhere = profile(name).printed_elsewhere(of)

    assert (status, value) in [(one.status, one.value) for one in elsewhere]
    assert all(one.source or one.basis == "common_practice" for one in elsewhere)


@pytest.mark.parametrize("name", PROFILES)
def test_everything_printed_elsewhere_is_of_something_here(name):
    country = profile(name)
    known = {limit.id for limit in country.limit} | {"earth", "leakage", "ratings"}

    assert {one.of for one in country.elsewhere} <= known
    assert sum(isinstance(row, Elsewhere) for row in country.printed()) == len(country.elsewhere)


def test_a_superseded_figure_decides_nothing():
    # IET Code of Practice, from memory: the 4th edition would have allowed a kiln of 1 kW 0.75 mA, the 5th allows 5
    assert printed_ma("uk", 1.0) == 5
    assert judge_circuit(2.0, 500, "us") is True  # NETA ATS, from memory, asks new wiring for 25


# ---------------------------------------------------------------------------------------- as people read it


@pytest.mark.parametrize("name", PROFILES)
def test_the_grid_prints_every_row_with_its_authority(name):
    country = profile(name)
    shown = grids().partition(f"## Profile {name}: {country.title}")[2].partition("\n## ")[0]

    assert "| limit | value | unit | source | clause | edition | basis |" in shown
    for row in country.printed():
        assert f"{row.what} | {row} | {row.unit} | {row.source} |" in shown
    assert all(f"| {word} |" in shown for word in vars(country.terms).values())
    assert shown.count("decides nothing") == len(country.elsewhere)


def test_rules_say_themselves_in_figures():
    assert str(profile("eu").leakage) == "3.5 or, if more, above 3.5 kW 1 for each kW, at most 10"
    assert str(profile("eu").earth) == "0.3 up to 5 m, 0.1 for each whole further 7.5 m, at most 1"
    assert str(profile("uk").earth) == str(own_earth()) == "0.1 and the conductor's own"
    assert str(profile("au_nz").leakage) == "5"
    assert str(profile("us").find("heating_allowance_kw")) == "none"


def test_the_next_number_above_a_ceiling_is_over_it():
    # the same at the resolution of the machine, where a limit is a plain figure
    assert nextafter(5.0, inf) > printed_ma("uk", 7.2)
    assert judge(nextafter(0.3, 0), 500, 7.2, "eu").passes_limit is False


# ---------------------------------------------------------------------------------------- country and own


@pytest.mark.parametrize("name", PROFILES)
def test_where_a_country_and_we_have_a_figure_the_stricter_counts(name):
    for limit in profile(name).limit:
        own = own_limits().get(limit.id)
        if own:
            stricter = max if limit.stricter == "greater" else min
            assert limits(name)[limit.id] == stricter(limit.value, own.value)


@pytest.mark.parametrize("name", PROFILES)
def test_earth_is_never_let_pass_above_either_figure(name):
    for length_m in (0, 5, 20, 60, 200):
        for area_mm2 in (None, 2.5, 25):
            found = limit_ohm(name, length_m, area_mm2)
            assert found.ohm == min(one for one in (found.printed_ohm, found.own_ohm) if one is not None)


def test_the_milder_copy_of_the_allowance_decides_nothing_and_is_shown():
    # IET Code of Practice, from memory: above 3 kW; copies that begin it at 3 kW are contrary
    assert [one.value for one in profile("uk").printed_elsewhere("heating_allowance_kw")] == ["from 3"]
    assert answers_from({"identity.kw@kiln/1": 3.0}, "uk").fact("heating_allowance", "kiln/1") == {"no"}
