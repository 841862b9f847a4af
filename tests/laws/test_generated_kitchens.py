"""What the laws are tested on: kitchens that could be published, in which everything that the laws are about occurs."""

from collections import Counter
from datetime import date, timedelta

from service.errors import Fault
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.recipe import Version
from service.kitchen.checks.ingredient import ingredient_faults
from service.kitchen.checks.recipe import group_faults, version_faults
from service.kitchen.checks.selling import menu_item_faults, site_faults
from tests.laws.cookbook import LONG_AGO
from tests.laws.features import FEATURES, features
from tests.laws.kitchens import Kitchen, kitchens
from tests.laws.law import law, surveyed

EXAMPLES = 300


@law(kitchens())
def test_a_generated_kitchen_passes_every_check_of_publishing(kitchen: Kitchen) -> None:
    assert _faults(kitchen, kitchen.first - LONG_AGO) == []


def _faults(kitchen: Kitchen, today: date) -> list[Fault]:
    """All that the checks find: documents on the day on which the first versions begin, then one later version after the other."""
    full = kitchen.catalogue
    documents = kitchen.documents
    opening = _up_to(full, 1)
    found = [fault for code in full.ingredients for fault in ingredient_faults(opening, code, documents["ingredients"][code])]
    found += _version_faults(opening, [versions[0] for versions in full.versions.values()], today)
    found += [fault for code in full.menu_items for fault in menu_item_faults(opening, code, today)]
    for code, site in full.sites.items():
        found += site_faults(opening, code, list(site.vessels), today)
    later = [versions[1] for versions in full.versions.values() if len(versions) > 1]
    for version in sorted(later, key=lambda each: each.starts_on):
        found += _version_faults(full, [version], kitchen.first - timedelta(days=1))
    return found


def _version_faults(catalogue: Catalogue, published: list[Version], today: date) -> list[Fault]:
    found = [fault for version in published for fault in version_faults(catalogue, version, today)]
    return found + [fault for faults in group_faults(catalogue, published, today).values() for fault in faults]


def _up_to(catalogue: Catalogue, number: int) -> Catalogue:
    """The catalogue before versions above a number were published."""
    versions = {code: tuple(each for each in found if each.number <= number) for code, found in catalogue.versions.items()}
    return Catalogue(
        stations=catalogue.stations,
        ingredients=catalogue.ingredients,
        versions=versions,
        menu_items=catalogue.menu_items,
        sites=catalogue.sites,
        drafted=catalogue.drafted,
    )


def test_every_feature_matters_in_at_least_one_kitchen_of_twenty() -> None:
    seen: Counter[str] = Counter()
    kitchens_seen = 0

    @surveyed(EXAMPLES, kitchens())
    def look(kitchen: Kitchen) -> None:
        nonlocal kitchens_seen
        kitchens_seen += 1
        seen.update(features(kitchen, kitchen.plan()))

    look()
    assert kitchens_seen >= EXAMPLES
    assert {feature: seen[feature] for feature in sorted(FEATURES) if seen[feature] < kitchens_seen / 20} == {}
