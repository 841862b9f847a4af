"""Baselines: what the least that could be done for each job costs.

Responsible for a plain explosion in dicts, a route that sends the same bytes, the driver's own insert, and reading JSON. Refuses to use
any part of the service.
"""

import json
import math
import sqlite3
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from flask import Flask, Response, request

from tests.bench.workload import Plain


def explosion(plain: Plain, counts: Sequence[tuple[int, float]]) -> dict[str, float]:
    """What some guests of menu items need of everything: dicts and floats, batches rounded once an item; no dates and no lots."""
    need: dict[str, float] = {}
    for menu_item, count in counts:
        for code, amount in plain.parts[menu_item]:
            need[code] = need.get(code, 0.0) + count * amount
    for code, made, takes in plain.recipes:
        amount = need.get(code, 0.0)
        if amount:
            batches = math.ceil(amount / made - 1e-9)
            for item, taken in takes:
                need[item] = need.get(item, 0.0) + batches * taken
    return need


def static(content: bytes, tag: str) -> Flask:
    """An application with one route, which reads what is sent, and answers the same bytes or, where they are known, 304."""
    app = Flask("static")

    @app.route("/", methods=["GET", "POST"])
    def answer() -> Response:
        request.get_data()
        if request.headers.get("If-None-Match") == tag:
            return Response(status=304)
        return Response(content, headers={"ETag": tag}, mimetype="application/json")

    return app


def insert(file: Path, table: str, rows: Sequence[Sequence[Any]]) -> Callable[[], None]:
    """Inserting rows into an empty table of a file, in one statement of the driver's."""
    marks = ", ".join("?" * len(rows[0]))

    def work() -> None:
        with sqlite3.connect(file) as connection:
            connection.executemany(f"INSERT INTO {table} VALUES ({marks}) ON CONFLICT DO NOTHING", rows)  # noqa: S608 - our own names
        connection.close()

    return work


def parse(content: bytes) -> Any:
    """Reading JSON by the standard library."""
    return json.loads(content)
