"""The kitchen domain: pure values in, values out.

Knows units, recipes, time and planning; refuses to know HTTP, databases, the clock and randomness.
"""
