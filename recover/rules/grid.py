"""Rule tables as Markdown grids, for people to read aloud and sign. Made from the cards, so never out of date."""

from __future__ import annotations

from collections.abc import Iterator

from recover.conditions import named_values
from recover.profiles import PROFILES, own_limits, profile
from recover.rules.sheets import hold_points
from recover.rules.table import TABLES, Card, Table, table
from recover.sources import BASIS_WORDS, cite


def grids() -> str:
    """Return every table, the hold points and the limits as one Markdown document."""
    parts = [*(_grid(table(name)) for name in TABLES), _hold_points(), _limits()]
    return "\n\n".join(parts)


def _grid(found: Table) -> str:
    head = [*found.inputs, "outcome", "who", "because", "authority", "milder published rows"]
    cards = sorted(found.card, key=found.severity, reverse=True)
    lines = [f"## {found.title}", "", f"Mildest to most severe: {', '.join(found.scale)}. All cards that match are "
             "cited; the most severe decides.", "", _row(["card", *head]), _row(["---"] * (len(head) + 1))]  # fmt: skip
    lines += [_row([card.id, *_cells(found, card)]) for card in cards]
    return "\n".join([*lines, "", "Read and agreed: ____________________  as: ____________________  date: __________"])


def _cells(found: Table, card: Card) -> Iterator[str]:
    for name in found.inputs:
        yield " or ".join(named_values(card.when[name])) if name in card.when else "any"
    yield card.outcome
    yield ", ".join([*card.who, *(f"consent of {name}" for name in card.consent)])
    yield card.because
    yield "; ".join([BASIS_WORDS[card.basis], *(cite(citation) for citation in card.sources)])
    yield "; ".join(f"{row.outcome}: {row.says} ({row.source}, {row.clause})" for row in card.contrary)


def _hold_points() -> str:
    lines = ["## Hold points", "", _row(["hold point", "opens", "needs", "released by"]), _row(["---"] * 4)]
    lines += [
        _row([point.title, point.opens, "; ".join(need.say for need in point.needs), point.released_by])
        for point in hold_points()
    ]
    return "\n".join(lines)


def _limits() -> str:
    lines = ["## Limits", "", _row(["profile", "limit", "value", "authority", "edition"]), _row(["---"] * 5)]
    named = [("own", limit) for limit in own_limits().values()]
    named += [(name, limit) for name in PROFILES for limit in profile(name).limit]
    for name, limit in named:
        authority = "; ".join(part for part in (BASIS_WORDS[limit.basis], limit.source, limit.clause) if part)
        lines.append(_row([name, limit.what, f"{limit.value:g} {limit.unit}", authority, limit.edition]))
    return "\n".join(lines)


def _row(cells: list[str]) -> str:
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"
