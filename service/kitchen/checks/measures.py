"""Checks of measures: equivalents, own measures and single quantities.

Responsible for the faults that domain U finds in one owner's quantities. Refuses to know what they are for.
"""

from collections.abc import Sequence

from service.errors import Fault, KitchenError
from service.kitchen.measures.equivalents import Conversions, Equivalent, contradictions
from service.kitchen.measures.units import Kind, Quantity


def equivalent_faults(equivalents: Sequence[Equivalent], conversions: Conversions, pointer: str) -> list[Fault]:
    """Pairs of one owner that contradict each other (U5), and measures that lead to no unit (U6)."""
    if not equivalents:
        return []
    faults = [Fault(f"{pointer}/{index}", "contradictory_equivalents", detail) for index, detail in contradictions(equivalents)]
    undefined = conversions.undefined()
    for index, pair in enumerate(equivalents):
        for side, quantity in (("a", pair.a), ("b", pair.b)):
            if quantity.unit in undefined:
                detail = f"no pair says what a {quantity.unit} is in a unit of the vocabulary; state 1 {quantity.unit} = … g, mL or each"
                faults.append(Fault(f"{pointer}/{index}/{side}/unit", "unknown_unit", detail))
    return faults


def quantity_faults(quantity: Quantity | None, conversions: Conversions, pointer: str, to: Kind | None = None) -> list[Fault]:
    """Whether a quantity reaches the item's stock kind, or another one; the fault points at its unit (U5)."""
    if quantity is None:
        return []
    try:
        conversions.check(quantity.unit, to)
    except KitchenError as error:
        return [Fault(f"{pointer}/unit", error.code, error.detail)]
    return []
