"""One rule as published: what is asked, where, how much, and in which clause. All lists here are closed."""

from dataclasses import dataclass, fields

from railbook.basics.kinds import INCH, MILLIMETRE

ANY, LEVEL, STAIR, RAMP = "any", "level", "stair", "ramp"
PLACES = (ANY, LEVEL, STAIR, RAMP)
ONE_FAMILY = "one-family"
USES = (ONE_FAMILY,)
SOLID_RISERS, EGRESS_RAMP = "solid risers", "egress ramp"
APPLIES = ("", SOLID_RISERS, EGRESS_RAMP)
QUANTITIES = ("",)  # no check asks for a rule by a band
AT_LEAST, AT_MOST, UNDER, MORE_THAN = "at least", "at most", "under", "more than"
BETWEEN, ASKED, NO_RULE = "between", "asked", "none"  # both ends allowed; asked without a figure; nothing is asked
NEEDS = {  # sense -> the figures that a row of it has
    AT_LEAST: ("least",), MORE_THAN: ("least",), AT_MOST: ("most",), UNDER: ("most",), BETWEEN: ("least", "most"),
    ASKED: (), NO_RULE: (),
}  # fmt: skip
DEGREES, RISERS, IN_TWELVE = "deg", "risers", "rise in 12"
LENGTHS = (INCH, MILLIMETRE)
UNITS = ("", *LENGTHS, DEGREES, RISERS, IN_TWELVE)
PRINT, MEMORY, PRACTICE = "print", "memory", "practice"  # read in print; remembered; railbook's own, of no code
SURENESS = (PRINT, MEMORY, PRACTICE)

KINDS = (  # every edition answers each of them, by a figure or by an explicit none
    "guard_needed_drop", "guard_height", "sphere_zone", "triangle",
    "riser_greatest", "riser_variation", "tread_least", "tread_variation", "nosing_greatest", "open_riser",
    "handrail_needed", "handrail_height", "hand_room", "continuity",
    "ramp_slope", "ramp_handrail", "guard_post_framing",
)  # fmt: skip
PRACTICE_KINDS = ("short_slope", "length_tolerance", "tread_tolerance", "angle_tolerance")


@dataclass(frozen=True)
class Rule:
    """One row of a rule set; a length has a row in inches and one in millimetres, each as published.

    Attributes:
        kind: what is asked, one of KINDS.
        place: where; a rule of no place of its own holds in ANY.
        use: of whose building.
        quantity: the figure whose band the row holds for, when it lies from `band_from` to `band_to`; empty: always.
        applies: what must be so for the row to hold; empty: nothing.
        sense: how a finding must stand to the figures, a key of NEEDS.
        least: the smallest figure allowed, or the one beyond which the rule begins [unit].
        most: the greatest figure allowed, or the one to stay under [unit].
        unit: of both; empty where there is no figure.
        clause: where it stands.
        sure_of_value: whether the figure was read in print; `sure_of_number` the same of the clause's number.
        note: free text; nothing is computed from it.
    """

    kind: str
    place: str
    use: str
    quantity: str
    band_from: float | None
    band_to: float | None
    applies: str
    sense: str
    least: float | None
    most: float | None
    unit: str
    clause: str
    sure_of_value: str
    sure_of_number: str
    note: str

    @property
    def key(self) -> tuple[object, ...]:
        """What tells rules of one set apart: a row replaces the base's row of the same key and unit."""
        band = (self.quantity, self.band_from, self.band_to)
        return (self.kind, self.place, self.use, *band, self.applies, self.unit)

    @property
    def is_remembered(self) -> bool:
        """Whether figure or clause was not at hand in print."""
        return MEMORY in (self.sure_of_value, self.sure_of_number)

    @property
    def cited(self) -> str:
        """The clause; a row that rests on memory says so."""
        return f"{self.clause} (from memory)" if self.is_remembered else self.clause

    def asks(self, end: str = "") -> tuple[str, float]:
        """Sense and figure; of a rule with two ends the one at "least" or "most".

        Raises:
            ValueError: it has no figure there.
        """
        end = end or next(iter(NEEDS[self.sense]), "")
        figure = self.least if end == "least" else self.most
        if figure is None:
            raise ValueError(f"rule {self.kind}, {self.sense}, has no figure {end!r}")
        of_end = AT_LEAST if end == "least" else AT_MOST
        return (of_end if self.sense == BETWEEN else self.sense), figure


COLUMNS = {  # header in the file -> field
    "from": "band_from", "to": "band_to", "sure of value": "sure_of_value", "sure of number": "sure_of_number",
}  # fmt: skip
HEADER = tuple({name: header for header, name in COLUMNS.items()}.get(each.name, each.name) for each in fields(Rule))
