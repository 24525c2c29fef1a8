"""The plan of a job, whole: for each kiln the paths from soaked to fired, and each day of the one that is followed.

These values are what is stored and what every paper prints; nothing in a paper is computed again. There is no plan
without an assessment, and nothing in one releases a hold point. A key that a path or a day has not is None.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Literal

from recover.base.addresses import Address
from recover.controller.programme import ProgrammeRun, Refusal
from recover.physics.draws import Spread
from recover.physics.materials import Band
from recover.plan.cards import FiringCard, Recheck, TopCost
from recover.plan.prices import Cost
from recover.plan.replacement import Match, Way
from recover.profiles import Limit
from recover.schedule.spells import Attendance

PhaseName = Literal["outside", "own", "proof"]
WaitsFor = Literal["", "own_heat", "boiling"]
BoardsDo = Literal["", "out", "in"]
Opens = Literal["boiling", "done"]
CriterionWhat = Literal["piece", "hold"]
ReadWhat = Literal["chamber", "casing", "piece", "litres", "insulation", "exhaust", "room"]


@dataclass(frozen=True)
class Request:
    """What is asked of a plan: the first opening by the job's own clock, who is there when.

    `closed` are weekdays (`sat`), dates (`2026-12-25`) and spans of them (`2026-12-24/2027-01-02`) on which nobody
    comes. `path` is the id of the path that is followed instead of the recommended one; empty: that one.
    """

    opens: datetime
    attendance: Attendance
    closed: tuple[str, ...] = ()
    path: str = ""


# ---------------------------------------------------------------------------------------- paths


@dataclass(frozen=True)
class Dates:
    """The dates by which half of the draws are there, and nine in ten."""

    p50: date
    p90: date


@dataclass(frozen=True, kw_only=True)
class PathPhase:
    """A stretch of a path: how it is dried (`way`, the id of a card; empty in the proof), its first and last day."""

    name: PhaseName
    way: str
    first: date
    last: date


@dataclass(frozen=True, kw_only=True)
class Path:
    """One path from soaked to fired, whole. What is not open, or not known, has no figures.

    `would_open` is the one thing that would open it, or let it finish; empty where nothing was found that does.
    `attended_hours` are those at the kiln, `visits` the days on which somebody comes. `kwh` and `cost` are what one
    draw in ten exceeds; `cost` is of energy, and of attendance where its rate is known (`with_attendance`).
    `beaten_by` is the id of a path that is no later, no longer attended and no dearer; empty where none is.
    `in_shifts`: its own elements are attended day and night, by more people than were asked for.
    """

    id: str
    title: str
    open: bool
    closed_because: tuple[str, ...]
    would_open: str
    needs: tuple[str, ...]
    against: tuple[str, ...]
    finishes: bool | None = None
    phases: tuple[PathPhase, ...] = ()
    first_firing: Dates | None = None
    attended_hours: float | None = None
    visits: int | None = None
    kwh: float | None = None
    kwh_span: Spread | None = None
    cost: Decimal | None = None
    with_attendance: bool = False
    left: Spread | None = None
    beaten_by: str = ""
    in_shifts: bool = False


# ---------------------------------------------------------------------------------------- a day


@dataclass(frozen=True)
class Number:
    """A number that is set, or was assumed of equipment or room: its name in the words of papers, and its unit."""

    what: str
    value: float
    unit: str


@dataclass(frozen=True, kw_only=True)
class TimedStep:
    """A step by the clock, aware and local to the job: its ramp begins, its hold begins, it ends.

    `run` is which of the day's runs it belongs to, from 1; `ramp_k_h` is None where it is there at once, or stays.
    `reads` marks the end of a run at which readings are taken, the kiln isolated until the next run begins.
    """

    run: int
    begins: datetime
    hold_from: datetime
    ends: datetime
    ramp_k_h: float | None
    to_degc: float
    reads: bool = False


@dataclass(frozen=True, kw_only=True)
class Expected:
    """What is read on a day, and its band: nine draws in ten above `low`, half above `mid`, one in ten above `high`.

    `at` is None for what is read over the whole day. `stop` is what only one draw in a hundred passes: beyond it the
    day ends. What the model knows nothing of (insulation) has no band.
    """

    what: ReadWhat
    place: str
    at: datetime | None
    unit: str
    low: float | None = None
    mid: float | None = None
    high: float | None = None
    stop: float | None = None


@dataclass(frozen=True, kw_only=True)
class Day:
    """One date of the path that is followed. Every paper of the day prints this, and nothing else.

    Nothing that heats runs outside `attended_from` to `attended_to`, both None on a day on which nobody comes; a
    programme ends by itself at `programme_ends`. `runs_on` names what runs with nobody there. `waits_for` is the hold
    point, or the reading, without which this day does not begin. `left` is the water at its end as a share of the
    first, `litres` what leaves on the day, `kwh` what it takes.
    """

    number: int
    date: date
    phase: PhaseName
    way: str
    boards: BoardsDo
    waits_for: WaitsFor
    attended_from: datetime | None
    attended_to: datetime | None
    runs_on: tuple[str, ...]
    numbers: tuple[Number, ...]
    steps: tuple[TimedStep, ...]
    runs: tuple[ProgrammeRun, ...]
    by_hand: bool
    programme_ends: datetime | None
    top_degc: float | None
    cutout_degc: float | None
    source_of_heat: str | None
    off_switch: str | None
    readings: tuple[Expected, ...]
    left: Spread
    litres: Spread
    kwh: Spread


@dataclass(frozen=True, kw_only=True)
class Criterion:
    """A reading that says: go on. Tested on the draws: in how many it came true with more water left than `left`.

    `opens`: past boiling, or the end of drying; all that open the same are to be so. `what` is read; it holds at
    `value` or beyond (`at` most, least), on a day whose top is at least `from_degc`; of hours held, by its own elements
    at `at_degc` or more.
    """

    opens: Opens
    what: CriterionWhat
    at: Literal["most", "least"]
    value: float
    unit: str
    left: float
    false_share: float
    from_degc: float = 0.0
    at_degc: float | None = None


# ---------------------------------------------------------------------------------------- all of it


@dataclass(frozen=True)
class LimitKept:
    """A limit, and what one draw in ten exceeds of it with all overshoot; `binds` where it refused anything faster."""

    limit: Limit
    reached: Spread | None
    binds: bool


@dataclass(frozen=True)
class Firing:
    """A card of what is fired after the dry-out, with its energy [kWh], its cost, and what each of its tops takes.

    Energy is None where the card has no steps, or the lining is not known well enough to reckon it.
    """

    card: FiringCard
    kwh: Band | None
    cost: Cost | None
    tops: tuple[TopCost, ...]


@dataclass(frozen=True, kw_only=True)
class Learnt:
    """What a drying that is under way has taught: `lines` of its log are taken in, and the days before `goes_on`.

    `not_run` are the numbers of days of which nothing tells that they were run: the kiln is taken to have been left
    alone. `effective` is how many draws carry what was read; `assumed` and `left` the share of the first water that is
    left as it was assumed, and by the readings; `at_first` the dates that the first plan told. `misfits` say what no
    draw shows; the plan is `shut` by them until somebody has looked.
    """

    goes_on: int
    lines: int
    readings: int
    not_run: tuple[int, ...]
    effective: float
    assumed: Spread
    left: Spread
    at_first: Dates | None
    misfits: tuple[str, ...]
    shut: bool


@dataclass(frozen=True, kw_only=True)
class KilnPlan:
    """The plan of one kiln. `missing` says why nothing is planned for its lining.

    `recommended` and `followed` are ids of paths, empty where there is none; `because` is the one sentence of the
    recommendation; `refused` what closes the path that was asked for. `gate_open` says whether everything that must
    come before heating with its own elements has been shown (it is still released by named persons only). `days` are
    those of the path that is followed; there are none where it is closed. `refusal` says why the controller runs
    nothing, and how it is done by hand; None where it runs every day. `learnt`: the drying is under way; days before
    the one that it goes on with are as they were planned then.
    """

    kiln: Address
    label: str
    missing: tuple[str, ...]
    gate_open: bool
    recommended: str
    because: str
    followed: str
    refused: tuple[str, ...]
    paths: tuple[Path, ...]
    days: tuple[Day, ...]
    criteria: tuple[Criterion, ...]
    kept: tuple[LimitKept, ...]
    refusal: Refusal | None
    match: Match | None
    match_ways: tuple[Way, ...]
    after: tuple[Firing, ...]
    rechecks: tuple[Recheck, ...]
    learnt: Learnt | None = None

    @property
    def path(self) -> Path | None:
        """The path that is followed; None where none is."""
        return next((one for one in self.paths if one.id == self.followed), None)


@dataclass(frozen=True, kw_only=True)
class JobPlan:
    """The plan of a job, as stored: what it was made from, by what, and the plan of each kiln.

    `head` is the journal line it rests on; `inputs` what was taken from answers and limits, by name; `fingerprint` is
    over every data file, the kernel and the version; `made` is a moment in ISO form; clock times in it are of `zone`.
    """

    number: int
    made: str
    program: str
    head: str
    inputs: dict[str, str]
    fingerprint: str
    seed: int
    draws: int
    zone: str
    request: Request
    kilns: tuple[KilnPlan, ...]
