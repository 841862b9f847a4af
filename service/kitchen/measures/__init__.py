"""Measures: units, amounts, money, dates and batches, as exact values.

Responsible for the arithmetic that every other room of the kitchen stands on, and for how an amount is shown.
Refuses to know items, recipes and sites: whatever it needs of them is an argument.
"""
