"""Which stored documents are completed by which schema, and which stay as they were stored."""

from typing import Any

import pytest
from sqlalchemy import Column

from service.api.schemas.stored import STORED, completion
from service.store import tables
from service.store.types import Document, Packed

DOCUMENTS: list[Column[Any]] = [
    column for table in tables.metadata.sorted_tables for column in table.columns if isinstance(column.type, Document | Packed)
]
AS_STORED = {
    "prints.works": "ids and kinds; what the kitchen held is no column of documents",
    "work_reports.fixed": "work as it was reported",
    "gathered_reports.works": "the same, by id",
    "closed_days.content": "what a date that is over left",
    "idempotency_keys.headers": "what was answered",
    "idempotency_keys.answer": "a text",
    "recipe_versions.warnings": "what the publisher was told",
    "recipe_versions.sites": "a list of codes",
    "sheet_links.stations": "a list of codes",
    "tokens.sites": "a list of codes",
}
"""Columns whose documents no schema of today completes, and what they hold instead."""


@pytest.mark.parametrize("column", DOCUMENTS, ids=str)
def test_a_stored_document_has_a_schema_that_completes_it_or_a_reason_to_stay_as_it_was(column: Column[Any]) -> None:
    assert isinstance(column.type, Document | Packed)
    assert (column.type.noun in STORED) != (str(column) in AS_STORED), "name its noun here and in STORED, or say why it stays"


def test_every_schema_completes_some_column() -> None:
    assert {column.type.noun for column in DOCUMENTS if isinstance(column.type, Document | Packed)} - {None} == set(STORED)


def test_absent_fields_take_their_defaults_at_every_depth_in_the_order_of_the_schema() -> None:
    complete = completion(STORED["ingredients"]())
    dice = {"station": "veg", "code": "dice", "name": "dice", "trim_yield": 1}
    whole = complete({"kind": "mass", "name": "Onion", "keeps": None, "forms": [dice], "packs": []})
    assert list(whole)[:3] == ["name", "kind", "piece"]
    assert (whole["contains"], whole["on_tap"]) == ([], False)
    assert whole["forms"][0] == dice | {
        "source": None,
        "cut": None,
        "whole": False,
        "by_products": [],
        "keeps": None,
        "makes_for": 1,
        "lead": None,
        "equivalents": [],
        "active": None,
    }
    assert list(whole["forms"][0])[:3] == ["code", "name", "station"]


def test_a_default_is_made_anew_for_each_document() -> None:
    complete = completion(STORED["recipes"]())
    one, other = complete({}), complete({})
    one["lines"].append({})
    one["batch"]["split"] = "full"
    assert (other["lines"], other["batch"]["split"]) == ([], "equal")


def test_what_was_taken_in_under_wider_limits_stays_readable() -> None:
    assert completion(STORED["overrides"]())({"count": -5}) == {"count": -5, "add": 0, "note": ""}
