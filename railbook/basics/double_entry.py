"""Double entry: a quantity is a property of a row and, under the same word, a live formula.

A formula is written in words. `{word}` is the cell of that word in the same row; where the tab has
no such column it is a name of the workbook: a setting, a limit, or `{tab_column}`, the whole column
of another tab. `{nth}` is the number in the header of a column that repeats. `{[attribute]}` is the
word that the row itself holds under that attribute, for rows that look at different quantities.
`{guard.fit}` is a figure of a row of another tab that the row holds by a join (`joins.py`).
"""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

from railbook.basics.joins import Join, Rests, differ, differ_excel, reader, through, written
from railbook.basics.kinds import TEXT, Kind

WORD = re.compile(r"\{(\w+)\}")
ROW_WORD = re.compile(r"\[([\w.]+)\]")
RUN_AGAIN = "run again"
STATUS = "status"
EXAMPLE = "EXAMPLE"  # the key of a row that only shows how a row is typed
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
        of: shows a figure of a joined row: `guard.fit`, or `guard` for the one of the same name.
        path: how the engine comes to the value from the row; empty: by its name.
        when: property of the row, true where the row holds the formula; elsewhere its value is as plain as a chosen
            one. It rests on what was chosen, or on what asks for another run when it changes. Empty: every row.
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
    of: str = ""
    path: str = ""
    when: str = ""

    @property
    def in_every_row(self) -> bool:
        """Whether every row holds the formula; one that is a row's own word alone may be empty."""
        return bool(self.excel) and not self.when and not ROW_WORD.fullmatch(self.excel)

    def formula(self, row: object) -> str:
        """The formula of a row in words, the row's own words put in; empty where its value is plain.

        >>> from types import SimpleNamespace
        >>> triangle = Column("triangle", "Triangle", excel="={step}+{clearance}", when="is_stair")
        >>> [triangle.formula(SimpleNamespace(is_stair=told)) for told in (True, False)]
        ['={step}+{clearance}', '']
        """
        return "" if self.when and not reader(self.when)(row) else spoken(self.excel, row)

    @property
    def way(self) -> str:
        """How the engine comes to the value from the row."""
        return self.path or self.name

    @cached_property
    def value(self) -> Callable[[Any], Any]:
        """The value for a row.

        >>> from types import SimpleNamespace
        >>> Column("fit", "Fit", path="guard.fit").value(SimpleNamespace(guard=SimpleNamespace(fit=0.125)))
        0.125
        """
        return reader(self.way)

    @property
    def help(self) -> str:
        """The hint as the form shows it: a cell that may not stay blank says so.

        >>> Column("run", "Run", hint="your mark", needed=True).help
        'your mark (needed)'
        """
        return f"{self.hint} (needed)" if self.needed else self.hint


@dataclass(frozen=True)
class Part:
    """Columns that an object held by every row of a tab answers for.

    Attributes:
        name: of the tab on which they stand.
        row: class of that object.
        columns: in the order shown, their joined words written out.
        joins: rows of other tabs that the object holds.
        terms: parts of formulas, by name.
        rests: what the column `status` rests on, where the object tells it; see `Tab`.
        key: column that tells the rows apart, where it is one of these.
    """

    name: str
    row: type
    columns: tuple[Column, ...]
    joins: Mapping[str, Join] = field(default_factory=dict, hash=False)
    terms: Mapping[str, str] = field(default_factory=dict, hash=False)
    rests: Rests | None = None
    key: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "columns", tuple(_all_written(self)))

    def word(self, column: str, /) -> str:
        """Word by which other tabs know a column."""
        return f"{self.name}_{column}"

    def column(self, name: str, /) -> Column:
        """The column of that name; KeyError when there is none."""
        return {column.name: column for column in self.columns}[name]

    def status_of(self, row: object) -> str:
        """What `rests` makes of an object: blank, or a call for another run; see `Tab.status_of`."""
        return _status_of(self, row)

    def held_as(self, way: str) -> tuple[Column, ...]:
        """Its columns as the row answers for them that holds the object that way."""
        return tuple(
            replace(
                each,
                path=f"{way}.{each.way}",
                when=f"{way}.{each.when}" if each.when else "",
                excel=ROW_WORD.sub(lambda word: f"[{way}.{word[1]}]", each.excel),
            )
            for each in self.columns
        )


@dataclass(frozen=True)
class Tab:
    """A sheet of a workbook: one row per thing, one column per quantity.

    Attributes:
        name: first half of the words for its columns.
        title: what stands on the tab.
        row: class of its rows.
        columns: in the order shown, their joined words written out; those of its parts first, on paper last.
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
        parts: by how a row holds the object that answers for them.
        joins: rows of other tabs that a row holds, those of its parts under `part.join`.
        terms: parts of formulas, by name.
        rests: what the column `status` rests on; None where a row tells its status in its own way, or has none.
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
    parts: Mapping[str, Part] = field(default_factory=dict, hash=False)
    joins: Mapping[str, Join] = field(default_factory=dict, hash=False)
    terms: Mapping[str, str] = field(default_factory=dict, hash=False)
    rests: Rests | None = None

    def __post_init__(self) -> None:
        parts = (each for way, part in self.parts.items() for each in part.held_as(way))
        plain = tuple(_all_written(self))
        object.__setattr__(self, "columns", (*plain, *parts) if self.paper_to else (*parts, *plain))
        held = {
            f"{way}.{name}": join for way, part in self.parts.items() for name, join in through(way, part.joins).items()
        }
        object.__setattr__(self, "joins", {**self.joins, **held})

    def word(self, column: str, /) -> str:
        """Word by which other tabs know a column: `runs_rise`, or plainly `kerf` when down."""
        return column if self.down else f"{self.name}_{column}"

    def column(self, name: str, /) -> Column:
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

    def status_of(self, row: object) -> str:
        """What `rests` makes of a row: blank, or a call for another run.

        Raises:
            ValueError: the tab does not say what its status rests on.
        """
        return _status_of(self, row)


def _status_of(of: "Tab | Part", row: object) -> str:
    """What `rests` makes of a row."""
    if of.rests is None:
        raise ValueError(f"tab {of.name} rests on nothing")
    others = (reader(of.joins[name].way_to(STATUS))(row) for name in of.rests.on)
    apart = (differ(_figure(of, left, row), _figure(of, right, row)) for left, right in of.rests.kept.items())
    now = (getattr(row, name) for name in of.rests.unless)
    return RUN_AGAIN if RUN_AGAIN in others or any(apart) or any(now) else ""


def _figure(of: "Tab | Part", word: str, row: object) -> Any:
    """What a word of a tab, or a joined one, stands for in a row."""
    join, dot, name = word.partition(".")
    return reader(of.joins[join].way_to(name))(row) if dot else of.column(word).value(row)


def _all_written(of: "Tab | Part") -> Iterator[Column]:
    """The columns with their formulas written out, that of the status made from what it rests on."""
    for column in of.columns:
        resting = _resting(column, of.joins, of.rests) if column.name == STATUS and of.rests else column
        yield _written(resting, of.joins, of.terms)


def _resting(column: Column, joins: Mapping[str, Join], rests: Rests) -> Column:
    """The column of a status with its formula."""
    others = (f'{joins[name].shown(STATUS)}="{RUN_AGAIN}"' for name in rests.on)
    apart = (differ_excel(f"{{{left}}}", f"{{{right}}}") for left, right in rests.kept.items())
    lost = (f"NOT(ISNUMBER({{{word}}}))" for word in rests.found)
    return replace(column, excel=ask_again(*lost, *others, *apart, *rests.unless.values()))


def _written(column: Column, joins: Mapping[str, Join], terms: Mapping[str, str]) -> Column:
    """The column with its formula written out; one that shows a joined figure gets its formula and its way."""
    if not column.of:
        return replace(column, excel=written(column.excel, joins, terms))
    name, _, figure = column.of.partition(".")
    join, figure = joins[name], figure or column.name
    return replace(column, excel=written(f"={join.shown(figure)}", joins, terms), path=join.way_to(figure))


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
    return ROW_WORD.sub(lambda word: str(reader(word[1])(row)), formula)


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


def rows_by_tab(laid_out: object, tabs: Mapping[str, Tab]) -> dict[str, Sequence[Any]]:
    """Name of a tab -> its rows, of what a room laid out; a tab that runs down the page has one.

    Args:
        laid_out: holds the rows.
        tabs: field or property of it -> the tab whose rows it holds.
    """
    held = ((tab, getattr(laid_out, name)) for name, tab in tabs.items())
    return {tab.name: (rows,) if tab.down else rows for tab, rows in held}


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
    return sum(tab.column(STATUS).value(row) == RUN_AGAIN for row in rows) if tab.has_status else 0
