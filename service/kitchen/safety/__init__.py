"""Safety: allergens, the figures of the food code, and what is said beside them.

Responsible for what food holds and how it is kept safe (domains A and H). Refuses to stop anybody: what is refused for
its safety is decided by the checks, what stands on a list by the lists.
"""
