"""Pages of lists: the rows and the path of the next page."""

from functools import cache

from marshmallow import Schema

from service.api.fields import Document, Many, Object, Text
from service.limits import PAGE


@cache
def page_of(entry: type[Schema]) -> type[Schema]:
    """The schema of a page whose rows have this schema."""
    fields = {"items": Many(Object(entry), most=int(PAGE.most), required=True), "next": Text(4_000, allow_none=True, required=True)}
    return type(
        f"PageOf{entry.__name__}", (Document,), {**fields, "__doc__": f"A page: {entry.__name__} rows, and the path of the next page."}
    )


class Page(Document):
    """A page of text."""
