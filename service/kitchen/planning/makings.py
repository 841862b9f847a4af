"""Makings: how a version is made, as plain numbers that every plan of a catalogue shares.

Responsible for what a run needs of its version, computed once for the versions of its parts that are in force (domain P12, S2,
Y3). Refuses to know how much is made, and when.
"""

from collections.abc import Iterator
from datetime import date
from typing import NamedTuple

from service.errors import ServiceError
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.lines import LineAmount, by_product_amounts, line_amounts, looking_up
from service.kitchen.book.recipe import Line, Version
from service.kitchen.book.site import Site
from service.kitchen.book.vessels import batch_sizes
from service.kitchen.measures.batches import BatchSizes


class MadeLine(NamedTuple):
    """A line with its amount in an authored batch, or why it has none."""

    line: Line
    amount: LineAmount | ServiceError


class Making(NamedTuple):
    """A version as numbers: its yield in the stock kind, its lines, those with an amount, and what an authored batch gives besides."""

    authored: float
    lines: tuple[MadeLine, ...]
    amounts: tuple[LineAmount, ...]
    gives: tuple[tuple[Item, float], ...]


def making_of(catalogue: Catalogue, site: str, version: Version, on: date) -> Making:
    """How a version is made at a site, its lines converted by the versions in force on a date (P12)."""
    parts = tuple(_numbers(catalogue, site, version, on))
    return catalogue.once(("making", version.recipe, version.number, parts), lambda: _make(catalogue, site, version, on))


def sizes_of(catalogue: Catalogue, site: Site, version: Version) -> tuple[BatchSizes, bool]:
    """The batch rule that a site cooks a version by, and whether its vessel had to be left out (S3)."""
    key = ("sizes", version.recipe, version.number, site.vessels.get(version.recipe))
    return catalogue.once(key, lambda: batch_sizes(version, site))


def _numbers(catalogue: Catalogue, site: str, version: Version, on: date) -> Iterator[int | None]:
    """Which versions of its parts are in force: lines of one choice of them are converted alike."""
    for line in version.lines:
        if line.item.is_recipe:
            part = catalogue.in_force(line.item.code, site, on)
            yield part.number if part else None


def _make(catalogue: Catalogue, site: str, version: Version, on: date) -> Making:
    amounts = line_amounts(version, looking_up(catalogue, site, on))
    lines = tuple(MadeLine(line, amount) for line, amount in zip(version.lines, amounts, strict=True))
    authored = float(version.conversions.to_stock(version.makes))
    known = tuple(amount for amount in amounts if isinstance(amount, LineAmount))
    return Making(authored, lines, known, tuple(by_product_amounts(catalogue, version)))
