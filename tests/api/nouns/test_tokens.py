"""Tokens over the interface: shown once, listed without their secret, revoked at once."""

from collections.abc import Callable

import pytest

from tests.api.caller import Caller, faults


def test_a_token_is_shown_once_and_works_until_it_is_revoked(director: Caller) -> None:
    made = director.post("/v1/tokens", {"name": "Mill Street pass", "role": "kitchen", "sites": ["mill-street"]})
    assert (made.status_code, made.headers["Cache-Control"]) == (201, "private, no-store")
    token = made.get_json()
    caller = Caller(director.client, token["token"])
    assert caller.get("/v1/whoami").get_json() == {
        "id": token["id"],
        "name": "Mill Street pass",
        "role": "kitchen",
        "sites": ["mill-street"],
        "source": None,
        "expires_at": "2027-12-02T12:00:00Z",
    }
    listed = director.get("/v1/tokens")
    assert token["id"] in [row["id"] for row in listed.get_json()["items"]]
    assert token["token"] not in listed.get_data(as_text=True)
    assert director.delete(f"/v1/tokens/{token['id']}").status_code == 204
    assert caller.get("/v1/whoami").status_code == 401
    assert director.delete("/v1/tokens/unknown").status_code == 404


@pytest.mark.parametrize(
    ("body", "pointer", "code"),
    [
        ({"role": "viewer"}, "/name", "required"),
        ({"name": "x", "role": "chef"}, "/role", "not_in_list"),
        ({"name": "x", "role": "viewer", "days": 0}, "/days", "out_of_range"),
        ({"name": "x", "role": "viewer", "sites": []}, "/sites", "required"),
        ({"name": "x", "role": "viewer", "sites": ["Mill"]}, "/sites/0", "wrong_type"),
        ({"name": "x", "role": "integration"}, "/source", "required"),
        ({"name": "x", "role": "viewer", "source": "till"}, "/source", "out_of_range"),
        ({"name": "x", "role": "director", "sites": ["mill-street"]}, "/sites", "out_of_range"),
    ],
)
def test_a_token_that_makes_no_sense_is_refused(director: Caller, body: dict[str, object], pointer: str, code: str) -> None:
    answer = director.post("/v1/tokens", body)
    assert (answer.status_code, faults(answer)) == (422, {(pointer, code)})


def test_a_token_may_be_for_a_site_that_is_made_later_and_its_maker_is_told(director: Caller) -> None:
    body = {"name": "x", "role": "viewer", "sites": ["mill-stret"]}
    made = director.post("/v1/tokens", body)
    assert (made.status_code, made.get_json()["warnings"]) == (
        201,
        [{"code": "unknown_site", "detail": "there is no site mill-stret yet"}],
    )
    site = {"name": "x", "time_zone": "UTC", "periods": [{"code": "lunch", "name": "Lunch", "ready_by": "11:00"}]}
    assert director.put("/v1/sites/mill-stret", site).status_code == 201
    assert "warnings" not in director.post("/v1/tokens", body).get_json()
    assert "warnings" not in director.post("/v1/tokens", {"name": "x", "role": "director"}).get_json()


def test_only_a_director_makes_tokens(caller_of: Callable[..., Caller]) -> None:
    for caller in (caller_of("viewer"), caller_of("kitchen", ["mill-street"])):
        assert caller.post("/v1/tokens", {"name": "x", "role": "director"}).status_code == 403
