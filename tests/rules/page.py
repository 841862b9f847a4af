"""The page of rules, read by id.

Responsible for finding a rule and its worked example in service/kitchen/README.md, and for numbers as the page writes them.
Refuses to know any rule.
"""

import re
from decimal import Decimal
from fractions import Fraction
from functools import cache
from pathlib import Path

PAGE = Path(__file__).resolve().parents[2] / "service" / "kitchen" / "README.md"
RULE = re.compile(r"^### ([A-Z]\d+): [^\n]+\n(.*?)(?=^##|\Z)", re.MULTILINE | re.DOTALL)
EXAMPLE = re.compile(r"^\*Example\.\* (.*?)(?=\n\n|\Z)", re.MULTILINE | re.DOTALL)


@cache
def rules() -> dict[str, str]:
    """What the page says under each id, in the order of the page."""
    return dict(RULE.findall(PAGE.read_text(encoding="utf-8")))


def example(rule: str) -> str:
    """The one worked example of a rule, on one line."""
    (found,) = EXAMPLE.findall(rules()[rule])
    return " ".join(str(found).split())


def untold(rule: str, *texts: str) -> list[str]:
    """Which of some texts the worked example of a rule does not say, each as words of its own."""
    return [text for text in texts if not re.search(rf"(?<![\w.]){re.escape(text)}(?![\w]|\.\d)", example(rule))]


def number(value: float | Fraction | Decimal) -> str:
    """A number to ten digits as the page writes it: without a decimal where it is whole."""
    return f"{float(f'{float(value):.10g}'):.10f}".rstrip("0").rstrip(".")


def kilos(value: float) -> str:
    """So many grams in kilos."""
    return f"{number(value / 1000)} kg"


def litres(value: float) -> str:
    """So many millilitres in litres."""
    return f"{number(value / 1000)} L"
