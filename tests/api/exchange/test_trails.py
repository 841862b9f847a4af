"""What an answer says of where to go on: links, what is left of a limit, endings, and which part of a path names nothing."""

from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from typing import Any
from uuid import UUID

import pytest
from flask import Flask, Request
from werkzeug.test import EnvironBuilder

from service.api.document.openapi import build
from service.api.exchange import trails
from service.api.exchange.interior import Interior
from service.api.exchange.roles import ANYBODY
from service.api.exchange.views import Deprecation, Described, Noun
from service.api.fields import Document, Flag
from service.app import NOUNS, create_app
from service.config import Config
from tests.api.bodies import SITE, STATION
from tests.api.caller import Caller

LIST = "/v1/sites/mill-street/prep-lists"


@pytest.fixture
def kitchen(director: Caller) -> Caller:
    """A director of one site."""
    assert director.put("/v1/sites/mill-street", SITE).status_code == 201
    return director


def links(answer: Any) -> dict[str, str]:
    """The targets of an answer's links, by relation."""
    parts = [part.strip().split(">; rel=") for part in answer.headers["Link"].split(", <")]
    return {relation.strip('"'): target.lstrip("<") for target, relation in parts}


def test_an_answer_links_to_itself_and_to_what_describes_it(kitchen: Caller) -> None:
    found = links(kitchen.get("/v1/sites/mill-street"))
    assert found == {"self": "/v1/sites/mill-street", "describedby": "/v1/openapi.json", "service-doc": "/docs/"}
    assert kitchen.get(found["describedby"]).status_code == kitchen.get(found["service-doc"]).status_code == 200


def test_an_address_cannot_break_out_of_its_link() -> None:
    request = Request(EnvironBuilder("/v1/sites", query_string='a=1>; rel="next", <b&c=%0d%0a&d=\r\nX: 1').get_environ())
    assert trails.links(request, {}, None).split(", ")[0] == (
        '</v1/sites?a=1%3E;%20rel=%22next%22,%20%3Cb&c=%0d%0a&d=%0D%0AX:%201>; rel="self"'
    )
    long = Request(EnvironBuilder("/v1/sites", query_string="a" * 3_000).get_environ())
    assert "self" not in trails.links(long, {}, None)


def test_a_page_links_to_the_next_one_as_its_body_does(kitchen: Caller) -> None:
    for code in ("s1", "s2"):
        kitchen.put(f"/v1/stations/{code}", STATION)
    first = kitchen.get("/v1/stations?limit=1")
    assert links(first)["next"] == first.get_json()["next"]
    assert "next" not in links(kitchen.get(first.get_json()["next"]))


def test_a_list_links_to_those_of_the_dates_beside_it_also_where_it_has_not_changed(kitchen: Caller) -> None:
    listed = kitchen.get(f"{LIST}/2026-12-31")
    again = kitchen.get(f"{LIST}/2026-12-31", If_None_Match=listed.headers["ETag"])
    assert (listed.status_code, again.status_code) == (200, 304)
    for answer in (listed, again):
        assert (links(answer)["prev"], links(answer)["next"]) == (f"{LIST}/2026-12-30", f"{LIST}/2027-01-01")


def test_every_answer_to_a_token_tells_what_is_left_of_its_minute(director: Caller, anybody: Caller) -> None:
    first, second = director.get("/v1/whoami"), director.get("/v1/whoami")
    assert first.headers["RateLimit-Policy"] == '"token";q=1200;w=60'
    left = [int(answer.headers["RateLimit"].split(";r=")[1].split(";")[0]) for answer in (first, second)]
    assert left in ([1199, 1198], [1199, 1199])
    refused = anybody.get("/v1/whoami")
    assert refused.headers["RateLimit-Policy"] == '"address";q=30;w=60'
    assert "RateLimit" not in anybody.get("/livez").headers


def test_who_asks_too_often_is_told_the_limit_beside_the_seconds_to_wait(database_url: str, director: Caller) -> None:
    strict = create_app(Config.from_env({"DATABASE_URL": database_url, "KITCHEN_PREP_REQUESTS_PER_MINUTE": "2"}))
    caller = Caller(strict.test_client(), director.secret)
    answers = [caller.get("/v1/whoami") for _ in range(4)]
    refused = next(answer for answer in answers if answer.status_code == 429)
    assert refused.headers["RateLimit"].startswith('"token";r=0;t=')
    assert refused.headers["RateLimit"].rsplit("=", 1)[1] == refused.headers["Retry-After"]
    Interior.of(strict).engine.dispose()


def test_a_problem_has_the_urn_of_its_request_where_its_id_is_a_uuid(director: Caller) -> None:
    answer = director.get("/v1/stations/none")
    assert answer.get_json()["instance"] == UUID(answer.headers["X-Request-Id"]).urn
    asked = "9c55ec0c-0388-42df-8fc9-7281ee54a477"
    assert director.get("/v1/stations/none", X_Request_Id=asked).get_json()["instance"] == f"urn:uuid:{asked}"
    assert "instance" not in director.get("/v1/stations/none", X_Request_Id="till-7").get_json()


@pytest.mark.parametrize(
    ("path", "detail"),
    [
        ("/v1/stations/none", "There is no station none."),
        ("/v1/sites/nowhere/prep-lists/2026-12-03", "There is no site nowhere."),
        (f"{LIST}/2026-02-30", "There is no date 2026-02-30. A date is written YYYY-MM-DD, from 2000 to 2099."),
        (f"{LIST}/tomorrow", "There is no date tomorrow. A date is written YYYY-MM-DD, from 2000 to 2099."),
        (f"{LIST}/2026-12-03/prints/7", "There is no print of 2026-12-03 with the number 7."),
        ("/v1/sites/mill-street/overrides/2026-12-03/brunch/soup", "There is no override in brunch of 2026-12-03 for the menu item soup."),
        ("/v1/recipes/none/draft", "There is no draft of the recipe none."),
        ("/v1/stations/Veg", "There is no code Veg. A code is made of a-z, 0-9 and -, up to 64 characters."),
        ("/v1/statoins/veg", "There is no route /v1/statoins."),
        ("/v1/stations/veg/colour", "There is no route /v1/stations/veg/colour."),
        ("/v1/sites/mill-street/prep-lists", "There is no route /v1/sites/mill-street/prep-lists."),
    ],
)
def test_a_404_says_which_part_of_the_path_names_nothing(kitchen: Caller, path: str, detail: str) -> None:
    answer = kitchen.get(path)
    assert (answer.status_code, answer.get_json()["detail"]) == (404, detail)


def test_a_place_of_an_override_that_does_not_exist_is_named(kitchen: Caller) -> None:
    missing = kitchen.put("/v1/sites/mill-street/overrides/2026-12-03/brunch/soup", {"count": 1})
    assert (missing.status_code, missing.get_json()["detail"]) == (404, "There is no period of this site brunch.")


def test_an_unknown_field_is_told_the_nearest_legal_ones(kitchen: Caller) -> None:
    body = kitchen.put("/v1/stations/veg", {"name": "Veg", "positoin": 3}).get_json()["errors"]
    assert [fault["detail"] for fault in body] == ["there is no field of this name here; the nearest are position and name"]
    query = kitchen.get("/v1/stations?limt=3").get_json()["errors"]
    detail = "there is no field of this name here; the nearest are limit and cursor"
    assert [(fault["parameter"], fault["detail"]) for fault in query] == [("limt", detail)]


def test_a_cross_origin_answer_varies_by_its_origin_whatever_that_is(database_url: str, director: Caller) -> None:
    opened = create_app(Config.from_env({"DATABASE_URL": database_url, "KITCHEN_PREP_CORS_ORIGINS": "https://board.example"}))
    caller = Caller(opened.test_client(), director.secret)
    for asked in ({}, {"Origin": "https://board.example"}, {"Origin": "https://evil.example"}):
        assert "Origin" in caller.get("/v1/whoami", **asked).headers["Vary"]
    exposed = caller.get("/v1/whoami", Origin="https://board.example").headers["Access-Control-Expose-Headers"]
    assert {"Link", "RateLimit", "Idempotent-Replayed"} <= {name.strip() for name in exposed.split(",")}
    assert "Origin" not in director.get("/v1/whoami").headers["Vary"]
    Interior.of(opened).engine.dispose()


def test_the_entry_points_are_every_route_that_can_be_read_without_another(director: Caller, anybody: Caller) -> None:
    told = anybody.get("/v1").get_json()
    assert {"/v1/sites", "/v1/forecasts", "/v1/recipes", "/v1/whoami"} <= {point["href"] for point in told["entry_points"]}
    assert all("{" not in point["href"] for point in told["entry_points"])
    for point in told["entry_points"]:
        assert director.get(point["href"]).status_code in (200, 422), point
        assert anybody.get(point["href"]).status_code == 401


ENDING = Deprecation(since=datetime(2026, 11, 1, tzinfo=UTC), sunset=datetime(2027, 11, 1, tzinfo=UTC), successor="/v2/oven")


class Oven(Document):
    """An oven."""

    hot = Flag(required=True)


@pytest.fixture
def made_up(monkeypatch: pytest.MonkeyPatch, database_url: str) -> Iterator[Flask]:
    """An application with a route that is going to end."""
    ovens = Noun("Ovens", "Ovens.")

    @ovens.view("GET", "/v1/oven", roles=ANYBODY, deprecated=ENDING, answers={200: Described("It is.", Oven)})
    def get_oven(_: Any) -> dict[str, Any]:
        """Tell whether the oven is hot."""
        return {"hot": True}

    monkeypatch.setattr("service.app.NOUNS", [*NOUNS, ovens])
    app = create_app(Config.from_env({"DATABASE_URL": database_url}))
    yield app
    Interior.of(app).engine.dispose()


def test_a_route_that_is_going_to_end_says_since_when_until_when_and_what_comes_instead(
    made_up: Flask, caller_of: Callable[..., Caller]
) -> None:
    caller = Caller(made_up.test_client(), caller_of("viewer").secret)
    for answer in (caller.get("/v1/oven"), caller.get("/v1/oven?colour=red"), Caller(made_up.test_client(), None).get("/v1/oven")):
        assert answer.headers["Deprecation"] == f"@{int(ENDING.since.timestamp())}"
        assert parsedate_to_datetime(answer.headers["Sunset"]) == ENDING.sunset
    found = links(caller.get("/v1/oven"))
    assert (found["successor-version"], found["deprecation"]) == ("/v2/oven", "/docs/")
    assert "Deprecation" not in caller.get("/v1/whoami").headers
    described = build(Interior.of(made_up).nouns)["paths"]["/v1/oven"]["get"]
    assert (described["deprecated"], described["x-sunset"]) == (True, "2027-11-01T00:00:00+00:00")
