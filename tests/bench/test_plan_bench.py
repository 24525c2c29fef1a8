"""How long a whole plan takes, and what of it goes where. Run `pytest tests/bench/test_plan_bench.py -s`.

What we aim at on an idle machine of two cores: the search and all ways of drying within 60 s.
"""

import time
from datetime import date
from itertools import pairwise

import pytest

from recover.dryout import heatings
from recover.plan.fixed import beside
from recover.plan.limits import limits_of
from recover.plan.schedule import Attendance
from recover.plan.search import search
from recover.plan.strategies import Circumstances, compare
from tests.conftest import assessed
from tests.test_dryout import ROUND


def split(marks):
    """Print the seconds between marks, joined where they have the same name."""
    took = {}
    for (name, begin), (_, end) in pairwise(marks):
        took[name] = took.get(name, 0.0) + end - begin
    for name, seconds in took.items():
        print(f"{seconds:6.1f} s  {name}")
    print(f"{marks[-1][1] - marks[0][1]:6.1f} s  in all")


@pytest.mark.parametrize("there", [Attendance(), Attendance(8, 20)], ids=str)
def test_a_whole_plan_of_a_round_kiln(there):
    heating = heatings(assessed(ROUND))["kiln/1"]
    marks = []

    def mark(what, _share):
        marks.append((what.split(" to ")[0].split(" the ")[0], time.perf_counter()))

    print(f"\n{there}")
    plan = search(heating, limits_of(heating.stages, 5.0, there.hours), there, may_wrap=True, progress=mark)
    of = Circumstances(heating, "framed", "fresh", True, 2, True, 4.0, there, date(2026, 4, 1), 5)
    found = compare(of, plan, progress=mark)
    mark("fixed schedules", 0.0)
    beside(plan)
    mark("end", 1.0)
    split(marks)

    assert plan.feasible
    assert found.recommended
