"""The README's commands and answers, run as a reader would run them: what it shows is what happens."""

import json
import os
import re
import shlex
import shutil
import socket
import subprocess
import sys
import time
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple
from urllib.request import urlopen

import pytest

from service import config
from service.app import published_document
from service.cli import commands
from service.resources import folder

TOP = Path(__file__).resolve().parent.parent
README = (TOP / "README.md").read_text(encoding="utf-8")
MARKED = re.compile(
    r"<!-- (?P<mark>[^>]+) -->\n```(?:sh|json)\n(?P<text>.*?)```\n(?:```(?P<kind>js|text)\n(?P<answer>.*?)```\n)?",
    re.DOTALL,
)
MORE = "…"
END = "\x1e"
PROGRAM = "from service.cli import main; main()"
# A machine with nothing but Python may lack curl; there these examples cannot be run, but CI must have it.
needs_curl = pytest.mark.skipif(shutil.which("curl") is None and "CI" not in os.environ, reason="there is no curl here")


class Block(NamedTuple):
    """A marked block of code, with the answer that stands below it."""

    text: str
    kind: str | None
    answer: str | None


def blocks(mark: str) -> list[Block]:
    return [Block(found["text"], found["kind"], found["answer"]) for found in MARKED.finditer(README) if found["mark"] == mark]


def one(mark: str) -> str:
    [block] = blocks(mark)
    return block.text


def section(heading: str) -> str:
    return README.partition(f"\n## {heading}\n")[2].partition("\n## ")[0]


def read_shown(text: str) -> Any:
    """The value of a shown answer, in which … stands for members, entries or text that were left out."""
    written: list[str] = []
    open_brackets: list[str] = []
    for token in re.findall(r'"(?:[^"\\]|\\.)*"|.', text, re.DOTALL):
        before = next((each for each in reversed(written) if not each.isspace()), "")
        if token in "{[":
            open_brackets.append(token)
        elif token in "}]":
            open_brackets.pop()
        if token == MORE and open_brackets[-1] == "{" and before in "{,":
            written.append(f'"{MORE}": "{MORE}"')
        else:
            written.append(f'"{MORE}"' if token == MORE else token)
    return json.loads("".join(written))


def agrees(shown: Any, real: Any) -> bool:
    """Whether a real value is the shown one, but for what … left out."""
    if shown == MORE:
        return True
    if isinstance(shown, dict):
        open_ended = MORE in shown
        rest = {key: value for key, value in shown.items() if key != MORE}
        if not isinstance(real, dict) or not set(rest) <= set(real) or (not open_ended and set(rest) != set(real)):
            return False
        return all(agrees(value, real[key]) for key, value in rest.items())
    if isinstance(shown, list):
        return isinstance(real, list) and entries_agree(shown, real)
    return bool(shown == real) and isinstance(shown, bool) is isinstance(real, bool)


def entries_agree(shown: list[Any], real: list[Any]) -> bool:
    if not shown:
        return not real
    if shown[0] == MORE:
        return any(entries_agree(shown[1:], real[start:]) for start in range(len(real) + 1))
    return bool(real) and agrees(shown[0], real[0]) and entries_agree(shown[1:], real[1:])


@pytest.mark.parametrize(
    ("shown", "real", "same"),
    [
        ('{"a": 1, …}', {"a": 1, "b": 2}, True),
        ('{"a": 1}', {"a": 1, "b": 2}, False),
        ('{…, "a": 2}', {"a": 1}, False),
        ('{"a": …}', {"a": [1]}, True),
        ("[1, …, 3]", [1, 2, 2, 3], True),
        ("[1, …]", [2], False),
        ('[…, {…, "a": 1}, …]', [{"a": 2}, {"a": 1, "b": 0}], True),
        ('[…, {…, "a": 3}, …]', [{"a": 2}, {"a": 1, "b": 0}], False),
        ("[1]", [1, 2], False),
        ("[]", [1], False),
        ('{"a": 1.0}', {"a": 1}, True),
        ('{"a": null}', {"a": 0}, False),
    ],
)
def test_only_what_is_marked_as_left_out_may_differ(shown: str, real: Any, same: bool) -> None:  # noqa: FBT001 - a column of the table
    assert agrees(read_shown(shown), real) is same


def test_the_command_that_runs_the_demo_stands_there_whole() -> None:
    environment, install, run = (shlex.split(part) for part in one("set-up: demo").split("&&"))
    assert environment == ["python3", "-m", "venv", ".venv"]
    assert install == [".venv/bin/pip", "install", "-q", "-e", "."]
    assert run == [".venv/bin/kitchen-prep", "demo", "--once"]
    project = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert project["scripts"] == {"kitchen-prep": "service.cli:main"}


def test_the_command_that_passes_the_tests_stands_there_whole() -> None:
    environment, install, run = (shlex.split(part) for part in one("set-up: tests").split("&&"))
    assert environment == ["python3", "-m", "venv", ".venv"]
    assert install == [".venv/bin/pip", "install", "-q", "-e", ".[dev]"]
    assert run == [".venv/bin/pytest", "-q", "-n", "auto"]
    extras = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["project"]["optional-dependencies"]
    assert {re.split(r"[<>=]", name)[0] for name in extras["dev"]} >= {"pytest", "pytest-xdist"}


class Served(NamedTuple):
    """A demo that is being served."""

    address: str
    token: str


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    """The demo, started at the moment that the README pins."""
    [pinned] = re.findall(r"^KITCHEN_PREP_NOW=(\S+) \.venv/bin/kitchen-prep demo$", README, re.MULTILINE)
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-c", PROGRAM, "demo", "--port", str(port)]
    environment = {**os.environ, "KITCHEN_PREP_NOW": pinned, "PYTHONPATH": str(TOP), "PYTHONUNBUFFERED": "1"}
    output = tmp_path / "demo.txt"
    with output.open("w") as out, subprocess.Popen(command, env=environment, stdout=out, stderr=subprocess.STDOUT) as server:
        try:
            wait_for(f"http://127.0.0.1:{port}/livez", server, output)
            [token] = re.findall(r"^  director +(kp_\S+)$", output.read_text(encoding="utf-8"), re.MULTILINE)
            yield Served(f"http://127.0.0.1:{port}", token)
        finally:
            server.terminate()


def wait_for(address: str, server: "subprocess.Popen[bytes]", output: Path) -> None:
    """Return once the server answers; fails once it has ended, or after 30 seconds."""
    for _ in range(300):
        assert server.poll() is None, output.read_text(encoding="utf-8")
        try:
            with urlopen(address, timeout=5):  # noqa: S310 - the address is the test's own
                return
        except OSError:
            time.sleep(0.1)
    pytest.fail("the demo did not answer within 30 seconds")


@needs_curl
def test_one_day_goes_as_it_is_told(served: Served, tmp_path: Path) -> None:
    day = blocks("run")
    assert len(day) > 10
    texts = [block.text for block in day]
    texts[0] = re.sub(r"(?m)^API=.*$", f"API={served.address}", re.sub(r"(?m)^TOKEN=.*$", f"TOKEN={served.token}", texts[0]))
    place = tmp_path / "work"
    place.mkdir()
    (place / "seeds").symlink_to(folder("seeds"))
    script = "".join(f"{text}\nprintf '\\036'\n" for text in texts)
    ran = subprocess.run(["sh", "-u"], input=script, cwd=place, capture_output=True, text=True, timeout=60, check=False)  # noqa: S607 - sh is found by name
    assert ran.returncode == 0, ran.stderr
    assert ran.stderr == ""
    *answers, rest = ran.stdout.split(END)
    assert rest == ""
    wrong = [report(block, answer) for block, answer in zip(day, answers, strict=True) if not answered(block, answer)]
    assert not wrong, "\n\n".join(wrong)


def answered(block: Block, answer: str) -> bool:
    """Whether a block answered what the README shows below it."""
    if block.kind == "js":
        return agrees(read_shown(block.answer or ""), json.loads(answer))
    return answer.strip() == (block.answer or "").strip()


def report(block: Block, answer: str) -> str:
    return f"{block.text}answers\n{answer}\nand not\n{block.answer}"


def test_an_installation_of_ones_own_goes_as_it_is_told(tmp_path: Path) -> None:
    (tmp_path / "kitchen.json").write_text(one("catalogue"), encoding="utf-8")
    # A shell function's name takes no hyphen everywhere; an alias would not be expanded.
    program = f'kitchen_prep() {{ {shlex.quote(sys.executable)} -c {shlex.quote(PROGRAM)} "$@"; }}'
    commands_shown = one("run: own").replace("kitchen-prep ", "kitchen_prep ")
    script = f'set -eu\n{program}\n{commands_shown}\ntest -n "$TOKEN"\n'
    environment = {"PATH": os.environ["PATH"], "PYTHONPATH": str(TOP), "KITCHEN_PREP_NOW": "2026-12-02T09:00:00-06:00"}
    ran = subprocess.run(["sh"], input=script, cwd=tmp_path, env=environment, capture_output=True, text=True, timeout=60, check=False)  # noqa: S607 - as above
    assert ran.returncode == 0, ran.stderr
    assert "kitchen.json: 8 created, 0 replaced, 0 unchanged, 1 published\n" in ran.stdout
    assert "Prep list of mill-street for 2026-12-03, planned from 2026-12-02\n" in ran.stdout


def test_every_variable_stands_in_the_table_with_its_default() -> None:
    rows = dict(re.findall(r"^\| `([A-Z_]+)` \| (?:`([^`]+)`)? ?\|", section("Configuration"), re.MULTILINE))
    assert rows == {variable.name: variable.default for variable in config.VARIABLES}


def test_every_command_stands_in_the_table() -> None:
    assert set(re.findall(r"^\| `kitchen-prep ([a-z-]+)", section("Commands"), re.MULTILINE)) == set(commands.commands)


def test_what_is_said_to_be_missing_is_missing() -> None:
    missing = set(re.findall(r"`(/[^`]+)`", section("What it does not do yet")))
    assert missing
    assert not missing & set(json.loads(published_document())["paths"])
