"""Days that were lived once are remembered; what is lost or broken is made again, and a job holds none of it."""

import numpy as np
import pytest

from recover.plan import lived as room
from recover.plan.remembered import MOST, folder, name_of, remember, remembered
from tests.test_lived import days, hourly, lived


@pytest.fixture(autouse=True)
def own_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))


def test_what_is_remembered_comes_back_as_it_was_and_by_its_own_name_alone():
    arrays = {"unknowns": np.arange(6.0).reshape(2, 3), "kwh": np.array([1.0])}
    remember(name_of("a kiln", 1), arrays)
    back = remembered(name_of("a kiln", 1))
    assert {name: values.tolist() for name, values in back.items()} == {
        name: values.tolist() for name, values in arrays.items()
    }
    assert remembered(name_of("a kiln", 2)) is None


@pytest.mark.parametrize("content", [b"", b"no archive", b"PK\x03\x04 cut off"])
def test_a_file_that_is_broken_is_nothing_that_is_remembered(content):
    remember(name_of("a"), {"kwh": np.array([1.0])})
    (folder() / f"{name_of('a')}.npz").write_bytes(content)
    assert remembered(name_of("a")) is None


def test_where_nothing_can_be_written_nothing_is_remembered_and_nothing_stops(tmp_path, monkeypatch):
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "file"))
    remember(name_of("a"), {"kwh": np.array([1.0])})
    assert remembered(name_of("a")) is None


def test_no_more_days_are_kept_than_are_worth_their_place():
    for number in range(MOST + 3):
        remember(name_of(number), {"kwh": np.array([1.0])})
    assert len([*folder().glob("*")]) == MOST


def test_a_day_is_lived_once_and_recalled_as_it_was(monkeypatch):
    log = [one for day in days()[:2] for one in hourly(day)]
    first = lived(log, days()[1].attended_to)
    monkeypatch.setattr(room.LivedKiln, "outside_day", lambda *_args: pytest.fail("a day was lived twice"))
    again = lived(log, days()[1].attended_to)
    for one, other in zip(first.days, again.days, strict=True):
        assert (one.left == other.left).all()
        assert (one.did.casing_degc == other.did.casing_degc).all()
        assert (one.on_h, one.phase, one.attended_h) == (other.on_h, other.phase, other.attended_h)
    assert (first.stood.standing.unknowns == again.stood.standing.unknowns).all()


def test_a_day_that_was_run_for_longer_is_another_day(monkeypatch):
    until = days()[0].attended_to
    whole = lived(hourly(days()[0]), until)
    idle = lived([], until)
    assert (whole.days[0].left < idle.days[0].left).all()
