"""What a caller is shown: no money for those who cook, nothing of other sites or other sources, nothing that is not in force."""

import json
from collections.abc import Iterable, Iterator
from typing import Any

import pytest
from openapi_schema_validator import OAS31Validator
from werkzeug.test import TestResponse

from service.api.document.openapi import build
from service.api.exchange.views import View
from service.app import NOUNS
from tests.api.caller import Caller, faults
from tests.api.matrix import MATRIX
from tests.api.reaching import FOREIGN, LIST, MISSING, OWN, SOURCE, WHO, Kitchens, open_kitchens
from tests.strict import strict

Json = dict[str, Any]
READABLE = [view for noun in NOUNS for view in noun.views if view.method == "GET" and {"kitchen", "viewer"} & set(view.roles)]
MONEY = ("price", "value", "cost", "currency")
UNPRICED = ("kitchen", "viewer", "guest")


@pytest.fixture(scope="module")
def kitchens() -> Iterator[Kitchens]:
    with open_kitchens() as opened:
        yield opened


@pytest.fixture(scope="module")
def document() -> Json:
    return strict(build(NOUNS))


def keys(value: Any) -> Iterator[str]:
    """Every property's name anywhere in a value."""
    if isinstance(value, dict):
        for name, inner in value.items():
            yield name
            yield from keys(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from keys(inner)


def texts(value: Any) -> Iterator[str]:
    """Every text anywhere in a value, names of properties too."""
    if isinstance(value, dict):
        yield from value
        value = list(value.values())
    if isinstance(value, list):
        for inner in value:
            yield from texts(inner)
    elif isinstance(value, str):
        yield value


def money_in(value: Any) -> set[str]:
    """The names in a value that tell of money."""
    return {name for name in keys(value) if any(word in name.split("_") for word in MONEY)}


def codes(kitchens: Kitchens, collection: str) -> list[str]:
    return [row["code"] for row in kitchens.director.get(f"/v1/{collection}?limit=500").get_json()["items"]]


def paths(kitchens: Kitchens, view: View) -> list[str]:
    """Paths of a view: the one of the matrix, and where it names a thing of a collection, one of each thing."""
    own = kitchens.path(MATRIX[f"{view.method} {view.path}"].path)
    parts = view.path.split("/")
    if "{code}" not in parts:
        return [own, f"{own}?trace=true"] if view.path.endswith("/{date}") else [own]
    real = own.split("/")
    place = parts.index("{code}")
    tail = real[place].partition("?")[1:]
    return ["/".join([*real[:place], code + "".join(tail), *real[place + 1 :]]) for code in codes(kitchens, parts[place - 1])]


def answers(kitchens: Kitchens, who: str, view: View) -> Iterator[tuple[str, TestResponse]]:
    """The answers to every path of a view, of which at least one shows something."""
    caller: Caller = kitchens.callers[who]
    found = [(path, caller.get(path)) for path in paths(kitchens, view)]
    # What the caller's site has not, or asks of a list of all sites in vain, is refused; nothing else is.
    assert {answer.status_code for _, answer in found} <= {200, 404, 422}
    assert any(answer.status_code == 200 for _, answer in found)
    return iter(found)


def allowed(view: View, callers: Iterable[str]) -> list[str]:
    """The callers who may call a view."""
    return [who for who in callers if WHO[who][0] in view.roles]


def named(view: View) -> str:
    return view.path


@pytest.mark.parametrize("view", READABLE, ids=named)
def test_no_answer_to_those_who_cook_tells_of_money_and_each_fits_its_schema(kitchens: Kitchens, document: Json, view: View) -> None:
    schema = document["paths"][view.path]["get"]["responses"]["200"]["content"]["application/json"]["schema"]
    checker = OAS31Validator({**schema, "components": document["components"]})
    for who in allowed(view, UNPRICED):
        for path, answer in answers(kitchens, who, view):
            body = json.loads(answer.get_data())
            assert not money_in(body), path
            if answer.status_code == 200:
                checker.validate(body)


def test_a_director_is_told_of_money(kitchens: Kitchens) -> None:
    told = {
        view.path: set().union(*(money_in(answer.get_json()) for _, answer in answers(kitchens, "director", view))) for view in READABLE
    }
    assert {path for path, words in told.items() if words} >= {
        "/v1/ingredients",
        "/v1/ingredients/{code}",
        "/v1/menu-items",
        "/v1/menu-items/{code}",
    }
    assert told["/v1/ingredients"] == {"value", "price", "currency"}
    assert told["/v1/sites/{site}/order-lists"] == told["/v1/order-lists"] == {"cost", "currency"}


@pytest.mark.parametrize("view", READABLE, ids=named)
def test_no_answer_to_a_caller_of_one_site_names_another(kitchens: Kitchens, view: View) -> None:
    for who in allowed(view, ("kitchen", "guest")):
        for path, answer in answers(kitchens, who, view):
            # A refusal repeats what the request itself names.
            others = [site for site in (FOREIGN, "orangery") if site not in path]
            assert not {text for text in texts(answer.get_json()) if any(site in text for site in others)}, path


def test_what_a_publisher_noted_is_shown_to_directors_alone(kitchens: Kitchens) -> None:
    path = "/v1/recipes/lentil-soup"
    for each in (f"{path}?site={OWN}&on=2026-12-05", f"{path}/versions/1", f"{path}/versions"):
        shown = {who: set(keys(kitchens.callers[who].get(each).get_json())) for who in ("director", *UNPRICED)}
        full = kitchens.callers["director"].get(each).get_json()
        assert all("note" in row for row in full.get("items", [full]))
        for who in UNPRICED:
            answer = kitchens.callers[who].get(each).get_json()
            assert not [row for row in answer.get("items", [answer]) if {"note", "warnings"} & row.keys()], (who, each)
            assert shown[who] < shown["director"]


def test_money_is_left_out_and_all_else_is_the_same(kitchens: Kitchens) -> None:
    seen = {who: kitchens.callers[who].get("/v1/ingredients/honey").get_json() for who in ("director", "viewer", "kitchen")}
    full = seen["director"]
    assert full["packs"][-1]["site"] == FOREIGN
    shown = {name: value for name, value in full.items() if name != "value"}
    packs = [{name: value for name, value in pack.items() if name != "price"} for pack in full["packs"]]
    assert seen["viewer"] == {**shown, "packs": packs}
    assert seen["kitchen"] == {**shown, "packs": packs[:-1]}
    item = kitchens.director.get("/v1/menu-items/soup-bowl").get_json()
    assert kitchens.kitchen.get("/v1/menu-items/soup-bowl").get_json() == {name: item[name] for name in item if name != "price"}


def test_what_is_shown_otherwise_has_another_tag(kitchens: Kitchens) -> None:
    path = "/v1/ingredients/honey"
    tags = {who: kitchens.callers[who].get(path).headers["ETag"] for who in ("director", "kitchen", "quay", "viewer", "guest")}
    assert len(set(tags.values())) == len(tags)
    assert kitchens.kitchen.get(path, If_None_Match=tags["kitchen"]).status_code == 304
    assert kitchens.kitchen.get(path, If_None_Match=tags["director"]).status_code == 200
    assert "Authorization" in kitchens.kitchen.get(path).headers["Vary"]
    # A kitchen's tag is no state that could be replaced: what it left out would be lost.
    assert kitchens.director.put(path, kitchens.director.get(path).get_json(), If_Match=tags["kitchen"]).status_code == 412
    # What is the same for all has the same tag, and a kitchen replaces its own override by it.
    assert kitchens.kitchen.get("/v1/stations/bakery").headers["ETag"] == kitchens.director.get("/v1/stations/bakery").headers["ETag"]


def test_a_token_of_some_sites_lists_those_alone(kitchens: Kitchens) -> None:
    listed = {who: [row["code"] for row in kitchens.callers[who].get("/v1/sites").get_json()["items"]] for who in ("kitchen", "viewer")}
    assert listed == {"kitchen": [OWN], "viewer": [OWN, "orangery", FOREIGN]}
    assert kitchens.viewer.get(f"/v1/sites/{FOREIGN}").status_code == 200


def test_recipes_are_those_in_force_at_own_sites(kitchens: Kitchens) -> None:
    listed = {
        who: {row["code"]: row for row in kitchens.callers[who].get("/v1/recipes?limit=500").get_json()["items"]}
        for who in ("director", "kitchen", "quay", "viewer")
    }
    assert set(listed["director"]) - set(listed["viewer"]) == {"idea"}
    assert set(listed["viewer"]) == set(listed["quay"])
    assert set(listed["quay"]) - set(listed["kitchen"]) == {"quay-syrup", "quay-glaze"}
    assert listed["quay"]["quay-syrup"] == {"code": "quay-syrup", "title": "quay-syrup", "station": "bakery", "version": 1}
    first = kitchens.kitchen.get("/v1/recipes?limit=2").get_json()
    second = kitchens.kitchen.get(first["next"]).get_json()
    assert [row["code"] for page in (first, second) for row in page["items"][:2]] == sorted(listed["kitchen"])[: 2 + len(second["items"])]


@pytest.mark.parametrize("path", ["", "/draft", "/versions", "/versions/1", "/scalings"])
@pytest.mark.parametrize("code", ["quay-syrup", "idea"])
def test_a_recipe_in_force_nowhere_near_is_like_none(kitchens: Kitchens, code: str, path: str) -> None:
    method, body = ("POST", {"to": {"quantity": {"amount": 1, "unit": "kg"}}}) if path == "/scalings" else ("GET", None)
    for noise in ({}, {"Accept": "image/png"}):
        # The id is no UUID, so that both refusals are one and the same but for the code that was asked for.
        sent = {**noise, "X-Request-Id": "the-same"}
        shown, none = (kitchens.kitchen.send(method, f"/v1/recipes/{each}{path}", body, headers=sent) for each in (code, "no-such-recipe"))
        assert (shown.status_code, shown.get_data().replace(code.encode(), b"no-such-recipe")) == (none.status_code, none.get_data())
        assert shown.status_code == (403 if path == "/draft" else 404)


def test_versions_are_those_in_force_at_own_sites_on_some_date(kitchens: Kitchens) -> None:
    def numbers(who: str) -> list[tuple[int, list[str] | None]]:
        rows = kitchens.callers[who].get("/v1/recipes/lentil-soup/versions").get_json()["items"]
        return [(row["version"], row["sites"]) for row in rows]

    assert numbers("director") == [(1, None), (2, [FOREIGN]), (3, [OWN, FOREIGN])]
    assert numbers("kitchen") == [(1, None), (3, [OWN])]
    assert numbers("quay") == [(1, None), (2, [FOREIGN]), (3, [FOREIGN])]
    assert numbers("viewer") == numbers("director")
    assert kitchens.kitchen.get("/v1/recipes/lentil-soup/versions/2").status_code == 404
    assert kitchens.kitchen.get("/v1/recipes/lentil-soup/versions/3").get_json()["sites"] == [OWN]
    paged = kitchens.kitchen.get("/v1/recipes/lentil-soup/versions?limit=1").get_json()
    assert [row["version"] for row in kitchens.kitchen.get(paged["next"]).get_json()["items"]] == [3]


@pytest.mark.parametrize(("who", "query", "version"), [
    ("kitchen", "?on=2026-12-04", 1),
    ("quay", "?on=2026-12-04", 2),
    ("kitchen", "?on=2026-12-20", 3),
    ("viewer", "?on=2026-12-04", 1),
    ("viewer", f"?on=2026-12-04&site={FOREIGN}", 2),
    ("viewer", f"?on=2026-12-20&site={OWN}", 3),
])  # fmt: skip
def test_the_version_in_force_is_that_of_the_callers_site(kitchens: Kitchens, who: str, query: str, version: int) -> None:
    answer = kitchens.callers[who].get(f"/v1/recipes/lentil-soup{query}").get_json()
    assert answer["version"] == version
    assert "warnings" not in answer


def test_a_scaling_is_by_what_is_in_force_at_the_callers_site(kitchens: Kitchens) -> None:
    def version(who: str, **more: str) -> Any:
        body = {"to": {"quantity": {"amount": 70, "unit": "L"}}, "on": "2026-12-04", **more}
        return kitchens.callers[who].post("/v1/recipes/lentil-soup/scalings", body)

    assert [version(who).get_json()["version"] for who in ("director", "kitchen", "quay")] == [1, 1, 2]
    assert version("quay").get_json()["batches"] == version("director").get_json()["batches"]
    for site in (FOREIGN, MISSING):
        refused = version("kitchen", site=site)
        assert (refused.status_code, faults(refused)) == (422, {("/site", "unknown_site")})


def test_a_scaling_draws_on_what_is_in_force_at_the_callers_site_alone(kitchens: Kitchens) -> None:
    answer = kitchens.quay.post("/v1/recipes/quay-glaze/scalings", {"to": {"quantity": {"amount": 90, "unit": "g"}}}).get_json()
    # 100 g of the syrup are 10/9 of its authored 90 g, each with 100 g of honey.
    assert [(row["item"]["ingredient"], round(row["quantity"]["amount"], 6)) for row in answer["ingredients"]] == [("honey", 111.111111)]


def test_an_integration_reads_codes_of_its_own_source_alone(kitchens: Kitchens) -> None:
    path = "/v1/menu-items/soup-bowl"
    body = kitchens.director.get(path).get_json()
    foreign = {"source": "till-west", "till_code": "secret"}
    assert kitchens.director.put(path, {**body, "codes": [*body["codes"], foreign]}, If_Match="*").status_code == 200
    expected = {"code": "soup-bowl", "name": body["name"], "codes": [code for code in body["codes"] if code["source"] == SOURCE]}
    assert expected["codes"]
    assert kitchens.till.get(path).get_json() == expected
    rows = kitchens.till.get("/v1/menu-items?limit=500").get_json()["items"]
    assert expected in rows
    assert {code["source"] for row in rows for code in row["codes"]} == {SOURCE}
    assert kitchens.till.get(path).headers["ETag"] != kitchens.director.get(path).headers["ETag"]


def test_an_integration_reads_back_its_own_source_and_sites_alone(kitchens: Kitchens) -> None:
    def seen(who: str, query: str = "") -> set[tuple[str, str]]:
        answer = kitchens.callers[who].get(f"/v1/forecasts?from=2026-12-02&to=2026-12-09&limit=500{query}")
        return {(row["source"], row["site"]) for row in answer.get_json()["items"]}

    assert seen("till") == {(SOURCE, OWN), (SOURCE, FOREIGN)}
    assert seen("counter") == {(SOURCE, OWN)}
    assert seen("till", f"&site={FOREIGN}") == {(SOURCE, FOREIGN)}
    assert ("till-west", FOREIGN) in seen("director")


def push(site: str, source: str = SOURCE, as_of: str = "2026-12-02T12:00:00Z") -> Json:
    entry = {"site": site, "date": "2026-12-03", "period": "breakfast", "menu_item": "soup-bowl", "count": 7}
    return {"source": source, "as_of": as_of, "entries": [entry]}


def test_an_integration_pushes_as_its_own_source_alone(kitchens: Kitchens) -> None:
    refused = kitchens.till.post("/v1/forecasts", push(OWN, "till-west", "2026-12-03T12:00:00Z"))
    assert (refused.status_code, faults(refused)) == (403, {("/source", "unknown_till_source")})
    assert kitchens.director.post("/v1/forecasts", push(OWN, "head-office")).get_json()["stored"] == 1


def test_entries_of_foreign_sites_are_refused_like_those_of_unknown_ones(kitchens: Kitchens) -> None:
    foreign, missing = (
        kitchens.counter.post("/v1/forecasts", push(site)).get_data().replace(site.encode(), b"SITE") for site in (FOREIGN, MISSING)
    )
    assert foreign == missing
    assert json.loads(foreign)["refused"][0]["errors"][0]["code"] == "unknown_site"
    assert kitchens.till.post("/v1/forecasts", push(FOREIGN)).get_json()["stored"] == 1


def test_a_kitchen_keeps_its_own_day(kitchens: Kitchens) -> None:
    override = f"/v1/sites/{OWN}/overrides/2026-12-04/lunch/soup-bowl"
    assert kitchens.kitchen.put(override, {"count": 50}).status_code == 201
    tag = kitchens.kitchen.get(override).headers["ETag"]
    assert kitchens.kitchen.put(override, {"count": 60}, If_Match=tag).status_code == 200
    assert kitchens.guest.delete(override, If_Match="*").status_code == 403
    assert kitchens.kitchen.delete(override, If_Match="*").status_code == 204
    lot = {"item": {"ingredient": "onion"}, "quantity": {"amount": 1, "unit": "kg"}}
    assert kitchens.kitchen.post(f"/v1/sites/{OWN}/counts", {"counted_at": "2026-12-02T12:00:00Z", "lots": [lot]}).status_code == 201
    assert kitchens.kitchen.post(f"{LIST}/prints", None).status_code == 201
