"""Texts, codes, choices and flags.

Responsible for lengths, patterns and control characters of text. Refuses to change what was written:
no trimming, no normalization.
"""

import re
from collections.abc import Sequence
from typing import Any, ClassVar

from service.api.fields.faults import flaw
from service.api.fields.shape import Field, expect_text
from service.limits import CODE_PATTERN, NAME_LENGTH

CODE = re.compile(CODE_PATTERN)
BREAKS = re.compile(r"[\n\t]")


CONTROLS = r"\x00-\x08\x0b-\x1f\x7f-\x9f"


def legal(*, lines: bool, blank: bool) -> str:
    """The pattern of texts without control characters; of several lines or one, blank or with a character that shows."""
    refused = CONTROLS if lines else rf"\t\n{CONTROLS}"
    return rf"^[^{refused}]*$" if blank else rf"^[^{refused}]*[^\s{refused}][^{refused}]*$"


class Text(Field):
    """A text of limited length; ``lines`` allows newline and tab, ``blank`` allows the empty text."""

    def __init__(
        self, most: int = NAME_LENGTH, *, lines: bool = False, blank: bool = False, pattern: str | None = None, **kwargs: Any
    ) -> None:
        super().__init__(**kwargs)
        self.most = most
        self.lines = lines
        self.blank = blank
        self.pattern = pattern

    def describe(self) -> dict[str, Any]:
        """The JSON Schema of the field, without null."""
        shape: dict[str, Any] = {"type": "string", "maxLength": self.most}
        if not self.blank:
            shape["minLength"] = 1
        return {**shape, "pattern": f"^{self.pattern}$" if self.pattern else legal(lines=self.lines, blank=self.blank)}

    def read(self, value: Any) -> str:
        """The value for the document; raises ValidationError."""
        text = expect_text(value, "this")
        if not self.blank and not text.strip():
            raise flaw("required", "this text is empty: write at least one character that shows")
        if len(text) > self.most:
            raise flaw("too_long", f"this text has {len(text)} characters: write at most {self.most}")
        if not self.lines and BREAKS.search(text):
            raise flaw("wrong_type", "a newline or tab stands in this text: write it on one line")
        if self.pattern and not re.fullmatch(self.pattern, text):
            raise flaw("wrong_type", f"this text must match {self.pattern}")
        return text


class Echo(Field):
    """A text of answers that may repeat anything a caller sent, control characters too."""

    shape: ClassVar[dict[str, Any]] = {"type": "string"}

    def read(self, value: Any) -> str:
        """The text."""
        return expect_text(value, "this")


class Code(Field):
    """The caller's own stable key of a thing."""

    def describe(self) -> dict[str, Any]:
        """The JSON Schema of the field, without null."""
        return {"type": "string", "pattern": f"^{CODE_PATTERN}$"}

    def read(self, value: Any) -> str:
        """The value for the document; raises ValidationError."""
        text = expect_text(value, "a code")
        if not CODE.fullmatch(text):
            if len(text) > 64:
                raise flaw("too_long", f"this code has {len(text)} characters: write at most 64")
            raise flaw("wrong_type", "a code is made of a-z, 0-9 and -, and begins with a letter or digit, for instance small-dice")
        return text


class Choice(Field):
    """One word of a closed list."""

    def __init__(self, words: Sequence[str], **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.words = tuple(words)

    def describe(self) -> dict[str, Any]:
        """The JSON Schema of the field, without null."""
        return {"type": "string", "enum": list(self.words)}

    def read(self, value: Any) -> str:
        """The value for the document; raises ValidationError."""
        text = expect_text(value, f"one of {', '.join(self.words)}")
        if text not in self.words:
            raise flaw("not_in_list", f"write one of {', '.join(self.words)}")
        return text


class Flag(Field):
    """True or false; nothing else means either."""

    shape: ClassVar[dict[str, Any]] = {"type": "boolean"}

    def read(self, value: Any) -> bool:
        """The value for the document; raises ValidationError."""
        if not isinstance(value, bool):
            raise flaw("wrong_type", "write true or false, without quotes")
        return value
