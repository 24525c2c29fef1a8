"""The drying so far as a picture and in letters: its bands are those of the days, each reading at its moment."""

import re
from math import isnan
from xml.etree import ElementTree

import pytest

from recover.plan.piece import Piece
from recover.report import pdf as printer
from recover.report.paper import Numbered
from recover.report.plan_section import plan_section
from recover.report.recovery import recovery
from recover.report.so_far import _panels, drying_plot, text_plot
from tests import sample_plan
from tests.sample_plan import CASING
from tests.status_job import at, logged, read, through
from tests.test_plan_papers import NOW, job, opened
from tests.test_plots import words_of

KILN = sample_plan.planned()
PIECE = Piece(2.4, 1.2, 0.5)
LOG = [*through(4), *(read("litres", 1.0, at(day, 19), sample_plan.CAUGHT, "l") for day in (1, 2, 3))]


def panels(kiln=KILN, log=LOG, piece=PIECE):
    left, weighed, caught, casing = _panels(kiln, log, piece)
    return {"left": left, "piece": weighed, "litres": caught, "casing": casing}


def test_the_band_of_the_water_left_is_that_of_each_day_at_its_end():
    left = panels()["left"]

    assert left.days[:2] == (0, 1)
    assert left.mid[1] == pytest.approx(100 * KILN.days[0].left.p50)
    assert left.high[-1] == pytest.approx(100 * KILN.days[-1].left.p90)


def test_a_piece_that_was_weighed_wet_and_dry_is_told_by_the_water_left_in_it():
    """2.2 kg of 2.4 wet and 1.2 dry: five sixths of its water."""
    piece = panels()["piece"]

    assert piece.title == "Water left in the marked piece, %"
    assert piece.read[0] == (0, pytest.approx(100 * (2.2 - 1.2) / 1.2))


def test_a_piece_of_unknown_water_is_told_as_it_was_weighed():
    piece = panels(piece=None)["piece"]

    assert piece.title == "The marked piece, kg"
    assert piece.read[0] == (0, pytest.approx(2.2))


def test_what_was_caught_is_summed_up_and_so_are_the_bands_of_its_days():
    caught = panels()["litres"]

    assert [value for _, value in caught.read] == [1.0, 2.0, 3.0]
    assert (caught.low[2], caught.high[2]) == (pytest.approx(1.6), pytest.approx(5.8))


def test_the_casing_stands_beside_its_band_hour_by_hour_and_between_days_there_is_none():
    casing = panels()["casing"]

    assert casing.read[0] == (pytest.approx(2 / 24), 39.0)
    assert any(map(isnan, casing.mid))


def test_what_was_read_in_another_unit_or_of_no_day_is_not_drawn():
    odd = [read("casing", 100.0, at(1, 10), CASING, "°F"), read("casing", 40.0, at(60, 10), CASING)]

    assert panels(log=odd)["casing"].read == ()


def test_the_picture_names_what_it_shows_is_without_colour_and_the_same_each_time():
    svg = drying_plot(KILN, LOG, PIECE)

    assert {"Water left, %", "Caught, summed up, l", f"Casing, {CASING}, °C"} <= set(words_of(svg))
    assert ElementTree.fromstring(svg).find("{http://www.w3.org/2000/svg}title").text.startswith("Kiln 1: the drying")
    assert all(one[:2] == one[2:4] == one[4:] for one in re.findall(r'"#([0-9a-fA-F]{6})"', svg))
    assert svg == drying_plot(KILN, LOG, PIECE)


def test_of_a_kiln_without_days_nothing_is_drawn():
    assert drying_plot(sample_plan.nothing(), LOG) == ""
    assert text_plot(sample_plan.nothing(), LOG, None, at(1, 9)) == []


@pytest.mark.parametrize("kiln", [KILN, sample_plan.by_own(), sample_plan.in_fahrenheit()])
def test_in_letters_it_is_eight_lines_of_plain_letters(kiln):
    lines = text_plot(kiln, LOG, PIECE, at(2, 12))

    assert len(lines) == 8
    assert max(map(len, lines)) <= 80
    assert all(line.isascii() for line in lines)


def test_in_letters_the_middle_falls_the_piece_is_marked_and_now_as_well():
    lines = text_plot(KILN, LOG, PIECE, at(4, 12))

    assert lines[1].startswith("100 |-")
    assert lines[6].endswith("-")
    assert lines[0].endswith("o piece")
    assert sum(line.count("o") for line in lines[1:7]) == 4
    assert lines[7].count("^") == 1


def test_the_report_prints_it_once_something_was_read():
    plan = sample_plan.job_plan(KILN)
    before = plan_section(opened(), plan, Numbered())["kilns"][0]["so_far"]
    after = recovery(job(), logged(opened(), *LOG), NOW, plan)

    assert before == ""
    assert after["plan"]["kilns"][0]["so_far"].startswith("<svg")
    assert "The drying so far, beside its plan" in printer.html(after)
