"""Conditional requests: entity tags, If-Match, If-None-Match and what a PUT answers."""

import gzip

import pytest

from service.api.wire.conditions import entity_tag, none_matches, read_if_match
from service.errors import Invalid
from tests.api.bodies import DRAFT, INGREDIENT, SITE, STATION, changed
from tests.api.caller import Caller

VEG = "/v1/stations/veg"


def test_a_put_creates_with_location_and_tag(director: Caller) -> None:
    made = director.put(VEG, STATION)
    assert (made.status_code, made.headers["Location"]) == (201, VEG)
    assert made.headers["ETag"] == director.get(VEG).headers["ETag"]
    assert not made.headers["ETag"].startswith("W/")


@pytest.mark.parametrize(
    ("path", "body"),
    [(VEG, STATION), ("/v1/ingredients/onion", INGREDIENT), ("/v1/recipes/soup/draft", DRAFT), ("/v1/sites/mill-street", SITE)],
)
def test_a_get_can_be_put_back_unchanged(director: Caller, path: str, body: dict[str, object]) -> None:
    assert director.put(path, body).status_code == 201
    got = director.get(path)
    again = director.send("PUT", path, raw=got.get_data(), headers={"If-Match": got.headers["ETag"]})
    assert (again.status_code, again.headers["ETag"], again.get_data()) == (200, got.headers["ETag"], got.get_data())
    assert "Location" not in again.headers


def test_replacing_changes_the_tag_and_the_old_one_is_stale(director: Caller) -> None:
    old = director.put(VEG, STATION).headers["ETag"]
    new = director.put(VEG, changed(STATION, name="Vegetables"), If_Match=old).headers["ETag"]
    assert new != old
    assert director.put(VEG, STATION, If_Match=old).status_code == 412
    assert director.put(VEG, STATION, If_Match=f'"other", {new}').status_code == 200


def test_a_weak_tag_matches_nothing_and_a_star_matches_anything(director: Caller) -> None:
    tag = director.put(VEG, STATION).headers["ETag"]
    assert director.put(VEG, STATION, If_Match="W/" + tag).status_code == 412
    assert director.put(VEG, STATION, If_Match="*").status_code == 200
    assert director.put("/v1/stations/new", STATION, If_Match="*").status_code == 412


def test_if_none_match_star_creates_alone(director: Caller) -> None:
    assert director.put(VEG, STATION, If_None_Match="*").status_code == 201
    assert director.put(VEG, STATION, If_None_Match="*").status_code == 412


def test_the_tag_of_a_compressed_answer_is_another_that_replaces_as_well(director: Caller) -> None:
    plain = director.put(VEG, STATION).headers["ETag"]
    packed = director.get(VEG, Accept_Encoding="gzip")
    assert packed.headers["ETag"] == plain[:-1] + '-gzip"'
    assert gzip.decompress(packed.get_data()) == director.get(VEG).get_data()
    assert director.put(VEG, STATION, If_Match=packed.headers["ETag"]).status_code == 200


def test_a_known_state_is_304_with_its_tag_and_nothing_else(director: Caller) -> None:
    tag = director.put(VEG, STATION).headers["ETag"]
    for header in (tag, "W/" + tag, f'"x", {tag}', "*"):
        answer = director.get(VEG, If_None_Match=header)
        assert (answer.status_code, answer.headers["ETag"], answer.get_data()) == (304, tag, b"")
        assert {"Vary", "Cache-Control", "X-Request-Id"} <= set(answer.headers.keys())
    for header in ('"other"', tag[:-1] + '-gzip"', "garbage", ""):
        assert director.get(VEG, If_None_Match=header).status_code == 200


def test_lists_and_recipes_have_tags_that_differ_by_query(director: Caller) -> None:
    director.put(VEG, STATION)
    first, second = director.get("/v1/stations"), director.get("/v1/stations?limit=9")
    assert first.get_data() == second.get_data()
    assert first.headers["ETag"] != second.headers["ETag"]
    assert director.get("/v1/stations", If_None_Match=first.headers["ETag"]).status_code == 304


def test_deleting_needs_the_tag_and_leaves_nothing(director: Caller) -> None:
    tag = director.put(VEG, STATION).headers["ETag"]
    gone = director.delete(VEG, If_Match=tag)
    assert (gone.status_code, gone.get_data()) == (204, b"")
    assert director.get(VEG).status_code == 404
    assert director.delete(VEG, If_Match=tag).status_code == 404


def test_the_code_may_stand_in_the_body_if_it_is_that_of_the_path(director: Caller) -> None:
    assert director.put(VEG, {"code": "veg", **STATION}).status_code == 201


@pytest.mark.parametrize("header", ["", "abc", '"a" "b"', '"a",,"b"', "W/a", '"a', '"a"b'])
def test_a_malformed_if_match_is_a_fault_of_its_header(header: str) -> None:
    with pytest.raises(Invalid) as refused:
        read_if_match(header)
    assert refused.value.faults[0].parameter == "If-Match"


def test_tags_differ_by_query_media_type_and_encoding() -> None:
    tags = {
        entity_tag("4f"),
        entity_tag("4f", [("a", "1")]),
        entity_tag("4f", [("a", "2")]),
        entity_tag("4f", media_type="text/csv"),
        entity_tag("4f", gzipped=True),
    }
    assert len(tags) == 5
    assert entity_tag("4f", [("a", "1"), ("b", "2")]) == entity_tag("4f", [("b", "2"), ("a", "1")])
    assert none_matches(None, '"4f"')
