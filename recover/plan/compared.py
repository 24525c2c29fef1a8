"""Paths as they are told and compared: dates, hours at the kiln, energy, money; which beats which, what closes one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from itertools import groupby
from math import ceil
from zoneinfo import ZoneInfo

import numpy as np

from recover.base.measures import show_number
from recover.physics.draws import Spread, spread
from recover.physics.materials import Band
from recover.plan.cards import card as firing_card
from recover.plan.cards import firing_energy
from recover.plan.clock import attended_h, elapsed_h, opening
from recover.plan.of_job import Taken
from recover.plan.paths import PathRun
from recover.plan.ways import WayCard, closed_because, way, ways
from recover.plan.whole import Dates, Path, PathPhase, Request

_CENT = Decimal("0.01")


@dataclass(frozen=True, kw_only=True)
class Calendar:
    """By which days of a plan become dates: what was asked for, and where the clock hangs."""

    request: Request
    zone: ZoneInfo

    def opening(self, day: int) -> datetime:
        """Return when a day opens, the first being 0."""
        return opening(self.request, self.zone, day)

    def date(self, day: int) -> date:
        """Return the date of a day."""
        return self.opening(day).date()

    def attended(self, day: int) -> float:
        """Return how many hours somebody is there on a day."""
        return attended_h(self.request, self.zone, day)

    def lasts_h(self, day: int) -> float:
        """Return how many hours lie between its opening and the next: 23 or 25 where clocks change."""
        return elapsed_h(self.opening(day), self.opening(day + 1))

    def proved(self, day: int, of: Taken) -> int:
        """Return the day on which the proof is done, after a last day of drying and once parts are there.

        A firing takes as many days as it lasts longer than somebody is there.
        """
        begins = max(day, (of.lead_days or 0) - 1)
        there_h = max(self.attended(begins + more) for more in range(1, 8))
        firings = sum(ceil(firing_card(one).hours(of.room_degc) / there_h) for one in ways().proof)
        return self.after(begins, max(firings, ceil(ways().proof_days.mid)))

    def after(self, day: int, open_days: int) -> int:
        """Return the last of so many days after this one on which somebody comes."""
        while open_days:
            day += 1
            open_days -= self.attended(day) > 0
        return day


@dataclass(frozen=True)
class Compared:
    """A path as it is told, and what it was told by; no run where it is closed."""

    path: Path
    run: PathRun | None = None


def closed_path(card: WayCard, of: Taken) -> Path:
    """Return a path that is closed, with what closes it and what would open it."""
    return Path(
        id=card.id, title=_title(card, own=False), open=False, closed_because=closed_because(card, of),
        would_open=_would_open(card, closed_because(card, of)), needs=tuple(card.needs), against=tuple(card.against),
    )  # fmt: skip


def _would_open(card: WayCard, closed: Sequence[str]) -> str:
    """Say what would open a way, and that no more is known of it: it was not run.

    Own elements are an exception: what opens them is another path, which was.
    """
    opens = {card.not_if[name]: what for name, what in card.opens.items() if card.not_if.get(name) in closed}
    what = " ".join(opens.values())
    if not what or card.air == "own":
        return what
    return ways().sentence["not_reckoned" if len(opens) == len(closed) else "not_reckoned_alone"].format(what=what)


def open_path(run: PathRun, of: Taken, calendar: Calendar) -> Path:
    """Return a path that was run."""
    card, own = run.way, any(one.spell for one in run.days)
    kwh = _with(spread(np.sum([one.kwh for one in run.days], axis=0)), _proof_kwh(run, of))
    proof = _proof(run, of, calendar)
    there_h = sum(one.attended_h for one in run.days) + sum(map(calendar.attended, proof))
    phases = tuple(_phases(run, of, calendar))
    steps = [card, way("own")] if own and card.air != "own" else [card]
    return Path(
        id=run.id, title=_titled(run, own), open=True, closed_because=(), would_open="",
        needs=tuple(dict.fromkeys([*_boards(of, card), *(need for one in steps for need in one.needs)])),
        against=tuple(dict.fromkeys(line for one in steps for line in one.against)), finishes=run.dry, phases=phases,
        first_firing=_first_firing(run, of, calendar), attended_hours=round(there_h, 1),
        visits=sum(one.attended_h > 0 for one in run.days) + len(proof), kwh=round(kwh.p90, 1), kwh_span=kwh,
        cost=cost_of(of, kwh.p90, there_h), with_attendance=of.rate_hour is not None,
        left=spread(run.days[-1].left) if run.days else None, in_shifts=run.shifts,
    )  # fmt: skip


def _boards(of: Taken, card: WayCard) -> Iterator[str]:
    """Yield what boards that are to be replaced need."""
    if of.going and card.air != "own":
        yield ways().sentence["boards_out" if of.boards_can_go else "boards_before"]
    if of.hot_faces_go:
        yield ways().sentence["hot_faces_before"]


def _titled(run: PathRun, own: bool) -> str:
    title = _title(run.way, own=own)
    return ways().sentence["shifts"].format(title=title) if run.shifts else title


def _title(card: WayCard, *, own: bool) -> str:
    if not own or card.air == "own":
        return card.title
    return ways().sentence["joined"].format(first=card.title, second=ways().sentence["own_title"])


def _phases(run: PathRun, of: Taken, calendar: Calendar) -> Iterator[PathPhase]:
    """Yield the stretches of a path, its proof last where it ends."""
    day = 0
    for (name, way_id), days in groupby(run.days, key=lambda one: (one.phase, one.way.id)):
        lasts = len(list(days))
        yield PathPhase(name=name, way=way_id, first=calendar.date(day), last=calendar.date(day + lasts - 1))
        day += lasts
    if run.dry:
        yield PathPhase(name="proof", way="", first=calendar.date(calendar.after(day - 1, 1)),
                    last=calendar.date(calendar.proved(day - 1, of)))  # fmt: skip


def _first_firing(run: PathRun, of: Taken, calendar: Calendar) -> Dates | None:
    """Return by when a normal firing can be, in half of the draws and in nine in ten; None where it has no end."""
    half, most = run.dry_on(0.5), len(run.days) - 1
    if not run.dry or half is None:
        return None
    return Dates(*(calendar.date(calendar.after(calendar.proved(day, of), 1)) for day in (half, most)))


def _proof(run: PathRun, of: Taken, calendar: Calendar) -> list[int]:
    """Return the days of the proof on which somebody comes; none on a path without an end."""
    last = len(run.days) - 1
    days = range(last + 1, calendar.proved(last, of) + 1) if run.dry else ()
    return [day for day in days if calendar.attended(day) > 0]


def _proof_kwh(run: PathRun, of: Taken) -> Band:
    """Return what the firings of the proof take [kWh], by steady sums on the dry lining."""
    if not run.dry or of.heating is None:
        return Band.exactly(0.0)
    lining, room_degc = of.heating.lining, of.room_degc
    return sum((firing_energy(firing_card(one), lining, room_degc) for one in ways().proof), start=Band.exactly(0.0))


def _with(kwh: Spread, proof: Band) -> Spread:
    """Return the energy of a drying with that of its proof."""
    error = kwh.p90_error + Band.exactly(proof.high)
    return Spread(kwh.p10 + proof.low, kwh.p50 + proof.mid, kwh.p90 + proof.high, error)


def cost_of(of: Taken, kwh: float, there_h: float) -> Decimal | None:
    """Return what energy costs, and attendance where its rate is known; None where no price of energy is known."""
    if of.price_kwh is None:
        return None
    money = of.price_kwh * Decimal(kwh) + (of.rate_hour or Decimal(0)) * Decimal(there_h)
    return money.quantize(_CENT)


# ---------------------------------------------------------------------------------------- which beats which


def best(found: Sequence[Compared]) -> Compared | None:
    """Return the path that ends with the earliest first firing, nine draws in ten; of equal ones the least attended."""
    ends = [one for one in found if one.path.open and one.path.first_firing]
    return min(ends, key=lambda one: _order(one.path), default=None)


def driest(found: Sequence[Compared]) -> list[Compared]:
    """Return the paths that are open, those first that leave the least water, nine draws in ten."""
    runs = [one for one in found if one.path.open and one.path.left]
    return sorted(runs, key=lambda one: one.path.left.p90 if one.path.left else 1.0)


def counted() -> str:
    """Say how many days of a path are counted."""
    figures = ways()
    return figures.sentence["counted"].format(
        days=show_number(figures.longest_days.mid), within=show_number(figures.within_days.mid)
    )


def _fired(path: Path) -> date:
    return path.first_firing.p90 if path.first_firing else date.max


def with_beaten(paths: Sequence[Path]) -> tuple[Path, ...]:
    """Return paths with the id of one that beats each: no later, no longer attended, no dearer, and not all equal."""
    ends = [one for one in paths if one.open and one.first_firing]
    return tuple(
        replace(one, beaten_by=next((other.id for other in ends if _beats(other, one)), "")) if one in ends else one
        for one in paths
    )


def _beats(one: Path, other: Path) -> bool:
    mine, theirs = _weighed(one), _weighed(other)
    as_asked = one.in_shifts <= other.in_shifts
    return as_asked and mine != theirs and all(a <= b for a, b in zip(mine, theirs, strict=True))


def _weighed(path: Path) -> tuple[float, float, float]:
    """Return what paths are weighed by: day of the first firing, attended hours, money or else energy."""
    money = float(path.cost) if path.cost is not None else path.kwh or 0.0
    return float(_fired(path).toordinal()), path.attended_hours or 0.0, money


def recommendation(of: Taken, paths: Sequence[Path], path_id: str) -> str:
    """Return the one sentence that recommends a path; empty where it has no end."""
    ends = [one for one in paths if one.open and one.first_firing and not one.in_shifts]
    chosen = next((one for one in ends if one.id == path_id), None)
    if chosen is None or chosen.first_firing is None:
        return ""
    say, dates = ways().sentence, chosen.first_firing
    said = say["only" if len(ends) == 1 else "earliest"].format(title=chosen.title, **spanned(dates))
    said = " ".join(filter(None, (said, *(_in_shifts(one, chosen) for one in paths if one.in_shifts))))
    return said if of.lead_days is not None else f"{said} {say['no_lead']}"


def _in_shifts(shifts: Path, by_day: Path) -> str:
    """Say by when a path ends day and night in shifts, and where that is less in everything that paths are weighed by.

    Money is compared where attendance is in it, and told without its name: a plan rests on no word for it.
    """
    if shifts.first_firing is None:
        return ""
    less = [mine < theirs for mine, theirs in zip(_weighed(shifts), _weighed(by_day), strict=True)]
    cheaper = all(less) and shifts.with_attendance
    name = "in_shifts_cheaper" if cheaper else "in_shifts_less" if all(less[:2]) else "in_shifts"
    return ways().sentence[name].format(
        **spanned(shifts.first_firing), hours=_round(shifts.attended_hours), by_day=_round(by_day.attended_hours),
        cost=_round(shifts.cost), cost_by_day=_round(by_day.cost),
    )  # fmt: skip


def _round(number: float | Decimal | None) -> str:
    return "" if number is None else show_number(round(number), 4)


def spanned(dates: Dates) -> dict[str, str]:
    """Return both dates as sentences print them."""
    return {"p50": f"{dates.p50:%d %b %Y}", "p90": f"{dates.p90:%d %b %Y}"}


def _order(path: Path) -> tuple[date, float]:
    return _fired(path), path.attended_hours or 0.0
