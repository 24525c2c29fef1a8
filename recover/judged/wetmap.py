"""Which components the water reached, and why.

Heights decide: the water line against a component's lower edge, the depth of what stood in the chamber, how far water
climbs in the lining. Water from above is asked, since no height speaks of it. What somebody saw may make a component
wetter than its height says, never drier than where water stood; over water from above the look decides. A device whose
own height and look nobody gave is as wet as what holds it: the control box, the supply in the building.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cache
from itertools import product
from typing import Any

from recover.asked.answers import Answers
from recover.asked.replay import DOUBTFUL
from recover.asked.told import key_of
from recover.base.addresses import UNLISTED, Address, is_listed, name_of, within
from recover.base.conditions import Possible
from recover.base.datafile import load
from recover.base.measures import show_quantity
from recover.physics.materials import material

STATES = ("dry", "damp", "splashed", "submerged")
"""From mildest to worst, as in the facts and questions of this name."""

KINDS = ("casing", "part", "layer", "element", "terminal", "probe", "device", "vent", "furniture", "contents")
"""What the map speaks of. `terminal` is an element's own terminal: it has the element's address."""

CONDUCTOR = ("dry", "damp", "length", "ends")
"""Where water was on a wire or a cable, from mildest to worst."""

IN_THE_BOX = frozenset({"power", "control", "terminals"})
"""The wiring that ends in the control box."""

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

REACHES = {"chamber": "identity.floor_under", "control": "identity.box_bottom"}
"""How high standing water came at the least, by the words for how far it reached."""

BEHIND = frozenset({"terminal", "probe"})
"""What stands behind the casing: water on it may have got there, and nobody knows without looking."""

DEVICE_PLACES = ("box", "kiln", "wall")
"""Where a device may be: in the control box, elsewhere in or on the kiln, in the building."""

ABOVE_DEVICE: dict[str, frozenset[str]] = {
    "box": frozenset({"box"}), "kiln": frozenset({"casing", "lid", "chamber"}), "wall": frozenset(),
}  # fmt: skip
"""Which answers about water from above may mean what hangs in a place; nobody knows without looking."""

ONCE_ANYWHERE_ON_THE_KILN = frozenset({"breaker", "fuse", "rcd", "surge", "socket", "isolator"})
"""Of these devices `kiln` once meant in or on the kiln: without height or look, they may be in the box as well."""


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
    if kind in ("wire", "cable"):
        return _conductor(answers, kind, at)
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


def line_mm(answers: Answers, kiln: Address) -> float | None:
    """Return the height of the water line above the floor; None where it is not known.

    Where the words for how far up it came say more than the figure, the words: 64 cm may have been typed as 64 mm. They
    say it by a height on the kiln; where that is not known, nor is the line.
    """
    line = answers.number("event.water_line", kiln)
    if line is None:
        return None
    heights = {None if least is None else max(line, least) for least in _reached_mm(answers, kiln)}
    return heights.pop() if len(heights) == 1 else None


def _reached_mm(answers: Answers, kiln: Address) -> Iterator[float | None]:
    """Yield each height that standing water may have come to at the least, by the words for how far up.

    0 where they say nothing of it; None where the height that they speak of is not known.
    """
    above, none = answers.look("event.above", kiln), frozenset({"none"})
    for reach in answers.look("event.reach", kiln) or (*REACHES, "base"):
        stood = reach in REACHES and (above is None or none in above)
        if not stood or above != frozenset({none}):
            yield 0.0
        if stood:
            least = answers.look(REACHES[reach], kiln)
            yield from (None,) if least is None else least


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
    if kind == "device":
        return _device(answers, at)
    if kind == "control":
        return _control(answers, at)
    if kind == "part" and (layers := _by_layers(answers, at)):
        return layers
    if kind == "terminal":
        return _terminal(answers, at)
    by_height, by_look = _by_height(answers, at, kind), _by_look(answers, at, kind)
    if by_height is None or by_look is None:
        return by_height or by_look or _open("look")
    stood = _stood(answers, at, kind)
    somewhere = answers.look("event.reach", within(at, "kiln") or at)
    certain = frozenset({_least(answers, at, kind)}) if somewhere else stood.states
    worse = _worst_of(by_look.states, certain)
    return _Said(worse, by_look.reason if worse == by_look.states else stood.reason)


def _least(answers: Answers, at: Address, kind: str) -> str:
    """Return the mildest that standing water did; of heights that were taken back, what they said of it."""
    told = [answers, answers.as_last_given] if answers.as_last_given else [answers]
    return max((min(_stood(one, at, kind).states, key=STATES.index) for one in told), key=STATES.index)


def _terminal(answers: Answers, at: Address) -> _Said:
    """Return how wet an element's terminal is: by its element, its height and what came from above.

    Who counts elements has not looked at their terminals; over water from above a look of their own decides.
    """
    kiln = within(at, "kiln") or at
    evidence = [_by_look(answers, at, "terminal"), _looked_at(answers, kiln), _stood(answers, at, "terminal")]
    if not _recorded(answers, "element.terminals_reached", kiln):
        evidence.append(_from_above(answers, at, "terminal"))
    return _worst_said([one for one in evidence if one])


def _looked_at(answers: Answers, kiln: Address) -> _Said | None:
    """Return what somebody saw of the terminals of a kiln, also where it was taken back or is asked no more.

    A look that nothing proves any more may have been any.
    """
    answer = answers.answer("element.terminals_reached", kiln)
    told = answers.last_given(key_of("element.terminals_reached", kiln))
    if answer is None or told is None:
        return None
    if answer.state != "given" and answer.reason == DOUBTFUL:
        return _open("look")
    look = answer if answer.state == "given" else told
    return _Said(frozenset({look.value}), _words().reasons["seen"])


def _by_layers(answers: Answers, part: Address) -> _Said | None:
    """Return what the layers of a part say of it: all of them; else, with its height, those that are settled.

    None where none is settled. A part is never drier than a layer of it, however many layers there may be.
    """
    said = [_judged(answers, at, "layer").states for at in answers.components("layer", of=part)]
    settled = [states for states in said if len(states) == 1]
    if not settled:
        return None
    layers = _Said(_worst_of(*settled), _words().reasons["layers"])
    if len(settled) == len(said):
        return layers
    return _worst_said([_by_height(answers, part, "part") or _open("look"), layers])


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
    if reach == frozenset({"floor"}):
        return _Said(frozenset({"dry"}), _words().reasons["floor"])
    over = _Said(frozenset({"submerged"}), _words().reasons["over"])
    if reach == frozenset({"over"}):
        return over
    stood = _by_heights(answers, at, kind, kiln)
    return stood if reach else _any_of([stood, over], "reach")


def _by_heights(answers: Answers, at: Address, kind: str, kiln: Address) -> _Said:
    line, low = line_mm(answers, kiln), _lower_edge_mm(answers, at, kind, kiln)
    if line is None or low is None:
        return _open("line" if line is None else "datum")
    climbs = rise_mm(answers, kiln) if kind in LINED else 0.0
    state = "submerged" if low <= line else "damp" if low <= line + climbs else "dry"
    return _Said(frozenset({state}), _in_words(state, low=low, line=line, rise=climbs))


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
    """Return a terminal's height: as far above the lowest terminal as its element is above the lowest element.

    None lies below the lowest, also where the heights of the elements were given the wrong way round.
    """
    lowest, heights = answers.number("identity.terminal_low", kiln), element_heights_mm(answers, kiln)
    if lowest is None or not heights:
        return lowest
    return lowest + max(0.0, heights[int(name_of(at)) - 1] - heights[0])


def _casing_mm(answers: Answers, name: str, kiln: Address) -> float | None:
    if name == "stand":
        return 0.0
    if name == "hinge":
        front = answers.look("identity.opening", kiln) == frozenset({"front"})
        return answers.number("identity.floor_face" if front else "identity.lid_joint", kiln)
    return answers.number("identity.floor_under", kiln)


# ---------------------------------------------------------------------------------------- devices


@dataclass(frozen=True, kw_only=True)
class _Device:
    """A device in one place, with its own height and its own look where they were given."""

    at: Address
    kiln: Address
    place: str
    height_mm: float | None
    seen: _Said | None


def _device(answers: Answers, at: Address) -> _Said:
    """Return how wet a device is: in its place, or in every place that it could be in."""
    kiln = within(at, "kiln") or at
    height, look = (_recorded(answers, name, at) for name in ("gear.height", "gear.wet"))
    seen = _Said(frozenset({look}), _words().reasons["seen"]) if look else None
    places = answers.look("gear.place", at) or frozenset(DEVICE_PLACES)
    if places == {"kiln"} and height is None and not seen and _may_be_in_the_box(answers, at, kiln):
        places = frozenset({"kiln", "box"})
    said = [
        _device_in(answers, _Device(at=at, kiln=kiln, place=place, height_mm=height, seen=seen))
        for place in DEVICE_PLACES
        if place in places
    ]
    return _any_of(said, "place")


def _control(answers: Answers, at: Address) -> _Said:
    """Return how wet a controller is: it sits in the box, and a look never dries it where water stood in the box."""
    kiln, look = within(at, "kiln") or at, answers.look("control.reached", at)
    if look == frozenset():
        return _Said(frozenset({"dry"}), _words().reasons["seen"])  # nothing that could be wet
    seen = _Said(look, _words().reasons["seen"]) if look else _open("look")
    return _device_in(answers, _Device(at=at, kiln=kiln, place="box", height_mm=None, seen=seen))


def _conductor(answers: Answers, kind: str, at: Address) -> Possible:
    """Return where water was on a wire or a probe's cable: by the look, and not above what stood at its ends."""
    kiln = within(at, "kiln") or at
    said = answers.look("probe.cable_reached" if kind == "cable" else "wire.reached", at)
    if not is_listed(at) or not said:
        return None
    stood = _at_ends(answers, kind, at, kiln)
    worst = max(CONDUCTOR.index(one) for one in said)
    least = max(min(CONDUCTOR.index(one) for one in said), CONDUCTOR.index("ends") if stood == {True} else 0)
    most = len(CONDUCTOR) - 1 if True in stood else worst
    return frozenset(CONDUCTOR[least : max(least, most) + 1])


def _at_ends(answers: Answers, kind: str, at: Address, kiln: Address) -> frozenset[bool]:
    """Say whether water stood where a conductor ends: in the box, at the probe, or over the whole kiln.

    A height that is not known may lie below the line, but where the water stayed on the floor of the room.
    """
    reach = answers.look("event.reach", kiln)
    if reach == frozenset({"over"}):
        return frozenset({True})
    if kind == "wire" and name_of(at) not in IN_THE_BOX:
        return frozenset({False} if reach else {True, False})
    box = _device_in(answers, _Device(at=at, kiln=kiln, place="box", height_mm=None, seen=None)).states
    line, top = line_mm(answers, kiln), answers.number("identity.box_top", kiln)
    head = answers.number("identity.probe_height", kiln) if kind == "cable" else None
    reached = line is not None and head is not None and head <= line
    unknown = kind == "cable" and reach != frozenset({"floor"}) and (line is None or head is None)
    covered = box == frozenset({"submerged"}) and line is not None and top is not None and line >= top
    if covered or reached:
        return frozenset({True})
    return frozenset({True, False} if unknown or not reach or "submerged" in box else {False})


def _recorded(answers: Answers, name: str, at: Address) -> Any:
    """Return an answer that was given, also where its question is no longer asked: a worse line never hides it."""
    answer = answers.answer(name, at)
    return answer.value if answer and answer.state == "given" else None


def _may_be_in_the_box(answers: Answers, at: Address, kiln: Address) -> bool:
    covered = answers.look("event.reach", kiln) == frozenset({"over"})
    return name_of(at) in ONCE_ANYWHERE_ON_THE_KILN and not covered


def _device_in(answers: Answers, device: _Device) -> _Said:
    """Return how wet a device is in its place: where water stood; over everything else its own look decides."""
    stood = _stood_at(answers, device)
    other = [device.seen] if device.seen else _of_its_place(answers, device)
    return _worst_said([*other, *stood])


def _stood_at(answers: Answers, device: _Device) -> list[_Said]:
    """Return what standing water did to a device: at its own height, else in the box or on the kiln that holds it."""
    if device.height_mm is not None:
        return [_at_height(answers, device, device.height_mm)]
    if device.place == "box":
        return _stood_in_box(answers, device)
    return _stood_on_kiln(answers, device) if device.place == "kiln" else []


def _stood_in_box(answers: Answers, device: _Device) -> list[_Said]:
    """Return what standing water did in the box. Once the line is at its lower edge, nobody knows how far up."""
    low, line = answers.number("identity.box_bottom", device.kiln), line_mm(answers, device.kiln)
    stood = _at_height(answers, device, low)
    if stood.states == frozenset({"submerged"}) and low is not None and line is not None:
        stood = _Said(frozenset(STATES), _in_words("box_stood", low=low, line=line))
    elif "submerged" in stood.states:
        stood = _Said(frozenset(STATES), stood.reason)
    said = answers.look("gear.reached", device.kiln)
    if device.seen and (said is None or "submerged" in said):
        certain = said == frozenset({"submerged"})
        return [stood, _Said(frozenset({"submerged"} if certain else {"dry", "submerged"}), _words().reasons["box"])]
    return [stood]


def _stood_on_kiln(answers: Answers, device: _Device) -> list[_Said]:
    """Return what standing water did to a device on the kiln whose height nobody gave: settled at both ends alone."""
    reach = answers.look("event.reach", device.kiln)
    if reach is None:
        return [_Said(frozenset({"dry", "submerged"}) if device.seen else frozenset(STATES), _open("reach").reason)]
    if reach & {"floor", "over"}:
        return [_at_height(answers, device, None)]
    return [] if device.seen else [_open("device")]


def _of_its_place(answers: Answers, device: _Device) -> list[_Said]:
    """Return what else is known of the place of a device that nobody looked at."""
    if device.place == "wall":
        return [_of_supply(answers, device)]
    above = _above_device(answers, device)
    box = [_said_of(answers, "gear.reached", "box", device.kiln)] if device.place == "box" else []
    return [*box, *([above] if above else [])]


def _of_supply(answers: Answers, device: _Device) -> _Said:
    """Return what was said of the supply. Above the line another device may have been meant, so it may be drier."""
    said = _said_of(answers, "safe.supply_reached", "supply", device.kiln)
    if device.height_mm is None or said.states == frozenset({"dry"}):
        return said
    return _Said(frozenset(STATES[: _worst(said.states) + 1]), _words().reasons["supply_other"])


def _said_of(answers: Answers, question: str, reason: str, kiln: Address) -> _Said:
    said = answers.look(question, kiln)
    return _Said(said, _words().reasons[reason]) if said else _open(reason)


def _above_device(answers: Answers, device: _Device) -> _Said | None:
    possible = answers.look("event.above", device.kiln)
    if possible is None:
        return _Said(frozenset({"dry", "splashed"}), _open("above").reason)
    if not any(ABOVE_DEVICE[device.place] & said for said in possible):
        return None
    return _Said(frozenset({"dry", "splashed"}), _words().reasons["hangs"])


def _at_height(answers: Answers, device: _Device, low_mm: float | None) -> _Said:
    """Return what the line did at a height, in each way that the water may have come up.

    What stands on a kiln that was covered was covered; a box or a board on the wall is judged by the line.
    """
    reach = answers.look("event.reach", device.kiln) or frozenset({"floor", "line", "over"})
    said = []
    if "floor" in reach:
        said.append(_Said(frozenset({"dry"}), _words().reasons["floor"]))
    if "over" in reach and device.place == "kiln":
        said.append(_Said(frozenset({"submerged"}), _words().reasons["over"]))
    if reach - ({"floor", "over"} if device.place == "kiln" else {"floor"}):
        said.append(_against_line(line_mm(answers, device.kiln), low_mm))
    return _any_of(said, "reach")


def _against_line(line_mm: float | None, low_mm: float | None) -> _Said:
    if line_mm is None or low_mm is None:
        return _open("line" if line_mm is None else "datum")
    state = "submerged" if low_mm <= line_mm else "dry"
    return _Said(frozenset({state}), _in_words("clear" if state == "dry" else state, low=low_mm, line=line_mm))


def _in_words(reason: str, **heights_mm: float) -> str:
    return _words().reasons[reason].format(**{name: show_quantity(value, "mm") for name, value in heights_mm.items()})


def _any_of(said: list[_Said], missing: str) -> _Said:
    """Return what remains where one of several holds and nobody knows which."""
    states = frozenset().union(*(one.states for one in said))
    agreed = all(one.states == states for one in said)
    return _Said(states, said[0].reason if agreed else _open(missing).reason)


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
    return load("judged/wetmap.toml", "recover-wetmap", _Words)
