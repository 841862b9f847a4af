import os
import re
from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner

from service import demo
from service.cli import commands
from service.config import Config
from service.limits import ROLES
from service.operations import tokens
from service.operations.forecasts import entries
from service.shell import reading

NOW = datetime(2026, 12, 2, 12, tzinfo=UTC)
CONFIG = Config(database_url="sqlite:///elsewhere.sqlite3", pinned=NOW)


def test_the_demo_has_a_database_of_its_own_in_a_new_folder_and_removes_it() -> None:
    with demo.temporary(CONFIG) as config:
        place = Path(config.database_url.removeprefix("sqlite:///")).parent
        assert place.is_dir()
        assert config.database_url != CONFIG.database_url
        assert config.pinned == NOW
    assert not place.exists()


def test_a_process_that_did_not_make_the_folder_leaves_it(monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as patched, demo.temporary(CONFIG) as config:
        patched.setattr(os, "getpid", lambda: -1)
    place = Path(config.database_url.removeprefix("sqlite:///")).parent
    assert place.is_dir()
    place.rmdir()


def test_the_seeds_pass_the_checks_of_any_import_and_make_a_list_for_tomorrow() -> None:
    with demo.temporary(CONFIG) as config:
        made = demo.prepare(config)
        assert set(made.tokens) == set(ROLES)
        assert made.prep_list["site"] == "mill-street"
        assert made.prep_list["date"] == "2026-12-03"
        assert [station["code"] for station in made.prep_list["stations"]]
        with reading(config) as session:
            identities = {role: tokens.authenticate(session, token, NOW) for role, token in made.tokens.items()}
            assert {role: identity.role for role, identity in identities.items()} == {role: role for role in ROLES}
            pushed = entries(session, datetime(2026, 12, 1, tzinfo=UTC).date(), datetime(2026, 12, 31, tzinfo=UTC).date(), None, 1)
            assert pushed[0]["as_of"] == "2026-12-02T12:00:00Z"


def test_dates_are_counted_from_the_sites_own_today() -> None:
    day = datetime(2026, 12, 2, tzinfo=UTC).date()
    assert demo.dated({"day": -1, "count": 5}, day, {"day": "date"}) == {"date": "2026-12-01", "count": 5}
    assert demo.dated({"count": 5}, day, {"day": "date"}) == {"count": 5}


def test_the_demo_prints_a_list_its_tokens_and_its_address_and_ends(tmp_path: Path) -> None:
    environment = {"DATABASE_URL": f"sqlite:///{tmp_path / 'mine.sqlite3'}", "KITCHEN_PREP_NOW": "2026-12-02T12:00:00Z"}
    result = CliRunner().invoke(commands, ["demo", "--once"], env=environment)
    assert result.exit_code == 0, result.output
    assert result.stdout.startswith("Prep list of mill-street for 2026-12-03, planned from 2026-12-02\n")
    assert "PULL FROM STORE" in result.stdout
    assert "\n  [ ] " in result.stdout
    assert re.search(r"in any browser: http://127\.0\.0\.1:8000/sheets/[A-Za-z0-9_-]{43}\?date=2026-12-03\n", result.stdout)
    assert all(f"\n  {role} " in result.stdout for role in ROLES)
    assert "http://127.0.0.1:8000/v1/sites/mill-street/prep-lists/2026-12-03" in result.stdout
    assert not list(tmp_path.iterdir())
