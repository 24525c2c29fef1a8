"""`recover simulate`: every example runs, each output says what was computed, and nothing but what was asked for."""

import csv
import io
import json
from math import erf, exp, pi, sqrt
from pathlib import Path
from time import sleep
from xml.etree import ElementTree

import pytest

import recover.commands.simulate as command
from recover.commands.cli import main
from recover.physics.drying import Discretisation, simulate
from recover.physics.wallfile import read
from recover.report import simulation

EXAMPLES = Path(__file__).parents[1] / "examples" / "walls"
BAD = Path(__file__).parent / "bad"
FIRST = EXAMPLES / "brick-and-fibre.toml"


@pytest.fixture
def run(capsys, monkeypatch):
    """Run the verb with endless patience; return exit status, standard output and error output."""
    monkeypatch.setattr(command, "COMPILING_S", 3600)  # the model may be compiled for the first time here

    def of(*words):
        with pytest.raises(SystemExit) as left:
            main(["simulate", *map(str, words)])
        return left.value.code, *capsys.readouterr()

    return of


def view_of(name):
    study = read(EXAMPLES / f"{name}.toml")
    return simulation.view(study, simulate(study.setup, study.moments_h()), Discretisation(0.0, 0.0, 0.0))


# ---------------------------------------------------------------------------------------- the examples


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.toml")), ids=lambda path: path.stem)
def test_every_example_runs_and_says_that_it_is_a_calculation_and_what_it_is_not_for(run, path):
    status, said, errors = run(path)

    assert (status, errors) == (0, "")
    assert said.startswith(read(path).title)
    assert "A calculation with assumed inputs, not a measurement." in said
    assert "No kiln is energised on the strength of this." in said
    assert "Local codes, licensed practice and the maker's instructions go before" in said
    assert "safe" not in said.lower()


def test_a_boiling_front_stands_where_the_exact_solution_has_it():
    """Stefan's problem, the numbers of the file's comment: λ exp(λ²) erf(λ) = c ΔT / (√π L w)."""
    low, high = 0.0, 2.0
    for _ in range(60):
        middle = (low + high) / 2
        over = middle * exp(middle**2) * erf(middle) > 5e5 * 100 / (sqrt(pi) * 2.257e6 * 200)
        low, high = (low, middle) if over else (middle, high)
    front_mm = 2 * low * sqrt(4e-7 * 24 * 3600) * 1000

    assert front_mm == pytest.approx(85.95, abs=0.01)
    assert view_of("boiling-front")["rows"][-1]["water_share"] == pytest.approx(1 - front_mm / 150, abs=0.003)


def test_a_wrapped_casing_is_warmer_and_its_wall_dries_faster():
    bare, wrapped = view_of("brick-and-fibre")["rows"], view_of("wrapped-casing")["rows"]

    assert wrapped[2]["hours"] == bare[2]["hours"] == 12  # both still at 95 °C
    assert wrapped[2]["walls"][0]["casing_degc"] > bare[2]["walls"][0]["casing_degc"] + 10
    assert wrapped[2]["water_kg"] < bare[2]["water_kg"]


def test_a_dense_slab_builds_pressure_and_a_porous_one_hardly_any():
    dense = [row["walls"][0]["overpressure_kpa"] for row in view_of("dense-castable")["rows"]]
    porous = [row["walls"][0]["overpressure_kpa"] for row in view_of("brick-and-fibre")["rows"]]

    assert max(dense) > 50 > 1 > max(porous)


def test_a_chamber_falls_behind_its_schedule_where_the_power_does_not_reach():
    rows = view_of("four-walls")["rows"]
    short = next(row for row in rows if row["hours"] == 28)

    assert short["heater_kw"] == pytest.approx(1.2)
    assert short["chamber_degc"] < 190


def test_what_thaws_freezes_again_and_none_leaves():
    thaw = view_of("freezing")
    shares = [row["water_share"] for row in thaw["rows"]]

    assert min(shares) < 0.8
    assert shares[-1] == pytest.approx(1, abs=1e-3)
    assert all(row["vapour_kg_h"] is None for row in thaw["rows"])


# ---------------------------------------------------------------------------------------- what is printed


def test_json_is_one_document_and_nothing_else(run):
    status, said, errors = run(FIRST, "--json")
    shown = json.loads(said)

    assert (status, errors) == (0, "")
    assert set(shown) == {
        "title", "hours", "every_h", "closure", "water_stays", "walls", "rows", "gone_h", "walls_gone_h", "heater_kwh",
        "vented_kg", "walls_heat_in_kwh", "walls_heat_out_kwh", "audit", "note", "cautions", "changes", "around",
        "discretisation",
    }  # fmt: skip
    assert [row["hours"] for row in shown["rows"]] == list(range(0, 73, 6))
    assert set(shown["gone_h"]) == {"50", "90", "95", "99"}
    assert shown["gone_h"]["99"] is None  # not within the 72 hours
    assert shown["audit"]["water_error"] < 1e-6


@pytest.mark.parametrize("accuracy", ["quick", "normal", "fine"])
def test_what_the_cutting_into_cells_misses_is_told_and_less_the_finer_it_is(run, accuracy):
    status, said, _ = run(FIRST, "--json", "--accuracy", accuracy)
    missed = json.loads(said)["discretisation"]

    assert status == 0
    assert 0 < missed["water_share"] < {"quick": 0.05, "normal": 0.02, "fine": 0.006}[accuracy]


def test_a_wall_that_is_changed_in_the_run_says_when_and_how(run, tmp_path):
    (tmp_path / "wall.toml").write_text(
        FIRST.read_text() + "\n[[change]]\nat_h = 12\nwall = 'side'\ncasing = 'loosened'\n"
        "[[change]]\nat_h = 24\nwall = 'side'\nkeeps = 1\n[[change.layer]]\n"
        "name = 'new board'\nmaterial = 'blanket'\nthickness_mm = 50\n"
    )
    status, said, errors = run(tmp_path / "wall.toml")

    assert (status, errors) == (0, "")
    assert "at 12 h, side: another cold face" in said
    assert "at 24 h, side: 1 layer at the hot face stays" in said
    assert "comes in: new board: 50 mm, dry" in said


def test_the_layers_hold_together_what_the_wall_and_all_walls_hold():
    for row in view_of("four-walls")["rows"]:
        assert sum(wall["water_kg"] for wall in row["walls"]) == pytest.approx(row["water_kg"])
        for wall in row["walls"]:
            assert sum(layer["water_kg"] for layer in wall["layers"]) == pytest.approx(wall["water_kg"])


def test_the_air_of_a_terminal_box_is_between_casing_and_room_as_far_as_the_figures_say():
    """0.6 of the way from the room, here at 20 °C, to the casing (own limit)."""
    for row in view_of("brick-and-fibre")["rows"]:
        casing = row["walls"][0]["casing_degc"]
        assert row["walls"][0]["terminal_degc"] == pytest.approx(20 + 0.6 * (casing - 20))


def test_the_vapour_of_all_rows_is_the_water_that_has_gone():
    rows = view_of("brick-and-fibre")["rows"]

    gone = sum(row["vapour_kg_h"] * 6 for row in rows[1:])
    # But for the vapour that stays in the pores.
    assert gone == pytest.approx(rows[0]["water_kg"] - rows[-1]["water_kg"], abs=0.02)


def test_csv_is_a_row_for_each_moment_with_layers_numbered_from_the_hot_face(run):
    status, said, errors = run(FIRST, "--csv", "--hours", "12", "--every", "4")
    table = list(csv.DictReader(io.StringIO(said)))

    assert (status, errors) == (0, "")
    assert [float(row["hours"]) for row in table] == [0, 4, 8, 12]
    assert {"chamber_degc", "water_kg", "water_share", "vapour_kg_h", "wall_1_hot_face_degc", "wall_1_casing_degc",
            "wall_1_layer_1_water_kg", "wall_1_layer_2_water_share", "wall_1_overpressure_kpa",
            "wall_1_share_of_strength"} <= set(table[0])  # fmt: skip
    assert float(table[0]["wall_1_layer_1_water_kg"]) == pytest.approx(0.064 * 273)


def test_the_text_says_when_how_much_has_gone_and_what_has_not(run):
    said = run(FIRST)[1]

    assert "90 %: " in said
    assert "99 %: not within 72 h" in said
    assert "brick kg" in said
    assert "of strength" in said
    assert "water missed by" in said


def test_hours_and_interval_of_the_command_go_before_those_of_the_file(run):
    shown = json.loads(run(FIRST, "--json", "--hours", "3", "--every", "1.5")[1])

    assert [row["hours"] for row in shown["rows"]] == [0, 1.5, 3]


def test_a_plot_is_written_beside_what_is_printed_and_named_on_the_error_stream_of_a_document(run, tmp_path):
    file = tmp_path / "wall.svg"
    status, said, errors = run(FIRST, "--json", "--hours", "6", "--plot", file)

    assert status == 0
    assert json.loads(said)["hours"] == 6
    assert errors == f"written: {file}\n"
    assert ElementTree.parse(file).getroot().tag.endswith("svg")


def test_who_waits_long_is_told_what_for_on_the_error_stream(capsys, monkeypatch):
    monkeypatch.setattr(command, "COMPILING_S", 0.01)
    with command.patience():
        sleep(1)
    said, errors = capsys.readouterr()

    assert said == ""
    assert "compiles the drying model" in errors


def test_where_nothing_can_be_kept_nobody_is_promised_that_later_runs_are_quick(capsys, monkeypatch):
    from recover.physics import kernel

    monkeypatch.setattr(command, "COMPILING_S", 0.01)
    monkeypatch.setattr(kernel, "not_kept", ["simulate"])
    with command.patience():
        sleep(1)
    errors = capsys.readouterr().err

    assert "in every run" in errors
    assert "later ones start at once" not in errors
    assert "NUMBA_CACHE_DIR" in errors


def test_who_does_not_wait_long_is_told_nothing(capsys):
    with command.patience():
        pass

    assert capsys.readouterr() == ("", "")


# ---------------------------------------------------------------------------------------- what is refused


@pytest.mark.parametrize(
    ("words", "status", "message"),
    [
        ((), 2, "Missing argument"),
        ((FIRST, "--json", "--csv"), 2, "give --json or --csv, not both"),
        (("nowhere.toml",), 1, "nowhere.toml: cannot be read"),
        ((BAD / "wall-too-wet.toml",), 1, "expected 0 to 780, what its pores hold"),
        ((FIRST, "--hours", "-3"), 1, "hours: -3; expected more than 0"),
        ((FIRST, "--hours", "1000000"), 1, "at most 10000 rows"),
        ((FIRST, "--hours", "1", "--plot", "/nowhere/at/all.svg"), 1, "Could not open file"),
    ],
)
def test_what_cannot_be_done_is_said_in_a_sentence_on_the_error_stream(run, words, status, message):
    found, said, errors = run(*words)

    assert found == status
    assert message in errors
    assert "Traceback" not in errors
    assert message not in said
