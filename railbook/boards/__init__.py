"""Boards: which boards every piece is cut from, and how: `choices.py` asks the solver, `layout.py` lays out."""
