"""A refusal is no longer than what it refuses deserves, and nothing hostile takes long or much to be refused."""

import gzip
import json
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.api.wire.json import render
from service.errors import Fault, Room
from service.limits import ERRORS, FAULT_BYTES, FAULTS_SOUGHT, GZIP_MEMBERS, IMPORT_BODY_BYTES, JSON_VALUES
from tests.api.caller import Caller
from tests.profiles import examples
from tests.stockpot import Stockpot

NOW = "2026-12-02T08:00:00Z"
BODY_TIMES, BODY_PLUS = 4, 64 << 10
ENTRY = {"site": "quay", "date": "2026-12-02", "period": "lunch", "menu_item": "bowl", "count": 1}
LONG = "k" * 100_000
ODD = st.sampled_from(["\x7f", "k", LONG, '"' * 1_000, "\\" * 1_000, "é" * 1_000, "\u2028" * 1_000, "\ud800" * 100, "\x01" * 1_000])
DEEP = st.recursive(
    st.none() | st.integers(0, 9) | ODD, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(ODD, inner, max_size=3), max_leaves=8
)


@pytest.fixture
def director(sqlite_url: str) -> Caller:
    return Stockpot(sqlite_url, "2026-12-02 08:00").director


def entries(*values: Any) -> bytes:
    return render({"source": "till", "as_of": NOW, "entries": values})


def within_bounds(caller: Caller, method: str, path: str, raw: bytes, **headers: str) -> Any:
    answer = caller.send(method, path, raw=raw, headers={name.replace("_", "-"): text for name, text in headers.items()})
    assert answer.status_code < 500
    assert len(answer.data) <= BODY_TIMES * len(raw) + BODY_PLUS
    return answer.get_json()


def keys(number: int) -> bytes:
    return b",".join(b'"%x":0' % key for key in range(number))


@pytest.mark.parametrize(
    ("method", "path", "raw"),
    [
        ("POST", "/v1/forecasts", entries(*[ENTRY] * 10_000)),
        ("POST", "/v1/forecasts", entries(*[None] * 10_000)),
        ("POST", "/v1/forecasts", entries(*[{}] * 10_000)),
        ("POST", "/v1/forecasts", entries(*[{LONG: {f"{key}\x7f": 0 for key in range(500)}}] * 5)),
        ("PUT", "/v1/stations/veg", render({LONG: {f"{key}\x7f": 0 for key in range(500)}})),
        ("PUT", "/v1/stations/veg", b"{" + keys(900) + b"}"),
        ("PUT", "/v1/stations/veg", b"{" + keys(90_000) + b"}"),
        ("POST", "/v1/imports", b'{"stations":[' + b",".join([b"{}"] * 90_000) + b"]}"),
        ("POST", "/v1/imports", b'{"recipes":[' + b",".join([b'"\x7f"'] * 300_000) + b"]}"),
    ],
    ids=["equal", "null", "empty", "long keys", "long keys of one", "many keys", "too many keys", "many elements", "control characters"],
)
def test_a_refusal_of_a_hostile_body_is_bounded(director: Caller, method: str, path: str, raw: bytes) -> None:
    within_bounds(director, method, path, raw)


@settings(max_examples=examples(50))
@given(values=st.lists(DEEP, max_size=5), times=st.sampled_from([1, 300]), packed=st.booleans())
def test_any_refusal_is_at_most_four_times_its_body_and_64_kilobytes(
    hostile: Callable[[str, bytes, bool], None], values: list[Any], times: int, *, packed: bool
) -> None:
    hostile("/v1/forecasts", entries(*values * times), packed)
    hostile("/v1/imports", json.dumps({"recipes": values * times}).encode(), packed)


@pytest.fixture(scope="module")
def hostile(migrated_file: Any, tmp_path_factory: pytest.TempPathFactory) -> Callable[[str, bytes, bool], None]:
    file = tmp_path_factory.mktemp("refusals") / "kitchen.sqlite3"
    file.write_bytes(migrated_file.read_bytes())
    caller = Stockpot(f"sqlite:///{file}", "2026-12-02 08:00").director

    def send(path: str, raw: bytes, packed: bool) -> None:  # noqa: FBT001 - a drawn value
        raw = gzip.compress(raw) if packed else raw
        within_bounds(caller, "POST", path, raw, **({"Content_Encoding": "gzip"} if packed else {}))

    return send


def test_of_equal_entries_each_names_another_and_counts_the_rest(director: Caller) -> None:
    answer = within_bounds(director, "POST", "/v1/forecasts", entries(*[ENTRY] * 4))
    details = [refused["errors"][0]["detail"] for refused in answer["refused"]]
    assert details == [f"entry {other} of this push is for the same count (and 2 more): send one of them" for other in (1, 0, 0, 0)]
    assert "more_refused" not in answer


def test_entries_that_an_answer_has_no_room_for_are_counted(director: Caller) -> None:
    answer = within_bounds(director, "POST", "/v1/forecasts", gzip.compress(entries(*[ENTRY] * 10_000)), Content_Encoding="gzip")
    assert len(answer["refused"]) + answer["more_refused"] == 10_000
    assert len(answer["refused"]) > 250


def test_of_one_entry_the_faults_past_a_hundred_are_counted(director: Caller) -> None:
    [refused] = within_bounds(director, "POST", "/v1/forecasts", entries({**ENTRY, **{f"x{key}": 0 for key in range(130)}}))["refused"]
    assert (len(refused["errors"]), refused["more"]) == (100, 30)


def test_a_room_shows_the_first_faults_and_never_more_bytes_than_it_has() -> None:
    faults = [Fault(f"/{number}", "wrong_type", "é" * 5_000) for number in range(200)]
    shown = Room().shown(faults)
    assert 0 < len(shown) < ERRORS
    assert len(render([each.detail for each in shown])) <= FAULT_BYTES
    assert Room(1).shown(faults) == []


def test_a_list_with_a_thousand_faults_is_searched_no_further(director: Caller) -> None:
    problem = within_bounds(director, "POST", "/v1/imports", render({"stations": [{"name": "x"}] * (FAULTS_SOUGHT + 500)}))
    assert len(problem["errors"]) + problem["more"] == FAULTS_SOUGHT


def test_a_query_of_more_keys_than_are_told_one_by_one_is_refused(director: Caller) -> None:
    answer = director.get("/v1/forecasts?" + "&".join(f"{key:x}=" for key in range(FAULTS_SOUGHT + 50)))
    assert (answer.status_code, answer.get_json()["errors"][0]["code"]) == (422, "too_many")


def test_a_body_of_more_values_than_memory_is_for_is_413(director: Caller) -> None:
    for unit in (b"[]", b"{}", b"1.5", b'"a,\\"[{"'):
        junk = b'{"recipes":[' + b",".join([unit] * JSON_VALUES) + b"]}"
        assert director.send("POST", "/v1/imports", raw=junk).status_code == 413


def test_commas_and_brackets_in_texts_are_no_values(director: Caller) -> None:
    station = render({"stations": [{"code": "veg", "name": "Veg"}], "unknown": ',[{\\"' * JSON_VALUES})
    assert len(station) < IMPORT_BODY_BYTES
    assert director.send("POST", "/v1/imports", raw=station).status_code == 422


def test_a_gzip_stream_has_no_more_members_than_take_a_moment_to_read(director: Caller) -> None:
    halves = gzip.compress(b'{"name":') + gzip.compress(b'"Veg"}')
    empty = gzip.compress(b"")
    for code, raw, status in (
        ("two", halves, 201),
        ("most", empty * (GZIP_MEMBERS - 2) + halves, 201),
        ("past", empty * (GZIP_MEMBERS - 1) + halves, 413),
    ):
        assert director.send("PUT", f"/v1/stations/{code}", raw=raw, headers={"Content-Encoding": "gzip"}).status_code == status
