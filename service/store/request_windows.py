"""Request windows: how many requests each subject made in a clock minute, over all workers.

Responsible for adding up what workers report. Refuses to know what a subject is and how many are too
many.
"""

from collections.abc import Mapping

from sqlalchemy.orm import Session

from service.store.portions import remove
from service.store.tables import request_windows
from service.store.upserts import insert_into

# A minute has a row for each token that asked, and for each address that failed.
AT_ONCE = 10_000


def add(session: Session, minute: int, numbers: Mapping[str, int]) -> dict[str, int]:
    """Add to the numbers of a minute, in one statement; returns what each of these subjects has now."""
    if not numbers:
        return {}
    # Every worker takes the rows in the same order, so that none waits for one that waits for it.
    rows = [{"subject": subject, "minute": minute, "number": number} for subject, number in sorted(numbers.items())]
    statement = insert_into(session, request_windows).values(rows)
    summed = statement.on_conflict_do_update(
        index_elements=["subject", "minute"], set_={"number": request_windows.c.number + statement.excluded.number}
    )
    return dict(session.execute(summed.returning(request_windows.c.subject, request_windows.c.number)).all())


def forget(session: Session, before: int) -> None:
    """Remove the minutes before one, of very many rows only some."""
    remove(session, request_windows, request_windows.c.minute < before, AT_ONCE)
