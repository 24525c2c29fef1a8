"""The standing words of the papers: what words.toml must hold, and the one door to it.

A section of the file is a Protocol here: its plain texts first, then its sentences with the places that each has.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from decimal import Decimal
from functools import cache
from importlib.resources import files
from typing import Literal, Protocol

from recover.base.datafile import VERSION, check_format
from recover.base.sentences import sentences
from recover.base.sources import Basis
from recover.engineering.circuits import Connection
from recover.engineering.leakage import LoadState, Response, SupplyConnection
from recover.judged.dry import EvidenceLies
from recover.physics.lining import PartWet
from recover.physics.materials import MaterialFamily
from recover.physics.sensitivity import Decided, Reading
from recover.physics.stages import StageClass, StageName
from recover.rules.table import Consent

BoxState = Literal["nothing", "shut", "nobody", "closed", "ready", "lapses", "released", "outside", "waits"]
ShutWhy = Literal["water", "stop", "misfit", "room"]
"""What may be done to a kiln today, as the sheet beside it says first."""

HandoverState = Literal["closed", "ready", "released", "ended", "aged"]
"""How a hand-over stands, as its certificate says first."""


@cache
def words() -> _Words:
    """Return the words. Raises DataError if the file is of another format, or its sentences are not those below."""
    return _read(files("recover.report").joinpath("words.toml").read_text("utf-8"))


def _read(text: str) -> _Words:
    found = tomllib.loads(text)
    check_format(found, "words.toml", "recover-words", VERSION)
    told = {name: one for name, one in found.items() if name not in ("format", "version")}
    read: _Words = sentences(told, "words.toml", _Words)
    return read


class _FormTest(Protocol):
    def __call__(self, *, than: str) -> str: ...


class _Form(Protocol):
    title: str
    subtitle: str
    job: str
    head: list[str]
    universal: str
    instruments: list[str]
    by: str
    role: str
    shown: str
    enter: str
    sheet: str
    marks: str
    once: str
    test: Mapping[str, _FormTest]

    def after(self, *, title: str) -> str: ...
    def found(self, *, outcomes: str) -> str: ...


class _HeadlineEnergiseClosed(Protocol):
    title: str
    lines: list[str]


class _HeadlineEnergiseReleased(Protocol):
    title: str

    def lines(self, *, released: str, heat: str) -> list[str]: ...
    def until(self, *, title: str, by: str, until: str) -> str: ...
    def kept(self, *, title: str, by: str) -> str: ...
    def closed(self, *, title: str) -> str: ...


class _HeadlineHandedOver(Protocol):
    title: str
    lines: list[str]

    def by(self, *, title: str, by: str, on: object) -> str: ...


class _Headline(Protocol):
    journal: str
    energise_closed: _HeadlineEnergiseClosed
    energise_released: _HeadlineEnergiseReleased
    handed_over: _HeadlineHandedOver

    def replace(self, *, number: int) -> str: ...


class _Registers(Protocol):
    hazard: Mapping[Literal["open", "cleared"], str]


class _Asked(Protocol):
    def ended(self, *, title: str, where: str, ended: str) -> str: ...
    def act(self, *, who: str, number: int) -> str: ...


class _Drying(Protocol):
    too_wide: str
    water: str
    nothing: str
    weigh: str
    frozen: str
    leaving: str
    salt: str
    air_days: str
    staged: str
    energy: str
    any_power: str
    any_pan: str
    vapour: str
    disagrees: Mapping[Literal["longer", "shorter", "not_within"], str]

    def room(self, *, rise: str) -> str: ...

    def spans(self, *, draws: str) -> str: ...
    def pan(self, *, litres: str) -> str: ...
    def not_by_end(self, *, hours: str, left: str) -> str: ...
    def by_hand(self, *, chamber: str) -> str: ...
    def run(self, *, draws: int, casing: str, pan: str, chamber: str, power: str, error: str) -> str: ...
    def held(self, *, hour: str, chamber: str, left: str, casing: str, dry: str) -> str: ...


class _Electrical(Protocol):
    rating: str
    current: str
    circuit: str
    zone: str
    measured: str
    element: str
    joint: str
    plate: str
    inferred: str
    no_rating: str
    open: str
    connection: Mapping[Connection, str]
    points: Mapping[Connection, str]
    sketch: Mapping[str, str]


class _Ohms(Protocol):
    power_read: str
    elements: str
    nothing: str
    unread: str
    alike: str
    power_within: str
    power_found: str
    power_contrary: str
    measure_each: str
    power: Mapping[str, str]

    def papers(self, *, ohm: str) -> str: ...
    def by_plate(self, *, ohm: str) -> str: ...
    def zone(self, *, zone: str) -> str: ...
    def power_within_under(self, *, kw: str, plate: str, passes: str) -> str: ...
    def power_within_over(self, *, kw: str, plate: str, passes: str) -> str: ...
    def power_open(self, *, missing: str) -> str: ...
    def power_waits(self, *, slate: int) -> str: ...
    def odd(self, *, elements: str) -> str: ...
    def coil(self, *, ohm: str, length: str, turns: str, load: str, most: str) -> str: ...
    def load(self, *, low: str, high: str, top: str) -> str: ...
    def joint(self, *, most: str, heat: str, amps: str, poor: str) -> str: ...


class _Thermocouple(Protocol):
    overfires: str
    underfires: str
    proving: list[str]

    def mismatch(self, *, probe: str, setting: str) -> str: ...
    def kiln_is(self, *, shown: str, true: str) -> str: ...
    def past_above(self, *, shown: str, high: str) -> str: ...
    def past_below(self, *, shown: str, low: str) -> str: ...
    def class_end(self, *, letter: str, end: str) -> str: ...
    def copper(self, *, letter: str, head: str) -> str: ...
    def reversed(self, *, letter: str, head: str) -> str: ...
    def wrong_cable(self, *, cable: str, head: str) -> str: ...
    def shown(self, *, true: str, shown: str) -> str: ...
    def shown_out(self, *, true: str) -> str: ...
    def boiling(self, *, degc: str, altitude: str) -> str: ...
    def in_boiling(self, *, probe: str, degc: str) -> str: ...
    def loop(self, *, probe: str, read: str, ohm: str, letter: str) -> str: ...


class _Drawing(Protocol):
    none: str
    water_line: str
    rise: str
    lining: str
    element: str
    submerged: str
    box: str
    door: str
    assumed: str
    from_above: str

    def missing(self, *, names: str) -> str: ...
    def describe_top(self, *, height: str) -> str: ...
    def describe_water(self, *, height: str) -> str: ...
    def describe_datum(self, *, label: str, height: str) -> str: ...


class _Wet(Protocol):
    terminal: str


class _Simulate(Protocol):
    note: str
    cautions: list[str]
    left: str
    frozen: str
    no_water: str

    hot_face: str
    cold_face: str
    nothing: str

    def not_within(self, *, hours: str) -> str: ...
    def keeps(self, *, number: int) -> str: ...
    def around(self, *, number: int) -> str: ...
    def comes(self, *, layer: str) -> str: ...
    def missed(self, *, water: str, kelvin: str, pressure: str) -> str: ...
    def beside(self, *, water: str, kelvin: str, demand: str, planned: str) -> str: ...
    def finest(self, *, water: str, kelvin: str, pressure: str) -> str: ...


class _DecidesLining(Protocol):
    def __call__(self, *, of: str) -> str: ...


class _Decides(Protocol):
    assumed: str
    none_narrows: str
    outcome: Mapping[Decided, str]
    kiln: Mapping[str, str]
    lining: Mapping[str, _DecidesLining]
    family: Mapping[MaterialFamily, str]
    reading: Mapping[Reading, str]

    def inputs(self, *, outcome: str, draws: str, chance: str, inputs: str) -> str: ...
    def none(self, *, outcome: str, draws: str) -> str: ...
    def readings(self, *, readings: str) -> str: ...


class _MeasuredDevice(Protocol):
    open: str
    class_a: str
    always: str
    sees: Mapping[SupplyConnection, str]
    state: Mapping[LoadState, str]
    response: Mapping[Response, str]

    def figures(self, *, rating: str, parts: str) -> str: ...


class _Measured(Protocol):
    elements: str
    wiring: str
    extra_low_wiring: str
    leakage: str
    earth: str
    open: str
    none_printed: str
    reached: str
    missed: str
    within: str
    over: str
    unbounded: str
    power_unknown: str
    all_zones: str
    elsewhere: Mapping[Literal["superseded", "contrary"], str]
    basis: Mapping[Basis, str]
    device: _MeasuredDevice

    def bound(self, *, ma: str, volts: str) -> str: ...
    def next_to_nothing(self, *, ma: str) -> str: ...
    def conductor(self, *, length: str) -> str: ...
    def series(self, *, zone: str, number: int, hours: str, first: str, least: str, last: str, state: str) -> str: ...
    def stop(self, *, hours: str, say: str) -> str: ...
    def logged_series(
        self, *, zone: str, number: int, hours: str, logged: int, first: str, least: str, warmest: str, last: str
    ) -> str: ...
    def state(self, *, number: int, state: str) -> str: ...
    def at_degc(self, *, value: str, degc: str) -> str: ...


class _Aids(Protocol):
    rating: str
    factor: str
    no_factor: str
    subdivide: str
    cable: str
    cord: str
    beyond_tables: str
    whole: str
    beyond_steps: str

    def rating_value(self, *, rating: str, factor: str, amps: str) -> str: ...
    def rating_each(self, *, rating: str, factor: str, amps: str, circuits: int) -> str: ...
    def divided(self, *, limit: str, circuits: int, device: str) -> str: ...
    def undivided(self, *, limit: str) -> str: ...
    def protected(self, *, size: str, most: str) -> str: ...
    def begins(self, *, size: str) -> str: ...
    def too_long(self, *, size: str) -> str: ...
    def one_of(self, *, circuits: int) -> str: ...
    def contactor(self, *, load: str) -> str: ...
    def dropping(self, *, size: str, volts: str, percent: str) -> str: ...
    def contactor_value(self, *, rating: str, amps: str) -> str: ...
    def contactor_order(self, *, rating: str, load: str) -> str: ...


class _PlanPrice(Protocol):
    def __call__(self, *, price: str, money: str) -> str: ...


class _PlanPath(Protocol):
    recommended: str
    followed: str
    unfinished: str
    energy: str
    both: str
    wetted: str
    withdrawn: str

    def would_open(self, *, what: str) -> str: ...
    def beaten(self, *, by: str) -> str: ...
    def as_above(self, *, reasons: str) -> str: ...


class _PlanPhase(Protocol):
    proof: str
    waits: Mapping[Literal["own_heat", "boiling", "proof", "held"], str]

    def release(self, *, holds: str) -> str: ...
    def over(self, *, on: object) -> str: ...


class _PlanCalendar(Protocol):
    boiling: str

    def after_release(self, *, days: str) -> str: ...
    def off(self, *, source: str, off: str) -> str: ...


class _PlanCriterion(Protocol):
    opens: Mapping[Literal["boiling", "done"], str]

    def soon(self, *, share: str, left: str) -> str: ...
    def never(self, *, left: str) -> str: ...
    def on_top(self, *, what: str, degc: str) -> str: ...


class _PlanKept(Protocol):
    none: str
    unread: str

    def binds(self, *, rows: str) -> str: ...
    def row(self, *, what: str, reached: str, limit: str) -> str: ...


class _PlanAsked(Protocol):
    def __call__(self, *, value: str) -> str: ...


class _PlanTerminalLabel(Protocol):
    state: str
    attended: str
    first: str
    heat: str
    off: str
    numbers: str
    tonight: str
    dry: str
    shut: str
    missing: str
    open: str
    by_hand: str
    closed: str
    note: str
    caution: str


class _PlanTerminal(Protocol):
    low: str
    off: str
    waits: str
    no_sheet: str
    refused: str
    row: Mapping[Literal["fires", "attended", "energy", "cost", "left"], str]
    label: _PlanTerminalLabel

    def more(self, *, more: int) -> str: ...
    def there(self, *, hours: str, visits: str) -> str: ...
    def heat(self, *, source: str, top: str, cutout: str) -> str: ...


class _Plan(Protocol):
    none: str
    measure_piece: str
    each_kiln: str
    gate: str
    past: str
    nothing_left: str
    prices: Mapping[Literal["kwh", "hour"], _PlanPrice]
    path: _PlanPath
    phase: _PlanPhase
    calendar: _PlanCalendar
    criterion: _PlanCriterion
    kept: _PlanKept
    asked: Mapping[Literal["less", "greater"], _PlanAsked]
    terminal: _PlanTerminal

    def changed(self, *, what: str) -> str: ...
    def changed_more(self, *, number: int) -> str: ...
    def missing(self, *, missing: str) -> str: ...
    def recommended(self, *, because: str) -> str: ...
    def none_recommended(self, *, because: str) -> str: ...
    def asked_for(self, *, path: str) -> str: ...
    def refused(self, *, reasons: str) -> str: ...
    def overtaken(self, *, path: str) -> str: ...
    def calculation(self, *, draws: str) -> str: ...
    def measure(self, *, piece: str) -> str: ...
    def hold(self, *, title: str, state: str) -> str: ...
    def hold_until(self, *, title: str, state: str, until: str) -> str: ...
    def hold_lapses(self, *, ends: str) -> str: ...
    def day(self, *, day: int) -> str: ...
    def days(self, *, days: str) -> str: ...
    def life(self, *, times: str) -> str: ...
    def cost(self, *, mid: Decimal, low: Decimal, high: Decimal) -> str: ...
    def card_step(self, *, ramp: str, top: str) -> str: ...
    def card_hold(self, *, hold: str) -> str: ...


class _DayAt(Protocol):
    def __call__(self, *, at: str) -> str: ...


class _DayValue(Protocol):
    def __call__(self, *, value: str) -> str: ...


class _DayStep(Protocol):
    off: str
    hand_off: str

    def opens(self, *, latest: str) -> str: ...
    def climbs(self, *, ramp: str, degc: str, by: str) -> str: ...
    def holds(self, *, ramp: str, degc: str, by: str, hold: str, ends: str) -> str: ...
    def stays(self, *, degc: str, ends: str) -> str: ...
    def first(self, *, run: int, say: str) -> str: ...
    def reads(self, *, run: int) -> str: ...


class _DayCriterion(Protocol):
    at: Mapping[Literal["most", "least"], _DayValue]
    what: Mapping[Literal["piece", "hold"], _DayValue]
    nothing: Mapping[Literal["boiling", "done"], str]

    def of_five(self, *, reading: str, agree: int, degc: str) -> str: ...
    def first(self, *, readings: str) -> str: ...
    def held(self, *, value: str, degc: str) -> str: ...
    def may_be_left(self, *, what: str, left: str) -> str: ...


class _Day(Protocol):
    nobody: str
    idle: str
    nothing_runs: str
    switch: str
    once: str
    undated: Mapping[Literal["gate", "none"], str]
    phase: Mapping[Literal["outside", "own", "proof"], str]
    boards: Mapping[Literal["out", "in"], str]
    ends: Mapping[Literal["programme", "hand", "heater"], _DayAt]
    step: _DayStep
    read: Mapping[Literal["chamber", "casing", "piece", "litres", "insulation", "exhaust", "room"], str]
    criterion: _DayCriterion

    def of(self, *, days: int) -> str: ...
    def next_day(self, *, at: str) -> str: ...
    def least(self, *, low: str) -> str: ...
    def runs_on(self, *, what: str) -> str: ...
    def run(self, *, run: int) -> str: ...
    def of_run(self, *, run: int, what: str) -> str: ...
    def boards_wait(self, *, holds: str) -> str: ...
    def waits(self, *, holds: str) -> str: ...
    def aged(self, *, hold: str) -> str: ...


class _KilnRoomSubtitle(Protocol):
    def dated(self, *, kiln: str, day: int, days: int, date: str) -> str: ...
    def undated(self, *, kiln: str, day: int, days: int) -> str: ...
    def once(self, *, kiln: str, day: int, days: int) -> str: ...
    def none(self, *, kiln: str) -> str: ...


class _Box(Protocol):
    title: str

    def lines(
        self, *, hold: str, way: str, by: str, released_by: str, at: str, until: str, latest: str, first: str
    ) -> list[str]: ...


class _KilnRoomMissing(Protocol):
    gate: str
    again: str
    changed: str

    def lead(self, *, missing: str) -> str: ...
    def by(self, *, hold: str, duties: str) -> str: ...
    def first(self, *, hold: str, missing: str) -> str: ...


class _KilnRoomShut(Protocol):
    says: str
    opens: str


class _KilnRoomColumns(Protocol):
    steps: list[str]
    hand: list[str]


class _KilnRoomOver(Protocol):
    over: str

    def handed_over(self, *, on: object) -> str: ...
    def stopped(self, *, stop: str, at: str) -> str: ...


class _KilnRoom(Protocol):
    over: _KilnRoomOver
    off_unknown: str
    beyond: str
    trips: str
    read_back: str
    unmet: str
    by_hand: list[str]
    subtitle: _KilnRoomSubtitle
    box: Mapping[BoxState, _Box]
    shut: Mapping[ShutWhy, _KilnRoomShut]
    missing: _KilnRoomMissing
    set_today: Mapping[Literal["source", "top", "cutout", "cutout_unknown"], str]
    title: Mapping[str, str]
    columns: _KilnRoomColumns
    power_cut: Mapping[Literal["own", "outside"], str]
    sign: Mapping[str, list[str]]
    sign_read: Mapping[Literal["piece", "hold"], str]

    def attended(self, *, there: str) -> str: ...
    def would_open(self, *, what: str) -> str: ...
    def off_at(self, *, off: str) -> str: ...
    def reset(self, *, run: int, cutout: str) -> str: ...
    def own_stop(self, *, abort: str, terminal: str) -> str: ...
    def latest(self, *, until: str) -> str: ...


class _CalendarTitle(Protocol):
    def heated(self, *, kiln: str, way: str, day: int) -> str: ...
    def visit(self, *, kiln: str, way: str, day: int) -> str: ...
    def hold(self, *, kiln: str, hold: str) -> str: ...
    def boiling(self, *, kiln: str) -> str: ...
    def fired(self, *, kiln: str) -> str: ...
    def recheck(self, *, kiln: str, months: int) -> str: ...


class _Calendar(Protocol):
    lapsed: str
    released: str
    no_cutout: str
    off: str
    sheet: str
    fired: list[str]
    recheck: str
    recheck_signed: str
    title: _CalendarTitle
    alarm: Mapping[Literal["opens", "ends"], str]
    part: Mapping[Literal["cautions", "stop"], str]
    no_cautions: str

    def name(self, *, job: str, plan: int) -> str: ...
    def where(self, *, kiln: str, job: str) -> str: ...
    def nothing(self, *, reasons: str) -> str: ...
    def attended(self, *, there: str) -> str: ...
    def heat(self, *, source: str, top: str, cutout: str) -> str: ...
    def off_at(self, *, off: str) -> str: ...
    def signed(self, *, by: str) -> str: ...
    def missing_of(self, *, missing: str) -> str: ...
    def cancelled(self, *, plan: int) -> str: ...


class _PlanTable(Protocol):
    caution: str
    undated: str
    shut: Mapping[ShutWhy, str]
    reads: str
    column: Mapping[str, str]

    def nothing(self, *, reasons: str) -> str: ...


class _StatusPlot(Protocol):
    days: str
    left: str
    piece_left: str
    litres: str
    letters: str
    weighed: str
    axis: str

    def title(self, *, kiln: str) -> str: ...
    def piece(self, *, unit: str) -> str: ...
    def casing(self, *, place: str) -> str: ...


class _StatusHour(Protocol):
    def __call__(self, *, day: int, days: int) -> str: ...


class _StatusLabel(Protocol):
    next: str
    then: str
    left: str
    ends: str
    stop: str

    def read(self, *, day: int) -> str: ...


class _StatusAct(Protocol):
    attends: str
    off_unknown: str
    call: str
    no_plan: str
    by_change: str
    by_days: str
    by_dates: str
    by_stop: str
    stop_again: str
    piece_cool: str
    no_entry: str
    looked: str
    entry_open: str
    by_entry: str
    past: str
    dry: str
    hand_over: str
    beyond: Mapping[Literal["above", "below"], str]

    def by(self, *, by: str) -> str: ...
    def until(self, *, until: str) -> str: ...
    def by_until(self, *, by: str, until: str) -> str: ...
    def stop(self, *, what: str, value: str, at: str, day: int, beyond: str, stop: str) -> str: ...
    def stop_logged(self, *, what: str, at: str) -> str: ...
    def unmended(self, *, stop: str) -> str: ...
    def missing_too(self, *, readings: str) -> str: ...
    def stop_day(self, *, what: str, at: str) -> str: ...
    def off(self, *, off: str) -> str: ...
    def unread(self, *, why: str) -> str: ...
    def overtaken(self, *, plan: int, what: str) -> str: ...
    def not_planned(self, *, because: str) -> str: ...
    def closed(self, *, hold: str, missing: str) -> str: ...
    def sign(self, *, hold: str) -> str: ...
    def ended(self, *, hold: str, ended: str) -> str: ...
    def more(self, *, number: int) -> str: ...
    def nobody(self, *, day: int, nobody: str) -> str: ...
    def then(self, *, holds: str) -> str: ...
    def section(self, *, hold: str) -> str: ...
    def renew(self, *, hold: str, until: str, day: int) -> str: ...
    def opens(self, *, day: int, days: int, at: str) -> str: ...
    def read(self, *, readings: str) -> str: ...
    def later(self, *, at: str, readings: str) -> str: ...
    def ends(self, *, day: int, at: str) -> str: ...
    def over(self, *, day: int, tonight: str) -> str: ...
    def missing(self, *, reading: str, at: str) -> str: ...
    def below_entry(self, *, value: str) -> str: ...
    def set_for_another(self, *, said: str, top: str, slate: int) -> str: ...
    def unproved(self, *, readings: str) -> str: ...
    def handed_over(self, *, first: str) -> str: ...
    def out_of_use(self, *, ended: str) -> str: ...
    def unlogged(self, *, days: str) -> str: ...
    def not_begun(self, *, days: str) -> str: ...
    def went_by(self, *, days: str) -> str: ...
    def not_dry(self, *, readings: str) -> str: ...
    def not_yet(self, *, against: str) -> str: ...
    def one_of_five(self, *, readings: str) -> str: ...
    def proof(self, *, proof: str) -> str: ...
    def visit(self, *, number: int) -> str: ...
    def misfits(self, *, number: int) -> str: ...


class _Status(Protocol):
    nothing: str
    left_all: str
    left_wetted: str
    no_end: str
    handed_over: str
    out_of_use: str
    hour: Mapping[Literal["ahead", "open", "over", "ended"], _StatusHour]
    lies: Mapping[Literal["within", "below", "above", "stop", "unexpected"], str]
    label: _StatusLabel
    act: _StatusAct
    plot: _StatusPlot

    def over(self, *, days: int) -> str: ...
    def stands(self, *, day: int, days: int) -> str: ...
    def not_begun(self, *, days: int) -> str: ...
    def plan(self, *, plan: int, made: str) -> str: ...
    def round(self, *, kiln: str, day: int, days: int, at: str) -> str: ...
    def left(self, *, left: str) -> str: ...
    def left_then(self, *, left: str, day: int) -> str: ...
    def undated(self, *, by: str) -> str: ...
    def fires_once(self, *, by: str, dates: str) -> str: ...
    def fires(self, *, dates: str) -> str: ...
    def days_left(self, *, number: int) -> str: ...
    def since(self, *, number: int) -> str: ...


class _Recovery(Protocol):
    stages: str
    weights: str
    holds: str
    findings: str
    no_readings: str
    measured: str
    drying: str
    no_orders: str
    curves: str
    no_unknown: str
    sources: str


class _HandoverBox(Protocol):
    title: str

    def lines(self, *, kiln: str, hold: str, still: str, by: str, until: str, at: str, ended: str) -> list[str]: ...


class _Handover(Protocol):
    lead: str
    dry: str
    proved: str
    not_proved: str
    none_not: str
    no_limits: str
    no_limit: str
    no_meter: str
    no_tester: str
    no_role: str
    short: Mapping[str, str]
    left_out: Mapping[str, list[str]]
    rechecks: str
    sign: str
    blanks: list[str]
    agreed: Mapping[str, str]
    firing: str
    no_method: str
    no_ways: str
    outcomes: str
    dried: Mapping[Literal["hottest", "left"], str]
    no_heat: str
    no_left: str
    planned_days: str
    unexplained: str
    firings: Mapping[str, str]
    lies: Mapping[EvidenceLies, str]
    box: Mapping[HandoverState, _HandoverBox]

    def signed(self, *, by: str, at: str) -> str: ...
    def decided(self, *, value: str, by: str) -> str: ...
    def limits(self, *, limits: str) -> str: ...
    def unproved(self, *, number: int, names: str) -> str: ...
    def passes(self, *, limit: str) -> str: ...
    def open_stop(self, *, stop: str) -> str: ...
    def not_issued(self, *, command: str) -> str: ...
    def hottest(self, *, top: str, at: str, line: int) -> str: ...
    def left(self, *, left: str, plan: int, day: int) -> str: ...
    def not_run(self, *, days: str, plan: int, first: str, last: str) -> str: ...
    def not_fired(self, *, top: str) -> str: ...
    def by_the_log(self, *, days: str, ways: str, top: str) -> str: ...
    def outcome(self, *, outcome: str) -> str: ...
    def shut(self, *, plan: int, misfits: str) -> str: ...
    def not_shown(self, *, value: str, firings: str) -> str: ...


class _Annex(Protocol):
    lead: str
    beside: str
    none: str
    nothing: str
    short: Mapping[str, str]
    none_logged: str
    not_standing: str
    shut: str
    no_plan: str
    nobody: str
    pictures: str
    lies: Mapping[str, str]
    stops: Mapping[str, str]
    phase: Mapping[str, str]

    def planned(self, *, plan: int, day: int, way: str, numbers: str) -> str: ...
    def days(self, *, number: int) -> str: ...
    def weight(self, *, value: str, on: str) -> str: ...
    def weights(self, *, first: str, last: str) -> str: ...
    def plan(self, *, plan: int) -> str: ...
    def made(self, *, plan: int) -> str: ...
    def goes_on(self, *, plan: int, day: int) -> str: ...
    def attended(self, *, begin: str, end: str) -> str: ...
    def top(self, *, top: str) -> str: ...
    def cutout(self, *, cutout: str) -> str: ...
    def left(self, *, left: str) -> str: ...
    def joined(self, *, joined: str) -> str: ...
    def detail(self, *, name: str, value: str) -> str: ...
    def at_least(self, *, value: str) -> str: ...
    def stop(self, *, stop: str) -> str: ...
    def signed(self, *, title: str, by: str) -> str: ...
    def ended(self, *, title: str, by: str, ended: str) -> str: ...
    def taken_back(self, *, by: str, at: str) -> str: ...
    def typed(self, *, at: str) -> str: ...
    def read_in(self, *, at: str) -> str: ...
    def columns(self, *, said: str, by: str, line: int) -> str: ...


class _Words(Protocol):
    not_excluded: str
    no_longer: str
    no_time: str
    set_aside: str
    doubtful: str
    unproved: str
    unbound: str
    contact_lines: list[str]
    tag_blanks: list[str]
    referral_blanks: list[str]
    recovery: _Recovery
    form: _Form
    headline: _Headline
    open: Mapping[str, str]
    call: Mapping[str, str]
    who: Mapping[str, str]
    group: Mapping[str, str]
    fact: Mapping[str, str]
    seen: Mapping[Literal["read", "excerpt", "quoted", "memory"], str]
    registers: _Registers
    asked: _Asked
    consent: Mapping[Consent, str]
    interest: Mapping[str, str]
    cause: Mapping[str, str]
    held: Mapping[PartWet, str]
    weights: Mapping[Literal["lid", "ring", "door", "kiln"], str]
    drying: _Drying
    stage: Mapping[StageName, str]
    stage_class: Mapping[StageClass, str]
    ladder: Mapping[str, str]
    electrical: _Electrical
    ohms: _Ohms
    thermocouple: _Thermocouple
    drawing: _Drawing
    wet: _Wet
    simulate: _Simulate
    decides: _Decides
    measured: _Measured
    aids: _Aids
    plan: _Plan
    day: _Day
    kiln_room: _KilnRoom
    calendar: _Calendar
    plan_table: _PlanTable
    status: _Status
    handover: _Handover
    annex: _Annex

    def changed_since(self, *, revision: int, moment: str, by: str) -> str: ...
    def unsettled(self, *, span: str) -> str: ...
    def kilns(self, *, number: int) -> str: ...
    def span(self, *, first: str, last: str) -> str: ...
    def done(self, *, day: str, who: str) -> str: ...
    def referral_line(self, *, electrician: str) -> str: ...
    def unsaid(self, *, facts: str) -> str: ...
    def lapsed(self, *, slates: str, day: str) -> str: ...
