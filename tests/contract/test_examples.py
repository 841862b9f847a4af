"""The examples of the published document: accepted as they stand, by a new group and by the demo, and answers really given."""

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

import pytest
from flask import Flask

from service.api.document.openapi import build
from service.api.document.recorded import TODAY, dated
from service.api.wire.json import parse, render
from service.app import NOUNS
from tests.api.caller import Caller
from tests.contract.group import BODIES, CLOSING, DAY, DOCUMENT, OPENING, READINGS, follow, opened, prepared, send, shared
from tests.contract.recording import committed, record, write
from tests.contract.scene import Scene


@pytest.fixture
def director(sqlite_url: str) -> Iterator[Caller]:
    """The director of a new group."""
    with opened(sqlite_url) as caller:
        yield caller


def test_a_new_group_can_send_every_example_as_it_stands(director: Caller) -> None:
    sent = dict(follow(director, OPENING + DAY))
    assert sent["push_forecasts"].get_json()["refused"] == []


def test_what_nobody_uses_yet_can_be_withdrawn_by_its_example(director: Caller) -> None:
    assert len(list(follow(director, OPENING + CLOSING))) == len(OPENING + CLOSING)


def test_every_example_of_a_body_is_sent() -> None:
    assert {name for name, _ in OPENING + DAY + CLOSING} >= set(BODIES)
    assert all(BODIES.values())


def test_every_reading_of_what_the_examples_made_is_answered(director: Caller) -> None:
    assert list(follow(director, OPENING + DAY))
    secret = shared(director)
    for name in READINGS:
        assert send(director, name, {"task": prepared(director), "secret": secret}).status_code == 200, name


def test_every_answer_has_an_example_and_the_service_gives_it(director: Caller) -> None:
    assert write(record(director)) == committed(), "record them again: python -m tests.contract.record"
    for operations in DOCUMENT["paths"].values():
        for operation in operations.values():
            for status, answer in operation["responses"].items():
                content = answer.get("content", {}).get("application/json")
                if status < "300" and content is not None and operation["operationId"] not in dict(CLOSING):
                    assert "example" in content, (operation["operationId"], status)


# What the demo's own kitchens make of an example: a version in use cannot be withdrawn, and its list has other tasks.
ELSEWHERE = {"withdraw_version", "report_progress"}


@pytest.mark.parametrize("name", sorted(BODIES.keys() - ELSEWHERE))
def test_the_demo_takes_every_example_as_it_stands(app: Flask, scene: Scene, name: str) -> None:
    caller = Caller(app.test_client(), scene.token)
    answer = send(caller, name)
    if answer.status_code == 428:
        answer = send(caller, name, headers={"If-Match": "*"})
    assert answer.status_code in (200, 201), answer.get_data(as_text=True)
    if name == "push_forecasts":
        assert (answer.get_json()["accepted"], answer.get_json()["refused"]) == (2, [])


def test_what_is_served_is_dated_from_the_day_on_which_it_is_read() -> None:
    later = date(2027, 3, 1) - TODAY
    shown: Any = parse(render(dated(build(NOUNS), later)))
    example = shown["paths"]["/v1/forecasts"]["post"]["requestBody"]["content"]["application/json"]["example"]
    assert (example["as_of"], example["entries"][0]["date"]) == ("2027-02-28T21:00:00-06:00", "2027-03-02")
    assert dated(build(NOUNS), timedelta()) == build(NOUNS)
    assert shown["paths"]["/v1/forecasts"]["post"]["summary"] == DOCUMENT["paths"]["/v1/forecasts"]["post"]["summary"]
