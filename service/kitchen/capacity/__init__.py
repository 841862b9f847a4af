"""Capacity: a plan as work that a site's cooks and machines can do.

Responsible for turning a plan into a problem of the schedule's room and its answer back into moments (domain K4, K5, K8, K17).
Refuses to plan, to find places itself, and to word anything.
"""
