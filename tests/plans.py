"""Small kilns for the tests of the plan: one ring of wet lining, so that a search takes seconds."""

from dataclasses import dataclass, replace
from functools import cache
from math import floor

from recover.judged.dryout import OUTDOORS
from recover.physics.around import Around
from recover.physics.ensemble import Draws
from recover.physics.grid import ROUGH
from recover.physics.lining import ChamberShape, Layer, LayerStack, Lining
from recover.physics.staged import Heating, setups_of
from recover.physics.stages import stage_class, stages
from recover.physics.wall import Course
from recover.schedule.heated import BRISK, water_kg
from recover.schedule.limits import Boiling, Conditions, RoomCare, hottest_for_terminals, limits_of
from recover.schedule.search import Begin, Found, search

BRICK = (("ifb_23", 40.0),)
BRICK_AND_FIBRE = (("ifb_23", 40.0), ("blanket", 25.0))
THIN_FIBRE_BEHIND = (("ifb_23", 40.0), ("blanket", 13.0))
DENSE = (("castable_dense", 50.0),)


@dataclass(frozen=True)
class Set:
    """What can be set, in even steps."""

    overshoot_k: float = 5.0
    hold_step_h: float = 0.5
    least_degc: float = 30.0
    steps: int = 8
    starts_hot: bool = True
    degc: float = 5.0
    ramps_k_h: tuple[float, ...] = (5, 10, 15, 20, 25, 30, 35, 40, 45, 50, 60, 80, 100)

    def set_degc(self, degc):
        return floor(degc / self.degc + 1e-9) * self.degc

    def ramp_k_h(self, wanted_k_h, rise_k):  # noqa: ARG002 - any rise
        return max((one for one in self.ramps_k_h if one <= wanted_k_h + 1e-9), default=None)


@dataclass(frozen=True)
class Fahrenheit(Set):
    """A display in °F, in steps of ten."""

    def set_degc(self, degc):
        return (floor((degc * 9 / 5 + 32) / 10 + 1e-9) * 10 - 32) * 5 / 9


@dataclass(frozen=True)
class ByTime(Set):
    """Ramps are set as a time to the target, in quarters of an hour."""

    def ramp_k_h(self, wanted_k_h, rise_k):
        return rise_k / (max(-(-rise_k // (wanted_k_h * 0.25)), 1) * 0.25)


BY_HAND = Set()
COARSE = Set(overshoot_k=25.0, hold_step_h=1.0, least_degc=50.0, steps=3, ramps_k_h=(25.0, 50.0))


def kiln(layers=BRICK, casing="seams", room_vapour=0.0115, opening="plugs_out", power_kw=4.0) -> Heating:
    """Return a round kiln of 0.4 m, its ring soaked to the top."""
    stack = LayerStack("wall", tuple(Layer(name, mm, "soaked", 400.0) for name, mm in layers))
    lining = Lining(ChamberShape("round", 400, 400, 400), (stack,))
    return Heating(
        lining=lining, stages=stages(stage_class(stack)), casing=casing, opening=opening,
        room_degc=15.0, room_vapour=room_vapour, power_kw=power_kw, height_m=0.0,
    )  # fmt: skip


def limits(heating, hours=24.0, care: RoomCare | None = None):
    """Return its limits, as they stand."""
    return limits_of(heating.stages, heating.power_kw, hours, care, OUTDOORS)


def under(heating, care: RoomCare | None = None, **changed) -> Conditions:
    """Return its conditions, some limits changed, by id."""
    found = limits(heating, care=care)
    for name, value in changed.items():
        found = found.changed(name, value)
    around = Around(
        room_degc=Course.steady(heating.room_degc), room_vapour=heating.room_vapour, power_kw=heating.power_kw
    )
    return Conditions(
        limits=found, top=hottest_for_terminals(found, heating.lining.wall, heating.room_degc),
        boiling=Boiling.of(heating.stages, heating.thickness_mm), day=around, night=around, height_m=heating.height_m,
    )  # fmt: skip


@cache
def begin(heating, draws=64) -> Begin:
    """Return where its draws begin: as wet as they were found."""
    made = Draws.of(setups_of(replace(heating, draws=draws)), ROUGH, BRISK)
    standing, around = made.begin(), under(heating).night
    return Begin(made, standing, water_kg(made, standing, around))


def attended(hours=12.0, off=()):
    """Return how long somebody is there, by the number of the day; weekdays of `off` nobody is."""
    return lambda day: 0.0 if day % 7 in off else hours


@cache
def found(heating, hours=12.0, alphabet=BY_HAND, off=(), care: RoomCare | None = None, **changed) -> Found:
    """Return its searched drying."""
    asked = attended(hours, off)
    return search(begin(heating), under(heating, care, **changed), alphabet, asked, lambda *_: None)
