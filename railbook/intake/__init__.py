"""Reads any declared tab of a workbook into rows and problems; the only user of openpyxl."""
