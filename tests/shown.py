"""Rows of a tab as its columns show them."""

from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

from railbook.tabs import TABS

_TABS = {tab.name: tab for tab in TABS}


def shown(rows: Mapping[str, Sequence[Any]], tab: str) -> list[Any]:
    """Each row of a tab with the value of each column by its word, and as `thing` the row itself."""
    columns = _TABS[tab].columns
    return [SimpleNamespace(thing=row, **{column.name: column.value(row) for column in columns}) for row in rows[tab]]
