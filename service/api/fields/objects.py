"""Objects: the schema that all documents share, and a field that holds one.

Responsible for refusing unknown fields and anything but an object. Refuses to know any document.
"""

from collections.abc import Mapping
from typing import Any, ClassVar

from marshmallow import RAISE, Schema, ValidationError, fields

from service.api.faults import Flaw
from service.api.fields.shape import MESSAGES


class Document(Schema):
    """A schema whose load gives the document: every field, in the order of the schema, defaults filled in."""

    error_messages: ClassVar[dict[str, str]] = {
        "unknown": Flaw("unknown_field", "there is no field of this name here"),
        "type": Flaw("wrong_type", "write an object in braces"),
    }

    class Meta:
        """Fields that the schema does not name are refused."""

        unknown = RAISE


class Object(fields.Nested):
    """A field that holds one document of a schema."""

    default_error_messages: ClassVar[dict[str, str]] = dict(MESSAGES)

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> Any:
        try:
            return self.schema.load(value)
        except ValidationError as error:
            # What was valid is dropped on purpose: no half-read document goes further.
            raise ValidationError(error.messages) from None
