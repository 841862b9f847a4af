"""Ingredients: what is bought, the forms it is made ready in, and what trimming gives besides.

Responsible for the values of domain Y that belong to an ingredient, its packs and its worth as a
by-product. Refuses to know recipes, stock and prices' arithmetic.
"""

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from typing import Any

from service.kitchen.book.handson import HandsOn, read_hands_on, read_time
from service.kitchen.book.item import Item
from service.kitchen.book.json import Document
from service.kitchen.book.packs import Pack, read_pack
from service.kitchen.measures.calendar import ZERO, Keeps, parse_duration, whole_minutes
from service.kitchen.measures.equivalents import Conversions, Equivalent
from service.kitchen.measures.money import Money, read_money
from service.kitchen.measures.units import CANONICAL, ONE_EACH, Kind, Quantity
from service.limits import HANDS_ON_DAYS

HANDS_ON = timedelta(days=HANDS_ON_DAYS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """One way an ingredient is made ready, with its trim yield (EP ÷ AP), station, keeping time, and the lead that it states."""

    ingredient: str
    code: str
    name: str
    station: str
    trim_yield: Fraction
    cut: str | None
    whole: bool
    by_products: tuple[tuple[str, Fraction], ...]
    keeps: Keeps
    makes_for: int
    lead: timedelta | None
    equivalents: tuple[Equivalent, ...]
    active: HandsOn | None

    @property
    def item(self) -> Item:
        """The form as an item."""
        return Item(self.ingredient, self.code)


@dataclass(frozen=True, eq=False, kw_only=True)
class Ingredient:
    """An ingredient as purchased, kept in one kind of quantity (mass, volume or count).

    ``value`` is what a kilo, a litre or a piece of it is credited with where it is a by-product (C1). What is ``on_tap`` is
    neither pulled nor ordered, and costs nothing unless it has a price (P13, C1).
    """

    code: str
    name: str
    kind: Kind
    piece: Quantity | None
    equivalents: tuple[Equivalent, ...]
    contains: frozenset[str]
    may_contain: frozenset[str]
    storage: str | None
    thaw: timedelta
    keeps: Keeps | None
    forms: tuple[Form, ...]
    on_tap: bool = False
    value: Money | None = None
    packs: tuple[Pack, ...] = ()

    @cached_property
    def item(self) -> Item:
        """The ingredient as an item."""
        return Item(self.code)

    def form(self, code: str) -> Form | None:
        """The form of that code, if the ingredient has it."""
        return next((form for form in self.forms if form.code == code), None)

    def conversions(self, form: str | None = None) -> Conversions:
        """How quantities of the ingredient, or of one of its forms, cross kinds: the form's own pairs first (U5)."""
        known = self._conversions.get(form)
        if known is None:
            known = self._conversions[form] = self._crossing(self.form(form) if form else None)
        return known

    def _crossing(self, form: Form | None) -> Conversions:
        """By the pairs of a form, then the ingredient's; as purchased, one each is its piece where no pair says what it is (U5, Y6)."""
        owners = [form.equivalents, self.equivalents] if form else [self.equivalents]
        label = f"{self.code}/{form.code}" if form else self.code
        stated = Conversions(label, owners, self.kind)
        if form or self.piece is None or stated.crosses("count", self.kind):
            return stated
        return Conversions(label, [*owners, [Equivalent(ONE_EACH, self.piece)]], self.kind)

    @cached_property
    def _conversions(self) -> dict[str | None, Conversions]:
        return {}

    @cached_property
    def piece_amount(self) -> float | None:
        """The AP of one piece in the canonical unit of the stock kind (Y6)."""
        return None if self.piece is None else float(self.conversions().to_stock(self.piece))

    def hands_on(self, form: Form, amount: float) -> timedelta:
        """Hands-on time of making so much of a form ready, in the stock kind: set_up + time × EP ÷ per; none where it states none (T1)."""
        if form.active is None:
            return ZERO
        return form.active.of(amount, self.conversions(form.code))

    def lead(self, form: Form, amount: float) -> timedelta:
        """How long before it is needed making so much of a form ready starts: as stated, else its hands-on time, up to two days (T2)."""
        return min(whole_minutes(self.hands_on(form, amount)), HANDS_ON) if form.lead is None else form.lead

    def leads(self, form: Form) -> tuple[timedelta, timedelta]:
        """The shortest and the longest lead that a form can have, however much is made (T2)."""
        if form.lead is not None:
            return form.lead, form.lead
        return ZERO, ZERO if form.active is None else HANDS_ON

    def cut_of(self, form: Form) -> tuple[Form, ...]:
        """The forms that come out of the same pieces as this one, itself included, as authored (Y7)."""
        if form.cut is None:
            return (form,)
        return tuple(other for other in self.forms if other.cut == form.cut)


def read_equivalents(documents: list[Document]) -> tuple[Equivalent, ...]:
    """The stated pairs of one owner, in their order (U5)."""
    return tuple(Equivalent(Quantity.read(each["a"]), Quantity.read(each["b"]), each.get("source")) for each in documents)


def read_quantity(document: Document | None) -> Quantity | None:
    """A quantity, or None where the document states none."""
    return None if document is None else Quantity.read(document)


def exact(number: Any) -> Fraction:
    """A decimal of a document as the exact number it was authored as (U4: 0.1 means 1/10)."""
    return Fraction(number) if isinstance(number, (int, Decimal)) else Fraction(str(number))


def read_form(ingredient: str, document: Document) -> Form:
    """A form of an ingredient from its document."""
    active = document["active"]
    return Form(
        ingredient=ingredient,
        code=document["code"],
        name=document["name"],
        station=document["station"],
        trim_yield=exact(document["trim_yield"]),
        cut=document["cut"],
        whole=document["whole"],
        by_products=tuple((each["ingredient"], exact(each["fraction"])) for each in document["by_products"]),
        keeps=Keeps.read(document["keeps"]),
        makes_for=int(document["makes_for"]),
        lead=None if document["lead"] is None else parse_duration(document["lead"]),
        equivalents=read_equivalents(document["equivalents"]),
        active=None if active is None else read_hands_on(active),
    )


def read_ingredient(code: str, document: Document) -> Ingredient:
    """An ingredient from its document."""
    kind: Kind = document["kind"]
    if kind not in CANONICAL:
        raise ValueError(f"{kind!r} is no stock kind")
    return Ingredient(
        code=code,
        name=document["name"],
        kind=kind,
        piece=read_quantity(document["piece"]),
        equivalents=read_equivalents(document["equivalents"]),
        contains=frozenset(document["contains"]),
        may_contain=frozenset(document["may_contain"]),
        storage=document["storage"],
        thaw=read_time(document["thaw"]),
        keeps=None if document["keeps"] is None else Keeps.read(document["keeps"]),
        forms=tuple(read_form(code, each) for each in document["forms"]),
        on_tap=document["on_tap"],
        value=read_money(document["value"]),
        packs=tuple(read_pack(each) for each in document["packs"]),
    )
