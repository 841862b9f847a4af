"""Queries: what may follow the question mark. Every value arrives as a text."""

import re
from base64 import urlsafe_b64decode, urlsafe_b64encode
from binascii import Error as NotBase64
from collections.abc import Callable
from datetime import date, datetime
from typing import Any, ClassVar

from service.api.fields import AllergenName, Choice, CivilDate, Code, Document, Field, Moment
from service.api.fields.faults import flaw, flaws_at
from service.api.fields.times import read_date
from service.limits import PAGE, PAGE_DEFAULT, RANGE_DAYS, SITES_ASKED, UNIT_SYSTEMS, Span

DIGITS = re.compile(r"[0-9]{1,9}")


class NumberText(Field):
    """A whole number in ASCII digits."""

    def __init__(self, span: Span, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.span = span

    def describe(self) -> dict[str, Any]:
        """The JSON Schema of the parameter."""
        return {"type": "integer", "minimum": int(self.span.least), "maximum": int(self.span.most)}

    def read(self, value: Any) -> int:
        """The number."""
        if not DIGITS.fullmatch(value):
            raise flaw("wrong_type", f"write a whole number {self.span} in digits")
        if int(value) not in self.span:
            raise flaw("out_of_range", f"write a whole number {self.span}")
        return int(value)


class DateText(CivilDate):
    """A date, YYYY-MM-DD."""

    def read(self, value: Any) -> Any:
        """The date itself."""
        return date.fromisoformat(super().read(value))


class MomentText(Moment):
    """A moment, RFC 3339 with its offset; a plus sign that was not escaped arrives as a space."""

    def read(self, value: Any) -> Any:
        """The moment itself."""
        return datetime.fromisoformat(super().read(value.replace(" ", "+")))


class FlagText(Field):
    """The word true or false."""

    shape: ClassVar[dict[str, Any]] = {"type": "boolean"}

    def read(self, value: Any) -> bool:
        """Whether it is true."""
        if value not in ("true", "false"):
            raise flaw("wrong_type", "write true or false")
        return bool(value == "true")


class AllergenWords(Field):
    """Allergens, separated by commas or given in repeated keys; a key without a value names none."""

    repeats = True
    entry = AllergenName()
    shape: ClassVar[dict[str, Any]] = {"type": "array", "items": entry.describe()}

    def read(self, value: Any) -> list[str]:
        """The allergens, in the order given."""
        words = [word.strip() for text in value if text for word in text.split(",")]
        return [self.entry.read(word) for word in words]


class CodeWords(Field):
    """Codes, separated by commas or given in repeated keys."""

    repeats = True
    entry = Code()
    shape: ClassVar[dict[str, Any]] = {"type": "array", "items": entry.describe(), "minItems": 1, "maxItems": SITES_ASKED}

    def read(self, value: Any) -> list[str]:
        """The codes, in the order given."""
        words = [word.strip() for text in value for word in text.split(",")]
        if len(words) > SITES_ASKED:
            raise flaw("too_many", f"this names {len(words)} codes: write at most {SITES_ASKED}")
        return [self.entry.read(word) for word in words]


class Cursor(Field):
    """Where a page begins: opaque to callers, the key of the last row before it, in one part or several."""

    shape: ClassVar[dict[str, Any]] = {"type": "string", "pattern": "^[A-Za-z0-9_-]{1,1000}$"}
    strange = "this is no cursor of this list: follow next as it was given"

    def __init__(self, *parts: str, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.parts = parts
        self.pattern = re.compile(r"\|".join(parts))

    def read(self, value: Any) -> Any:
        """The key that the cursor stands for, or its parts: texts, but for a DAY and NUMBERS."""
        try:
            key = urlsafe_b64decode(value.encode("ascii") + b"=" * (-len(value) % 4)).decode("utf-8")
        except (UnicodeError, NotBase64):
            key = ""
        if not self.pattern.fullmatch(key) or write_cursor(key) != value:
            raise flaw("wrong_type", self.strange)
        texts = key.split("|", len(self.parts) - 1)
        found = [READ.get(part, str)(text) for part, text in zip(self.parts, texts, strict=True)]
        if None in found:
            raise flaw("wrong_type", self.strange)
        return found[0] if len(found) == 1 else tuple(found)


def write_cursor(key: str) -> str:
    """A key as a cursor.

    >>> write_cursor("onion")
    'b25pb24'
    """
    return urlsafe_b64encode(key.encode()).decode().rstrip("=")


DAY = r"[0-9-]{10}"
CODES = r"[a-z0-9-]{1,64}"
MAYBE = r"[a-z0-9-]*"
TEXTS = r"[^\n]{1,64}"
NUMBERS = r"[1-9][0-9]{0,8}"
IDS = r"[A-Za-z0-9_-]{1,64}"
READ: dict[str, Callable[[str], Any]] = {DAY: read_date, NUMBERS: int}


class Paging(Document):
    """A page of a list ordered by code."""

    limit = NumberText(PAGE, load_default=PAGE_DEFAULT)
    cursor = Cursor(CODES, load_default=None)


class NumberPaging(Document):
    """A page of a list ordered by number."""

    limit = NumberText(PAGE, load_default=PAGE_DEFAULT)
    cursor = Cursor(NUMBERS, load_default=None)


class IdPaging(Document):
    """A page of a list ordered by id."""

    limit = NumberText(PAGE, load_default=PAGE_DEFAULT)
    cursor = Cursor(IDS, load_default=None)


class Acknowledging(Document):
    """The allergens that the caller knows a change to add."""

    acknowledge = AllergenWords(load_default=list)


class InForce(Document):
    """The date and site for which a version is in force."""

    on = DateText(load_default=None)
    site = Code(load_default=None)


class ImportQuery(Acknowledging):
    """Whether an import is only checked, and the allergens that the caller knows it to add."""

    dry_run = FlagText(load_default=False)


class VersionChangesQuery(Document):
    """The number of the version to compare with; the one before, where none is given."""

    first = NumberText(Span(1, 999_999_999), data_key="from", load_default=None)


class SheetQuery(Document):
    """Whether a sheet has its weigh-and-method cards."""

    cards = FlagText(load_default=True)


class PrepListQuery(SheetQuery):
    """How a list is planned and shown."""

    first = DateText(data_key="from", load_default=None)
    station = Code(load_default=None)
    units = Choice(UNIT_SYSTEMS, load_default=None)
    trace = FlagText(load_default=False)


class ScheduleQuery(Document):
    """How a schedule is planned and shown: from which date on and, within it, from which moment; of which station; with what would help."""

    first = DateText(data_key="from", load_default=None)
    at = MomentText(load_default=None)
    station = Code(load_default=None)
    units = Choice(UNIT_SYSTEMS, load_default=None)
    helps = FlagText(load_default=True)


class DateRange(Document):
    """The dates from one to another, both included."""

    first = DateText(data_key="from", required=True)
    last = DateText(data_key="to", required=True)

    def check(self, read: dict[str, Any]) -> None:
        """The last date is not before the first, and not too far behind it."""
        if not 0 <= (read["last"] - read["first"]).days <= RANGE_DAYS:
            raise flaws_at([(("to",), "out_of_range", f"write a date from that of from to {RANGE_DAYS} days after it")])


class ForecastQuery(DateRange):
    """The dates and, if one is wanted, the site."""

    site = Code(load_default=None)
    limit = NumberText(PAGE, load_default=PAGE_DEFAULT)
    cursor = Cursor(CODES, DAY, CODES, CODES, MAYBE, "(?:till_code|menu_item)", TEXTS, load_default=None)


class UnmappedQuery(Document):
    """The source, if one is wanted."""

    source = Code(load_default=None)
    limit = NumberText(PAGE, load_default=PAGE_DEFAULT)
    cursor = Cursor(CODES, TEXTS, load_default=None)


class CountQuery(DateRange):
    """The business dates."""

    limit = NumberText(PAGE, load_default=PAGE_DEFAULT)
    cursor = Cursor(NUMBERS, load_default=None)


class WorkForQuery(Document):
    """The date to plan from, the unit system, and the event whose guests count alone."""

    first = DateText(data_key="from", load_default=None)
    units = Choice(UNIT_SYSTEMS, load_default=None)
    event = Code(load_default=None)


class EventQuery(Document):
    """The event that an override is of; without one it is of the count without event."""

    event = Code(load_default=None)


class OverrideQuery(DateRange):
    """The dates."""

    limit = NumberText(PAGE, load_default=PAGE_DEFAULT)
    cursor = Cursor(DAY, CODES, CODES, MAYBE, load_default=None)


class SiteRowQuery(DateRange):
    """The dates."""

    limit = NumberText(PAGE, load_default=PAGE_DEFAULT)
    cursor = Cursor(DAY, CODES, CODES, load_default=None)
