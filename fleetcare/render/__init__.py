"""Rows in, text, JSON, CSV or workbook out. No decision is taken here."""
