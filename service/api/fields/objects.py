"""Objects: the schema that all documents share, and fields that hold one, of one kind or of several.

Responsible for refusing unknown fields and anything but an object. Refuses to know any document.
"""

from collections.abc import Mapping
from difflib import get_close_matches
from functools import cache, cached_property
from typing import Any

from marshmallow import RAISE, Schema, ValidationError, fields, missing
from marshmallow.exceptions import SCHEMA

from service.api.fields.faults import Flaw
from service.api.fields.shape import MESSAGES, Field, expect_object, union
from service.limits import FAULTS_SOUGHT

UNKNOWN = Flaw("unknown_field", "there is no field of this name here")
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

    def handle_error(self, error: ValidationError, data: Any, **_: Any) -> None:
        """Name the nearest legal fields in the place of those that there are not."""
        if not isinstance(error.messages, dict) or not isinstance(data, dict):
            return
        legal = [key for _, key, _, _ in self.parts]
        for key in [key for key, inner in error.messages.items() if inner == [UNKNOWN]]:
            error.messages[key] = [Flaw("unknown_field", f"{UNKNOWN}; {nearest(str(key), legal)}")] if legal else [UNKNOWN]

    error_messages = {  # noqa: RUF012 (the library declares it as an instance variable)
        "unknown": UNKNOWN,
        "type": Flaw("wrong_type", "write an object in braces"),
    }

    class Meta:
        """Fields that the schema does not name are refused."""

        unknown = RAISE

    def load(self, data: Any, **given: Any) -> Any:
        """The document; raises ValidationError, of an object of far too many fields before any is read."""
        if isinstance(data, dict) and len(data) > len(self.load_fields) + FAULTS_SOUGHT:
            detail = f"this object has {len(data)} fields: there are {len(self.load_fields)} that belong here"
            raise ValidationError({SCHEMA: [Flaw("too_many", detail)]})
        return super().load(data, **given)

    def _deserialize(self, data: Any, *, error_store: Any, index: int | None = None, **given: Any) -> Any:
        """Read each field by itself: what the library does beside, for what nobody here asks, took half the time of an import.

        Null means the default wherever there is one: a caller that writes every field need not know which ones take null.
        """
        if not isinstance(data, dict):
            return super()._deserialize(data, error_store=error_store, index=index, **given)
        read: dict[str, Any] = {}
        for name, key, field, defaulted in self.parts:
            value = data.get(key, missing)
            try:
                value = field.deserialize(missing if value is None and defaulted else value, key, data)
            except ValidationError as error:
                error_store.store_error(error.messages, key, index=index)
            else:
                if value is not missing:
                    read[name] = value
        for key in data.keys() - self.legal:
            error_store.store_error([UNKNOWN], key, index=index)
        return read

    @cached_property
    def parts(self) -> tuple[tuple[str, str, fields.Field[Any], bool], ...]:
        """The fields: the name of each in the document and in JSON, and whether it may be left out."""
        return tuple(
            (field.attribute or name, field.data_key or name, field, field.load_default is not missing)
            for name, field in self.load_fields.items()
        )

    @cached_property
    def legal(self) -> frozenset[str]:
        """The names of the fields in JSON."""
        return frozenset(key for _, key, _, _ in self.parts)


@cache
def reader_of(schema: type[Schema]) -> Schema:
    """The one instance of a schema; loading keeps no state in it, and making one takes longer than a load."""
    return schema()


class Object(fields.Nested):
    """A field that holds one document of a schema."""

    default_error_messages = MESSAGES

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> Any:
        try:
            return self.schema.load(value)
        except ValidationError as error:
            # What was valid is dropped on purpose: no half-read document goes further.
            raise ValidationError(error.messages) from None


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
