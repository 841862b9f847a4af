"""Planning: from what is demanded and what is there to needs, runs, draws and pulls.

Responsible for the plan of one site (domain P) and for what reported work means for it. Refuses to word anything: what a
cook reads of a plan, and what it holds of allergens or costs, is said in other rooms.
"""
