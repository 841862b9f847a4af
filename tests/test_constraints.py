"""The versions that CI passed fit what the project asks for, each held by a hash."""

import re
import tomllib
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

TOP = Path(__file__).resolve().parent.parent
ROW = re.compile(r"([a-z0-9._-]+)==(\S+) --hash=sha256:[0-9a-f]{64}")


def test_every_dependency_is_held_at_a_version_that_the_project_takes() -> None:
    lines = (TOP / ".ci" / "constraints.txt").read_text("utf-8").splitlines()[1:]
    rows = [ROW.fullmatch(line) for line in lines]
    held = {canonicalize_name(row[1]): row[2] for row in rows if row}
    assert len(held) == len(lines)
    project = tomllib.loads((TOP / "pyproject.toml").read_text("utf-8"))["project"]
    asked = [Requirement(each) for each in (*project["dependencies"], *project["optional-dependencies"]["dev"])]
    assert [str(each) for each in asked if held.get(canonicalize_name(each.name), "0") not in each.specifier] == []
