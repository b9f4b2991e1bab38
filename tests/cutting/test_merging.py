"""The smaller question is near the true one, and its answer can be cut from the same boards."""

import numpy as np

from railbook.cutting.grains import in_whole
from railbook.cutting.master import Cut
from railbook.cutting.merging import dealt, merged
from railbook.cutting.pieces import Board, Piece, Saw
from railbook.cutting.whole import Question
from tests.benchmarks.jobs import job


def two_lengths() -> Question:
    """Three pieces of 36 and three of 36 1/16; three of either go into 10 ft."""
    pieces = [Piece("A", 36.0, count=3), Piece("B", 36.0625, count=3)]
    return in_whole(pieces, [Board("10 ft", 120.0, 7.0)], Saw(kerf=1 / 8)).question


def test_lengths_that_are_nearly_equal_become_one() -> None:
    assert merged(two_lengths(), 240).groups == ((0, 1),)
    assert merged(two_lengths(), 240).question.counts == (6,)


def test_two_boards_of_three_are_dealt_out_as_three_of_each_length() -> None:
    cuts = dealt(two_lengths(), [(0, 1)], [Cut(0, ((0, 3),))], np.array([2.0]))

    assert cuts == [Cut(0, ((0, 3),)), Cut(0, ((1, 3),))]


def test_what_fits_in_the_smaller_question_fits_in_the_true_one() -> None:
    """One piece of every kind alone, and as many as the coarse width says."""
    for material in job(100, 0, custom=True):
        question = in_whole(*material).question
        smaller = merged(question, 240)
        for at, stock in enumerate(smaller.question.stocks):
            for kind, group in enumerate(smaller.groups):
                copies = min(smaller.question.counts[kind], 3)
                if smaller.question.holds(stock, {kind: copies}):
                    true = {one: min(copies, question.counts[one]) for one in group}
                    assert all(question.holds(question.stocks[at], {one: number}) for one, number in true.items())
