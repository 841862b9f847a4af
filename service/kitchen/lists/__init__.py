"""Lists: a plan as those who cook and those who order read it.

Responsible for the documents made of a plan, and for the work behind a list that a print keeps. Refuses to plan: every
run, pull and use that it words was decided before.
"""
