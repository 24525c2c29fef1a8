"""What decides how long a kiln takes: found where it is put in, not found where nothing is, and what readings teach."""

import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from recover.commands.cli import main
from recover.physics.draws import MOVES
from recover.physics.ensemble import simulate_many
from recover.physics.matter import TOGETHER
from recover.physics.sensitivity import _correlation, _covariance, _narrowed, sensitivity, tempered
from recover.physics.staged import setups_of
from recover.physics.wall import Course
from recover.physics.wallfile import read, read_drawn
from recover.report.words import words
from tests.test_drying_ensemble import BRICK_WEIGHED, half_flooded

EXAMPLES = Path(__file__).parents[1] / "examples" / "walls"
FIRST = EXAMPLES / "brick-and-fibre.toml"


@cache
def decided(**more):
    """Return what decides the hours of a kiln that is held at 200 °C."""
    asked = half_flooded(casing="loosened", draws=64, **more)
    did = simulate_many(setups_of(asked, Course((0.0, 12.0), (15.0, 200.0))), np.arange(0.0, 241.0, 4.0))
    return sensitivity(did, asked.ranks.drawn, asked.knowledge)


def test_the_correlation_of_ranks_is_that_of_scipy():
    one, other = np.random.default_rng(1).random((2, 200))
    assert _correlation(one, one + other) == pytest.approx(stats.spearmanr(one, one + other).statistic)
    assert _correlation(one, np.ones(200)) == 0


def test_how_fast_water_moves_decides_and_shortens():
    found = decided()
    first = {one.input: one.correlation for one in found.inputs}

    assert found.outcome == "hours"
    assert first[MOVES] < -found.chance
    assert [abs(one.correlation) for one in found.inputs] == sorted(map(abs, first.values()), reverse=True)
    assert "sorption of brick" not in first


def test_where_few_get_there_it_is_what_decides_the_water_left():
    asked = half_flooded(draws=16)
    did = simulate_many(setups_of(asked), np.arange(0.0, 30.0, 2.0))

    assert sensitivity(did, asked.ranks.drawn).outcome == "left"


def test_a_piece_is_weighed_once_and_a_pan_is_read_where_there_is_a_floor():
    assert {one.reading for one in decided().readings} == {"piece", "casing", "pan", "litres"}
    weighed = half_flooded(draws=16, **BRICK_WEIGHED)
    did = simulate_many(setups_of(weighed), np.arange(0.0, 30.0, 2.0))
    assert {one.reading for one in sensitivity(did, weighed.ranks.drawn, "weighed").readings} == {
        "casing", "pan", "litres",
    }  # fmt: skip


def test_a_reading_of_the_outcome_narrows_it_and_one_of_nothing_does_not():
    """400 draws: an exact reading is tempered until a good many share the weight; pure error leaves all."""
    values, noise = np.random.default_rng(2).standard_normal((2, 400))
    exact, useless = (np.repeat(one[:, None], 6, axis=1) for one in (values, noise))

    assert _narrowed(exact, _covariance(0.01, 0.01), values) < 0.2
    assert _narrowed(useless, _covariance(0.5, 0.1), values) == pytest.approx(1, abs=0.1)
    assert _narrowed(exact, _covariance(0.5, 0.1), values) < _narrowed(exact, _covariance(2.0, 0.1), values)


def test_an_error_that_stays_is_not_read_away():
    """Six looks with an offset of 1 teach hardly more than one: against a normal prior 1 / sqrt(2) is left."""
    values = np.random.default_rng(3).standard_normal(2000)
    seen = np.repeat(values[:, None], 6, axis=1)

    assert _narrowed(seen, _covariance(1.0, 0.3), values) == pytest.approx(0.5**0.5, abs=0.03)


def test_weights_are_tempered_until_so_many_draws_share_them_and_left_alone_where_they_do():
    against = np.array([[0.0, *[50.0] * 99], [*[0.1] * 100]])
    weights = tempered(against, 30.0)

    assert 1 / (weights[0] ** 2).sum() == pytest.approx(30, rel=0.01)
    assert weights[1] == pytest.approx(np.full(100, 0.01))


def test_every_input_has_its_words():
    told = words().decides
    _, ranks = read_drawn(EXAMPLES / "four-walls.toml", 4, 1)
    asked = half_flooded(casing="wrapped")
    wet = tuple(replace(one, wet="damp") for one in asked.lining.wall.layers)
    stacks = (replace(asked.lining.wall, layers=wet), *asked.lining.stacks[1:])
    damp = replace(asked, lining=replace(asked.lining, stacks=stacks))
    setups_of(asked), setups_of(damp)
    names = {name.partition(" of ")[0] for name in {**ranks.drawn, **asked.ranks.drawn, **damp.ranks.drawn}}

    assert names == told.kiln.keys() | told.lining.keys()
    assert set(TOGETHER.values()) < told.lining.keys()


# ---------------------------------------------------------------------------------------- wall files


def test_a_wall_file_is_drawn_where_it_names_and_stands_where_it_gives_numbers():
    setups, ranks = read_drawn(FIRST, 200, 1)
    own = read(FIRST).setup
    water = [one.walls[0].layers[0].water_kg_m3 for one in setups]

    assert np.median(water) == pytest.approx(own.walls[0].layers[0].water_kg_m3, rel=0.01)
    assert np.quantile(water, 0.9) / np.median(water) == pytest.approx(560 / 400, rel=0.02)
    assert {one.walls[0].cold for one in setups} == {own.walls[0].cold}
    assert {"moves", "liquid of brick", "liquid of fibre"} <= ranks.drawn.keys()
    bare, ranks = read_drawn(EXAMPLES / "dense-castable.toml", 3, 1)
    assert bare == [read(EXAMPLES / "dense-castable.toml").setup] * 3
    assert not ranks.drawn


def test_the_verb_says_what_decides_and_what_to_measure(capsys, monkeypatch):
    monkeypatch.setattr("recover.commands.simulate.COMPILING_S", 3600)
    monkeypatch.setattr("recover.commands.simulate.DRAWS", 48)
    texts = []
    for more in ([], ["--json"]):
        with pytest.raises(SystemExit) as left:
            main(["simulate", str(FIRST), "--every", "20", "--sensitivity", *more])
        texts.append(capsys.readouterr().out)
        assert left.value.code == 0
    found = json.loads(texts[1])["decides"]

    assert found["draws"] == 48
    assert {one["reading"] for one in found["readings"]} == {"piece", "casing", "litres"}
    for line in found["lines"]:
        assert line in texts[0]
    assert "how fast water moves in this kiln" in texts[0]


@pytest.mark.parametrize(
    ("more", "status", "said"),
    [
        ([FIRST, "--csv"], 2, "no place for --sensitivity"),
        ([EXAMPLES / "dense-castable.toml"], 1, "names its material"),
    ],
)
def test_what_has_no_spans_or_no_place_is_said(capsys, monkeypatch, more, status, said):
    monkeypatch.setattr("recover.commands.simulate.COMPILING_S", 3600)
    with pytest.raises(SystemExit) as left:
        main(["simulate", *map(str, more), "--sensitivity"])
    assert left.value.code == status
    assert said in capsys.readouterr().err
