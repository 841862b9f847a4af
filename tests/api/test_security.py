"""What the other tests of the interface leave open of the ten risks that service/api/README.md goes through."""

import ast
import re
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from marshmallow import Schema, fields
from werkzeug.test import TestResponse

from service.api.exchange.interior import Interior
from service.api.fields import Many, Object
from service.app import NOUNS
from service.config import VARIABLES, Config
from service.limits import PAGE
from service.store.tables import metadata
from tests.api.bodies import STATION
from tests.api.caller import Caller, faults
from tests.api.matrix import MATRIX
from tests.api.reaching import FOREIGN, LIST, OWN, Kitchens, open_kitchens

TOP = Path(__file__).resolve().parents[2]
VIEWS = [view for noun in NOUNS for view in noun.views]
GUIDE = (TOP / "service" / "api" / "README.md").read_text("utf-8")
RISKS = range(1, 11)
TEST = re.compile(r"`(tests/[\w/]+\.py)::(test_\w+)`")


@pytest.fixture(scope="module")
def kitchens() -> Iterator[Kitchens]:
    with open_kitchens() as opened:
        yield opened


def section(risk: int) -> str:
    found = re.search(rf"\*\*API{risk}:2023 .*?(?=\n\*\*API|\n## |\Z)", GUIDE, re.DOTALL)
    assert found, f"service/api/README.md says nothing of API{risk}:2023"
    return found[0]


@pytest.mark.parametrize("risk", RISKS)
def test_each_risk_names_tests_that_there_are(risk: int) -> None:
    named = TEST.findall(section(risk))
    assert named
    for file, name in named:
        functions = {node.name for node in ast.walk(ast.parse((TOP / file).read_text("utf-8"))) if isinstance(node, ast.FunctionDef)}
        assert name in functions, f"{file} has no {name}"


def test_api1_a_task_or_print_of_another_site_is_not_found_through_ones_own(kitchens: Kitchens) -> None:
    task = kitchens.tasks[FOREIGN]
    for path in (f"{LIST}/tasks/{task}/progress", f"{LIST}/prints/99"):
        assert kitchens.kitchen.get(path).status_code == 404
    answer = kitchens.kitchen.put(f"{LIST}/tasks/{task}/progress", {"state": "done"})
    assert answer.status_code == 404
    assert kitchens.quay.get(f"{LIST}/tasks/{task}/progress".replace(OWN, FOREIGN)).get_json()["state"] == "doing"


def test_api2_a_secret_is_taken_from_the_authorization_header_alone(director: Caller, anybody: Caller) -> None:
    secret = director.secret
    assert anybody.get(f"/v1/whoami?access_token={secret}").status_code == 401
    assert anybody.get("/v1/whoami", Cookie=f"token={secret}; Authorization=Bearer {secret}").status_code == 401
    assert anybody.get("/v1/whoami", X_Authorization=f"Bearer {secret}").status_code == 401
    assert anybody.get("/v1/whoami", Authorization=f"Bearer {secret}, Bearer {secret}").status_code == 401
    assert anybody.get("/v1/whoami", Authorization=f"Bearer {secret}").status_code == 200


def test_api2_no_table_holds_a_secret(app: Flask, director: Caller) -> None:
    made = director.post("/v1/tokens", {"name": "x", "role": "viewer"}, Idempotency_Key="a-key").get_json()["token"]
    with Interior.of(app).engine.connect() as connection:
        stored = [str(tuple(row)) for table in metadata.sorted_tables for row in connection.execute(table.select())]
    assert any("viewer" in row for row in stored)
    assert not [row for row in stored if made[3:] in row or str(director.secret)[3:] in row]


def test_api2_a_role_that_is_taken_away_is_gone_at_once_on_every_line(kitchens: Kitchens) -> None:
    made = kitchens.director.post("/v1/tokens", {"name": "x", "role": "viewer"}).get_json()
    caller = Caller(kitchens.director.client, made["token"])
    assert caller.get("/v1/sites").status_code == 200
    kitchens.director.delete(f"/v1/tokens/{made['id']}")
    assert {caller.get(path).status_code for path in ("/v1/sites", LIST, "/v1/whoami")} == {401}


def documents_in(schema: type[Schema] | Schema, seen: set[type[Schema]]) -> set[type[Schema]]:
    """A schema and all that stand inside it."""
    kind = schema if isinstance(schema, type) else type(schema)
    if kind not in seen:
        seen.add(kind)
        for field in kind().fields.values():
            inner: Any = field
            while isinstance(inner, (Many, fields.List)):
                inner = inner.inner
            if isinstance(inner, (Object, fields.Nested)):
                documents_in(inner.schema, seen)
    return seen


@pytest.mark.parametrize("view", [view for view in VIEWS if view.body], ids=lambda view: f"{view.method} {view.path}")
def test_api3_no_body_takes_a_field_that_it_does_not_declare(view: Any) -> None:
    assert {kind.__name__ for kind in documents_in(view.body, set()) if kind().unknown != "raise"} == set()


def test_api3_what_the_service_decides_cannot_be_written(director: Caller) -> None:
    body = {"name": "x", "role": "viewer", "id": "mine", "token": "kp_" + "a" * 43, "created_at": "2020-01-01T00:00:00Z"}
    assert faults(director.post("/v1/tokens", body)) == {(f"/{name}", "unknown_field") for name in ("id", "token", "created_at")}


@pytest.mark.parametrize("view", [view for view in VIEWS if view.query], ids=lambda view: f"{view.method} {view.path}")
def test_api4_no_page_is_longer_than_its_limit(view: Any) -> None:
    """Whatever answers a list of rows takes a limit, and none past that of a page."""
    found = view.query().fields.get("limit")
    answer = view.answers.get(200)
    if answer is not None and answer.schema is not None and {"items", "next"} <= set(answer.schema().fields):
        assert found is not None
    if found is not None:
        assert found.describe()["maximum"] == PAGE.most


def test_api4_nothing_that_a_caller_sends_is_matched_in_more_than_linear_time(director: Caller) -> None:
    long = "a" * 100_000
    sent: list[tuple[str, str, dict[str, str]]] = [
        ("GET", "/v1/whoami", {"Accept": "text/" + ";q=0.1" * 10_000}),
        ("GET", "/v1/whoami", {"Accept": ";charset" * 10_000}),
        ("GET", "/v1/whoami", {"Accept-Encoding": "gzip," * 10_000}),
        ("GET", "/v1/whoami", {"If-None-Match": '"a",' * 20_000}),
        ("GET", "/v1/whoami", {"Authorization": "Bearer " + " " * 50_000 + long}),
        ("GET", "/v1/whoami", {"X-Request-Id": long}),
        ("PUT", "/v1/stations/veg", {"If-Match": '"a" ' * 20_000}),
        ("GET", f"/v1/stations?cursor={long}", {}),
        ("GET", f"/v1/sites/{long}/prep-lists/{long}", {}),
    ]
    for method, path, headers in sent:
        started = time.monotonic()
        answer = director.send(method, path, STATION if method == "PUT" else None, headers=headers)
        assert answer.status_code < 500
        assert time.monotonic() - started < 2, (method, path[:40], list(headers))


def test_api5_no_method_or_header_reaches_a_view_that_its_role_may_not(kitchens: Kitchens) -> None:
    for trick in ("X-HTTP-Method-Override", "X-Method-Override", "X-HTTP-Method"):
        assert kitchens.viewer.send("GET", "/v1/stations/bakery", headers={trick: "DELETE"}).status_code == 200
        assert kitchens.viewer.send("POST", "/v1/stations/bakery", {}, headers={trick: "GET"}).status_code in (403, 405)
    for path in ("/v1//tokens", "/v1/tokens/", "/V1/tokens", "/v1/./tokens", "/v1/%74okens", "/v1/stations/../tokens"):
        assert kitchens.viewer.get(path).status_code in (308, 403, 404)
    assert kitchens.director.get("/v1/stations/bakery").status_code == 200


def test_api6_one_push_of_a_source_cannot_speak_for_another_or_for_the_far_future(kitchens: Kitchens) -> None:
    entry = {"site": OWN, "date": "2026-12-03", "period": "lunch", "menu_item": "soup-bowl", "count": 5}
    other = kitchens.till.post("/v1/forecasts", {"source": "till-west", "as_of": "2026-12-02T11:00:00Z", "entries": [entry]})
    assert (other.status_code, faults(other)) == (403, {("/source", "unknown_till_source")})
    late = kitchens.till.post("/v1/forecasts", {"source": "till-east", "as_of": "2026-12-02T12:06:00Z", "entries": [entry]})
    assert faults(late) == {("/as_of", "as_of_in_future")}


CALLS_OUT = {"aiohttp", "ftplib", "http", "httpx", "requests", "smtplib", "socketserver", "telnetlib", "urllib3", "webbrowser", "xmlrpc"}


def imported(file: Path) -> set[str]:
    tree = ast.parse(file.read_text("utf-8"))
    plain = {alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names}
    return plain | {node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}


def test_api7_nothing_here_can_fetch_an_address() -> None:
    """No module of the service imports a client of any protocol; one alone knows sockets, those of callers."""
    found = {file.relative_to(TOP).as_posix(): imported(file) for file in (TOP / "service").rglob("*.py")}
    assert {file for file, names in found.items() if {name.split(".")[0] for name in names} & CALLS_OUT} == set()
    assert {file for file, names in found.items() if "urllib.request" in names or "subprocess" in names} == set()
    assert {file for file, names in found.items() if "socket" in names} == {"service/lines.py"}


def safe(answer: TestResponse) -> bool:
    """No trace, no path of a file, no statement of the database, no version of what runs here."""
    told = answer.get_data(as_text=True) + str(answer.headers)
    return not re.search(r"Traceback|File \"|\.py\b|SELECT |sqlite|psycopg|Werkzeug|Python/", told, re.IGNORECASE)


def test_api8_no_refusal_tells_what_is_inside(kitchens: Kitchens) -> None:
    for name, case in MATRIX.items():
        for body in (None, b"{", b"[]", b'{"name": {"a": [1, null]}}'):
            method = name.split()[0]
            answer = kitchens.director.send(
                method, case.path.replace("TASK", "x").replace("COUNT", "1") + "?colour=red", raw=body if method != "GET" else None
            )
            assert answer.status_code < 500
            assert answer.status_code < 300 or safe(answer), name


def test_api8_no_variable_has_a_secret_or_an_open_door_as_its_default() -> None:
    """Without any setting: no origin may call from a browser, no proxy is believed, and nothing is in debug."""
    config = Config.from_env({})
    assert (config.cors_origins, config.proxies, config.log_level, config.pinned) == ((), 0, "INFO", None)
    assert not [variable.name for variable in VARIABLES if re.search(r"secret|password|key|token(?!_days)", variable.name, re.IGNORECASE)]


def test_api8_an_application_is_not_in_debug_and_trusts_no_host(app: Flask, anybody: Caller) -> None:
    assert not app.debug
    assert not app.testing
    for host in ("evil.example", "evil.example:80", "a b"):
        answer = anybody.get("/v1/openapi.json", Host=host)
        assert answer.status_code < 500
        assert "evil" not in answer.get_data(as_text=True) + str(answer.headers)
    assert anybody.send("TRACE", "/livez", headers={"X-Mine": "echoed"}).status_code == 405


def test_api9_what_is_open_is_known() -> None:
    assert {view.path for view in VIEWS if view.open} == {"/livez", "/readyz", "/metrics", "/v1", "/v1/openapi.json", "/sheets/{secret}"}
    assert {view.path for view in VIEWS if not view.open and not view.path.startswith("/v1/")} == set()


@pytest.mark.parametrize(
    "text_sent", ["=1+1", "<script>alert(1)</script>", "'; DROP TABLE tokens; --", "{{7*7}}", "%s%n", "../../etc/passwd"]
)
def test_api10_what_a_partner_sends_is_data_and_nothing_else(kitchens: Kitchens, text_sent: str) -> None:
    """A till code of any shape is kept as it is, and comes back as it was, in JSON, table and sheet."""
    entry = {"site": OWN, "date": "2026-12-03", "period": "lunch", "till_code": text_sent, "count": 5}
    pushed = kitchens.till.post("/v1/forecasts", {"source": "till-east", "as_of": "2026-12-02T11:00:00Z", "entries": [entry]})
    assert pushed.get_json()["unmapped"] == [{"index": 0, "till_code": text_sent}]
    warned = [warning["detail"] for warning in kitchens.kitchen.get(LIST).get_json()["warnings"] if text_sent in warning["detail"]]
    assert warned
    sheet = kitchens.kitchen.get(LIST, Accept="text/html").get_data(as_text=True)
    assert "<script>" not in sheet
    assert kitchens.kitchen.get(LIST, Accept="text/csv").status_code == 200
    assert kitchens.director.get("/v1/tokens").status_code == 200


def test_api10_no_statement_is_put_together_from_texts() -> None:
    """Values travel beside a statement; only the engine and the copy, which no caller reaches, name things of their own in theirs."""
    found = set()
    for file in (TOP / "service").rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            called = node.func if isinstance(node, ast.Call) else None
            name = called.id if isinstance(called, ast.Name) else called.attr if isinstance(called, ast.Attribute) else ""
            if isinstance(node, ast.Call) and name in ("text", "exec_driver_sql", "execute", "literal_column"):
                found |= {file.name for part in node.args if isinstance(part, (ast.JoinedStr, ast.BinOp))}
    assert found <= {"engine.py", "copying.py"}
    assert "engine.py" in found
