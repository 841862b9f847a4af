"""What the pages for readers show: blocks of code marked to be run, and the answers that stand below them.

Responsible for finding them, and for whether a real answer is the one shown. Refuses to run anything.
"""

import json
import re
from pathlib import Path
from typing import Any, NamedTuple

TOP = Path(__file__).resolve().parent.parent
FRONT = TOP / "README.md"
INTERFACE = TOP / "openapi" / "README.md"
OPERATION = TOP / "service" / "README.md"
CATALOGUES = TOP / "seeds" / "README.md"
PAGES = (FRONT, INTERFACE, OPERATION, CATALOGUES)
MARKED = re.compile(
    r"<!-- (?P<mark>[^>]+) -->\n```(?:sh|json|text)\n(?P<text>.*?)```\n(?:```(?P<kind>js|text)\n(?P<answer>.*?)```\n)?",
    re.DOTALL,
)
MORE = "…"


class Block(NamedTuple):
    """A marked block of code, with the answer that stands below it."""

    mark: str
    text: str
    kind: str | None
    answer: str | None


def read(page: Path) -> str:
    return page.read_text(encoding="utf-8")


def every_block() -> list[Block]:
    """The marked blocks of all pages, in the order in which they stand."""
    return [Block(**found.groupdict()) for page in PAGES for found in MARKED.finditer(read(page))]


def blocks(mark: str) -> list[Block]:
    return [block for block in every_block() if block.mark == mark]


def one(mark: str) -> str:
    [block] = blocks(mark)
    return block.text


def section(page: Path, heading: str) -> str:
    return read(page).partition(f"\n## {heading}\n")[2].partition("\n## ")[0]


def answered(block: Block, answer: str) -> bool:
    """Whether a block answered what its page shows below it."""
    if block.kind == "js":
        return agrees(read_shown(block.answer or ""), json.loads(answer))
    return answer.strip() == (block.answer or "").strip()


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
