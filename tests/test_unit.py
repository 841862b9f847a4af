"""The unit of systemd on the page of operations: one that systemd takes, and that leaves the service few rights."""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.marked import OPERATION, read

ANALYZE = shutil.which("systemd-analyze")
# From this version on it judges a unit that is not installed.
NEWEST_ASKED = 250
# Out of 100, where 100 is a service that may do all that root may.
MOST_EXPOSED = 20


@pytest.fixture
def unit(tmp_path: Path) -> Path:
    """The unit as a file, its program one that is here."""
    [text] = re.findall(r"^```ini\n(.*?)^```", read(OPERATION), re.DOTALL | re.MULTILINE)
    assert "ExecStart=/opt/kitchen-prep/bin/kitchen-prep serve " in text
    file = tmp_path / "kitchen-prep.service"
    file.write_text(text.replace("/opt/kitchen-prep/bin/kitchen-prep", sys.executable), "utf-8")
    return file


def analyze(*arguments: str) -> "subprocess.CompletedProcess[str]":
    if ANALYZE is None:
        pytest.skip("there is no systemd here")
    environment = {"PATH": os.environ["PATH"], "LC_ALL": "C.UTF-8"}
    return subprocess.run([ANALYZE, *arguments], env=environment, capture_output=True, text=True, timeout=60, check=False)


def test_systemd_has_nothing_to_say_against_the_unit(unit: Path) -> None:
    checked = analyze("verify", "--man=no", str(unit))
    assert (checked.returncode, checked.stdout + checked.stderr) == (0, "")


def test_the_unit_leaves_the_service_few_rights(unit: Path) -> None:
    if int(re.findall(r"\d+", analyze("--version").stdout)[0]) < NEWEST_ASKED:
        pytest.skip("this systemd judges installed units alone")
    judged = analyze("security", "--offline=yes", f"--threshold={MOST_EXPOSED}", "--no-pager", str(unit))
    assert judged.returncode == 0, judged.stdout.splitlines()[-1]
