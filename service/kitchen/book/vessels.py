"""Vessels: which batch rule a site cooks a recipe by.

Responsible for joining a version's batch rule with a site's vessel (domain S3). Refuses to know runs.
"""

from dataclasses import replace

from service.errors import KitchenError
from service.kitchen.book.recipe import Version
from service.kitchen.book.site import Site
from service.kitchen.measures.batches import BatchSizes
from service.kitchen.measures.units import Quantity


def vessel_sizes(version: Version, vessel: Quantity) -> BatchSizes | None:
    """The batch rule with a vessel that is smaller than the recipe's largest batch, or the only limit; None where it does not fit (S3)."""
    sizes = version.own_sizes
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
        return version.own_sizes, False
    sizes = vessel_sizes(version, vessel)
    return (version.own_sizes, True) if sizes is None else (sizes, False)
