"""Rule tables as Markdown grids, for people to read aloud and sign. Made from the cards, so never out of date."""

from __future__ import annotations

from collections.abc import Iterator

from recover.base.conditions import named_values
from recover.base.sources import BASIS_WORDS, Citation, bibliography
from recover.profiles import PROFILES, EarthRule, Elsewhere, Limit, Printed, Profile, own_earth, own_limits, profile
from recover.rules.gates import duties, hold_points
from recover.rules.table import TABLES, Card, Table, table

LIMIT_COLUMNS = ["limit", "value", "unit", "source", "clause", "edition", "basis"]


def grids() -> str:
    """Return every table, the hold points, our own limits and every country's profile as one Markdown document."""
    parts = [*(_grid(table(name)) for name in TABLES), _hold_points(), _own_limits()]
    parts += [_profile(profile(name)) for name in PROFILES]
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
    yield "; ".join([BASIS_WORDS[card.basis], *(_cite(citation) for citation in card.sources)])
    yield "; ".join(f"{row.outcome}: {row.says} ({row.source}, {row.clause})" for row in card.contrary)


def _hold_points() -> str:
    lines = ["## Hold points", "", *_head(["hold point", "opens", "needs", "released by"])]
    lines += [
        _row(
            [
                point.title,
                point.opens,
                "; ".join([*(f"released: {name}" for name in point.requires), *(need.say for need in point.needs)]),
                "; ".join(duties()[duty] for duty in point.signatures),
            ]
        )
        for point in hold_points()
    ]
    return "\n".join(lines)


def _own_limits() -> str:
    rules: list[Limit | EarthRule] = [*own_limits().values(), own_earth()]
    rows = [_printed_row(row, row.what) for row in rules]
    return "\n".join(["## Limits: this project's own", "", *_head(LIMIT_COLUMNS), *rows])


def _profile(found: Profile) -> str:
    """Return a country's words and limits; what is superseded or contrary stands below what holds, and is called so."""
    words = [_row([name.replace("_", " "), word]) for name, word in vars(found.terms).items()]
    rows = [_printed_row(row, _named(row)) for row in found.printed()]
    competence = [
        _row([one.who, one.may, one.source, one.clause, one.edition, BASIS_WORDS[one.basis]])
        for one in found.competence
    ]
    return "\n".join([
        f"## Profile {found.id}: {found.title}", "", *_head(["term", "here"]), *words,
        "", *_head(LIMIT_COLUMNS), *rows,
        "", *_head(["who", "may", "source", "clause", "edition", "basis"]), *competence,
    ])  # fmt: skip


def _named(row: Printed) -> str:
    return f"{row.status}, decides nothing: {row.what}" if isinstance(row, Elsewhere) else row.what


def _printed_row(row: Printed, what: str) -> str:
    basis = "; ".join(part for part in (BASIS_WORDS[row.basis], row.because) if part)
    return _row([what, str(row), row.unit, row.source, row.clause, row.edition, basis])


def _head(columns: list[str]) -> list[str]:
    return [_row(columns), _row(["---"] * len(columns))]


def _row(cells: list[str]) -> str:
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def _cite(citation: Citation) -> str:
    """Return a citation as a phrase: author, year, clause."""
    source = bibliography()[citation.source]
    return ", ".join(part for part in (source.author, source.year, citation.clause) if part)
