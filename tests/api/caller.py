"""A caller of the interface in tests: a client with a token."""

from typing import Any

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from service.api.wire.json import render


class Caller:
    """Sends JSON with a token; ``headers`` go before what it would send."""

    def __init__(self, client: FlaskClient, secret: str | None) -> None:
        self.client = client
        self.secret = secret

    def send(
        self, method: str, path: str, body: Any = None, *, raw: bytes | None = None, headers: dict[str, str] | None = None
    ) -> TestResponse:
        given = {} if self.secret is None else {"Authorization": f"Bearer {self.secret}"}
        data = raw if raw is not None else None if body is None else render(body)
        if data is not None:
            given["Content-Type"] = "application/json"
        merged = {name: text for name, text in {**given, **(headers or {})}.items() if text != ""}
        return self.client.open(path, method=method, data=data, headers=merged)

    def get(self, path: str, **headers: str) -> TestResponse:
        return self.send("GET", path, headers=dashed(headers))

    def put(self, path: str, body: Any, **headers: str) -> TestResponse:
        return self.send("PUT", path, body, headers=dashed(headers))

    def post(self, path: str, body: Any, **headers: str) -> TestResponse:
        return self.send("POST", path, body, headers=dashed(headers))

    def delete(self, path: str, **headers: str) -> TestResponse:
        return self.send("DELETE", path, headers=dashed(headers))


def dashed(headers: dict[str, str]) -> dict[str, str]:
    """Header names written with underscores."""
    return {name.replace("_", "-"): text for name, text in headers.items()}


def faults(response: TestResponse) -> set[tuple[str, str]]:
    """Where (pointer or parameter) and which rule, of every fault in a problem."""
    return {(fault.get("pointer", fault.get("parameter")), fault["code"]) for fault in response.get_json()["errors"]}
