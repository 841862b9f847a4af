"""What the service answers to the examples of requests, and to mistakes: recorded once, and shown in the published document.

Responsible for one answer of each operation and status, and of each cause of a 409 or 422, with ids and secrets that are the same
each time. Refuses to change anything else of an answer.
"""

import json
import re
from typing import Any

from service.resources import folder
from tests.api.caller import Caller
from tests.contract.group import BODIES, DAY, OPENING, READINGS, find, follow, prepared, send, shared
from tests.contract.refused import problems

FILE = "examples.json"
SECRET = re.compile(r"kp_[A-Za-z0-9_-]{43}")
SHOWN_SECRET = "kp_the-secret-of-a-token-is-shown-this-once-only"
ADDRESS = re.compile(r"/sheets/[A-Za-z0-9_-]{43}")
SHOWN_ADDRESS = "/sheets/the-secret-of-a-link-is-shown-this-once-only"
# The document itself would stand within itself.
CUT = {"get_openapi_document": ("openapi", "info")}


def record(director: Caller) -> dict[str, dict[str, Any]]:
    """The JSON answers of a new group by operation and status, and its refusals by cause, in the order of the operations' names."""
    answers: dict[str, dict[str, Any]] = {}

    def note(name: str, answer: Any) -> None:
        if answer.is_json and answer.status_code < 300:
            answers.setdefault(name, {})[str(answer.status_code)] = cut(name, answer.get_json())

    for name, answer in follow(director, OPENING + DAY):
        note(name, answer)
    for name in BODIES:
        if find(name)[1] == "put":
            note(name, send(director, name, {"task": prepared(director)}, {"If-Match": "*"}))
    secret = shared(director)
    for name in READINGS:
        note(name, send(director, name, {"task": prepared(director), "secret": secret}))
    refused: dict[str, dict[str, Any]] = {}
    for name, status, cause, problem in problems(director):
        refused.setdefault(name, {}).setdefault(status, {})[cause] = problem
    for name, shown in refused.items():
        answers.setdefault(name, {}).update(shown)
    return {name: dict(sorted(shown.items())) for name, shown in sorted(masked(answers).items())}


def cut(name: str, value: Any) -> Any:
    """An answer as it is shown: of the document itself its head alone."""
    if name not in CUT:
        return value
    head = {key: value[key] for key in CUT[name]}
    return head | {"info": {key: head["info"][key] for key in ("title", "version")}}


def masked(answers: dict[str, Any]) -> dict[str, Any]:
    """The answers with ids and secrets of tokens and sheet links that do not differ from run to run."""
    rows = sorted(answers["list_tokens"]["200"]["items"], key=lambda row: row["name"])
    answers["list_tokens"]["200"]["items"] = rows
    created = answers["create_sheet_link"]["201"]["id"]
    links = sorted(answers["list_sheet_links"]["200"]["items"], key=lambda row: bool(row["id"] != created))
    answers["list_sheet_links"]["200"]["items"] = links
    text = json.dumps(answers)
    for number, row in enumerate([*rows, *links], start=1):
        text = text.replace(row["id"], f"{number:016x}")
    shown: dict[str, Any] = json.loads(ADDRESS.sub(SHOWN_ADDRESS, SECRET.sub(SHOWN_SECRET, text)))
    return shown


def write(answers: dict[str, Any]) -> str:
    """The answers as the text of the file."""
    return json.dumps(answers, indent=1, ensure_ascii=False) + "\n"


def committed() -> str:
    """The text of the committed file."""
    return (folder("openapi") / FILE).read_text("utf-8")
