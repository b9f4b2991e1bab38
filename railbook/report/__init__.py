"""Draws any declared tab as a form or a result; the only user of xlsxwriter."""
