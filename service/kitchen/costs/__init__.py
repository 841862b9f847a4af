"""Costs: what anything costs by the packs in force.

Responsible for the cost of an ingredient, a batch, a portion and a menu item (domain C). Refuses to plan, and to know
who may see money.
"""
