"""Kept plans: what was planned stays in the process for as long as nothing that it was made from has changed.

Responsible for planning each question once, however many ask it at a time, and for a bound on memory. Refuses to know how
anything is planned: every station, unit system and format of a list is a slice of one plan, and plans never change.
"""

from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import Future
from threading import Lock
from weakref import WeakKeyDictionary

from sqlalchemy import Pool

from service.kitchen.planning.plan import Plan
from service.operations.kept_schedules import loads_beside

# What a need takes at most with its part in a run and what draws it: 770 in large kitchens, 900 in tiny ones.
NEED_BYTES = 950
# What a load takes in the schedule that is kept beside its plan.
LOAD_BYTES = 6_500
BYTES_KEPT = 48_000_000


class KeptPlans:
    """The plans of one database, newest last; ``most`` is how many bytes they take together, with what is scheduled of them."""

    def __init__(self, most: int = BYTES_KEPT) -> None:
        self._most = most
        self._plans: OrderedDict[Hashable, tuple[Hashable, Future[Plan]]] = OrderedDict()
        self._lock = Lock()

    def get(self, question: Hashable, state: Hashable, compute: Callable[[], Plan]) -> Plan:
        """The plan that answers a question in a state: kept, or computed by the first who asks while others wait.

        What that raises, all of them get. A plan of another state makes room: states do not come back.
        """
        with self._lock:
            told, known = self._plans.get(question, (None, None))
            if known is None or told != state:
                known, made = None, Future[Plan]()
                self._plans[question] = (state, made)
            self._plans.move_to_end(question)
        if known is not None:
            # Outside of the lock, so that who waits for one plan keeps nobody from another.
            return known.result()
        try:
            planned = compute()
        # Whatever ended the one who plans, those who wait must not wait for ever.
        except BaseException as error:
            with self._lock:
                if self._plans.get(question) == (state, made):
                    del self._plans[question]
            made.set_exception(error)
            raise
        made.set_result(planned)
        self._make_room()
        return planned

    def _make_room(self) -> None:
        """Let go of the plans that nobody asked for longest; the newest stays, however large."""
        with self._lock:
            done = [(question, bytes_of(each.result())) for question, (_, each) in self._plans.items() if each.done()]
            total = sum(size for _, size in done)
            for question, size in done[:-1]:
                if total <= self._most:
                    return
                total -= size
                del self._plans[question]


def bytes_of(planned: Plan) -> int:
    """What a plan takes, and what is scheduled of it by now."""
    return NEED_BYTES * len(planned.needs) + LOAD_BYTES * loads_beside(planned)


# Readers and writers of one database are two engines over one pool.
_kept: WeakKeyDictionary[Pool, KeptPlans] = WeakKeyDictionary()


def kept_plans(pool: Pool) -> KeptPlans:
    """The plans kept of a database."""
    return _kept.setdefault(pool, KeptPlans())
