"""A guard rail: every rule stands on the page of rules with a worked example, in a docstring, and in a test that can fail."""

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from tests.rules.page import PAGE, example, rules

TESTS = Path(__file__).parent
SERVICE = TESTS.parent / "service"
EXAMPLES = TESTS / "rules"
LAST_OF = {"U": 7, "Y": 7, "S": 6, "T": 8, "P": 16, "K": 17, "D": 3, "C": 2, "A": 2, "H": 3}
RULES = [f"{letter}{number}" for letter, last in LAST_OF.items() for number in range(1, last + 1)]
ID = re.compile(r"(?<![a-z0-9])[uystpkdcah]\d{1,2}(?![a-z0-9])")
Function = ast.FunctionDef | ast.AsyncFunctionDef


def ids_in(words: str) -> set[str]:
    """The rules that some words name, by ids that stand alone."""
    return {rule.upper() for rule in ID.findall(words.lower().replace("_", " "))}


def named_in(function: Function) -> set[str]:
    """The rules that a test's name or docstring names."""
    return ids_in(f"{function.name} {ast.get_docstring(function) or ''}")


def sentences_in(source: str) -> Iterator[Function]:
    """The test functions of a module, those of classes included, that have something to assert."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, Function) and node.name.startswith("test_") and asserts(node):
            yield node


def asserts(function: Function) -> bool:
    """Whether a test can fail: by an assertion, or by an error that does not come."""
    return any(isinstance(node, ast.Assert) or (isinstance(node, ast.Attribute) and node.attr == "raises") for node in ast.walk(function))


def named_by(files: Iterator[Path]) -> frozenset[str]:
    """The rules that the tests of some files name."""
    sources = (file.read_text(encoding="utf-8") for file in files if file.name.startswith("test_") and file != Path(__file__))
    return frozenset(rule for source in sources for function in sentences_in(source) for rule in named_in(function))


@cache
def under_test() -> frozenset[str]:
    """Every rule that some test names, those of the worked examples apart."""
    return named_by(file for file in TESTS.rglob("*.py") if EXAMPLES not in file.parents)


@cache
def with_example() -> frozenset[str]:
    """Every rule whose worked example some test computes."""
    return named_by(EXAMPLES.rglob("*.py"))


@cache
def in_docstrings() -> frozenset[str]:
    """Every rule that a docstring of the service names."""
    trees = (ast.parse(file.read_text(encoding="utf-8")) for file in SERVICE.rglob("*.py"))
    nodes = (node for tree in trees for node in ast.walk(tree) if isinstance(node, ast.Module | ast.ClassDef | Function))
    return frozenset(rule for node in nodes for rule in ids_in(ast.get_docstring(node) or ""))


def test_the_page_has_every_rule_once_and_in_order() -> None:
    assert list(rules()) == RULES
    headings = re.findall(r"^### (.*)", PAGE.read_text(encoding="utf-8"), re.MULTILINE)
    assert [heading.partition(":")[0] for heading in headings] == RULES


@pytest.mark.parametrize("rule", RULES)
def test_every_rule_has_a_worked_example_that_a_test_computes(rule: str) -> None:
    assert example(rule)
    assert rule in with_example(), f"no test of tests/rules computes the example of {rule}: call it test_{rule.lower()}_…"


def test_every_sentence_of_p15_has_its_letter() -> None:
    assert re.findall(r"^- \*\*\(([a-z])\)\*\* ", rules()["P15"], re.MULTILINE) == list("abcdefg")


@pytest.mark.parametrize("rule", RULES)
def test_every_rule_is_named_by_a_docstring(rule: str) -> None:
    assert rule in in_docstrings(), f"no docstring names {rule}: say where it is computed"


@pytest.mark.parametrize("rule", RULES)
def test_every_rule_is_named_by_a_test(rule: str) -> None:
    assert rule in under_test(), f"no test names {rule}: call it test_{rule.lower()}_… or name the rule in its docstring"


@pytest.mark.parametrize(
    ("source", "found"),
    [
        ("def test_p4_a_run_closes() -> None:\n    assert run()", {"P4"}),
        ("def test_p12_and_y3_both_hold() -> None:\n    assert run()", {"P12", "Y3"}),
        ("async def test_a_run_closes() -> None:\n    '''Rule P4.'''\n    assert run()", {"P4"}),
        ("class TestRuns:\n    def test_s2_holds(self) -> None:\n        with pytest.raises(ValueError):\n            run()", {"S2"}),
        ("def test_p4_asserts_nothing() -> None:\n    run()", set()),
        ("def plan_p4() -> None:\n    assert run()", set()),
        ("def test_step4_and_p14x_and_utf8() -> None:\n    assert run()", set()),
    ],
)
def test_a_rule_is_named_by_a_test_that_can_fail(source: str, found: set[str]) -> None:
    assert {rule for function in sentences_in(source) for rule in named_in(function)} == found
