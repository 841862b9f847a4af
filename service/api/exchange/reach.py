"""Reach: what of an answer a caller is shown, by role, sites and source.

Responsible for the one place where answers are shaped by who asks: money is left out for those who
cook, what belongs to other sites or other sources is left out for those who are limited to some. It
reads the schemas that views declare, so that a new answer with money in it needs no rule. Refuses to
know which roles may ask at all: views declare that.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any

from marshmallow import Schema, fields

from service.api.exchange.auth import check_site
from service.api.exchange.roles import DIRECTOR
from service.api.exchange.views import View
from service.api.fields import Kinds, Many, Object
from service.api.schemas.ingredients import Pack
from service.api.schemas.measures import Money
from service.api.schemas.menu_items import ShownMenuItem, TillCode
from service.api.schemas.sites import Site
from service.api.schemas.versions import RecipeRow, Version, VersionHead
from service.api.wire.answers import Answer
from service.api.wire.conditions import seed_of
from service.operations.tokens import Identity

UNPRICED = ("kitchen", "viewer")
"""The roles that are shown no price, value or cost."""

Keep = Callable[[Identity, Mapping[str, Any]], bool]


def sees_site(who: Identity, site: str | None) -> bool:
    """Whether something of a site (None: of all) is the caller's to see."""
    return site is None or who.sites is None or site in who.sites


def publishes(who: Identity) -> bool:
    """Whether the caller sees drafts, and versions that are not in force."""
    return who.role in DIRECTOR


def check_thing(who: Identity, noun: str, code: str) -> None:
    """Raise NotFound for a thing of a collection that the caller may not see, as if it did not exist."""
    if noun == "sites":
        check_site(who, code)


def codes_of(who: Identity, noun: str) -> tuple[str, ...] | None:
    """The codes of a collection that the caller may see; None is all of them."""
    return who.sites if noun == "sites" else None


def all_but(schema: type[Schema], *kept: str) -> tuple[str, ...]:
    """The fields of a schema but some: what may join it later is not shown either."""
    return tuple(key for name, each in schema().fields.items() if (key := each.data_key or name) not in kept)


LEFT_OUT: dict[type[Schema], dict[str, tuple[str, ...]]] = {
    RecipeRow: dict.fromkeys(UNPRICED, ("draft",)),
    # What publishing warned of names other sites, and is the publisher's to mend; what the publisher noted may tell of prices.
    Version: dict.fromkeys(UNPRICED, ("warnings", "note")),
    VersionHead: dict.fromkeys(UNPRICED, ("warnings", "note")),
    # A till needs the periods that it pushes for, and nothing else of a kitchen.
    Site: {"integration": all_but(Site, "code", "name", "time_zone", "day_starts", "periods")},
    ShownMenuItem: {"integration": all_but(ShownMenuItem, "code", "name", "codes")},
}
"""The fields of a schema that a role is not shown, besides money."""

ROWS: dict[type[Schema], Keep] = {
    Pack: lambda who, pack: sees_site(who, pack["site"]),
    TillCode: lambda who, code: who.source is None or code["source"] == who.source,
}
"""Which rows of a list a caller is shown."""

SITE_LISTS: dict[type[Schema], str] = {Version: "sites", VersionHead: "sites"}
"""The field of a schema that lists sites, of which a caller is shown those in reach."""


@dataclass(frozen=True, slots=True)
class Omission:
    """What is left out of a document of one schema for one role; an empty one leaves everything."""

    left_out: frozenset[str] = frozenset()
    inner: Mapping[str, "Omission"] = field(default_factory=dict)
    keep: Keep | None = None
    site_list: str | None = None

    def __bool__(self) -> bool:
        """Whether anything may be left out."""
        return bool(self.left_out or self.inner or self.keep or self.site_list)

    def apply(self, who: Identity, document: Mapping[str, Any]) -> dict[str, Any]:
        """The document as the caller is shown it."""
        shown = {name: self._inner(who, name, value) for name, value in document.items() if name not in self.left_out}
        if self.site_list is not None and shown.get(self.site_list) is not None:
            shown[self.site_list] = [site for site in shown[self.site_list] if sees_site(who, site)]
        return shown

    def _inner(self, who: Identity, name: str, value: Any) -> Any:
        omission = self.inner.get(name)
        if omission is None or value is None:
            return value
        if isinstance(value, Mapping):
            return omission.apply(who, value)
        return [omission.apply(who, row) for row in value if omission.keep is None or omission.keep(who, row)]


@cache
def omission_of(schema: type[Schema], role: str) -> Omission:
    """What a role is not shown of the documents of a schema."""
    if role in DIRECTOR:
        return Omission()
    left_out = set(LEFT_OUT.get(schema, {}).get(role, ()))
    inner: dict[str, Omission] = {}
    for name, each in schema().fields.items():
        key = each.data_key or name
        if role in UNPRICED and is_money(each):
            left_out.add(key)
        elif omission := joined([omission_of(below, role) for below in schemas_below(each)]):
            inner[key] = omission
    return Omission(frozenset(left_out), inner, ROWS.get(schema), SITE_LISTS.get(schema))


def is_money(each: fields.Field[Any]) -> bool:
    """Whether a field holds money, or is marked as telling of it."""
    return any(issubclass(schema, Money) for schema in schemas_below(each)) or bool(each.metadata.get("money"))


def schemas_below(each: fields.Field[Any]) -> list[type[Schema]]:
    """The schema of the document, or of the rows, that a field holds; several where these are of several kinds."""
    held = each.inner if isinstance(each, Many) else each
    if isinstance(held, Kinds):
        return list(held.kinds.values())
    return [type(held.schema)] if isinstance(held, Object) else []


def joined(omissions: list[Omission]) -> Omission:
    """What is left out of documents of several kinds: what any of them leaves out."""
    if len(omissions) == 1:
        return omissions[0]
    left_out = frozenset[str]().union(*(omission.left_out for omission in omissions))
    return Omission(left_out, {key: inner for omission in omissions for key, inner in omission.inner.items()})


def limit(view: View, who: Identity, answer: Answer) -> Answer:
    """The answer as the caller is shown it.

    Where the role is shown less, the tag is another one, by sites and source too: it is another
    representation, and is no state that a director could replace.
    """
    described = view.answers.get(answer.status)
    omission = omission_of(described.schema, who.role) if described and described.schema else Omission()
    if not omission or answer.body is None:
        return answer
    body = answer.body
    tag = None if answer.tag is None else seed_of(repr((answer.tag, who.role, who.sites, who.source)).encode())
    return replace(answer, body=lambda: omission.apply(who, body() if callable(body) else body), tag=tag)
