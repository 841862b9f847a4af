"""The load of an early morning: many sites pull their lists while the tills push; run by python -m tests.load."""
