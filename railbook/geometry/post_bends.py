"""Posts over which two caps bend: the shape of their top, and what the post inside gains on its sleeve at each face."""

from functools import cache, cached_property

from railbook.basics.blank import when_known
from railbook.basics.joins import written
from railbook.basics.rounding import round_to_excel
from railbook.geometry.leaning import wide_excel
from railbook.geometry.post_stands import JOINS, TERMS, PostStand
from railbook.geometry.post_top_words import BentEnd, rise_excel
from railbook.geometry.skews import cosine

HALF_LEVEL, RIDGE, VALLEY, BENT = "half level", "ridge", "valley", "bent"


class PostBend(PostStand):
    """The bent top of a post; every figure is None or nothing where no caps bend over it."""

    @property
    def _bent_top(self) -> str:
        """Ridge or valley, or neither; level on one side of a ridge where a level cap goes on."""
        if not self.worked.is_ridge:
            return VALLEY if self.worked.is_valley else BENT
        return HALF_LEVEL if any(each.arm.is_level for each in self.worked.bent or ()) else RIDGE

    @property
    def bent_top_excel(self) -> str:
        """Formula part of the same."""
        if self.worked.bent is None:
            return '"sloped"'
        down, up = self.worked.bent
        ridge = HALF_LEVEL if down.arm.is_level or up.arm.is_level else RIDGE
        return f'IF(MIN({self._rises})>=0,"{VALLEY}",IF(MAX({self._rises})<=0,"{ridge}","{BENT}"))'

    @property
    def _rises(self) -> str:
        """Formula part: what each of two caps that bend gains, walked away from the post."""
        return in_words(",".join(rise_excel(each) for each in self.worked.bent_ends))

    @property
    def _inside(self) -> float:
        """From the face of the sleeve to that of the post inside it, along the run."""
        if not self.sleeved or self.assembly.sleeve_width is None:
            return 0.0
        return (self.assembly.sleeve_width - (self.assembly.post_width or 0.0)) / 2 / cosine(self.worked.skew)

    @cached_property
    def _bent_insets(self) -> tuple[float, float]:
        """What the post inside gains on its sleeve at both faces; in a valley it is level, as high as the joint."""
        if self.worked.bent is None or self.proud is not None:
            return 0.0, 0.0
        down, up = self.worked.bent
        lean = self.worked.leaning
        if not self.worked.is_valley:
            inside = self._inside * lean.wide * lean.along
            return -inside * down.arm.rise, -inside * up.arm.rise
        if not self.sleeved or self.worked.crest is None:
            return 0.0, 0.0
        low, high = ((self.worked.crest - each.arm.face) * lean.along for each in (down, up))
        return low, high

    def _bent_inset_excel(self, bent: BentEnd, face: str) -> str:
        along, over = f"{wide_excel('{lean}')}*{{along}}" if self.worked.leans else "", self.worked.over_excel
        inside = f"({{assembly.sleeve_width}}-{{assembly.post_width}})/2){over}"
        ridge = f"-IF({{sleeved}}=0,0,{inside}{along}*{rise_excel(bent)}"
        level = f"({{crest}}-{face})*{{along}}" if self.worked.leans else f"{{crest}}-{face}"
        valley = f'IF(OR({{sleeved}}=0,{{crest}}=""),0,{level})'
        return in_words(f"IF({{is_proud}},0,IF(MIN({self._rises})>=0,{valley},{ridge}))")

    @property
    def ridge_excel(self) -> str:
        """Formula part: the post at a ridge among what is compared; nothing where no caps bend."""
        if self.worked.bent is None:
            return ""
        lower = f"{{lower_by}}{self.lowered_excel}"
        return self._ridge_excel(f"({{crest}}*{{along}}-{lower})" if self.worked.leans else "({crest}-{lower_by})")

    @property
    def sleeve_ridge_excel(self) -> str:
        """Formula part: the same of its sleeve."""
        height = "({crest}*{along})" if self.worked.leans else "({crest}+0)"
        return "" if self.worked.bent is None else self._ridge_excel(height)

    def _ridge_excel(self, height: str) -> str:
        low = f'OR({{is_proud}},MAX({self._rises})>0,{{crest}}="")'
        return in_words(f",IF({low},0,{round_to_excel(height)})")

    @property
    def _ridge(self) -> float | None:
        """Post at the joint of two caps that fall away from it."""
        crest = self._crest if self.worked.is_ridge and self.proud is None else None
        return self._tape(when_known(lambda height: height - self.lower, crest))

    @property
    def _crest(self) -> float | None:
        """Where two caps bend, along the post."""
        return when_known(lambda height: height * self.worked.leaning.along, self.worked.crest)

    @property
    def joint_at(self) -> float | None:
        """Level distance from the downhill face to where two caps bend over it, to the tape."""
        return self._tape(self.worked.crossing)

    @property
    def joint_height(self) -> float | None:
        """Underside of both caps there, along the post, to the tape."""
        return self._tape(self._crest)

    @property
    def along_excel(self) -> str:
        """Formula part: what turns a height into one along the post; nothing where it stands plumb."""
        return "*{along}" if self.worked.leans else ""

    @property
    def _is_ridged(self) -> bool:
        """Whether a sleeve is highest at the joint of two caps over it."""
        return bool(self.sleeved) and self.worked.is_ridge and self.proud is None

    @cached_property
    def lower(self) -> float:
        """How much lower the post inside ends, along it: plumb by as much as its assembly has it, a square top so."""
        lower, lean = (self.assembly.post_below_sleeve or 0.0) if self.sleeved else 0.0, self.worked.leaning
        return lower if self.proud is not None else lower * lean.swung * lean.along

    @property
    def lowered_excel(self) -> str:
        """Formula part: what turns it into one along a post that leans."""
        return in_words("*IF({is_proud},1,{swung}*{along})") if self.worked.leans else ""


@cache
def in_words(formula: str) -> str:
    """A formula with its joined words and terms written out."""
    return written(formula, JOINS, TERMS)
