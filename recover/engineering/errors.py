"""What this room refuses: one class, and one way of saying it."""

from __future__ import annotations

from recover.errors import DataError, Problem


class QuantityError(DataError, ValueError):
    """A quantity that cannot be: says where, what was given, what was expected."""

    def __init__(self, where: str, what: str, expected: str) -> None:
        super().__init__([Problem(where, what, f"expected {expected}")])
