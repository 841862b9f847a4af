"""Texts are packed in few bytes, and what a text is like is found however long both are."""

from random import Random

from service.store.packing import pack, unpack


def test_a_text_comes_back_from_what_it_was_packed_like() -> None:
    like = Random(7).randbytes(100_000)
    text = like[:60_000] + b"soup" + like[50_000:]
    packed = pack(text, like)
    assert unpack(packed, like) == text
    assert len(packed) < 100


def test_what_is_alike_is_found_over_the_whole_of_a_long_text() -> None:
    # A print of a large kitchen has 45 MB; packed by itself, none of these would be shorter.
    like = Random(7).randbytes(12 << 20)
    packed = pack(like, like)
    assert unpack(packed, like) == like
    assert len(packed) < 10_000
