"""A list over the interface in each of its media types."""

import csv
import io
from collections.abc import Callable

import pytest

from service.api.sheets import CONTENT_SECURITY_POLICY
from service.api.sheets.table import COLUMNS
from tests.api.bodies import SITE
from tests.api.caller import Caller

LIST = "/v1/sites/mill-street/prep-lists/2026-12-03"


@pytest.fixture
def kitchen(director: Caller, caller_of: Callable[..., Caller]) -> Caller:
    assert director.put("/v1/sites/mill-street", SITE).status_code == 201
    return caller_of("kitchen", ["mill-street"])


def test_a_list_has_a_face_by_accept(kitchen: Caller) -> None:
    for accept, media_type in (
        ("", "application/json"),
        ("*/*", "application/json"),
        ("text/csv", "text/csv; charset=utf-8"),
        ("text/html", "text/html; charset=utf-8"),
        ("text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8", "text/html; charset=utf-8"),
        ("text/csv;q=0.5, application/json;q=0.4", "text/csv; charset=utf-8"),
    ):
        answer = kitchen.get(LIST, Accept=accept)
        assert (answer.status_code, answer.headers["Content-Type"]) == (200, media_type), accept
    for accept in ("application/pdf", "text/plain", "text/html;q=0"):
        assert kitchen.get(LIST, Accept=accept).status_code == 406


def test_the_sheet_comes_with_its_policy_and_the_sites_name(kitchen: Caller) -> None:
    answer = kitchen.get(LIST, Accept="text/html")
    assert answer.headers["Content-Security-Policy"] == CONTENT_SECURITY_POLICY
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert f"<h1>{SITE['name']}</h1>" in answer.get_data(as_text=True)
    assert "no forecast for 2026-12-03 asks for anything at this site" in answer.get_data(as_text=True)


def test_the_table_is_read_by_any_reader_of_csv(kitchen: Caller) -> None:
    answer = kitchen.get(LIST, Accept="text/csv")
    assert next(csv.reader(io.StringIO(answer.get_data(as_text=True), newline=""))) == list(COLUMNS)
    assert answer.headers["Content-Disposition"] == 'attachment; filename="mill-street-2026-12-03.csv"'


def test_whether_a_sheet_has_cards_is_asked_of_lists_and_prints(kitchen: Caller) -> None:
    printed = kitchen.post(f"{LIST}/prints", {}).headers["Location"]
    for path in (LIST, printed):
        tags = {kitchen.get(f"{path}{query}", Accept="text/html").headers["ETag"] for query in ("", "?cards=true", "?cards=false")}
        assert len(tags) == 3
        assert kitchen.get(f"{path}?cards=none", Accept="text/html").status_code == 422


def test_each_face_has_a_tag_of_its_own(kitchen: Caller) -> None:
    tags = {}
    for accept in ("application/json", "text/html", "text/csv"):
        answer = kitchen.get(LIST, Accept=accept)
        assert "Accept" in answer.headers["Vary"]
        tags[accept] = answer.headers["ETag"]
        assert kitchen.get(LIST, Accept=accept, If_None_Match=tags[accept]).status_code == 304
    assert len(set(tags.values())) == 3
    assert kitchen.get(LIST, Accept="text/html", If_None_Match=tags["text/csv"]).status_code == 200


def test_a_face_is_refused_as_the_document_is(kitchen: Caller, anybody: Caller) -> None:
    assert anybody.get(LIST, Accept="text/html").status_code == 401
    refused = kitchen.get(LIST.replace("mill-street", "orangery"), Accept="text/html")
    assert (refused.status_code, refused.headers["Content-Type"]) == (404, "application/problem+json")
    assert kitchen.get(LIST + "?station=none", Accept="text/csv").status_code == 422
