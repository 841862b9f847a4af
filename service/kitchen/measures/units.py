"""Units: the kitchen's closed vocabulary, and quantities as authored.

Responsible for what a unit is called (U2), its kind and exact size (U1, U3). The sole importer of pint, which
reads the definitions file beside this module once; after that every conversion is a dictionary look-up.
Refuses to know items: what a measure of an item's own means, and how kinds are crossed, stands in
``equivalents``.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from fractions import Fraction
from functools import cache, lru_cache
from pathlib import Path
from typing import Final, Literal, cast

from service.errors import AmbiguousUnit, UnknownUnit, WrongKind
from service.kitchen.measures.amounts import parse_amount, write_amount
from service.limits import MEASURE_PATTERN

Kind = Literal["mass", "volume", "count"]
System = Literal["metric", "us"]

KINDS: Final[tuple[Kind, ...]] = ("mass", "volume", "count")
CANONICAL: Final[dict[Kind, str]] = {"mass": "g", "volume": "mL", "count": "each"}

SCOOPS: Final = (6, 8, 10, 12, 16, 20, 24, 30, 40, 50, 60, 70, 100)
UNITS: Final[dict[Kind, tuple[str, ...]]] = {
    "mass": ("mg", "g", "kg", "oz", "lb"),
    "volume": (
        *("mL", "cL", "dL", "L", "tsp", "tbsp", "fl_oz", "cup", "pint", "quart", "gallon"),
        *("metric_tsp", "metric_tbsp", "metric_cup"),
        *("imperial_fl_oz", "imperial_pint", "imperial_quart", "imperial_gallon"),
        *(f"scoop_{number}" for number in SCOOPS),
    ),
    "count": ("each", "dozen"),
}
PORTION: Final = "portion"
PERCENT: Final = "percent"
TEMPERATURES: Final = ("degC", "degF")
VOCABULARY: Final = frozenset({name for names in UNITS.values() for name in names} | {PORTION, PERCENT, *TEMPERATURES})
_KIND_OF: Final[dict[str, Kind]] = {name: kind for kind, names in UNITS.items() for name in names}

# Spellings are compared in lower case, with dots, underscores, hyphens and runs of blanks read as one blank.
_SPELLINGS: Final[dict[str, str]] = {
    "mg": "milligram milligrams milligramme milligrammes mgs",
    "g": "gram grams gramme grammes gm gms gr grs gs",
    "kg": "kgs kilo kilos kilogram kilograms kilogramme kilogrammes",
    "oz": "ozs ounce ounces",
    "lb": "lbs pound pounds",
    "mL": "mls milliliter milliliters millilitre millilitres cc",
    "cL": "cls centiliter centiliters centilitre centilitres",
    "dL": "dls deciliter deciliters decilitre decilitres",
    "L": "ls ltr ltrs lt liter liters litre litres",
    "tsp": "tsps teaspoon teaspoons teaspoonful teaspoonfuls",
    "tbsp": "tbsps tbs tbl tblsp tblsps tablespoon tablespoons tablespoonful tablespoonfuls",
    "fl_oz": "floz fl_ozs fl_ounce fl_ounces fluid_oz fluid_ounce fluid_ounces",
    "cup": "cups cupful cupfuls",
    "pint": "pints",
    "quart": "quarts qt qts",
    "gallon": "gallons gal gals",
    "each": "ea pc pcs piece pieces ct count",
    "dozen": "dozens doz dz",
    PORTION: "portions",
    PERCENT: "% pct per_cent",
    "degC": "°c deg_c celsius degree_celsius degrees_celsius",
    "degF": "°f deg_f fahrenheit degree_fahrenheit degrees_fahrenheit",
}
# What a word before a unit of volume makes of it: "UK pints" are imperial_pint.
_SYSTEMS: Final = {"us": "", "metric": "metric_", "imperial": "imperial_", "imp": "imperial_", "uk": "imperial_"}
_US_VOLUMES: Final = ("tsp", "tbsp", "fl_oz", "cup", "pint", "quart", "gallon")
_AMBIGUOUS: Final[dict[str, str]] = {
    "t": "write tsp or tbsp (or kg, where tonnes are meant)",
    "c": "write cup or metric_cup (or degC for a temperature)",
    "pt": "write pint or imperial_pint (or portion)",
}
# Nearer than this a spelling is taken for a slip, and only of texts so short.
NEAR_SPELLING: Final = 0.7
MISSPELT: Final = 32
_OWN_MEASURE: Final = re.compile(MEASURE_PATTERN)
_SCOOP: Final = re.compile(
    r"(?:scoops?|dishers?) (?:no |number |# ?)?(?P<after>[0-9]{1,3})|(?:no |number |# ?)?(?P<before>[0-9]{1,3}) (?:scoops?|dishers?)"
)


@dataclass(frozen=True, slots=True)
class Quantity:
    """An exact amount of a unit of the vocabulary, or of a measure that the item at hand names itself (U6)."""

    amount: Fraction
    unit: str

    @classmethod
    def read(cls, document: Mapping[str, object], *, told: bool = False) -> "Quantity":
        """The quantity that ``{"amount", "unit"}`` states, its unit by its own name (U2, U4); ``told`` as in ``parse_amount``.

        Raises BadAmount, UnknownUnit, AmbiguousUnit, or WrongKind for a temperature.

        >>> Quantity.read({"amount": "2 1/2", "unit": "lbs"})
        Quantity(amount=Fraction(5, 2), unit='lb')
        """
        unit = measure_or_unit(document["unit"])
        if unit in TEMPERATURES:
            raise WrongKind(f"{unit} measures temperature: write a unit of mass, volume or count")
        return cls(parse_amount(document["amount"], told=told), unit)

    def __str__(self) -> str:
        return f"{write_amount(self.amount)} {self.unit}"


ONE_EACH: Final = Quantity(Fraction(1), "each")


def canonical_unit(text: object) -> str:
    """The vocabulary's own name of a unit, whatever common spelling it has (U2).

    ``portion``, ``percent``, ``degC`` and ``degF`` are names too; where they are legal is the caller's to know.
    Raises AmbiguousUnit for t, T, c, C and pt, else UnknownUnit.

    >>> canonical_unit("Tablespoons"), canonical_unit("fl. oz."), canonical_unit("#8 scoop")
    ('tbsp', 'fl_oz', 'scoop_8')
    """
    if not isinstance(text, str):
        raise UnknownUnit(type(text).__name__, 'a unit is a text such as "kg"')
    unit = _spelt(text)
    if unit is None:
        # What is remembered of a text is short, however long the text.
        nearest = meant(text[:MISSPELT])
        raise UnknownUnit(text[:40], f"{text[:40]!r} is not a unit of the kitchen vocabulary{nearest}: write one of {_listing()}")
    return unit


def _spelt(text: str) -> str | None:
    """The unit that a spelling stands for, if any; raises AmbiguousUnit."""
    key = _key(text)
    if key in _AMBIGUOUS:
        raise AmbiguousUnit(text, f"cooks read {text!r} in two ways: {_AMBIGUOUS[key]}")
    return _aliases().get(key) or _scoop(key)


@lru_cache(maxsize=4_096)
def meant(text: str, measures: tuple[str, ...] = ()) -> str:
    """The unit, or the one of an item's own measures, that a misspelt one comes nearest to, as a question; nothing where none is near.

    >>> meant("kilogam"), meant("tbps"), meant("bunhc", ("bunch",)), meant("xylophone")
    (' (is kg meant?)', ' (is tbsp meant?)', ' (is bunch meant?)', '')
    """
    known = {_key(name): name for name in measures} | dict(_aliases())
    near = get_close_matches(_key(text), known, n=1, cutoff=NEAR_SPELLING)
    return f" (is {known[near[0]]} meant?)" if near else ""


def measure_or_unit(text: object) -> str:
    """The canonical unit, or the text itself where an item may have a measure of that name (U2, U6).

    Raises AmbiguousUnit, or UnknownUnit for what is neither.

    >>> measure_or_unit("LBS"), measure_or_unit("bunch")
    ('lb', 'bunch')
    """
    if not isinstance(text, str):
        return canonical_unit(text)
    if text in VOCABULARY:
        return text
    return (_spelt(text) or text) if _OWN_MEASURE.fullmatch(text) else canonical_unit(text)


def is_unit(name: str) -> bool:
    """True of the vocabulary's own names, ``portion``, ``percent`` and the temperatures included (U2)."""
    return name in VOCABULARY


def kind_of(unit: str) -> Kind:
    """The kind that a canonical unit measures (U1); raises WrongKind for portion, percent and temperatures, else UnknownUnit."""
    kind = _KIND_OF.get(unit)
    if kind is None:
        if unit in VOCABULARY:
            raise WrongKind(f"{unit} is no unit of mass, volume or count: write a unit such as g, mL or each")
        raise UnknownUnit(unit)
    return kind


def factor(unit: str) -> Fraction:
    """How many g, mL or each are in one of a canonical unit, exactly (U3); raises as ``kind_of`` does.

    >>> factor("lb") * 1000, factor("scoop_8") == factor("cup") / 2
    (Fraction(45359237, 100), True)
    """
    kind_of(unit)
    return sizes()[unit][1]


@cache
def sizes() -> Mapping[str, tuple[Kind, Fraction]]:
    """Every unit's kind and its size in canonical units, read once from the definitions file."""
    import pint  # noqa: PLC0415 - it takes long to import, and only this table needs it

    definitions = str(Path(__file__).with_name("units.txt"))
    registry: pint.UnitRegistry[Fraction] = pint.UnitRegistry(definitions, non_int_type=Fraction, cache_folder=None)
    table: dict[str, tuple[Kind, Fraction]] = {}
    for unit, kind in _KIND_OF.items():
        size, base = registry.get_base_units(unit)
        if str(base) != CANONICAL[kind]:
            raise RuntimeError(f"units.txt counts {unit} in {base}, not in {CANONICAL[kind]}")
        table[unit] = kind, Fraction(cast(Fraction, size))
    return table


@cache
def _aliases() -> Mapping[str, str]:
    """Every accepted spelling, in the form of ``_key``, with its canonical unit."""
    table = {_key(name): name for name in VOCABULARY}
    for unit, spellings in _SPELLINGS.items():
        table |= {_key(spelling): unit for spelling in spellings.split()}
    for prefix, system in _SYSTEMS.items():
        for unit in _US_VOLUMES:
            if system + unit in VOCABULARY:
                # With its country before it, pt is no longer ambiguous.
                names = [unit, *_SPELLINGS[unit].split(), *(["pt", "pts"] if unit == "pint" else [])]
                table |= {_key(f"{prefix} {name}"): system + unit for name in names}
    return table


def _key(text: str) -> str:
    """The form in which spellings are compared; other scripts' letters are not folded into ours."""
    return " ".join(re.split(r"[\s._-]+", text.lower() if text.isascii() or "°" in text else text)).strip()


def _scoop(key: str) -> str | None:
    """The disher that ``scoop 8``, ``#8 scoop`` or ``No 8 scoop`` names, if its number is usual."""
    match = _SCOOP.fullmatch(key)
    name = f"scoop_{int(match['after'] or match['before'])}" if match else ""
    return name if name in VOCABULARY else None


@cache
def _listing() -> str:
    """The vocabulary as a phrase, scoops told as one."""
    names = [name for kind in KINDS for name in UNITS[kind] if not name.startswith("scoop_")]
    scoops = ", ".join(map(str, SCOOPS))
    return f"{', '.join(names)}, scoop_N (N {scoops}), portion or percent, or name the item's own measure in an equivalent"
