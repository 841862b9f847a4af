"""Matching: whether the caller names the state that is to be replaced.

Responsible for the order of 428 and 412 in every change of one thing. Refuses to know how states are tagged.
"""

from service.errors import MatchRequired, Stale

Expected = frozenset[str] | None


def require_match(current: str | None, expected: Expected) -> None:
    """Raise MatchRequired or Stale unless ``expected`` names the current state; a new thing has none to name."""
    if current is None:
        if expected is not None:
            raise Stale("There is no such thing yet; leave out If-Match to create it.")
        return
    if expected is None:
        raise MatchRequired("Send If-Match with the ETag of the state that you replace; GET shows it.")
    if "*" not in expected and current not in expected:
        raise Stale("The thing has changed since; GET it again, look at the change, and send the new ETag in If-Match.")
