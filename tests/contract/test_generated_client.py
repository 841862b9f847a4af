"""Whoever reads a thing with a generated client and puts it back changes nothing: not a byte, and not its ETag."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from types import ModuleType
from typing import Any

import pytest
from flask import Flask

from tests.contract.generated import connected, make, model, operation
from tests.contract.scene import NOW, Scene, opened

TOMORROW = date.fromisoformat(NOW[:10]) + timedelta(days=1)


@dataclass(frozen=True)
class Thing:
    """A kind of thing: its path, the tag and the operations that read and put it, and the model of what is put."""

    path: str
    tag: str
    reads: str
    puts: str
    body: str


THINGS = [
    Thing("/v1/recipes/{}/draft", "recipes", "get_draft", "put_draft", "DraftBody"),
    Thing("/v1/sites/{}", "sites", "get_site", "put_site", "SiteBody"),
    Thing("/v1/menu-items/{}", "menu_items", "get_menu_item", "put_menu_item", "MenuItemBody"),
    Thing("/v1/ingredients/{}", "ingredients", "get_ingredient", "put_ingredient", "IngredientBody"),
]


@pytest.fixture(scope="module")
def package(tmp_path_factory: pytest.TempPathFactory) -> ModuleType:
    return make(tmp_path_factory.mktemp("client"))


@pytest.fixture(scope="module")
def app(scene: Scene, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Flask]:
    with opened(scene, tmp_path_factory.mktemp("round_trip") / "kitchen.sqlite3") as made:
        yield made


@pytest.fixture(scope="module")
def client(package: ModuleType, app: Flask, scene: Scene) -> Any:
    return connected(package, app, scene.token)


def codes(app: Flask, scene: Scene, collection: str) -> list[str]:
    """The codes of everything in a collection."""
    answer = app.test_client().get(f"/v1/{collection}?limit=500", headers=scene.headers).get_json()
    assert answer["next"] is None
    return [row["code"] for row in answer["items"] if row.get("draft", True)]


@pytest.mark.parametrize("thing", THINGS, ids=lambda thing: thing.tag)
def test_everything_of_the_demo_survives_being_read_and_put_back(
    package: ModuleType, client: Any, app: Flask, scene: Scene, thing: Thing
) -> None:
    found = codes(app, scene, thing.path.split("/")[2])
    assert found
    for code in found:
        before = app.test_client().get(thing.path.format(code), headers=scene.headers)
        read = operation(package, thing.tag, thing.reads).sync_detailed(code, client=client)
        assert read.status_code == 200
        body = model(package, thing.body).from_dict(read.parsed.to_dict())
        put = operation(package, thing.tag, thing.puts).sync_detailed(code, client=client, body=body, if_match=before.headers["ETag"])
        assert put.status_code == 200, (code, put.content)
        after = app.test_client().get(thing.path.format(code), headers=scene.headers)
        assert (after.data, after.headers["ETag"]) == (before.data, before.headers["ETag"]), code


def test_a_list_is_read_whole_with_each_task_as_what_it_is(package: ModuleType, client: Any, app: Flask, scene: Scene) -> None:
    read = operation(package, "prep_lists", "get_prep_list").sync_detailed
    answer = read("mill-street", TOMORROW, client=client)
    sent = app.test_client().get(f"/v1/sites/mill-street/prep-lists/{TOMORROW}", headers=scene.headers).get_json()
    kinds = {"prep": "PrepTask", "make": "MakeTask", "use": "UseTask"}
    tasks = [task for station in answer.parsed.stations for task in station.tasks]
    assert {type(task).__name__ for task in tasks} >= {"PrepTask", "MakeTask"}
    assert all(type(task).__name__ == kinds[task.kind.value] for task in tasks)
    assert answer.parsed.to_dict() == sent
