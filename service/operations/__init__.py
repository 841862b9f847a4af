"""The use cases: each loads from the store, asks the kitchen, and saves; the caller commits.

Responsible for joining stores with the kitchen. Refuses to know HTTP, tokens' transport and the clock.
"""
