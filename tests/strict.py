"""The published document as tests read it: answers with no field that is not in it.

Responsible for closing the shapes of answers again, which the document leaves open so that answers may grow: here a field that
nobody declared is a fault.
"""

from typing import Any

Json = dict[str, Any]


def strict(document: Json) -> Json:
    """A document of which no object takes a field that it does not name, unless it says that it does."""
    closed: Json = _closed(document)
    return closed


def _closed(value: Any) -> Any:
    if isinstance(value, list):
        return [_closed(inner) for inner in value]
    if not isinstance(value, dict):
        return value
    inner = {key: _closed(within) for key, within in value.items()}
    names = value.get("type") == "object" and isinstance(value.get("properties"), dict)
    return {"additionalProperties": False, **inner} if names else inner
