"""What is said at once of what was logged: within its band, outside and what that means, or stop and what is next."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

from recover.asked.compiled import questionnaire
from recover.base.errors import command
from recover.base.measures import SYMBOLS, convert, show_moment, show_number, units
from recover.judged.entry import ENTRY
from recover.judged.stops import NEVER_POWERED, Powered
from recover.plan.kinds import (
    NOT_READ,
    OF_ITS_WET_WEIGHT,
    READ_KG,
    READ_PERCENT,
    LogKind,
    LogWord,
    figure,
    kinds,
    log_data,
    word_of,
)
from recover.plan.log import Against, Lies, against, is_elsewhere, is_own

if TYPE_CHECKING:
    from pathlib import Path

    from recover.asked.told import Logged
    from recover.judged.standing import Hold
    from recover.judged.stops import LogStop
    from recover.plan.whole import Day, Expected, KilnPlan


HEAT = "chamber"
"""What is read of its heat; the lining beside insulation is held to the same."""

ROOM, DEGC = "room", "degc"
"""The air of the room, and its temperature beside it."""

WET = "lining.brick_wet"
"""The question that tells what the piece weighed wet."""


@dataclass(frozen=True)
class LogAnswer:
    """What is said of one line of the log; `stops`: this day ends."""

    against: Against
    lines: tuple[str, ...]
    stops: bool


def answer(
    one: Logged, kiln: KilnPlan | None, log: Sequence[Logged], folder: Path, since: Powered = NEVER_POWERED,
    whose: Sequence[str] = (), shut: Hold | None = None,
) -> LogAnswer:  # fmt: skip
    """Return what is said of one line; `log` is what was logged of the kiln before it, `since` when it was powered,
    `folder` its job, `whose` what names its kiln in a command, where there are several; `shut` the hold point of its
    own heat, where that is not released as it goes on."""
    held = against(one, kiln, log, since)
    kind = kinds().get(one.what)
    if kind is None or one.word == NOT_READ:
        return LogAnswer(held, (log_data().say[NOT_READ],), stops=False)
    if kind.sort != "reading":
        return _of_word(held, kind, one, shut, command("log", folder, *whose, "--holds"))
    before = [other for other in log if _is_before(other, one)]
    found = _of_reading(held, kind, before, partial(command, "log", folder, *whose))
    chilled = [*_chilled(one, kind, log)]
    kept = [line for line in found.lines if not (chilled and line == kind.below)]  # that is no word of a wrong row
    named = next((of.said for of in reversed(before) if kind.names_meter(of.said)), "")
    other = (kind.other_meter,) if before and kind.names_other_meter(one.said, named) else ()
    return replace(found, lines=(*kept, *chilled, *other, *_across(held, kiln, log)))


def _across(held: Against, kiln: KilnPlan | None, log: Sequence[Logged]) -> Iterator[str]:
    """Yield each reading of the day that contradicts this one: of each kind the last before it."""
    for card in log_data().across:
        ways = (
            (card.what, card.lies, card.other, card.other_lies),
            (card.other, card.other_lies, card.what, card.lies),
        )
        for what, lies, other, other_lies in ways:
            if (held.one.what, held.lies) == (what, lies) and _last_lies(other, held, kiln, log) == other_lies:
                yield card.say


def contradicting(kiln: KilnPlan, log: Sequence[Logged]) -> tuple[str, ...]:
    """Return what is said of readings that contradict each other on the last day on which anything was read."""
    read = [one for one in log if one.value is not None]
    last = max((one.measured.date() for one in read), default=None)
    held = (against(one, kiln, log) for one in read if one.measured.date() == last)
    return tuple(dict.fromkeys(line for one in held for line in _across(one, kiln, log)))


def _last_lies(what: str, held: Against, kiln: KilnPlan | None, log: Sequence[Logged]) -> Lies | None:
    """Return how the last reading of a kind on the same day lies; None where none was read."""
    at = held.one.measured
    of = [one for one in log if one.what == what and one.measured.date() == at.date() and one.measured <= at]
    last = max(of, key=lambda one: one.measured.timestamp(), default=None)
    return against(last, kiln, log).lies if last else None


def _is_before(other: Logged, one: Logged) -> bool:
    """Whether something was read of the same, in the same unit, and earlier."""
    same = (other.what, other.place, other.unit) == (one.what, one.place, one.unit) and other.value is not None
    return same and other.measured.timestamp() < one.measured.timestamp()


# ---------------------------------------------------------------------------------------- a word


def _of_word(held: Against, kind: LogKind, one: Logged, shut: Hold | None, holds: str) -> LogAnswer:
    word, say = kind.of_word(one.word), log_data().say
    if word is None:
        told = (f"{say['seen_stop']} {held.stop.say[:1].upper()}{held.stop.say[1:]}.",) if held.stop else ()
        return LogAnswer(held, told, stops=held.stop is not None)
    stops = held.stop is not None
    lies: Lies = "stop" if stops else word.lies or "within"
    own = held.day is None or is_own(held.day)  # of a moment on no day nobody knows what was on: the graver words
    waits = shut if own and word.shut_next else None
    head = say["noted"] if waits else f"{kind.label}: {word.label}."
    lines = [f"{say['seen_stop']} {head}" if stops else head, *_next(word, held, waits, holds, own=own)]
    return LogAnswer(replace(held, lies=lies), tuple(lines), stops)


def _next(word: LogWord, held: Against, waits: Hold | None, holds: str, *, own: bool) -> Iterator[str]:
    """Yield what is done next, in its order, with where heat is switched off then, and what own heat waits for."""
    off = held.off or log_data().say["by_the_kiln"]
    undone = (one.id for one in questionnaire().question if word.undoes in one.undone_by)
    slates = ", ".join(str(questionnaire().questions[name].slate) for name in (*word.asks, *undone))
    if waits:
        yield from (one.format(title=waits.point.title, stands=waits.stands, command=holds) for one in word.shut_next)
    else:
        yield from (one.format(off=off) for one in (word.own_next if own else word.outside_next))
    yield from (one.format(off=off, slates=slates) for one in word.next)
    if word.own_next and own and held.day and word.id == "power_cut":
        yield from dict.fromkeys(line for run in held.day.runs if run.said for line in run.said.power_cut)


# ---------------------------------------------------------------------------------------- a reading


def _of_reading(held: Against, kind: LogKind, before: list[Logged], logs: Callable[..., str]) -> LogAnswer:
    say, one = log_data().say, held.one
    value = value_text(one)
    if held.stop and held.stop.why != "beyond":
        lines = [
            _stop_head(held.stop),
            _off(held),
            *filter(None, (_stop_means(held.stop, kind),)),
            *_leapt(one, kind, before),
            *_unread_run(held, logs),
        ]
        return LogAnswer(held, tuple(lines), stops=True)
    band, stop = band_text(held.expected), _with_unit(held.stop.limit, one.unit) if held.stop else ""
    if held.lies == "unexpected":
        told = kind.below or kind.above or kind.stop
        why = "no_day" if held.day is None else "no_band" if held.expected else "unexpected" if told else "kept"
        if held.day and is_elsewhere(one, held.day) and held.expected:
            why, stop = "elsewhere", stop_text(held.expected)
        unit = _other_unit(held)
        head = say["other_unit" if unit else why].format(value=value, unit=unit, stop=stop, places=_places(held))
        more = [*_uncaught(held), *_nobody(held.day), *_last(before), *_leapt(one, kind, before), *_hot(held, kind)]
        more += [*_below_entry(held, kind), *_slip(held, kind, logs)]
        return LogAnswer(held, (head, *_by_wet(kind, unit), *more), stops=False)
    fired = held.lies == "stop" and held.day is None and one.what == HEAT
    head = say["stop_fired" if fired else held.lies].format(value=value, band=band, stop=stop)
    means = {"below": kind.below, "above": kind.above, "stop": kind.stop}.get(held.lies, "")
    off = [_off(held)] if held.lies == "stop" else []
    lines = [head if band or held.lies == "stop" else say["kept"].format(value=value), *off, means]
    lines = [*filter(None, lines), *_converted(one), *_slip(held, kind, logs)]
    lines += [*_leapt(one, kind, before), *_hot(held, kind)]
    return LogAnswer(held, tuple(lines), held.lies == "stop")


def _unread_run(held: Against, logs: Callable[..., str]) -> Iterator[str]:
    """Yield what is done where a firing was begun while its release held, and nothing was typed in since: by what is
    in the log nobody can tell that from one that was switched on without it."""
    if held.stop and held.stop.why == "unheated" and held.day is None:
        yield log_data().say["unread_run"].format(command=logs("--take-back", str(held.one.line), "--note", "WHY"))


def _below_entry(held: Against, kind: LogKind) -> Iterator[str]:
    """Yield that its own elements do not heat after a reading that no day has a band for, below what opens them."""
    entry = held.one.details.get(ENTRY)
    if entry is not None and (held.one.value or 0.0) < entry and (held.day is None or is_own(held.day)):
        yield kind.below


def _other_unit(held: Against) -> str:
    """Return the unit in which the day tells what was read in another: held against nothing, it would teach nothing."""
    of = [read.unit for read in (held.day.readings if held.day else ()) if read.what == held.one.what]
    return of[0] if of and held.one.unit not in of else ""


def _places(held: Against) -> str:
    """Return the places at which a day reads the same, as they are typed."""
    of = (read.place for read in (held.day.readings if held.day else ()) if read.what == held.one.what)
    return ", ".join(f"@{place}" for place in dict.fromkeys(of))


def _by_wet(kind: LogKind, unit: str) -> list[str]:
    """Say what tells a weight from a share of it, where the day tells it in the other unit."""
    if not (unit and kind.or_unit):
        return []
    return [log_data().say["wet_weight"].format(slate=questionnaire().questions[WET].slate)]


def _converted(one: Logged) -> Iterator[str]:
    """Yield what was read where the plan tells it in the other unit, and by what it was reckoned over."""
    kg, share = (one.details.get(name) for name in (READ_KG, READ_PERCENT))
    if one.value and (kg or share):
        read = f"{show_number(kg, 4)} kg" if kg else f"{show_number(share or 0.0, 4)} {OF_ITS_WET_WEIGHT}"
        wet_kg = 100 * (kg / one.value if kg else one.value / (share or 1.0))
        yield log_data().say["converted"].format(read=read, wet=f"{show_number(wet_kg)} kg", value=value_text(one))


def _leapt(one: Logged, kind: LogKind, before: list[Logged]) -> Iterator[str]:
    """Yield that a reading leapt from the one before it as no kiln does, and what is looked at."""
    last = max(before, key=lambda other: other.measured.timestamp(), default=None)
    if not kind.leapt or last is None or not last.value or one.value is None or one.at_least or last.at_least:
        return
    if not kind.falls <= one.value / last.value <= kind.rises:
        yield (
            log_data()
            .say["leap"]
            .format(value=value_text(one), before=value_text(last), at=show_moment(last.measured), look=kind.leapt)
        )


def _chilled(one: Logged, kind: LogKind, log: Sequence[Logged]) -> Iterator[str]:
    """Yield that a reading is far colder than the one before it, at its place or else at any, and than its room; where
    nobody read the room, than all that was read of it before."""
    before = [of for of in log if of.measured < one.measured]
    alike = [of for of in before if (of.what, of.unit) == (one.what, one.unit) and of.value is not None]
    if not (kind.chilled and alike) or one.value is None:
        return
    last = max(alike, key=lambda of: (of.place == one.place, of.measured.timestamp()))
    chills_k = log_data().chills_k.value
    if one.value < min((last.value or 0.0) - chills_k, _coldest(before, alike)):
        at = show_moment(last.measured)
        say = log_data().say["leap"]
        yield say.format(value=value_text(one), before=value_text(last), at=at, look=kind.chilled)


def _coldest(before: Sequence[Logged], alike: Sequence[Logged]) -> float:
    """Return how cold a casing is at the least [°C]: by the air of its room as it was read last, where nobody read it
    by the coldest that was read of the casing."""
    data = log_data()
    rooms = [of for of in before if of.what == ROOM and DEGC in of.details]
    if rooms:
        return max(rooms, key=lambda of: of.measured.timestamp()).details[DEGC] - data.under_room_k.value
    return min(of.value or 0.0 for of in alike) - data.chills_k.value


def _stop_means(stop: LogStop, kind: LogKind) -> str:
    """Return what a stop means: of a lining that is too hot, what it means of the chamber."""
    return kinds()[HEAT].stop if stop.read else kind.stop


def _hot(held: Against, kind: LogKind) -> Iterator[str]:
    """Yield that the air was told hotter than anything that is set on its day."""
    degc, top = held.one.details.get("degc"), held.day.top_degc if held.day else None
    if (
        degc is not None
        and top
        and degc > top + log_data().hotter_k.value
        and any(one.id == "degc" for one in kind.details)
    ):
        value, most = (f"{show_number(one)} {SYMBOLS['degC']}" for one in (degc, top))
        yield log_data().say["hot"].format(value=value, top=most)


def _off(held: Against) -> str:
    say = log_data().say
    return say["off"].format(off=held.off) if held.off else say["off_unknown"]


def _uncaught(held: Against) -> list[str]:
    """Say that nothing is caught on the way of a day by any draw, where water was."""
    expects = any(read.what == "litres" for read in (held.day.readings if held.day else ()))
    caught = held.one.what == "litres" and bool(held.one.value)
    return [log_data().say["uncaught"]] if caught and held.day and not expects else []


def _nobody(day: Day | None) -> list[str]:
    return [log_data().say["nobody"]] if day and day.attended_from is None else []


def _last(before: list[Logged]) -> list[str]:
    """Return what was read before of the same, today or on another day."""
    say, last = log_data().say["last"], max(before, key=lambda one: one.measured.timestamp(), default=None)
    return [say.format(value=value_text(last), at=show_moment(last.measured))] if last else []


def _stop_head(stop: LogStop) -> str:
    """Say why a reading is a stop that no band of its day tells."""
    read = stop.read or stop.one
    say, value, limit = log_data().say, value_text(read), f"{show_number(stop.limit or 0.0)} {read.unit}"
    why = "over_lining" if stop.read and stop.why == "over" else stop.why
    return say[why].format(value=value, stop=limit, best=_best(stop.best) if stop.best else limit)


def _best(one: Logged) -> str:
    """Print from what a reading has fallen: its value, where and when, so that whoever reads sees what is compared."""
    of = log_data().say["last_of"].format(value=value_text(one), at=show_moment(one.measured))
    return ", ".join(filter(None, (of, one.place)))


def _slip(held: Against, kind: LogKind, logs: Callable[..., str]) -> Iterator[str]:
    """Yield the unit in which the meter may have told it, where the number would then lie within its band."""
    one, expected = held.one, held.expected
    if kind.slip == "share":
        yield from _share(one, kind, logs)
        return
    if held.lies not in ("below", "above", "stop") or not kind.slip or one.value is None or expected is None:
        return
    if expected.unit != SYMBOLS[kind.unit] or expected.low is None or expected.high is None:
        return
    if expected.low <= convert(one.value, kind.slip, kind.unit) <= expected.high:
        yield log_data().say["slip"].format(other=_named(kind.slip), command=_back(one, kind, logs))


def _share(one: Logged, kind: LogKind, logs: Callable[..., str]) -> Iterator[str]:
    """Yield that air was told as a share of one, at whatever hour: no air is so dry."""
    if one.value and one.value <= log_data().share_below.value:
        percent = f"{show_number(convert(one.value, kind.slip, kind.unit))} {SYMBOLS[kind.unit]}"
        yield (
            log_data()
            .say["share"]
            .format(value=value_text(one), other=_named(kind.slip), percent=percent, command=_back(one, kind, logs))
        )


def _back(one: Logged, kind: LogKind, logs: Callable[..., str]) -> str:
    """Return what takes a reading back that was told in another unit, with the reason: without one a stop stays one."""
    why = log_data().say["slip_note"].format(other=_named(kind.slip))
    return logs("--take-back", str(one.line), "--note", why)


def _named(unit: str) -> str:
    return SYMBOLS.get(unit) or units()[unit].written[0]


# ---------------------------------------------------------------------------------------- how it is printed


def value_text(one: Logged) -> str:
    """Print what was logged: its value with its unit, or its word."""
    if one.value is None:
        return word_of(one)
    value = f"{one.value:.4g} {one.unit}" if 100 <= one.value < 1000 else f"{show_number(one.value, 4)} {one.unit}"
    return log_data().say["at_least"].format(value=value) if one.at_least else value


def band_text(expected: Expected | None) -> str:
    """Print a band, as finely as papers of a day do; empty where there is none."""
    if expected is None:
        return ""
    say = log_data().say
    low, high = (_with_unit(value, expected.unit) for value in (expected.low, expected.high))
    if low and high:
        return say["band"].format(low=low.removesuffix(f" {expected.unit}"), high=high)
    return say["from"].format(low=low) if low else say["up_to"].format(high=high) if high else ""


def stop_text(expected: Expected | None) -> str:
    """Print the figure beyond which a day ends; empty where there is none."""
    return _with_unit(expected.stop, expected.unit) if expected else ""


def _with_unit(value: float | None, unit: str) -> str:
    return "" if value is None else f"{figure(value, unit)} {unit}"
