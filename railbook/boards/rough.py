"""What it costs that posts are sawn rough: the same boards asked for once more, for posts of their final length."""

from dataclasses import replace

from railbook.basics.problem import NOTE, Problem
from railbook.basics.rounding import PLACES, round_to
from railbook.basics.units import tape_text
from railbook.boards.pieces import Planned
from railbook.boards.questions import Question
from railbook.cutting.result import Plan
from railbook.takeoff.cut_list import Piece

ALLOWANCE = "rough_allowance"


def final_tip(piece: Piece) -> float | None:
    """What is left of a rough post, tip to tip, rounded to the tape; None for any other piece."""
    is_known = piece.size == "rough_length" and piece.thing.post_tip is not None
    return round_to(piece.settings.tape_step, piece.thing.post_tip) if is_known else None


def at_final_length(question: Question) -> Question | None:
    """The same question for posts of their final length, each as a square piece; None where no post is rough."""
    spared = [_spared(question.pieces[at]) for at in question.places]
    if not any(spared):
        return None
    pieces = question.asked.pieces
    wanted = tuple(replace(piece, length=piece.length - less) for piece, less in zip(pieces, spared, strict=True))
    return question._replace(asked=question.asked._replace(pieces=wanted))


def _spared(piece: Planned) -> float:
    """How much shorter a piece ends up than it is sawn."""
    tip = final_tip(piece.cut)
    return 0.0 if tip is None else (piece.cut.tip_to_tip or 0.0) - tip


def costs_more(question: Question, plan: Plan, final: Plan) -> Problem | None:
    """That the allowance alone costs boards; None unless no plan for rough posts is as cheap as the final one."""
    served = not (final.faults or final.missing or final.too_long)
    if not served or round(plan.bound - final.cost, PLACES) <= 0:
        return None
    material = question.material
    posts = [piece.cut for piece in question.pieces if final_tip(piece.cut) is not None]
    step, unit = posts[0].settings.tape_step, posts[0].settings.unit

    def told(of: Plan) -> str:
        much = f"for {of.cost:.2f}" if material.priced else f"of {tape_text(of.cost, step, unit)} in all"
        return f"{of.board_count} board{'s' * (of.board_count != 1)} {much}"

    longer = " and ".join(dict.fromkeys(tape_text(post.thing.allowance, step, unit) for post in posts))
    what = f"posts sawn {longer} longer than they end up take {told(plan)} of {material.item}"
    what += f"; sawn to length, {told(final)} would do"
    remedy = "type a smaller Rough allowance if the posts can be set so closely; 0: sawn to length"
    return Problem(posts[0].assembly.origin.cell(ALLOWANCE) or "Assemblies", what, remedy, NOTE)
