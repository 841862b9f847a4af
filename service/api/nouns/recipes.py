"""Recipes: drafts, the version in force, and scalings."""

from collections.abc import Mapping
from typing import Any

from service.api.document import examples
from service.api.exchange.call import Call
from service.api.exchange.named import draft_exists, recipe_exists
from service.api.exchange.paging import page
from service.api.exchange.reach import publishes
from service.api.exchange.roles import KITCHENS, READERS
from service.api.exchange.views import WHOLE, Described, Noun
from service.api.nouns.collections import put_answer, read_catalogue, show
from service.api.schemas.pages import page_of
from service.api.schemas.queries import InForce, Paging
from service.api.schemas.recipes import Draft, DraftBody
from service.api.schemas.scalings import ScaledRecipe, ScalingBody
from service.api.schemas.versions import RecipeRow, Version
from service.api.wire.answers import Answer
from service.errors import InUse
from service.operations import in_force, publishing, scalings

recipes = Noun("Recipes", "Master recipes: drafts, versions in force from a date, and scalings.")
DRAFT = Described("The draft, with its ETag.", Draft, {"code": "lentil-soup", **examples.SOUP})


@recipes.view(
    "GET",
    "/v1/recipes",
    roles=READERS,
    query=Paging,
    answers={200: Described("The recipes, ordered by code; of a kitchen or viewer those in force at its sites.", page_of(RecipeRow))},
)
def list_recipes(call: Call) -> dict[str, Any]:
    """List the recipes in order of code, with the version in force."""
    after, limit = call.query["cursor"], call.query["limit"]
    if publishes(call.identity):
        rows = publishing.recipe_page(call.session, after, limit, call.now)
    else:
        rows = in_force.recipe_rows(call.session, call.identity.sites, after, limit, call.now)
    return page(call, rows, "code")


@recipes.view(
    "GET",
    "/v1/recipes/{code}",
    roles=READERS,
    query=InForce,
    within=recipe_exists,
    answers={200: Described("The version in force.", Version)},
)
def get_recipe(call: Call) -> dict[str, Any]:
    """Get the version in force, today or on a date, everywhere or at a site.

    Without a site, a token of some sites gets what is in force at the first of them, in order of code.
    """
    site, on = call.query["site"], call.query["on"]
    if publishes(call.identity):
        return publishing.recipe_in_force(call.session, call.code, on, site, call.now)
    return in_force.recipe_for(call.session, call.code, (site,) if site else call.identity.sites, on, call.now)


@recipes.view("GET", "/v1/recipes/{code}/draft", within=draft_exists, answers={200: DRAFT})
def get_draft(call: Call) -> Answer:
    """Get the draft of a recipe."""
    stored = publishing.get_draft(call.session, call.code)
    return Answer(body=show(stored), tag=stored.tag)


@recipes.view(
    "PUT",
    "/v1/recipes/{code}/draft",
    body=DraftBody,
    conditional=True,
    echo=("code",),
    example=examples.SOUP,
    answers={201: Described("The draft was created.", Draft), 200: Described("It was replaced.", Draft)},
)
def put_draft(call: Call) -> Answer:
    """Create or replace the draft of a recipe.

    Its shape is checked; references and rules are checked when it is published.
    """
    stored, created = publishing.put_draft(call.session, call.code, call.body, call.expected)
    return put_answer(show(stored), stored.tag, call, created=created)


@recipes.view(
    "DELETE",
    "/v1/recipes/{code}/draft",
    conditional=True,
    within=draft_exists,
    prepare=read_catalogue,
    conflicts=(InUse,),
    answers={204: Described("It is gone; versions stay.")},
)
def delete_draft(call: Call) -> Answer:
    """Delete the draft of a recipe."""
    publishing.delete_draft(call.session, call.code, call.prepared, call.expected)
    return Answer(status=204)


@recipes.view(
    "POST",
    "/v1/recipes/{code}/scalings",
    roles=KITCHENS,
    body=ScalingBody,
    within=recipe_exists,
    example=examples.SCALING,
    asks=True,
    plans=WHOLE,
    answers={200: Described("The recipe, scaled.", ScaledRecipe)},
)
def scale_recipe(call: Call) -> Mapping[str, Any]:
    """Scale a recipe to a quantity, to portions, or to what is on hand of one item."""
    return scalings.scale(call.session, call.code, call.body, call.now, call.identity.sites)
