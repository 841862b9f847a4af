"""Packing: texts in few bytes, alone or as what differs from a text like it.

Responsible for the one way in which texts are compressed (zstd). What is stored can be unpacked with the very bytes that it
was packed ``like``, and with no others. Refuses to know what the texts say, and where either is kept.
"""

import sys

if sys.version_info >= (3, 14):
    from compression import zstd
else:
    # The same module, for Pythons that have not got it yet.
    from backports import zstd

# Beyond it a text takes several times as long to pack, for a tenth less.
LEVEL = 9
# Repetitions are found that far back: over the print of a large kitchen and the one that it is like.
WINDOW = 23
OPTIONS: dict[int, int] = {
    zstd.CompressionParameter.compression_level: LEVEL,
    zstd.CompressionParameter.window_log: WINDOW,
    zstd.CompressionParameter.content_size_flag: 0,
}


def pack(text: str, like: bytes = b"") -> bytes:
    """A text in few bytes.

    >>> unpack(pack("soup, soup and soup", b"soup, bread and soup"), b"soup, bread and soup")
    'soup, soup and soup'
    """
    return zstd.compress(text.encode(), options=OPTIONS, zstd_dict=_prefix(like))


def unpack(packed: bytes, like: bytes = b"") -> str:
    """The text that was packed."""
    return zstd.decompress(packed, zstd_dict=_prefix(like)).decode()


def _prefix(like: bytes) -> "tuple[zstd.ZstdDict, int] | None":
    return zstd.ZstdDict(like, is_raw=True).as_prefix if like else None
