"""What the search of its own elements is given of a kiln: limits, the air around it by day and night, what sets it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from recover.controller.capability import BY_HAND
from recover.controller.compile import programmes, unfit
from recover.controller.programme import Programme, Refusal
from recover.judged.dryout import OUTDOORS
from recover.physics.around import Around
from recover.physics.lining import LayerStack
from recover.physics.staged import Heating
from recover.physics.stages import stage_class, stages
from recover.physics.wall import Course
from recover.plan.of_job import Taken
from recover.plan.outside import night
from recover.schedule.alphabet import Alphabet
from recover.schedule.limits import Boiling, Conditions, figures, hottest_for_terminals, limits_of
from recover.schedule.search import Begin, Found, search
from recover.schedule.spells import Spell


def may_follow(of: Taken) -> bool:
    """Whether its own elements may come after another way: not where the water was salt, or the place shuts them."""
    return of.salt == "fresh" and not of.why_shut("own")


def conditions(
    of: Taken, heating: Heating, attended_h: float, *, gives_kg_h: float = 0.0, behind: bool = False
) -> Conditions:
    """Return under what a kiln is heated by its own elements, somebody being there for so long on a day.

    `gives_kg_h` is what it gave into its room before; `behind` says that most of its water stands behind the
    hot face, so that practice for all its layers counts, the new ones as well.
    """
    limits = limits_of(
        heating.stages, of.power_kw, attended_h, of.care,
        OUTDOORS.at(heating.height_m), pest=of.crumbles,
    )  # fmt: skip
    vapour, by_night = (float(room.vapour_share(gives_kg_h)) for room in (of.room, of.room.unattended))
    day = Around(room_degc=Course.steady(of.room.day_degc), room_vapour=vapour, power_kw=_power_kw(of))
    return Conditions(
        limits=limits, top=hottest_for_terminals(limits, heating.lining.wall, of.room.day_degc),
        boiling=_boiling(heating, behind=behind), day=day, night=night(of.room, by_night, 24.0),
        height_m=heating.height_m,
    )  # fmt: skip


def _power_kw(of: Taken) -> float:
    return of.power_kw or figures().unknown_power_kw.value


def _boiling(heating: Heating, *, behind: bool) -> Boiling:
    """Return the gate before boiling, by practice for the layers that were wet, or for all of them."""
    wall = heating.lining.wall
    wet = () if behind else tuple(layer for layer in wall.layers if layer.wet != "dry")
    wet = wet or wall.layers
    own = stages(stage_class(LayerStack(wall.part, wet)), heating.height_m)
    return Boiling.of(own, sum(layer.thickness_mm for layer in wet))


@dataclass(frozen=True, kw_only=True)
class OwnDays:
    """Days of its own elements as they were found, and what the controller runs of each: nothing where the heater is
    off. Where it refuses one it runs none, and all are set by hand; each goes up to `overshoot_k` past its set-points.
    """

    found: Found
    programmes: tuple[Programme | None, ...]
    overshoot_k: float
    refusal: Refusal | None

    @classmethod
    def of(cls, found: Found, of: Taken, sets: Alphabet) -> OwnDays:
        """Return days that were found in what can be set, with the programmes of them."""
        made = [_programme(spell, of) if spell else None for spell in found.spells]
        refusal = next((one for one in made if isinstance(one, Refusal)), None)
        runs = tuple(None if refusal or isinstance(one, Refusal) else one for one in made)
        return cls(found=found, programmes=runs, overshoot_k=sets.overshoot_k, refusal=refusal)


def own_days(begin: Begin, under: Conditions, of: Taken, attended_h: Callable[[int], float]) -> OwnDays:
    """Search its days in what the controller can set; by hand only where it may run none of them.

    A controller that refuses a day when its programme is made overshoots otherwise than a hand: all is searched anew.
    Raises SimulationError.
    """
    if unfit(of.controller, of.probe, of.setting):
        return OwnDays.of(search(begin, under, BY_HAND, attended_h, _silent), of, BY_HAND)
    days = OwnDays.of(search(begin, under, of.controller, attended_h, _silent), of, of.controller)
    if days.found.spells and not days.refusal:
        return days
    by_hand = OwnDays.of(search(begin, under, BY_HAND, attended_h, _silent), of, BY_HAND)
    return replace(by_hand, programmes=(None,) * len(by_hand.programmes), refusal=days.refusal or by_hand.refusal)


def _silent(_what: str, _share: float) -> None:
    """Say nothing of the progress."""


def _programme(spell: Spell, of: Taken) -> Programme | Refusal:
    first, *later = spell.runs
    return programmes(
        first.from_degc, [run.steps for run in spell.runs], of.controller, of.probe, of.setting,
        [run.from_degc for run in later],
    )  # fmt: skip
