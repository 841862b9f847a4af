"""The other faces of a prep list: a sheet to print, and a table for spreadsheets.

Responsible for a list's document as text/html and text/csv, and for the headers that these need.
Refuses to compute: every number, moment and title stands in the document already.
"""

from collections.abc import Callable, Collection, Mapping
from typing import Any

from service.api.sheets.calendar import schedule_calendar
from service.api.sheets.page import CONTENT_SECURITY_POLICY, schedule_html, sheet_html
from service.api.sheets.table import sheet_csv
from service.api.sheets.ways import Ways
from service.api.wire.answers import JSON, Face

HTML = "text/html"
CSV = "text/csv"
CALENDAR = "text/calendar"
# What a view of lists states as ``produces``; who does not mind gets the document.
MEDIA_TYPES = (JSON, HTML, CSV)
SCHEDULE_TYPES = (JSON, HTML, CALENDAR)

__all__ = [
    "CONTENT_SECURITY_POLICY",
    "CSV",
    "HTML",
    "MEDIA_TYPES",
    "SCHEDULE_TYPES",
    "Ways",
    "faces",
    "schedule_faces",
    "sheet_csv",
    "sheet_html",
]


def faces(
    site_name: Callable[[], str],
    file: str,
    *,
    cards: bool = True,
    stations: Collection[str] | None = None,
    ways: Ways | None = None,
) -> Mapping[str, Face]:
    """How an answer whose body is a prep list's document is written in each media type but JSON.

    The sheet alone asks for the site's name, and its ``cards``, ``stations`` and ``ways`` are as for ``sheet_html``. A table is to be
    saved as a ``file``.
    """
    return {
        HTML: Face(
            lambda document: [sheet_html(document, site_name(), cards=cards, stations=stations, ways=ways).encode()],
            {"Content-Security-Policy": CONTENT_SECURITY_POLICY},
        ),
        CSV: Face(_write_csv, {"Content-Disposition": f'attachment; filename="{file}.csv"'}),
    }


def schedule_faces(site_name: Callable[[], str], file: str) -> Mapping[str, Face]:
    """How an answer whose body is a schedule's document is written in each media type but JSON; a calendar is to be saved as a ``file``."""
    return {
        HTML: Face(lambda document: [schedule_html(document, site_name()).encode()], {"Content-Security-Policy": CONTENT_SECURITY_POLICY}),
        CALENDAR: Face(
            lambda document: [schedule_calendar(document, site_name())], {"Content-Disposition": f'inline; filename="{file}.ics"'}
        ),
    }


def _write_csv(document: Any) -> list[bytes]:
    return [sheet_csv(document).encode()]
