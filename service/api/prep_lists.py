"""Prep lists: what the stations of one site must do on one date."""

from datetime import date

from service.api.answers import Answer
from service.api.auth import READERS
from service.api.call import Call
from service.api.schemas.prep_lists import PrepList
from service.api.schemas.queries import PrepListQuery
from service.api.views import Described, Noun
from service.operations import lists

prep_lists = Noun("Prep lists", "What the stations of a site must do on a date.")


@prep_lists.view(
    "GET",
    "/v1/sites/{site}/prep-lists/{date}",
    roles=READERS,
    query=PrepListQuery,
    answers={200: Described("The list, computed from forecasts, counts and the catalogue in force.", PrepList)},
)
def get_prep_list(call: Call) -> Answer:
    """Get the prep list of a site for a date.

    The ETag comes from the inputs, so that a list that has not changed costs no planning.
    """
    query, pinned = call.query, call.config.pinned is not None
    first = date.fromisoformat(query["first"]) if query["first"] else None
    request = lists.ListRequest(call.site, call.path["date"], first, query["station"], query["units"], query["trace"], pinned)
    return Answer(lambda: lists.prep_list(call.session, request, call.now), tag=lists.prep_list_tag(call.session, request, call.now))
