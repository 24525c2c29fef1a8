"""A small kiln as a plan takes it: one thin wet ring of brick, so that a whole path runs in seconds."""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from recover.judged.assessment import assess
from recover.plan import of_job, planning
from recover.plan.paths import PathRun, run_path
from recover.plan.ways import way, ways
from tests.plan_job import SMALL, write

DRAWS = 16


@cache
def taken(given: tuple = ()) -> of_job.Taken:
    """Return what planning takes of it, with further answers."""
    job = write(Path(tempfile.mkdtemp(prefix="recover-small-")) / "job", {**SMALL, **dict(given)})
    (of,) = of_job.taken(assess(job))
    return of


def by_day(_day: int) -> float:
    """Somebody is there for twelve hours every day."""
    return 12.0


def weekdays(day: int) -> float:
    """Nobody comes on the third and fourth day of seven."""
    return 0.0 if day % 7 in (2, 3) else 12.0


@cache
def ran(way_id: str = "enclosure", given: tuple = (), attended=by_day, shifts: bool = False) -> PathRun:
    """Return a path that was run."""
    return run_path(way(way_id), taken(given), attended, DRAWS, shifts=shifts)


@contextmanager
def one_path(way_id: str = "enclosure") -> Iterator[pytest.MonkeyPatch]:
    """Of the paths only this one is run by a plan, and not in shifts."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(planning, "ways", lambda: replace(ways(), way=[way(way_id)]))
        patch.setattr(planning, "_in_shifts", lambda *_: [])
        yield patch
