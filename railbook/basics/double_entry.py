"""Double entry: a quantity is a property of a row and, under the same word, a live formula.

A formula is written in words. `{word}` is the cell of that word in the same row; where the tab has
no such column it is a name of the workbook: a setting, a limit, or `{tab_column}`, the whole column
of another tab. `{nth}` is the number in the header of a column that repeats. `{[attribute]}` is the
word that the row itself holds under that attribute, for rows that look at different quantities.
"""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from railbook.basics.kinds import TEXT, Kind

WORD = re.compile(r"\{(\w+)\}")
ROW_WORD = re.compile(r"\[(\w+)\]")
RUN_AGAIN = "run again"
EXAMPLE = "EXAMPLE"  # the key of a row that only shows how a row is typed
STATUS = "status"
SPARE_ROWS = 50  # a column's name reaches this far past the last row, so that an added row is noticed


@dataclass(frozen=True)
class Column:
    """One quantity of a tab.

    Attributes:
        name: the row's attribute, and the word that formulas use for it.
        header: what stands over the column.
        kind: what its cells hold, and in which unit.
        excel: the live formula; empty when the value is typed or chosen.
        hint: one line of help; required of a typed column.
        choices: the only values that may be typed.
        listed_in: word of the column whose values may be typed here, such as `assemblies_assembly`.
        typed: a person fills it in.
        needed: a typed cell that may not stay blank.
        repeats: the property is a tuple; the header cells hold 1, 2, 3 ...
        unit_in: word of the column that holds each row's own unit, where rows differ in it.
        width: characters; 0 leaves it to the kind.
    """

    name: str
    header: str
    kind: Kind = TEXT
    excel: str = ""
    hint: str = ""
    choices: tuple[str, ...] = ()
    listed_in: str = ""
    typed: bool = False
    needed: bool = False
    repeats: bool = False
    unit_in: str = ""
    width: int = 0

    @property
    def help(self) -> str:
        """The hint as the form shows it: a cell that may not stay blank says so.

        >>> Column("run", "Run", hint="your mark", needed=True).help
        'your mark (needed)'
        """
        return f"{self.hint} (needed)" if self.needed else self.hint


@dataclass(frozen=True)
class Tab:
    """A sheet of a workbook: one row per thing, one column per quantity.

    Attributes:
        name: first half of the words for its columns.
        title: what stands on the tab.
        row: class of its rows.
        columns: in the order shown.
        purpose: the line under the title: what the tab is for.
        alert: live text under the purpose; it stands empty when the workbook is made.
        none: what a tab without rows says.
        down: one thing only, its quantities down the page; each word names one cell.
        headings: of a tab that runs down, by the word of the line over which each stands.
        row_word: column that holds the word of each row (limits); with `row_cell`, the column
            whose cell that word names.
        row_cell: see `row_word`.
        crew: printed large, for paper.
        paper_to: last column that is printed; the columns after it only carry the sums. Empty: all.
        key: column that tells rows apart; a row without it is blank.
        optional: an input tab that a workbook may lack.
    """

    name: str
    title: str
    row: type
    columns: tuple[Column, ...]
    purpose: str = ""
    alert: str = ""
    none: str = ""
    down: bool = False
    headings: Mapping[str, str] = field(default_factory=dict, hash=False)
    row_word: str = ""
    row_cell: str = ""
    crew: bool = False
    paper_to: str = ""
    key: str = ""
    optional: bool = False

    def word(self, column: str) -> str:
        """Word by which other tabs know a column: `runs_rise`, or plainly `kerf` when down."""
        return column if self.down else f"{self.name}_{column}"

    def column(self, name: str) -> Column:
        """The column of that name; KeyError when there is none."""
        return {column.name: column for column in self.columns}[name]

    @property
    def has_status(self) -> bool:
        """Whether rows of this tab can go stale."""
        return any(column.name == STATUS for column in self.columns)

    @property
    def stale_word(self) -> str:
        """Name of the cell that counts this tab's stale rows."""
        return f"{self.name}_{STATUS}_count"


def asked(  # noqa: PLR0913 - a question on the form has this many sides
    name: str,
    header: str,
    kind: Kind,
    hint: str,
    *,
    choices: tuple[str, ...] = (),
    listed_in: str = "",
    needed: bool = False,
    unit_in: str = "",
    width: int = 0,
) -> Column:
    """A column that a person fills in.

    >>> asked("rise", "Rise", TEXT, "height gained").typed
    True
    """
    return Column(
        name,
        header,
        kind,
        hint=hint,
        choices=choices,
        listed_in=listed_in,
        typed=True,
        needed=needed,
        unit_in=unit_in,
        width=width,
    )


def look_up(word: str, at: str) -> str:
    """Formula part: the figure in row `at` of another tab's column, blank when that cell is blank.

    A blank cell read through INDEX would turn into 0; a blank means "not measured" and must stay one.

    >>> look_up("runs_rise", "run_row")
    'IF(INDEX({runs_rise},{run_row})="","",INDEX({runs_rise},{run_row}))'
    """
    cell = f"INDEX({{{word}}},{{{at}}})"
    return f'IF({cell}="","",{cell})'


def number_at(word: str, at: str) -> str:
    """Formula part: the same, of a cell where a refused figure may stand as text: that is blank too.

    >>> number_at("prices_price", "price_row")
    'IF(ISNUMBER(INDEX({prices_price},{price_row})),INDEX({prices_price},{price_row}),"")'
    """
    cell = f"INDEX({{{word}}},{{{at}}})"
    return f'IF(ISNUMBER({cell}),{cell},"")'


def ask_again(*conditions: str) -> str:
    """Formula of a status: asks for another run as soon as one condition holds or cannot be told.

    >>> ask_again("{sections}<>{needed}")
    '=IFERROR(IF(OR({sections}<>{needed}),"run again",""),"run again")'
    """
    return f'=IFERROR(IF(OR({",".join(conditions)}),"{RUN_AGAIN}",""),"{RUN_AGAIN}")'


def spoken(formula: str, row: object) -> str:
    """Put the row's own words into a formula.

    >>> from types import SimpleNamespace
    >>> spoken("=INDEX({[quantity]},{part_row})", SimpleNamespace(quantity="runs_rise"))
    '=INDEX({runs_rise},{part_row})'
    """
    return ROW_WORD.sub(lambda word: str(getattr(row, word[1])), formula)


def words(formula: str) -> list[str]:
    """The words of a formula, in order.

    >>> words("={quantity}*{kerf}")
    ['quantity', 'kerf']
    """
    return WORD.findall(formula)


def in_cells(formula: str, cell_of: Callable[[str], str]) -> str:
    """Put cells and names for words.

    >>> in_cells("={quantity}*{kerf}", {"quantity": "B5", "kerf": "kerf"}.__getitem__)
    '=B5*kerf'
    """
    return WORD.sub(lambda word: cell_of(word[1]), formula)


def first_rows(marks: Iterable[str]) -> dict[str, int]:
    """Mark -> its row, counted from 1; the first wins, as MATCH finds it.

    >>> first_rows(["A", "B", "A"])
    {'A': 1, 'B': 2}
    """
    rows: dict[str, int] = {}
    for row, mark in enumerate(marks, start=1):
        rows.setdefault(mark, row)
    return rows


def stale_rows(tab: Tab, rows: Sequence[object]) -> int:
    """How many rows ask for another run: the engine's side of the count under a tab's title."""
    return sum(getattr(row, STATUS) == RUN_AGAIN for row in rows) if tab.has_status else 0
