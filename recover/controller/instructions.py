"""What goes with each run of a programme: before the start, the cut-out, what to see, what never."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import inf

from recover.base.measures import show_hours_minutes, show_number
from recover.controller.programme import Programme, ProgrammeRun, words
from recover.physics.wall import Step


@dataclass(frozen=True, kw_only=True)
class Instructions:
    """The sheet of a run: its steps as they are read back.

    `warm_degc`: between which temperatures a run begins that follows another, or opens a day warm; None: at the room's.
    """

    run: ProgrammeRun
    steps: tuple[str, ...]
    warm_degc: tuple[float, float] | None
    precondition: str
    cutout: str
    see: tuple[str, ...]
    power_cut: tuple[str, ...]
    change: str


def instructions(programme: Programme) -> tuple[Instructions, ...]:
    """Return the sheet of every run of a programme, in order."""
    return tuple(_of_run(programme, run) for run in programme.runs)


def _of_run(programme: Programme, run: ProgrammeRun) -> Instructions:
    said, controller = words(), programme.controller
    return Instructions(
        run=run,
        steps=step_lines(run, controller.degrees),
        warm_degc=_warm_degc(programme, run),
        precondition=_precondition(programme, run),
        cutout=_cutout(programme, run),
        see=tuple(_see(programme, run)),
        power_cut=(said.power_cut[controller.after_power_cut], said.power_cut_rule["say"]),
        change=said.run["change"],
    )


def _befores(run: ProgrammeRun) -> list[float]:
    return [run.begins_degc, *(step.to_degc for step in run.steps[:-1])]


def _warm_degc(programme: Programme, run: ProgrammeRun) -> tuple[float, float] | None:
    """Return how warm the kiln may be: a run that follows begins no hotter than the one before it ended.

    The first run of a day begins no hotter than it was proven from; up to what a room may have, it begins cold.
    """
    least_degc, warm_degc = run.begins_degc - programme.controller.overshoot_k, words().warm_degc.value
    if run.number > 1:
        return max(programme.start_degc, least_degc), run.begins_degc
    return None if programme.start_degc <= warm_degc else (max(least_degc, warm_degc), run.begins_degc)


def _precondition(programme: Programme, run: ProgrammeRun) -> str:
    warm_degc = _warm_degc(programme, run)
    if warm_degc is None:
        return words().run["cold"]
    said = words().run["hot" if run.number > 1 else "warm"]
    return said.format(least_degc=f"{warm_degc[0]:.0f}", begins_degc=f"{warm_degc[1]:.0f}")


def step_lines(run: ProgrammeRun, degrees: str) -> tuple[str, ...]:
    """Return every step as it is to be read back, in degrees `C` or `F`, the controller's own."""
    said = words().run
    return tuple(
        said["step"].format(
            number=number, ramp=_ramp(step, before, degrees), degc=_shown(step.to_degc, degrees),
            hold=said["hold"].format(hold=show_hours_minutes(step.hold_h)) if step.hold_h else "",
        )
        for number, (step, before) in enumerate(zip(run.steps, _befores(run), strict=True), start=1)
    )  # fmt: skip


def _ramp(step: Step, before_degc: float, degrees: str) -> str:
    """Return a ramp with the time it takes, for a controller that is set by the one or the other."""
    if step.ramp_k_h == inf or step.to_degc <= before_degc:
        return words().run["no_climb" if step.to_degc <= before_degc else "at_once"]
    ramp = step.ramp_k_h * (9 / 5 if degrees == "F" else 1)
    hours = (step.to_degc - before_degc) / step.ramp_k_h
    return words().run["ramp"].format(ramp=show_number(ramp), degrees=f"°{degrees}", hours=show_hours_minutes(hours))


def _shown(degc: float, degrees: str) -> str:
    return f"{degc * 9 / 5 + 32:.0f} °F" if degrees == "F" else f"{degc:g} °C"


def _cutout(programme: Programme, run: ProgrammeRun) -> str:
    controller, said = programme.controller, words().run
    if controller.cutout_margin_k is None:
        return said["cutout_unknown"].format(
            top_degc=f"{run.top_degc:.0f}", overshoot_k=show_number(controller.overshoot_k)
        )
    degc = run.top_degc + controller.cutout_margin_k
    return said["cutout_known"].format(cutout_degc=f"{degc:.0f}", margin_k=show_number(controller.cutout_margin_k))


def _see(programme: Programme, run: ProgrammeRun) -> Iterator[str]:
    controller, said = programme.controller, words().run
    yield said["waits" if controller.waits_for_kiln else "no_waits"]
    if controller.delays_start:
        yield said["delay"]
    if controller.starts_from == "room" and run.number > 1:
        yield said["room_start"]
    cycle_degc, cycle_s = words().cycle_degc.value, words().cycle_s.value
    if run.begins_degc < cycle_degc and (controller.cycle_s is None or controller.cycle_s > cycle_s):
        yield said["cycle"].format(cycle_degc=show_number(cycle_degc), cycle_s=show_number(cycle_s))
    if len(programme.runs) > controller.programmes:
        yield said["type_in"].format(programmes=controller.programmes)
    if programme.stops_degc is not None and run is programme.runs[-1]:
        yield said["stops"].format(degc=f"{programme.stops_degc:.0f}")
