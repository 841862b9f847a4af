"""Growth: shapes of answers allow fields that are not known yet and texts of any length, shapes of requests do not.

Responsible for telling in the published document which of the two a shape is. What is both answered and sent stands there
twice: open under its own name, and closed under the name of what is sent. Refuses to change any shape otherwise.
"""

from collections.abc import Callable, Iterator
from typing import Any

Json = dict[str, Any]
Components = dict[str, Json]

REFERENCE = "#/components/schemas/"
SENT = "Sent"
CLOSED = "additionalProperties"
# What a text may be when it is sent. An answer puts names together, and tells what an older release took in.
LIMITS = ("maxLength", "minLength", "pattern")


def let_answers_grow(document: Json) -> None:
    """Open every shape of the document that is answered, and keep closed what is sent."""
    components: Components = document["components"]["schemas"]
    bodies = [
        operation["requestBody"]
        for operations in document["paths"].values()
        for operation in operations.values()
        if "requestBody" in operation
    ]
    answers = [operation["responses"] for operations in document["paths"].values() for operation in operations.values()]
    answers.append(document["components"].get("responses", {}))
    sent, answered = reached(components, bodies), reached(components, answers)
    both = {
        name for name in sent & answered if any(closes(components[inner]) for inner in reached(components, [components[name]]) | {name})
    }

    def rename(reference: str) -> str:
        name = reference.removeprefix(REFERENCE)
        return f"{reference}{SENT}" if name in both else reference

    twins = {f"{name}{SENT}": renamed(components[name], rename) for name in both}
    for name in sent - answered:
        components[name] = renamed(components[name], rename)
    for operations in document["paths"].values():
        for operation in operations.values():
            if "requestBody" in operation:
                operation["requestBody"] = renamed(operation["requestBody"], rename)
    for name in answered - (sent - both):
        components[name] = opened(components[name])
    components.update(sorted(twins.items()))


def reached(components: Components, roots: list[Any]) -> set[str]:
    """The components that some parts of the document refer to, directly or through others."""
    found: set[str] = set()
    waiting = list(roots)
    while waiting:
        names = {name for name in references(waiting.pop()) if name not in found}
        found |= names
        waiting += [components[name] for name in names]
    return found


def references(value: Any) -> Iterator[str]:
    """The names of the components that a part of the document refers to itself."""
    if isinstance(value, dict):
        for key, inner in value.items():
            if key == "$ref" and inner.startswith(REFERENCE):
                yield inner.removeprefix(REFERENCE)
            else:
                yield from references(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from references(inner)


def closes(value: Any) -> bool:
    """Whether a part of the document refuses unknown fields anywhere within itself."""
    if isinstance(value, dict):
        return value.get(CLOSED) is False or any(closes(inner) for inner in value.values())
    return isinstance(value, list) and any(closes(inner) for inner in value)


def opened(value: Any) -> Any:
    """A part of the document that refuses no field, and no text for its length."""
    if isinstance(value, dict):
        dropped = {CLOSED} if value.get(CLOSED) is False else set(LIMITS) if "maxLength" in value else set()
        return {key: opened(inner) for key, inner in value.items() if key not in dropped}
    return [opened(inner) for inner in value] if isinstance(value, list) else value


def renamed(value: Any, rename: Callable[[str], str]) -> Any:
    """A part of the document with other names for the components that it refers to."""
    if isinstance(value, dict):
        return {key: renamed(inner, rename) for key, inner in value.items()}
    if isinstance(value, list):
        return [renamed(inner, rename) for inner in value]
    return rename(value) if isinstance(value, str) and value.startswith(REFERENCE) else value
