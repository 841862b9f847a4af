"""Troubles: what is wrong with a database, in a word that may be told to anybody.

Responsible for full, locked, unreachable and read-only, from what either database says. Refuses to repeat its messages: they may hold
addresses, names and what somebody sent.
"""

from sqlalchemy.exc import DBAPIError, InterfaceError, InternalError, OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeout

FULL, LOCKED, UNREACHABLE, READ_ONLY = "full", "locked", "unreachable", "read-only"
TROUBLES = (OperationalError, InterfaceError, InternalError, PoolTimeout)
"""What either driver raises where the database, and not a statement, is the reason."""

# The first letters of SQLSTATE (PostgreSQL's list of error codes), longer ones first; of SQLite's names of result codes likewise.
SIGNS = {
    "25006": READ_ONLY,
    "53300": UNREACHABLE,
    "53": FULL,
    "58030": FULL,
    "55": LOCKED,
    "40": LOCKED,
    "SQLITE_FULL": FULL,
    # A quota that is used up is told as any failure to write.
    "SQLITE_IOERR_WRITE": FULL,
    "SQLITE_BUSY": LOCKED,
    "SQLITE_LOCKED": LOCKED,
    "SQLITE_READONLY": READ_ONLY,
}


def trouble(error: Exception) -> str:
    """What is wrong with the database that raised an error; whatever it does not tell is as good as not reaching it."""
    if isinstance(error, PoolTimeout):
        return LOCKED
    origin = error.orig if isinstance(error, DBAPIError) else error
    told = getattr(origin, "sqlstate", None) or getattr(origin, "sqlite_errorname", None) or ""
    return next((word for sign, word in SIGNS.items() if told.startswith(sign)), UNREACHABLE)
