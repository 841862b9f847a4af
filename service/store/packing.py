"""Packing: texts in few bytes, alone or as what differs from a text like it.

Responsible for the one way in which texts, in UTF-8, are compressed (zstd), and for texts of two dates that differ by little. What
is stored can be unpacked with the very bytes that it was packed ``like``, and with no others. Refuses to know what the texts say,
and where either is kept.
"""

import sys
from datetime import date, timedelta

if sys.version_info >= (3, 14):
    from compression import zstd
else:
    # The same module, for Pythons that have not got it yet.
    from backports import zstd

# Beyond it a text takes several times as long to pack, for a tenth less.
LEVEL = 12
# Repetitions are found that far back, the most that zstd reads unasked: over the print of a large kitchen, 45 MB, and the one
# that it is like. A shorter text takes no more memory for it.
WINDOW = 27
# Over more bytes zstd remembers too little of what was long ago, unless it is told to; over fewer that costs a little. So many
# take a fifth of the time and half of the memory at a lower level, for a tenth more.
NEAR, FAR_LEVEL = 1 << 23, 6
# The dates around that of a text, two before it at most, each as a sign that no JSON text holds.
SIGNS = {bytes([code]): timedelta(days=code - 3) for code in range(1, 10)}
OPTIONS: dict[int, int] = {zstd.CompressionParameter.window_log: WINDOW, zstd.CompressionParameter.content_size_flag: 0}


def pack(text: bytes, like: bytes = b"") -> bytes:
    """A text in few bytes.

    >>> unpack(pack(b"soup, soup and soup", b"soup, bread and soup"), b"soup, bread and soup")
    b'soup, soup and soup'
    """
    far = len(text) + len(like) > NEAR
    options = OPTIONS | {
        zstd.CompressionParameter.enable_long_distance_matching: far,
        zstd.CompressionParameter.compression_level: FAR_LEVEL if far else LEVEL,
    }
    return zstd.compress(text, options=options, zstd_dict=_prefix(like))


def unpack(packed: bytes, like: bytes = b"") -> bytes:
    """The text that was packed."""
    return zstd.decompress(packed, zstd_dict=_prefix(like))


def relate(text: bytes, on: date) -> bytes:
    """A JSON text with the dates around one as signs: what two dates say alike is then the same text.

    >>> day, text = date(2026, 12, 3), b'["2026-12-03","2026-12-05","2027-12-03"]'
    >>> [len(relate(text, day)), relate(text, day) == relate(b'["2026-12-01","2026-12-03","2027-12-03"]', date(2026, 12, 1))]
    [22, True]
    >>> restore(relate(text, day), day) == text
    True
    """
    for sign, days in SIGNS.items():
        text = text.replace((on + days).isoformat().encode(), sign)
    return text


def restore(text: bytes, on: date) -> bytes:
    """The text that was related; one that never was stays as it is."""
    for sign, days in SIGNS.items():
        text = text.replace(sign, (on + days).isoformat().encode())
    return text


def _prefix(like: bytes) -> "tuple[zstd.ZstdDict, int] | None":
    return zstd.ZstdDict(like, is_raw=True).as_prefix if like else None
