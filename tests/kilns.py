"""Two whole kilns of every day, completed honestly, and signed: what is not on them must not be asked of them.

A kiln is a table of what is said beside the mildest answer of every scale. A name that stands with a component counts
there, one that stands alone everywhere. What is optional is left out unless it is named; all figures are invented.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from recover.asked.answers import Answers
from recover.asked.compiled import questionnaire
from recover.asked.questions import Question
from recover.asked.told import key_of
from recover.job.journal import Event
from recover.judged.holds import hold_states
from recover.judged.standing import Hold
from tests.conftest import ELECTRICIAN, NOW, SEEN, WITNESSES, answers_from, told_of
from tests.gates import answers_at

NOT_THERE = object()
"""What does not apply: nobody has put it in, and nobody has taken it out."""

BRICK = {
    "scope.fuel": "electric", "scope.kilns": 1, "scope.supplies": ["one_known"], "scope.zones": 1,
    "event.source": "mains", "event.reach": "base", "event.water_in": "2026-03-07T18:00:00+00:00",
    "event.water_out": "2026-03-08T08:00:00+00:00", "event.water_line": 90, "event.inside": 0, "event.air": 60,
    "identity.year": 2018, "identity.country": "late", "identity.max_c": 1280, "identity.firings": 80,
    "identity.element_firings": 80, "identity.opening": "top", "identity.shape": "round",
    "identity.inside_width": 450, "identity.inside_height": 450, "identity.sections": 1,
    "identity.stand_top": 200, "identity.floor_under": 205, "identity.floor_face": 270, "identity.element_low": 310,
    "identity.element_high": 680, "identity.terminal_low": 310, "identity.lid_joint": 720, "identity.height": 790,
    "identity.box_bottom": 330, "identity.box_top": 650, "identity.probe_height": 500,
    "casing.parts": ["shell", "base", "stand", "hinge"], "casing.build": "framed",
    "lining.parts": ["wall", "floor", "lid"], "lining.layers": 1, "layer.material": "ifb_26", "layer.thickness": 64,
    "lining.gap": 0, "lining.damp_face": 0, "lining.damp_back": 0, "lining.brick_wet": 1.3, "lining.brick_dry": 1.3,
    "lining.brick_volume": 1.7, "element.alloy": "fecral", "element.alike": "yes", "element.wire_mm": 1.8,
    "element.coil_mm": 16, "earth.points": ["shell", "lid", "box", "base", "stand"], "earth.ohm": 0.05,
    "supply.earthing": "tn_s", "furniture.kinds": ["none"], "contents.kinds": ["none"], "vent.parts": ["none"],
    "handover.recheck": 10, "claim.insured": "no", "claim.writer": "no", "energise.rcd_ma": 30, "energise.rcd_ms": 22,
    "gear.replaced": NOT_THERE, "wire.replaced": NOT_THERE, "element.replaced": NOT_THERE, "probe.replaced": NOT_THERE,
    "vent.replaced": NOT_THERE, "supply.replaced": NOT_THERE,
}  # fmt: skip

ROTARY = {
    **BRICK, "scope.connection": "fixed", "safe.isolation": "isolator", "scope.control": ["rotary"],
    "gear.devices": ["breaker", "rcd", "isolator", "rotary_switch"], "gear.place": "wall",
    "gear.place@kiln/1/device/rotary_switch": "box",
    "wire.runs": ["power", "supply_cable", "terminals"], "wire.insulation": 180, "zone.insulation": 4.2,
    "identity.phases": "single", "identity.volts": 230, "identity.kw": 6.9, "identity.amps": 30,
    "element.count": 3, "element.strings": 3, "element.connection": "single", "element.ohm": 22.3, "zone.ohm": 7.45,
    "supply.volts": 231, "energise.safety": "decided", "energise.cutout": "decided",
}  # fmt: skip
"""(a) Rotary switches that carry the elements' current; no contactor, no controller, no probe."""

PLUGGED = {
    **BRICK, "scope.connection": "plug", "safe.isolation": "plug", "scope.control": ["electronic"], "scope.probes": 1,
    "gear.devices": ["breaker", "rcd", "socket"], "gear.place": "wall",
    "wire.runs": ["power", "control", "supply_cord", "terminals"],
    "wire.insulation": (200, {"at_least": True}), "zone.insulation": (200, {"at_least": True}),
    "identity.phases": "single", "identity.volts": 230, "identity.kw": 2.9, "identity.amps": 12.6,
    "element.count": 2, "element.strings": 1, "element.connection": "single", "element.ohm": 8.9, "zone.ohm": 17.8,
    "supply.volts": 231, "control.probe_type": "S", "control.set_type": "S", "control.replacement": "no",
    "probe.build": "ceramic", "probe.length_mm": 150, "probe.loop": 2, "probe.insulation": 50, "probe.off_ice": 0.5,
    "probe.off_boiling": 0.5, "control.cutout_probe": "not_fitted",
    "energise.safety": "decided", "energise.cutout": "decided", "energise.probe_apart": 2,
}  # fmt: skip
"""(b) A plug, one controller with its relay inside; no contactor to list, no door switch; leakage not measured."""

KILNS = {"rotary switches": ROTARY, "small and plugged": PLUGGED}


def completed(name: str) -> dict[str, Any]:
    """Return every answer of a kiln by its key."""
    return dict(_completed(name)[0])


def told(name: str) -> dict[str, dict[str, Any]]:
    """Return what is said beside some answers."""
    return _completed(name)[1]


@cache
def _completed(name: str) -> tuple[dict[str, Any], dict[str, dict[str, Any]]]:
    return complete(KILNS[name])


def complete(kiln: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, dict[str, Any]]]:
    """Return an answer to everything that is asked of a kiln, and what is said beside some of the answers."""
    values: dict[str, Any] = {}
    beside: dict[str, dict[str, Any]] = {}
    for question in questionnaire().question:
        for at in answers_from(values, told=beside).instances(question):
            said = _said(kiln, question, key_of(question.id, at))
            if said is NOT_THERE:
                said, beside[key_of(question.id, at)] = "", {"state": "not_applicable", "value": None}
            elif isinstance(said, tuple):
                said, more = said
                beside[key_of(question.id, at)] = {**told_of(question, said), **more}
            if said is not None:
                values[key_of(question.id, at)] = said
    return values, beside


NOT_FIRED = {"handover.done": "unfired"}
"""What is said of the firings of a proof: no log of these kilns shows them."""


def _said(kiln: Mapping[str, Any], question: Question, key: str) -> Any:
    """Return what a kiln says to a question: its own, else that nothing is the matter; None where it is optional."""
    kiln = {**NOT_FIRED, **kiln}
    named = next((one for one in (key, question.id) if one in kiln), None)
    if named is not None:
        return kiln[named]
    if question.optional:
        return None
    if question.kind == "choice" and question.order == "scale":
        return question.choices[0].id
    if question.kind == "several" and question.alone:
        return question.alone
    return "as it was agreed" if question.kind == "text" else None


def signed(events: tuple[Event, ...]) -> tuple[Event, ...]:
    """Return a journal with everybody's signature under each hold point that is ready, in their order."""
    while ready := next((one for one in states(answers_at(events, NOW)) if one.state == "ready for release"), None):
        assert not ready.ended, [one.ended for one in ready.ended]  # or it would be signed for ever
        events = (*events, _signature(events, ready))
    return events


def states(answers: Answers) -> tuple[Hold, ...]:
    """Return the hold points of a kiln."""
    return hold_states(answers, "uk")


def _signature(events: tuple[Event, ...], hold: Hold) -> Event:
    duty = hold.wanted[0]
    by, role = WITNESSES.get(duty, ELECTRICIAN)
    data = {
        "hold_point": hold.point.id, "at": hold.at, "duty": duty, "role": role, "licence": "0001-demo",
        "rests_on": dict(hold.rests_on), "after": list(hold.after),
    }  # fmt: skip
    return Event(len(events) + 1, SEEN, by, "test", "release", data, "")
