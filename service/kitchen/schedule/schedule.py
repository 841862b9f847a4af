"""The schedule of one site: every load with its place, or left out with what it lacks.

Responsible for telling what the engine found (K9 to K12, K14 to K16). It is written to be read first. Refuses to know what
would help, which is asked for separately.
"""

from service.kitchen.schedule.answer import Placed, Schedule
from service.kitchen.schedule.because import reasons
from service.kitchen.schedule.conflicts import conflicts
from service.kitchen.schedule.engine import Engine
from service.kitchen.schedule.problem import Problem
from service.kitchen.schedule.slack import slacks


def schedule(problem: Problem) -> Schedule:
    """The schedule of a problem: the same for equal problems, whatever the machine."""
    found = Engine(problem).find()
    attempt = found.attempt
    slack = slacks(problem, attempt.placed, found.given)
    due = {id_: attempt.due(id_) for id_ in attempt.placed}
    because = reasons(problem, found, due)
    placed = []
    for load in problem.loads:
        times = attempt.placed.get(load.id)
        if times is not None:
            hands, stays = found.given[load.id]
            first = attempt.first_use(load.id)
            placed.append(
                Placed(
                    load=load.id,
                    starts=times.starts,
                    ready=times.ready,
                    due=due[load.id],
                    hands=hands,
                    stays=stays,
                    held=0 if first is None else first - times.ready,
                    slack=slack[load.id],
                    because=because[load.id],
                )
            )
    return Schedule(tuple(placed), conflicts(problem, found), found.attempts)
