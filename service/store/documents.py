"""Documents as text: how a JSON value is stored and comes back equal.

Responsible for one canonical text of a document, for the tag made of it, and for completing what an older
release stored. Refuses to know what a document means: how each noun is completed is handed in.
"""

import hashlib
from collections.abc import Callable, Mapping
from typing import Any

import simplejson

Document = dict[str, Any]
Complete = Callable[[Any], Any]
# Documents are of dicts and lists, which hold no circles and no named tuples: to look for either takes as long as the rest.
WRITER = simplejson.JSONEncoder(
    use_decimal=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False, check_circular=False, namedtuple_as_object=False
)

_completions: dict[str, Complete] = {}


class NotComposed(RuntimeError):
    """Nobody has said yet how the documents of a noun are completed."""


def complete_by(completions: Mapping[str, Complete]) -> None:
    """From now on this process completes the documents of each noun so; whoever puts the service together says it once, before reading."""
    _completions.update(completions)


def complete(noun: str, stored: Any) -> Any:
    """The document as if it had been sent today: what it did not have when it was stored has its default; raises NotComposed."""
    completion = _completions.get(noun)
    if completion is None:
        raise NotComposed(f"say how documents of {noun} are completed before one is read: documents.complete_by(…)")
    return completion(stored)


def encode(document: Any) -> str:
    """The text of a document: keys in their order, decimals as written, no blanks.

    >>> from decimal import Decimal
    >>> encode({"amount": Decimal("2.50"), "unit": "kg"})
    '{"amount":2.50,"unit":"kg"}'
    """
    text: str = WRITER.encode(document)
    return text


class Encoded(dict[str, Any]):
    """A document with its text, which nobody changes any more: whoever writes has no need to encode it while others wait."""

    __slots__ = ("text",)

    def __init__(self, document: Mapping[str, Any]) -> None:
        super().__init__(document)
        self.text = encode(document)


def text_of(document: Any) -> str:
    """The text of a document, made anew only where it does not carry its own."""
    return document.text if isinstance(document, Encoded) else encode(document)


def says(noun: str, stored: str, document: Encoded) -> bool:
    """Whether a stored text of a noun says what a document does, which most that are sent again do to the letter."""
    return stored == document.text or complete(noun, decode(stored)) == document


def decode(text: str | bytes) -> Any:
    """The document of a text; a number with a point or an exponent is a Decimal, never a float.

    >>> decode('{"amount":2.5}')
    {'amount': Decimal('2.5')}
    """
    return simplejson.loads(text, use_decimal=True)


def tag(document: Any) -> str:
    """What tells one state of a document from another: 32 hex digits, the seed of an ETag (equal documents, equal tags)."""
    return hashlib.sha256(encode(document).encode()).hexdigest()[:32]
