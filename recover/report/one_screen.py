"""What screens of answers share: how a line is broken, how many lines there is room for, how what is next is told."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from textwrap import wrap

from recover.report.paper import View
from recover.report.words import words

COLUMNS, LABEL = 80, 8
"""A terminal of the smallest usual width; how wide a label is."""

FIRST, OTHER = 6, 3
"""Of how many lines the first thing that is next is told, and any other."""


@dataclass(frozen=True)
class Block:
    """Lines that stand or fall together; of the highest rank, the last fall first. `head` stands before the first row
    that is left of those it is told for; None where the lines are no row."""

    rank: int
    lines: Sequence[str]
    head: str | None = None


def on_one_screen(blocks: Sequence[Block], most: int) -> list[str]:
    """Return the lines of as many blocks as there is room for."""
    kept = [block for block in blocks if block.lines]
    while sum(len(block.lines) for block in kept) > most:
        rank = max(block.rank for block in kept)
        last = max(number for number, block in enumerate(kept) if block.rank == rank)
        if rank == 0:
            return [line for block in kept for line in _lines(block)][:most]
        gone = kept.pop(last)
        if gone.head and last < len(kept) and kept[last].head == "":
            kept[last] = replace(kept[last], head=gone.head)
    return [line for block in kept for line in _lines(block)]


def _lines(block: Block) -> list[str]:
    return [f"{block.head:{LABEL}}{line[LABEL:]}" for line in block.lines] if block.head else [*block.lines]


def next_blocks(
    found: Sequence[View], *, first: int = FIRST, other: int = OTHER, columns: int = COLUMNS
) -> Iterator[Block]:
    """Yield what is next: the first whole, as far as anybody reads on, the others shorter."""
    label = words().status.label
    for number, act in enumerate(found):
        most = first if number == 0 else other
        lines = _act(label.next if number == 0 else label.then, act, most, columns)
        command = (f"{'':{LABEL}} {line}" for line in _command(act["do"], columns))
        yield Block(min(3 * number, 8), [*lines, *command])


def _command(do: str, columns: int) -> list[str]:
    """Return a command as a shell takes it: broken before an option, and joined again where a line ends in a stroke."""
    lines: list[str] = []
    for part in do.replace(" --", "\n--").split("\n"):
        if lines and len(lines[-1]) + len(part) + 3 <= columns - LABEL - 1:
            lines[-1] += f" {part}"
        elif part:
            lines += wrap(part, columns - LABEL - 1, break_on_hyphens=False)
    if " --" not in do:
        return lines
    return [*(f"{line} \\" for line in lines[:-1]), *lines[-1:]]


def _act(label: str, act: View, most: int, columns: int) -> list[str]:
    """Return what is to be done in so many lines; where that is cut, who does it and until when still stands."""
    lines, who = said(label, " ".join(filter(None, (act["say"], _who(act)))), columns), _who(act)
    if len(lines) <= most or not who or most == 1:
        return cut(lines, most, columns)
    last = said("", who, columns)
    return [*cut(said(label, act["say"], columns), max(1, most - len(last)), columns), *last]


def _who(act: View) -> str:
    """Return who does it and until when."""
    say = words().status.act
    if act["by"] and act["until"]:
        told = say.by_until(by=act["by"], until=act["until"])
    else:
        told = say.by(by=act["by"]) if act["by"] else say.until(until=act["until"]) if act["until"] else ""
    return told


def said(label: str, text: str, columns: int = COLUMNS) -> list[str]:
    """Return a text in lines, its label before the first."""
    indent = " " * (LABEL + 1)
    return wrap(text, columns, initial_indent=f"{label:{LABEL}} ", subsequent_indent=indent, break_on_hyphens=False)


def cut(lines: Iterable[str], most: int, columns: int = COLUMNS) -> list[str]:
    """Return no more lines than so many; where one is left out, that there is more."""
    found = list(lines)
    if len(found) <= most:
        return found
    return [*found[: most - 1], f"{found[most - 1][: columns - 2].rstrip(' ;,.')} …"]
