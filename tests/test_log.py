"""The log of a whole run at its most talkative: what callers sent and who they proved to be is nowhere in it."""

import gzip
import io
import json
import socket
import sys
from pathlib import Path

import pytest
import structlog

from service.app import configure_log
from service.config import Config
from service.operations.tokens import create_token, hash_secret
from service.shell import writing
from tests.api.bodies import SITE, STATION
from tests.serving import Served, serving

WRITTEN, KEY, PASSWORD, CHOSEN = "marker-of-a-body", "marker-of-a-key", "marker-of-a-password", "marker-of-an-id;"
GUESSED = "kp_" + "g" * 43
CRASHING = """
from service.api.nouns import collections
from sqlalchemy.exc import OperationalError
put = collections.put_document
def crash(*arguments, **named):
    text = repr((arguments, named))
    if "crash" in text:
        raise RuntimeError(text)
    if "locked" in text:
        raise OperationalError("INSERT " + text, {"document": text}, Exception(text))
    return put(*arguments, **named)
collections.put_document = crash
from service.cli import main
main()
"""


def raw(served: Served, sent: bytes) -> None:
    """Send bytes that no client would, and take whatever comes."""
    line = served.connect()
    line.sendall(sent)
    line.shutdown(socket.SHUT_WR)
    while line.recv(65536):
        pass


def misbehave(served: Served, token: str, file_of: Path) -> list[int]:
    """Send secrets in every place that a caller can reach; the statuses of what was a request at all."""
    sent = {"name": WRITTEN, "position": 1}
    asked = {"Idempotency_Key": KEY, "X_Request_Id": CHOSEN}
    answers = [
        served.send("PUT", "/v1/stations/veg", sent, token, **asked),
        served.send("PUT", "/v1/stations/veg", gzip.compress(json.dumps(sent).encode()), token, Content_Encoding="gzip", **asked),
        served.send("PUT", "/v1/stations/crash", sent, token, **asked),
        served.send("PUT", "/v1/stations/locked", sent, token, **asked),
        served.send("PUT", "/v1/stations/veg", {**sent, WRITTEN: WRITTEN}, token, **asked),
        served.send("PUT", "/v1/stations/veg", b'{"name": "' + WRITTEN.encode(), token, **asked),
        served.send("PUT", "/v1/sites/mill-street", {**SITE, "name": WRITTEN}, token, **asked),
        served.send("POST", "/v1/tokens", {"name": WRITTEN, "role": "viewer"}, token, **asked),
        served.send("GET", f"/v1/stations?token={token}&{WRITTEN}=1", None, token, **asked),
        served.send("GET", f"/v1/stations/{token}", None, token, **asked),
        served.send("GET", "/v1/whoami", None, GUESSED, **asked),
        served.send("GET", "/v1/whoami", None, Authorization=f"Basic {PASSWORD}", **asked),
        served.send("GET", "/v1/whoami", None, Authorization=f"Bearer {token} {PASSWORD}", **asked),
    ]
    head = f"Host: here\r\nAuthorization: Bearer {token}\r\nIdempotency-Key: {KEY}\r\n"
    for lines in (
        f"GET /v1/stations?token={token}\r\n\r\n",
        f"get-{token} /v1/stations HTTP/1.1\r\n{head}\r\n",
        f"GET /v1/stations?{token} HTTP/9.1\r\n{head}\r\n",
        f"GET /v1/stations HTTP/1.1\r\n{head}Bad\x00{token}: {PASSWORD}\r\n\r\n",
        f"GET /v1/stations HTTP/1.1\r\n{head} {token}\r\n\r\n",
        f"GET /v1/stations HTTP/1.1\r\n{head}Expect: {token}\r\n\r\n",
        f"GET /v1/stations HTTP/1.1\r\n{head}Transfer-Encoding: {token}\r\n\r\n",
        f"GET /v1/stations HTTP/1.1\r\n{head}X: {PASSWORD * 2_000}\r\n\r\n",
        f"GET /v1/stations HTTP/1.1\r\n{head}X: {PASSWORD}",
        f"PUT /v1/stations/veg HTTP/1.1\r\n{head}Content-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\n{PASSWORD}\r\n",
        f"PUT /v1/stations/veg HTTP/1.1\r\n{head}Content-Type: application/json\r\nContent-Length: 900\r\n\r\n{PASSWORD}",
    ):
        raw(served, lines.encode())
    assert file_of.exists()
    return [answer.status for answer in answers]


@pytest.mark.parametrize("level", ["INFO", "DEBUG"])
def test_no_token_body_key_or_header_of_a_caller_is_in_the_log(database_url: str, tmp_path: Path, level: str) -> None:
    config = Config(database_url=database_url)
    with writing(config) as session:
        token = create_token(session, "Head office", "director", None, None, 1, config.now())[0]
    with serving(database_url, tmp_path, command=CRASHING, KITCHEN_PREP_LOG_LEVEL=level, KITCHEN_PREP_SLOW_MILLISECONDS="1") as served:
        statuses = misbehave(served, token, served.log)
        made = served.send("POST", "/v1/tokens", {"name": "x", "role": "viewer"}, token).value["token"]
    assert statuses == [201, 428, 500, 503, 422, 400, 201, 201, 422, 404, 401, 401, 401]
    logged = served.log.read_text("utf-8")
    secrets = {WRITTEN, KEY, PASSWORD, CHOSEN, GUESSED, token, token[3:], made, made[3:], hash_secret(token), STATION["name"]}
    assert {secret for secret in secrets if secret in logged} == set()
    # The log is there, and tells of all of it.
    told = served.told()
    assert [line["status"] for line in told if "status" in line and line["route"] != "/livez"][: len(statuses)] == statuses
    assert {line["error"] for line in told if line["event"] in ("request failed", "database unavailable")} == {
        "RuntimeError",
        "OperationalError",
    }
    assert {400, 417, 501, 505} <= {line["status"] for line in told if "status" in line}
    assert all("request_id" in line for line in told if "route" in line or "frames" in line)


class Pieces(io.StringIO):
    """A stream that remembers in which pieces it was written."""

    def __init__(self) -> None:
        super().__init__()
        self.pieces: list[str] = []

    def write(self, text: str) -> int:
        self.pieces.append(text)
        return super().write(text)


def test_a_line_is_written_in_one_go_so_that_lines_of_two_workers_never_merge(monkeypatch: pytest.MonkeyPatch) -> None:
    stream = Pieces()
    monkeypatch.setattr(sys, "stderr", stream)
    configure_log("INFO")
    log = structlog.get_logger("service.api")
    log.info("one")
    log.info("other", number=2)
    assert [json.loads(piece)["event"] for piece in stream.pieces] == ["one", "other"]
    assert all(piece.endswith("}\n") for piece in stream.pieces)
