"""What a change of the published document breaks for callers who were written against the one before.

Responsible for one sentence about each break: a route, answer or field that is gone, something newly asked
for, and shapes that take less than before or answer more. Refuses to judge words, examples and order.
"""

from collections.abc import Iterator
from typing import Any

Json = dict[str, Any]
Pair = tuple[str, str]

# Bounds by which a request takes less: of the new one and the old one, the larger or the smaller is narrower.
LOWER = ("minimum", "exclusiveMinimum", "minLength", "minItems", "minProperties")
UPPER = ("maximum", "exclusiveMaximum", "maxLength", "maxItems", "maxProperties")
COMBINED = ("anyOf", "oneOf")


def breaks(before: Json, after: Json) -> list[str]:
    """A sentence about each break, in the order of the older document."""
    return list(dict.fromkeys(_Comparison(before, after).routes()))


def allowed(before: str, after: str) -> bool:
    """Whether a version says that something may break: its first number grew, or its second while the first is 0 (semver.org, 4, 8).

    >>> allowed("0.1.0", "0.2.0"), allowed("1.1.0", "1.2.0"), allowed("1.2.0", "2.0.0"), allowed("0.1.0", "0.1.1")
    (True, False, True, False)
    """
    old, new = ([int(part) for part in version.split(".")] for version in (before, after))
    return new[:1] > old[:1] or (new[0] == old[0] == 0 and new[1] > old[1])


class _Comparison:
    """Two documents, and the pairs of components that were compared already (components may hold themselves)."""

    def __init__(self, before: Json, after: Json) -> None:
        self.before = before
        self.after = after
        self.compared: set[tuple[Pair, bool]] = set()

    def routes(self) -> Iterator[str]:
        for path, operations in self.before["paths"].items():
            for method, old in operations.items():
                new = self.after["paths"].get(path, {}).get(method)
                name = f"{method.upper()} {path}"
                if new is None:
                    yield f"{name} is gone"
                else:
                    yield from self.operation(name, old, new)

    def operation(self, name: str, old: Json, new: Json) -> Iterator[str]:
        gone = set(old.get("x-roles", ())) - set(new.get("x-roles", ()))
        if gone and "x-roles" in new:
            yield f"{name} is no longer for {', '.join(sorted(gone))}"
        if old.get("security") == [] and new.get("security") != []:
            yield f"{name} asks for a token now"
        yield from self.parameters(name, old, new)
        yield from self.body(name, old, new)
        yield from self.answers(name, old, new)

    def parameters(self, name: str, old: Json, new: Json) -> Iterator[str]:
        known = {(parameter["in"], parameter["name"]): parameter for parameter in old.get("parameters", ())}
        found = {(parameter["in"], parameter["name"]): parameter for parameter in new.get("parameters", ())}
        for key, parameter in known.items():
            place = f"{name}: the {key[0]} parameter {key[1]}"
            if key not in found:
                yield f"{place} is gone"
            else:
                if found[key].get("required") and not parameter.get("required"):
                    yield f"{place} is required now"
                yield from self.shape(place, parameter["schema"], found[key]["schema"], sent=True)
        for key, parameter in found.items():
            if key not in known and parameter.get("required"):
                yield f"{name}: the {key[0]} parameter {key[1]} is new and required"

    def body(self, name: str, old: Json, new: Json) -> Iterator[str]:
        if "requestBody" not in new:
            if "requestBody" in old:
                yield f"{name} takes no body any more"
        elif "requestBody" not in old:
            if new["requestBody"].get("required"):
                yield f"{name} asks for a body now"
        else:
            yield from self.contents(f"{name}: the body", old["requestBody"], new["requestBody"], sent=True)

    def answers(self, name: str, old: Json, new: Json) -> Iterator[str]:
        for status, answer in old["responses"].items():
            if status in new["responses"]:
                place = f"{name}: answer {status}"
                found = self.resolved(self.after, new["responses"][status])
                known = self.resolved(self.before, answer)
                yield from self.contents(place, known, found, sent=False)
                yield from (
                    f"{place} has no header {header} any more"
                    for header in known.get("headers", {})
                    if header not in found.get("headers", {})
                )
            elif status < "400":
                yield f"{name} no longer answers {status}"

    def contents(self, place: str, old: Json, new: Json, *, sent: bool) -> Iterator[str]:
        for media_type, content in old.get("content", {}).items():
            if media_type in new.get("content", {}):
                yield from self.shape(place, content["schema"], new["content"][media_type]["schema"], sent=sent)
            else:
                yield f"{place} is no longer {media_type}"

    def shape(self, place: str, old: Json, new: Json, *, sent: bool) -> Iterator[str]:
        """The breaks between two schemas: of what callers send, where it takes less; of what they get, where it may be more."""
        pair = (old.get("$ref", ""), new.get("$ref", ""))
        if all(pair):
            if (pair, sent) in self.compared:
                return
            self.compared.add((pair, sent))
        old, new = self.resolved(self.before, old), self.resolved(self.after, new)
        yield from self.kinds(place, old, new, sent=sent)
        yield from self.words(place, old, new, sent=sent)
        if sent:
            yield from self.bounds(place, old, new)
        yield from self.fields(place, old, new, sent=sent)
        if "items" in old and "items" in new:
            yield from self.shape(f"{place}, an entry", old["items"], new["items"], sent=sent)
        if isinstance(old.get("additionalProperties"), dict) and isinstance(new.get("additionalProperties"), dict):
            yield from self.shape(f"{place}, a value", old["additionalProperties"], new["additionalProperties"], sent=sent)

    def kinds(self, place: str, old: Json, new: Json, *, sent: bool) -> Iterator[str]:
        known, found = self.types(self.before, old), self.types(self.after, new)
        if sent and known - found and found:
            yield f"{place} may no longer be {', '.join(sorted(known - found))}"
        if sent and found and not known:
            yield f"{place} must be {', '.join(sorted(found))} now"
        if not sent and known and (found - known or not found):
            yield f"{place} may now be {', '.join(sorted(found - known)) or 'anything'}"
        yield from self.alternatives(place, old, new, sent=sent)

    def alternatives(self, place: str, old: Json, new: Json, *, sent: bool) -> Iterator[str]:
        """Each of the older alternatives is compared with the new one of its name or type, else of its position."""
        for word in COMBINED:
            if word in old and word in new:
                pairs = zip(old[word], new[word], strict=False)
                if sent and len(new[word]) < len(old[word]):
                    yield f"{place} has fewer alternatives"
                if not sent and len(new[word]) > len(old[word]):
                    yield f"{place} has more alternatives"
                for known, found in pairs:
                    yield from self.shape(place, known, found, sent=sent)

    def types(self, document: Json, schema: Json) -> set[str]:
        """The JSON types that a schema names, through its alternatives; integers are numbers of their own."""
        resolved = self.resolved(document, schema)
        if "type" in resolved:
            return {resolved["type"]} if isinstance(resolved["type"], str) else set(resolved["type"])
        found: set[str] = set()
        for word in COMBINED:
            for inner in resolved.get(word, ()):
                found |= self.types(document, inner)
        return found

    def words(self, place: str, old: Json, new: Json, *, sent: bool) -> Iterator[str]:
        known, found = old.get("enum"), new.get("enum")
        if sent and found is not None and (known is None or set(known) - set(found)):
            gone = "others" if known is None else ", ".join(str(word) for word in known if word not in found)
            yield f"{place} no longer takes {gone}"
        if not sent and known is not None and (found is None or set(found) - set(known)):
            more = "others" if found is None else ", ".join(str(word) for word in found if word not in known)
            yield f"{place} may now say {more}"

    def bounds(self, place: str, old: Json, new: Json) -> Iterator[str]:
        for word in LOWER + UPPER:
            if word in new and (word not in old or (new[word] > old[word] if word in LOWER else new[word] < old[word])):
                yield f"{place}: {word} is {new[word]} now"
        for word in ("pattern", "format"):
            if word in new and new[word] != old.get(word):
                yield f"{place} has another {word}"
        if new.get("uniqueItems") and not old.get("uniqueItems"):
            yield f"{place} may not repeat entries any more"
        if new.get("additionalProperties") is False and old.get("additionalProperties") is not False and "properties" in old:
            yield f"{place} refuses other fields now"

    def fields(self, place: str, old: Json, new: Json, *, sent: bool) -> Iterator[str]:
        known, found = old.get("properties", {}), new.get("properties", {})
        for field, inner in known.items():
            if field not in found:
                yield f"{place}: the field {field} is gone"
            else:
                yield from self.shape(f"{place}: {field}", inner, found[field], sent=sent)
        asked, before = set(new.get("required", ())), set(old.get("required", ()))
        if sent:
            yield from (f"{place}: the field {field} is required now" for field in sorted(asked - before))
        else:
            yield from (f"{place}: the field {field} may be missing now" for field in sorted(before - asked) if field in found)

    @staticmethod
    def resolved(document: Json, schema: Json) -> Json:
        """What a reference within a document refers to."""
        while "$ref" in schema:
            found: Any = document
            for step in schema["$ref"].removeprefix("#/").split("/"):
                found = found[step]
            schema = found
        return schema
