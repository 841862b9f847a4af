"""Documents as text: how a JSON value is stored and comes back equal.

Responsible for one canonical text of a document and the tag made of it. Refuses to know what a
document means.
"""

import hashlib
from typing import Any

import simplejson

Document = dict[str, Any]


def encode(document: Any) -> str:
    """The text of a document: keys in their order, decimals as written, no blanks.

    >>> from decimal import Decimal
    >>> encode({"amount": Decimal("2.50"), "unit": "kg"})
    '{"amount":2.50,"unit":"kg"}'
    """
    text: str = simplejson.dumps(document, use_decimal=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return text


def decode(text: str) -> Any:
    """The document of a text; a number with a point or an exponent is a Decimal, never a float.

    >>> decode('{"amount":2.5}')
    {'amount': Decimal('2.5')}
    """
    return simplejson.loads(text, use_decimal=True)


def tag(document: Any) -> str:
    """What tells one state of a document from another: 32 hex digits, the seed of an ETag (equal documents, equal tags)."""
    return hashlib.sha256(encode(document).encode()).hexdigest()[:32]
