"""Packing: texts in few bytes, alone or as what differs from a text like it.

Responsible for the one way in which texts, in UTF-8, are compressed (zstd). What is stored can be unpacked with the very bytes that it
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
# Repetitions are found that far back, the most that zstd reads unasked: over the print of a large kitchen, 45 MB, and the one
# that it is like. A shorter text takes no more memory for it.
WINDOW = 27
# Over more bytes zstd remembers too little of what was long ago, unless it is told to; over fewer that costs a little.
NEAR = 1 << 23
OPTIONS: dict[int, int] = {
    zstd.CompressionParameter.compression_level: LEVEL,
    zstd.CompressionParameter.window_log: WINDOW,
    zstd.CompressionParameter.content_size_flag: 0,
}


def pack(text: bytes, like: bytes = b"") -> bytes:
    """A text in few bytes.

    >>> unpack(pack(b"soup, soup and soup", b"soup, bread and soup"), b"soup, bread and soup")
    b'soup, soup and soup'
    """
    far = len(text) + len(like) > NEAR
    return zstd.compress(text, options=OPTIONS | {zstd.CompressionParameter.enable_long_distance_matching: far}, zstd_dict=_prefix(like))


def unpack(packed: bytes, like: bytes = b"") -> bytes:
    """The text that was packed."""
    return zstd.decompress(packed, zstd_dict=_prefix(like))


def _prefix(like: bytes) -> "tuple[zstd.ZstdDict, int] | None":
    return zstd.ZstdDict(like, is_raw=True).as_prefix if like else None
