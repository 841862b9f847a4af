"""Scalings: one recipe to a quantity, to portions, or to what is on hand of one item.

Responsible for choosing the version, site and units of a scaling. Refuses to know HTTP.
"""

from collections.abc import Collection
from dataclasses import replace
from datetime import date, datetime, time
from fractions import Fraction
from typing import Any, cast

from sqlalchemy.orm import Session

from service.errors import Fault, Invalid, KitchenError, NotFound
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.recipe import Version
from service.kitchen.book.site import Site
from service.kitchen.lists.scaling import Limits, ScaledRecipe, Scaler, draws, scaling_document
from service.kitchen.measures.units import Quantity, System
from service.kitchen.planning.plan import Plan
from service.limits import SCALING_FACTOR
from service.operations import in_force
from service.operations.loading import group_today, load_catalogue

LIMITS = Limits(float(SCALING_FACTOR.least), float(SCALING_FACTOR.most))


def scale(session: Session, code: str, request: dict[str, Any], now: datetime, sites: Collection[str] | None = None) -> ScaledRecipe:
    """A recipe's batches, lines and ingredients for a quantity or for what is on hand; raises NotFound, Invalid.

    ``sites`` are those that the caller is limited to (None: to none). Without a site in the request, such a
    caller's versions are those in force at the first of them; batch rule and units stay the recipe's own.
    """
    catalogue = load_catalogue(session)
    site = _site(catalogue, request["site"], sites)
    on = date.fromisoformat(request["on"]) if request["on"] else None
    if sites is not None and request["site"] is None:
        current = in_force.find(catalogue, code, sites, on, now)
        if current is None:
            raise NotFound("version in force of the recipe", code)
        site, on, version = replace(site, code=current.site or ""), current.on, current.version
    else:
        on = on or (site.calendar().business_date(now) if request["site"] else group_today(catalogue, now))
        version = _in_force(catalogue, code, request["site"], on)
    scaler = Scaler(catalogue, site, version, on)
    planned = _to_quantity(scaler, request["to"]) if request["to"]["quantity"] else _to_have(scaler, request["to"]["have"])
    return scaling_document(scaler, planned, cast(System, request["units"] or site.units))


def _in_force(catalogue: Catalogue, code: str, site: str | None, on: date) -> Version:
    version = catalogue.in_force(code, site, on)
    if version is None:
        raise NotFound("version in force of the recipe", code)
    return version


def _site(catalogue: Catalogue, code: str | None, sites: Collection[str] | None) -> Site:
    """The site that cooks; without one, a nameless kitchen without vessels."""
    if code is None:
        return Site(
            code="",
            name="",
            time_zone="UTC",
            units="metric",
            day_starts=time(4),
            buffer=Fraction(0),
            periods=(),
            station_map={},
            vessels={},
            pars=(),
        )
    site = catalogue.sites.get(code) if sites is None or code in sites else None
    if site is None:
        raise Invalid([Fault("/site", "unknown_site", f"there is no site {code}")])
    return site


def _to_quantity(scaler: Scaler, to: dict[str, Any]) -> Plan:
    try:
        quantity = float(scaler.version.conversions.to_stock(Quantity.read(to["quantity"])))
    except KitchenError as error:
        raise Invalid([Fault("/to/quantity/unit", error.code, error.detail)]) from error
    factor = quantity / scaler.authored()
    if not LIMITS.least <= factor <= LIMITS.most:
        detail = f"that is {factor:g} authored batches; ask for {LIMITS.least:g} to {LIMITS.most:g}"
        raise Invalid([Fault("/to/quantity/amount", "out_of_range", detail)])
    return scaler.run_to(quantity)


def _to_have(scaler: Scaler, have: dict[str, Any]) -> Plan:
    item = Item.read(have["item"])
    conversions = scaler.catalogue.conversions(item, scaler.site.code or None, scaler.on)
    if conversions is None or not draws(scaler.run_to(scaler.authored()), item):
        detail = f"{item.label} is nowhere in {scaler.version.recipe}; name an ingredient, form or recipe that it uses"
        raise Invalid([Fault("/to/have/item", "unknown_reference", detail)])
    try:
        amount = float(conversions.to_stock(Quantity.read(have["quantity"])))
    except KitchenError as error:
        raise Invalid([Fault("/to/have/quantity/unit", error.code, error.detail)]) from error
    quantity = scaler.limited_by(item, amount, LIMITS)
    if quantity is None:
        detail = "this is less than the smallest batch needs"
        raise Invalid([Fault("/to/have/quantity/amount", "out_of_range", detail)])
    return scaler.run_to(quantity)
