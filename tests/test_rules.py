"""A guard rail: every rule delivered so far is named by a test, so that a rule without one cannot slip by."""

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

TESTS = Path(__file__).parent
LAST_OF = {"U": 7, "Y": 7, "S": 6, "T": 8, "P": 16, "D": 3}
NUMBERED = {f"{letter}{number}" for letter, last in LAST_OF.items() for number in range(1, last + 1)}
DELIVERED = [*sorted(NUMBERED), "A1", "H3"]
RULE = re.compile(r"(?<![a-z0-9])[uystpdah]\d{1,2}(?![a-z0-9])")


def named_in(function: ast.FunctionDef | ast.AsyncFunctionDef) -> set[str]:
    """The rules that a test's name or docstring names."""
    words = f"{function.name} {ast.get_docstring(function) or ''}".lower().replace("_", " ")
    return {rule.upper() for rule in RULE.findall(words)}


def sentences_in(source: str) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    """The test functions of a module, those of classes included, that have something to assert."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and node.name.startswith("test_") and asserts(node):
            yield node


def asserts(function: ast.FunctionDef | ast.AsyncFunctionDef) -> bool:
    """Whether a test can fail: by an assertion, or by an error that does not come."""
    return any(isinstance(node, ast.Assert) or (isinstance(node, ast.Attribute) and node.attr == "raises") for node in ast.walk(function))


@cache
def named() -> frozenset[str]:
    """Every rule that some test names."""
    sources = (file.read_text(encoding="utf-8") for file in TESTS.rglob("test_*.py") if file != Path(__file__))
    return frozenset(rule for source in sources for function in sentences_in(source) for rule in named_in(function))


@pytest.mark.parametrize("rule", DELIVERED)
def test_every_rule_delivered_is_named_by_a_test(rule: str) -> None:
    assert rule in named(), f"no test names {rule}: call it test_{rule.lower()}_… or name the rule in its docstring"


@pytest.mark.parametrize(
    ("source", "rules"),
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
def test_a_rule_is_named_by_a_test_that_can_fail(source: str, rules: set[str]) -> None:
    assert {rule for function in sentences_in(source) for rule in named_in(function)} == rules
