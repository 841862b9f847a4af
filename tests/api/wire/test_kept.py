"""Answers are kept as bytes: within their room, for those alone who are shown the same."""

import gzip

import pytest

from service.api.wire.kept import KeptBytes, Key
from service.operations import lists
from tests.api.reaching import LIST, open_kitchens


def test_what_was_asked_for_longest_ago_makes_room() -> None:
    kept = KeptBytes(most=10)
    a, b, c = Key("a", "now"), Key("b", "now"), Key("c", "now")
    kept.put(a, b"aaaaa")
    kept.put(b, b"bbbbb")
    assert kept.get(a) == b"aaaaa"
    kept.put(c, b"cc")
    assert [kept.get(key) for key in (a, b, c)] == [b"aaaaa", None, b"cc"]
    kept.put(c, b"cccc")
    assert (kept.get(a), kept.get(c)) == (b"aaaaa", b"cccc")


def test_another_state_of_a_question_takes_its_place_and_no_more_room() -> None:
    kept = KeptBytes(most=10)
    kept.put(Key("a", "then"), b"aaaaa")
    kept.put(Key("b", "now"), b"bbbbb")
    kept.put(Key("a", "now"), b"AAAAA")
    assert [kept.get(key) for key in (Key("a", "then"), Key("a", "now"), Key("b", "now"))] == [None, b"AAAAA", b"bbbbb"]


def test_what_is_longer_than_all_room_is_not_kept_and_drives_nothing_out() -> None:
    kept = KeptBytes(most=10)
    a, b = Key("a", "now"), Key("b", "now")
    kept.put(a, b"a")
    kept.put(b, b"b" * 11)
    assert (kept.get(a), kept.get(b)) == (b"a", None)


def test_a_list_that_was_sent_is_sent_again_without_being_made(monkeypatch: pytest.MonkeyPatch) -> None:
    with open_kitchens() as kitchens:
        first = kitchens.director.get(LIST)
        packed = kitchens.director.get(LIST, Accept_Encoding="gzip")
        monkeypatch.setattr(lists, "prep_list", None)
        again = kitchens.director.get(LIST)
        assert (again.status_code, again.data, again.headers["ETag"]) == (200, first.data, first.headers["ETag"])
        assert gzip.decompress(kitchens.director.get(LIST, Accept_Encoding="gzip").data) == gzip.decompress(packed.data) == first.data
        monkeypatch.undo()
        assert kitchens.director.post(f"{LIST}/prints", None).status_code == 201
        assert kitchens.director.get(LIST).headers["ETag"] != first.headers["ETag"]
