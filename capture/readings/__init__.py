"""Kinds of reading: one class a kind, one table of them (`table.py`); the parameters they are functions of."""
