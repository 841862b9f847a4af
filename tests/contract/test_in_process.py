"""Whatever fits the published document, and whatever does not, is answered as the document says; without a server between."""

import json
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from flask import Flask
from hypothesis import settings
from schemathesis import Case, Response
from schemathesis.config import SchemathesisConfig

from service.resources import folder
from tests.contract.budget import BUDGET
from tests.contract.scene import Scene, opened
from tests.strict import strict

CONFIG = SchemathesisConfig.from_path(Path(__file__).with_name("schemathesis.toml"))
CONFIG.projects.default.phases.fuzzing.generation.update(max_examples=BUDGET.examples)
SCHEMA = schemathesis.openapi.from_dict(strict(json.loads((folder("openapi") / "openapi.json").read_text("utf-8"))), config=CONFIG)

# What the demo has in use, what another request must make before, and what asks for a cursor that another answer gives.
BEHIND = (
    "[GET /v1/order-lists]",
    "[GET /v1/prep-lists/{date}]",
    "[GET /v1/revisions]",
    "[DELETE /v1/stations/{code}]",
    "[DELETE /v1/equipment/{code}]",
    "[DELETE /v1/ingredients/{code}]",
    "[DELETE /v1/sites/{code}]",
    "[PUT /v1/sites/{site}/overrides/{date}/{period}/{menu_item}]",
    "[DELETE /v1/sites/{site}/overrides/{date}/{period}/{menu_item}]",
    "[PUT /v1/sites/{site}/capacity/{date}]",
    "[DELETE /v1/sites/{site}/capacity/{date}]",
    "[GET /v1/sites/{site}/prep-lists/{date}/tasks/{task}/progress]",
)


class Stage:
    """The application that answers now. It packs no answer, because the tool reads them as they come in-process."""

    def __init__(self) -> None:
        self.app: Flask | None = None
        self.statuses: Counter[int] = Counter()

    def __call__(self, environ: dict[str, Any], start: Any) -> Iterable[bytes]:
        environ.pop("HTTP_ACCEPT_ENCODING", None)

        def note(status: str, *rest: Any) -> Any:
            self.statuses[int(status[:3])] += 1
            return start(status, *rest)

        assert self.app is not None
        return self.app(environ, note)


STAGE = Stage()
SCHEMA.app = STAGE


@pytest.fixture(autouse=True)
def on_stage(app: Flask, request: pytest.FixtureRequest) -> Iterator[None]:
    """Requests go to a fresh copy of the demo; some of each operation's succeed, so that its answers are looked at."""
    STAGE.app, STAGE.statuses = app, Counter()
    yield
    STAGE.app = None
    reached = any(200 <= status < 300 for status in STAGE.statuses)
    assert reached or request.node.name.endswith(BEHIND), STAGE.statuses


@SCHEMA.parametrize()
def test_every_operation_answers_as_documented(case: Case[Any], scene: Scene) -> None:
    case.call_and_validate(headers=scene.headers)


def test_what_links_lead_to_is_answered_as_documented(scene: Scene, tmp_path: Path) -> None:
    followed: Counter[tuple[str, int]] = Counter()

    class Walk(SCHEMA.as_state_machine()):  # type: ignore[misc]
        """Requests one after the other, with what the answers before them told; each walk begins with the same demo."""

        def setup(self) -> None:
            self.stack = ExitStack()
            STAGE.app = self.stack.enter_context(opened(scene, tmp_path / "walk.sqlite3"))

        def teardown(self) -> None:
            self.stack.close()
            super().teardown()

        def get_call_kwargs(self, case: Case[Any]) -> dict[str, Any]:
            del case
            return {"headers": scene.headers}

        def validate_response(self, response: Response, case: Case[Any], additional_checks: Any = None, **sent: Any) -> None:
            case.validate_response(response, headers=scene.headers, additional_checks=additional_checks, transport_kwargs=sent)

        def after_call(self, response: Response, case: Case[Any]) -> None:
            followed[case.method, response.status_code] += 1

    Walk.run(settings=settings(max_examples=BUDGET.walks, stateful_step_count=BUDGET.steps))
    assert followed["POST", 201], followed
    assert followed["DELETE", 204], followed
