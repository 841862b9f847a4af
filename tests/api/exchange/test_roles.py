"""Roles and reach, route by route: who may call what, and a foreign site that looks exactly like a missing one."""

import gzip
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from werkzeug.test import TestResponse

from service.api.wire.json import render
from service.app import NOUNS
from tests.api.caller import Caller
from tests.api.matrix import MATRIX, Case
from tests.api.reaching import FOREIGN, MISSING, OWN, WHO, Kitchens, open_kitchens

VIEWS = {f"{view.method} {view.path}": view for noun in NOUNS for view in noun.views}
CASES = list(MATRIX.items())
ROUTES = [name for name, _ in CASES]
SITED = [name for name, case in CASES if OWN in case.path or OWN in render(case.body).decode()]
LIMITED = ("kitchen", "guest", "counter")


@pytest.fixture(scope="module")
def kitchens() -> Iterator[Kitchens]:
    with open_kitchens() as opened:
        yield opened


def test_every_route_is_in_the_matrix() -> None:
    assert {name for name, view in VIEWS.items() if not view.open} == set(MATRIX)


def test_the_table_of_the_first_page_says_of_each_noun_who_reads_and_who_writes() -> None:
    page = (Path(__file__).resolve().parents[3] / "README.md").read_text("utf-8")
    table = [line.strip("|").split("|") for line in page.splitlines() if line.startswith("|")]
    heads, _, *rows = [[cell.strip() for cell in row] for row in table]
    told = {
        (row[0], role): {word for word in ("reads", "writes") if word in cell}
        for row in rows
        for role, cell in zip(heads, row, strict=True)
    }
    roles = ("kitchen", "viewer", "integration")
    wanted = {
        (noun.name, role): {"writes" if view.writes else "reads" for view in noun.views if role in view.roles}
        for noun in NOUNS
        for role in roles
        if noun.name != "Running"
    }
    assert tuple(heads[1:]) == roles
    assert {key: words for key, words in told.items() if key[1]} == wanted
    assert all(noun.name == "Running" or {"director"} <= set(view.roles) for noun in NOUNS for view in noun.views if not view.open)


@pytest.mark.parametrize("name", ROUTES)
def test_a_route_states_the_roles_of_the_matrix(name: str) -> None:
    assert set(VIEWS[name].roles) == MATRIX[name].roles


def send(kitchens: Kitchens, who: str, name: str, site: str = OWN, **noise: Any) -> TestResponse:
    """The answer to a case's request with another site in it."""
    case = MATRIX[name]
    caller: Caller = kitchens.callers[who]
    raw = None if case.body is None else render(case.body).replace(OWN.encode(), site.encode())
    path = kitchens.path(case.path, site) + noise.get("query", "")
    return caller.send(noise.get("method", name.split(maxsplit=1)[0]), path, raw=noise.get("raw", raw), headers=noise.get("headers"))


@pytest.mark.parametrize("who", WHO)
@pytest.mark.parametrize("name", ROUTES)
def test_those_who_may_are_answered_and_all_others_get_403(kitchens: Kitchens, name: str, who: str) -> None:
    role, sites, _ = WHO[who]
    answer = send(kitchens, who, name)
    case = MATRIX[name]
    if role not in case.roles:
        assert answer.status_code == 403
        assert answer.get_json()["type"] == "/problems/forbidden"
    elif sites is None or OWN in sites or not reaches(name):
        assert answer.status_code == case.status, answer.get_json()
    else:
        assert answer.status_code == (422 if OWN not in case.path else 404)


def reaches(name: str) -> bool:
    """Whether a request names a site of which it asks; a push names them entry by entry."""
    return name in SITED and name != "POST /v1/forecasts"


@pytest.mark.parametrize("name", SITED)
def test_a_director_finds_the_site_that_is_foreign_to_others(kitchens: Kitchens, name: str) -> None:
    # Else the next test would compare two missing sites.
    assert send(kitchens, "director", name, FOREIGN).status_code == MATRIX[name].status


NOISES: list[dict[str, Any]] = [
    {},
    {"headers": {"Accept": "image/png"}},
    {"headers": {"If-None-Match": "*", "If-Match": "*"}},
    {"headers": {"Accept-Encoding": "gzip"}},
    {"raw": b"{"},
    {"query": "?colour=red"},
    {"query": "&colour=red"},
    {"method": "PATCH"},
    {"method": "HEAD"},
]


@pytest.mark.parametrize("who", LIMITED)
@pytest.mark.parametrize("name", SITED)
def test_a_foreign_site_is_answered_exactly_like_a_missing_one(kitchens: Kitchens, name: str, who: str) -> None:
    for noise in NOISES:
        foreign, missing = (seen(send(kitchens, who, name, site, **noise), site) for site in (FOREIGN, MISSING))
        assert foreign == missing, noise


def seen(answer: TestResponse, site: str) -> tuple[int, dict[str, str], bytes]:
    """All that a caller sees of an answer but the id of the request, how many it made, and what it said itself."""
    headers = {name: text.replace(site, "SITE") for name, text in answer.headers if name not in ("X-Request-Id", "RateLimit")}
    told = gzip.decompress(answer.get_data()) if answer.headers.get("Content-Encoding") == "gzip" else answer.get_data()
    # A count is asked for by the number that it has at its site.
    told = re.sub(rb"number [0-9]+", b"NUMBER", re.sub(rb"urn:uuid:[0-9a-f-]+", b"URN", told.replace(site.encode(), b"SITE")))
    return answer.status_code, headers | {"Content-Length": str(len(told))}, told


@pytest.mark.parametrize("who", LIMITED)
@pytest.mark.parametrize("name", [name for name in SITED if OWN in MATRIX[name].path])
def test_a_foreign_site_in_a_path_or_query_is_404(kitchens: Kitchens, name: str, who: str) -> None:
    if WHO[who][0] in MATRIX[name].roles:
        answer = send(kitchens, who, name, FOREIGN)
        assert (answer.status_code, answer.get_json()["type"]) == (404, "/problems/not-found")


@pytest.mark.parametrize("path", sorted({case.path.split("?")[0] for _, case in CASES}))
def test_a_method_that_a_path_does_not_take_tells_a_role_nothing(kitchens: Kitchens, path: str) -> None:
    roles = set().union(*(case.roles for _, case in CASES if case.path.split("?")[0] == path))
    for who in ("director", "kitchen", "viewer", "till"):
        answer = kitchens.callers[who].send("PATCH", kitchens.path(path))
        assert answer.status_code == (405 if WHO[who][0] in roles else 403)


def test_the_cases_are_requests_of_their_routes() -> None:
    for name, case in CASES:
        assert isinstance(case, Case)
        parts, route = case.path.split("?")[0].split("/"), name.split()[1].split("/")
        assert len(parts) == len(route)
        assert all(there.startswith("{") or here == there for here, there in zip(parts, route, strict=True))
