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
from recover.physics.lining import PartWet
from recover.physics.materials import MaterialFamily
from recover.physics.sensitivity import Decided, Reading
from recover.physics.stages import StageClass, StageName
from recover.rules.table import Consent

BoxState = Literal["nothing", "closed", "ready", "lapses", "released", "outside"]
"""What may be done to a kiln today, as the sheet beside it says first."""


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


class _Headline(Protocol):
    journal: str
    energise_closed: _HeadlineEnergiseClosed
    energise_released: _HeadlineEnergiseReleased

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
    def comes(self, *, layer: str) -> str: ...
    def missed(self, *, water: str, kelvin: str, pressure: str) -> str: ...
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
    elsewhere: Mapping[Literal["superseded", "contrary"], str]
    basis: Mapping[Basis, str]
    device: _MeasuredDevice

    def bound(self, *, ma: str, volts: str) -> str: ...
    def next_to_nothing(self, *, ma: str) -> str: ...
    def conductor(self, *, length: str) -> str: ...
    def series(self, *, zone: str, number: int, hours: str, first: str, least: str, last: str, state: str) -> str: ...
    def stop(self, *, hours: str, say: str) -> str: ...


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


class _PlanRun(Protocol):
    cold: str
    warm: str
    leaves: str
    cutout: Mapping[Literal["known", "unknown"], str]

    def begins(self, *, least: str, most: str) -> str: ...


class _PlanAssumed(Protocol):
    def unknown(self, *, pan: str) -> str: ...
    def low(self, *, pan: str, height: str) -> str: ...
    def high(self, *, pan: str, height: str, boils: str) -> str: ...


class _PlanLooser(Protocol):
    enough: str
    nothing: str

    def saves(self, *, saves: str) -> str: ...
    def dries(self, *, dries: str) -> str: ...
    def needs(self, *, reached: str, air: str) -> str: ...


class _PlanClocked(Protocol):
    always: str

    def ramp(self, *, ramp: str, degc: str, by: str) -> str: ...
    def at_once(self, *, degc: str, by: str) -> str: ...
    def kept(self, *, degc: str) -> str: ...
    def hold(self, *, ends: str) -> str: ...
    def cut(self, *, ends: str) -> str: ...
    def late(self, *, days: int) -> str: ...
    def there(self, *, opens: str, closes: str, zone: str) -> str: ...


class _PlanRange(Protocol):
    then: str

    def degc(self, *, low: int, high: int) -> str: ...
    def ramp(self, *, ramp: str, degc: str) -> str: ...
    def at_once(self, *, degc: str) -> str: ...
    def hold(self, *, shortest: str) -> str: ...
    def holds(self, *, shortest: str, longest: str) -> str: ...


class _PlanAsked(Protocol):
    def __call__(self, *, value: str) -> str: ...


class _PlanTerminalLabel(Protocol):
    way: str
    state: str
    attended: str
    opens: str
    hourly: str
    leaves: str
    go_on: str
    done: str
    stop: str
    later: str
    binds: str
    totals: str
    programme: str
    refused: str
    closed: str
    note: str
    caution: str


class _PlanTerminal(Protocol):
    own: str
    own_later: str
    ways: list[str]
    ways_note: str
    label: _PlanTerminalLabel

    def more(self, *, more: int) -> str: ...
    def no_days(self, *, days: str) -> str: ...


class _Plan(Protocol):
    none: str
    changed: str
    not_followed: str
    waits: str
    measure_piece: str
    gate: str
    own_later: str
    binding_none: str
    by_controller: str
    by_hand: str
    beats: str
    keeps: str
    not_read: str
    past: str
    run: _PlanRun
    assumed: _PlanAssumed
    looser: _PlanLooser
    clocked: _PlanClocked
    range: _PlanRange
    asked: Mapping[Literal["less", "greater"], _PlanAsked]
    terminal: _PlanTerminal

    def missing(self, *, missing: str) -> str: ...
    def recommended(self, *, way: str, because: str) -> str: ...
    def none_recommended(self, *, because: str) -> str: ...
    def followed(self, *, way: str, because: str) -> str: ...
    def asked_for(self, *, way: str) -> str: ...
    def overtaken(self, *, way: str) -> str: ...
    def measure(self, *, piece: str) -> str: ...
    def refused(self, *, way: str, reasons: str) -> str: ...
    def not_within(self, *, days: str) -> str: ...
    def prices(self, *, price: Decimal, money: str) -> str: ...
    def calculation(self, *, draws: str) -> str: ...
    def own(self, *, days: str, attendance: str) -> str: ...
    def came_to(self, *, say: str, left: str, casing: str) -> str: ...
    def totals(self, *, hours: str, attended: str, kwh: str, left: str) -> str: ...
    def p90(self, *, low: str, high: str, draws: str) -> str: ...
    def as_run(self, *, days: str, hours: str, kwh: str, left: str) -> str: ...
    def for_days(self, *, number: int) -> str: ...
    def day(self, *, day: int) -> str: ...
    def days(self, *, days: str) -> str: ...
    def binding(self, *, rows: str) -> str: ...
    def in_the_way(self, *, rows: str) -> str: ...
    def binding_more(self, *, more: int) -> str: ...
    def pan_off(self, *, hours: str, instead: str) -> str: ...
    def broken(self, *, rows: str) -> str: ...
    def broken_run(self, *, rows: str) -> str: ...
    def does_not_keep(self, *, rows: str) -> str: ...
    def life(self, *, times: str) -> str: ...
    def cost(self, *, mid: Decimal, low: Decimal, high: Decimal) -> str: ...
    def hold(self, *, title: str, state: str) -> str: ...
    def hold_until(self, *, title: str, state: str, until: str) -> str: ...
    def hold_lapses(self, *, ends: str) -> str: ...
    def card_step(self, *, ramp: str, top: str) -> str: ...
    def card_hold(self, *, hold: str) -> str: ...


class _KilnRoomSubtitle(Protocol):
    def day(self, *, kiln: str, day: int, date: str) -> str: ...
    def of_days(self, *, kiln: str, day: int, days: int, date: str) -> str: ...


class _Box(Protocol):
    title: str

    def lines(self, *, hold: str, way: str, by: str, released_by: str, at: str, until: str) -> list[str]: ...


class _KilnRoomMissing(Protocol):
    gate: str
    again: str
    broken: str
    schedule: str
    changed: str

    def lead(self, *, missing: str) -> str: ...


class _KilnRoomColumns(Protocol):
    at: str
    do: str
    own: list[str]
    by_hand: list[str]
    outside: list[str]


class _KilnRoomRows(Protocol):
    off: str
    cut: str

    def run(self, *, run: int) -> str: ...
    def run_hot(self, *, run: int, least: str, most: str) -> str: ...
    def goes_on(self, *, step: str) -> str: ...


class _KilnRoomOwnHeight(Protocol):
    def __call__(self, *, height: str, boils: str) -> str: ...


class _KilnRoomOwnCutout(Protocol):
    def __call__(self, *, degc: str, which: str) -> str: ...


class _KilnRoomOwn(Protocol):
    wrapped: str
    cutout: Mapping[Literal["known", "unknown"], _KilnRoomOwnCutout]
    at_height: Mapping[Literal["known", "unknown"], _KilnRoomOwnHeight]
    cold: str
    under_way: str
    read_back: str
    power_cut: list[str]

    def opens(self, *, by: str, opening: str, air: str) -> list[str]: ...
    def cutout_of(self, *, run: int) -> str: ...
    def hotter(self, *, start: str) -> str: ...
    def holds(self, *, hold: str, hold_points: str) -> str: ...
    def stop(self, *, abort: str, casing: str, terminal: str) -> str: ...


class _KilnRoomOutside(Protocol):
    power_cut: list[str]


class _KilnRoom(Protocol):
    by_hand: list[str]
    subtitle: _KilnRoomSubtitle
    box: Mapping[BoxState, _Box]
    missing: _KilnRoomMissing
    title: Mapping[str, str]
    columns: _KilnRoomColumns
    rows: _KilnRoomRows
    own: _KilnRoomOwn
    outside: _KilnRoomOutside

    def attended(self, *, there: str) -> str: ...


class _Way(Protocol):
    gate: str
    none: str

    def external(self, *, way: str) -> str: ...
    def binds(self, *, limits: str) -> str: ...


class _CalendarTitle(Protocol):
    def own(self, *, kiln: str, day: int) -> str: ...
    def heated(self, *, kiln: str, way: str, day: int) -> str: ...
    def unheated(self, *, kiln: str, way: str, day: int) -> str: ...
    def fired(self, *, kiln: str) -> str: ...
    def recheck(self, *, kiln: str, months: int) -> str: ...


class _CalendarStep(Protocol):
    at_once: str

    def held(self, *, begins: str, hold_from: str, ends: str) -> str: ...
    def climbs(self, *, begins: str, ends: str) -> str: ...
    def ramp(self, *, ramp: str) -> str: ...
    def hold(self, *, hold: str) -> str: ...
    def line(self, *, number: int, ramp: str, degc: str, hold: str, left: str, high: str, casing: str) -> str: ...


class _Calendar(Protocol):
    released: str
    by_hand: str
    done: str
    fired: list[str]
    recheck: str
    title: _CalendarTitle
    part: Mapping[Literal["cautions", "stop", "referral"], str]
    step: _CalendarStep

    def name(self, *, job: str, plan: int) -> str: ...
    def missing(self, *, parts: str) -> str: ...
    def nothing(self, *, reasons: str) -> str: ...
    def cut(self, *, off: str) -> str: ...
    def rest(self, *, hours: str) -> str: ...
    def lasts(self, *, days: int) -> str: ...
    def not_dry(self, *, days: int) -> str: ...


class _PlanTable(Protocol):
    caution: str
    gate: str
    cut: str
    column: Mapping[str, str]

    def nothing(self, *, reasons: str) -> str: ...


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
    kiln_room: _KilnRoom
    way: _Way
    calendar: _Calendar
    plan_table: _PlanTable

    def changed_since(self, *, revision: int, moment: str, by: str) -> str: ...
    def unsettled(self, *, span: str) -> str: ...
    def kilns(self, *, number: int) -> str: ...
    def span(self, *, first: str, last: str) -> str: ...
    def done(self, *, day: str, who: str) -> str: ...
    def referral_line(self, *, electrician: str) -> str: ...
    def unsaid(self, *, facts: str) -> str: ...
    def lapsed(self, *, slates: str, day: str) -> str: ...
