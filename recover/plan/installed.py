"""The controller that heats a kiln, as the inspection found it: the replacement, if there is one."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from re import findall
from typing import Any, cast

from recover.asked.answers import Answers
from recover.base.addresses import Address
from recover.controller.capability import Controller, Cutout, Ramps
from recover.engineering.thermocouples import Letter


def controller_of(answers: Answers, kiln: Address) -> Controller:
    """Return the record of the controller that heats a kiln, from the inspection: the replacement, if there is one."""
    readers: Mapping[str, Callable[[Answers, Address], Any]] = {
        "there": _there,
        "letters": _letters,
        "programmes": lambda given, at: _whole(given, "control.kept", at),
        "steps": lambda given, at: _whole(given, "control.steps", at),
        "ramps": _ramps,
        "degrees": lambda given, at: given.word("control.degrees", at) or None,
        "temperature_step": lambda given, at: given.number("control.degree_step", at),
        "least_degc": lambda given, at: given.number("control.least", at),
        "hold_step_min": lambda given, at: given.number("control.hold_step", at),
        "longest_hold_h": lambda given, at: given.number("control.longest_hold", at),
        "waits_for_kiln": lambda given, at: _yes(given, "control.waits", at),
        "starts_from": lambda given, at: given.word("control.starts", at) or None,
        "starts_hot": lambda given, at: _yes(given, "control.hot_start", at),
        "ramps_to_degc": lambda given, at: given.number("control.ramps_to", at),
        "overshoot_k": lambda given, at: given.number("control.overshoot", at),
        "after_power_cut": lambda given, at: given.word("control.power_cut", at) or None,
        "cutout": _cutout,
        "cutout_margin_k": lambda given, at: given.number("control.cutout_margin", at),
        "plate_degc": lambda given, at: given.number("identity.max_c", at),
        "cycle_s": lambda given, at: given.number("control.cycle", at),
    }
    found = {name: reader(answers, kiln) for name, reader in readers.items()}
    return Controller.known(**{name: value for name, value in found.items() if value is not None})


def _there(answers: Answers, kiln: Address) -> bool | None:
    """Return whether anything controls the heat but hands, as far as that was answered."""
    if answers.word("control.replacement", kiln) == "fitted":
        return True
    said = answers.look("scope.control", kiln)
    return any({"electronic", "timer"} & set(chosen) for chosen in said) if said else None


def _letters(answers: Answers, kiln: Address) -> tuple[Letter, ...] | None:
    """Return the letters it can be set to; the one it is set to stands where nobody looked for others."""
    several = answers.look("control.letters", kiln)
    if several:
        return tuple(sorted(letter for chosen in several for letter in chosen))
    setting = answers.word("control.set_type", kiln)
    return (cast(Letter, setting),) if setting else None


def _ramps(answers: Answers, kiln: Address) -> Ramps | None:
    """Return the ramps it offers; a span of which an end is not known is none."""
    entry = answers.word("control.ramps", kiln)
    rates = tuple(float(rate) for rate in findall(r"\d+(?:\.\d+)?", answers.word("control.ramp_rates", kiln)))
    if entry == "list" and rates:
        return Ramps("list", listed_k_h=rates)
    if entry == "rate" and len(rates) > 1:
        return Ramps("rate", least_k_h=min(rates), greatest_k_h=max(rates))
    return Ramps(cast(Any, entry)) if entry in ("time", "none") else None


def _cutout(answers: Answers, kiln: Address) -> Cutout | None:
    known: dict[str, Cutout] = {"match": "own_probe", "not_fitted": "none", "mismatch": "shared"}
    return known.get(answers.word("control.cutout_probe", kiln))


def _whole(answers: Answers, question: str, kiln: Address) -> int | None:
    number = answers.number(question, kiln)
    return None if number is None else int(number)


def _yes(answers: Answers, question: str, kiln: Address) -> bool | None:
    word = answers.word(question, kiln)
    return word == "yes" if word else None
