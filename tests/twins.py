"""Twin experiments: a kiln that the planner does not see is dried and read; what do its readings teach?

`python -m tests.twins` prints for each way to dry, and by day, how wide the forecast of the days that remain is (p10 to
p90), how often the truth lies in it, and how far its middle is off, with what was assumed alone beside.

The truth is another draw (another seed) on finer cells and shorter steps, so that the model is not quite its own. Read
are casing by place every two hours, the piece every morning, and what is caught where something draws it, with errors:
a campaign's, a day's and a look's, as `figures.toml` has them. Of
the planner's draws every second one is of a kiln that is doubted, as it is in the tool. The wrong kiln is doubted as
well, and its joints leak, which no draw of the planner has: every casing three times as open.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cache

import numpy as np

from recover.asked.told import Logged
from recover.physics.drying import QUICK
from recover.physics.ensemble import Draws
from recover.physics.figures import figures
from recover.physics.grid import COARSE
from recover.physics.sensitivity import deviation
from recover.physics.staged import setups_of
from recover.plan.criteria import piece_left
from recover.plan.days import place_of
from recover.plan.learning import as_assumed, learn, to_weigh
from recover.plan.of_job import Taken
from recover.plan.paths import run_path
from recover.plan.piece import Piece
from recover.plan.walk import Walk, most_left
from recover.plan.ways import way
from recover.schedule.spells import Spell
from tests.small_kiln import by_day, taken
from tests.test_programmes import controller

SEEDS = (7919, 104729)
TRUTHS, HORIZON, OWN_HORIZON, ON_H = 40, 28, 6, 11.5
SPAN = (0.1, 0.5, 0.9)
AT_DAYS = (0, 1, 3, 5, 8, 12)
WAYS = ("enclosure", "small_heater", "air", "own")
PIECE = Piece(2.0, 1.5, 0.25)
OPENS = datetime.fromisoformat("2026-03-12T08:00:00+00:00")
PLACE_OF_PIECE, CAUGHT = "the marked piece", "caught"


@dataclass(kw_only=True)
class Truth(Walk):
    """Kilns that the planner does not see: finer cells, shorter steps; `leaks`: faces so many times as open."""

    leaks: float = 1.0

    def _draws(self, out):
        setups = setups_of(replace(self.heating, out=out), compact=True)
        draws = Draws.of([self._leaking(one) for one in setups], COARSE, QUICK)
        return draws if self.chosen is None else draws.only(self.chosen)

    def _leaking(self, setup):
        walls = tuple(
            replace(wall, cold=replace(wall.cold, openness=min(wall.cold.openness * self.leaks, 1.0)))
            for wall in setup.walls
        )
        return replace(setup, walls=walls)


@cache
def walked(way_id: str, kind: str, seed: int = SEEDS[0]) -> Walk:
    """Return the draws of the planner, or the kilns of a seed that it does not see, at the horizon of a way."""
    of = of_kiln()
    if kind == "prior":
        walk = Walk(card=way(way_id), of=of, heating=to_weigh(of.heating))
    elif kind == "truth":
        walk = Truth(card=way(way_id), of=of, heating=replace(of.heating, draws=TRUTHS, seed=seed))
    else:
        doubted = replace(of.heating, draws=TRUTHS, seed=seed, knowledge="doubted")
        walk = Truth(card=way(way_id), of=of, heating=doubted, leaks=3.0)
    for spell in own_spells() if way_id == "own" else ():
        walk.own_day(spell, 12.0, 0.0)
    for _ in range(0 if way_id == "own" else HORIZON):
        walk.outside_day("", ON_H, 12.0)
    return walk


@cache
def own_spells() -> tuple[Spell, ...]:
    """Return what its own elements are set to by a controller that was tried, and its last day over and over to the
    horizon."""
    of = replace(of_kiln(), gate_open=True, controller=controller(overshoot_k=5), probe="K", setting="K")
    run = run_path(way("own"), of, by_day, 16)
    spells = [one.spell for one in run.days if one.spell]
    return (*spells, *[spells[-1]] * (HORIZON - len(spells)))[:OWN_HORIZON]


def of_kiln() -> Taken:
    """Return the small kiln, in a room whose dehumidifier is emptied into a measure."""
    of = taken()
    return replace(of, room=replace(of.room, dehumidifier_l_day=20.0))


# ---------------------------------------------------------------------------------------- what is read of a truth


@dataclass(frozen=True)
class Errors:
    """The errors of one campaign: what stays, by place, and what one piece and one vessel make of the kiln."""

    generator: np.random.Generator
    casing_k: dict[str, float]
    piece_times: float
    catch: float

    @classmethod
    def drawn(cls, seed: int, places: list[str]) -> Errors:
        generator, say = np.random.default_rng([seed, 4242]), figures()
        offsets = {place: generator.normal(0, say.casing_offset_k.mid) for place in places}
        piece = np.exp(generator.normal(0, deviation(say.piece_share)))
        catch = say.catch_share.mid * np.exp(generator.normal(0, deviation(say.catch_share)))
        return cls(generator, offsets, float(piece), float(min(catch, 1.0)))


def readings(walk: Walk, number: int, days: int) -> list[Logged]:
    """Return what is read of one of the kilns on its first days, with errors."""
    places = [place for wall in walk.stood.draws.setups[0].walls if (place := place_of(wall.name))]
    errors = Errors.drawn(number, places)
    return [one for day in range(days) for one in _of_day(walk, number, day, errors)]


def _of_day(walk: Walk, number: int, day: int, errors: Errors) -> Iterator[Logged]:
    opens, did, say = OPENS + timedelta(days=day), walk.days[day].did, figures()
    if day:
        left = piece_left(walk.days)[day - 1][number] * errors.piece_times
        left *= np.exp(errors.generator.normal(0, deviation(say.piece_look_times)))
        yield _logged("piece", PLACE_OF_PIECE, float(PIECE.weighs(left)), "kg", opens)
    today_k = errors.generator.normal(0, say.casing_day_k.mid)
    for at, wall in enumerate(did.setups[0].walls):
        for hour in np.arange(2.0, ON_H, 2.0) if (place := place_of(wall.name)) else ():
            degc = np.interp(hour, did.hours, did.casing_degc[number, :, at]) + errors.casing_k[place] + today_k
            degc += errors.generator.normal(0, say.casing_look_k.mid)
            yield _logged("casing", place, float(degc), "°C", opens + timedelta(hours=walk.days[day].starts_h + hour))
    if walk.card.air not in ("enclosure", "workshop", "own"):
        litres = walk.days[day].litres[number] * errors.catch
        litres *= np.exp(errors.generator.normal(0, deviation(say.catch_look_times)))
        yield _logged("litres", CAUGHT, float(max(litres, 0.0)), "l", opens + timedelta(hours=ON_H))


def _logged(what: str, place: str, value: float, unit: str, at: datetime) -> Logged:
    return Logged(line=1, by="twin", kiln="kiln/1", what=what, place=place, value=value, unit=unit, measured=at)


# ---------------------------------------------------------------------------------------- what it teaches


def dry_day(walk: Walk) -> np.ndarray:
    """Return after how many days each draw is dry, between days by the share left; the horizon where it is not."""
    left = np.vstack([np.ones(len(walk.days[0].left)), [one.left for one in walk.days]])
    found = np.full(left.shape[1], float(len(walk.days)))
    for draw, course in enumerate(left.T):
        under = np.flatnonzero(course <= most_left())
        if under.size:
            day = under[0]
            found[draw] = day - (most_left() - course[day]) / max(course[day - 1] - course[day], 1e-9)
    return found


@dataclass(frozen=True)
class Row:
    """What readings of so many days teach, over all truths: width p10 to p90 and error [days], coverage, draws."""

    way: str
    kind: str
    day: int
    assumed_width: float
    assumed_coverage: float
    assumed_error: float
    width: float
    coverage: float
    error: float
    effective: float
    misfits: int


def row(way_id: str, kind: str, day: int) -> Row:
    """Return what readings of the first days of a way teach of when it is dry."""
    prior = walked(way_id, "prior")
    assumed = np.quantile(dry_day(prior)[as_assumed(prior.heating)], SPAN)
    found = [one for seed in SEEDS for one in _taught(prior, walked(way_id, kind, seed), day, assumed)]
    told, so_far = (np.mean([_beside(getattr(one, name), one.real) for one in found], axis=0)
                    for name in ("told", "assumed"))  # fmt: skip
    return Row(
        way_id, kind, day, *(float(one) for one in (*so_far, *told)), float(np.mean([one.effective for one in found])),
        sum(one.misfit for one in found),
    )  # fmt: skip


@dataclass(frozen=True)
class _Taught:
    """Of one kiln: when it is dry, when that was assumed and is told now (p10, p50, p90), and what carries that."""

    real: float
    assumed: np.ndarray
    told: np.ndarray
    effective: float
    misfit: bool


def _taught(prior: Walk, truth: Walk, day: int, assumed: np.ndarray) -> Iterator[_Taught]:
    """Yield for each truth what readings of its first days teach; before the first nothing is but assumed."""
    ends, opens = dry_day(prior), [OPENS + timedelta(days=one) for one in range(day)]
    for number, real in enumerate(dry_day(truth)):
        if not day:
            yield _Taught(real, assumed, assumed, len(as_assumed(prior.heating)), misfit=False)
            continue
        learned = learn(prior.days[:day], opens, readings(truth, number, day), PIECE, as_assumed(prior.heating))
        told = np.quantile(ends[list(learned.chosen(len(ends)))], SPAN)
        yield _Taught(real, assumed, told, learned.effective, misfit=bool(learned.misfits))


def _beside(told: np.ndarray, real: float) -> tuple[float, float, float]:
    """Return how wide a span is, whether it holds the truth, and how far its middle lies beside it."""
    low, middle, high = told
    return high - low, float(low <= real <= high), abs(middle - real)


def main() -> None:
    """Print the table."""
    say = sys.stdout.write
    say("way           truth  day   assumed: width cover error   read: width cover error  draws  misfits\n")
    for way_id in WAYS:
        for kind in ("truth", "wrong"):
            for day in AT_DAYS if way_id != "own" else range(4):
                one = row(way_id, kind, day)
                say(
                    f"{one.way:13} {one.kind:6} {one.day:3}   {one.assumed_width:14.1f} {one.assumed_coverage:5.2f} "
                    f"{one.assumed_error:5.1f}   {one.width:11.1f} {one.coverage:5.2f} {one.error:5.1f} "
                    f"{one.effective:6.0f} {one.misfits:8}\n"
                )


if __name__ == "__main__":
    main()
