"""Whatever is sent, no answer is a 500 and every refusal is a problem document."""

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from service.api.exchange.interior import Interior
from service.api.exchange.views import View
from service.api.wire.json import render
from service.app import NOUNS, create_app
from service.config import Config
from service.operations.tokens import create_token
from service.resources import folder
from tests.api.caller import Caller
from tests.api.conftest import NOW
from tests.profiles import examples

VIEWS = [view for noun in NOUNS for view in noun.views]
WITH_BODIES = [view for view in VIEWS if view.body]
# Each example goes to one of many routes.
MANY = settings(max_examples=examples(150))
PLACES = {
    "code": "lentil-soup",
    "site": "mill-street",
    "period": "lunch",
    "menu_item": "soup-bowl",
    "date": "2026-12-03",
    "number": "1",
    "id": "ab",
}
SCALARS = (
    st.none()
    | st.booleans()
    | st.integers(-(10**31), 10**31)
    | st.decimals(-1000, 1000, places=3)
    | st.sampled_from(
        ["kg", "t", "1/2", "1/0", "2026-12-01", "2026-12-02T07:00:00Z", "PT1H", "P1D", "lentil-soup", "onion", "milk", "\x00", "percent"]
    )
    | st.text(max_size=20)
)


@pytest.fixture(scope="module")
def caller(migrated_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Caller]:
    """A director of the demo kitchens, for all examples of this module."""
    url = f"sqlite:///{shutil.copy(migrated_file, tmp_path_factory.mktemp('fuzz') / 'kitchen.sqlite3')}"
    app = create_app(Config.from_env({"DATABASE_URL": url, "KITCHEN_PREP_NOW": NOW, "KITCHEN_PREP_LOG_LEVEL": "ERROR"}))
    interior = Interior.of(app)
    with interior.writers() as session:
        secret, _ = create_token(session, "fuzz", "director", None, None, 365, interior.config.now())
        session.commit()
    made = Caller(app.test_client(), secret)
    assert made.send("POST", "/v1/imports", raw=(folder("seeds") / "catalogue.json").read_bytes()).status_code == 200
    yield made
    interior.engine.dispose()


def check(caller: Caller, method: str, path: str, **sent: Any) -> None:
    answer = caller.send(method, path, **sent)
    assert answer.status_code < 500, (method, path, sent)
    if answer.status_code >= 400:
        problem = answer.get_json()
        assert answer.content_type == "application/problem+json"
        assert (problem["status"], bool(problem["title"]), bool(problem["detail"])) == (answer.status_code, True, True)
        assert all(fault["code"] and fault["detail"] and ("pointer" in fault) != ("parameter" in fault) for fault in problem["errors"])


def address(view: View, places: dict[str, str]) -> str:
    path = view.path
    for name, text in places.items():
        path = path.replace(f"{{{name}}}", text)
    return path


@st.composite
def mutated(draw: st.DrawFn, value: Any) -> Any:
    """An example with some of its parts left out or replaced."""
    choice = draw(st.integers(0, 9))
    if choice == 0:
        return draw(SCALARS)
    if isinstance(value, dict):
        kept = {name: draw(mutated(inner)) for name, inner in value.items() if draw(st.integers(0, 11))}
        return kept | ({draw(st.text(max_size=8)): draw(SCALARS)} if choice == 1 else {})
    if isinstance(value, list):
        return [draw(mutated(inner)) for inner in value] * (2 if choice == 2 else 1)
    return value


@MANY
@given(
    view=st.sampled_from(WITH_BODIES),
    raw=st.binary(max_size=60) | st.recursive(SCALARS, lambda inner: st.lists(inner, max_size=3)).map(render),
)
def test_any_bytes_as_a_body(caller: Caller, view: View, raw: bytes) -> None:
    check(caller, view.method, address(view, PLACES), raw=raw)


@MANY
@given(data=st.data(), view=st.sampled_from(WITH_BODIES), match=st.sampled_from([{}, {"If-Match": "*"}]))
def test_any_change_of_an_example(caller: Caller, data: st.DataObject, view: View, match: dict[str, str]) -> None:
    path = address(view, {**PLACES, "code": data.draw(st.sampled_from(["lentil-soup", "onion", "veg", "mill-street", "soup-bowl", "new"]))})
    check(caller, view.method, path, raw=render(data.draw(mutated(view.example))), headers=match)


@MANY
@given(view=st.sampled_from(VIEWS), name=st.sampled_from(sorted(PLACES)), text=st.text(max_size=12))
@example(view=VIEWS[1], name="code", text="\ud800")
def test_any_text_in_a_path(caller: Caller, view: View, name: str, text: str) -> None:
    check(
        caller,
        view.method,
        address(view, {**PLACES, name: text.encode("utf-8", "replace").decode("latin-1")}).replace("?", "%3F").replace("#", "%23"),
    )


@MANY
@given(
    view=st.sampled_from([view for view in VIEWS if view.method == "GET"]),
    query=st.dictionaries(
        st.sampled_from(["limit", "cursor", "from", "to", "site", "on", "station", "units", "trace", "x"]),
        st.text(max_size=12) | st.sampled_from(["1", "2026-12-03", "mill-street", "true", "us", "veg", "bGVudGls"]),
    ),
)
def test_any_query(caller: Caller, view: View, query: dict[str, str]) -> None:
    answer = caller.client.open(address(view, PLACES), query_string=query, headers={"Authorization": f"Bearer {caller.secret}"})
    assert answer.status_code < 500


@MANY
@given(
    name=st.sampled_from(
        ["Accept", "Accept-Encoding", "If-Match", "If-None-Match", "Content-Type", "Content-Encoding", "Authorization", "X-Request-Id"]
    ),
    text=st.text(st.characters(codec="latin-1", exclude_categories=["Cc"]), max_size=30),
)
def test_any_text_in_a_header(caller: Caller, name: str, text: str) -> None:
    check(caller, "PUT", "/v1/stations/veg", raw=b'{"name": "Veg"}', headers={name: text})
