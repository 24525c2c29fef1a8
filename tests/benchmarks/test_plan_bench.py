"""How long the whole plan of each example takes, and where it goes: `pytest tests/benchmarks/test_plan_bench.py -s`.

What we aim at on an idle machine of two cores: 15 s for the school, 5 s where only dates change.
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
        show(kiln)


def show(kiln):
    """Print the paths of a kiln: which is recommended, by when it can be fired, what is left."""
    print(f"{kiln.label}: {kiln.because}")
    for path in kiln.paths:
        fired = f"fired by {path.first_firing.p90}" if path.first_firing else "does not end"
        left = f", {path.left.p90:.0%} left (p90)" if path.left else ""
        print(f"  {path.title}: {fired if path.open else 'closed'}{left}")
