"""Prep lists: what the stations of one site must do on one date."""

from datetime import timedelta

from service.api import sheets
from service.api.exchange.call import Call
from service.api.exchange.roles import READERS
from service.api.exchange.views import BODY, Described, Noun
from service.api.schemas.prep_lists import PrepList, WorkFor
from service.api.schemas.queries import PrepListQuery, WorkForQuery
from service.api.wire.answers import Answer
from service.operations import lists
from service.operations.collections import name_of
from service.operations.work_for import work_for, work_for_tag

prep_lists = Noun("Prep lists", "What the stations of a site must do on a date.")


@prep_lists.view(
    "GET",
    "/v1/sites/{site}/prep-lists/{date}",
    roles=READERS,
    query=PrepListQuery,
    produces=sheets.MEDIA_TYPES,
    plans=BODY,
    stands=True,
    answers={200: Described("The list, computed from forecasts, counts and the catalogue in force.", PrepList)},
)
def get_prep_list(call: Call) -> Answer:
    """Get the prep list of a site for a date.

    By Accept it is the document (application/json), a sheet to print (text/html), or a table for spreadsheets (text/csv).
    The sheet begins with what is expected, the warnings and a line a station; then come the pulls by store and time, each station's
    tasks in order of start with their cards of what to weigh and how, and what is left over. cards=false leaves the cards out. The sheet
    of one station shows the pulls that it takes.

    The table has a header row, then a row for each line of each task; the columns that tell of the task are the same in all of its rows,
    and line counts them from 1, so that the rows of line 1 are the tasks. line_kind tells what a line is: weigh (a line of one of the
    batch_count batches of a size; batch numbers the sizes), take (what the stage takes in all), give (what comes of it besides) or, where
    the site states shifts or equipment, load (what goes through the steps together: when, who and what has it). Pulls
    are rows of kind pull, and what is left over at the end of the day rows of kind left_over, and
    what is past its use rows of kind discard with the reason as their note. Each quantity has three columns: the
    exact amount, its unit, and the text that a cook reads. Several texts in one cell are joined by a semicolon. A cell that a
    spreadsheet could take for a formula begins with an apostrophe.

    The ETag comes from the inputs, so that a list that has not changed costs no planning.
    """
    for relation, days in (("prev", -1), ("next", 1)):
        call.links[relation] = f"{call.address.rsplit('/', 1)[0]}/{call.path['date'] + timedelta(days)}"
    query, pinned = call.query, call.config.pinned is not None
    request = lists.ListRequest(
        site=call.site,
        on=call.path["date"],
        first=query["first"],
        station=query["station"],
        units=query["units"],
        trace=query["trace"],
        pinned=pinned,
    )
    return Answer(
        body=lambda: lists.prep_list(call.session, request, call.now),
        tag=lists.prep_list_tag(call.session, request, call.now),
        faces=sheets.faces(
            lambda: name_of(call.session, call.site),
            f"{call.site}-{call.path['date']}",
            cards=query["cards"],
            stations=query["station"] and (query["station"],),
        ),
    )


@prep_lists.view(
    "GET",
    "/v1/sites/{site}/work-for/{date}",
    roles=READERS,
    query=WorkForQuery,
    plans=BODY,
    stands=True,
    answers={200: Described("The work, by business date.", WorkFor)},
)
def get_work_for(call: Call) -> Answer:
    """Get everything that the guests of a date hang on, day by day: all tasks and pulls of the lists up to it, or those for one event."""
    query = call.query
    request = lists.ListRequest(
        site=call.site, on=call.path["date"], first=query["first"], units=query["units"], pinned=call.config.pinned is not None
    )
    return Answer(
        body=lambda: work_for(call.session, request, query["event"], call.now),
        tag=work_for_tag(call.session, request, query["event"], call.now),
    )
