"""Sums of the trade: tyre date codes, load indices, VINs, axle loads and typed measures.

Pure functions over plain values. Nothing here knows a van, a record or a database, and nothing
reads the clock: where today matters it is passed in.
"""
