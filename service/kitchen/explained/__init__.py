"""Why a plan is as it is: told of a finished plan, for what is shown alone.

Responsible for whom each piece of work is for. Refuses to decide anything: planning never asks here.
"""
