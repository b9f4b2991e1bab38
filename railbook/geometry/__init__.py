"""Lengths, angles and heights: one equation, one function."""
