"""Sheet links: an address that opens a site's sheets in any browser, until it expires or is revoked."""

import html
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from urllib.parse import urlsplit

import pytest
from flask import Flask
from sqlalchemy import select

from service.api.exchange.interior import Interior
from service.api.sheets import CONTENT_SECURITY_POLICY
from service.app import create_app
from service.store.tables import sheet_links
from tests.api.caller import Caller, faults
from tests.api.reaching import LIST, NOW, OWN, Kitchens, open_kitchens

LINKS = f"/v1/sites/{OWN}/sheet-links"
TODAY, TOMORROW = "2026-12-02", "2026-12-03"


@pytest.fixture(scope="module")
def kitchens() -> Iterator[Kitchens]:
    with open_kitchens() as opened:
        yield opened


@pytest.fixture
def browser(kitchens: Kitchens) -> Caller:
    """Somebody without a token."""
    return Caller(kitchens.director.client, None)


def address(kitchens: Kitchens, body: object = None) -> str:
    """The path of a new link."""
    made = kitchens.kitchen.post(LINKS, body or {})
    assert made.status_code == 201, made.get_json()
    return str(urlsplit(made.get_json()["url"]).path)


def test_a_link_is_shown_once_and_opens_todays_sheet_without_a_header_until_it_is_revoked(kitchens: Kitchens, browser: Caller) -> None:
    made = kitchens.kitchen.post(LINKS, {"stations": None, "days": 30})
    link = made.get_json()
    assert (made.status_code, made.headers["Cache-Control"]) == (201, "private, no-store")
    assert (link["stations"], link["expires_at"], link["revoked_at"]) == (None, "2027-01-01T12:00:00Z", None)
    assert re.fullmatch(r"http://localhost/sheets/[A-Za-z0-9_-]{43}", link["url"])
    path = urlsplit(link["url"]).path
    sheet = browser.get(path)
    assert (sheet.status_code, sheet.content_type) == (200, "text/html; charset=utf-8")
    assert "<strong>Wed 2 Dec 2026</strong>" in sheet.get_data(as_text=True)
    listed = kitchens.kitchen.get(LINKS).get_data(as_text=True)
    assert link["id"] in listed
    assert path.rpartition("/")[2] not in listed
    assert kitchens.kitchen.delete(f"{LINKS}/{link['id']}").status_code == 204
    assert browser.get(path).status_code == 404
    assert kitchens.kitchen.delete(f"{LINKS}/{link['id']}").status_code == 204
    assert kitchens.kitchen.delete(f"{LINKS}/none").status_code == 404


def test_a_sheet_at_its_own_address_tells_it_to_nobody(kitchens: Kitchens, browser: Caller) -> None:
    answer = browser.get(address(kitchens))
    assert answer.headers["Referrer-Policy"] == "no-referrer"
    assert answer.headers["X-Robots-Tag"] == "noindex, nofollow"
    assert answer.headers["Content-Security-Policy"] == CONTENT_SECURITY_POLICY
    assert answer.headers["Cache-Control"] == "private, no-cache"


def test_only_the_hash_of_an_address_is_kept(kitchens: Kitchens) -> None:
    secret = address(kitchens).rpartition("/")[2]
    with Interior.of(kitchens.director.client.application).readers() as session:
        kept = repr(session.execute(select(sheet_links)).all())
    assert secret not in kept


def test_an_expired_and_a_revoked_link_are_answered_like_one_that_never_was(kitchens: Kitchens, browser: Caller) -> None:
    revoked, expired = address(kitchens), address(kitchens, {"days": 1})
    (newest,) = [row for row in kitchens.kitchen.get(LINKS).get_json()["items"] if row["expires_at"] == "2026-12-03T12:00:00Z"]
    ids = [row["id"] for row in kitchens.kitchen.get(LINKS).get_json()["items"]]
    assert [kitchens.kitchen.delete(f"{LINKS}/{each}").status_code for each in ids if each != newest["id"]] == [204] * (len(ids) - 1)
    interior = Interior.of(kitchens.director.client.application)
    config = interior.config
    try:
        interior.config = replace(config, pinned=NOW + timedelta(days=1))
        answers = [browser.get(path) for path in (revoked, expired, "/sheets/" + "x" * 43)]
    finally:
        interior.config = config
    assert [answer.status_code for answer in answers] == [404] * 3
    assert len({re.sub(r'"instance": ?"[^"]*"', "", answer.get_data(as_text=True)) for answer in answers}) == 1
    assert browser.get(expired).status_code == 200


def test_a_sheet_leads_to_other_dates_stations_and_prints(kitchens: Kitchens, browser: Caller) -> None:
    path = address(kitchens)
    page = browser.get(f"{path}?date={TOMORROW}").get_data(as_text=True)
    ways = {words: html.unescape(query) for query, words in re.findall(r'<a href="(\?[^"]*)">([^<]+)</a>', page)}
    assert ways["Wed 2 Dec"] == f"?date={TODAY}"
    assert ways["Fri 4 Dec"] == "?date=2026-12-04"
    assert ways["Hot line"] == f"?date={TOMORROW}&station=hot-line"
    assert ways["print 1"] == f"?date={TOMORROW}&print=1"
    assert ways["without cards"] == f"?date={TOMORROW}&cards=false"
    assert "Thu 3 Dec" not in ways
    for query in ways.values():
        assert browser.get(path + query).status_code == 200
    assert ", print 1</p>" in browser.get(path + ways["print 1"]).get_data(as_text=True)
    station = browser.get(path + ways["Hot line"]).get_data(as_text=True)
    assert re.findall(r'id="station-([a-z-]+)"', station) == ["hot-line"]


def test_a_link_to_some_stations_shows_these_alone(kitchens: Kitchens, browser: Caller) -> None:
    path = address(kitchens, {"stations": ["hot-line", "bakery"]})
    page = browser.get(path).get_data(as_text=True)
    assert set(re.findall(r'id="station-([a-z-]+)"', page)) == {"hot-line", "bakery"}
    assert browser.get(f"{path}?station=cold-line").status_code == 404
    assert browser.get(f"{path}?station=bakery").status_code == 200


def test_what_a_link_cannot_open_is_refused(kitchens: Kitchens, browser: Caller) -> None:
    path = address(kitchens)
    assert browser.get(f"{path}?date={TODAY}&print=77").status_code == 404
    assert browser.get(f"{path}?station=none").status_code == 404
    assert faults(browser.get(f"{path}?date=tomorrow")) == {("date", "wrong_type")}
    assert browser.get(path, Accept="application/json").status_code == 406
    assert browser.send("POST", path).status_code == 405
    assert faults(kitchens.kitchen.post(LINKS, {"stations": ["none"]})) == {("/stations/0", "unknown_reference")}
    assert faults(kitchens.kitchen.post(LINKS, {"days": 367})) == {("/days", "out_of_range")}
    assert kitchens.quay.get(LINKS).status_code == 404
    assert kitchens.viewer.post(LINKS, {}).status_code == 403


def test_a_link_made_behind_a_proxy_has_the_scheme_of_the_proxy(kitchens: Kitchens) -> None:
    behind = create_app(replace(Interior.of(kitchens.director.client.application).config, proxies=1))
    try:
        made = Caller(behind.test_client(), kitchens.kitchen.secret).post(LINKS, {}, X_Forwarded_Proto="https")
    finally:
        Interior.of(behind).engine.dispose()
    assert made.get_json()["url"].startswith("https://localhost/sheets/")
    # Where no proxy is known, nobody who calls says how the service is reached.
    alone = kitchens.kitchen.post(LINKS, {}, X_Forwarded_Proto="https")
    assert alone.get_json()["url"].startswith("http://localhost/sheets/")


def test_a_link_of_another_site_is_not_revoked(kitchens: Kitchens) -> None:
    path = LINKS.replace(OWN, "quayside")
    made = kitchens.director.post(path, {}).get_json()
    assert kitchens.kitchen.delete(f"{LINKS}/{made['id']}").status_code == 404
    assert kitchens.quay.delete(f"{path}/{made['id']}").status_code == 204


def test_a_sheet_has_a_tag_that_moves_with_what_it_shows(kitchens: Kitchens, browser: Caller) -> None:
    path = address(kitchens) + "?date=2026-12-05"
    tag = browser.get(path).headers["ETag"]
    assert browser.get(path, If_None_Match=tag).status_code == 304
    kitchens.kitchen.post(f"{LIST.replace(TOMORROW, '2026-12-05')}/prints", {})
    moved = browser.get(path, If_None_Match=tag)
    assert moved.status_code == 200
    assert "print 1" in moved.get_data(as_text=True)


def test_addresses_that_are_tried_count_as_tokens_that_are_tried(app: Flask, anybody: Caller) -> None:
    Interior.of(app).traffic.clock = lambda: 0.0
    limit = Interior.of(app).config.failed_authentications_per_minute
    answers = [anybody.get("/sheets/" + "x" * 43).status_code for _ in range(limit + 1)]
    assert answers == [404] * limit + [429]
    assert anybody.get("/v1/whoami").status_code == 429
