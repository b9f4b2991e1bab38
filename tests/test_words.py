"""Every word of every formula: it resolves, from its own room or one below, and stands where all programs read it."""

import dataclasses
import inspect
import re
import sys
import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple, get_args, get_type_hints

import pytest

from railbook.basics.double_entry import Column, Tab, words
from railbook.basics.kinds import INCH, LENGTH, MEASURED, SIGNED, TAPE
from railbook.checks import story
from railbook.job.limits import published
from railbook.job.settings import RULE_SETS
from railbook.tabs import INPUT_TABS, RESULT_TABS, TABS
from tests.strategies import random_job

PYPROJECT = Path(__file__).parents[1] / "pyproject.toml"
LIMITS = {row.limit for row in published(RULE_SETS[0], INCH)}
# Functions that Excel's documents, LibreOffice and `formulas` agree on; ROUND only settles and rounds halves up.
ALLOWED = frozenset(
    {
        "ABS", "AND", "ASIN", "ATAN", "COS", "COUNT", "COUNTA", "COUNTIF", "COUNTIFS", "DEGREES", "GCD", "IF",
        "IFERROR", "INDEX", "INT", "ISNUMBER", "MATCH", "MAX", "MID", "MIN", "MOD", "N", "NOT", "OR", "RADIANS",
        "ROUND", "SIGN", "SIN", "SQRT", "SUM", "SUMIFS", "SUMPRODUCT", "TAN",
    }
)  # fmt: skip
# Where a whole column may stand: the function, and which of its arguments (None: any).
TAKES_A_COLUMN = {
    "INDEX": (0,), "MATCH": (1,), "SUM": None, "SUMIFS": None, "COUNTIF": (0,), "COUNTIFS": None, "MAX": None,
    "MIN": None, "COUNTA": None,
}  # fmt: skip
LOOKS_LIKE_CELL = re.compile(r"[a-z]{1,3}\d+|r|c|r\d+c\d+", re.IGNORECASE)
TOKEN = re.compile(r'"(?:[^"]|"")*"|\{(?P<word>\w+)\}|(?P<function>[A-Z][A-Z0-9.]*)?\(|[,)]|[^"{(,)A-Z]+|[A-Z]')


class Spoken(NamedTuple):
    """A formula as a row speaks it."""

    tab: Tab
    column: Column
    formula: str

    @property
    def where(self) -> str:
        return f"{self.tab.title}, {self.column.name}: {self.formula}"


def _spoken() -> Iterator[Spoken]:
    """Every formula of every tab, in the words of the rows of a few random jobs."""
    jobs = [random_job(seed, sections=20) for seed in range(8)]
    for tab in TABS:
        for column in tab.columns:
            if column.excel:
                formulas = {column.formula(row) for job in jobs for row in job.rows[tab.name]} - {""}
                yield from (Spoken(tab, column, formula) for formula in sorted(formulas))


@pytest.fixture(scope="module")
def formulas() -> tuple[Spoken, ...]:
    return tuple(_spoken())


@cache
def _rooms() -> dict[str, str]:
    """Tab -> room of the module that declares it."""
    declared = {name: getattr(module, "TAB", None) for name, module in list(sys.modules.items())}
    return {tab.name: name.split(".")[1] for name, tab in declared.items() if isinstance(tab, Tab) and tab in TABS}


def _words_of(tab: Tab) -> Iterator[str]:
    """Words by which other tabs know a tab."""
    for column in tab.columns:
        yield tab.word(column.name)
        if column.repeats:
            yield f"{tab.word(column.name)}_number"
    if tab.has_status:
        yield tab.stale_word


@cache
def _storeys() -> tuple[str, ...]:
    """The layers of the import contract from the bottom up: each may use the words of those before it."""
    contracts = tomllib.loads(PYPROJECT.read_text(encoding="utf-8"))["tool"]["importlinter"]["contracts"]
    return tuple(reversed(next(each["layers"] for each in contracts if each["type"] == "layers")))


@cache
def _named_from(room: str) -> frozenset[str]:
    """Words of the tabs that a room may look at: its own and those below."""
    below = _storeys()[: _storeys().index(room) + 1]
    return frozenset(word for tab in TABS if _rooms()[tab.name] in below for word in _words_of(tab)) | LIMITS


def _known(tab: Tab, column: Column) -> frozenset[str]:
    """Words that a column's formula may use."""
    own = {each.name for each in tab.columns} | ({"nth"} if column.repeats else set())
    return _named_from(_rooms()[tab.name]) | own


RANGES = {word for tab in TABS if not tab.down for word in _words_of(tab) if word != tab.stale_word}


class Place(NamedTuple):
    """Where a word stands in a formula: the calls around it, innermost last, each with the argument's number."""

    word: str
    calls: tuple[tuple[str, int], ...]
    alone: bool


def places(formula: str) -> list[Place]:
    """Every word of a formula with the calls around it, and whether it is a whole argument.

    >>> places('=IF(INDEX({runs_kind},{run_row})="Stair",1+{rise},0)')[0]
    Place(word='runs_kind', calls=(('IF', 0), ('INDEX', 0)), alone=True)
    >>> places('=IF(INDEX({runs_kind},{run_row})="Stair",1+{rise},0)')[2].alone
    False
    """
    tokens = list(TOKEN.finditer(formula))
    assert "".join(token[0] for token in tokens) == formula
    found: list[Place] = []
    calls: list[tuple[str, int]] = []
    for at, token in enumerate(tokens):
        if token["word"]:
            around = tokens[at - 1][0][-1], tokens[at + 1][0][0] if at + 1 < len(tokens) else ""
            found.append(Place(token["word"], tuple(calls), around[0] in "(," and around[1] in ",)"))
        elif token[0].endswith("(") and not token[0].startswith('"'):
            calls.append((token["function"] or "", 0))
        elif token[0] == ",":
            calls[-1] = (calls[-1][0], calls[-1][1] + 1)
        elif token[0] == ")":
            calls.pop()
    assert not calls
    return found


def _takes_column(place: Place) -> bool:
    """Whether every program reads a whole column at that place; SUMPRODUCT computes all inside it as arrays."""
    if any(function == "SUMPRODUCT" for function, _ in place.calls):
        return True
    function, argument = place.calls[-1] if place.calls else ("", 0)
    arguments = TAKES_A_COLUMN.get(function, ())
    return place.alone and (arguments is None or argument in arguments)


def test_every_word_resolves_in_its_own_room_or_below(formulas: tuple[Spoken, ...]) -> None:
    lost = [
        (word, each.where)
        for each in formulas
        for word in words(each.formula)
        if word not in _known(each.tab, each.column)
    ]

    assert not lost
    assert len(formulas) > 250


def test_no_word_looks_like_a_cell(formulas: tuple[Spoken, ...]) -> None:
    named = {word for tab in TABS for word in _words_of(tab)} | LIMITS

    assert not [word for word in named if LOOKS_LIKE_CELL.fullmatch(word)]
    assert not [each.where for each in formulas if any(LOOKS_LIKE_CELL.fullmatch(word) for word in words(each.formula))]


def test_whole_columns_stand_only_where_every_program_reads_them_whole(formulas: tuple[Spoken, ...]) -> None:
    own = {tab.name: {column.name for column in tab.columns} for tab in TABS}
    ranges = [
        (place, each)
        for each in formulas
        for place in places(each.formula)
        if place.word in RANGES and place.word not in own[each.tab.name]
    ]

    assert not [(place, each.where) for place, each in ranges if not _takes_column(place)]
    assert len(ranges) > 500


@pytest.mark.parametrize(
    ("formula", "is_read"),
    [
        ("=INDEX({runs_rise},{run_row})", True),
        ("={runs_rise}", False),
        ("=INDEX({runs_rise}*2,{run_row})", False),
        ("=INDEX({posts_kind},{runs_rise})", False),
        ("=MAX({runs_rise}-1)", False),
        ("=SUMPRODUCT(MAX(({runs_rise}>1)*2))", True),
        ('=IF("INDEX("="",{runs_rise},0)', False),
    ],
)
def test_the_parser_tells_a_column_read_whole_from_one_that_is_not(formula: str, *, is_read: bool) -> None:
    place = next(place for place in places(formula) if place.word == "runs_rise")

    assert _takes_column(place) is is_read


def test_only_functions_that_all_programs_agree_on(formulas: tuple[Spoken, ...]) -> None:
    used = {token["function"] for each in formulas for token in TOKEN.finditer(each.formula) if token["function"]}

    assert used <= ALLOWED


def test_every_formula_starts_with_one_equals_sign(formulas: tuple[Spoken, ...]) -> None:
    assert not [each.where for each in formulas if not re.match("=[^=]", each.formula)]


def test_no_number_is_written_with_a_power_of_ten(formulas: tuple[Spoken, ...]) -> None:
    """`formulas` cannot load a workbook with 1e3 in it."""
    text = re.compile(r'"(?:[^"]|"")*"')

    assert not [each.where for each in formulas if re.search(r"\d\.?[eE]\d|\d\.(?!\d)", text.sub("", each.formula))]


class Declared(NamedTuple):
    """Where a quantity is declared: the class that answers for it, its name there, what it returns."""

    row: type
    name: str

    @property
    def is_field(self) -> bool:
        named = getattr(self.row, "_fields", ()) or (field.name for field in dataclasses.fields(self.row))
        return self.name in named

    @property
    def documented(self) -> str:
        """First line of the property's docstring; empty for a field."""
        return next(iter((getattr(self.row, self.name, None).__doc__ or "").splitlines()), "")

    def returns(self) -> type:
        """The class of its value, None aside."""
        if self.is_field:
            hint = get_type_hints(self.row)[self.name]
        else:
            found = inspect.getattr_static(self.row, self.name)
            hint = get_type_hints(found.fget if isinstance(found, property) else found.func)["return"]
        (kind,) = [each for each in (get_args(hint) or (hint,)) if each is not type(None)]
        assert isinstance(kind, type)
        return kind


def declared(tab: Tab, column: Column) -> Declared:
    """The end of the way from a tab's row to a column's value."""
    *stops, name = column.way.split(".")
    row = tab.row
    for stop in stops:
        row = Declared(row, stop).returns()
    return Declared(row, name)


def test_every_column_is_a_field_or_a_property_on_the_way_from_its_row() -> None:
    for tab in TABS:
        for column in tab.columns:
            found = declared(tab, column)
            of_class = inspect.getattr_static(found.row, found.name, None)
            assert found.is_field or hasattr(of_class, "__get__"), f"{tab.title}: {column.name}"
            assert not (column.typed and not found.is_field), f"{tab.title}: {column.name} is typed"


def test_no_column_is_both_typed_and_calculated() -> None:
    assert not [(tab.title, column.name) for tab in TABS for column in tab.columns if column.excel and column.typed]


def test_every_typed_column_has_a_hint_and_stands_on_an_input_tab() -> None:
    for tab in TABS:
        for column in tab.columns:
            assert not column.typed or (column.hint and (tab in INPUT_TABS or tab is story.TAB)), (
                f"{tab.title}: {column.name}"
            )


def _docstring_units() -> Iterator[tuple[str, Column, str]]:
    """Quantities whose docstring ends with a unit in brackets."""
    for tab in RESULT_TABS:
        for column in tab.columns:
            if unit := re.search(r"\[([\w ]+)\]\W*$", declared(tab, column).documented):
                yield f"{tab.title}: {column.name}", column, unit[1]


def test_columns_show_the_unit_that_their_docstring_names() -> None:
    found = list(_docstring_units())

    for where, column, unit in found:
        if unit == "job unit":
            assert column.kind.units == LENGTH.units, where
        if unit == "degrees":
            assert set(column.kind.units.values()) == {"deg"}, where
    assert {unit for _, _, unit in found} <= {"job unit", "degrees"}
    assert len(found) > 30


def test_lengths_are_lengths_in_both_units() -> None:
    assert {kind.units[INCH] for kind in (LENGTH, MEASURED, SIGNED, TAPE)} == {INCH}


def test_a_row_prints_itself_and_not_everything_that_it_holds() -> None:
    """A row holds rows, which hold rows: printed whole, one of them takes gigabytes where a test tells what failed."""
    job = random_job(42, sections=20)
    longest = {tab.name: max((len(repr(row)) for row in job.rows[tab.name]), default=0) for tab in TABS}

    assert {tab: length for tab, length in longest.items() if length > 20_000} == {}
