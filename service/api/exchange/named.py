"""Named: that what a path names is there, and the caller's to see.

Responsible for the checks of things that several nouns speak of, before a body is read. Refuses to know what is asked of them.
"""

from service.api.exchange.call import Call
from service.api.exchange.reach import publishes
from service.api.exchange.views import Check
from service.operations import in_force, publishing
from service.operations.collections import check_exists


def exists(key: str) -> Check:
    """A check that raises NotFound where a collection has no thing of the path's code."""
    return lambda call: check_exists(call.session, key, call.code)


def draft_exists(call: Call) -> None:
    """Raise NotFound where the recipe has no draft."""
    publishing.get_draft(call.session, call.code)


def recipe_exists(call: Call) -> None:
    """Raise NotFound where there is neither a draft nor a version that the caller may see."""
    if publishes(call.identity):
        publishing.version_page(call.session, call.code, 0, 0)
    else:
        in_force.require(call.session, call.code, call.identity.sites)
