"""Checks of a recipe version: everything that would make a plan with it wrong.

Responsible for the faults and warnings of publishing (domain S2, S3, Y5, U5, H1, H2, P's loops) against a
catalogue that already holds the version. Refuses to know who publishes and how faults are shown.
"""

from collections.abc import Iterator, Mapping
from datetime import date
from fractions import Fraction
from typing import NamedTuple

from service.errors import Fault, KitchenError, RecipeLoop
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.lines import conversions_of, line_amount, looking_up
from service.kitchen.book.recipe import Version
from service.kitchen.book.vessels import vessel_sizes
from service.kitchen.checks.capacity import step_capacity_faults, without_load
from service.kitchen.checks.combined import combined_faults
from service.kitchen.checks.extent import extent_faults
from service.kitchen.checks.measures import equivalent_faults, quantity_faults
from service.kitchen.checks.safety import safety_faults
from service.kitchen.checks.users import Broken, broken_lines, broken_users
from service.kitchen.planning.sequence import active_between, depth, edges, ordered
from service.limits import DECIMALS, RECIPE_DEPTH

LEAST_COOKING_YIELD = Fraction(1, 4)
NEAR = 1 + Fraction(1, 10**9)


class Told(NamedTuple):
    """Something worth knowing that does not stand in the way of publishing."""

    code: str
    detail: str


def version_faults(catalogue: Catalogue, version: Version, today: date) -> list[Fault]:
    """Every reason why a version that the catalogue already holds cannot be published; pointers are into its draft."""
    faults = [*_own_faults(catalogue, version), *safety_faults(version)]
    if measureless(faults):
        return faults
    faults += _batch_faults(version)
    faults += _by_product_faults(catalogue, version)
    faults += _base_faults(version)
    faults += _line_faults(catalogue, version, max(today, version.starts_on))
    faults += combined_faults(catalogue, version, today)
    faults += [*_mass_faults(catalogue, version)]
    return faults


def measureless(faults: list[Fault]) -> bool:
    """Whether the faults leave open what the yield measures, so that nothing that rests on it can be judged."""
    return any(fault.pointer.startswith(("/yield/unit", "/equivalents", "/portion")) for fault in faults)


def group_faults(catalogue: Catalogue, published: list[Version], today: date) -> dict[str, list[Fault]]:
    """What is wrong between recipes once some versions are published: loops, depth, and users that they break, by recipe."""
    faults: dict[str, list[Fault]] = {version.recipe: [] for version in published}
    active = _all_in_force(catalogue, today)
    try:
        after = ordered(edges(catalogue, active))
    except RecipeLoop as loop:
        for version in published:
            if version.recipe in loop.path:
                faults[version.recipe].append(Fault(_loop_pointer(version, loop), loop.code, loop.detail))
        # Of a loop through recipes that only call what is published, the first published one tells.
        if not any(faults.values()):
            faults[published[0].recipe].append(Fault("", loop.code, loop.detail))
        return faults
    for recipe, fault in (*_depth_faults(published, depth(after)), *extent_faults(catalogue, published, active, after, today)):
        faults[recipe].append(fault)
    changed = frozenset(version.item for version in published)
    # Asked once for all; whose fault it is, version by version, only where something is broken.
    if broken_users(catalogue, changed, today, but=frozenset(faults)):
        for version in published:
            broken = broken_users(catalogue, frozenset({version.item}), today, but=frozenset(faults))
            faults[version.recipe] += [Fault("", each.error.code, _of_user(each)) for each in broken]
    return faults


def _all_in_force(catalogue: Catalogue, today: date) -> list[Version]:
    """The union of all versions that can be in force from a date on at any site (P)."""
    active: dict[Version, None] = {}
    for site in catalogue.audiences:
        active.update(dict.fromkeys(active_between(catalogue, site, today)))
    return list(active)


def _of_user(broken: Broken) -> str:
    where = f" at site {broken.place.site}" if broken.place.site else ""
    return f"{broken.user}{where} from {broken.place.on} could no longer be served: {broken.error.detail}"


def _loop_pointer(version: Version, loop: RecipeLoop) -> str:
    """The first line that leads into the loop."""
    return next((f"/lines/{index}/item" for index, line in enumerate(version.lines) if line.item.label in loop.path), "")


def _depth_faults(published: list[Version], deep: Mapping[Item, int]) -> Iterator[tuple[str, Fault]]:
    """Versions that stand too deep on others; where only their users would, all that are published."""
    deepest = max(deep.values(), default=0)
    if deepest <= RECIPE_DEPTH:
        return
    too_deep = [version for version in published if deep.get(version.item, 0) > RECIPE_DEPTH] or published
    for version in too_deep:
        yield version.recipe, Fault("/lines", "out_of_range", f"sub-recipes would stand {deepest} deep; at most {RECIPE_DEPTH} are planned")


def _own_faults(catalogue: Catalogue, version: Version) -> Iterator[Fault]:
    """Measures, stations and the kind of the yield, which never changes (P1)."""
    yield from equivalent_faults(version.equivalents, version.loose_conversions, "/equivalents")
    if version.broken_yield is not None:
        yield Fault("/yield/unit", version.broken_yield.code, version.broken_yield.detail)
        return
    yield from quantity_faults(version.portion, version.conversions, "/portion")
    earlier = [each for each in catalogue.versions[version.recipe] if each.number < version.number]
    if earlier and earlier[-1].kind != version.kind:
        detail = f"versions before make a {earlier[-1].kind}, this one a {version.kind}: use a new recipe for it"
        yield Fault("/yield/unit", "yield_kind_changed", detail)
    if version.station not in catalogue.stations:
        yield Fault("/station", "unknown_reference", f"there is no station {version.station}")
    for index, step in enumerate(version.steps):
        if step.station not in catalogue.stations and step.station != version.station:
            yield Fault(f"/steps/{index}/station", "unknown_reference", f"there is no station {step.station}")
    yield from step_capacity_faults(catalogue, version)


def _batch_faults(version: Version) -> list[Fault]:
    """Check that multiple ≤ smallest ≤ largest, smallest in whole multiples (S3)."""
    rule, conversions = version.batch, version.conversions
    faults = [
        fault
        for name, quantity in (("multiple", rule.multiple), ("smallest", rule.smallest), ("largest", rule.largest))
        for fault in quantity_faults(quantity, conversions, f"/batch/{name}")
    ]
    if not faults and not version.own_sizes.fits():
        detail = "keep multiple ≤ smallest ≤ largest, smallest in whole multiples (a counted yield has multiple 1 unless it says so)"
        faults.append(Fault("/batch", "batch_rule", detail))
    return faults


def _by_product_faults(catalogue: Catalogue, version: Version) -> list[Fault]:
    faults: list[Fault] = []
    for index, (code, quantity) in enumerate(version.by_products):
        pointer = f"/by_products/{index}"
        if code not in catalogue.ingredients:
            faults.append(Fault(f"{pointer}/ingredient", "unknown_reference", f"there is no ingredient {code}"))
        else:
            faults += quantity_faults(quantity, catalogue.ingredients[code].conversions(), f"{pointer}/quantity")
    return faults


def _base_faults(version: Version) -> list[Fault]:
    """Base lines of a percentage are linear (S2)."""
    faults = []
    for index, line in enumerate(version.lines):
        for position, number in enumerate(line.scaling.of):
            base = version.lines[number - 1]
            if base.scaling.rule != "linear":
                detail = f"line {number} scales by {base.scaling.rule}; a percentage is of linear lines"
                faults.append(Fault(f"/lines/{index}/scaling/of/{position}", "rule_not_allowed", detail))
    return faults


def _line_faults(catalogue: Catalogue, version: Version, on: date) -> Iterator[Fault]:
    """References and measures of the lines, wherever and whenever the version is in force."""
    broken = {each.pointer: each for each in broken_lines(catalogue, version, on)}
    for index, line in enumerate(version.lines):
        pointer = f"/lines/{index}"
        missing = _missing(catalogue, line.item)
        if missing:
            yield Fault(f"{pointer}/item", "unknown_reference", missing)
        elif pointer in broken:
            yield _line_fault(version, index, broken[pointer])


def _missing(catalogue: Catalogue, item: Item) -> str | None:
    if item.is_recipe:
        return None if catalogue.published(item.code) else f"recipe {item.code} has no published version"
    ingredient = catalogue.ingredients.get(item.code)
    if ingredient is None:
        return f"there is no ingredient {item.code}"
    if item.form is not None and ingredient.form(item.form) is None:
        known = ", ".join(form.code for form in ingredient.forms) or "none"
        return f"{item.code} has no form {item.form} (its forms: {known})"
    return None


def _line_fault(version: Version, index: int, broken: Broken) -> Fault:
    line, error = version.lines[index], broken.error
    if error.code == "unknown_reference":
        where = f" at site {broken.place.site}" if broken.place.site else ""
        return Fault(f"{broken.pointer}/item", error.code, f"{error.detail}{where} on {broken.place.on}")
    pointer = f"{broken.pointer}/scaling/of" if line.scaling.rule == "percent" else f"{broken.pointer}/quantity/unit"
    return Fault(pointer, error.code, error.detail)


def _mass_faults(catalogue: Catalogue, version: Version) -> Iterator[Fault]:
    """Output must not exceed input where all of it has a mass, unless the recipe gains water (Y5)."""
    balance = None if version.gains_water else mass_balance(catalogue, version)
    if balance is not None and balance.gives > balance.takes * NEAR:
        detail = (
            f"the lines weigh {float(balance.takes):g} g and the yield with by-products {float(balance.gives):g} g; "
            "set gains_water if it takes up water that is no line"
        )
        yield Fault("/yield/amount", "output_exceeds_input", detail)


class MassBalance(NamedTuple):
    """The mass of an authored batch: lines (a form's EP), yield with by-products, and the yield alone, in grams (Y5)."""

    takes: Fraction
    gives: Fraction
    makes: Fraction


def mass_balance(catalogue: Catalogue, version: Version) -> MassBalance | None:
    """The mass of an authored batch, or None where some of it does not convert to mass (Y5)."""
    site = min(version.sites) if version.sites else None
    lookup = looking_up(catalogue, site, version.starts_on)
    try:
        makes = version.conversions.convert(version.makes, "mass")
        gives = makes + sum(
            (catalogue.ingredients[code].conversions().convert(quantity, "mass") for code, quantity in version.by_products), Fraction(0)
        )
        takes = Fraction(0)
        for line in version.lines:
            conversions = conversions_of(line.item, lookup)
            if line.scaling.rule == "percent":
                takes += Fraction(line_amount(version, line, lookup).shown)
            else:
                conversions.check(line.quantity.unit)
                mass, multiple = conversions.convert(line.quantity, "mass"), line.scaling.multiple(1.0)
                takes += mass if multiple == 1 else mass * Fraction(multiple)
    except (KitchenError, KeyError):
        return None
    return MassBalance(takes, gives, makes)


def version_notes(catalogue: Catalogue, version: Version) -> list[Told]:
    """What the publisher should know: a low cooking yield (Y5), vessels that no longer fit (S3), equipment without a load (K4)."""
    told: list[Told] = []
    balance = mass_balance(catalogue, version)
    if balance is not None and balance.takes and balance.gives < balance.takes * LEAST_COOKING_YIELD:
        part = float(balance.gives / balance.takes)
        told.append(Told("low_cooking_yield", f"only {part:.1%} of what goes in comes out; check the yield"))
    owners = (site for site in catalogue.sites.values() if version.recipe in site.vessels and version.applies_to(site.code))
    told += [
        Told("vessel_too_small", f"the vessel of {site.name} no longer fits the batch rule; plans leave it out")
        for site in sorted(owners, key=lambda each: each.code)
        if vessel_sizes(version, site.vessels[version.recipe]) is None
    ]
    if unstated := without_load(catalogue, version):
        detail = f"no site states a load of {', '.join(unstated)} that converts for {version.title}: each batch goes in by itself"
        told.append(Told("batch_at_a_time", detail))
    return told


def cooking_yield(catalogue: Catalogue, version: Version) -> float | None:
    """The mass that the recipe makes of what goes in, to nine decimals, where all of it has a mass (Y5)."""
    balance = mass_balance(catalogue, version)
    return round(float(balance.makes / balance.takes), DECIMALS) if balance is not None and balance.takes else None
