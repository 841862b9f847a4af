"""Forecasts: what a source pushes, and what is read back."""

from collections.abc import Sequence
from operator import itemgetter
from typing import Any, ClassVar

from marshmallow import ValidationError

from service.api.fields import CivilDate, Code, Document, Echo, Field, Many, Moment, Number, Object, Text, TimeOfDay, WholeNumber
from service.api.fields.faults import flaws_at
from service.api.wire.json import find_control_characters
from service.limits import ADDITION, BUFFER, COUNT, ERRORS, FORECAST_ENTRIES, TILL_CODE_LENGTH, Span

MORE = Span(1, 10**9)


class Event(Document):
    """A need of its own within a period, at its own time and with its own buffer."""

    code = Code(required=True)
    serve_at = TimeOfDay(load_default=None)
    buffer = Number(BUFFER, load_default=None)


class Entry(Document):
    """One expected count: of a till code of the source, or of a menu item."""

    site = Code(required=True)
    date = CivilDate(required=True)
    period = Code(required=True)
    till_code = Text(TILL_CODE_LENGTH, load_default=None)
    menu_item = Code(load_default=None)
    count = WholeNumber(COUNT, required=True)
    event = Object(Event, load_default=None)

    def check(self, read: dict[str, Any]) -> None:
        """Exactly one of till_code and menu_item."""
        given = [key for key in ("till_code", "menu_item") if read[key] is not None]
        if not given:
            raise flaws_at([(("menu_item",), "required", "name a menu_item or a till_code")])
        if len(given) == 2:
            raise flaws_at([(("till_code",), "unknown_field", "name a menu_item or a till_code, not both")])


BLANK = dict.fromkeys(Entry().fields)


def read_alike(values: Sequence[Any]) -> dict[int, dict[str, Any]]:
    """The entries without an event, by index, as ``Entry`` reads them: column by column, for most of them say the same.

    None at all where the schema would find fault with one of them: it has the words for that.
    """
    entries = {index: BLANK | value for index, value in enumerate(values) if isinstance(value, dict) and value.get("event") is None}
    if not entries or any(len(entry) > len(BLANK) for entry in entries.values()):
        return {}
    columns = {name: list(map(itemgetter(name), entries.values())) for name in BLANK}
    counts, till_codes, menu_items = columns["count"], columns["till_code"], columns["menu_item"]
    legal = set(map(type, counts)) == {int} and min(counts) in COUNT and max(counts) in COUNT
    one_key = all((till_code is None) is not (menu_item is None) for till_code, menu_item in zip(till_codes, menu_items, strict=True))
    return entries if legal and one_key and all(are_legal(name, columns[name]) for name in BLANK if name not in {"count", "event"}) else {}


def are_legal(name: str, column: Sequence[Any]) -> bool:
    """Whether the field of an entry takes all of some values, each a text or, where it may be, null."""
    field = Entry().fields[name]
    if not set(map(type, column)) <= {str, type(None)}:
        return False
    distinct = set(column)
    try:
        for value in distinct:
            field.deserialize(value)
    except ValidationError:
        return False
    return not find_control_characters(list(distinct))


class AnyValue(Field):
    """Any JSON value: a wrong entry refuses itself alone, later."""

    shape: ClassVar[dict[str, Any]] = {"$ref": "#/components/schemas/Entry"}

    def read(self, value: Any) -> Any:
        """The value as it is."""
        return value

    def deserialize(self, value: Any, *_: Any, **__: Any) -> Any:
        """The value as it is: of ten thousand entries none needs to be asked whether it is there."""
        return value


class PushBody(Document):
    """A push: its source, the moment at which the counts were true, and the entries."""

    source = Code(required=True)
    as_of = Moment(required=True)
    entries = Many(AnyValue(allow_none=True), most=FORECAST_ENTRIES, required=True)


class EntryFault(Document):
    """One thing wrong with an entry; the pointer begins at the body's root."""

    pointer = Echo(required=True)
    code = Text(required=True)
    detail = Echo(required=True)


class Refused(Document):
    """An entry that was refused, and why; ``more`` counts faults for which the answer has no room."""

    index = WholeNumber(Span(0, FORECAST_ENTRIES), required=True)
    errors = Many(Object(EntryFault), most=ERRORS, required=True)
    more = WholeNumber(MORE)


class Unmapped(Document):
    """A till code that no menu item has; its count is kept."""

    index = WholeNumber(Span(0, FORECAST_ENTRIES), required=True)
    till_code = Text(TILL_CODE_LENGTH, required=True)


class PastEntry(Document):
    """An entry whose moment lies after the end of its period: it changes nothing that was cooked, and is not stored."""

    index = WholeNumber(Span(0, FORECAST_ENTRIES), required=True)
    period = Code(required=True)
    ended = Moment(required=True)


class PushResult(Document):
    """What became of the entries of a push; ``more_refused`` counts those that ``refused`` has no room for."""

    accepted = WholeNumber(COUNT, required=True)
    stored = WholeNumber(COUNT, required=True)
    unchanged = WholeNumber(COUNT, required=True)
    superseded = WholeNumber(COUNT, required=True)
    refused = Many(Object(Refused), most=FORECAST_ENTRIES, required=True)
    more_refused = WholeNumber(MORE)
    unmapped = Many(Object(Unmapped), most=FORECAST_ENTRIES, required=True)
    past = Many(Object(PastEntry), most=FORECAST_ENTRIES, required=True)


class StoredEntry(Document):
    """The latest count of one key."""

    site = Code(required=True)
    date = CivilDate(required=True)
    period = Code(required=True)
    source = Code(required=True)
    till_code = Text(TILL_CODE_LENGTH, allow_none=True)
    menu_item = Code(allow_none=True)
    count = WholeNumber(COUNT, required=True)
    event = Object(Event, allow_none=True)
    as_of = Moment(required=True)


class UnmappedCode(Document):
    """A till code that no menu item has: when it was first and last seen, where, and under how many counts."""

    source = Code(required=True)
    till_code = Text(TILL_CODE_LENGTH, required=True)
    first_seen = Moment(required=True)
    last_seen = Moment(required=True)
    sites = Many(Code(), most=100_000, required=True)
    entries = WholeNumber(Span(1, 10**9), required=True)


class SiteRow(Document):
    """What is expected of one menu item in one period of one date."""

    date = CivilDate(required=True)
    period = Code(required=True)
    menu_item = Code(required=True)
    forecast = WholeNumber(COUNT, required=True, allow_none=True)
    override = WholeNumber(COUNT, required=True, allow_none=True)
    add = WholeNumber(ADDITION, required=True, allow_none=True)
    count = Number(COUNT, required=True)
    sources = Many(Code(), most=1_000, required=True)
