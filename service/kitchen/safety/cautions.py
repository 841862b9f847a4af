"""Cautions: what an answer says beside its safety steps and allergens.

Responsible for the sentences of domain H3 and for when they are said. Refuses to know what a list, a scaling
or a report is.
"""

SAFETY_CAUTION = (
    "Times and temperatures here are planning aids. Follow your local food code and the site's licensed food-safety plan; "
    "where they are stricter, they hold."
)
ALLERGEN_CAUTION = (
    "Allergens are rolled up from the catalogue's records. Check the labels of what is actually used and guard against cross-contact; "
    "follow local law and the site's allergen procedure."
)


def cautions(*, allergens: bool, guarded: bool) -> list[str]:
    """What an answer says that tells of allergens, or of steps that something is to be kept to (H3).

    >>> len(cautions(allergens=False, guarded=True)), len(cautions(allergens=True, guarded=False))
    (1, 2)
    """
    return ([ALLERGEN_CAUTION] if allergens else []) + ([SAFETY_CAUTION] if allergens or guarded else [])
