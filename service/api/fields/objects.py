"""Objects: the schema that all documents share, and fields that hold one, of one kind or of several.

Responsible for refusing unknown fields and anything but an object. Refuses to know any document.
"""

from collections.abc import Mapping
from difflib import get_close_matches
from functools import cache, cached_property
from typing import Any, cast

from marshmallow import RAISE, Schema, ValidationError, fields, missing
from marshmallow.error_store import merge_errors
from marshmallow.exceptions import SCHEMA

from service.api.fields.faults import Flaw
from service.api.fields.shape import Field, Reader, expect_object, union
from service.limits import FAULTS_SOUGHT

UNKNOWN = Flaw("unknown_field", "there is no field of this name here")
NO_OBJECT = Flaw("wrong_type", "write an object in braces")
NEAREST, LONGEST = 3, 64


def nearest(key: str, legal: list[str]) -> str:
    """The legal names that look most like a key.

    >>> nearest("titel", ["station", "title", "lines", "steps", "yield"])
    'the nearest are title, yield and steps'
    """
    found = get_close_matches(key[:LONGEST], legal, NEAREST, 0.0)
    return f"the nearest are {', '.join(found[:-1])} and {found[-1]}" if len(found) > 1 else f"the only one is {found[0]}"


class Document(Schema):
    """A schema whose load gives the document: every field, in the order of the schema, defaults filled in."""

    class Meta:
        """Fields that the schema does not name are refused."""

        unknown = RAISE

    def load(self, data: Any, **_: Any) -> dict[str, Any]:
        """The document; raises ValidationError, of an object of far too many fields before any is read.

        What the library does beside, for what nobody here asks, took most of the time of an import.
        Null means the default wherever there is one: a caller that writes every field need not know which ones take null.
        """
        if not isinstance(data, dict):
            raise ValidationError({SCHEMA: [NO_OBJECT]})
        if len(data) > len(self.parts) + FAULTS_SOUGHT:
            detail = f"this object has {len(data)} fields: there are {len(self.parts)} that belong here"
            raise ValidationError({SCHEMA: [Flaw("too_many", detail)]})
        read, errors = self._read(data)
        try:
            self.check_sent(data)
            if not errors:
                self.check(read)
        except ValidationError as error:
            errors = merge_errors(errors, error.messages)  # type: ignore[no-untyped-call] # The library leaves it so.
        if errors:
            raise ValidationError(errors)
        return read

    def _read(self, data: dict[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
        """What each field reads by itself, and the messages of those that cannot."""
        read: dict[str, Any] = {}
        errors: dict[str, Any] = {}
        for name, key, field, default in self.parts:
            value = data.get(key)
            if value is None and default is not missing:
                read[name] = default() if callable(default) else default
                continue
            try:
                value = field.deserialize(data.get(key, missing)) if value is None else field.read(value)
            except ValidationError as error:
                errors[key] = error.messages
            else:
                if value is not missing:
                    read[name] = value
        if not data.keys() <= self.legal:
            errors |= {key: [self._unknown(key)] for key in data if key not in self.legal}
        return read, errors

    def check(self, read: dict[str, Any]) -> None:
        """Raise ValidationError for what fields that are each legal make wrong together."""

    def check_sent(self, sent: dict[str, Any]) -> None:
        """Raise ValidationError for what is wrong between fields as sent, told beside what is wrong in them."""

    def _unknown(self, key: str) -> Flaw:
        """What is said of a field that there is not: the nearest legal ones."""
        legal = [key for _, key, _, _ in self.parts]
        return Flaw("unknown_field", f"{UNKNOWN}; {nearest(key, legal)}") if legal else UNKNOWN

    @cached_property
    def parts(self) -> tuple[tuple[str, str, Reader, Any], ...]:
        """The fields: the name of each in the document and in JSON, and what it is where it is left out, if it may be."""
        readers = cast("dict[str, Reader]", self.load_fields)
        return tuple((field.attribute or name, field.data_key or name, field, field.load_default) for name, field in readers.items())

    @cached_property
    def legal(self) -> frozenset[str]:
        """The names of the fields in JSON."""
        return frozenset(key for _, key, _, _ in self.parts)


@cache
def reader_of(schema: type[Schema]) -> Schema:
    """The one instance of a schema; loading keeps no state in it, and making one takes longer than a load."""
    return schema()


class Object(Reader, fields.Nested):
    """A field that holds one document of a schema."""

    def read(self, value: Any) -> Any:
        """The value for the document; raises ValidationError."""
        return self.schema.load(value)


class Kinds(Field):
    """A field that holds a document of one of several schemas, by the word under the key ``by``; a component of its own, ``name``."""

    def __init__(self, name: str, detail: str, by: str, kinds: Mapping[str, type[Schema]], **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.component = name
        self.detail = detail
        self.by = by
        self.kinds = kinds

    def describe(self) -> dict[str, Any]:
        """The JSON Schema of the field, without null."""
        return {"$ref": f"#/components/schemas/{self.component}"}

    def describe_kinds(self) -> dict[str, Any]:
        """The JSON Schema of the component."""
        return union(self.detail, self.by, {word: schema.__name__ for word, schema in self.kinds.items()})

    def read(self, value: Any) -> dict[str, Any]:
        """The value for the document; raises ValidationError."""
        document = expect_object(value, f"an object with {self.by}")
        words = ", ".join(self.kinds)
        if self.by not in document:
            raise ValidationError({self.by: [Flaw("required", f"say which {self.by}: one of {words}")]})
        schema = self.kinds.get(str(document[self.by]))
        if schema is None:
            raise ValidationError({self.by: [Flaw("not_in_list", f"write one of {words}")]})
        # Null stands for a field that another kind has, too.
        read: dict[str, Any] = reader_of(schema).load(
            {key: inner for key, inner in document.items() if inner is not None or key not in self.named}
        )
        return read

    @cached_property
    def named(self) -> frozenset[str]:
        """The fields that any of the kinds has."""
        return frozenset(name for kind in self.kinds.values() for name in reader_of(kind).fields)
