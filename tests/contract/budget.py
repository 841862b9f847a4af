"""How long the runs over the published document may take: little as a rule, long where CONTRACT_RUNS says deep."""

import os
from dataclasses import dataclass


@dataclass(frozen=True)
class Budget:
    """Examples an operation, walks along links and their steps, and the seconds and phases of the run against a server."""

    examples: int
    walks: int
    steps: int
    seconds: int
    phases: str


DEEP = os.environ.get("CONTRACT_RUNS") == "deep"
BUDGET = Budget(300, 300, 12, 900, "examples,coverage,fuzzing,stateful") if DEEP else Budget(6, 30, 12, 15, "examples,fuzzing,stateful")
