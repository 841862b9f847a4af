"""Strict JSON: what is read exactly, and what is refused with 400, 413 or 422."""

import gzip
import json
from contextlib import suppress
from decimal import Decimal

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from service.api.wire.json import Unparseable, find_control_characters, is_suspect, parse, render, render_in_pieces
from service.errors import Fault
from tests.api.caller import Caller, faults


@pytest.mark.parametrize(
    ("text", "value"),
    [
        (b"2", 2),
        (b"2.0", 2),
        (b"-0", 0),
        (b"-0.0", 0),
        (b"2.50", Decimal("2.5")),
        (b"1e2", 100),
        (b"1E-2", Decimal("0.01")),
        (b"0.1", Decimal("0.1")),
        (b"9" * 32, 10**32 - 1),
        (b"0." + b"3" * 31, Decimal("0." + "3" * 31)),
        (b"1e+0005", 100_000),
        ('"é"'.encode(), "é"),
        (b'"\\ud83c\\udf73"', "🍳"),
        (b'{"a":[true,null]}', {"a": [True, None]}),
    ],
)
def test_numbers_and_texts_are_read_exactly(text: bytes, value: object) -> None:
    read = parse(text)
    assert (read, type(read)) == (value, type(value))


@pytest.mark.parametrize(
    "text",
    [
        b"",
        b"{",
        b"nul",
        b"[1,]",
        b"{'a':1}",
        b"01",
        b"1.",
        b"+1",
        b"NaN",
        b"Infinity",
        b"[-Infinity]",
        b'{"a":1,"a":2}',
        b'{"b":{"a":1,"\\u0061":2}}',
        b"9" * 33,
        b"1e32",
        b"1e-40",
        b"1e999999999999",
        b"0." + b"3" * 33,
        b"\xff",
        b'"\xc3"',
        b"\xef\xbb\xbf{}",
        b'"\x00"',
        b'"\n"',
        "{}".encode("utf-16"),
        b"[" * 33 + b"]" * 33,
        b'{"a":' * 33 + b"1" + b"}" * 33,
        b"[" * 100_000,
        b"1 2",
    ],
)
def test_what_is_not_strict_json_is_unparseable(text: bytes) -> None:
    with pytest.raises(Unparseable):
        parse(text)


def test_32_levels_are_read() -> None:
    assert parse(b"[" * 32 + b"]" * 32)


def test_control_characters_and_lone_surrogates_are_found_wherever_they_stand() -> None:
    value = {"a": ["x\x00", "ok\n\t"], "b~/\x07": {"c": "\ud800"}, "d": "\x7f\x9f"}
    assert [fault.pointer for fault in find_control_characters(value)] == ["/a/0", "/b~0~1\x07", "/b~0~1\x07/c", "/d"]
    assert all(isinstance(fault, Fault) and fault.code == "wrong_type" for fault in find_control_characters(value))


def test_bytes_that_are_not_suspect_hold_no_control_character_however_it_is_written() -> None:
    for code in (*range(0xA0), *range(0xD800, 0xE000)):
        plain = chr(code) if 0x20 <= code < 0xA0 and chr(code) not in '"\\' else json.dumps(chr(code))[1:-1]
        for written in (plain, f"\\u{code:04x}", f"\\u{code:04X}"):
            raw = f'[{{"{written}": "{written}"}}]'.encode()
            assert is_suspect(raw) or not find_control_characters(parse(raw)), written


def test_most_bytes_are_not_suspect() -> None:
    assert not is_suspect(json.dumps(["crème brûlée, 1 ½ cups at 180 °C\n\t", "½"]).encode())
    assert not is_suspect(json.dumps(["crème brûlée, 1 ½ cups at 180 °C"], ensure_ascii=False).encode())


VALUES = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**30), 10**30) | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
)


@given(VALUES)
def test_what_is_rendered_reads_back_equal(value: object) -> None:
    rendered = render(value)
    assume(rendered.count(b"[") + rendered.count(b"{") <= 32)
    assert parse(rendered) == value


@given(VALUES | st.dictionaries(st.text(), st.lists(VALUES, max_size=10)))
def test_what_is_rendered_in_pieces_is_the_same(value: object) -> None:
    assert b"".join(render_in_pieces(value)) == render(value)


@given(st.binary())
def test_any_bytes_are_read_or_refused(raw: bytes) -> None:
    with suppress(Unparseable):
        render(parse(raw))


def test_400_says_where(director: Caller) -> None:
    answer = director.send("PUT", "/v1/stations/veg", raw=b'{"name": "Veg",\n  oops}')
    assert answer.status_code == 400
    assert "line 2, column 3" in answer.get_json()["detail"]


@pytest.mark.parametrize("text", ["a\\u0000b", "a\\ud800", "a\\u0007", "a\\nb", "a\\tb", "a\\rb", "\\u0085"])
def test_control_characters_in_a_name_are_422(director: Caller, text: str) -> None:
    answer = director.send("PUT", "/v1/stations/veg", raw=f'{{"name": "{text}"}}'.encode())
    assert (answer.status_code, faults(answer)) == (422, {("/name", "wrong_type")})


def test_a_key_with_half_a_surrogate_pair_is_answered_in_utf8(director: Caller) -> None:
    answer = director.send("PUT", "/v1/stations/veg", raw=b'{"name": "Veg", "\\ud800": 1}')
    assert answer.status_code == 422
    assert answer.get_data().decode("utf-8")


def test_gzip_bodies_are_read_member_by_member(director: Caller) -> None:
    packed = gzip.compress(b'{"name": ') + gzip.compress(b'"Veg"}')
    assert director.send("PUT", "/v1/stations/veg", raw=packed, headers={"Content-Encoding": "gzip"}).status_code == 201


@pytest.mark.parametrize("raw", [b"{}", gzip.compress(b"{}", mtime=0)[:-4], gzip.compress(b"{}", mtime=0) + b"x", b""])
def test_a_broken_gzip_stream_is_400(director: Caller, raw: bytes) -> None:
    assert director.send("PUT", "/v1/stations/veg", raw=raw, headers={"Content-Encoding": "gzip"}).status_code == 400


def test_the_limit_counts_after_decompression(director: Caller) -> None:
    bomb = gzip.compress(b" " * (64 << 20))
    assert len(bomb) < 1 << 20
    assert director.send("PUT", "/v1/stations/veg", raw=bomb, headers={"Content-Encoding": "gzip"}).status_code == 413


def test_a_body_of_exactly_the_limit_is_read(director: Caller) -> None:
    body = b'{"name": "Veg"}'
    padded = body + b" " * ((1 << 20) - len(body))
    assert director.send("PUT", "/v1/stations/veg", raw=padded).status_code == 201
    assert director.send("PUT", "/v1/stations/hot", raw=padded + b" ").status_code == 413


def test_imports_and_forecasts_have_larger_limits(director: Caller) -> None:
    assert director.send("POST", "/v1/imports", raw=b"{}" + b" " * (3 << 20)).status_code == 200
    assert director.send("POST", "/v1/forecasts", raw=b"{}" + b" " * (2 << 20)).status_code == 413
    assert director.send("POST", "/v1/forecasts", raw=b"{}" + b" " * (1 << 20)).status_code == 422
