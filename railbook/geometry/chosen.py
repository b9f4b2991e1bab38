"""What the choices of a workbook rest on as a whole: length unit and rule set."""

from dataclasses import dataclass

from railbook.basics.double_entry import Column, Tab
from railbook.basics.kinds import COUNT, TEXT
from railbook.job.settings import Settings


@dataclass(frozen=True)
class Chosen:
    """One job's choices.

    Attributes:
        settings: the job's settings as they are now.
        chosen_unit: unit that it was computed in; `chosen_rules` its rule set.
    """

    settings: Settings
    chosen_unit: str
    chosen_rules: str

    @property
    def settings_moved(self) -> int:
        """1 when unit or rule set were changed since: every choice asks for another run."""
        return int((self.settings.unit, self.settings.rule_set) != (self.chosen_unit, self.chosen_rules))


TAB = Tab(
    "chosen",
    "Working choices",
    Chosen,
    (
        Column("chosen_unit", "Computed in", TEXT, width=26),
        Column("chosen_rules", "Computed for", TEXT),
        Column(
            "settings_moved",
            "Unit or rule set changed",
            COUNT,
            "=IF(AND({unit}={chosen_unit},{rule_set}={chosen_rules}),0,1)",
            hint="1: every row asks for another run",
        ),
    ),
    purpose="What all choices of this workbook rest on.",
    down=True,
)
