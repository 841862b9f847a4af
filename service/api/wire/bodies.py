"""Bodies of requests: media type, size, compression.

Responsible for handing over the JSON value of a body, or refusing it with 413, 415 or 400. Refuses
to know what the value means.
"""

import re
import zlib
from itertools import islice
from typing import Any

from flask import Request
from werkzeug.exceptions import BadRequest

from service.api.wire.json import Unparseable, is_suspect, parse
from service.api.wire.refusals import TooLarge, UnsupportedMediaType
from service.limits import GZIP_MEMBERS, JSON_VALUES

MEDIA_TYPE = "application/json"
GZIP = zlib.MAX_WBITS | 16
PIECE_BYTES = 16 << 10
INCOMPLETE = "The body ended before its stated length, or is not framed as its headers say."
TEXT_OR_SIGN = re.compile(rb'"[^"\\]*(?:\\.[^"\\]*)*"|([,[{])', re.DOTALL)


def read_json(request: Request, limit: int) -> tuple[Any, bool]:
    """The value of a JSON body of at most ``limit`` bytes, counted after decompression, and whether it may hold control characters."""
    if request.content_length is not None and request.content_length > limit:
        raise _too_large(limit)
    _check_media_type(request)
    packed = _is_packed(request)
    raw = _receive(request, limit)
    if packed:
        raw = _unpack(raw, limit)
    _check_values(raw)
    return parse(raw), is_suspect(raw)


def _check_media_type(request: Request) -> None:
    charset = request.mimetype_params.get("charset", "utf-8").lower()
    if request.mimetype != MEDIA_TYPE or charset not in ("utf-8", "utf8"):
        raise UnsupportedMediaType(f"Send Content-Type: {MEDIA_TYPE}; this body is {request.content_type or 'without a type'}.")


def _is_packed(request: Request) -> bool:
    encoding = request.headers.get("Content-Encoding", "identity").strip().lower()
    if encoding not in ("identity", "gzip", "x-gzip", ""):
        raise UnsupportedMediaType(f"The Content-Encoding {encoding[:40]} is not read here; send gzip, or the body as it is.")
    return "gzip" in encoding


def _receive(request: Request, limit: int) -> bytes:
    try:
        raw: bytes = request.stream.read(limit + 1)
    except (BadRequest, OSError):
        raise Unparseable(INCOMPLETE) from None
    # A server may pass on a body that ends early as if it were whole.
    if len(raw) < (request.content_length or 0):
        raise Unparseable(INCOMPLETE)
    if len(raw) > limit:
        raise _too_large(limit)
    return raw


def _unpack(raw: bytes, limit: int) -> bytes:
    """Decompress every member of a gzip stream, never past the limit."""
    parts: list[bytes] = []
    room = limit + 1
    stream = zlib.decompressobj(GZIP)
    members = 1
    # What follows a member is copied: of a piece, not of all the rest each time.
    for start in range(0, len(raw), PIECE_BYTES):
        piece = raw[start : start + PIECE_BYTES]
        while piece:
            if stream.eof:
                stream = zlib.decompressobj(GZIP)
                members += 1
            if members > GZIP_MEMBERS:
                raise TooLarge(f"The gzip stream of a body has at most {GZIP_MEMBERS} members.")
            try:
                parts.append(stream.decompress(piece, room))
            except zlib.error:
                raise Unparseable("The body is not a gzip stream.") from None
            room -= len(parts[-1])
            if room <= 0:
                raise _too_large(limit)
            piece = stream.unused_data
    if raw and not stream.eof:
        raise Unparseable("The gzip stream of the body ends too early.")
    return b"".join(parts)


def _check_values(raw: bytes) -> None:
    """Refuse what would take too much memory as values: each is behind a comma, or behind the bracket of its list or object.

    Texts hold these signs too. They are told apart only where the count needs it.
    """
    if sum(map(raw.count, (b",", b"[", b"{"))) <= JSON_VALUES:
        return
    signs = (1 for match in TEXT_OR_SIGN.finditer(raw) if match.lastindex)
    if sum(islice(signs, JSON_VALUES + 1)) > JSON_VALUES:
        raise TooLarge(f"A body has at most {JSON_VALUES} values, each entry of a list and each field of an object being one.")


def _too_large(limit: int) -> TooLarge:
    return TooLarge(f"A body of this route has at most {limit} bytes, counted after decompression.")
