"""Links of the published document: which requests an answer makes possible, and with what.

Responsible for leading from what was created or replaced to reading and deleting it. Refuses to know
any noun but by its path.
"""

import re
from typing import Any

from service.api.exchange.paths import names_in

Paths = dict[str, dict[str, Any]]

# Where an answer holds the last part of the path of what was created.
KEYS = {"versions": "version", "prints": "print", "tokens": "id", "sheet-links": "id", "counts": "id"}
VERBS = {"get": "Get what was sent.", "delete": "Delete what was sent, in the state that was answered."}


def add(paths: Paths) -> None:
    """Add its links to every answer that tells of a thing with a path of its own."""
    for path, operations in paths.items():
        for method, status in (("put", "200"), ("put", "201"), ("post", "201")):
            answer = operations.get(method, {}).get("responses", {}).get(status)
            links = answer and (to_itself(paths, path) if method == "put" else to_child(paths, path))
            if links:
                answer["links"] = links


def to_itself(paths: Paths, path: str) -> dict[str, Any]:
    """Links to the other methods of a path.

    >>> to_itself({"/a/{code}": {"get": {"operationId": "get_a"}}}, "/a/{code}")["get"]["parameters"]
    {'code': '$request.path.code'}
    """
    return {verb: link(paths[path][verb], verb, of_request(path)) for verb in VERBS if verb in paths[path]}


def to_child(paths: Paths, path: str) -> dict[str, Any]:
    """Links to the methods of what stands under the key that the answer holds."""
    field = KEYS.get(path.rsplit("/", 1)[-1])
    children = [child for child in paths if re.fullmatch(re.escape(path) + r"/\{\w+\}", child)]
    if field is None or not children:
        return {}
    given = of_request(path) | {names_in(children[0])[-1]: f"$response.body#/{field}"}
    return {verb: link(paths[children[0]][verb], verb, given) for verb in VERBS if verb in paths[children[0]]}


def link(operation: dict[str, Any], verb: str, parameters: dict[str, str]) -> dict[str, Any]:
    """One link; deleting asks for the state that the answer told."""
    conditional = any(parameter["name"] == "If-Match" for parameter in operation.get("parameters", ()))
    asked = {"header.If-Match": "$response.header.ETag"} if conditional else {}
    return {"operationId": operation["operationId"], "parameters": parameters | asked, "description": VERBS[verb]}


def of_request(path: str) -> dict[str, str]:
    """The parameters of a path as the request had them."""
    return {name: f"$request.path.{name}" for name in names_in(path)}
