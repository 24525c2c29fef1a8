"""The sheet by the kiln: where readings are written, what shuts it, and how it is opened again."""

import re

import pytest

from recover.plan.due import of_the_sheet
from recover.plan.kinds import kinds
from recover.report.plan_table import csv_text
from recover.report.words import words
from tests import sample_plan, status_job
from tests.test_plan_papers import found, opened, sheet, shut

# ---------------------------------------------------------------------------------------- what is written in


def test_the_air_that_enters_is_written_beside_the_air_that_leaves_with_its_temperature():
    """Dry by its air is one that leaves as dry as it enters, at a temperature: all four are read at one hour."""
    (grid,) = sheet("outside", found())["grids"]
    rows = {row["label"]: [cell is not None for cell in row["cells"]] for row in grid["rows"]}
    leaves = next(label for label in rows if "the air leaves" in label)

    assert leaves.endswith(", %; °C")
    assert rows["Air that enters, %; °C"] == rows[leaves]
    assert [*rows].index("Air that enters, %; °C") == [*rows].index(leaves) + 1


def test_a_form_is_typed_in_row_by_row_as_its_grid_has_them():
    (day, *_) = sample_plan.planned().days
    (grid,) = sheet("outside", found())["grids"]
    typed = [*dict.fromkeys(one.kind.id for one in of_the_sheet(day) if one.kind.id in ("exhaust", "inlet", "casing"))]
    rows = [*dict.fromkeys("casing" if "Casing" in row["label"] else "inlet" if "enters" in row["label"] else "exhaust"
                           for row in grid["rows"])]  # fmt: skip

    assert typed == rows


def test_air_that_leaves_is_named_on_the_sheet_and_on_the_screen_as_in_the_log():
    assert words().day.read["exhaust"] == kinds()["exhaust"].label


# ---------------------------------------------------------------------------------------- what shuts a sheet


SHUTS = {
    "room": lambda: sheet("outside", shut("enclosure", opened())),
    "misfit": lambda: sheet(status_job.under_way(1, 0, [status_job.MISFIT]).kilns[0], opened()),
    "stop": lambda: sheet("outside", status_job.logged(opened(), status_job.read(
        "stopped", None, status_job.at(1, 7), word="rcd_trip", unit=""))),
    "water": lambda: sheet("outside", status_job.logged(opened(), status_job.read(
        "rain", None, status_job.at(1, 7), word="rain", unit=""))),
}  # fmt: skip


@pytest.mark.parametrize("why", SHUTS)
def test_a_sheet_that_is_shut_says_by_what_and_how_it_is_opened_again(why):
    box = SHUTS[why]()["box"]
    said = " ".join(box["lines"])

    assert box["title"] == "Not to be dried this way now"
    assert words().kiln_room.shut[why].says in said
    assert not [other for other in SHUTS if other != why and words().kiln_room.shut[other].says in said]
    assert re.search(r"recover (log|plan|inspect) JOB", said)


def test_a_table_of_days_says_by_what_they_are_shut():
    misfit = status_job.under_way(1, 0, [status_job.MISFIT])

    assert "shut by readings that do not fit" in csv_text(opened(), misfit)
    assert "shut by a hazard" not in csv_text(opened(), misfit)
    assert "shut by a hazard" in csv_text(shut("enclosure", opened()), status_job.outside())
