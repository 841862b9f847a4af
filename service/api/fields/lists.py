"""Lists, and tables from codes to codes.

Responsible for how many entries a list may have and for entries that stand twice. Refuses to know
what an entry is.
"""

from typing import Any

from marshmallow import ValidationError, fields

from service.api.fields.faults import Flaw, flaw, number_in
from service.api.fields.shape import Field, Reader, expect_object
from service.api.fields.texts import Code
from service.limits import FAULTS_SOUGHT


class Many(Reader, fields.List[Any]):
    """A list of at most ``most`` entries. ``unique`` names the keys that no two entries may share; () compares whole entries."""

    def __init__(
        self, entry: fields.Field[Any], *, most: int, least: int = 0, unique: tuple[str, ...] | None = None, **kwargs: Any
    ) -> None:
        super().__init__(entry, **kwargs)
        self.most = most
        self.least = least
        self.unique = unique

    def describe(self) -> dict[str, Any]:
        """The part of the JSON Schema that counts entries."""
        shape: dict[str, Any] = {"maxItems": self.most}
        if self.least:
            shape["minItems"] = self.least
        return {**shape, "uniqueItems": True} if self.unique == () else shape

    def read(self, value: Any) -> list[Any]:
        """The value for the document; raises ValidationError."""
        if not isinstance(value, list):
            raise flaw("wrong_type", "write a list in brackets")
        if len(value) > self.most:
            raise flaw("too_many", f"this list has {len(value)} entries: write at most {self.most}")
        if len(value) < self.least:
            raise flaw("required", f"write at least {self.least} {'entry' if self.least == 1 else 'entries'}")
        read: list[Any] = []
        errors: dict[int, Any] = {}
        found = 0
        for index, entry in enumerate(value):
            try:
                read.append(self.inner.deserialize(entry))
            except ValidationError as error:
                errors[index] = error.messages
                found += number_in(error.messages)
            if found >= FAULTS_SOUGHT:
                break
        for index, place in self._repeated(value):
            errors.setdefault(index, place)
        if errors:
            raise ValidationError(errors)
        return read

    def _repeated(self, entries: list[Any]) -> list[tuple[int, Any]]:
        if self.unique is None:
            return []
        first: dict[str, int] = {}
        places: list[tuple[int, Any]] = []
        for index, entry in enumerate(entries):
            key = self._key(entry)
            if key is None:
                continue
            if key in first:
                message = [Flaw("duplicate", f"this stands at position {first[key] + 1} of the list already")]
                places.append((index, {self.unique[0]: message} if len(self.unique) == 1 else message))
            else:
                first[key] = index
        return places

    def _key(self, entry: Any) -> str | None:
        if not self.unique:
            return repr(entry)
        if not isinstance(entry, dict) or any(entry.get(key) is None for key in self.unique):
            return None
        return repr([sorted(part.items()) if isinstance(part := entry[key], dict) else part for key in self.unique])


class Table(Field):
    """An object whose keys and values are codes."""

    entry = Code()

    def __init__(self, *, most: int, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.most = most

    def describe(self) -> dict[str, Any]:
        """The JSON Schema of the field, without null."""
        code = self.entry.describe()
        return {"type": "object", "propertyNames": code, "additionalProperties": code, "maxProperties": self.most}

    def read(self, value: Any) -> dict[str, str]:
        """The value for the document; raises ValidationError."""
        entries = expect_object(value, 'an object of codes, as {"bakery": "cold-line"}')
        if len(entries) > self.most:
            raise flaw("too_many", f"this object has {len(entries)} entries: write at most {self.most}")
        errors: dict[str, Any] = {}
        for key, inner in entries.items():
            for text in (key, inner):
                try:
                    self.entry.read(text)
                except ValidationError as error:
                    errors[key] = error.messages
        if errors:
            raise ValidationError(errors)
        return dict(entries)
