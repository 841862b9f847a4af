"""Entity tags: what an answer's state is called, and what a request expects.

Responsible for RFC 9110's If-Match and If-None-Match, and for tags that differ by query, media type
and encoding. Refuses to know how a state's seed is made.
"""

import hashlib
import re
from collections.abc import Sequence

from service.errors import Fault, Invalid

ENTITY_TAG = re.compile(r'\s*(?P<weak>W/)?"(?P<opaque>[\x21\x23-\x7e]*)"\s*(?:,|$)')
ANY = "*"
GZIPPED = "-gzip"
TAG_LENGTH = 32


def seed_of(content: bytes) -> str:
    """The seed of a tag for content that has none of its own."""
    return hashlib.sha256(content).hexdigest()[:TAG_LENGTH]


def entity_tag(seed: str, query: Sequence[tuple[str, str]] = (), media_type: str = "application/json", *, gzipped: bool = False) -> str:
    """The strong entity tag of one representation.

    >>> entity_tag("4f", gzipped=True)
    '"4f-gzip"'
    """
    variant = repr(sorted(query)) if query else ""
    if media_type != "application/json":
        variant += media_type
    suffix = "." + hashlib.sha256(variant.encode()).hexdigest()[:8] if variant else ""
    return f'"{seed}{suffix}{GZIPPED if gzipped else ""}"'


def read_if_match(header: str | None) -> frozenset[str] | None:
    """The tags that a caller expects, without their encoding; a weak tag matches nothing; None without the header.

    >>> sorted(read_if_match('"a-gzip", W/"b", "c"'))
    ['a', 'c']
    """
    if header is None:
        return None
    if header.strip() == ANY:
        return frozenset({ANY})
    tags = _entity_tags(header)
    if not tags:
        detail = 'write the ETag of the state to be replaced with its quotes, as If-Match: "…", or If-Match: *'
        raise Invalid([Fault("", "wrong_type", detail, parameter="If-Match")])
    return frozenset(opaque.removesuffix(GZIPPED) for weak, opaque in tags if not weak)


def none_matches(header: str | None, tag: str) -> bool:
    """False where If-None-Match says that the caller has this representation already (RFC 9110: compared weakly)."""
    if header is None:
        return True
    if header.strip() == ANY:
        return False
    return tag.strip('"') not in {opaque for _, opaque in _entity_tags(header)}


def _entity_tags(header: str) -> list[tuple[bool, str]]:
    """The tags of a header, each (weak, opaque); none where the header is malformed."""
    tags: list[tuple[bool, str]] = []
    position = 0
    while position < len(header):
        match = ENTITY_TAG.match(header, position)
        if match is None:
            return []
        tags.append((match["weak"] is not None, match["opaque"]))
        position = match.end()
    return tags
