"""Rails: the length of their edges, what the stock must hold, and the places along them."""

from railbook.basics.rounding import ceiling


def edge_length(*, clear: float, fit: float, secant: float) -> float:
    """Edge of a rail between plumb cuts [unit of the clear].

    Args:
        clear: level distance between the support faces.
        fit: level gap left at each end.
        secant: length along the slope for each unit of level length.

    By hand, 3-4-5: five 10 in treads at 7.5 in risers.

    >>> edge_length(clear=50.0, fit=0.0, secant=1.25)
    62.5
    """
    return (clear - 2 * fit) * secant


def tip_to_tip(*, edge: float, depth: float, lower: float, upper: float) -> float:
    """What the stock must hold: the edge and the points that stand out past it [unit of the edge].

    Args:
        edge: the edge that is measured.
        depth: of the rail, square to the edge.
        lower: tangent of the cut at the lower end, + when the far corner lies further up the rail.
        upper: the same at the upper end.

    A plumb-cut rail of a 7.5/10 stair, and a rail between posts that both lean away 1 in 10:

    >>> tip_to_tip(edge=62.5, depth=3.5, lower=0.75, upper=0.75)
    65.125
    >>> tip_to_tip(edge=60.0, depth=4.0, lower=-0.1, upper=0.1)
    60.8
    """
    return max(edge, edge + depth * upper) - min(0.0, depth * lower)


def places_between(*, edge: float, spacing: float) -> int:
    """Places along a rail so that no two, nor one and an end, are further apart than the spacing.

    Common practice, no source: support blocks 24 in apart are 2 in a 6 ft section and 3 in an 8 ft section; a cap
    screwed every 24 in has 3 places on an 8 ft rail.

    >>> places_between(edge=68.5, spacing=24.0), places_between(edge=92.5, spacing=24.0)
    (2, 3)
    >>> places_between(edge=96.0, spacing=24.0), places_between(edge=24.0, spacing=24.0)
    (3, 0)
    """
    return max(0, ceiling(edge / spacing) - 1)
