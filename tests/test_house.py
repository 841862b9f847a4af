"""Guard rails: what must hold of the whole house, whoever builds in it."""

import ast
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parent.parent
ENTRIES = {"README.md", "DEVELOPERS.md", "pyproject.toml", "service", "migrations", "openapi", "seeds", "tests"}
LONGEST = 300
MOST_UNNAMED = 4
MODULES = sorted((TOP / "service").rglob("*.py"))
NO_NOUNS = {"utils", "util", "helpers", "helper", "manager", "managers", "base", "common", "misc"}


def tracked() -> list[str]:
    """The files of the project; where it was unpacked from an archive, whatever stands in its folders."""
    if not (TOP / ".git").exists():
        return [str(file.relative_to(TOP)) for entry in ENTRIES for file in (TOP / entry).rglob("*") if "__pycache__" not in file.parts]
    listed = subprocess.run(["git", "ls-files"], cwd=TOP, capture_output=True, text=True, check=True)  # noqa: S607 - git is found by name
    return listed.stdout.splitlines()


def shown(module: Path) -> str:
    return str(module.relative_to(TOP))


def test_nothing_but_the_agreed_entries_stands_at_the_top() -> None:
    top = {file.split("/")[0] for file in tracked()}
    assert {entry for entry in top if not entry.startswith(".")} <= ENTRIES


@pytest.mark.parametrize("module", MODULES, ids=shown)
def test_a_module_says_what_it_is_for_and_stays_short(module: Path) -> None:
    text = module.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= LONGEST, "split it by noun"
    assert ast.get_docstring(ast.parse(text)), "say what it is responsible for and what it refuses to know"
    assert module.stem not in NO_NOUNS, "name the noun"


@pytest.mark.parametrize("module", MODULES, ids=shown)
def test_a_value_of_more_than_four_fields_is_made_by_keyword(module: Path) -> None:
    classes = [node for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))) if isinstance(node, ast.ClassDef)]
    large = [each for each in classes if sum(isinstance(line, ast.AnnAssign) for line in each.body) > MOST_UNNAMED]
    decorated = {each.name: " ".join(map(ast.unparse, each.decorator_list)) for each in large}
    assert [name for name, words in decorated.items() if "dataclass" in words and "kw_only" not in words] == []


def test_imports_run_one_way() -> None:
    program = Path(sys.executable).parent / "lint-imports"
    checked = subprocess.run([program, "--no-logo", "--no-cache"], cwd=TOP, capture_output=True, text=True, check=False)
    assert checked.returncode == 0, checked.stdout + checked.stderr


@pytest.mark.parametrize("file", [file for file in tracked() if file.endswith(".py")])
def test_no_code_is_promised_instead_of_written(file: str) -> None:
    text = (TOP / file).read_text(encoding="utf-8")
    promises = re.findall(r"raise NotImplemented" + r"Error|#\s*(?:TO" + r"DO|FIX" + r"ME|X" + r"XX)\b", text)
    assert promises == []


def test_how_long_properties_are_tested_is_said_in_one_place() -> None:
    own_ways = re.compile(r"\bdeadline\s*=|_profile\(|max_examples\s*=\s*\d")
    found = {str(file.relative_to(TOP)) for file in (TOP / "tests").rglob("*.py") if own_ways.search(file.read_text(encoding="utf-8"))}
    assert found == {"tests/profiles.py"}


def test_each_opt_out_of_a_style_rule_has_its_reason() -> None:
    lines = (TOP / "pyproject.toml").read_text(encoding="utf-8").splitlines()
    opted_out = [line for line in lines if re.match(r'\s+"[A-Z]+[0-9]*",', line)]
    assert opted_out
    assert [line for line in opted_out if not re.search(r"#\s+\S.*\.$", line)] == []


def test_what_stands_beside_the_package_is_packed_into_it() -> None:
    settings = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))
    packed = settings["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"]
    assert packed == {name: f"service/bundled/{name}" for name in ("migrations", "seeds", "openapi")}
    assert all((TOP / name).is_dir() for name in packed)
