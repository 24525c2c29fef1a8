"""The lining beside insulation tells of own heat as the chamber does: one stop for both."""

import pytest

from recover.job.folder import open_job
from recover.judged.assessment import answers_of
from recover.judged.stops import stop_of
from recover.plan.kinds import kinds
from tests import logs
from tests.test_stops import line
from tests.test_unheated import ENTRY, OWN, keep


@pytest.fixture
def job(tmp_path):
    return logs.write(tmp_path / "job", OWN)


def lining(degc, hour=12.0):
    return "insulation", 9.0, "MΩ", hour, {"lining_degc": degc, "test_volts": 500}


@pytest.mark.parametrize("degc", [18, 60, 600])
@pytest.mark.parametrize("waits", [True, False])
@pytest.mark.parametrize("plan", [OWN, None])
def test_a_lining_stops_where_a_chamber_as_hot_does(tmp_path, degc, waits, plan):
    one, other = (logs.write(tmp_path / name, OWN) for name in ("one", "other"))
    chamber = keep(one, ENTRY, ("chamber", degc, "°C", 12.0), plan=plan, waits=waits).answer
    beside = keep(other, ENTRY, lining(degc), plan=plan, waits=waits).answer
    assert beside.stops is chamber.stops


def test_it_is_said_of_the_lining_and_what_it_means_is_that_of_heat(job):
    said = keep(job, ENTRY, lining(600)).answer
    assert said.stops
    assert said.lines[0].startswith("STOP, hands off. The lining at 600 °C: above ")
    assert kinds()["chamber"].stop in said.lines


def test_while_its_day_waits_it_is_hot_by_nothing_else(job):
    said = keep(job, ENTRY, lining(60), waits=True).answer
    assert said.lines[0].startswith("STOP, hands off. 60 °C: nothing of its own is to be on now")


@pytest.mark.parametrize(
    ("beside", "why"),
    [
        ({"lining_degc": 61, "lining_stop": 60}, "over"),
        ({"lining_degc": 60, "lining_stop": 60}, None),
        ({"lining_degc": 61, "unheated": 30, "lining_stop": 60}, "unheated"),
        ({"lining_degc": 61}, None),
    ],
)
def test_the_line_itself_keeps_by_which_figure(beside, why):
    one = line("insulation", 9.0, unit="MΩ", details=beside)
    found = stop_of(one)
    assert (found.why if found else None) == why
    assert not found or (found.one == one and found.until == "mended")


def test_what_the_day_ends_by_of_insulation_goes_before_it():
    one = line("insulation", 0.05, unit="MΩ", details={"lining_degc": 61, "lining_stop": 60})
    assert stop_of(one, own=True).why == "floor"


def test_it_is_kept_beside_the_reading_and_no_condition_of_it(job):
    keep(job, ENTRY, lining(600))
    (*_, one) = answers_of(open_job(job)).logged
    assert one.details["lining_stop"] < 600
