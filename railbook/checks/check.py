"""One check: one demand held against one part of the job, with what was found, live."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from railbook.basics.double_entry import Column, Part, Tab, look_up
from railbook.basics.joins import Join, reader, written
from railbook.basics.kinds import CHOICE, COUNT, FIGURE, TEXT, VERDICT
from railbook.basics.rounding import PLACES
from railbook.geometry import lines
from railbook.geometry.lines import Line
from railbook.job import limits
from railbook.job.limits import Limit
from railbook.rules.rule import AT_LEAST, AT_MOST, MORE_THAN, UNDER

PASS, FAIL, NOT_MEASURED, NOT_REQUIRED, IN_DOUBT = "pass", "fail", "not measured", "not required", "in doubt"
CLOSE = "close"  # passes by less than a step of the tape: nobody builds to that
REQUIRED = "guard required"
TINY = 1e-6
DECIDES = MORE_THAN  # the finding decides whether something is required
SIGNS = {AT_LEAST: ">=", AT_MOST: "<=", UNDER: "<", DECIDES: ">"}
JOINS = {"line": Join(lines.TAB, "line_row", "line"), "rule": Join(limits.TAB, "rule_row", "rule")}
SPARED = written('AND({line.guard_required}<>"",{line.guard_required}=0)', JOINS, {})  # no guard is required there


@dataclass(frozen=True)
class Demand:
    """What is asked, of which figure, by whom.

    Attributes:
        what: the demand in words.
        quantity: column of the source tab that holds the finding.
        limit: word of a limit, or a column of the source tab, or of a row that it holds by a join: `assembly.x`.
        remedy: what to do when it fails.
        sense: AT_LEAST, AT_MOST, UNDER or DECIDES; as the rule of its limit says when empty.
        clause: where the demand stands; the rule's own clause when empty.
        kind: of the rule whose clause it bears, where it has no limit on tab Rules.
        of_rules: whether `limit` is a word of tab Rules.
        guards_only: asked of required guards only.
        soft: a failure leaves a doubt; a blank finding means nothing is asked.
        unit: unit of the finding; empty: the job's length unit.
    """

    what: str
    quantity: str
    limit: str
    remedy: str
    sense: str = ""
    clause: str = ""
    kind: str = ""
    of_rules: bool = True
    guards_only: bool = False
    soft: bool = False
    unit: str = ""


@dataclass(frozen=True)
class Check:
    """One demand held against one row of another tab.

    Attributes:
        check: its number.
        where: the part, in words.
        demand: what is asked.
        tab: it holds the finding, in row `source_row`; `thing` is that row.
        line: the run, in row `line_row` of the working runs; None when it is not about a run.
        rule: limit whose sense and clause it bears, in row `rule_row` of tab Rules; None where it has its own.
        own_clause: where the demand stands that has no such limit.
        remedy: what to do when it fails.
    """

    check: int
    where: str
    asked: Demand
    tab: Tab | Part = field(repr=False)
    source_row: int
    thing: Any = field(repr=False)
    line: Line | None = field(repr=False)
    line_row: int | None
    limits: Mapping[str, float] = field(repr=False)
    rule: Limit | None
    rule_row: int | None
    own_clause: str
    edition: str
    unit: str
    remedy: str
    tape_step: float

    @property
    def demand(self) -> str:
        """What is asked, in words."""
        return self.asked.what

    @property
    def sense(self) -> str:
        """How the finding must stand to the limit."""
        return self.asked.sense or ("" if self.rule is None else self.rule.sense)

    @property
    def source(self) -> str:
        """Name of the tab that holds the finding."""
        return self.tab.name

    @property
    def quantity(self) -> str:
        """Column of the source tab that holds the finding."""
        return self.asked.quantity

    @cached_property
    def found(self) -> float | None:
        """The finding; None: not measured."""
        value: float | None = self.tab.column(self.quantity).value(self.thing)
        return value

    @property
    def limit_excel(self) -> str:
        """Formula: the limit's name, or its cell on the source tab."""
        if self.asked.of_rules:
            return "={" + self.asked.limit + "}"
        name, _, figure = self.asked.limit.rpartition(".")
        if not name:
            return "=" + look_up(f"{self.source}_{figure}", "source_row")
        join = self.tab.joins[name]
        cell = f"INDEX({{{join.to.word(figure)}}},INDEX({{{self.source}_{join.at}}},{{source_row}}))"
        return f'=IF({cell}="","",{cell})'

    @cached_property
    def limit(self) -> float | None:
        """What the finding is held against."""
        if self.asked.of_rules:
            return self.limits[self.asked.limit]
        name, _, figure = self.asked.limit.rpartition(".")
        way = self.tab.joins[name].way_to(figure) if name else self.tab.column(figure).way
        value: float | None = reader(way)(self.thing)
        return value

    @property
    def clause(self) -> str:
        """Where the demand stands; an amended limit is cited as the amendment."""
        return self.own_clause if self.rule is None else self.rule.cited

    @cached_property
    def verdict(self) -> str:
        """pass, close, fail, not measured, not required or in doubt; guard required where the finding decides."""
        if self.found is None or self.limit is None:
            return NOT_REQUIRED if self.asked.soft or self._is_decided else NOT_MEASURED
        if self.sense == DECIDES:
            return REQUIRED if self._within else NOT_REQUIRED
        if self._within:
            near = self.sense == UNDER and self.limit - self.found < self.tape_step - TINY
            return CLOSE if near and not self._is_not_asked else PASS
        if self.asked.soft:
            return IN_DOUBT
        return NOT_REQUIRED if self._is_not_asked else FAIL

    @property
    def unknown_excel(self) -> str:
        """Formula part: the verdict where finding or limit is missing."""
        if self.asked.soft:
            return '"not required"'
        decided = self.sense == DECIDES and self.line is not None
        return f'IF({SPARED},"not required","not measured")' if decided else '"not measured"'

    @property
    def sign(self) -> str:
        """Formula part: how the finding is compared with the limit."""
        return SIGNS[self.sense]

    @property
    def within_excel(self) -> str:
        """Formula part: the verdict where the finding stands to the limit as it must."""
        if self.sense == DECIDES:
            return '"guard required"'
        if self.sense != UNDER:
            return '"pass"'
        near = self._unless_spared("pass", "close")
        return f'IF({{limit}}-{{found}}<{{tape_step}}-0.000001,{near},"pass")'

    @property
    def beyond_excel(self) -> str:
        """Formula part: the verdict where it does not."""
        if self.asked.soft:
            return '"in doubt"'
        return '"not required"' if self.sense == DECIDES else self._unless_spared("not required", "fail")

    def _unless_spared(self, spared: str, asked: str) -> str:
        """Formula part: one verdict where the demand is not made, another where it is."""
        only_guards = self.asked.guards_only and self.line is not None
        return f'IF({SPARED},"{spared}","{asked}")' if only_guards else f'"{asked}"'

    @property
    def _is_not_asked(self) -> bool:
        """Whether it is asked of required guards only, and this one is not."""
        return self.asked.guards_only and self._is_spared

    @property
    def _is_decided(self) -> bool:
        """Whether nobody need measure what decides: a wall closes the stair."""
        return self.sense == DECIDES and self._is_spared

    @property
    def _is_spared(self) -> bool:
        """Whether no guard is required there."""
        return self.line is not None and self.line.guard.guard_required == 0

    @property
    def _within(self) -> bool:
        assert self.found is not None
        assert self.limit is not None  # asked only where both are known
        found, limit = round(self.found, PLACES), round(self.limit, PLACES)
        senses = {AT_LEAST: found >= limit, AT_MOST: found <= limit, UNDER: found < limit, DECIDES: found > limit}
        return senses[self.sense]


TAB = Tab(
    "code_checks",
    "Code checks",
    Check,
    (
        Column("check", "No.", COUNT, width=5),
        Column("where", "Where", TEXT, width=24),
        Column("demand", "Demand", TEXT, width=42),
        Column("found", "Found", FIGURE, "=" + look_up("[source]_[quantity]", "source_row")),
        Column("sense", "Must be", CHOICE, width=10),
        Column("limit", "Limit", FIGURE, "[limit_excel]"),
        Column("unit", "Unit", TEXT, width=7),
        Column(
            "verdict", "Verdict", VERDICT,
            "=IF(COUNT({found},{limit})<2,[unknown_excel],"
            "IF(ROUND({found},6)[sign]ROUND({limit},6),[within_excel],[beyond_excel]))",
        ),
        Column("clause", "Clause", TEXT, "={rule.cited}", when="rule", width=22),
        Column("edition", "Edition", TEXT, width=12),
        Column("rule_row", "Rule row", COUNT, width=6),
        Column("source_row", "Row", COUNT, width=6),
        Column("line_row", "Run row", COUNT, width=6),
    ),
    purpose="Every demand that was held against the job. A blank is not measured, never a pass. The inspector decides.",
    paper_to="edition",
    key="check",
    joins=JOINS,
)  # fmt: skip
