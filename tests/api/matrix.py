"""Every route, who may call it, and a request that changes nothing: what the matrix of roles walks."""

from dataclasses import dataclass
from typing import Any

from tests.api.reaching import CAPACITY, LIST, OVERRIDE, OWN, SOURCE

DIRECTOR = {"director"}
KITCHENS = {"director", "kitchen"}
READERS = {"director", "kitchen", "viewer"}
PUSHERS = {"director", "integration"}
EVERYBODY = {"director", "kitchen", "viewer", "integration"}

PUSH = {
    "source": SOURCE,
    "as_of": "2026-12-02T12:00:00Z",
    "entries": [{"site": OWN, "date": "2026-12-03", "period": "lunch", "menu_item": "no-such-thing", "count": 1}],
}
SCALING = {"to": {"quantity": {"amount": 5, "unit": "L"}}, "site": OWN}
DATES = "from=2026-12-02&to=2026-12-08"


@dataclass(frozen=True)
class Case:
    """Who may send a request, what it is, and what those who may are answered."""

    roles: set[str]
    path: str
    body: Any = None
    status: int = 200


# Writes are refused for a reason that only a caller who may write can reach: 422 for an empty body, 428 without If-Match.
MATRIX: dict[str, Case] = {
    "GET /v1/stations": Case(READERS, "/v1/stations"),
    "GET /v1/stations/{code}": Case(READERS, "/v1/stations/bakery"),
    "PUT /v1/stations/{code}": Case(DIRECTOR, "/v1/stations/bakery", {}, 422),
    "DELETE /v1/stations/{code}": Case(DIRECTOR, "/v1/stations/bakery", None, 428),
    "GET /v1/equipment": Case(READERS, "/v1/equipment"),
    "GET /v1/equipment/{code}": Case(READERS, "/v1/equipment/deck-oven"),
    "PUT /v1/equipment/{code}": Case(DIRECTOR, "/v1/equipment/deck-oven", {}, 422),
    "DELETE /v1/equipment/{code}": Case(DIRECTOR, "/v1/equipment/deck-oven", None, 428),
    "GET /v1/ingredients": Case(READERS, "/v1/ingredients"),
    "GET /v1/ingredients/{code}": Case(READERS, "/v1/ingredients/onion"),
    "PUT /v1/ingredients/{code}": Case(DIRECTOR, "/v1/ingredients/onion", {}, 422),
    "DELETE /v1/ingredients/{code}": Case(DIRECTOR, "/v1/ingredients/onion", None, 428),
    "GET /v1/ingredients/{code}/uses": Case(READERS, "/v1/ingredients/onion/uses"),
    "GET /v1/recipes": Case(READERS, "/v1/recipes"),
    "GET /v1/recipes/{code}": Case(READERS, f"/v1/recipes/lentil-soup?site={OWN}&on=2026-12-05"),
    "GET /v1/recipes/{code}/cost": Case(DIRECTOR, f"/v1/recipes/lentil-soup/cost?site={OWN}&on=2026-12-05"),
    "GET /v1/recipes/{code}/allergens": Case(READERS, f"/v1/recipes/lentil-soup/allergens?site={OWN}&on=2026-12-05"),
    "GET /v1/recipes/{code}/draft": Case(DIRECTOR, "/v1/recipes/lentil-soup/draft"),
    "PUT /v1/recipes/{code}/draft": Case(DIRECTOR, "/v1/recipes/lentil-soup/draft", {}, 422),
    "DELETE /v1/recipes/{code}/draft": Case(DIRECTOR, "/v1/recipes/lentil-soup/draft", None, 428),
    "POST /v1/recipes/{code}/scalings": Case(KITCHENS, "/v1/recipes/lentil-soup/scalings", SCALING),
    "GET /v1/recipes/{code}/versions": Case(READERS, "/v1/recipes/lentil-soup/versions"),
    "POST /v1/recipes/{code}/versions": Case(DIRECTOR, "/v1/recipes/lentil-soup/versions", {}, 422),
    "GET /v1/recipes/{code}/versions/{number}": Case(READERS, "/v1/recipes/lentil-soup/versions/1"),
    "GET /v1/recipes/{code}/versions/{number}/changes": Case(READERS, "/v1/recipes/lentil-soup/versions/1/changes"),
    "POST /v1/recipes/{code}/draft/preview": Case(DIRECTOR, "/v1/recipes/lentil-soup/draft/preview", {}, 422),
    "POST /v1/recipes/{code}/versions/{number}/withdrawal": Case(DIRECTOR, "/v1/recipes/lentil-soup/versions/1/withdrawal", {}, 422),
    "GET /v1/menu-items": Case(EVERYBODY, "/v1/menu-items"),
    "GET /v1/menu-items/{code}": Case(EVERYBODY, "/v1/menu-items/soup-bowl"),
    "PUT /v1/menu-items/{code}": Case(DIRECTOR, "/v1/menu-items/soup-bowl", {}, 422),
    "DELETE /v1/menu-items/{code}": Case(DIRECTOR, "/v1/menu-items/soup-bowl", None, 428),
    "GET /v1/menu-items/{code}/cost": Case(DIRECTOR, f"/v1/menu-items/soup-bowl/cost?site={OWN}"),
    "GET /v1/menu-items/{code}/allergens": Case(READERS, f"/v1/menu-items/soup-bowl/allergens?site={OWN}"),
    "GET /v1/sites": Case(EVERYBODY, "/v1/sites"),
    "GET /v1/sites/{code}": Case(EVERYBODY, f"/v1/sites/{OWN}"),
    "PUT /v1/sites/{code}": Case(DIRECTOR, f"/v1/sites/{OWN}", {}, 422),
    "DELETE /v1/sites/{code}": Case(DIRECTOR, f"/v1/sites/{OWN}", None, 428),
    "POST /v1/imports": Case(DIRECTOR, "/v1/imports?dry_run=true", {}),
    "POST /v1/forecasts": Case(PUSHERS, "/v1/forecasts", PUSH),
    "GET /v1/forecasts": Case(PUSHERS, f"/v1/forecasts?{DATES}&site={OWN}"),
    "GET /v1/unmapped-till-codes": Case(PUSHERS, f"/v1/unmapped-till-codes?source={SOURCE}"),
    "GET /v1/sites/{site}/forecasts": Case(READERS, f"/v1/sites/{OWN}/forecasts?{DATES}"),
    "GET /v1/sites/{site}/overrides": Case(READERS, f"/v1/sites/{OWN}/overrides?{DATES}"),
    "GET /v1/sites/{site}/overrides/{date}/{period}/{menu_item}": Case(READERS, OVERRIDE),
    "PUT /v1/sites/{site}/overrides/{date}/{period}/{menu_item}": Case(KITCHENS, OVERRIDE, {"add": 1}, 428),
    "DELETE /v1/sites/{site}/overrides/{date}/{period}/{menu_item}": Case(KITCHENS, OVERRIDE, None, 428),
    "GET /v1/sites/{site}/capacity": Case(READERS, f"/v1/sites/{OWN}/capacity?{DATES}"),
    "GET /v1/sites/{site}/capacity/{date}": Case(READERS, CAPACITY),
    "PUT /v1/sites/{site}/capacity/{date}": Case(KITCHENS, CAPACITY, {"shifts": []}, 428),
    "DELETE /v1/sites/{site}/capacity/{date}": Case(KITCHENS, CAPACITY, None, 428),
    "POST /v1/sites/{site}/counts": Case(KITCHENS, f"/v1/sites/{OWN}/counts", {}, 422),
    "GET /v1/sites/{site}/counts": Case(READERS, f"/v1/sites/{OWN}/counts?{DATES}"),
    "GET /v1/sites/{site}/counts/{number}": Case(READERS, f"/v1/sites/{OWN}/counts/COUNT"),
    "DELETE /v1/sites/{site}/counts/{number}": Case(KITCHENS, f"/v1/sites/{OWN}/counts/COUNT?colour=red", None, 422),
    "GET /v1/sites/{site}/prep-lists/{date}": Case(READERS, LIST),
    "POST /v1/sites/{site}/prep-lists/{date}/prints": Case(KITCHENS, f"{LIST}/prints?units=stone", None, 422),
    "GET /v1/sites/{site}/prep-lists/{date}/prints": Case(READERS, f"{LIST}/prints"),
    "GET /v1/sites/{site}/prep-lists/{date}/prints/{number}": Case(READERS, f"{LIST}/prints/1"),
    "GET /v1/sites/{site}/prep-lists/{date}/changes": Case(READERS, f"{LIST}/changes?since=1"),
    "PUT /v1/sites/{site}/prep-lists/{date}/tasks/{task}/progress": Case(KITCHENS, f"{LIST}/tasks/TASK/progress", {}, 422),
    "GET /v1/sites/{site}/prep-lists/{date}/tasks/{task}/progress": Case(READERS, f"{LIST}/tasks/TASK/progress"),
    "GET /v1/sites/{site}/order-lists": Case(READERS, f"/v1/sites/{OWN}/order-lists?{DATES}"),
    "GET /v1/order-lists": Case(READERS, f"/v1/order-lists?{DATES}"),
    "GET /v1/sites/{site}/schedules/{date}": Case(READERS, f"/v1/sites/{OWN}/schedules/2026-12-03"),
    "GET /v1/sites/{site}/work-for/{date}": Case(READERS, f"/v1/sites/{OWN}/work-for/2026-12-03"),
    "GET /v1/prep-lists/{date}": Case(READERS, "/v1/prep-lists/2026-12-03"),
    "GET /v1/revisions": Case(READERS, "/v1/revisions?date=2026-12-03"),
    "GET /v1/whoami": Case(EVERYBODY, "/v1/whoami"),
    "GET /v1/sites/{site}/sheet-links": Case(KITCHENS, f"/v1/sites/{OWN}/sheet-links"),
    "POST /v1/sites/{site}/sheet-links": Case(KITCHENS, f"/v1/sites/{OWN}/sheet-links", {"days": 0}, 422),
    "DELETE /v1/sites/{site}/sheet-links/{id}": Case(KITCHENS, f"/v1/sites/{OWN}/sheet-links/none?colour=red", None, 422),
    "GET /v1/tokens": Case(DIRECTOR, "/v1/tokens"),
    "POST /v1/tokens": Case(DIRECTOR, "/v1/tokens", {}, 422),
    "DELETE /v1/tokens/{id}": Case(DIRECTOR, "/v1/tokens/none", None, 404),
}
