"""Till codes that no menu item has: what was pushed under them is kept, and counts once they are mapped.

Responsible for telling them, each once. Refuses to map any.
"""

from collections.abc import Collection
from itertools import groupby
from typing import Any

from sqlalchemy.orm import Session

from service.operations.loading import load_catalogue
from service.operations.tokens import write
from service.store.forecasts import till_codes

Key = tuple[str, str]


def unmapped(session: Session, source: str | None, sites: Collection[str] | None, after: Key | None, limit: int) -> list[dict[str, Any]]:
    """Up to ``limit`` codes behind a key of source and code, of one source (None: all) as pushed for some sites (None: all).

    Of each the moments at which its oldest and its newest count was true, in UTC, its sites, and the number of its counts.
    """
    mapped = load_catalogue(session).till_codes
    rows = []
    for key, seen in groupby(till_codes(session, source, sites), key=lambda row: (row.source, row.till_code)):
        if key in mapped or (after is not None and key <= after):
            continue
        places = list(seen)
        rows.append(
            {
                "source": key[0],
                "till_code": key[1],
                "first_seen": write(min(row.first for row in places)),
                "last_seen": write(max(row.last for row in places)),
                "sites": [row.site for row in places],
                "entries": sum(row.entries for row in places),
            }
        )
        if len(rows) == limit:
            break
    return rows
