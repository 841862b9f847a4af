"""Objects: the schema that all documents share, and a field that holds one.

Responsible for refusing unknown fields and anything but an object. Refuses to know any document.
"""

from typing import Any

from marshmallow import RAISE, Schema, ValidationError, fields

from service.api.faults import Flaw
from service.api.fields.shape import MESSAGES


class Document(Schema):
    """A schema whose load gives the document: every field, in the order of the schema, defaults filled in."""

    error_messages = {  # noqa: RUF012 (the library declares it as an instance variable)
        "unknown": Flaw("unknown_field", "there is no field of this name here"),
        "type": Flaw("wrong_type", "write an object in braces"),
    }

    class Meta:
        """Fields that the schema does not name are refused."""

        unknown = RAISE


class Object(fields.Nested):
    """A field that holds one document of a schema."""

    default_error_messages = MESSAGES

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> Any:
        try:
            return self.schema.load(value)
        except ValidationError as error:
            # What was valid is dropped on purpose: no half-read document goes further.
            raise ValidationError(error.messages) from None
