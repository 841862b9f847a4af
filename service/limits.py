"""Limits and closed lists: the one table that schemas, problems, warnings and documents share.

Responsible for how much, how long and which words. Refuses to know who applies a limit, and how
a breach of it is answered.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final


@dataclass(frozen=True, slots=True)
class Span:
    """The numbers from ``least`` to ``most``; ``above`` leaves the least one out.

    >>> 0 in Span(0, 1), 0 in Span(0, 1, above=True), Decimal("1.1") in Span(0, 1)
    (True, False, False)
    """

    least: int | Decimal
    most: int | Decimal
    above: bool = False

    def __contains__(self, number: int | Decimal) -> bool:
        """True where the number is within the span."""
        return (self.least < number if self.above else self.least <= number) and number <= self.most

    def __str__(self) -> str:
        """How a message names the span.

        >>> str(Span(0, 1)), str(Span(0, 1, above=True))
        ('from 0 to 1', 'more than 0 and at most 1')
        """
        return f"more than {self.least} and at most {self.most}" if self.above else f"from {self.least} to {self.most}"


# Bodies, in bytes after gunzip, and what JSON may look like.
BODY_BYTES: Final = 1 << 20
FORECAST_BODY_BYTES: Final = 2 << 20
IMPORT_BODY_BYTES: Final = 32 << 20
FORECAST_ENTRIES: Final = 10_000
# A value takes up to a hundred bytes of memory, however short it is written; a catalogue of 32 MiB has about as many.
JSON_VALUES: Final = 1_000_000
# A stream that was packed in parts has one for each 64 KiB or so. Looking at a part takes long, however little is in it.
GZIP_MEMBERS: Final = 1_000
# A request's first line, and that with its headers, in bytes.
URI_BYTES: Final = 8 << 10
HEAD_BYTES: Final = 32 << 10
JSON_DEPTH: Final = 32
JSON_DIGITS: Final = 32

# Text, in characters.
NAME_LENGTH: Final = 200
NOTE_LENGTH: Final = 2_000
TILL_CODE_LENGTH: Final = 64
CODE_PATTERN: Final = r"[a-z0-9][a-z0-9-]{0,63}"
MEASURE_PATTERN: Final = r"[a-z][a-z0-9_]{0,31}"
REQUEST_ID_PATTERN: Final = r"[A-Za-z0-9._-]{1,64}"

# How many of a thing one document may hold.
LINES: Final = 200
STEPS: Final = 100
FORMS: Final = 50
EQUIVALENTS: Final = 20
PACKS: Final = 50
BY_PRODUCTS: Final = 20
COMPONENTS: Final = 30
TILL_CODES: Final = 50
PERIODS: Final = 12
VESSELS: Final = 200
PARS: Final = 500
# Of finite capacity: in a group, at a site, in a row of it, at a site, and on one date of it.
EQUIPMENT: Final = 200
SITE_EQUIPMENT: Final = 50
LOADS: Final = 10
SHIFTS: Final = 100
DATE_SHIFTS: Final = 50
SHIFT_STATIONS: Final = 200
LOTS: Final = 2_000
RECIPE_DEPTH: Final = 16
# Faults that are shown, and together in how many bytes: so an answer stays short, whatever it refuses.
ERRORS: Final = 100
FAULT_BYTES: Final = 48 << 10
# In a list with so many faults none is looked for any more, nor in an object with so many fields too many.
FAULTS_SOUGHT: Final = 1_000
# A key that is longer is none of the interface's: its start is enough to find it.
KEY_SHOWN: Final = 100
DETAIL_SHOWN: Final = 1_000
PAGE: Final = Span(1, 500)
PAGE_DEFAULT: Final = 50

# Numbers.
# Nothing is on hand where a count says so; any other amount is more than nothing.
AMOUNT: Final = Span(0, 10_000_000)
# What a kitchen tells of stock and work may be an amount of the service's own, in grams.
TOLD_AMOUNT: Final = Span(0, 10**12)
# Of a canonical unit, from a batch down through all levels: a million guests more or less are within floats then.
LEVELS_AMOUNT: Final = Span(Decimal("1e-12"), Decimal("1e12"))
DECIMALS: Final = 9
FRACTION_PART: Final = 1_000_000
COUNT: Final = Span(0, 1_000_000)
SCALING_FACTOR: Final = Span(Decimal("0.0001"), 10_000)
ADDITION: Final = Span(-1_000_000, 1_000_000)
BUFFER: Final = Span(0, 1)
UPTAKE: Final = Span(0, 1, above=True)
TRIM_YIELD: Final = Span(0, 1, above=True)
EXPONENT: Final = Span(0, 1, above=True)
MAKES_FOR: Final = Span(1, 14)
WEEKDAY: Final = Span(1, 7)
KEEPS_DAYS: Final = 365
DURATION_DAYS: Final = 14
TURN_ROUND_HOURS: Final = 24
MACHINES: Final = Span(0, 100)
COOKS: Final = Span(0, 100)
# Work of hands that would take longer is shared out: a plan looks no further ahead for it.
HANDS_ON_DAYS: Final = 2
# From a batch down through all levels. Each list plans what is needed by then, every par of each day among it.
LEAD_DAYS: Final = 92
MONEY: Final = Span(0, 1_000_000_000)
MONEY_DECIMALS: Final = 4

# Dates.
FIRST_YEAR: Final = 2000
LAST_YEAR: Final = 2099
RANGE_DAYS: Final = 62
FORECAST_DAYS_BACK: Final = 7
FORECAST_DAYS_AHEAD: Final = 400
MINUTES_AHEAD: Final = 5

# Load; the configuration may say otherwise.
PLANS_AT_ONCE: Final = 2
# Of one plan, and of all that one request plans. A need with its run takes up to 20 microseconds and a kilobyte: so a plan takes
# 200 MB at most, and a request holds a worker for less than ten seconds.
NEEDS_OF_A_PLAN: Final = 200_000
NEEDS_PLANNED: Final = 400_000
# Of one site's plan; finding their places takes longer than planning them.
LOADS_SCHEDULED: Final = 5_000
SITES_PLANNED: Final = 50
SITES_ASKED: Final = 500
REQUESTS_PER_MINUTE: Final = 1_200
FAILED_AUTHENTICATIONS_PER_MINUTE: Final = 30
REQUEST_SECONDS: Final = 30
HEADER_SECONDS: Final = 10
SLOW_MILLISECONDS: Final = 1_000

# Tokens.
TOKEN_PREFIX: Final = "kp_"  # noqa: S105 - the public start of every token, no secret
TOKEN_PATTERN: Final = r"kp_[A-Za-z0-9_-]{43}"  # noqa: S105 - the shape of a token, no secret
TOKEN_DAYS: Final = Span(1, 3_650)
TOKEN_DAYS_DEFAULT: Final = 365
SHEET_LINK_DAYS: Final = Span(1, 366)
SHEET_LINK_DAYS_DEFAULT: Final = 30
IDEMPOTENCY_HOURS: Final = 24
IDEMPOTENCY_KEY_PATTERN: Final = r"[\x20-\x7e]{1,255}"

# Closed lists, in the order in which messages name them.
STORAGE: Final = ("dry", "cold", "frozen")
UNIT_SYSTEMS: Final = ("metric", "us")
ROLES: Final = ("director", "kitchen", "integration", "viewer")
SPLITS: Final = ("equal", "full")
CRITICAL_SCALING_RULES: Final = ("linear", "per_batch", "percent")
LOT_PLACES: Final = ("store", "kitchen")
PROGRESS_STATES: Final = ("open", "doing", "done")
EXPECTED_FROM: Final = ("forecast", "override")
TASK_KINDS: Final = ("prep", "make", "use")
SAFETY_KINDS: Final = ("cook", "reheat", "hold_hot", "hold_cold", "cool", "time_control", "thaw")
SAFETY_CLASSES: Final = ("poultry", "ground", "whole_cut", "roast", "egg", "fish", "plant")

CEREALS: Final = ("wheat", "rye", "barley", "oat", "spelt")
NUTS: Final = ("almond", "hazelnut", "walnut", "cashew", "pecan", "brazil_nut", "pistachio", "macadamia", "pine_nut")
ALLERGENS: Final = (
    "milk",
    "egg",
    "fish",
    "crustacean",
    "mollusc",
    "peanut",
    "soy",
    "sesame",
    "celery",
    "mustard",
    "lupin",
    "sulphite",
    *CEREALS,
    *NUTS,
    "coconut",
    "chestnut",
)
