"""What is eased of loads that others find no place for (K11): their rests, and how late they draw.

Responsible for which load is eased and by how much. Refuses to know when that is done, and what comes of it.
"""

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, field, replace

from service.kitchen.schedule.problem import Draw, Load, LoadStep, Minute, Problem, Rest


@dataclass(slots=True)
class Easings:
    """``short``: the loads whose rests are as short as their recipe allows.

    ``until``: by load and step, the last minute at which the step may begin.
    """

    short: set[str] = field(default_factory=set)
    until: dict[str, dict[int, Minute]] = field(default_factory=dict)

    def copy(self) -> "Easings":
        """The same, to be eased further."""
        return Easings(set(self.short), {load: dict(steps) for load, steps in self.until.items()})

    def key(self) -> Hashable:
        """Equal for equal easings."""
        return frozenset(self.short), frozenset((load, *each) for load, steps in self.until.items() for each in steps.items())

    def steps(self, load: Load) -> Sequence[LoadStep]:
        """The steps of a load, with its rests as they are wanted now."""
        if load.id not in self.short:
            return load.steps
        return [replace(step, rest=Rest(step.rest.least, step.rest.least, step.rest.most)) for step in load.steps]

    def shorten_rests(self, problem: Problem, load: str, drawn: Callable[[Draw], Minute | None]) -> None:
        """What asks for a load first, and what asks for that, upwards, takes its rests as short as its recipe allows."""
        asking = _asking(problem, load, drawn)
        while asking:
            load = asking[0][1].load
            self.short.add(load)
            asking = _asking(problem, load, drawn)

    def draw_earlier(
        self, problem: Problem, load: str, drawn: Callable[[Draw], Minute | None], usable: Callable[[Minute, Draw], Minute]
    ) -> None:
        """What asks for a load last draws on it while it is ``usable``, if it is made as late as its first draw allows."""
        asking = _asking(problem, load, drawn)
        if asking:
            last = asking[-1][1]
            until = usable(asking[0][0], last)
            steps = self.until.setdefault(last.load, {})
            steps[last.step] = min(until, steps.get(last.step, until))


def _asking(problem: Problem, load: str, drawn: Callable[[Draw], Minute | None]) -> list[tuple[Minute, Draw]]:
    """What draws on a load with the moments, the first first."""
    moments = [(moment, draw) for draw in problem.draws_on[load] if (moment := drawn(draw)) is not None]
    return sorted(moments, key=lambda each: each[0])
