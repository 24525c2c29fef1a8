"""Which components the water reached, and why.

Heights decide: the water line against a component's lower edge, the depth of what stood in the chamber, how far water
climbs in the lining. Water from above is asked, since no height speaks of it. What somebody saw may make a component
wetter than its height says, never drier than where water stood; over water from above the look decides.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cache
from itertools import product

from recover.answers import Answers
from recover.conditions import Possible
from recover.datafile import load
from recover.kiln import UNLISTED, Address, is_listed, name_of, within
from recover.measures import show_quantity
from recover.physics.materials import material

STATES = ("dry", "damp", "splashed", "submerged")
"""From mildest to worst, as in the facts and questions of this name."""

KINDS = ("casing", "part", "layer", "element", "terminal", "probe", "vent", "furniture", "contents")
"""What the map speaks of. `terminal` is an element's own terminal: it has the element's address."""

LINED = frozenset({"part", "layer", "element"})
"""What touches the lining, and is damp where water climbs in it."""

CHAMBER = frozenset({"part", "layer", "element", "probe"})
"""What water standing in the chamber can reach."""

REACHED_FROM_ABOVE: dict[str, frozenset[str]] = {
    "casing": frozenset({"casing", "lid"}),
    "part": frozenset({"chamber"}), "layer": frozenset({"chamber"}),
    "element": frozenset({"chamber"}), "terminal": frozenset({"chamber", "casing", "box"}),
    "probe": frozenset({"chamber", "casing"}),
}  # fmt: skip
"""Which answers about water from above reach a component; a lid is reached where the lid is."""

BEHIND = frozenset({"terminal", "probe"})
"""What stands behind the casing: water on it may have got there, and nobody knows without looking."""


@dataclass(frozen=True)
class Wet:
    """How far water reached a component: the states that remain possible, from mildest to worst, and why."""

    at: Address
    kind: str
    states: tuple[str, ...]
    reason: str


@dataclass(frozen=True)
class _Words:
    reasons: dict[str, str]
    missing: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class _Said:
    """States that one line of evidence leaves open, and its words."""

    states: frozenset[str]
    reason: str


def wetness(answers: Answers, kind: str, at: Address) -> Possible:
    """Return the states that a component of a kind may be in; None where it may be in any."""
    states = _judged(answers, at, kind).states
    return None if states == frozenset(STATES) else states


def wet_map(answers: Answers) -> tuple[Wet, ...]:
    """Return how far water reached each component of the loss, in the order of the families."""
    places = [(at, kind) for kind in KINDS for at in answers.components("element" if kind == "terminal" else kind)]
    return tuple(_wet(at, kind, _judged(answers, at, kind)) for at, kind in places)


def element_heights_mm(answers: Answers, kiln: Address) -> tuple[float, ...]:
    """Return the height of each element above the floor, spaced evenly from lowest to highest; empty if not known."""
    low, high = answers.number("identity.element_low", kiln), answers.number("identity.element_high", kiln)
    count = answers.number("element.count", kiln)
    if low is None or count is None or (high is None and count > 1):
        return ()
    step = (high - low) / (count - 1) if high is not None and count > 1 else 0.0
    return tuple(low + step * place for place in range(int(count)))


def rise_mm(answers: Answers, kiln: Address) -> float:
    """Return how far water climbs above the line in the wall of a kiln: the most of its layers' materials."""
    layers = [at for at in answers.components("layer", of=kiln) if _part_of(at) in ("wall", "door", UNLISTED)]
    names = [name for at in layers for name in answers.look("layer.material", at) or ("unknown",)]
    return max((material(name).uptake.capillary_rise_mm.mid for name in names), default=0.0)


# ---------------------------------------------------------------------------------------- one component


def _wet(at: Address, kind: str, said: _Said) -> Wet:
    return Wet(at, kind, tuple(state for state in STATES if state in said.states), said.reason)


def _judged(answers: Answers, at: Address, kind: str) -> _Said:
    if not is_listed(at):
        return _open("unlisted")
    if kind == "part" and (layers := _layers(answers, at)):
        return layers
    by_height, by_look = _by_height(answers, at, kind), _by_look(answers, at, kind)
    if by_height is None or by_look is None:
        return by_height or by_look or _open("look")
    stood = _stood(answers, at, kind)
    mildest = min(stood.states, key=STATES.index)
    worse = _worst_of(by_look.states, frozenset({mildest}))
    return _Said(worse, by_look.reason if worse == by_look.states else stood.reason)


def _layers(answers: Answers, part: Address) -> _Said | None:
    """Return what the layers of a part say of it, where each of them is settled."""
    said = [_judged(answers, at, "layer") for at in answers.components("layer", of=part)]
    if not said or any(len(one.states) > 1 for one in said):
        return None
    return _Said(_worst_of(*(one.states for one in said)), _words().reasons["layers"])


def _by_look(answers: Answers, at: Address, kind: str) -> _Said | None:
    kiln = within(at, "kiln") or at
    if kind in ("element", "terminal"):
        count = answers.number("element.reached_count", kiln)
        if count is None:
            return None
        reason = _words().reasons["counted"].format(count=int(count))
        stood = answers.word("event.reach", kiln) != "floor"  # else it came from above
        reached = "submerged" if stood else "splashed"
        return _Said(frozenset({reached if int(name_of(at)) <= count else "dry"}), reason)
    if kind == "part":
        return None
    seen = answers.look(f"{kind}.reached", at)
    return _Said(seen, _words().reasons["seen"]) if seen else None


# ---------------------------------------------------------------------------------------- heights


def _by_height(answers: Answers, at: Address, kind: str) -> _Said | None:
    """Return what line, chamber and water from above say; None where no height speaks of this kind of component."""
    if kind not in REACHED_FROM_ABOVE:
        return None
    evidence = [_stood(answers, at, kind), _from_above(answers, at, kind)]
    return _worst_said([one for one in evidence if one])


def _stood(answers: Answers, at: Address, kind: str) -> _Said:
    """Return what standing water did, in the room and in the chamber."""
    evidence = [_by_line(answers, at, kind), _by_chamber(answers, at, kind)]
    return _worst_said([one for one in evidence if one])


def _worst_said(found: list[_Said]) -> _Said:
    states = _worst_of(*(one.states for one in found))
    return _Said(states, next(one.reason for one in found if _worst(one.states) == _worst(states)))


def _by_line(answers: Answers, at: Address, kind: str) -> _Said:
    kiln = within(at, "kiln") or at
    reach = answers.look("event.reach", kiln)
    if reach in (frozenset({"floor"}), frozenset({"over"})):
        over = reach == frozenset({"over"})
        return _Said(frozenset({"submerged" if over else "dry"}), _words().reasons["over" if over else "floor"])
    line, low = answers.number("event.water_line", kiln), _lower_edge_mm(answers, at, kind, kiln)
    if line is None or low is None:
        return _open("line" if line is None else "datum")
    climbs = rise_mm(answers, kiln) if kind in LINED else 0.0
    state = "submerged" if low <= line else "damp" if low <= line + climbs else "dry"
    show = {"low": low, "line": line, "rise": climbs}
    reason = _words().reasons[state].format(**{name: show_quantity(value, "mm") for name, value in show.items()})
    return _Said(frozenset({state}), reason)


def _by_chamber(answers: Answers, at: Address, kind: str) -> _Said | None:
    """Return what water standing in the chamber did to what it could reach; None where there was none."""
    kiln = within(at, "kiln") or at
    if kind not in CHAMBER or answers.look("event.inside", kiln) in (frozenset(), frozenset({0.0})):
        return None
    depth, face = answers.number("event.inside", kiln), answers.number("identity.floor_face", kiln)
    if depth is None:
        return _open("inside")
    if _part_of(at) == "floor":
        return _Said(frozenset({"submerged"}), _inside(depth))
    low = _lower_edge_mm(answers, at, kind, kiln)
    if low is None or face is None:
        return _open("datum")
    return _Said(frozenset({"submerged" if low <= face + depth else "dry"}), _inside(face + depth))


def _inside(level_mm: float) -> str:
    return _words().reasons["inside"].format(inside=show_quantity(level_mm, "mm"))


def _from_above(answers: Answers, at: Address, kind: str) -> _Said | None:
    places = {"lid"} if _part_of(at) == "lid" else REACHED_FROM_ABOVE[kind]
    possible = answers.look("event.above", within(at, "kiln") or at)
    if possible is None:
        return _Said(frozenset({"dry", "splashed"}), _open("above").reason)
    if not any(places & said for said in possible):
        return None
    if kind in BEHIND:
        return _Said(frozenset({"dry", "splashed"}), _words().reasons["behind"])
    return _Said(frozenset({"splashed"}), _words().reasons["above"])


def _lower_edge_mm(answers: Answers, at: Address, kind: str, kiln: Address) -> float | None:
    """Return the height of a component's lower edge above the floor of the room; None where it is not known."""
    if kind == "element":
        heights = element_heights_mm(answers, kiln)
        return heights[int(name_of(at)) - 1] if heights else None
    if kind == "terminal":
        return _terminal_mm(answers, at, kiln)
    if kind == "probe":
        return answers.number("identity.probe_height", kiln)
    if kind == "casing":
        return _casing_mm(answers, name_of(at), kiln)
    datum = {"floor": "identity.floor_under", "lid": "identity.lid_joint"}.get(_part_of(at), "identity.floor_face")
    return answers.number(datum, kiln)


def _terminal_mm(answers: Answers, at: Address, kiln: Address) -> float | None:
    """Return a terminal's height: as far above the lowest terminal as its element is above the lowest element."""
    lowest, heights = answers.number("identity.terminal_low", kiln), element_heights_mm(answers, kiln)
    if lowest is None or not heights:
        return lowest
    return lowest + (heights[int(name_of(at)) - 1] - heights[0])


def _casing_mm(answers: Answers, name: str, kiln: Address) -> float | None:
    if name == "stand":
        return 0.0
    if name == "hinge":
        front = answers.look("identity.opening", kiln) == frozenset({"front"})
        return answers.number("identity.floor_face" if front else "identity.lid_joint", kiln)
    return answers.number("identity.floor_under", kiln)


# ---------------------------------------------------------------------------------------- small things


def _part_of(at: Address) -> str:
    part = within(at, "part")
    return name_of(part) if part else ""


def _worst(states: Iterable[str]) -> int:
    return max(STATES.index(state) for state in states)


def _worst_of(*evidence: frozenset[str]) -> frozenset[str]:
    """Return the states that remain when each line of evidence is one of its states and the worst of them counts."""
    return frozenset(STATES[_worst(each)] for each in product(*evidence))


def _open(what: str) -> _Said:
    missing = _words().missing[what]
    return _Said(frozenset(STATES), _words().reasons["open"].format(missing=missing))


@cache
def _words() -> _Words:
    return load("wetmap.toml", "recover-wetmap", _Words)
