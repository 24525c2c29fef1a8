"""How long the whole plan of each example takes, and where it goes: `pytest tests/benchmarks/test_plan_bench.py -s`.

What we aim at on an idle machine of two cores: 60 s for an example with all its kilns. With it goes what only whole
plans show: that no fixed schedule of another trade is at once shorter, drier and inside the limits (the table is
printed), and that no plan is refused without naming what binds.
"""

from datetime import datetime, time, timedelta
from itertools import pairwise
from time import perf_counter

import pytest

from recover.plan.planning import kiln_plans
from recover.plan.request import last_entry
from recover.plan.whole import Request
from recover.schedule.spells import Attendance
from tests.test_examples import NAMES, worked


def split(marks):
    """Print the seconds between marks, joined where they have the same name."""
    took = {}
    for (name, begin), (_, end) in pairwise(marks):
        took[name] = took.get(name, 0.0) + end - begin
    for name, seconds in took.items():
        print(f"{seconds:6.1f} s  {name}")
    print(f"{marks[-1][1] - marks[0][1]:6.1f} s  in all")


@pytest.mark.parametrize("there", [Attendance(8, 20), Attendance()], ids=str)
@pytest.mark.parametrize("name", NAMES)
def test_the_whole_plan_of_an_example(name, there, tmp_path):
    found = worked(name, tmp_path / "job").found
    day = last_entry(found) + timedelta(days=1)
    request = Request(datetime.combine(day, time(8)), there)
    marks = [("", perf_counter())]

    def mark(what, _share):
        marks.append((what.split(" to ")[0].split(": relaxing")[0], perf_counter()))

    print(f"\n{name}, {there}")
    plans = kiln_plans(found, request, mark)
    mark("end", 1.0)
    split(marks)
    for kiln in plans:
        if kiln.own:
            show(kiln)
            assert kiln.own.feasible or kiln.own.binding
            assert not any(row.beats for row in kiln.beside)


def show(kiln):
    """Print a searched schedule, the fixed ones beside it, and what binds."""
    proof = kiln.own.proof
    broken = ", ".join(limit.what for limit in kiln.own.broken) or "nothing"
    print(f"{kiln.label}: {proof.schedule.hours:5.0f} h, {100 * proof.left.p90:3.0f} % left, breaks {broken}")
    for row in kiln.beside:
        broken = ", ".join(row.broken) or "nothing"
        print(f"  {row.hours:5.0f} h, {100 * row.left_p90:3.0f} % left, breaks {broken}: {row.title}")
    for one in kiln.own.binding:
        worth = f"{one.saves:.1f} h" if one.saves is not None else f"{100 * one.dries:.1f} % of the water"
        print(f"  binds: {one.limit.what}: {worth}")
