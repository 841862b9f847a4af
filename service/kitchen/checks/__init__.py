"""Checks: everything that would make a plan wrong, found before it is published.

Responsible for faults in meaning of ingredients, recipe versions, menu items and sites against the
whole catalogue. Refuses to check shape, which the interface does, and to store anything.
"""
