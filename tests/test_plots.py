"""Curves as SVG: whole, with words on the lines, the same each time, and drawn by WeasyPrint without a complaint."""

import re
from xml.etree import ElementTree

import numpy as np
import pytest

from recover.physics.drying import simulate
from recover.physics.wall import Course, Face, Matter, Setup, Step, Wall, WallLayer
from recover.report import pdf as printer
from recover.report.plots import casing_figure, left_figure, profile_figure, run_figure

HOURS = np.linspace(0, 48, 97)
LEFT = np.exp(-HOURS / 20)
BRICK = Matter(density_kg_m3=490, porosity=0.78, k0_w_mk=0.1, cp0_j_kgk=900, permeability_m2=1e-12,
               vapour_tortuosity=0.3)  # fmt: skip


@pytest.fixture(scope="module")
def dried():
    """A wall of two layers, dried for a day."""
    layers = (WallLayer(40, BRICK, 200, "brick <1>"), WallLayer(30, BRICK, 100, "back-up"))
    wall = Wall(layers, Face(film_w_m2k=40, openness=1), Face(natural_w_m2k13=1.6, emissivity=0.8), name="side & lid")
    return simulate(Setup((wall,), Course.of(20, (Step(200, 60),))), list(range(25)), profiles=True)


def words_of(svg):
    return ["".join(one.itertext()) for one in ElementTree.fromstring(svg).iter("{http://www.w3.org/2000/svg}text")]


@pytest.fixture(scope="module")
def figures(dried):
    return {
        "profile": profile_figure(dried, 0, [0, 6, 24]),
        "left": left_figure(HOURS, LEFT, 0.8 * LEFT, np.minimum(1.2 * LEFT, 1)),
        "line": left_figure(HOURS, LEFT),
        "casing": casing_figure(HOURS, 20 + HOURS, 25 + HOURS),
        "run": run_figure(dried, "A < B", [0, 6, 24]),
    }


def test_profiles_name_hours_layers_and_axes(figures):
    words = words_of(figures["profile"])

    assert {"0 h", "6 h", "24 h", "brick <1>", "back-up", "side & lid, °C", "side & lid, water, kg/m³",
            "mm from the hot face"} <= set(words)  # fmt: skip


def test_a_band_has_its_ends_named_and_a_single_line_has_none(figures):
    assert {"p10", "p50", "p90", "Water left, %", "hours"} <= set(words_of(figures["left"]))
    assert not {"p10", "p50", "p90"} & set(words_of(figures["line"]))


def test_casing_curves_are_named_wet_and_dry_and_differ_in_stroke(figures):
    assert {"wet", "dry", "Casing, °C"} <= set(words_of(figures["casing"]))
    assert len(set(re.findall(r'stroke-dasharray="([^"]+)"', figures["casing"]))) == 1  # the other is unbroken


def test_all_figures_are_without_colour(figures):
    for svg in figures.values():
        colours = {one.lower() for one in re.findall(r'"#([0-9a-fA-F]{6})"', svg)}
        assert all(one[:2] == one[2:4] == one[4:] for one in colours), colours


def test_the_title_stands_for_the_picture(figures):
    root = ElementTree.fromstring(figures["run"])

    assert root.attrib["role"] == "img"
    assert root.find("{http://www.w3.org/2000/svg}title").text == "A < B"


def test_the_same_values_give_the_same_bytes(dried, figures):
    assert profile_figure(dried, 0, [0, 6, 24]) == figures["profile"]
    assert left_figure(HOURS, LEFT, 0.8 * LEFT, np.minimum(1.2 * LEFT, 1)) == figures["left"]


def test_all_of_them_are_printed_in_one_paper_without_a_word_of_complaint(figures):
    style = "<style>" + printer._fonts() + "</style>"
    page = f'<!DOCTYPE html><html lang="en"><title>Curves</title>{style}<body>{"".join(figures.values())}</body></html>'

    assert printer.pdf(page).startswith(b"%PDF")
