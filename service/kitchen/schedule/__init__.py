"""Schedule: who does what when, and what is in which machine, of one site.

Responsible for rules K2, K6, K7 and K9 to K16 in whole minutes since a moment that the caller chooses. Refuses to know
dates, time zones, recipes, plans and what is stated where: numbers in, numbers out.
"""
