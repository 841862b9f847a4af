"""Objects: the schema that all documents share, and fields that hold one, of one kind or of several.

Responsible for refusing unknown fields and anything but an object. Refuses to know any document.
"""

from collections.abc import Mapping
from difflib import get_close_matches
from typing import Any

from marshmallow import RAISE, Schema, ValidationError, fields, missing, pre_load

from service.api.fields.faults import Flaw, flaw
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
        legal = [field.data_key or name for name, field in self.load_fields.items()]
        for key in [key for key, inner in error.messages.items() if inner == [UNKNOWN]]:
            error.messages[key] = [Flaw("unknown_field", f"{UNKNOWN}; {nearest(str(key), legal)}")] if legal else [UNKNOWN]

    error_messages = {  # noqa: RUF012 (the library declares it as an instance variable)
        "unknown": UNKNOWN,
        "type": Flaw("wrong_type", "write an object in braces"),
    }

    class Meta:
        """Fields that the schema does not name are refused."""

        unknown = RAISE

    @pre_load
    def leave_out_nulls(self, data: Any, **_: Any) -> Any:
        """Null means the default wherever there is one: a caller that writes every field need not know which ones take null."""
        if not isinstance(data, dict):
            return data
        if len(data) > len(self.load_fields) + FAULTS_SOUGHT:
            raise flaw("too_many", f"this object has {len(data)} fields: there are {len(self.load_fields)} that belong here")
        defaults = {field.data_key or name: field.load_default for name, field in self.load_fields.items()}
        return {name: value for name, value in data.items() if value is not None or defaults.get(name, missing) is missing}


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
        named = {name for kind in self.kinds.values() for name in kind().fields}
        read: dict[str, Any] = schema().load({key: inner for key, inner in document.items() if inner is not None or key not in named})
        return read
