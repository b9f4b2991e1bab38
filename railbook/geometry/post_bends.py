"""Posts over which two caps bend: the shape of their top, and what the post inside gains on its sleeve at each face."""

from functools import cache, cached_property

from railbook.basics.blank import when_known
from railbook.basics.joins import written
from railbook.basics.rounding import round_to_excel
from railbook.geometry.post_stands import JOINS, TERMS, PostStand
from railbook.geometry.post_tops import rise_excel

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
        if self.worked.bent is None:
            return ""
        down, up = self.worked.bent
        return f"{rise_excel('cover', down.end)},{rise_excel('bend', up.end)}"

    @property
    def _inside(self) -> float:
        """From the face of the sleeve to that of the post inside it, level."""
        if not self.sleeved or self.assembly.sleeve_width is None:
            return 0.0
        return (self.assembly.sleeve_width - (self.assembly.post_width or 0.0)) / 2

    @cached_property
    def _bent_insets(self) -> tuple[float, float]:
        """What the post inside gains on its sleeve at both faces; in a valley it is level, as high as the joint."""
        if self.worked.bent is None or self.proud is not None:
            return 0.0, 0.0
        down, up = self.worked.bent
        if not self.worked.is_valley:
            return -self._inside * down.arm.rise, -self._inside * up.arm.rise
        if not self.sleeved or self.worked.crest is None:
            return 0.0, 0.0
        return self.worked.crest - down.arm.face, self.worked.crest - up.arm.face

    def _bent_inset_excel(self, way: str, number: int, face: str) -> str:
        end = self.worked.bent[number].end if self.worked.bent is not None else ""
        ridge = f"-IF({{sleeved}}=0,0,({{assembly.sleeve_width}}-{{assembly.post_width}})/2)*{rise_excel(way, end)}"
        valley = f'IF(OR({{sleeved}}=0,{{crest}}=""),0,{{crest}}-{face})'
        return _in_words(f"IF({{is_proud}},0,IF(MIN({self._rises})>=0,{valley},{ridge}))")

    @property
    def ridge_excel(self) -> str:
        """Formula part: the post at a ridge among what is compared; nothing where no caps bend."""
        if self.worked.bent is None:
            return ""
        return self._ridge_excel("({crest}-{lower_by})")

    @property
    def sleeve_ridge_excel(self) -> str:
        """Formula part: the same of its sleeve."""
        return "" if self.worked.bent is None else self._ridge_excel("({crest}+0)")

    def _ridge_excel(self, height: str) -> str:
        low = f'OR({{is_proud}},MAX({self._rises})>0,{{crest}}="")'
        return _in_words(f",IF({low},0,{round_to_excel(height)})")

    @property
    def _ridge(self) -> float | None:
        """Post at the joint of two caps that fall away from it."""
        crest = self.worked.crest if self.worked.is_ridge and self.proud is None else None
        return self._tape(when_known(lambda height: height - self._lower, crest))

    @property
    def joint_at(self) -> float | None:
        """Level distance from the downhill face to where two caps bend over it, to the tape."""
        return self._tape(self.worked.crossing)

    @property
    def joint_height(self) -> float | None:
        """Underside of both caps there, to the tape."""
        return self._tape(self.worked.crest)

    @property
    def _is_ridged(self) -> bool:
        """Whether a sleeve is highest at the joint of two caps over it."""
        return bool(self.sleeved) and self.worked.is_ridge and self.proud is None

    @cached_property
    def _lower(self) -> float:
        return (self.assembly.post_below_sleeve or 0.0) if self.sleeved else 0.0


@cache
def _in_words(formula: str) -> str:
    """A formula with its joined words and terms written out."""
    return written(formula, JOINS, TERMS)
