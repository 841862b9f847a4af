"""Checks of an ingredient: its forms, cuts, by-products and measures.

Responsible for the faults that domain Y finds in one ingredient. Refuses to know which recipes use it.
"""

from collections.abc import Iterator
from fractions import Fraction

from service.errors import Fault, KitchenError
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.ingredient import Form, Ingredient
from service.kitchen.book.json import Document
from service.kitchen.book.lines import trimmings
from service.kitchen.checks.measures import equivalent_faults, quantity_faults
from service.kitchen.measures.units import Quantity

WHOLE = 1 + Fraction(1, 10**9)


def ingredient_faults(catalogue: Catalogue, code: str, document: Document) -> list[Fault]:
    """Everything wrong with an ingredient against a catalogue that already holds it (Y2, Y6, Y7, U5)."""
    ingredient = catalogue.ingredients[code]
    conversions = ingredient.conversions()
    faults = equivalent_faults(ingredient.equivalents, conversions, "/equivalents")
    faults += quantity_faults(ingredient.piece, conversions, "/piece")
    if ingredient.piece is None and any(form.whole for form in ingredient.forms):
        faults.append(Fault("/piece", "required", "a form that draws whole pieces needs `piece`, the AP of one"))
    for index, form in enumerate(ingredient.forms):
        faults += _form_faults(catalogue, ingredient, form, f"/forms/{index}")
    faults += _cut_faults(ingredient)
    for index, pack in enumerate(document["packs"]):
        faults += quantity_faults(Quantity.read(pack["quantity"]), conversions, f"/packs/{index}/quantity")
        if pack["site"] is not None and pack["site"] not in catalogue.sites:
            faults.append(Fault(f"/packs/{index}/site", "unknown_reference", f"there is no site {pack['site']}"))
    return faults


def _form_faults(catalogue: Catalogue, ingredient: Ingredient, form: Form, pointer: str) -> Iterator[Fault]:
    conversions = ingredient.conversions(form.code)
    if form.station not in catalogue.stations:
        yield Fault(f"{pointer}/station", "unknown_reference", f"there is no station {form.station}")
    yield from equivalent_faults(form.equivalents, conversions, f"{pointer}/equivalents")
    if form.active is not None:
        yield from quantity_faults(form.active.per, conversions, f"{pointer}/active/per")
    if form.trim_yield + sum(fraction for _, fraction in form.by_products) > WHOLE:
        yield Fault(f"{pointer}/trim_yield", "out_of_range", "trim yield and by-products together are more than the AP drawn")
    for index, (code, fraction) in enumerate(form.by_products):
        at = f"{pointer}/by_products/{index}"
        if code not in catalogue.ingredients:
            yield Fault(f"{at}/ingredient", "unknown_reference", f"there is no ingredient {code}")
        elif code == ingredient.code:
            yield Fault(f"{at}/ingredient", "loop", f"{ingredient.code}/{form.code} → {code}: trimming cannot give what is trimmed")
        else:
            try:
                trimmings(catalogue, ingredient.code, fraction, code)
            except KitchenError as error:
                yield Fault(f"{at}/fraction", error.code, error.detail)


def _cut_faults(ingredient: Ingredient) -> Iterator[Fault]:
    """Trim yields and by-products of a cut sum to at most 1 (Y7)."""
    totals: dict[str, Fraction] = {}
    for index, form in enumerate(ingredient.forms):
        if form.cut is None:
            continue
        alone = form.trim_yield + sum(fraction for _, fraction in form.by_products)
        totals[form.cut] = totals.get(form.cut, Fraction(0)) + alone
        if totals[form.cut] > WHOLE >= alone:
            detail = f"the forms of cut {form.cut} and their by-products are together more than the AP drawn"
            yield Fault(f"/forms/{index}/trim_yield", "out_of_range", detail)
