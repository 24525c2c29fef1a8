"""The small sums as commands: their keys, their plain text, and what they refuse."""

import json
import re
import shlex
import tomllib
from importlib.resources import files

import pytest
from click.testing import CliRunner

from recover.commands.calc import calc
from recover.commands.cli import verbs
from recover.profiles import PROFILES

pytestmark = pytest.mark.quick

CASES = [
    # key figures of worked cases; sources stand beside the same cases in the tests of each room
    ("emf --type R --at 1000", {"emf_mv": 10.506}),
    ("temperature --type K --mv 4.096", {"temperature_c": 100.0}),
    ("mismatch --probe S --set R --at 1250", {"true_c": 1250, "shown_c": 1151.18, "overfires": True}),
    ("mismatch --probe S --set R --shown 1250", {"true_c": 1363.4, "overfires": True}),
    ("cable-fault --probe K --fault copper --head 60 --at 1000", {"error_c": -36.7}),
    ("bank --connection single --volts 230 --kw 9 --strings 3 --series 2",
     {"line_current_a": 39.13, "element_hot_ohm": 8.817, "element_cold_ohm": 8.478}),
    ("bank --connection delta --volts 400 --kw 18", {"terminal_cold_ohm": [17.09, 17.09, 17.09]}),
    ("delta --readings 17.1 17.1 17.1", {"element_ohm": [25.65, 25.65, 25.65]}),
    ("coil --ohm 20 --wire 2.0 --coil 16", {"length_m": 43.33, "turns": 985.2, "surface_cm2": 2723}),
    ("insulation --megohm 0.4 --test-volts 500 --kw 7.2 --profile uk",
     {"limit_megohm": 0.3, "passes_limit": True, "gate_megohm": 1.0, "leakage_bound_ma": 0.575}),
    ("earth --ohm 0.12 --length 3 --area 4 --profile uk", {"limit_ohm": 0.1149, "passes": False}),
    # own limit, lesser than the printed ones: DIN VDE 0701-0702 and AS/NZS 3760, from memory; the US print none
    ("earth --ohm 0.3 --profile eu",
     {"limit_ohm": 0.1, "own_ohm": 0.1, "printed_ohm": 0.3, "passes": False, "passes_printed": True}),
    ("earth --ohm 0.9 --length 10 --area 6 --profile au_nz",
     {"limit_ohm": 0.133, "printed_ohm": 1.0, "passes": False, "passes_printed": True}),
    ("earth --ohm 0.1 --profile us", {"limit_ohm": 0.1, "printed_ohm": None, "passes": True, "passes_printed": None}),
    ("leakage --kohm 20 --volts 230 --connection line-neutral", {"bound_ma": 11.5, "residual_ma": 5.75}),
    ("cable-fault --probe R --fault wrong-cable --cable K --head 60 --at 1000", {"error_c": 90.5, "overfires": False}),
    ("bench --type S --cold-junction 25 --at 1250", {"shown_c": [1250], "mv": [12.411]}),
    ("tolerance --type K --at 1000", {"tolerance_k": 7.5, "to_c": 1200}),
    ("loop --type R --length 1 --wire 0.5", {"loop_ohm": 1.53}),
    ("colours --jacket green --positive black --negative red", {"ambiguous": True}),
    ("colours --positive brown", {"may_be": ["K (BS 1843 (old))"], "ambiguous": False}),
    ("readings --ohm 10 --ohm 15 --ohm 10 --expected 10 --strings 3", {"open_strings": 1, "odd": [2]}),
    ("new-element --ohm 8.478 --watts 1500 --wire 2.3 --coil 20", {"length_m": 24.29, "load_w_cm2": 0.855}),
    ("joint --milliohm 2 --milliohm 2.1 --milliohm 100 --amps 20", {"heat_w": [0.8, 0.84, 40], "make_again": [3]}),
    ("boiling --altitude 1600", {"boiling_c": 94.65, "pressure_hpa": 835.2}),
    ("loop --type KX --length 20 --awg 14", {"loop_ohm": 9.61}),
    ("loop --type RCA --length 20 --area 0.5", {"loop_ohm": 2.72}),
    ("supply --kw 7.2 --volts 230 --phases 1 --profile uk",
     {"current_a": 31.30, "next_rating_a": 32, "contactor_a": 40, "divided": None}),
    ("supply --kw 11.52 --volts 240 --profile us", {"next_rating_a": 60, "divided": False, "circuits_at_least": 1}),
    ("supply --kw 14.4 --volts 240 --profile us",
     {"divided": True, "divided_above_a": 48, "circuits_at_least": 2, "circuit_device_most_a": 60}),
]  # fmt: skip


def run(words):
    return CliRunner().invoke(verbs, ["calc", *shlex.split(words)])


@pytest.mark.parametrize(("words", "expected"), CASES, ids=[words for words, _ in CASES])
def test_each_sum_gives_its_keys_and_a_worked_value(words, expected):
    found = json.loads(run(f"{words} --json").stdout)

    for key, value in expected.items():
        exact = value is None or isinstance(value, bool) or key == "may_be"
        assert found[key] == (value if exact else pytest.approx(value, rel=2e-3)), key


def test_what_a_kiln_draws_is_said_with_the_conductors_that_carry_it():
    # cord by BS 7671, tables 4F3A and 4F3B, as copied: 1.5 mm² carry 16 A; 32 mV/(A m) are 2.02 V of 12.61 A over 5 m
    words = "supply --kw 2.9 --volts 230 --length 5 --profile uk"
    cord = next(one for one in json.loads(run(f"{words} --json").stdout)["conductors"] if one["table"] == "cord_two")

    assert (cord["size"], cord["unit"]) == (1.5, "mm²")
    assert cord["drop_v"] == pytest.approx(2.02, rel=0.05)
    assert "cord, PVC or rubber 60 °C, two loaded conductors: 1.5 mm², drops 1.9 V, 0.84 %" in run(words).stdout
    assert re.search(r"^divided +No rule of this country", run(words).stdout, re.MULTILINE)


def test_a_division_names_its_rule_and_how_it_was_seen():
    plain = run("supply --kw 14.4 --volts 240 --profile us").stdout

    assert re.search(r"^divided +yes$", plain, re.MULTILINE)
    assert re.search(r"^divided_by +.*422\.11\(F\)\(1\); published", plain, re.MULTILINE)
    assert "taken as equal" in plain


def test_a_divided_kiln_is_sized_circuit_by_circuit():
    # 14.4 kW at 240 V: 60 A, above 48 A, so two of 30 A: a device of 37.5 A, so 40 A, and 8 AWG at 60 °C bear it
    words = "supply --kw 14.4 --volts 240 --profile us"
    found, plain = json.loads(run(f"{words} --json").stdout), run(words).stdout

    assert (found["circuit_current_a"], found["next_rating_a"], found["contactor_a"]) == (30, 40, 40)
    assert [one["size"] for one in found["conductors"]] == [8, 8, 8]
    assert re.search(r"^circuit_current_a +30$", plain, re.MULTILINE)
    assert "beyond" not in plain


def test_a_kiln_that_is_not_divided_names_no_device_of_a_division():
    assert "60" not in "".join(re.findall(r"^circuit.*", run("supply --kw 6.5 --volts 240 --profile us").stdout, re.M))


def test_beyond_every_step_there_is_a_word_and_no_none():
    plain = run("supply --kw 20 --volts 230 --profile uk").stdout

    assert plain.count("beyond the steps listed here; by the electrician") == 2  # the device, the contactor
    assert "none" not in plain


@pytest.mark.parametrize("profile", PROFILES)
@pytest.mark.parametrize("length_m", [0.1, 30, 1000, 1e6])
def test_volt_drops_are_printed_as_people_write_them_and_never_above_the_supply(profile, length_m):
    plain = run(f"supply --kw 7.2 --volts 230 --profile {profile} --length {length_m}").stdout

    assert not re.search(r"\de[+-]?\d", plain)
    assert all(float(percent) < 100 for percent in re.findall(r"V, ([\d.]+) %", plain))
    assert re.search(r"V, [\d.]+ %", plain) or "too long: more would drop in it than the supply has" in plain


def test_a_volt_drop_stands_beside_what_the_country_prints_which_decides_nothing():
    # BS 7671, appendix 4, 5 % of other loads than lighting; NEC 210.19(A), a note, 3 % of a branch circuit; from memory
    said = {profile: run(f"supply --kw 7.2 --volts 230 --profile {profile} --length 10").stdout for profile in PROFILES}

    for profile, percent in {"uk": 5, "eu": 5, "au_nz": 5, "us": 3}.items():
        assert re.search(rf"^volt_drop_percent +{percent}$", said[profile], re.MULTILINE)
        assert re.search(r"^volt_drop_by .*from memory.*decides nothing", said[profile], re.MULTILINE)
    assert "volt_drop" not in run("supply --kw 7.2 --volts 230 --profile uk").stdout


def test_a_table_that_begins_with_more_than_was_asked_says_so():
    # 13 A: the table of rubber cables begins at 4 mm², that of cords far below what 13 A take
    words = "supply --kw 2.9 --volts 230 --profile uk"
    begins = {one["table"]: one["table_begins"] for one in json.loads(run(f"{words} --json").stdout)["conductors"]}

    assert begins == {"pvc_clipped_two": True, "pvc_conduit_two": True, "cord_two": False, "rubber_two": True}
    assert "flexible cable, rubber 60 °C, two loaded conductors: 4 mm² (its table begins there)" in run(words).stdout


def test_wire_that_carries_more_than_its_device_may_be_says_so():
    # 3.8 kW at 240 V: 15.8 A, with a quarter 20 A. 14 AWG carries them, and by NEC 240.4(D) its device is 15 A at most
    words = "supply --kw 3.8 --volts 240 --profile us"
    found = {one["table"]: one for one in json.loads(run(f"{words} --json").stdout)["conductors"]}

    assert (found["awg_75"]["size"], found["awg_75"]["carries_a"], found["awg_75"]["device_at_most_a"]) == (12, 25, 20)
    assert "copper, terminals 75 °C: 12 AWG (its device 20 A at most)" in run(words).stdout


NO_LIMIT, NOT_SHOWN = "no limit is printed in this country", "not shown at this test voltage"


@pytest.mark.parametrize(
    ("words", "passes", "because"),
    [
        ("--megohm 0.4 --test-volts 500 --kw 7.2 --profile uk", True, None),
        ("--megohm 0.2 --test-volts 250 --kw 7.2 --profile uk", False, None),
        ("--megohm 0.4 --test-volts 250 --kw 7.2 --profile uk", None, NOT_SHOWN),
        ("--megohm 0.4 --test-volts 500 --kw 7.2 --profile us", None, NO_LIMIT),
    ],
)
def test_why_a_reading_neither_passes_nor_fails_is_said(words, passes, because):
    found = json.loads(run(f"insulation {words} --json").stdout)
    plain = run(f"insulation {words}").stdout

    assert (found["passes_limit"], found["passes_limit_null_because"]) == (passes, because)
    assert re.search(rf"^passes_limit +{because or ('yes' if passes else 'no')}$", plain, re.MULTILINE)


def test_a_kiln_on_480_v_has_277_v_to_earth():
    # computed: 277 V over 0.2 Mohm
    found = json.loads(run("insulation --megohm 0.2 --test-volts 500 --profile us --volts-to-earth 277 --json").stdout)

    assert found["leakage_bound_ma"] == pytest.approx(1.385)


@pytest.mark.parametrize(("joined", "says"), [("full", "enters a first heating"), ("reduced", "Read again with all"),
                                              ("other", "Read again with all")])  # fmt: skip
def test_a_reading_with_the_electronics_left_in_is_taken_again(joined, says):
    assert says in run(f"insulation --megohm 5 --test-volts 500 --profile uk --joined {joined}").stdout


@pytest.mark.parametrize("name", sorted(calc.commands))
def test_each_sum_has_help_with_an_example_that_runs(name):
    shown = CliRunner().invoke(calc, [name, "--help"]).stdout
    example = re.search(r"recover calc (.+)", shown)[1]
    plain = run(example)

    assert plain.exit_code == 0, plain.output
    for word in ("formula", "source", "caution"):
        assert re.search(rf"^{word} +\S", plain.stdout, re.MULTILINE), word


def test_every_command_has_its_formula_and_none_is_left_over():
    data = tomllib.loads((files("recover") / "commands/calc.toml").read_text("utf-8"))
    assert set(data["sum"]) == set(calc.commands)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("emf --type K --at 1400", "1372"),
        ("bank --connection star --volts 400 --kw 9 --strings 2 --open 3", "expected 0 to 2"),
        ("coil --ohm -1 --wire 2 --coil 16", "-1"),
        ("insulation --megohm -0.1 --test-volts 500", "-0.1"),
        ("insulation --megohm 0.4", "--test-volts"),
        ("tolerance --type B --class 1 --at 1000", "expected one of 2, 3"),
        ("bench --type K --cold-junction 20 --at 1400", "1372"),
        ("new-element --ohm 8 --watts 1500 --wire 2.3 --coil 20 --chamber 1400", "1300"),
        ("mismatch --probe S --set R", "one of --at and --shown"),
        ("loop --type KX --length 20", "one of --wire, --area and --awg"),
        ("loop --type KX --length 20 --area 1.5 --awg 16", "one of --wire, --area and --awg"),
        ("loop --type KX --length 20 --awg 99", "0 to 40 AWG"),
        ("supply --kw 3 --volts 230 --length -1", "length"),
    ],
)
def test_what_cannot_be_is_refused_with_its_range(words, said):
    done = run(words)

    assert done.exit_code != 0
    assert said in f"{done.output}{done.exception}"
