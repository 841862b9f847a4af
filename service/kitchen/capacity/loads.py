"""Loads: what of a run goes through its steps together.

Responsible for how a run is cut into loads, and how long hands are needed for each (domain K4, K5). Refuses to know when that is.
"""

from collections.abc import Sequence
from datetime import timedelta
from typing import Final, NamedTuple

from service.errors import TooManyLoads
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.recipe import Version
from service.kitchen.book.site import Site
from service.kitchen.measures.batches import TOLERANCE, round_down, round_up
from service.kitchen.measures.calendar import ZERO, whole_minutes
from service.kitchen.planning.makings import sizes_of
from service.kitchen.planning.runs import Run
from service.limits import LOADS_SCHEDULED

LONG: Final = timedelta(hours=2)
"""Making ready that takes longer is cut (K5)."""


class RunLoad(NamedTuple):
    """One load of a run: its number from 1, how much of the run's item in the stock kind, which ``part`` of the run, how many batches."""

    number: int
    quantity: float
    part: float
    batches: float


def loads_of(run: Run, catalogue: Catalogue, site: Site) -> tuple[RunLoad, ...]:
    """The loads of a run, in their order (K4, K5); raises TooManyLoads."""
    if run.version is None:
        number = _cuts(run, catalogue)
        return tuple(RunLoad(each, run.main.quantity / number, 1 / number, 1.0) for each in range(1, number + 1))
    rows = _dealt(run, load_size(run.version, catalogue, site))
    total = run.main.quantity
    return tuple(RunLoad(number, quantity, quantity / total, batches) for number, (quantity, batches) in enumerate(rows, 1))


def load_size(version: Version, catalogue: Catalogue, site: Site) -> float | None:
    """The most that one load can be in the stock kind: the smallest load that the site's equipment for any of the steps states.

    It is floored to whole multiples, at least one (K4). None where no equipment states any.
    """
    kinds = (site.machines(step.equipment) for step in version.steps if step.equipment is not None)
    stated = [float(load) for machines in kinds if machines is not None and (load := machines.load(version.conversions)) is not None]
    if not stated:
        return None
    multiple = sizes_of(catalogue, site, version)[0].multiple
    return min(stated) if multiple is None else max(round_down(min(stated) / multiple), 1) * multiple


def prep_hands_on(run: Run, catalogue: Catalogue, part: float = 1.0) -> timedelta:
    """Hands-on time of making ready a part of all the forms that a run gives, which are of one ingredient (K5)."""
    ingredient = catalogue.ingredients[run.item.code]
    forms = [(ingredient.form(output.item.form or ""), output.quantity) for output in run.outputs]
    return sum((ingredient.hands_on(form, quantity * part) for form, quantity in forms if form is not None), ZERO)


def prep_times(run: Run, catalogue: Catalogue, load: RunLoad) -> tuple[timedelta, timedelta]:
    """Hands-on time of a load of making ready, in whole minutes, up, and the rest after it, to the longest lead that a form states (K5)."""
    active = whole_minutes(prep_hands_on(run, catalogue, load.part))
    ingredient = catalogue.ingredients[run.item.code]
    forms = (ingredient.form(output.item.form or "") for output in run.outputs)
    lead = max((form.lead for form in forms if form is not None and form.lead is not None), default=ZERO)
    return active, max(lead - active, ZERO)


def _cuts(run: Run, catalogue: Catalogue) -> int:
    """In how many equal loads something is made ready: as many as it takes twos of hours (K5)."""
    return _checked(max(round_up(prep_hands_on(run, catalogue) / LONG), 1))


def _dealt(run: Run, size: float | None) -> list[tuple[float, float]]:
    """The quantity of each load, and how many batches that is (K4)."""
    number = _checked(sum(batch.count for batch, _ in run.batches))
    if size is None or all(batch.quantity <= size * (1 + TOLERANCE) for batch, _ in run.batches):
        return _together([batch.quantity for batch, _ in run.batches for _ in range(batch.count)], size)
    total = run.main.quantity
    full = _checked(round_up(total / size)) - 1
    rest = total - full * size
    # A rest that is a full load but for the errors of floats is one.
    quantities = [size] * full + [size if abs(rest - size) <= TOLERANCE * total else rest]
    return [(quantity, number * quantity / total) for quantity in quantities]


def _together(batches: Sequence[float], size: float | None) -> list[tuple[float, float]]:
    """Consecutive whole batches together while they fit; each by itself where nothing says how much that is."""
    rows: list[tuple[float, float]] = []
    for batch in batches:
        if rows and size is not None and rows[-1][0] + batch <= size * (1 + TOLERANCE):
            rows[-1] = (rows[-1][0] + batch, rows[-1][1] + 1)
        else:
            rows.append((batch, 1.0))
    return rows


def _checked(loads: int) -> int:
    """So many loads, if they are no more than one plan may have."""
    if loads > LOADS_SCHEDULED:
        raise TooManyLoads
    return loads
