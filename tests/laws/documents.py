"""Documents of any collection, generated from the schemas of the interface themselves.

Responsible for legal JSON bodies of a schema, optional fields absent, null or given. Refuses to know what they mean.
"""

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from functools import cache
from typing import Any
from zoneinfo import available_timezones

from hypothesis import strategies as st
from marshmallow import Schema, fields

from service.api.fields import (
    AllergenName,
    Choice,
    CivilDate,
    Code,
    Currency,
    DegreeUnit,
    Duration,
    Flag,
    ItemReference,
    Keeps,
    Kinds,
    Many,
    Moment,
    MoneyText,
    Number,
    Object,
    QuantityField,
    Table,
    Text,
    TimeOfDay,
    WholeNumber,
    Zone,
)
from service.api.schemas.counts import Lot
from service.api.schemas.forecasts import Entry
from service.api.schemas.menu_items import MenuItemBody
from service.api.schemas.recipes import Active, DraftBody, Line, Passive, StepTime, Window
from service.kitchen.measures.calendar import parse_duration
from service.limits import ALLERGENS, CRITICAL_SCALING_RULES, FIRST_YEAR, LAST_YEAR, Span
from tests.laws.measures import Document

Values = st.SearchStrategy[Any]

CODES = st.from_regex(r"[a-z0-9][a-z0-9-]{0,8}", fullmatch=True)
LETTERS = st.characters(codec="utf-8", exclude_categories=("Cc", "Cs"))
MEASURES = ("g", "kg", "lbs", "Ounces", "mL", "cup", "metric_cup", "scoop_8", "ea", "dozen", "bunch", "can_10")
FRACTIONS = ("1/3", "2 1/2", "0.125", "7")
DURATIONS = ("PT0S", "PT15M", "PT1H30M", "PT24H", "P1D", "P1DT2H", "PT90S")
MOMENTS = ("2026-12-01T06:30:00-05:00", "2026-10-25T01:15:00.250Z", "2027-03-28t02:00:00+01:00")


@cache
def documents(schema: type[Schema]) -> Values:
    """Legal bodies of a schema."""
    special = SPECIAL.get(schema)
    plain = st.fixed_dictionaries(
        {_key(name, field): _values(field) for name, field in schema().fields.items() if field.required},
        optional={_key(name, field): _optional(field) for name, field in schema().fields.items() if not field.required},
    )
    return plain if special is None else special(plain)


def _key(name: str, field: fields.Field[Any]) -> str:
    return field.data_key or name


def _optional(field: fields.Field[Any]) -> Values:
    return st.none() | _values(field) if field.allow_none else _values(field)


def _values(field: fields.Field[Any]) -> Values:
    """The legal values of a field that are not null; a field of a new type needs a row in ``KNOWN``."""
    return next(values(field) for known, values in KNOWN.items() if isinstance(field, known))


def _objects(field: Object) -> Values:
    schema: type[Schema] = type(field.schema)
    return documents(schema)


def _texts(field: Text) -> Values:
    texts = st.text(LETTERS, min_size=0 if field.blank else 1, max_size=12)
    return texts if field.blank else texts.map(lambda text: text if text.strip() else "blank")


def _whole(span: Span) -> Values:
    return st.integers(int(span.least) + (1 if span.above else 0), int(span.most))


def _numbers(field: Number) -> Values:
    span = field.span
    least = Decimal(span.least) + (Decimal("0.0001") if span.above else 0)
    return st.decimals(least, Decimal(span.most), places=4) | _whole(span)


def _amounts(*, zero: bool) -> Values:
    decimals = st.decimals(Decimal("0.001"), 10_000, places=3)
    return st.integers(0 if zero else 1, 10_000) | decimals | st.sampled_from(FRACTIONS)


def _quantities(field: QuantityField) -> Values:
    units = [*MEASURES, *(["portion"] if field.portion else [])]
    return st.fixed_dictionaries({"amount": _amounts(zero=field.told), "unit": st.sampled_from(units)})


def _items(field: ItemReference) -> Values:
    raw = st.fixed_dictionaries({"ingredient": CODES}, optional={"form": st.none(), "recipe": st.none()})
    forms = st.fixed_dictionaries({"ingredient": CODES, "form": CODES})
    recipes = st.fixed_dictionaries({"recipe": CODES})
    return st.one_of(forms, recipes, *([raw] if field.raw else []))


def _allergens(_: AllergenName) -> Values:
    return st.sampled_from(ALLERGENS).flatmap(lambda name: st.sampled_from((name, f"{name}:northern")))


def _lists(field: Many) -> Values:
    entry = _values(field.inner)
    most = min(field.most, 3)
    if field.unique is None:
        return st.lists(entry, min_size=field.least, max_size=most)
    keys = field.unique
    return st.lists(entry, min_size=field.least, max_size=most, unique_by=lambda each: repr([each[key] for key in keys] if keys else each))


def _scalings(_: Kinds) -> Values:
    factors = st.lists(st.integers(1, 400), min_size=1, max_size=3, unique=True).map(sorted)
    points = factors.map(lambda quarters: [[Decimal(each) / 4, Decimal(each) / 5] for each in quarters])
    return st.one_of(
        st.sampled_from(({"rule": "linear"}, {"rule": "per_batch"})),
        st.fixed_dictionaries({"rule": st.just("power"), "exponent": st.sampled_from((1, Decimal("0.585")))}),
        st.fixed_dictionaries({"rule": st.just("tested"), "points": points}),
    )


KNOWN: dict[type[fields.Field[Any]], Callable[[Any], Values]] = {
    Object: _objects,
    Many: _lists,
    Text: _texts,
    Code: lambda _: CODES,
    Choice: lambda field: st.sampled_from(field.words),
    Flag: lambda _: st.booleans(),
    WholeNumber: lambda field: _whole(field.span),
    Number: _numbers,
    MoneyText: lambda _: st.decimals(0, 10_000, places=2).map(str) | st.sampled_from(("0", "12.5", "0.0001")),
    Currency: lambda _: st.sampled_from(("USD", "EUR")),
    QuantityField: _quantities,
    DegreeUnit: lambda _: st.sampled_from(("degC", "degF", "°C")),
    Duration: lambda field: st.sampled_from([each for each in DURATIONS if parse_duration(each) <= field.most]),
    Keeps: lambda _: st.sampled_from(("P0D", "P6D", "PT4H", "PT50H")),
    CivilDate: lambda _: st.dates(date(FIRST_YEAR, 1, 1), date(LAST_YEAR, 12, 31)).map(str),
    Moment: lambda _: st.sampled_from(MOMENTS),
    TimeOfDay: lambda _: st.times().map(lambda at: f"{at:%H:%M}"),
    Zone: lambda _: st.sampled_from(sorted(available_timezones())),
    ItemReference: _items,
    AllergenName: _allergens,
    Table: lambda _: st.dictionaries(CODES, CODES, max_size=3),
    Active: lambda _: st.sampled_from(DURATIONS) | documents(StepTime),
    Passive: lambda _: st.sampled_from(DURATIONS) | documents(Window),
    Kinds: _scalings,
}


def _in_rising_order(windows: Values) -> Values:
    return st.just({"min": "PT8H", "target": "PT720M", "max": "P1D"}) | windows.map(lambda window: dict.fromkeys(window, window["target"]))


def _in_their_place(lots: Values) -> Values:
    """Only ingredients as purchased are in store or in the kitchen."""

    def placed(lot: Document) -> Document:
        raw = not lot["item"].get("form") and not lot["item"].get("recipe")
        return lot if raw else {key: value for key, value in lot.items() if key != "in"}

    return lots.map(placed)


def _sold_in_order(sold: Values) -> Values:
    """The last date of sale is not before the first."""

    def ordered(item: Document) -> Document:
        if not (item.get("sold_from") and item.get("sold_until")):
            return item
        first, last = sorted((item["sold_from"], item["sold_until"]))
        return {**item, "sold_from": first, "sold_until": last}

    return sold.map(ordered)


def _with_one_key(entries: Values) -> Values:
    """An entry names a menu item or a till code."""

    def keyed(entry: Document) -> Document:
        if entry.get("till_code"):
            return {**entry, "menu_item": None}
        return {**entry, "menu_item": entry.get("menu_item") or "soup"}

    return entries.map(keyed)


def _uncritical(lines: Values) -> Values:
    """A critical line takes the rules that keep its proportion."""

    def eased(line: Document) -> Document:
        rule = line.get("scaling", {}).get("rule", "linear")
        return line if rule in CRITICAL_SCALING_RULES else {**line, "critical": False}

    return lines.map(eased)


@st.composite
def _numbered(draw: st.DrawFn, drafts: Values) -> Document:
    """Steps that lines name exist, and a percentage names other lines of the recipe."""
    draft: Document = dict(draw(drafts))
    steps = len(draft.get("steps", ()))
    lines = [{**line, "step": draw(st.integers(1, steps)) if steps else None} for line in draft.get("lines", ())]
    if len(lines) > 1 and draw(st.booleans()):
        amount = {"amount": draw(_amounts(zero=False)), "unit": draw(st.sampled_from(("percent", "%")))}
        lines[-1] |= {"quantity": amount, "scaling": {"rule": "percent", "of": list(range(1, len(lines)))}}
    return {**draft, "lines": lines} if lines else draft


SPECIAL: dict[type[Schema], Callable[[Values], Values]] = {
    Window: _in_rising_order,
    Lot: _in_their_place,
    Entry: _with_one_key,
    Line: _uncritical,
    DraftBody: _numbered,
    MenuItemBody: _sold_in_order,
}
