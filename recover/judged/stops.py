"""Whether a line of the log is a stop: the day ends there, and what it takes before anything goes on (stops.toml).

One function says it, for the answer at the kiln, the screen, the papers and the hold point alike: by the line itself,
by the figure that stands beside it since it was logged, by our own limits, and by what was read before it on its day.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Set
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cache
from typing import Literal

from recover.asked.answers import Answers
from recover.asked.possible import WATER_OUT
from recover.asked.told import RENEWED, Answer, Logged, key_of, known_order, same_person, to_the_minute
from recover.base.addresses import Address, holds_address
from recover.base.datafile import load
from recover.base.measures import show_number
from recover.base.sources import Figure
from recover.profiles import own_limits

StopUntil = Literal["next_day", "again", "mended"]
StopWhy = Literal["seen", "beyond", "floor", "fallen", "over", "unheated"]
"""By a word, beyond the figure of its day, below the floor, fallen after it had risen, over a limit of our own, hot
while nothing of its own was to be on."""

BarredBy = Literal["over", "water", "unread"]
"""What bars it that a day goes on: it is over for good, water came again, or something is to be read first."""

STOP = "stop"
"""The detail beside a reading that tells the figure beyond which its day ended when it was logged."""

UNHEATED = "unheated"
"""The detail beside a chamber that tells how hot it is at most without its own elements, where those were not to be on
when it was logged."""

LINING, LINING_STOP = "lining", "lining_stop"
"""A lining whose temperature stands beside its insulation; and the detail that tells the chamber's figure for it."""

AGAIN, LOOKED = "again", "looked"
"""What is logged where a day went on, and where somebody has looked into what did not fit."""

MENDED, FIRST_POWER, LEAKAGE = "dried.mended", "energise", "leakage"


@dataclass(frozen=True, kw_only=True)
class StopCard:
    """What makes a line of a kind a stop, and what it takes then; see the head of `stops.toml` for each key."""

    what: str
    say: str
    until: StopUntil
    words: tuple[str, ...] = ()
    limit: str = ""
    own: bool = False
    least: bool = False
    looked: bool = False
    over: bool = False
    reads: str = ""
    trips: bool = False
    contradicts: tuple[str, ...] = ()


@dataclass(frozen=True)
class Powered:
    """Since which line of the journal a kiln was ever released for power, 0 where never, and the most leakage [mA] with
    which it may be; None where nobody knows."""

    line: int = 0
    leakage_ma: float | None = None
    by: tuple[str, ...] = ()
    """Who signed for that."""

    def is_before(self, one: Logged) -> bool:
        """Whether a line was written since."""
        return 0 < self.line < one.line


NEVER_POWERED = Powered()


@dataclass(frozen=True, kw_only=True)
class _Stops:
    fall_share: Figure
    fall_hours: Figure
    unheated: str
    unheated_lining: str
    open: str
    unlifted: str
    taken_back: str
    unread: str
    unsettled: str
    was_taken_back: str
    against: str
    stop: tuple[StopCard, ...]


@dataclass(frozen=True, kw_only=True)
class LogStop:
    """That a line of the log is a stop: by what, until what, beyond which figure; `best`: from what it has fallen;
    `contradicts`: which proofs it speaks against, by their questions; `read`: what of the line is beyond, where that
    is not its value."""

    one: Logged
    why: StopWhy
    until: StopUntil
    say: str
    looked: bool = False
    trips: bool = False
    limit: float | None = None
    best: Logged | None = None
    over: bool = False
    reads: str = ""
    contradicts: tuple[str, ...] = ()
    read: Logged | None = None


@cache
def _stops() -> _Stops:
    return load("judged/stops.toml", "recover-stops", _Stops)


def is_stop_word(what: str, word: str) -> bool:
    """Whether a word of what is seen or happened is a stop; of what stopped a day, every word is."""
    return any(card.what == what and (word in card.words or what == "stopped") for card in _stops().stop)


def powered(answers: Answers, at: Address) -> Powered:
    """Return since when a kiln may have been powered."""
    signed = [one for one in answers.releases if (one.hold_point, one.at) == (FIRST_POWER, at)]
    leakage_ma = min(answers.look("leakage_entry_ma", at) or (), default=None)
    return Powered(min((one.line for one in signed), default=0), leakage_ma, tuple(one.by for one in signed))


def may_take_back(one: Logged, by: str, since: Powered) -> bool:
    """Whether what somebody takes back is none any more. A trip, water or a smell since first power is found out by
    whoever may: nobody but who signed for that power takes it back."""
    stop = _seen(one) if one.value is None and since.is_before(one) else None
    return stop is None or stop.until != "mended" or any(same_person(by, name) for name in since.by)


def stop_of(
    one: Logged, log: Iterable[Logged] = (), *, figure: float | None = None, own: bool = False,
    since: Powered = NEVER_POWERED,
) -> LogStop | None:  # fmt: skip
    """Return why a line of the log is a stop; None where it is none.

    `log` is what was logged of the kiln; `figure` that beyond which its day ends, where the line tells none; `own`
    whether it is of a day of its own elements; `since` when the kiln was powered, which counts as such a day.
    """
    if one.value is None:
        return _seen(one)
    card = _card(one)
    if one.what == LEAKAGE and since.is_before(one):
        figure = min((limit for limit in (figure, since.leakage_ma) if limit is not None), default=None)
    figure = one.details.get(STOP, figure)
    if card.own:
        own = own or STOP in one.details or since.is_before(one)
        return (_of_insulation(one, card, log, figure) if own else None) or _of_lining(one)
    return _unheated(one, card, _stops().unheated) or _above(one, card, figure)


def lining_of(one: Logged) -> Logged | None:
    """Return the temperature of the lining that stands beside insulation, as a reading of its own; None where none
    does."""
    degc = one.details.get("lining_degc")
    if one.what != "insulation" or degc is None:
        return None
    beside = {STOP: one.details.get(LINING_STOP), UNHEATED: one.details.get(UNHEATED)}
    told = {name: figure for name, figure in beside.items() if figure is not None}
    return replace(one, what=LINING, value=degc, unit="°C", at_least=False, details=told)


def _of_lining(one: Logged) -> LogStop | None:
    """Judge the lining beside insulation as the chamber is judged: both tell of heat of its own."""
    lining = lining_of(one)
    if lining is None:
        return None
    card = _card(lining)
    stop = _unheated(lining, card, _stops().unheated_lining) or _above(lining, card, lining.details.get(STOP))
    return replace(stop, one=one, why="unheated" if stop.why == "unheated" else "over", read=lining) if stop else None


def _unheated(one: Logged, card: StopCard, say: str) -> LogStop | None:
    """Judge a temperature by what it is at most without its own elements, where those were not to be on."""
    cold = one.details.get(UNHEATED)
    if cold is None or (one.value or 0.0) <= cold:
        return None
    return _reading(one, replace(card, say=say), "unheated", cold)


def _card(one: Logged) -> StopCard:
    return next(card for card in _stops().stop if not card.words and card.what in (one.what, ""))


def stop_figure(
    one: Logged, log: Iterable[Logged] = (), *, figure: float | None = None, own: bool = False
) -> float | None:  # fmt: skip
    """Return the figure beyond which a reading is a stop, which is kept beside it when it is logged; None of none."""
    if one.what == "insulation" and own and one.value is not None:
        best = _fallen_from(one, log, below=False)
        return max([_floor(), *([_share_of(best)] if best else [])])
    return figure if one.what != "insulation" else None


def _seen(one: Logged) -> LogStop | None:
    if not is_stop_word(one.what, one.word):
        return None
    of = [card for card in _stops().stop if card.what == one.what]
    card = next((card for card in of if one.word in card.words), of[-1])
    return LogStop(one=one, why="seen", until=card.until, say=card.say, looked=card.looked, trips=card.trips,
                   over=card.over, reads=card.reads, contradicts=card.contradicts)  # fmt: skip


def _above(one: Logged, card: StopCard, figure: float | None) -> LogStop | None:
    """Judge a reading that is a stop above its figure; the stricter counts where leakage has two."""
    own = own_limits()[card.limit].value if card.limit else None
    told = [limit for limit in (figure, own) if limit is not None]
    limit = min(told, default=None) if card.what == LEAKAGE else next(iter(told), None)
    if limit is None or (one.value or 0.0) <= limit:
        return None
    return _reading(one, card, "beyond" if limit == figure else "over", limit)


def _of_insulation(one: Logged, card: StopCard, log: Iterable[Logged], figure: float | None) -> LogStop | None:
    """Judge insulation: below the floor, fallen by a share of the best of its day after a rise, or below the figure
    that was kept beside it, which is one of both."""
    if one.value is None or (one.at_least and one.value >= _floor()):
        return None
    if one.value < _floor():
        return _reading(one, card, "floor", _floor())
    if best := _fallen_from(one, log):
        return _reading(one, card, "fallen", _share_of(best), best)
    return _reading(one, card, "fallen", figure) if figure is not None and one.value < figure else None


def _fallen_from(one: Logged, log: Iterable[Logged], *, below: bool = True) -> Logged | None:
    """Return the best reading of the same day, or of some hours before, that came after a lower one of the same place;
    None where the one is not `below` it by the share that is a stop, unless that is not asked.

    Whatever is read besides, also what is typed in late, can only make a stop of more.
    """
    earlier = [other for other in log if _is_before(other, one)]
    places = {name for each in (*earlier, one) if (name := _folded(each.place))}
    only = next(iter(places)) if len(places) == 1 else ""
    before = [other for other in earlier if (_folded(other.place) or only) == (_folded(one.place) or only)]
    before.sort(key=lambda other: (other.measured.timestamp(), other.line))
    risen = [other for n, other in enumerate(before) if any(_value(first) < _value(other) for first in before[:n])]
    best = max(risen, key=_value, default=None)
    return best if best and (not below or _value(one) < _share_of(best)) else None


def _value(one: Logged) -> float:
    return one.value or 0.0


def _folded(place: str) -> str:
    """Return a place as it is compared: however it is spelt. What has none is of the only place that is read."""
    return " ".join(place.casefold().split())


def _is_before(other: Logged, one: Logged) -> bool:
    """Whether something was read of the same kind, in the same unit, earlier on the same date, or on the evening before
    it by so few hours that the heating may be the same one."""
    same = (other.kiln, other.what, other.unit) == (one.kiln, one.what, one.unit)
    earlier = other.measured.timestamp() < one.measured.timestamp()
    return same and earlier and _same_heating(other.measured, one.measured) and other.value is not None


def _same_heating(before: datetime, at: datetime) -> bool:
    """Whether a moment is of the same heating as one before it: of its date, or so few hours later over midnight."""
    apart_h = (at.timestamp() - before.timestamp()) / 3600
    return before.date() == at.date() or 0 <= apart_h <= _stops().fall_hours.value


def _share_of(best: Logged) -> float:
    return (1 - _stops().fall_share.value) * _value(best)


def _floor() -> float:
    return own_limits()["element_abort_megohm"].value


def _reading(one: Logged, card: StopCard, why: StopWhy, limit: float, best: Logged | None = None) -> LogStop:
    value, shown = (f"{show_number(figure or 0.0, 3)} {one.unit}" for figure in (one.value, limit))
    say = card.say.format(value=f"{value} ({one.place})" if one.place else value, limit=shown)
    return LogStop(one=one, why=why, until=card.until, say=say, looked=True, limit=limit, best=best,
                   contradicts=card.contradicts)  # fmt: skip


# ---------------------------------------------------------------------------------------- what a plan waits for


def is_lifted(stop: LogStop, answers: Answers) -> bool:
    """Whether it was logged, since a stop, that it goes on, or, where that will do, that somebody looked; water is
    answered anew.

    Who said so before the stop was written had not seen it.
    """
    one = stop.one
    if one.is_water:
        return is_answered_anew(one, answers)
    return goes_on(stop, answers.log_by_kiln.get(one.kiln, ()))


def goes_on(stop: LogStop, log: Iterable[Logged]) -> bool:
    """Whether lines of a log say, since a stop, that it goes on, or, where that will do, that somebody looked."""
    lifts, at = (AGAIN, LOOKED) if stop.looked else (AGAIN,), to_the_minute(stop.one.measured)
    since = (other for other in log if other.line >= stop.one.line and to_the_minute(other.measured) >= at)
    return any(other.what in lifts and not _is_over(stop, other.measured) for other in since)


def bars_going_on(
    stop: LogStop, log: Iterable[Logged], at: datetime, answers: Answers, *, own: bool
) -> BarredBy | None:
    """Return what bars it that somebody logs at a moment that a day goes on after a stop; None where nothing does.

    Nothing goes on on a day that is over, no word lifts water, and heat of its own waits for what is read first.
    """
    if stop.one.is_water:
        return None if is_answered_anew(stop.one, answers) else "water"
    if _is_over(stop, at):
        return "over"
    since = (one for one in log if one.line > stop.one.line and one.measured >= stop.one.measured)
    unread = own and stop.reads and _same_heating(stop.one.measured, at)
    return "unread" if unread and all(one.what != stop.reads or one.value is None for one in since) else None


def _is_over(stop: LogStop, at: datetime) -> bool:
    """Whether nothing goes on at a moment: it is of the heating that a stop has ended for good."""
    return stop.over and _same_heating(stop.one.measured, at)


def is_answered_anew(one: Logged, answers: Answers) -> bool:
    """Whether the water was answered anew since a line that says that it came again."""
    out = answers.given.get(WATER_OUT)
    given = out is not None and out.state == "given" and not answers.is_line_unproved(out.line)
    return bool(given and out and out.line > one.line)


def counts_still(answers: Answers, at: Address) -> tuple[Logged, ...]:
    """Return what was taken back of a kiln's log since it was powered, and counts: without a reason, by who may not, or
    not read again, a stop is one all the same."""
    since = powered(answers, at)
    gone = (one for one in answers.unlogged if one.kiln == at and not answers.is_line_unproved(one.line))
    return tuple(one for one in gone if not _is_gone(one, answers) and since.is_before(one))


# ---------------------------------------------------------------------------------------- what its own heat waits for


def stop_since(answers: Answers, at: Address) -> frozenset[str]:
    """Return whether own heat of a kiln waits for a cause: `none` was logged since first power, every one was found
    since, and mended where it has to be (`cleared`), or one is `open`."""
    since = list(_since_first_power(answers, at))
    answers.answer(MENDED, at)
    unmended = open_stops(answers, at)
    return frozenset({"open" if unmended else "cleared" if since else "none"})


def open_stops(answers: Answers, at: Address) -> list[LogStop]:
    """Return each stop since first power of which nobody has said that its cause is found, and mended where it has to
    be."""
    mended = _mended(answers, at)
    return [stop for stop in _since_first_power(answers, at) if not _is_settled(stop, mended, answers)]


def is_mended(stop: LogStop, answers: Answers) -> bool:
    """Whether whoever may has said of a stop that its cause is found, and mended where it has to be."""
    return _is_settled(stop, _mended(answers, stop.one.kiln), answers)


def _mended(answers: Answers, at: Address) -> Answer | None:
    mended = answers.answer(MENDED, at)
    told = mended and mended.state == "given" and not answers.is_line_unproved(mended.line)
    return mended if told and mended and mended.value in RENEWED else None


def contradicting(answers: Answers, answer: Answer) -> list[LogStop]:
    """Return each stop of its kiln that speaks against what was proved, also one that was mended since; none before
    which it was proved again, of a moment since and written since."""
    if not any(answer.question in card.contradicts for card in _stops().stop):
        return []
    kiln = next((at for at in answers.kilns if holds_address(at, answer.at)), "")
    since = answers.once((contradicting, kiln), lambda: tuple(_standing(answers, kiln)))
    return [stop for stop in since if answer.question in stop.contradicts and not _is_since(answer, stop)]


def what_speaks_against(answers: Answers, answer: Answer) -> str:
    """Return each stop that speaks against what was proved before it, in words; empty where none does."""
    stops = "; ".join(f"{stop.say}, {answers.by_clock(stop.one.measured)} (journal line {stop.one.line})"
                      for stop in contradicting(answers, answer))  # fmt: skip
    return _stops().against.format(stops=stops) if stops else ""


def is_spoken_against(answers: Answers, answer: Answer) -> bool:
    """Whether evidence opens nothing by a stop since: what only another heating shows is settled by what was mended."""
    mended = answers.given.get(key_of(MENDED, next((at for at in answers.kilns if holds_address(at, answer.at)), "")))
    settles = mended if answer.question in answers.questions.questions[MENDED].mends else None
    return any(
        not (settles and settles.value in RENEWED and _is_since(settles, stop))
        for stop in contradicting(answers, answer)
    )


def lines_against(answers: Answers, at: Address, questions: Set[str]) -> frozenset[int]:
    """Return every line of a kiln's log that ever was a stop which speaks against one of some proofs."""
    stops = _stops_among(answers, at, (*answers.logged, *answers.unlogged))
    return frozenset(stop.one.line for stop in stops if not questions.isdisjoint(stop.contradicts))


def _is_since(answer: Answer, stop: LogStop) -> bool:
    return answer.line > stop.one.line and known_order(answer)[0] >= to_the_minute(stop.one.measured)


def _is_settled(stop: LogStop, mended: Answer | None, answers: Answers) -> bool:
    """Whether whoever may has said of a stop that its cause is mended, of a moment since and written since; where that
    is not asked, whether the log says that it goes on."""
    if stop.until == "again":
        return is_lifted(stop, answers)
    return mended is not None and _is_since(mended, stop)


def told_unmended(answers: Answers, at: Address) -> list[str]:
    """Return each stop that waits for its cause to be found and mended, in words, the last first: also where the log
    says that it goes on."""
    return _told(answers, (stop for stop in open_stops(answers, at) if stop.until == "mended"))


def told_open(answers: Answers, at: Address) -> list[str]:
    """Return each stop whose cause is open, in words, the last first."""
    return _told(answers, open_stops(answers, at))


def _told(answers: Answers, stops: Iterable[LogStop]) -> list[str]:
    slate = answers.questions.questions[MENDED].slate
    return [
        _told_how(stop, answers).format(
            say=stop.say, at=answers.by_clock(stop.one.measured), line=stop.one.line, slate=slate)
        for stop in reversed([*stops])
    ]  # fmt: skip


def _told_how(stop: LogStop, answers: Answers) -> str:
    if stop.one in answers.unlogged:
        struck = _stops().unsettled if stop.one.value is None else _stops().unread
        return struck if stop.one.line in answers.struck else _stops().taken_back
    return _stops().unlifted if stop.until == "again" else _stops().open


def _since_first_power(answers: Answers, at: Address) -> Iterator[LogStop]:
    """Yield each stop that stands and ends more than its own day."""
    return (stop for stop in _standing(answers, at) if stop.until != "next_day")


def _standing(answers: Answers, at: Address) -> Iterator[LogStop]:
    """Yield each stop that stands. One that was taken back counts, unless a reason was given by somebody who may, and a
    reading that was is taken anew."""
    gone = (one for one in answers.unlogged if not _is_gone(one, answers))
    yield from _stops_among(answers, at, (*answers.logged, *gone))


def _is_gone(one: Logged, answers: Answers) -> bool:
    """Whether what was taken back is none any more: for a reason, by somebody who may, and read again at that place
    since, where it was a reading."""
    again = (other for other in answers.logged if (other.kiln, other.what) == (one.kiln, one.what))
    read = one.value is None or any(
        other.line > one.line and other.value is not None and _folded(other.place) in ("", _folded(one.place))
        for other in again
    )
    by = one.taken_back.by if one.taken_back else ""
    return one.line in answers.struck and read and may_take_back(one, by, powered(answers, one.kiln))


def first_stop(answers: Answers, at: Address) -> int:
    """Return the first line of the log that ever was such a stop, taken back or not; 0 where none was."""
    stops = _stops_among(answers, at, (*answers.logged, *answers.unlogged))
    return next((stop.one.line for stop in stops if stop.until != "next_day"), 0)


def told_ever(answers: Answers, at: Address) -> list[str]:
    """Return every stop of a kiln since first power, in words, in the order of the journal: also one that was mended,
    and one that was taken back, with by whom and why."""
    return [_ever(stop, answers) for stop in _stops_among(answers, at, (*answers.logged, *answers.unlogged))]


def _ever(stop: LogStop, answers: Answers) -> str:
    back = stop.one.taken_back
    told = f"{stop.say}, {answers.by_clock(stop.one.measured)} [{stop.one.line}]"
    if back is None:
        return told
    return _stops().was_taken_back.format(stop=told, by=back.by, why=back.why).removesuffix(": ")


def _stops_among(answers: Answers, at: Address, log: Iterable[Logged]) -> Iterator[LogStop]:
    """Yield each stop of a kiln among lines, written since first power was ever released there, in the order of the
    journal."""
    own, since = sorted((one for one in log if one.kiln == at), key=lambda one: one.line), powered(answers, at)
    for one in filter(since.is_before, own):
        if stop := stop_of(one, own, since=since):
            yield stop
