"""Money: what is bought, what it costs, and what each run costs; `choices.py` chooses, `layout.py` lays out."""
