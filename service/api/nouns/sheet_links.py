"""Sheet links: making, listing and revoking addresses that open a site's sheet, and opening one."""

import hashlib
from typing import Any

from flask import current_app, request

from service.api.exchange.auth import admit_guest
from service.api.exchange.call import Call
from service.api.exchange.interior import Interior
from service.api.exchange.paging import page, room
from service.api.exchange.roles import KITCHENS, OPEN
from service.api.exchange.views import BODY, ONCE, Described, Noun
from service.api.schemas.pages import Page, page_of
from service.api.schemas.queries import IdPaging
from service.api.schemas.sheet_links import CreatedSheetLink, OpenedSheet, SheetLink, SheetLinkBody
from service.api.sheets import HTML, Ways, faces
from service.api.wire.answers import Answer
from service.errors import NotFound
from service.operations import lists, prints
from service.operations.collections import name_of
from service.operations.sheet_links import create_link, leads_to, list_links, open_link, revoke_link

sheet_links = Noun("Sheet links", "Addresses that open a site's sheet in any browser, without a token.")
PRIVATE = {"Referrer-Policy": "no-referrer", "X-Robots-Tag": "noindex, nofollow"}
MOST_PRINTS = 20


@sheet_links.view(
    "GET",
    "/v1/sites/{site}/sheet-links",
    name="list_sheet_links",
    roles=KITCHENS,
    query=IdPaging,
    answers={200: Described("The site's links, without their addresses, by id.", page_of(SheetLink))},
)
def list_all(call: Call) -> dict[str, Any]:
    """List the sheet links of a site in order of id; revoked and expired ones too."""
    return page(call, list_links(call.session, call.site, call.query["cursor"], room(call)), "id")


@sheet_links.view(
    "POST",
    "/v1/sites/{site}/sheet-links",
    name="create_sheet_link",
    roles=KITCHENS,
    keyed=ONCE,
    body=SheetLinkBody,
    example={"stations": None, "days": 30},
    answers={201: Described("The link, with its address, which is shown this once.", CreatedSheetLink)},
)
def create(call: Call) -> Answer:
    """Make an address that opens the site's sheet of today in any browser, without a header.

    It shows the sheets of some stations or of all (null), leads to those of other dates and to prints, and changes nothing. Whoever has
    the address can read them until it expires or is revoked. A repetition under the same Idempotency-Key makes no second link and is
    refused (409): the address cannot be shown again.
    """
    secret, link = create_link(call.session, call.site, call.body["stations"], call.body["days"], call.identity.token_id, call.now)
    url = f"{request.host_url}sheets/{secret}"
    return Answer(body={**link, "url": url}, status=201, headers={"Cache-Control": "private, no-store"})


@sheet_links.view(
    "DELETE",
    "/v1/sites/{site}/sheet-links/{id}",
    name="revoke_sheet_link",
    roles=KITCHENS,
    answers={204: Described("The link is useless from now on.")},
)
def revoke(call: Call) -> Answer:
    """Revoke a sheet link at once."""
    revoke_link(call.session, call.site, call.path["id"], call.now)
    return Answer(status=204)


def link_opens(call: Call) -> None:
    """Raise NotFound where the address opens nothing; who only tries is counted by where they are, who has a link by that."""
    admit_guest(request, Interior.of(current_app), lambda: open_link(call.session, call.path["secret"], call.now).id)


@sheet_links.view(
    "GET",
    "/sheets/{secret}",
    name="get_sheet",
    roles=OPEN,
    query=OpenedSheet,
    within=link_opens,
    produces=(HTML,),
    plans=BODY,
    answers={200: Described("The sheet, as of lists, with links to other dates, stations and prints.", Page)},
)
def open_sheet(call: Call) -> Answer:
    """Open the sheet that a sheet link leads to: of today, unless a date is given.

    The address is the secret: it needs no token, is told to no page that one goes on to, and is not indexed. An expired or revoked link
    is answered like one that never was.
    """
    link, query = open_link(call.session, call.path["secret"], call.now), call.query
    on = query["on"] or lists.today_of(call.session, link.site, call.now)
    station, number = query["station"], query["print_number"]
    stations = link.stations if station is None else (station,)
    if station is not None and not leads_to(call.session, link, station):
        raise NotFound("station", station, "The link of this sheet does not lead to it.")
    asked = lists.ListRequest(site=link.site, on=on, pinned=call.config.pinned is not None)
    printed = None if number is None else prints.get_print(call.session, link.site, on, number)
    numbers = [row["print"] for row in prints.print_page(call.session, link.site, on, 0, MOST_PRINTS)]
    ways = Ways(stations=link.stations, station=station, prints=tuple(numbers), cards=query["cards"])
    return Answer(
        body=printed or (lambda: lists.prep_list(call.session, asked, call.now)),
        tag=hashlib.sha256(f"{lists.prep_list_tag(call.session, asked, call.now)} {link.id}".encode()).hexdigest(),
        headers=PRIVATE,
        faces=faces(lambda: name_of(call.session, link.site), "", cards=query["cards"], stations=stations, ways=ways),
    )
