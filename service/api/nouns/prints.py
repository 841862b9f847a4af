"""Prints of a date's list, what changed since, and progress on its tasks."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from service.api import sheets
from service.api.exchange.call import Call
from service.api.exchange.paging import page
from service.api.exchange.roles import KITCHENS, READERS
from service.api.exchange.views import NEEDED, REPEAT, WHOLE, Described, Noun
from service.api.schemas.pages import page_of
from service.api.schemas.prep_lists import PrepList
from service.api.schemas.prints import ChangesQuery, ListChanges, PrintHead, PrintQuery, ReportBody, Reported
from service.api.schemas.queries import NumberPaging, SheetQuery
from service.api.wire.answers import Answer
from service.errors import NotFound
from service.operations import lists, prints, progress
from service.operations.collections import name_of
from service.operations.matching import require_match
from service.store.documents import tag

printing = Noun("Prints and progress", "Lists as a kitchen printed them, what changed since, and work as it was reported.")
REPORT = {"state": "done", "made": {"amount": 13.5, "unit": "kg"}, "note": "One sack was soft."}


def request_of(call: Call, first: date | None, units: str | None = None) -> lists.ListRequest:
    """The list that a path and a query name."""
    return lists.ListRequest(
        site=call.site,
        on=call.path["date"],
        first=first,
        station=None,
        units=units,
        pinned=call.config.pinned is not None,
    )


def print_exists(call: Call) -> None:
    """Raise NotFound where the date has no print of that number."""
    prints.get_print(call.session, call.site, call.path["date"], call.path["number"])


def prepare_print(call: Call) -> prints.Prepared:
    """The list to print."""
    return prints.prepare(call.session, request_of(call, call.query["first"], call.query["units"]), call.now)


def keep_print(call: Call) -> None:
    """Keep the list as it was prepared."""
    prints.keep(call.session, call.prepared, call.now, call.identity.token_id)


def print_made(call: Call, address: str) -> Any:
    """The print at an address that was told when it was made."""
    return prints.get_print(call.session, call.site, call.path["date"], int(address.rpartition("/")[2]))


def prepare_report(call: Call) -> progress.Prepared:
    """The report to record, in place of the one that the caller has seen, if it names one; raises Stale."""
    prepared = progress.prepare(call.session, request_of(call, None), call.path["task"], call.body, call.now, call.planning)
    if call.expected is not None:
        require_match(current_tag(call), call.expected)
    return prepared


def current_tag(call: Call) -> str | None:
    """What the last report of a task is called; None where nothing was reported."""
    try:
        return told(progress.read_report(call.session, call.site, call.path["task"])).tag
    except NotFound:
        return None


def told(report: dict[str, Any]) -> Answer:
    """A report with its ETag."""
    return Answer(body=report, tag=tag(report))


@printing.view(
    "POST",
    "/v1/sites/{site}/prep-lists/{date}/prints",
    keyed=REPEAT,
    made=print_made,
    roles=KITCHENS,
    query=PrintQuery,
    prepare=prepare_print,
    keep=keep_print,
    local=True,
    plans=WHOLE,
    answers={201: Described("The list as printed.", PrepList)},
)
def print_list(call: Call) -> Answer:
    """Freeze the list of a date as the kitchen prints it."""
    prepared: prints.Prepared = call.prepared
    return Answer(body=prepared.document, status=201, location=f"{call.address}/{prepared.number}")


@printing.view(
    "GET",
    "/v1/sites/{site}/prep-lists/{date}/prints",
    roles=READERS,
    query=NumberPaging,
    answers={200: Described("The prints of the date, by number.", page_of(PrintHead))},
)
def list_prints(call: Call) -> dict[str, Any]:
    """List the prints of a date."""
    after, limit = call.query["cursor"] or 0, call.query["limit"]
    rows = prints.print_page(call.session, call.site, call.path["date"], after, limit)
    return page(call, rows, "print")


@printing.view(
    "GET",
    "/v1/sites/{site}/prep-lists/{date}/prints/{number}",
    roles=READERS,
    query=SheetQuery,
    within=print_exists,
    produces=sheets.MEDIA_TYPES,
    answers={200: Described("The list as printed, byte for byte the same whatever is published since.", PrepList)},
)
def get_print(call: Call) -> Answer:
    """Get a print as it was made: the document, the sheet to print, or the table, as of lists."""
    document = prints.get_print(call.session, call.site, call.path["date"], call.path["number"])
    file = f"{call.site}-{call.path['date']}-print-{call.path['number']}"
    return Answer(body=document, faces=sheets.faces(lambda: name_of(call.session, call.site), file, cards=call.query["cards"]))


@printing.view(
    "GET",
    "/v1/sites/{site}/prep-lists/{date}/changes",
    name="get_list_changes",
    roles=READERS,
    query=ChangesQuery,
    plans=WHOLE,
    answers={200: Described("What a cook who holds the print must know.", ListChanges)},
)
def get_changes(call: Call) -> Mapping[str, Any]:
    """Tell what the list of a date asks for otherwise than one of its prints."""
    return prints.changes(call.session, request_of(call, call.query["first"]), call.query["since"], call.now)


@printing.view(
    "PUT",
    "/v1/sites/{site}/prep-lists/{date}/tasks/{task}/progress",
    name="report_progress",
    roles=KITCHENS,
    body=ReportBody,
    matching=True,
    prepare=prepare_report,
    local=True,
    plans=NEEDED,
    example=REPORT,
    answers={200: Described("The report as recorded, with its ETag.", Reported)},
)
def put_progress(call: Call) -> Answer:
    """Report work on a task or pull of a list; what was reported stays as it is in every list from then on.

    With If-Match, only in place of the report of that ETag (412 where another was made since); without, whatever was reported.
    """
    return told(progress.keep(call.session, call.prepared))


@printing.view(
    "GET",
    "/v1/sites/{site}/prep-lists/{date}/tasks/{task}/progress",
    roles=READERS,
    answers={200: Described("What was last reported, with its ETag.", Reported)},
)
def get_progress(call: Call) -> Answer:
    """Get what was last reported of a task or pull."""
    return told(progress.read_report(call.session, call.site, call.path["task"]))
