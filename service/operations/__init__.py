"""The use cases: what joins the stores with the kitchen.

Each takes a session, time and identity as arguments and leaves committing to its caller. Refuses to
know HTTP.
"""
