"""What readings of a drying teach: draws that would have shown them weigh more, and what none shows is said."""

from dataclasses import replace
from datetime import timedelta
from functools import cache

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from recover.physics.figures import figures
from recover.physics.sensitivity import LEAST_AGREEING, deviation
from recover.plan.criteria import piece_left
from recover.plan.days import place_of
from recover.plan.learning import PRIOR_DRAWS, Weighed, as_assumed, learn, to_weigh
from tests.twins import CAUGHT, ON_H, OPENS, PIECE, PLACE_OF_PIECE, _logged, of_kiln, readings, row, walked

DAYS = 3


@cache
def days():
    return tuple(walked("air", "prior").days[:DAYS])


@cache
def places():
    return {place_of(wall.name): at for at, wall in enumerate(days()[0].did.setups[0].walls) if place_of(wall.name)}


def at(day, hour):
    return OPENS + timedelta(days=day, hours=float(hour))


def taught(*log, of=None):
    opens, assumed = [at(day, 0) for day in range(DAYS)], as_assumed(walked("air", "prior").heating)
    return learn(of or days(), opens, log, PIECE, assumed)


def casing_of(draw, *, beside_k=0.0, day=1, hour=6.0):
    place, wall = next(iter(places().items()))
    did = days()[day].did
    degc = np.interp(hour, did.hours, did.casing_degc[draw, :, wall])
    return _logged("casing", place, float(degc + beside_k), "°C", at(day, hour))


def piece_of(draw, day=2):
    return _logged("piece", PLACE_OF_PIECE, float(PIECE.weighs(piece_left(days())[day - 1][draw])), "kg", at(day, 0))


def litres_of(draw, day, times=1.0):
    caught = days()[day].litres[draw] * figures().catch_share.mid * times
    return _logged("litres", CAUGHT, float(caught), "l", at(day, ON_H))


# ---------------------------------------------------------------------------------------- weights


def test_without_a_reading_all_draws_weigh_alike():
    learned = taught()
    assert learned.weights == pytest.approx(np.full(PRIOR_DRAWS, 1 / PRIOR_DRAWS))
    assert learned.readings == 0
    assert learned.chosen(PRIOR_DRAWS) == tuple(range(PRIOR_DRAWS))


def test_a_draw_that_shows_what_was_read_weighs_most():
    learned = taught(casing_of(8), piece_of(8), litres_of(8, 0), litres_of(8, 1), litres_of(8, 2))
    assert learned.weights[8] == learned.weights.max()
    assert learned.weights.sum() == pytest.approx(1)


def test_so_many_draws_share_the_weight_however_much_is_read():
    log = readings(walked("air", "prior"), 8, DAYS)
    assert taught(*log).effective >= LEAST_AGREEING - 0.01


def test_two_readings_of_one_place_weigh_as_a_normal_distribution_with_their_errors_has_it():
    """Beside a general-purpose library: the errors of two days share what stays, and nothing else."""
    one, two, say = casing_of(8, day=0), casing_of(8, day=1), figures()
    learned, wall = taught(one, two), places()[one.place]
    each = [days()[day].did for day in (0, 1)]
    shown = np.array([[np.interp(6.0, did.hours, draw) for draw in did.casing_degc[:, :, wall]] for did in each]).T
    stays, anew = say.casing_offset_k.mid**2, say.casing_day_k.mid**2 + say.casing_look_k.mid**2
    covariance = [[stays + anew, stays], [stays, stays + anew]]
    logs = np.array([multivariate_normal.logpdf([one.value, two.value], mean, covariance) for mean in shown])
    expected = np.exp(logs - logs.max())
    assert learned.effective >= LEAST_AGREEING
    assert learned.weights / learned.weights.max() == pytest.approx(expected, rel=1e-6)


def test_the_same_share_that_is_caught_every_day_teaches_less_than_a_share_that_changed():
    """Which share is caught nobody knows, and it stays: half of it on each day says little of the kiln."""
    of = [litres_of(8, day) for day in range(DAYS)]
    same = [litres_of(8, day, times=0.9) for day in range(DAYS)]
    assert taught(*same).effective == pytest.approx(taught(*of).effective, rel=0.5)


def test_several_emptyings_of_a_day_are_one_reading():
    whole = litres_of(8, 1)
    parts = [replace(whole, value=whole.value / 2, measured=whole.measured - timedelta(hours=hour)) for hour in (4, 0)]
    assert taught(*parts).weights == pytest.approx(taught(whole).weights)
    assert taught(*parts).readings == 1


def test_what_is_typed_several_times_of_one_minute_teaches_as_once():
    """One weighing, one emptying; of several weighings within the hour no more is known of their errors."""
    for one in (piece_of(8), litres_of(8, 1)):
        assert taught(one, replace(one, line=901), replace(one, line=902)).weights == pytest.approx(taught(one).weights)
    near = [replace(piece_of(8), measured=at(2, 0) + timedelta(minutes=minutes)) for minutes in (1, 2, 3)]
    assert taught(*near).readings == 1


@pytest.mark.parametrize(("note", "teaches"), [
    ("", True), ("the same scale", True), ("my kitchen scale", False), ("Küchenwaage", False),
    ("as before, not another", True), ("not the same scale", False),
    ("the neighbour's scale, compared: both tell 1.000 kg", True),
])  # fmt: skip
def test_no_weight_of_a_scale_that_need_not_be_the_first_teaches_before_they_were_compared(note, teaches):
    first, then = piece_of(8, day=1), replace(piece_of(8), said=note, line=901)
    assert taught(first, then).readings == (2 if teaches else 1)


def test_kilowatt_hours_and_insulation_teach_nothing():
    others = [_logged("kwh", "", 12.0, "kWh", at(0, 11)), _logged("insulation", "", 0.4, "MΩ", at(0, 11))]
    assert taught(*others).readings == 0


def test_of_a_logger_no_more_counts_than_of_a_person_with_a_probe():
    hourly = [casing_of(8, day=0, hour=hour) for hour in np.arange(2.0, 10.01, 2.0)]
    often = [casing_of(8, day=0, hour=hour) for hour in np.arange(2.0, 10.01, 0.25)]
    assert taught(*often).readings == taught(*hourly).readings == 5


def test_draws_are_chosen_as_often_as_they_weigh():
    weights = np.array([0.5, 0.25, 0.125, 0.125])
    learned = Weighed(weights=weights, readings=1, misfits=())
    chosen = learned.chosen(8)
    assert [chosen.count(draw) for draw in range(4)] == [4, 2, 1, 1]
    assert learned.effective == pytest.approx(1 / (weights**2).sum())


# ---------------------------------------------------------------------------------------- what no draw shows


@pytest.mark.parametrize("beside_k", [-40.0, 40.0])
def test_a_casing_that_no_draw_has_is_said_with_its_side(beside_k):
    (misfit,) = taught(casing_of(8, beside_k=beside_k)).misfits
    assert (misfit.what, misfit.unit) == ("casing", "K")
    assert np.sign(misfit.beside) == np.sign(beside_k)
    assert abs(misfit.beside) < abs(beside_k)


def test_a_casing_among_the_draws_or_within_the_errors_of_its_meter_is_no_misfit():
    degc = days()[1].did.casing_degc[:, :, places()[casing_of(0).place]]
    hottest = int(np.argmax(degc[:, -1]))
    for draw, beside_k in ((8, 0.0), (hottest, 2.0)):
        assert taught(casing_of(draw, beside_k=beside_k)).misfits == ()


def test_a_piece_that_holds_more_than_it_ever_did_and_a_vessel_that_fills_by_itself_are_said():
    heavy = replace(piece_of(8), value=2.6)
    full = [litres_of(8, day, times=30.0) for day in range(DAYS)]
    (piece,), (litres,) = taught(heavy).misfits, taught(*full).misfits
    assert (piece.what, piece.beside > 0) == ("piece", True)
    assert (litres.what, litres.beside > 0) == ("litres", True)


def test_what_only_a_doubted_draw_shows_is_of_another_kiln():
    """The piece that is driest on the third day is a doubted one's: it counts, and is said."""
    left = piece_left(days())[1]
    driest = int(np.argmin(left))
    assert driest not in as_assumed(walked("air", "prior").heating)

    learned = taught(piece_of(driest))
    (misfit,) = learned.misfits
    assert (misfit.what, misfit.beside < 0) == ("piece", True)
    assert learned.weights[driest] == learned.weights.max()


def test_every_second_draw_is_doubted_until_the_kiln_itself_is():
    heating = of_kiln().heating
    assert len(as_assumed(to_weigh(heating))) == PRIOR_DRAWS / 2
    assert len(as_assumed(to_weigh(replace(heating, knowledge="doubted")))) == PRIOR_DRAWS


def test_errors_are_those_that_are_named():
    say = figures()
    assert deviation(say.piece_share) == pytest.approx(0.15, abs=0.005)
    assert say.casing_offset_k.mid == 2
    assert say.casing_day_k.mid == 1.5


def test_a_casing_that_is_hot_between_its_ordinary_readings_is_not_passed_over():
    """Every second one 60 K hotter: their mean is beyond all draws."""
    usual = [casing_of(8, day=1, hour=hour) for hour in (4.0, 6.0, 8.0)]
    hot = [casing_of(8, day=1, hour=hour + 0.4, beside_k=60.0) for hour in (4.0, 6.0, 8.0)]
    assert taught(*usual).misfits == ()
    assert taught(*usual, *hot).misfits


# ---------------------------------------------------------------------------------------- on kilns that it does not see


def test_on_kilns_that_it_does_not_see_the_forecast_narrows_and_holds_the_truth():
    """Of 80 truths on finer cells: after five days the span is half as wide, and holds 70 to 95 in a hundred."""
    one = row("air", "truth", 5)
    assert one.width < 0.7 * one.assumed_width
    assert 0.7 <= one.coverage <= 0.95
    assert one.error < one.assumed_error
    assert one.misfits <= 4


@pytest.mark.parametrize("kind", ["truth", "wrong"])
def test_own_heat_that_was_read_never_makes_the_forecast_worse(kind):
    for day in (1, 2, 3):
        one = row("own", kind, day)
        assert one.width <= one.assumed_width if day > 1 else one.width < 1.1 * one.assumed_width
        assert one.error <= one.assumed_error
