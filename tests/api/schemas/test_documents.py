"""The types of the documents that the kitchen writes are those of the published schemas, key by key, at every depth."""

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from types import NoneType, UnionType
from typing import Any, Literal, TypedDict, Union, get_args, get_origin, get_type_hints, is_typeddict

import pytest
from marshmallow import Schema, fields

from service.api.fields import Flag, Kinds, Many, Number, Object, WholeNumber
from service.api.schemas import orders, prep_lists, prints, scalings, schedules
from service.kitchen.lists.documents import MakeTask, PrepList, PrepTask, PullEntry, UseTask
from service.kitchen.lists.scaling import ScaledRecipe
from service.kitchen.lists.schedule_documents import Schedule
from service.kitchen.lists.work_for import WorkFor
from service.operations.orders import OrderList
from service.operations.prints import ListChanges

ROOTS: list[tuple[type[Schema], type]] = [
    (prep_lists.PrepList, PrepList),
    (scalings.ScaledRecipe, ScaledRecipe),
    (orders.OrderList, OrderList),
    (prep_lists.WorkFor, WorkFor),
    (schedules.Schedule, Schedule),
    (prints.ListChanges, ListChanges),
]
# What is written as it stands in another document, whose own types are compared there.
OPAQUE = Mapping


def members(hint: Any) -> Iterator[Any]:
    """The types that a value may have: of a list those of its entries."""
    if get_origin(hint) in (UnionType, Union):
        for each in get_args(hint):
            yield from members(each)
    elif get_origin(hint) is list:
        yield from members(get_args(hint)[0])
    elif get_origin(hint) is Literal:
        yield from {type(each) for each in get_args(hint)}
    else:
        yield get_origin(hint) or hint


def known(field: fields.Field[Any]) -> set[Any]:
    """The types that a published field may have."""
    if isinstance(field, WholeNumber):
        return {int}
    if isinstance(field, Number):
        return {int, float, Decimal}
    return {bool} if isinstance(field, Flag) else {str}


def literals(document: type, key: str) -> tuple[Any, ...]:
    """The words that a key of a document may have."""
    return get_args(get_type_hints(document)[key])


def differences(schema: Schema, documents: Sequence[type], place: str) -> Iterator[str]:
    """Where documents, each one kind of what a schema publishes, are not as it says."""
    published = {field.data_key or name: field for name, field in schema.fields.items()}
    hints = [get_type_hints(document) for document in documents]
    for key in sorted(published.keys() ^ set().union(*hints)):
        yield f"{place}.{key} stands on one side alone"
    for key, field in published.items():
        found = {member for each in hints if key in each for member in members(each[key])}
        if field.required and any(key not in document.__required_keys__ for document in documents):  # type: ignore[attr-defined]
            yield f"{place}.{key} may be left out"
        if NoneType in found and not field.allow_none:
            yield f"{place}.{key} may be None"
        held = field.inner if isinstance(field, Many) else field
        within = sorted((each for each in found if is_typeddict(each)), key=lambda each: each.__name__)
        if isinstance(held, Kinds):
            for word, kind in held.kinds.items():
                yield from differences(kind(), [each for each in within if word in literals(each, held.by)], f"{place}.{key}.{word}")
        elif isinstance(held, Object) and within:
            yield from differences(held.schema, within, f"{place}.{key}")
        elif not found - {NoneType} <= (known(held) if not isinstance(held, Object) else {OPAQUE}):
            yield f"{place}.{key} is {found}"


@pytest.mark.parametrize(("schema", "document"), ROOTS)
def test_what_the_kitchen_writes_has_the_keys_and_kinds_of_the_published_schema(schema: type[Schema], document: type) -> None:
    assert list(differences(schema(), [document], document.__name__)) == []


class AtStation(TypedDict):
    """What joins a task that stands apart from its station."""

    station: str


def test_an_entry_of_what_changed_is_a_task_with_its_station_or_a_pull() -> None:
    apart = differences(prints.ListedEntry(), [PrepTask, MakeTask, UseTask, AtStation, PullEntry], "entry")
    assert [each for each in apart if "left out" not in each] == []
