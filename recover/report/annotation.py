"""What is written beside a drawing: levels with their leaders, the staff, the legend. Lengths are mm on paper."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from recover.report.svg import BLACK, GREY, LINE, SIZE, WHITE, shape, text

_ADVANCES = (
    (0.31, " ijl,.:;!'()[]\u202f"),
    (0.365, "ftr-"),
    (0.45, 'sI/|{}"°·?'),
    (0.515, "aceogkzvxyL"),
    (0.67, "ďß–≥≤Ωµ€‘’“”"),
    (0.91, "mwMW@%©ŵŴŉÆæŒœǼǽ—…¼½¾"),
)
"""The advance of groups of characters in em, rounded up, after the metrics of the semi-bold face."""

_GAP = 0.5
_MARK = 8.0
"""From the bend of a leader to where its words begin; the level mark stands there."""


@dataclass(frozen=True, kw_only=True)
class Level:
    """A height to be named: where it is on paper, where the leader leaves the drawing, and what is written."""

    y: float
    edge: float
    value: str
    name: str
    filled: bool
    weight: int = 400


def column_height(words: Sequence[tuple[str, str]], left: float, right: float) -> float:
    """Return how tall the column of levels with these heights and names is between `left` and `right`."""
    return sum(_tall(lines) for lines in _names(words, left, right))


def levels(all_of_them: Sequence[Level], left: float, right: float, top: float, bottom: float) -> Iterator[str]:
    """Yield each level's leader, mark and words, highest first; words that would collide are pushed apart.

    Leaders run level to `left` and are bent after it. The column stays between `top` and `bottom` if it fits there.
    """
    ordered = sorted(all_of_them, key=lambda level: level.y)
    words = [(level.value, level.name) for level in ordered]
    names, name_x = _names(words, left, right), _name_x(words, left)
    wanted = [level.y - LINE / 2 for level in ordered]
    tops = _spread(wanted, [_tall(lines) for lines in names], top, bottom)
    for level, lines, first in zip(ordered, names, tops, strict=True):
        yield from _level(level, lines, first + LINE / 2, left, name_x)


def staff(x: float, floor: float, top: float, unit: float, steps: Iterable[float], caption: str) -> Iterator[str]:
    """Yield a staff from the floor up: black and white by half steps, a tick and a figure at each step.

    `unit` is the length on paper of one unit of the figures. The first of `steps` that leaves room for figures is used.
    """
    *_, largest = choices = tuple(steps)
    step = next((one for one in choices if one * unit >= 2.2 * LINE), largest)
    half = step * unit / 2
    yield shape("rect", x=x, y=top, width=1.4, height=floor - top, fill=WHITE, stroke=BLACK, stroke_width=0.2)
    for number in range(int((floor - top) / half + 1e-6) + 1):
        y = floor - number * half
        if number % 2:
            yield shape("rect", x=x, y=max(top, y - half), width=1.4, height=min(half, y - top), fill=BLACK)
        else:
            yield shape("path", d=f"M{x - 0.9:.3f} {y:.3f}h.9", stroke=BLACK, stroke_width=0.2)
            yield text(x - 1.5, y, f"{number // 2 * step:.0f}", anchor="end")
    yield text(x + 1.6, top - 0.8 * LINE, caption, anchor="end")


def legend(samples: Iterable[tuple[str, str]], last: str, top: float, width: float) -> tuple[list[str], float]:
    """Return samples of symbols with their words in rows, then a last paragraph; and where it all ends.

    A sample is drawn 6 mm wide at most, to the right of the origin and about it.
    """
    parts, x, y = [], 0.0, top + LINE / 2
    for sample, words in samples:
        wide = 7.5 + _text_width(words)
        if x and x + wide > width:
            x, y = 0.0, y + 1.15 * LINE
        parts += [f'<g transform="translate({x:.2f} {y:.2f})">{sample}</g>', text(x + 7.5, y, words)]
        x += wide + 5
    y += 1.15 * LINE if parts else 0
    lines = _wrap(last, width) if last else ()
    parts += [text(0, y + number * LINE, line) for number, line in enumerate(lines)]
    return parts, y + (len(lines) - 0.5) * LINE


def _spread(wanted: Sequence[float], sizes: Sequence[float], low: float, high: float) -> list[float]:
    """Return where boxes of these sizes begin so that none overlap, each as near to where it is wanted as they allow.

    `wanted` ascends. Boxes that touch move as one, by the mean of what they want (isotonic regression by pooling
    adjacent violators). All lie between `low` and `high` if their sizes fit there; otherwise they run over `high`.
    """
    before = [sum(sizes[:number]) for number in range(len(sizes))]
    pools: list[list[float]] = []
    for want, offset in zip(wanted, before, strict=True):
        pools.append([want - offset])
        while len(pools) > 1 and _mean(pools[-2]) > _mean(pools[-1]):
            pools[-2:] = [pools[-2] + pools[-1]]
    level = [_mean(pool) for pool in pools for _ in pool]
    return [max(low, min(one, high - sum(sizes))) + offset for one, offset in zip(level, before, strict=True)]


def _level(level: Level, lines: tuple[str, ...], middle: float, left: float, name_x: float) -> Iterator[str]:
    bend, words_x = left + 5, left + 5 + _MARK
    leader = f"M{level.edge:.3f} {level.y:.3f}H{left:.3f}L{bend:.3f} {middle:.3f}H{words_x - 2:.3f}"
    mark = f"M{words_x - 4:.3f} {middle:.3f}l-1 -1.75h2z"
    yield '<g class="level">'
    yield shape("path", d=leader, fill="none", stroke=GREY, stroke_width=0.18)
    yield shape("path", d=mark, fill=BLACK if level.filled else WHITE, stroke=BLACK, stroke_width=0.2)
    yield text(name_x - 2.5, middle, level.value, weight=600, anchor="end")
    for number, line in enumerate(lines):
        yield text(name_x, middle + number * LINE, line, weight=level.weight)
    yield "</g>"


def _name_x(words: Sequence[tuple[str, str]], left: float) -> float:
    """Return where names begin: right of the widest height."""
    return left + 5 + _MARK + 2.5 + max((_text_width(value) for value, _ in words), default=0)


def _names(words: Sequence[tuple[str, str]], left: float, right: float) -> list[tuple[str, ...]]:
    return [_wrap(name, right - _name_x(words, left)) for _, name in words]


def _tall(lines: tuple[str, ...]) -> float:
    return LINE * len(lines) + _GAP


def _mean(values: Sequence[float]) -> float:
    return sum(values) / len(values)


# ---------------------------------------------------------------------------------------- how wide words are


def _text_width(words: str) -> float:
    """Return the most that words take up in the semi-bold face, in mm."""
    return SIZE * sum(_em(one) for one in words)


def _wrap(words: str, room: float) -> tuple[str, ...]:
    """Return words broken into lines of at most `room` mm; a word that is too long is broken where it must be."""
    lines = [""]
    for word in words.split():
        if lines[-1] and _text_width(f"{lines[-1]} {word}") <= room:
            lines[-1] += f" {word}"
            continue
        lines += [word] if lines[-1] else []
        lines[-1] = word
        while _text_width(lines[-1]) > room and len(lines[-1]) > 1:
            cut = _fitting(lines[-1], room)
            lines[-1:] = [lines[-1][:cut], lines[-1][cut:]]
    return tuple(lines)


def _fitting(word: str, room: float) -> int:
    """Return how many of a word's characters fit, one at least."""
    return max([1, *(number for number in range(1, len(word)) if _text_width(word[:number]) <= room)])


def _em(one: str) -> float:
    """Return the most that a character takes up, in em. What the papers' faces cannot draw is printed as [U+XXXXX]."""
    for wide, these in _ADVANCES:
        if one in these:
            return wide
    if one > "\u017e":
        return 5.0
    return 0.55 if one.islower() or one.isdigit() else 0.67
