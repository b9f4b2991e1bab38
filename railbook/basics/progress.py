"""Saying how far long work has come."""

from collections.abc import Callable

Tell = Callable[[str], None]


def quiet(_: str) -> None:
    """Tell nobody."""
