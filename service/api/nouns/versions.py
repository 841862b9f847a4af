"""Versions of recipes: publishing, withdrawing, reading."""

from typing import Any

from service.api.document import examples
from service.api.exchange.call import Call
from service.api.exchange.named import draft_exists, recipe_exists
from service.api.exchange.paging import page
from service.api.exchange.reach import publishes
from service.api.exchange.roles import READERS
from service.api.exchange.views import REPEAT, Described, Noun
from service.api.schemas.changes import VersionChanges
from service.api.schemas.pages import page_of
from service.api.schemas.previews import Preview
from service.api.schemas.queries import NumberPaging, VersionChangesQuery
from service.api.schemas.versions import Publication, PublicationBody, Version, VersionHead, WithdrawalBody
from service.api.wire.answers import Answer
from service.errors import NothingToPublish
from service.operations import changes, in_force, previews, publishing
from service.operations.loading import load_catalogue

versions = Noun("Versions", "Published, immutable states of recipes.")


def version_exists(call: Call) -> None:
    """Raise NotFound where the recipe has no version of that number that the caller may see."""
    publishing.get_version(call.session, call.code, call.path["number"])
    if not publishes(call.identity):
        in_force.require(call.session, call.code, call.identity.sites, call.path["number"])


@versions.view(
    "GET",
    "/v1/recipes/{code}/versions",
    roles=READERS,
    query=NumberPaging,
    within=recipe_exists,
    answers={200: Described("The versions, ordered by number.", page_of(VersionHead))},
)
def list_versions(call: Call) -> dict[str, Any]:
    """List the versions of a recipe in order of number.

    A kitchen or a viewer is shown those that are in force at its sites on some date.
    """
    after, limit = call.query["cursor"] or 0, call.query["limit"]
    if publishes(call.identity):
        rows = publishing.version_page(call.session, call.code, after, limit)
    else:
        rows = in_force.version_rows(call.session, call.code, call.identity.sites, after, limit)
    return page(call, rows, "version")


def prepare_publication(call: Call) -> publishing.Publication:
    """The version to publish."""
    return publishing.prepare_publication(call.session, call.code, call.body, call.now, call.identity.token_id)


def prepare_withdrawal(call: Call) -> publishing.Withdrawal:
    """The version to withdraw."""
    return publishing.prepare_withdrawal(call.session, call.code, call.path["number"], call.body, call.now)


@versions.view(
    "POST",
    "/v1/recipes/{code}/versions",
    body=PublicationBody,
    keyed=REPEAT,
    within=draft_exists,
    prepare=prepare_publication,
    conflicts=(NothingToPublish,),
    example=examples.PUBLICATION,
    answers={201: Described("The draft is published as a version.", Publication)},
)
def publish_version(call: Call) -> Answer:
    """Publish the draft of a recipe as a new version, in force from a date."""
    published = publishing.publish(call.session, call.prepared)
    return Answer(body=published, status=201, location=f"{call.address}/{published['version']}")


@versions.view(
    "POST",
    "/v1/recipes/{code}/draft/preview",
    body=PublicationBody,
    within=draft_exists,
    example=examples.PUBLICATION,
    asks=True,
    answers={200: Described("What publishing would do, and what stands in its way.", Preview)},
)
def preview_draft(call: Call) -> dict[str, Any]:
    """Tell what publishing the draft would do, with nothing saved.

    Reasons why it cannot be published are listed in `faults`; what cannot be told of such a draft is null or left out.
    """
    return previews.preview(call.session, call.code, call.body, call.now)


@versions.view(
    "GET",
    "/v1/recipes/{code}/versions/{number}",
    roles=READERS,
    within=version_exists,
    answers={200: Described("The version as published.", Version)},
)
def get_version(call: Call) -> dict[str, Any]:
    """Get one version as it was published."""
    return publishing.get_version(call.session, call.code, call.path["number"])


@versions.view(
    "GET",
    "/v1/recipes/{code}/versions/{number}/changes",
    name="get_version_changes",
    roles=READERS,
    query=VersionChangesQuery,
    within=version_exists,
    answers={200: Described("What was added, dropped and changed since the other version.", VersionChanges)},
)
def get_changes(call: Call) -> dict[str, Any]:
    """Get what differs between two versions, by field, line, step and by-product.

    Without `from`, the version before is compared with; before the first one there was nothing.
    """
    seen = None if publishes(call.identity) else in_force.numbers(load_catalogue(call.session), call.code, call.identity.sites)
    return changes.version_changes(call.session, call.code, call.path["number"], call.query["first"], seen)


@versions.view(
    "POST",
    "/v1/recipes/{code}/versions/{number}/withdrawal",
    body=WithdrawalBody,
    within=version_exists,
    prepare=prepare_withdrawal,
    example=examples.WITHDRAWAL,
    answers={200: Described("From then on the next older version applies.", VersionHead)},
)
def withdraw_version(call: Call) -> dict[str, Any]:
    """Withdraw a version from a date on."""
    return publishing.withdraw(call.session, call.prepared, call.now)
