"""The school's job completed honestly, and every way to make one of its answers worse, for the laws of gates."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from recover.asked.answers import Answers
from recover.asked.compiled import questionnaire
from recover.asked.questions import Question
from recover.asked.told import split_key
from recover.engineering.sums import sums
from recover.job.folder import open_job
from recover.job.journal import Event
from recover.judged.admissible import is_evidence
from recover.judged.assessment import Assessment, assess_answers
from recover.judged.outcomes import outcome
from recover.judged.readings import reckoning
from recover.judged.wetmap import wetness
from recover.profiles import limits
from tests.conftest import ZONE
from tests.school import school

ENDS = datetime(2026, 6, 2, 11, 30, tzinfo=UTC)
WHOLE = bool(os.environ.get("RECOVER_WHOLE"))
"""Whether every component is tried, which takes minutes and is done outside the suite."""

LATER = ENDS + timedelta(minutes=5)
"""When the worse answer is written, and all is asked again."""


@cache
def completed() -> tuple[Event, ...]:
    """Return the journal of the school's job, completed to a released own heat at ENDS."""
    with TemporaryDirectory() as folder:
        return open_job(school(Path(folder) / "job", ENDS)).events


def unsigned() -> tuple[Event, ...]:
    """Return the same without its signatures: all evidence is there, and nobody has released anything."""
    return tuple(event for event in completed() if event.kind != "release")


def tripped() -> tuple[Event, ...]:
    """Return the same under first power that was released: a trip in its log, its cause found and mended since."""
    events = tuple(
        event for event in completed() if event.kind != "release" or event.data["hold_point"] == "energise"
    )  # fmt: skip
    trip = {"kiln": "kiln/1", "what": "stopped", "word": "rcd_trip", "measured": ENDS.isoformat()}
    events = (*events, Event(events[-1].n + 1, ENDS.isoformat(), "A. Tendant", "log", "logged", trip, ""))
    return mended(events)


def mended(events: tuple[Event, ...], at: datetime = LATER, **more: Any) -> tuple[Event, ...]:
    """Return a journal in which the electrician says of a stop that its cause is found and mended, by a paper."""
    told = {"value": "yes", "who": "E. Lectrician", "role": "electrician", "document": "7", "measured": at.isoformat()}
    return said(events, "dried.mended@kiln/1", at, **{**told, **more})


def dried(events: tuple[Event, ...]) -> tuple[Event, ...]:
    """Return a journal with what else a job has that was dried and is handed over: its log, and what was said."""
    at = events[-1].moment

    def hours_ago(hours: float) -> str:
        return (at - timedelta(hours=hours)).isoformat()

    heated = {"what": "chamber", "value": 345, "unit": "degC", "measured": hours_ago(4)}
    enters = {"what": "inlet", "value": 50, "unit": "percent", "measured": hours_ago(3), "details": {"degc": 20}}
    leaves = {"what": "exhaust", "value": 6, "unit": "percent", "measured": hours_ago(3), "details": {"degc": 60}}
    casing = {"what": "casing", "place": "wall", "value": 41, "unit": "degC", "measured": hours_ago(3),
              "details": {"low": 36, "high": 48, "stop": 55}}  # fmt: skip
    for line in (heated, enters, leaves, casing):
        data = {"kiln": "kiln/1", **line}
        events = (*events, Event(events[-1].n + 1, at.isoformat(), "A. Tendant", "log", "logged", data, ""))
    for key, (value, who, role) in _HANDED.items():
        meter = {"instrument": "I7", "details": {}} if key.startswith("energise.leakage") else {}
        events = said(events, key, at, value=value, who=who, role=role, measured=hours_ago(0.1), **meter)
    return events


_HANDED: dict[str, tuple[Any, str, str]] = {
    "dried.vapour@kiln/1": ("none", "A. Tendant", "attendant"),
    "energise.leakage@kiln/1": (0.8, "E. Lectrician", "electrician"),
    "energise.day_top@kiln/1": (1060, "E. Lectrician", "electrician"),
    "energise.cutout_set@kiln/1": (1090, "E. Lectrician", "electrician"),
    "dried.casing@kiln/1": ("dry", "A. Repairer", "repairer"),
    "handover.recheck@kiln/1": (10, "A. Repairer", "repairer"),
    "handover.limits@kiln/1": ("1,000 °C at the most, somebody there, vent on", "A. Repairer", "repairer"),
    "handover.done@kiln/1": ("unfired", "A. Repairer", "repairer"),
    "handover.explained@kiln/1": ("yes", "O. Wner", "owner"),
}


def answers_at(events: tuple[Event, ...], now: datetime = LATER, profile: str = "uk") -> Answers:
    """Return what is known of a journal at a moment."""
    return Answers(
        questionnaire(), limits(profile), ZONE, events, wetness, reckoning(profile), sums(profile), now, outcome
    )


def assessed_at(events: tuple[Event, ...], now: datetime = LATER, profile: str = "uk") -> Assessment:
    """Return the assessment of a journal at a moment."""
    return assess_answers(answers_at(events, now, profile), "test", profile, "0" * 64)


def said(events: tuple[Event, ...], key: str, at: datetime = LATER, **data: Any) -> tuple[Event, ...]:
    """Return a journal with one more answer, written at a moment; what is not named stands as in the answer before."""
    before = last(events, key)
    content = {**(before.data if before else {"question": key, "state": "given"}), **data}
    kind = "reading" if "instrument" in content and content["state"] == "given" else "answer"
    written = at.isoformat(timespec="seconds")
    return (*events, Event(events[-1].n + 1, written, "B. Other", "test", kind, content, ""))


def last(events: tuple[Event, ...], key: str) -> Event | None:
    """Return the last answer to a key."""
    told = (one for one in reversed(events) if one.kind in ("answer", "reading"))
    return next((one for one in told if one.data["question"] == key), None)


@dataclass(frozen=True)
class Worse:
    """One answer made worse: its key, how, and the journal with it."""

    key: str
    how: str
    events: tuple[Event, ...]

    def __str__(self) -> str:
        return f"{self.key} {self.how}"


def worsened(events: tuple[Event, ...], of: str = "", whole: bool = WHOLE, at: datetime = LATER) -> Iterator[Worse]:
    """Yield the journal with each of its answers (or one of them) made worse in each way there is, at a moment.

    In the suite a question asked of many components is tried of its first and last, and each in one of three of the
    ways that are alike for all questions, in turn; all of them with RECOVER_WHOLE=1.
    """
    said_of: dict[str, list[str]] = {}
    for key in dict.fromkeys(one.data["question"] for one in events if one.kind in ("answer", "reading")):
        said_of.setdefault(split_key(key)[0], []).append(key)
    tried = [key for keys in said_of.values() for key in (keys if whole or of else dict.fromkeys([keys[0], keys[-1]]))]
    for place, key in enumerate(tried):
        question, told = questionnaire().questions[split_key(key)[0]], last(events, key)
        if of in ("", key) and told is not None and told.data["state"] == "given":
            now = at.isoformat(timespec="seconds")
            alike = list(_worse_told(question, told.data, now))
            alike = alike if whole or of else alike[place % 3 :: 3]
            for how, change in (*_worse_said(question, told.data, now), *alike):
                yield Worse(key, how, said(events, key, at, **change))


def _worse_said(question: Question, told: dict[str, Any], now: str) -> Iterator[tuple[str, dict[str, Any]]]:
    if not question.optional:
        yield "unknown", {"state": "unknown", "value": None, "instrument": "", "details": {}, "measured": now}
    yield from _worse_value(question, told, now)


def _worse_told(question: Question, told: dict[str, Any], now: str) -> Iterator[tuple[str, dict[str, Any]]]:
    if is_evidence(question):
        yield "no time", {"measured": ""}
        yield "before the water", {"measured": "2025-01-05T09:00:00+00:00"}
        yield "of a time to come", {"measured": "2031-01-05T09:00:00+00:00"}
    if question.attested:
        yield "by nobody", {"who": "", "role": "", "measured": now}
        yield "in a role that may not", {"role": _other_role(question.attested), "measured": now}
    if told.get("value") in question.documented:
        yield "without its paper", {"document": "", "measured": now}
    yield from ((how, {**change, "measured": now}) for how, change in _worse_reading(question, told))


def _other_role(duty: str) -> str:
    return "insurer" if duty != "consent" else "attendant"


def _worse_value(question: Question, told: dict[str, Any], now: str) -> Iterator[tuple[str, dict[str, Any]]]:
    if question.kind == "choice" and question.order == "scale":
        names = [choice.id for choice in question.choices]
        for name in names[names.index(told["value"]) + 1 :]:
            yield name, {"value": name, "measured": now}
    elif question.worse == "less":
        yield "a hundredth", {"value": told["value"] / 100, "at_least": False, "measured": now}
        yield "nothing", {"value": 0, "at_least": False, "measured": now}
    elif question.worse == "more":
        yield "a hundred times", {"value": told["value"] * 100, "measured": now}


def _worse_reading(question: Question, told: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    if question.instruments:
        yield "with the wrong instrument", {"instrument": "I6"}
        yield "with no instrument", {"instrument": "I99"}
    details = told.get("details", {})
    for name, value in (("test_volts", 50), ("lining_c", 220), ("test_amps", 0.05)):
        if name in details and question.taken:
            yield f"{name} {value}", {"details": {**details, name: value}}
            yield f"{name} not told", {"details": {one: details[one] for one in details if one != name}}
    for name in sorted(questionnaire().facts["frost_hazard"].seen_below.keys() & details.keys()):
        yield f"{name} below freezing", {"details": {**details, name: -25}}


def stale(events: tuple[Event, ...], hours: float) -> tuple[Event, ...]:
    """Return a journal whose every line and time is so many hours older."""
    back = timedelta(hours=hours)

    def moved(event: Event) -> Event:
        told = dict(event.data)
        if told.get("measured"):
            told["measured"] = (datetime.fromisoformat(told["measured"]) - back).isoformat()
        return replace(event, at=(event.moment - back).isoformat(), data=told)

    return tuple(map(moved, events))
