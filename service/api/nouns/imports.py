"""Imports: a whole catalogue in one body."""

from typing import Any

from service.api.document import examples
from service.api.exchange.call import Call
from service.api.exchange.views import REPEAT, Described, Noun
from service.api.schemas.imports import ImportBody, ImportResult
from service.api.schemas.queries import ImportQuery
from service.limits import IMPORT_BODY_BYTES
from service.operations.imports import Import, import_catalogue, prepare_import

imports = Noun("Imports", "A whole catalogue in one body, all or nothing.")


def prepare(call: Call) -> Import:
    """What the body would change."""
    return prepare_import(call.session, call.body, call.now, call.identity.token_id, call.query["acknowledge"])


@imports.view(
    "POST",
    "/v1/imports",
    name="import_catalogue",
    keyed=REPEAT,
    body=ImportBody,
    query=ImportQuery,
    prepare=prepare,
    alone=True,
    limit=IMPORT_BODY_BYTES,
    example=examples.IMPORT,
    answers={200: Described("What the import did.", ImportResult, {"created": 4, "replaced": 0, "unchanged": 0, "published": 1})},
)
def import_all(call: Call) -> dict[str, Any]:
    """Import stations, equipment, ingredients, recipes, menu items and sites, all or nothing."""
    prepared: Import = call.prepared
    return prepared.answer if call.query["dry_run"] else import_catalogue(call.session, prepared)
