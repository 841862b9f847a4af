"""What every field shares: messages that carry an error code, and a shape for the published document.

Responsible for the common ground of all field types. Refuses to know any single one of them.
"""

from abc import abstractmethod
from collections.abc import Mapping
from typing import Any, ClassVar

from marshmallow import Schema, fields, missing

from service.api.fields.faults import Flaw, flaw

REQUIRED = Flaw("required", "this field is required")
NOT_NULL = Flaw("wrong_type", "null is no value here")
MESSAGES: dict[str, str | list[Any] | dict[Any, Any]] = {
    "required": REQUIRED,
    "null": NOT_NULL,
    "validator_failed": Flaw("wrong_type", "this value is not legal here"),
}


class Reader(fields.Field[Any]):
    """What reads one JSON value: a field, a list of them, or an object."""

    default_error_messages = MESSAGES

    @abstractmethod
    def read(self, value: Any) -> Any:
        """The document's value for a JSON value that is not null; raises ValidationError."""

    def deserialize(self, value: Any, *_: Any, **__: Any) -> Any:
        """As the library does, without the functions and validators before and after, which no field here has."""
        return super().deserialize(value) if value is None or value is missing else self.read(value)


class Field(Reader):
    """One JSON value. Subclasses implement ``read`` and state their JSON Schema in ``shape``.

    One whose value may be an object of a schema names it in ``document``, so that stored objects are completed as read ones are.
    """

    shape: ClassVar[dict[str, Any]] = {}
    document: ClassVar[type[Schema] | None] = None

    def describe(self) -> dict[str, Any]:
        """The JSON Schema of the field, without null."""
        return dict(self.shape)


def union(detail: str, by: str, names: Mapping[str, str]) -> dict[str, Any]:
    """The JSON Schema of one of several components, named by the word under a key that all of them require."""
    references = {word: f"#/components/schemas/{name}" for word, name in names.items()}
    return {
        "description": detail,
        "oneOf": [{"$ref": reference} for reference in references.values()],
        "discriminator": {"propertyName": by, "mapping": references},
    }


def expect_text(value: Any, what: str) -> str:
    """The value if it is a text; else a fault that says what to write."""
    if not isinstance(value, str):
        raise flaw("wrong_type", f"write {what} as a text in quotes")
    return value


def expect_object(value: Any, what: str) -> dict[str, Any]:
    """The value if it is an object; else a fault that says what to write."""
    if not isinstance(value, dict):
        raise flaw("wrong_type", f"write {what}")
    return value
