"""Lists of several sites: which sites, since when, how they are planned and shown, and which page; and the feed of their revisions."""

from typing import Any

from service.api.fields import Choice, Code, Document, Many, Object, Text
from service.api.schemas.computed import MANY
from service.api.schemas.queries import CODES, CodeWords, Cursor, DateRange, DateText, NumberText, Paging
from service.limits import PAGE, PAGE_DEFAULT, UNIT_SYSTEMS
from service.operations.feed import STATE, State


class StateCursor(Cursor):
    """The ``cursor`` of an answer of the feed."""

    strange = "this is no cursor of the feed: take that of an answer of GET /v1/revisions"

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(STATE, **kwargs)

    def read(self, value: Any) -> Any:
        """The state that it stands for."""
        return State.read(super().read(value))


class PrepListsQuery(Paging):
    """Which lists, how they are planned and shown, and a page of sites by code."""

    first = DateText(data_key="from", load_default=None)
    units = Choice(UNIT_SYSTEMS, load_default=None)
    sites = CodeWords(load_default=None)
    since = StateCursor(load_default=None)


class OrderListsQuery(DateRange):
    """The delivery window, which lists, and a page of sites by code."""

    limit = NumberText(PAGE, load_default=PAGE_DEFAULT)
    cursor = Cursor(CODES, load_default=None)
    sites = CodeWords(load_default=None)
    since = StateCursor(load_default=None)


class RevisionsQuery(Document):
    """The date of the lists, the sites (all in reach, unless some are named), and since when."""

    date = DateText(required=True)
    sites = CodeWords(load_default=None)
    since = StateCursor(load_default=None)


class SiteRevision(Document):
    """A site whose list has changed, and the ETag that its list has now."""

    site = Code(required=True)
    etag = Text(required=True)


class Revisions(Document):
    """The sites whose lists of the date have changed, and what to send as ``since`` the next time."""

    revisions = Many(Object(SiteRevision), most=MANY, required=True)
    cursor = Text(required=True)
