"""What this version does not lay out: refused by name, never laid out wrongly."""

REASONS = {
    "winder": "winders turn while they rise, so no straightedge lies on their nosings",
    "spiral": "spiral stairs have no straight line of guard",
    "curve": "a curved guard has no straight sections",
    "curved": "a curved guard has no straight sections",
    "cable": "cables need their own spacing, tension and posts",
    "cables": "cables need their own spacing, tension and posts",
    "glass": "glass panels are made to the maker's own sizes",
    "gate": "a gate needs hinges, a latch and posts of its own",
}


def reason(kind: str) -> str | None:
    """Why a kind of run is not laid out; None for a word that is simply not known.

    >>> reason("Winders")
    'winders turn while they rise, so no straightedge lies on their nosings'
    >>> reason("Levl") is None
    True
    """
    word = kind.strip().casefold()
    return REASONS.get(word) or REASONS.get(word.removesuffix("s"))
