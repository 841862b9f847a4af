"""The served application against the published document: real workers, real connections, and the tool's own command."""

import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from http.client import HTTPConnection
from pathlib import Path

from service.resources import folder
from tests.contract.budget import BUDGET
from tests.contract.scene import Scene

HERE = Path(__file__).parent
ROOT = HERE.parent.parent
SERVE = "from service.cli import main; main()"
TOOL = "from schemathesis.cli import schemathesis; schemathesis()"
SECONDS = 30


@contextmanager
def served(environment: dict[str, str], output: Path) -> Iterator[str]:
    """The address of the service, served as in production for as long as the block lasts."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-c", SERVE, "serve", "--host", "127.0.0.1", "--port", str(port), "--workers", "2"]
    with output.open("w") as log, subprocess.Popen(command, env=environment, stdout=log, stderr=log, cwd=ROOT) as server:
        try:
            wait_for(port, server, output)
            yield f"http://127.0.0.1:{port}"
        finally:
            server.terminate()
            server.wait(SECONDS)


def wait_for(port: int, server: "subprocess.Popen[bytes]", output: Path) -> None:
    """Wait until the service is ready; fail where it ends or does not get ready."""
    end = time.monotonic() + SECONDS
    while time.monotonic() < end and server.poll() is None:
        connection = HTTPConnection("127.0.0.1", port, timeout=SECONDS)
        try:
            connection.request("GET", "/readyz")
            if connection.getresponse().status == 200:
                return
        except OSError:
            time.sleep(0.1)
        finally:
            connection.close()
    raise AssertionError(f"the service did not get ready: {output.read_text('utf-8')}")


def test_the_served_application_answers_as_documented(scene: Scene, tmp_path: Path) -> None:
    environment = {**os.environ, **scene.copied(tmp_path / "kitchen.sqlite3"), "PYTHONPATH": str(ROOT)}
    with served(environment, tmp_path / "log") as address:
        command = [
            *(sys.executable, "-c", TOOL, "--config-file", str(HERE / "schemathesis.toml"), "run", str(folder("openapi") / "openapi.json")),
            *("--url", address, "--header", f"Authorization: Bearer {scene.token}", "--checks", "all"),
            *("--phases", BUDGET.phases, "--max-examples", str(BUDGET.examples), "--max-time", str(BUDGET.seconds), "--no-color"),
        ]
        ran = subprocess.run(
            command,
            env={**environment, "CONTRACT_TOKEN_ID": scene.token_id},
            cwd=ROOT,
            capture_output=True,
            text=True,
            timeout=4 * BUDGET.seconds + SECONDS,
            check=False,
        )
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert "Stateful" in ran.stdout, ran.stdout
