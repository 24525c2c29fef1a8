"""What a plan looks like by the kiln, in a calendar and on a terminal: the same day, with the same numbers."""

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path

import pytest

from recover.asked.told import Release
from recover.base.errors import QuantityError
from recover.job.folder import Job, Settings
from recover.judged.signatures import Signature
from recover.report import pdf
from recover.report.kiln_room import kiln_room
from tests import sample_plan
from tests.conftest import answers_from, assessed
from tests.printed import pages_of
from tests.test_assessment import READY

NOW = datetime(2026, 4, 13, 18, 0, tzinfo=UTC)
SIGNERS = {"pass_electrics": ("E. Electrician", "electrician", "1234"), "attend": ("A. Tendant", "attendant", "")}


@cache
def found():
    """A kiln before its first heating: what that waits for is closed, since nothing was measured."""
    return assessed({key: value for key, value in READY.items() if not key.startswith("wire.")})


def signed(duty, line):
    """A signature before its own elements heat."""
    by, role, licence = SIGNERS[duty]
    told = {"moment": NOW, "line": line, "rests_on": {}, "after": ()}
    signature = Release(hold_point="own_heat", at="kiln/1", by=by, duty=duty, role=role, licence=licence, **told)
    return Signature(signature, "")


def opened(by=tuple(SIGNERS), of=None, **more):
    """The same, with nothing missing before its own elements heat; signed for each duty, or waiting for a name."""

    def one(hold):
        signatures = tuple(signed(duty, line) for line, duty in enumerate(by, start=900))
        wanted = tuple(duty for duty in hold.point.signatures if duty not in by)
        return replace(hold, waits=(), unmet=(), signatures=signatures, wanted=wanted, **more)

    of = of or found()
    return replace(of, holds=tuple(one(hold) if hold.point.id == "own_heat" else hold for hold in of.holds))


def job(paper="A4"):
    return Job(Path(), Settings("job", "uk", paper, "Europe/London"), (), "0" * 64)
