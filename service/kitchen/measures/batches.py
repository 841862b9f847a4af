"""Batches: how a run's quantity is dealt out over what fits the vessel.

Responsible for domain S3, on plain numbers. Refuses to know what is cooked.
"""

import math
from dataclasses import dataclass

TOLERANCE = 1e-9


def round_up(number: float) -> int:
    """The next whole number, where 3.0000000001 is still 3 (S3: 1e-9 relative); a positive number is at least 1.

    >>> round_up(3.0000000001), round_up(3.1), round_up(1e-12)
    (3, 4, 1)
    """
    near = round(number)
    if near >= 1 and abs(number - near) <= TOLERANCE * near:
        return near
    return math.ceil(number)


def round_down(number: float) -> int:
    """The whole number below, where 2.9999999999 is already 3 (S3: 1e-9 relative)."""
    near = round(number)
    if abs(number - near) <= TOLERANCE * max(near, 1):
        return near
    return math.floor(number)


@dataclass(frozen=True, slots=True)
class Batch:
    """``count`` batches alike, each of ``quantity`` in the canonical unit of the yield's kind."""

    count: int
    quantity: float


@dataclass(frozen=True, slots=True)
class BatchSizes:
    """A batch rule in the canonical unit of the yield's kind; ``largest`` is the recipe's, or the site's vessel where smaller."""

    multiple: float | None = None
    smallest: float | None = None
    largest: float | None = None
    split: str = "equal"

    def fitting(self) -> float | None:
        """The largest batch in whole multiples (S3)."""
        if self.largest is None or self.multiple is None:
            return self.largest
        return round_down(self.largest / self.multiple) * self.multiple

    def fits(self) -> bool:
        """Whether multiple ≤ smallest ≤ largest and smallest is in whole multiples (S3)."""
        fitting = self.fitting()
        if fitting is not None and fitting <= 0:
            return False
        if self.smallest is None:
            return True
        if self.multiple is not None:
            steps = self.smallest / self.multiple
            if steps < 1 - TOLERANCE or abs(steps - round(steps)) > TOLERANCE * steps:
                return False
        return fitting is None or self.smallest <= fitting * (1 + TOLERANCE)


def in_batches(quantity: float, sizes: BatchSizes) -> tuple[Batch, ...]:
    """The batches that make at least ``quantity`` > 0, larger ones first, equal ones together (S3).

    >>> in_batches(70.0, BatchSizes(largest=30.0))
    (Batch(count=3, quantity=23.333333333333332),)
    >>> in_batches(50.0, BatchSizes(multiple=12.0, largest=30.0))
    (Batch(count=2, quantity=24.0), Batch(count=1, quantity=12.0))
    >>> in_batches(70.0, BatchSizes(largest=30.0, smallest=15.0, split="full"))
    (Batch(count=2, quantity=30.0), Batch(count=1, quantity=15.0))
    """
    fitting = sizes.fitting()
    if sizes.multiple is not None:
        batches = _in_multiples(round_up(quantity / sizes.multiple), sizes.multiple, fitting, sizes.split)
    elif fitting is None:
        batches = [Batch(1, quantity)]
    else:
        number = round_up(quantity / fitting)
        if sizes.split == "full":
            rest = quantity - (number - 1) * fitting
            # A rest that is a full batch but for the errors of floats is one: the cook weighs them alike.
            batches = [Batch(number - 1, fitting), Batch(1, fitting if abs(rest - fitting) <= TOLERANCE * quantity else rest)]
        else:
            batches = [Batch(number, quantity / number)]
    return _merged(batches, sizes.smallest)


def _in_multiples(multiples: int, multiple: float, fitting: float | None, split: str) -> list[Batch]:
    """Whole multiples dealt out over as few batches as fit: full ones and a rest, or larger ones first."""
    if fitting is None:
        return [Batch(1, multiples * multiple)]
    # ``fitting`` is in whole multiples: only floats can tell otherwise.
    most = round(fitting / multiple)
    number = -(-multiples // most)
    if split == "full":
        return [Batch(number - 1, most * multiple), Batch(1, (multiples - (number - 1) * most) * multiple)]
    each, extra = divmod(multiples, number)
    return [Batch(extra, (each + 1) * multiple), Batch(number - extra, each * multiple)]


def _merged(batches: list[Batch], smallest: float | None) -> tuple[Batch, ...]:
    """Batches under ``smallest`` raised to it, and those of one size counted together."""
    merged: list[Batch] = []
    for batch in batches:
        size = batch.quantity if smallest is None else max(batch.quantity, smallest)
        if batch.count == 0:
            continue
        if merged and merged[-1].quantity == size:
            merged[-1] = Batch(merged[-1].count + batch.count, size)
        else:
            merged.append(Batch(batch.count, size))
    return tuple(merged)
