"""What every run does besides the tool's own checks: it keeps its own token, and asks why a legal request was refused.

The command line loads this module by the name that schemathesis.toml has for it, the tests in-process by the same file.
"""

import json
import os
from typing import Any

import schemathesis
from hypothesis import strategies as st
from openapi_schema_validator import OAS31Validator
from schemathesis import Case, CheckContext, HookContext, Response
from schemathesis.core.failures import AcceptedNegativeData, Failure

from service.resources import folder

DOCUMENT: dict[str, Any] = json.loads((folder("openapi") / "openapi.json").read_text("utf-8"))
# The id of the token that a run works with: the command line gets it by this variable, the tests in-process add it.
OWN_TOKENS = set(os.environ.get("CONTRACT_TOKEN_ID", "").split())
# What a document can say in shapes: whoever keeps to them is never told this of a body or a query.
SHAPE = {"unknown_field", "wrong_type", "too_long", "too_many", "not_in_list", "required"}
# What it says in words: a cursor is opaque; a token's role decides whether it has sites and a source; time zones are those of a
# database of their own; a scaling is to one of two things; only what is as purchased lies in the store; 2 3/2 is written 3 1/2.
IN_WORDS = {
    ("cursor", "wrong_type"),
    ("since", "wrong_type"),
    ("sites", "required"),
    ("source", "required"),
    ("time_zone", "not_in_list"),
    ("quantity", "required"),
    ("have", "unknown_field"),
    ("in", "unknown_field"),
    ("amount", "wrong_type"),
}


class RefusedForItsShape(AssertionError):
    """A request that fits the document's shapes was refused for its shape."""


schemathesis.openapi.format("entity-tags", st.just("*") | st.from_regex(r'"[a-f0-9]{4,32}"', fullmatch=True))


@schemathesis.hook
def before_call(context: HookContext, case: Case[Any], kwargs: dict[str, Any]) -> None:
    """Revoke any token but that of the run."""
    del context, kwargs
    if case.path_parameters.get("id") in OWN_TOKENS:
        case.path_parameters["id"] = "another"


@schemathesis.check
def refused_for_its_meaning_alone(ctx: CheckContext, response: Response, case: Case[Any]) -> None:
    """A request that fits the document is refused for what it means, never for its shape."""
    del ctx
    if response.status_code not in (400, 422) or not is_legal(case):
        return
    problem = response.json()
    found = [fault for fault in problem["errors"] if fault["code"] in SHAPE and (place(fault), fault["code"]) not in IN_WORDS]
    # The document says in words how many digits a number may have: shapes count none.
    if found or (response.status_code == 400 and "digits" not in problem["detail"]):
        raise RefusedForItsShape(f"{problem['detail']} {found}")


@schemathesis.hook
def filter_failure(context: HookContext, failure: Failure, case: Case[Any], response: Response) -> bool:
    """Keep a failure unless the document's words allow what its shapes do not.

    That is null for a field that may be left out, and a push of which each wrong entry is refused by itself.
    """
    del context
    return not (isinstance(failure, AcceptedNegativeData) and (is_legal_without_nulls(case) or is_refused_by_entry(case, response)))


def is_legal(case: Case[Any]) -> bool:
    """Whether every part of a request was made to fit the document."""
    return case.meta is not None and all(part.mode.is_positive for part in case.meta.components.values())


def is_refused_by_entry(case: Case[Any], response: Response) -> bool:
    """Whether a push is legal but for its entries, and the answer refuses some of these."""
    if (case.method.upper(), case.path) != ("POST", "/v1/forecasts") or not isinstance(case.body, dict):
        return False
    schema = {"$ref": "#/components/schemas/PushBody", "components": DOCUMENT["components"]}
    entries = case.body.get("entries")
    wrong = len(response.json()["refused"])
    return isinstance(entries, list) and 0 < wrong <= len(entries) and bool(OAS31Validator(schema).is_valid({**case.body, "entries": []}))


def is_legal_without_nulls(case: Case[Any]) -> bool:
    """Whether a body fits its schema once the fields that are null are left out."""
    operation = DOCUMENT["paths"][case.path][case.method.lower()]
    if "requestBody" not in operation:
        return False
    schema = operation["requestBody"]["content"]["application/json"]["schema"]
    left = without_nulls(case.body)
    return left != case.body and bool(OAS31Validator({**schema, "components": DOCUMENT["components"]}).is_valid(left))


def without_nulls(value: Any) -> Any:
    """A value without the fields that are null, on every level."""
    if isinstance(value, dict):
        return {name: without_nulls(inner) for name, inner in value.items() if inner is not None}
    return [without_nulls(inner) for inner in value] if isinstance(value, list) else value


def place(fault: dict[str, str]) -> str:
    """The field or parameter that a fault is in."""
    return (fault.get("pointer") or fault.get("parameter", "")).rsplit("/", 1)[-1]
