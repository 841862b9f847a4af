"""Explained: what reported work alone makes of a list's uses and pulls.

Responsible for how much of each of them reported work has taken already or has itself made, so that a
report is not mistaken for a change of what is asked (domain P15). Refuses to compare lists.
"""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import count

from service.kitchen.book.site import Site
from service.kitchen.lists.supplies import pull_id, use_id
from service.kitchen.planning.plan import Plan
from service.kitchen.planning.pulls import Pull
from service.kitchen.planning.runs import Run
from service.kitchen.planning.stock import NIL


@dataclass(slots=True)
class Explained:
    """Of a use or pull: what reported work has taken of it already, and what comes from what reported work made."""

    taken: float = 0.0
    made: float = 0.0

    def explains(self, printed: float, now: float) -> bool:
        """Whether an amount differs from the printed one by no more than reported work makes it.

        What was made may or may not have stood as a use on the print: a run that is not reported feeds its users directly. And
        where reported work took more than was printed, nothing is left to do of it.

        >>> Explained(taken=2).explains(printed=3, now=1), Explained(taken=2).explains(printed=3, now=2)
        (True, False)
        >>> Explained(taken=4).explains(printed=3, now=0), Explained(taken=2).explains(printed=3, now=0)
        (True, False)
        >>> Explained(made=8).explains(printed=0, now=8), Explained(made=8).explains(printed=0, now=9)
        (True, False)
        """
        most = now + self.taken
        slack = NIL * max(printed, most)
        if now <= 0 and printed > 0:
            return self.taken > 0 and printed <= most + slack
        return (self.taken > 0 or self.made > 0) and most - self.made - slack <= printed <= most + slack


def explain(plan: Plan, site: Site) -> Mapping[str, Explained]:
    """What reported work explains, by the ids of the uses and pulls that it touches."""
    calendar = site.calendar()
    fixed = {each.run.key for each in plan.reported.runs}
    found: dict[str, Explained] = defaultdict(Explained)
    for use in plan.uses:
        if use.lot.item.raw:
            continue
        explained = found[use_id(site.code, [use], use.need.on or calendar.business_date(use.need.at))]
        if use.need.settled:
            explained.taken += use.amount
        elif isinstance(use.lot.source, Run) and use.lot.source.key in fixed:
            explained.made += use.amount
    for need, short in plan.lacking:
        if need.item.raw:
            on = need.on or calendar.business_date(need.at)
            taken = plan.reported.ordinals.get((need.item, on), frozenset())
            ordinal = next(number for number in count(1) if number not in taken)
            found[pull_id(site.code, Pull(need.item, on, need.at, need.at, ordinal))].taken += short
    return found
