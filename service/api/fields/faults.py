"""From schema errors to faults with RFC 6901 pointers: the one translation.

Responsible for carrying an error code along with each message of a schema, and for turning the
schema library's nested dictionaries of messages into a flat list of faults. Refuses to know any schema.
"""

from collections.abc import Iterator, Sequence
from typing import Any, Self

from marshmallow.exceptions import SCHEMA, ValidationError

from service.api.wire.json import token
from service.errors import Fault


class Flaw(str):
    """A message that remembers its error code, also after being formatted."""

    __slots__ = ("code",)
    code: str

    def __new__(cls, code: str, detail: str) -> Self:
        """The message ``detail`` under the error code ``code``."""
        made = super().__new__(cls, detail)
        made.code = code
        return made

    def format(self, *positional: object, **named: object) -> "Flaw":
        """Fill in the message; the code stays (the library formats every message before it stores it)."""
        return Flaw(self.code, super().format(*positional, **named)) if positional or named else self


def flaw(code: str, detail: str) -> ValidationError:
    """An error to raise in a field or schema, with a code of the contract."""
    return ValidationError([Flaw(code, detail)])


def flaws_at(places: Sequence[tuple[tuple[str | int, ...], str, str]]) -> ValidationError:
    """One error for several places below a schema: (path, code, detail) each."""
    tree: dict[Any, Any] = {}
    for path, code, detail in places:
        node = tree
        for step in path:
            node = node.setdefault(step, {})
        node.setdefault(SCHEMA, []).append(Flaw(code, detail))
    return ValidationError(tree)


def faults_in(messages: Any, pointer: str = "") -> list[Fault]:
    """Every fault in the messages of a schema, in the order of the document's fields.

    >>> faults_in({"lines": {0: {"step": [Flaw("out_of_range", "no such step")]}}})
    [Fault(pointer='/lines/0/step', code='out_of_range', detail='no such step', parameter=None)]
    """
    return list(_walk(messages, pointer))


def number_in(messages: Any) -> int:
    """How many faults there are in the messages of a schema.

    >>> number_in({"lines": {0: {"step": ["no such step", "no number"]}, 1: ["no object"]}})
    3
    """
    if isinstance(messages, (dict, list, tuple)):
        return sum(map(number_in, messages.values() if isinstance(messages, dict) else messages))
    return 1


def _walk(messages: Any, pointer: str) -> Iterator[Fault]:
    if isinstance(messages, dict):
        for key, inner in messages.items():
            yield from _walk(inner, pointer if key == SCHEMA else f"{pointer}/{token(key)}")
    elif isinstance(messages, (list, tuple)):
        for inner in messages:
            yield from _walk(inner, pointer)
    elif isinstance(messages, Flaw):
        yield Fault(pointer, messages.code, str(messages))
    else:
        # A message of the library's own would mean that a field without codes slipped into a schema.
        yield Fault(pointer, "wrong_type", str(messages))
