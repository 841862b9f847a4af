"""Vessels: which batch rule a site cooks a recipe by.

Responsible for joining a version's batch rule with a site's vessel (domain S3). Refuses to know runs.
"""

from dataclasses import replace

from service.errors import KitchenError
from service.kitchen.book.recipe import Version
from service.kitchen.book.site import Site
from service.kitchen.measures.batches import BatchSizes
from service.kitchen.measures.units import Quantity


def recipe_sizes(version: Version) -> BatchSizes:
    """A version's own batch rule in the canonical unit of its yield; a count yield has a multiple of one unless it says so (S3)."""
    conversions = version.conversions

    def amount(quantity: Quantity | None) -> float | None:
        return None if quantity is None else float(conversions.to_stock(quantity))

    multiple = amount(version.batch.multiple)
    if multiple is None and version.kind == "count":
        multiple = 1.0
    return BatchSizes(multiple, amount(version.batch.smallest), amount(version.batch.largest), version.batch.split)


def vessel_sizes(version: Version, vessel: Quantity) -> BatchSizes | None:
    """The batch rule with a vessel that is smaller than the recipe's largest batch, or the only limit; None where it does not fit (S3)."""
    sizes = recipe_sizes(version)
    try:
        holds = float(version.conversions.to_stock(vessel))
    except KitchenError:
        return None
    limited = replace(sizes, largest=holds if sizes.largest is None else min(holds, sizes.largest))
    return limited if limited.fits() else None


def batch_sizes(version: Version, site: Site | None) -> tuple[BatchSizes, bool]:
    """The batch rule that a site cooks a version by, and whether its vessel had to be left out (S3)."""
    vessel = site.vessels.get(version.recipe) if site else None
    if vessel is None:
        return recipe_sizes(version), False
    sizes = vessel_sizes(version, vessel)
    return (recipe_sizes(version), True) if sizes is None else (sizes, False)
