"""Answers: from a view's value to bytes, headers and tags.

Responsible for the encoding of answers, their ETag and the 304. Refuses to know nouns.
"""

import re
import zlib
from collections.abc import Callable, Collection, Hashable, Iterable, Mapping
from dataclasses import dataclass, field
from io import BytesIO
from typing import Any

from flask import Request, Response
from werkzeug.datastructures import MIMEAccept
from werkzeug.http import parse_accept_header

from service.api.wire.conditions import entity_tag, none_matches, seed_of
from service.api.wire.json import render_in_pieces
from service.api.wire.kept import KeptBytes, Key
from service.api.wire.refusals import NotAcceptable

JSON = "application/json"
# How zlib is told to write a gzip stream, of the longest memory, without a time.
GZIP = 16 + zlib.MAX_WBITS
# A charset in Accept says nothing here: JSON is UTF-8, and so is all else that is answered. There is one version of each, too.
CHARSET = re.compile(r";\s*(?:charset|version)\s*=\s*\"?[\w.-]*\"?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Face:
    """One media type of an answer that has several: how its body is written, in pieces, and the headers that go with it."""

    write: Callable[[Any], Iterable[bytes]]
    headers: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What a view answers. ``body`` may be a function: it is called only if the caller does not have that state already.

    ``faces`` tells, by media type, how the body is written, if not as any JSON. Keys of the query in ``naming`` name the thing
    itself, so that they tell no other representation of it apart.
    """

    body: Any = None
    status: int = 200
    tag: str | None = None
    location: str | None = None
    headers: dict[str, str] = field(default_factory=dict)
    faces: Mapping[str, Face] = field(default_factory=dict)
    naming: Collection[str] = ()


JSON_FACE = Face(render_in_pieces)


def choose_media_type(request: Request, offers: tuple[str, ...]) -> str:
    """The media type to answer in: the first offer where the caller does not mind; raises NotAcceptable."""
    accepted = parse_accept_header(CHARSET.sub("", request.headers.get("Accept", "")), MIMEAccept)
    if not accepted:
        return offers[0]
    best = accepted.best_match(offers)
    if best is None:
        raise NotAcceptable(f"This route answers {' or '.join(offers)}.")
    return best


def wants_gzip(request: Request) -> bool:
    """Whether gzip is acceptable and not worse than no encoding."""
    accepted = request.accept_encodings
    quality = accepted.quality("gzip")
    explicit = [worth for name, worth in accepted if name == "identity"]
    return bool(quality > 0 and (not explicit or quality >= explicit[0]))


def respond(request: Request, answer: Answer, media_type: str = JSON, kept: KeptBytes | None = None, reader: Hashable = None) -> Response:
    """The response to a request: 304 where the caller has this state, else the bytes of the answer.

    Where the view gives the tag, the bytes are ``kept`` under ``key_of`` it, for each kind of ``reader`` who is shown the same.
    """
    gzipped = wants_gzip(request)
    reading = request.method in ("GET", "HEAD") and answer.status == 200
    query = [(key, value) for key, value in request.args.items(multi=True) if key not in answer.naming]
    if reading and answer.tag is not None:
        known = entity_tag(answer.tag, query, media_type, gzipped=gzipped)
        if not none_matches(request.headers.get("If-None-Match"), known):
            return _unchanged(known)
    if answer.status == 204:
        return _with_headers(Response(status=204), answer, None)
    face = {JSON: JSON_FACE, **answer.faces}[media_type]
    if kept is not None and reading and answer.tag is not None:
        key = key_of(request, media_type, reader, known)
        return _with_headers(_kept(answer, face, media_type, kept, key, gzipped=gzipped), answer, known)
    content = _joined(face.write(answer.body() if callable(answer.body) else answer.body))
    seed = answer.tag or (seed_of(content) if reading else None)
    tag = None if seed is None else entity_tag(seed, query if reading else (), media_type, gzipped=gzipped)
    if reading and tag is not None and not none_matches(request.headers.get("If-None-Match"), tag):
        return _unchanged(tag)
    response = pack(content, answer.status, content_type(media_type), gzipped=gzipped)
    response.headers.update(face.headers)
    return _with_headers(response, answer, tag)


def key_of(request: Request, media_type: str, reader: Hashable, tag: str) -> Key:
    """Where the bytes of an answer with a tag are kept."""
    return Key((request.full_path, media_type, wants_gzip(request), reader), tag)


def _kept(answer: Answer, face: Face, media_type: str, kept: KeptBytes, key: Key, *, gzipped: bool) -> Response:
    """The response with the bytes that were sent before, else with those that are made and kept now."""
    content = kept.get(key)
    if content is None:
        pieces = face.write(answer.body() if callable(answer.body) else answer.body)
        content = compress(pieces) if gzipped else _joined(pieces)
        kept.put(key, content)
    response = Response(content, status=answer.status, content_type=content_type(media_type))
    if gzipped:
        response.headers["Content-Encoding"] = "gzip"
    response.headers.update(face.headers)
    return response


def content_type(media_type: str) -> str:
    """A media type as a header: texts state their charset, JSON has none to state.

    >>> content_type("text/csv"), content_type("application/json")
    ('text/csv; charset=utf-8', 'application/json')
    """
    return f"{media_type}; charset=utf-8" if media_type.startswith("text/") else media_type


def pack(content: bytes, status: int, kind: str, *, gzipped: bool) -> Response:
    """A response with this content, compressed where the caller accepts it; equal content gives equal bytes."""
    response = Response(compress([content]) if gzipped else content, status=status, content_type=kind)
    if gzipped:
        response.headers["Content-Encoding"] = "gzip"
    return response


def compress(pieces: Iterable[bytes]) -> bytes:
    """Pieces of content as gzip; equal content gives equal bytes."""
    packer = zlib.compressobj(level=6, wbits=GZIP)
    return b"".join((*map(packer.compress, pieces), packer.flush()))


def _joined(pieces: Iterable[bytes]) -> bytes:
    """Pieces of content as one; all of them and the whole are never there at a time."""
    whole = BytesIO()
    whole.writelines(pieces)
    return whole.getvalue()


def _unchanged(tag: str) -> Response:
    response = Response(status=304)
    response.headers["ETag"] = tag
    return response


def _with_headers(response: Response, answer: Answer, tag: str | None) -> Response:
    if tag is not None:
        response.headers["ETag"] = tag
    if answer.location is not None:
        response.headers["Location"] = answer.location
    response.headers.update(answer.headers)
    return response
