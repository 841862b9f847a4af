"""The commands and answers of the pages for readers, run as a reader would run them: what they show is what happens."""

import html
import importlib.util
import os
import re
import shlex
import shutil
import socket
import subprocess
import sys
import time
import tomllib
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple
from urllib.request import urlopen

import pytest
from sqlalchemy import URL

from service import config
from service.app import published_document
from service.cli import commands
from service.resources import folder
from tests import postgresql
from tests.marked import FRONT, OPERATION, PAGES, TOP, Block, agrees, answered, blocks, every_block, one, read, read_shown, section
from tests.test_pages import anchor, shown

END = "\x1e"
PROGRAM = "from service.cli import main; main()"
# A machine with nothing but Python may lack curl; there these examples cannot be run, but CI must have it.
needs_curl = pytest.mark.skipif(shutil.which("curl") is None and "CI" not in os.environ, reason="there is no curl here")


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


def programs() -> str:
    """Where programs are found: with the PostgreSQL of the tests first, unless they run on another server."""
    found = importlib.util.find_spec(postgresql.PACKAGE)
    path = os.environ["PATH"]
    if found is None or found.origin is None or "TEST_DATABASE_URL" in os.environ:
        return path
    return f"{Path(found.origin).parent / postgresql.INSTALLATION / 'bin'}{os.pathsep}{path}"


class Served(NamedTuple):
    """A demo that is being served, with its tokens by role, and all that it printed."""

    address: str
    tokens: dict[str, str]
    printed: str


@contextmanager
def demo(start: str, place: Path) -> Iterator[Served]:
    """The demo, started as a line of a page starts it but at a port of its own."""
    *variables, program, what = shlex.split(start)
    assert (program, what) == (".venv/bin/kitchen-prep", "demo")
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-c", PROGRAM, what, "--port", str(port)]
    given = dict(variable.split("=", 1) for variable in variables)
    environment = {**os.environ, **given, "PYTHONPATH": str(TOP), "PYTHONUNBUFFERED": "1"}
    output = place / "demo.txt"
    with output.open("w") as out, subprocess.Popen(command, env=environment, stdout=out, stderr=subprocess.STDOUT) as server:
        try:
            wait_for(f"http://127.0.0.1:{port}/livez", server, output)
            printed = output.read_text(encoding="utf-8")
            tokens = dict(re.findall(r"^  ([a-z]+) +(kp_\S+)$", printed, re.MULTILINE))
            yield Served(f"http://127.0.0.1:{port}", tokens, printed)
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
@pytest.mark.parametrize(
    ("start", "run", "least"),
    [("start", "run", 8), ("start: till", "run: till", 13), ("start: screen", "run: screen", 19), ("start: desk", "run: desk", 14)],
)
def test_each_walk_goes_as_it_is_told_and_leaves_nothing_in_the_clone(start: str, run: str, least: int, tmp_path: Path) -> None:
    walk = blocks(run)
    assert len(walk) >= least
    clone, temporary = tmp_path / "clone", tmp_path / "temporary"
    clone.mkdir()
    temporary.mkdir()
    (clone / "seeds").symlink_to(folder("seeds"))
    with demo(one(start), tmp_path) as served:
        texts = [fill_in(block.text, served) for block in walk]
        script = "".join(f"{text}\nprintf '\\036'\n" for text in texts)
        environment = {**os.environ, "TMPDIR": str(temporary)}
        ran = run_in_shell(script, clone, environment)
    assert ran.returncode == 0, ran.stderr
    assert ran.stderr == ""
    *answers, rest = ran.stdout.split(END)
    assert rest == ""
    wrong = [report(block, answer) for block, answer in zip(walk, answers, strict=True) if not answered(block, answer)]
    assert not wrong, "\n\n".join(wrong)
    assert [left.name for left in clone.iterdir()] == ["seeds"]


def test_the_address_that_the_demo_prints_opens_tomorrows_sheet(tmp_path: Path) -> None:
    [announced] = re.findall(r"`([^`]+in any browser:)`", section(FRONT, "The sheet in a browser"))
    with demo(one("start"), tmp_path) as served:
        [address] = re.findall(rf"^{announced} (http\S+)$", served.printed, re.MULTILINE)
        with urlopen(address, timeout=30) as sheet:  # noqa: S310 - the address is the demo's own
            assert sheet.headers["Content-Type"] == "text/html; charset=utf-8"
            page = sheet.read().decode()
    assert "<title>Prep list, Mill Street Bakery &amp; Café, Thu 3 Dec 2026</title>" in page
    boxes = [html.unescape(title) for title in re.findall(r"<title>(.*?)</title>", page)]
    rows = [re.split(r" {2,}", row) for row in one("picture").splitlines()]
    assert len(rows) >= 4
    for name, told in rows:
        assert name in html.unescape(page)
        found = [[number for number, box in enumerate(boxes) if each in box] for each in told.split(" · ")]
        # The boxes of a row stand there one after the other.
        assert all(found), name
        assert [first for first, *_ in found] == [*range(found[0][0], found[0][0] + len(found))], name


def test_every_marked_block_is_of_a_walk_or_of_another_test_here() -> None:
    walks = {f"{what}{whose}" for what in ("start", "run") for whose in ("", ": till", ": screen", ": desk")}
    others = {"picture", "set-up: demo", "set-up: tests", "catalogue", "run: own", "run: postgresql", "run: move"}
    assert {block.mark for block in every_block()} == walks | others


def fill_in(text: str, served: Served) -> str:
    """A block with the address and the tokens of a demo, where its page tells the reader to put them."""
    text = text.replace("http://127.0.0.1:8000", served.address)
    return re.sub(r"kp_the-token-that-the-demo-printed-for-(\w+)", lambda found: served.tokens[found[1]], text)


def report(block: Block, answer: str) -> str:
    return f"{block.text}answers\n{answer}\nand not\n{block.answer}"


def test_an_installation_of_ones_own_goes_as_it_is_told(tmp_path: Path) -> None:
    (tmp_path / "kitchen.json").write_text(one("catalogue"), encoding="utf-8")
    commands_shown = "".join(block.text for block in blocks("run: own"))
    environment = {"PATH": os.environ["PATH"], "PYTHONPATH": str(TOP), "KITCHEN_PREP_NOW": "2026-12-02T09:00:00-06:00"}
    ran = run_installed(f'{commands_shown}\ntest -n "$TOKEN" -a -n "$NEW"\n', tmp_path, environment)
    assert ran.returncode == 0, ran.stderr
    assert "kitchen.json: 8 created, 0 replaced, 0 unchanged, 1 published\n" in ran.stdout
    assert "Prep list of mill-street for 2026-12-03, planned from 2026-12-02\n" in ran.stdout


@pytest.mark.skipif(shutil.which("pg_dump", path=programs()) is None, reason="there are no PostgreSQL tools here")
def test_what_was_moved_to_postgresql_and_restored_plans_the_same_list(server: URL, tmp_path: Path) -> None:
    (tmp_path / "kitchen.json").write_text(one("catalogue"), encoding="utf-8")
    names = [f"{name}_{uuid.uuid4().hex}" for name in ("moved", "restored")]
    for name in names:
        postgresql.execute(server, f"CREATE DATABASE {name}")
    show = "printf '\\036'\nkitchen-prep prep-list mill-street 2026-12-03\nprintf '\\036'\n"
    fill = f"kitchen-prep migrate\nkitchen-prep import kitchen.json\n{show}"
    move = f"{one('run: move')}export DATABASE_URL=$NEW_URL\n{show}"
    restore = f"{one('run: postgresql')}export DATABASE_URL=$RESTORED_URL\n{show}"
    moved, restored = (postgresql.address(server, name) for name in names)
    addresses = {"NEW_URL": moved, "RESTORED_URL": restored}
    environment = {"PATH": programs(), "PYTHONPATH": str(TOP), "KITCHEN_PREP_NOW": "2026-12-02T09:00:00-06:00", **addresses}
    try:
        ran = run_installed(fill + move + restore, tmp_path, environment)
        assert ran.returncode == 0, ran.stderr
        _, before, _, after_move, _, after_restore, _ = ran.stdout.split(END)
        assert before == after_move == after_restore
        assert before.startswith("Prep list of mill-street for 2026-12-03")
    finally:
        for name in names:
            postgresql.execute(server, f"DROP DATABASE {name} WITH (FORCE)")


def run_installed(script: str, place: Path, environment: dict[str, str]) -> "subprocess.CompletedProcess[str]":
    """Run a script in which the project's command is at hand."""
    # A shell function's name takes no hyphen everywhere; an alias would not be expanded.
    program = f'kitchen_prep() {{ {shlex.quote(sys.executable)} -c {shlex.quote(PROGRAM)} "$@"; }}'
    lines = f"set -e\n{program}\n{script.replace('kitchen-prep ', 'kitchen_prep ')}"
    return run_in_shell(lines, place, environment)


def run_in_shell(script: str, place: Path, environment: dict[str, str]) -> "subprocess.CompletedProcess[str]":
    """Run a script with sh, which ends at a variable that nobody set."""
    return subprocess.run(["sh", "-u"], input=script, cwd=place, env=environment, capture_output=True, text=True, timeout=300, check=False)  # noqa: S607 - sh is found by name


def test_every_variable_stands_in_the_table_with_its_default() -> None:
    rows = dict(re.findall(r"^\| `([A-Z_]+)` \| (?:`([^`]+)`)? ?\|", section(OPERATION, "Configuration"), re.MULTILINE))
    assert rows == {variable.name: variable.default for variable in config.VARIABLES}


def test_every_command_stands_in_the_table() -> None:
    assert set(re.findall(r"^\| `kitchen-prep ([a-z-]+)", section(OPERATION, "Commands"), re.MULTILINE)) == set(commands.commands)


def test_what_is_said_to_be_missing_is_missing() -> None:
    missing = set(re.findall(r"`([^`]+)`", section(FRONT, "What it does not do yet")))
    assert missing
    document = without_names(published_document())
    assert not {name for name in missing if f'"{without_names(name)}"' in document}


def without_names(text: str) -> str:
    """A text without the names that parts of paths have: /v1/recipes/{code} reads /v1/recipes/{}."""
    return re.sub(r"\{[a-z_]+\}", "{}", text)


@pytest.mark.parametrize("page", PAGES, ids=shown)
def test_every_section_is_reached_from_the_contents(page: Path) -> None:
    named = re.findall(r"\]\(#([a-z0-9-]+)\)", section(page, "Contents"))
    headings = [anchor(heading) for heading in re.findall(r"^## (.+)$", read(page), re.MULTILINE)]
    assert named == headings[headings.index("contents") + 1 :]
