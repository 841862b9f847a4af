"""What the five plain collections have in common: list, get, put and delete a document.

Responsible for declaring these four views of a noun once. Refuses to know any noun.
"""

from collections.abc import Collection as Several
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from marshmallow import Schema

from service.api.exchange.call import Call
from service.api.exchange.paging import page
from service.api.exchange.reach import check_thing, codes_of
from service.api.exchange.roles import READERS
from service.api.exchange.views import Described, Function, Noun
from service.api.schemas.pages import page_of
from service.api.schemas.queries import Acknowledging, Paging
from service.api.wire.answers import Answer
from service.errors import InUse
from service.kitchen.book.catalogue import Catalogue
from service.operations.collections import (
    Change,
    Stored,
    delete_document,
    get_document,
    list_documents,
    prepare_document,
    put_document,
)
from service.operations.loading import load_catalogue


@dataclass(frozen=True, slots=True, kw_only=True)
class Collection:
    """A collection: its key below the interface, its path, words for its things, schemas, an example of a body.

    ``shown`` is the schema of what readers get, where some get less than the whole entry.
    """

    key: str
    path: str
    one: str
    many: str
    body: type[Schema]
    entry: type[Schema]
    example: Mapping[str, Any]
    example_code: str
    acknowledges: bool = False
    readers: Several[str] = READERS
    shown: type[Schema] | None = None

    def declare(self, noun: Noun) -> None:
        """Declare the four views of the collection."""
        address = f"{self.path}/{{code}}"
        many, one_word = (words.replace(" ", "_") for words in (self.many, self.one))
        shown = {"code": self.example_code, **self.example}
        query = Acknowledging if self.acknowledges else None
        seen = self.shown or self.entry
        rows = Described(f"The {self.many}, ordered by code.", page_of(seen))
        one = Described(f"The {self.one}, with its ETag.", seen, shown)
        made = {201: Described(f"The {self.one} was created.", self.entry, shown), 200: Described("It was replaced.", self.entry, shown)}
        noun.view("GET", self.path, name=f"list_{many}", roles=self.readers, query=Paging, answers={200: rows})(self.lister())
        noun.view("GET", address, name=f"get_{one_word}", roles=self.readers, within=self.exists, answers={200: one})(self.getter())
        noun.view(
            "PUT",
            address,
            name=f"put_{one_word}",
            body=self.body,
            query=query,
            answers=made,
            conditional=True,
            echo=("code",),
            prepare=self.prepare,
            example=dict(self.example),
        )(self.putter())
        noun.view(
            "DELETE",
            address,
            name=f"delete_{one_word}",
            answers={204: Described("It is gone.")},
            conditional=True,
            within=self.exists,
            prepare=read_catalogue,
            conflicts=(InUse,),
        )(self.deleter())

    def exists(self, call: Call) -> None:
        """Raise NotFound where there is nothing under the path's code that the caller may see."""
        check_thing(call.identity, self.key, call.code)
        get_document(call.session, self.key, call.code)

    def prepare(self, call: Call) -> Change:
        """The thing to put."""
        return prepare_document(call.session, self.key, call.code, call.body, call.now, call.query.get("acknowledge", ()))

    def lister(self) -> Function:
        """The view that lists."""

        def list_all(call: Call) -> dict[str, Any]:
            rows = list_documents(call.session, self.key, call.query["cursor"], call.query["limit"], codes_of(call.identity, self.key))
            return page(call, [show(row) for row in rows], "code")

        return named(list_all, f"List the {self.many} in order of code.")

    def getter(self) -> Function:
        """The view that gets one."""

        def get_one(call: Call) -> Answer:
            stored = get_document(call.session, self.key, call.code)
            return Answer(body=show(stored), tag=stored.tag)

        return named(get_one, f"Get one {self.one}.")

    def putter(self) -> Function:
        """The view that creates or replaces one."""

        def put_one(call: Call) -> Answer:
            stored, created = put_document(call.session, call.prepared, call.expected)
            return put_answer(show(stored), stored.tag, call, created=created)

        return named(put_one, f"Create or replace one {self.one}.\n\nThe code may stand in the body if it is that of the path.")

    def deleter(self) -> Function:
        """The view that deletes one."""

        def delete_one(call: Call) -> Answer:
            delete_document(call.session, self.key, call.code, call.prepared, call.expected)
            return Answer(status=204)

        return named(delete_one, f"Delete one {self.one} that nothing uses.")


def read_catalogue(call: Call) -> Catalogue:
    """The catalogue, for a view that checks a small thing against it while it writes."""
    return load_catalogue(call.session)


def show(stored: Stored) -> dict[str, Any]:
    """A stored document as the interface gives it: its code first."""
    return {"code": stored.code, **stored.document}


def put_answer(body: Mapping[str, Any], tag: str, call: Call, *, created: bool) -> Answer:
    """The answer to a PUT: 201 with its Location where the thing is new, else 200."""
    return Answer(body=dict(body), status=201 if created else 200, tag=tag, location=call.address if created else None)


def named(function: Function, summary: str) -> Function:
    """The function with the summary that the published document shows."""
    function.__doc__ = summary
    return function
