"""JSON at the edge: strict on the way in, the same bytes every time on the way out.

Responsible for turning bytes into exact values (int and Decimal, never float) and back. Refuses to
know schemas: what a document must contain is decided elsewhere.
"""

import json
import re
from collections.abc import Iterator
from decimal import Context, Decimal
from itertools import islice
from typing import Any

import simplejson

from service.errors import Fault, ServiceError
from service.limits import FAULTS_SOUGHT, JSON_DEPTH, JSON_DIGITS, KEY_SHOWN

FORBIDDEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff]")
# In UTF-8 as they are, or escaped; one that is told as a pair of halves, or behind an escaped backslash, only looks so.
SUSPECT = re.compile(rb"\\(?:[bfr]|u(?:00[0189]|007[fF]|[dD][89a-fA-F]))|\x7f|\xc2[\x80-\x9f]")
NO_BRACKETS = bytes(set(range(256)) - set(b'"[]{}'))
EXACT = Context(prec=2 * JSON_DIGITS)
# Answers are of dicts and lists, which hold no circles and no named tuples: to look for either takes as long as the rest.
WRITER = simplejson.JSONEncoder(
    use_decimal=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False, check_circular=False, namedtuple_as_object=False
)
# A station of a large kitchen's list is a megabyte.
ENTRIES = 4


class Unparseable(ServiceError):
    """A body that is not strict JSON in UTF-8."""

    code = "unparseable"


def parse(raw: bytes) -> Any:
    """The value that strict JSON text holds; integers as int, other numbers as Decimal.

    >>> parse(b'{"a": 2.50, "b": 1e2, "c": 3.0}')
    {'a': Decimal('2.5'), 'b': 100, 'c': 3}

    Raises Unparseable for anything but UTF-8, for duplicate keys, NaN, Infinity, numbers of more
    digits and nesting of more levels than the limits allow.
    """
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        raise Unparseable(f"The body is not UTF-8: the byte at position {error.start} does not belong.") from None
    try:
        value = json.loads(
            text, parse_int=_read_int, parse_float=_read_number, parse_constant=_refuse_constant, object_pairs_hook=_read_object
        )
    except json.JSONDecodeError as error:
        raise Unparseable(f"The body is not JSON: {error.msg} at line {error.lineno}, column {error.colno}.") from None
    except RecursionError:
        raise _too_deep() from None
    if not _is_shallow(raw):
        _check_depth(value)
    return value


def render(value: Any) -> bytes:
    """The bytes of a value: UTF-8, no spaces, Decimals and floats as numbers; equal values give equal bytes."""
    return WRITER.encode(value).encode("utf-8", "replace")


def render_in_pieces(value: Any) -> Iterator[bytes]:
    """The same bytes, piece by piece: a list of a large kitchen takes half the memory where it is never one text."""
    if not isinstance(value, dict):
        yield render(value)
        return
    opening = b"{"
    for key, inner in value.items():
        yield opening + render(key) + b":"
        yield from _listed(inner) if isinstance(inner, list) else (render(inner),)
        opening = b","
    yield b"}" if value else b"{}"


def is_suspect(raw: bytes) -> bool:
    r"""Whether strict JSON text may hold what ``find_control_characters`` finds: most do not, which is seen sooner in bytes than in values.

    >>> is_suspect(rb'["a", "\n", "\u00b0C"]'), is_suspect(rb'["\u0000"]'), is_suspect(rb'["\r"]')
    (False, True, True)
    """
    return SUSPECT.search(raw) is not None


def find_control_characters(value: Any) -> list[Fault]:
    """A fault for every text (or key) that holds NUL, another control character or half of a surrogate pair.

    Newline and tab pass here: the fields know which texts may hold them.
    """
    # Nearly every value has none: its texts are looked at in one go before their places are told.
    if FORBIDDEN.search("".join(_strings(value))) is None:
        return []
    faults = (
        Fault(pointer, "wrong_type", f"a control character (U+{ord(sign):04X}) stands at position {position} of this text: leave it out")
        for pointer, text in _texts("", value)
        for match in [FORBIDDEN.search(text)]
        if match
        for sign, position in [(match.group(), match.start() + 1)]
    )
    return list(islice(faults, FAULTS_SOUGHT))


def token(key: str | int) -> str:
    """One reference token of an RFC 6901 pointer.

    >>> token("a/b~c")
    'a~1b~0c'

    Of a key that is longer than any of the interface the start is told: it stands in the pointer of each fault below.
    """
    text = str(key)
    return (text if len(text) <= KEY_SHOWN else f"{text[:KEY_SHOWN]}…").replace("~", "~0").replace("/", "~1")


def _listed(value: list[Any]) -> Iterator[bytes]:
    """A list, so many entries a piece."""
    for first in range(0, len(value), ENTRIES):
        yield (b"," if first else b"[") + render(value[first : first + ENTRIES])[1:-1]
    yield b"]" if value else b"[]"


def _strings(value: Any) -> list[str]:
    """Every text and key of a value, in no order."""
    strings: list[str] = []
    waiting = [value]
    while waiting:
        inner = waiting.pop()
        if isinstance(inner, str):
            strings.append(inner)
        elif isinstance(inner, dict):
            strings += inner
            waiting += inner.values()
        elif isinstance(inner, list):
            waiting += inner
    return strings


def _texts(pointer: str, value: Any) -> Iterator[tuple[str, str]]:
    if isinstance(value, str):
        yield pointer, value
    elif isinstance(value, dict):
        for key, inner in value.items():
            below = f"{pointer}/{token(key)}"
            yield below, key
            yield from _texts(below, inner)
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from _texts(f"{pointer}/{index}", inner)


def _is_shallow(raw: bytes) -> bool:
    """Whether JSON text surely nests no deeper than the limit, by its brackets alone, where no text that stands in it may hold one."""
    if b'\\"' in raw:
        return False
    # Of a text without brackets in it two quotes are left, side by side.
    brackets = raw.translate(None, NO_BRACKETS).replace(b'""', b"")
    if b'"' in brackets:
        return False
    # Each time goes up to two levels.
    for _ in range(JSON_DEPTH // 2):
        brackets = brackets.replace(b"{}", b"").replace(b"[]", b"")
    return not brackets


def _check_depth(value: Any) -> None:
    level = [value] if isinstance(value, (dict, list)) else []
    for _ in range(JSON_DEPTH):
        if not level:
            return
        level = [
            inner for outer in level for inner in (outer.values() if isinstance(outer, dict) else outer) if isinstance(inner, (dict, list))
        ]
    if level:
        raise _too_deep()


def _too_deep() -> Unparseable:
    return Unparseable(f"The body nests more than {JSON_DEPTH} levels of arrays and objects.")


def _read_int(text: str) -> int:
    if len(text) > JSON_DIGITS and len(text.lstrip("-")) > JSON_DIGITS:
        raise _too_long(text)
    return int(text)


def _read_number(text: str) -> int | Decimal:
    short = len(text) <= JSON_DIGITS and "e" not in text and "E" not in text
    number = Decimal(text) if short else _read_long(text)
    return int(number) if number == number.to_integral_value() else EXACT.normalize(number)


def _read_long(text: str) -> Decimal:
    mantissa, _, exponent = text.lower().partition("e")
    digits = sum(character.isdigit() for character in mantissa)
    if digits > JSON_DIGITS or len(exponent.lstrip("+-").lstrip("0")) > len(str(JSON_DIGITS)):
        raise _too_long(text)
    number = Decimal(text)
    if number and not -JSON_DIGITS <= number.adjusted() < JSON_DIGITS:
        raise _too_long(text)
    return number


def _too_long(text: str) -> Unparseable:
    shown = text if len(text) <= 40 else text[:40] + "…"
    return Unparseable(f"The number {shown} has more than {JSON_DIGITS} digits.")


def _refuse_constant(text: str) -> Any:
    raise Unparseable(f"{text} is not a JSON number.")


def _read_object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    value = dict(pairs)
    if len(value) < len(pairs):
        seen: set[str] = set()
        twice = next(key for key, _ in pairs if key in seen or seen.add(key))  # type: ignore[func-returns-value]
        raise Unparseable(f"The key {twice[:80]!r} stands twice in one object.")
    return value
