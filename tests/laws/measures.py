"""Measures of generated things: equivalents that agree with each other, and quantities written in units that the thing knows.

Responsible for quantities as documents. Refuses to know what things are for.
"""

from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from service.kitchen.measures.units import Kind, factor
from tests.laws.dice import Dice

Document = dict[str, Any]

WRITTEN: dict[Kind, tuple[str, ...]] = {
    "mass": ("g", "kg", "oz", "lb"),
    "volume": ("mL", "L", "cup", "quart", "tbsp"),
    "count": ("each", "dozen"),
}
PLAIN: dict[Kind, str] = {"mass": "g", "volume": "mL", "count": "each"}
# About what a kitchen handles of a thing, in its canonical unit.
USUAL: dict[Kind, float] = {"mass": 1000.0, "volume": 1000.0, "count": 12.0}
OWN_MEASURES: dict[Kind, tuple[str, int]] = {"mass": ("bunch", 300), "volume": ("jug", 400), "count": ("tray", 24)}


@dataclass(frozen=True)
class Thing:
    """What a line, a lot or a par can name, and how its quantities can be written.

    ``ratios``: canonical units of a kind in one canonical unit of the stock kind; ``measures``: the size of the thing's own
    measures in its canonical unit.
    """

    item: Document
    kind: Kind
    ratios: dict[Kind, float] = field(default_factory=dict)
    measures: dict[str, float] = field(default_factory=dict)

    @property
    def weighed(self) -> bool:
        return self.kind == "mass" or "mass" in self.ratios

    def quantity(self, dice: Dice, amount: float) -> Document:
        """About ``amount`` canonical units, in any unit that the thing knows."""
        if self.measures and dice.chance(25):
            name = dice.pick(*sorted(self.measures))
            return {"amount": plain(amount / self.measures[name]), "unit": name}
        kind = dice.pick(self.kind, self.kind, *sorted(self.ratios))
        unit = dice.pick(*WRITTEN[kind])
        number = amount * self.ratios.get(kind, 1.0) / float(factor(unit))
        if 0.4 < number < 20 and dice.chance(10):
            return {"amount": f"{int(number)} 1/3" if int(number) else "1/3", "unit": unit}
        return {"amount": plain(number), "unit": unit}


def plain(number: float) -> int | Decimal:
    """A number of three digits and at most six decimals, above nothing, as strict JSON would read it."""
    rounded = max(Decimal(f"{Decimal(f'{number:.3g}'):.6f}"), Decimal("0.000001"))
    return int(rounded) if rounded == rounded.to_integral_value() else rounded.normalize()


def quantity(amount: float, kind: Kind) -> Document:
    return {"amount": plain(amount), "unit": PLAIN[kind]}


def equivalents(dice: Dice, kind: Kind) -> tuple[list[Document], dict[Kind, float]]:
    """Stated pairs of one owner, and the kinds that the stock kind crosses to by them."""
    density, weight = dice.pick(1.0, 0.8, 0.5, 1.25), dice.pick(50, 20, 200, 400)
    litre, cup = {"amount": 1, "unit": "L"}, {"amount": 1, "unit": "cup"}
    by_volume: Document = dice.pick(
        {"a": litre, "b": {"amount": plain(1000 * density), "unit": "g"}},
        {"a": cup, "b": {"amount": Decimal(f"{236.5882365 * density:.4f}").normalize(), "unit": "g"}},
    )
    some = dice.pick(1, 10)
    by_piece: Document = {"a": {"amount": some, "unit": "each"}, "b": {"amount": some * weight, "unit": "g"}}
    stated: list[Document] = dice.pick([], [by_volume], [by_piece], [by_volume, by_piece], [by_piece, by_volume])
    grams: dict[Kind, float] = {"mass": 1.0}
    if by_volume in stated:
        grams["volume"] = density
    if by_piece in stated:
        grams["count"] = float(weight)
    if kind not in grams:
        return stated, {}
    return stated, {other: grams[kind] / grams[other] for other in sorted(grams) if other != kind}


def own_measure(dice: Dice, kind: Kind, stated: list[Document]) -> dict[str, float]:
    """Perhaps a measure that the item names itself; it is added to what is stated."""
    if not dice.chance(25):
        return {}
    name, size = OWN_MEASURES[kind]
    stated.append({"a": {"amount": 1, "unit": name}, "b": {"amount": size, "unit": PLAIN[kind]}})
    return {name: float(size)}
