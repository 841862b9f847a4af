"""Objects: the schema that all documents share, and a field that holds one.

Responsible for refusing unknown fields and anything but an object. Refuses to know any document.
"""

from typing import Any

from marshmallow import RAISE, Schema, ValidationError, fields, missing, pre_load

from service.api.fields.faults import Flaw
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

    @pre_load
    def leave_out_nulls(self, data: Any, **_: Any) -> Any:
        """Null means the default wherever there is one: a caller that writes every field need not know which ones take null."""
        if not isinstance(data, dict):
            return data
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
