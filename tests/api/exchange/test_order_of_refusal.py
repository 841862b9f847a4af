"""The order in which a request is refused: 401, 403, 404, 405, 406, 413, 415, 400, 422, 428, 412, 409."""

from collections.abc import Callable

import pytest

from tests.api.bodies import DRAFT, SITE, STATION
from tests.api.caller import Caller, faults

BROKEN = b"{"


@pytest.fixture
def veg(director: Caller) -> str:
    """The path of a station."""
    assert director.put("/v1/stations/veg", STATION).status_code == 201
    return "/v1/stations/veg"


def test_401_goes_before_everything(anybody: Caller) -> None:
    for method, path in (("GET", "/v1/nowhere"), ("PATCH", "/v1/stations"), ("PUT", "/v1/stations/veg"), ("POST", "/v1/imports")):
        answer = anybody.send(method, path, raw=BROKEN, headers={"Accept": "image/png"})
        assert (answer.status_code, answer.headers["WWW-Authenticate"]) == (401, 'Bearer realm="kitchen-prep"')
        assert answer.content_type == "application/problem+json"


@pytest.mark.parametrize("header", ["Bearer", "Bearer nonsense", "Basic a2l0Y2hlbg==", "Bearer kp_" + "x" * 43, "bearer  \t", "Bearer a b"])
def test_a_token_that_is_not_valid_is_401(anybody: Caller, header: str) -> None:
    answer = anybody.get("/v1/whoami", Authorization=header)
    assert answer.status_code == 401
    assert 'error="invalid_token"' in answer.headers["WWW-Authenticate"]


def test_403_goes_before_404_405_and_bodies(caller_of: Callable[..., Caller]) -> None:
    till = caller_of("integration", None, "till-east")
    assert till.send("PUT", "/v1/stations/veg", raw=BROKEN).status_code == 403
    assert till.get("/v1/stations/nothing").status_code == 403
    assert till.send("PATCH", "/v1/stations/veg").status_code == 403
    assert till.get("/v1/whoami").status_code == 200


def test_404_goes_before_406_415_and_bodies(director: Caller) -> None:
    for method, path in (
        ("POST", "/v1/recipes/soup/versions"),
        ("POST", "/v1/recipes/soup/scalings"),
        ("POST", "/v1/recipes/soup/versions/1/withdrawal"),
        ("POST", "/v1/sites/mill-street/counts"),
        ("PUT", "/v1/sites/mill-street/overrides/2026-12-03/lunch/bowl"),
    ):
        assert director.send(method, path, raw=BROKEN, headers={"Accept": "image/png", "Content-Type": "text/plain"}).status_code == 404


def test_a_thing_that_is_not_there_is_404_before_405(director: Caller) -> None:
    assert director.send("PATCH", "/v1/sites/mill-street/forecasts").status_code == 404
    director.put("/v1/sites/mill-street", SITE)
    assert director.send("PATCH", "/v1/sites/mill-street/forecasts").status_code == 405


def test_405_names_the_methods(director: Caller, veg: str) -> None:
    answer = director.send("POST", veg, raw=BROKEN, headers={"Accept": "image/png"})
    assert (answer.status_code, answer.headers["Allow"]) == (405, "DELETE, GET, HEAD, OPTIONS, PUT")


def test_406_goes_before_413_415_and_400(director: Caller, veg: str) -> None:
    assert director.send("PUT", veg, raw=BROKEN, headers={"Accept": "image/png", "Content-Type": "text/plain"}).status_code == 406


def test_415_goes_before_400(director: Caller, veg: str) -> None:
    for kind in ("text/plain", "application/x-www-form-urlencoded", "application/json; charset=latin-1", ""):
        assert director.send("PUT", veg, raw=BROKEN, headers={"Content-Type": kind}).status_code == 415
    assert director.send("PUT", veg, raw=BROKEN, headers={"Content-Encoding": "br"}).status_code == 415


def test_413_goes_before_400(director: Caller, veg: str) -> None:
    assert director.send("PUT", veg, raw=BROKEN * (1 << 20) + b"{").status_code == 413


def test_400_goes_before_422_of_the_query(director: Caller, veg: str) -> None:
    answer = director.send("PUT", veg + "?colour=red", raw=BROKEN)
    assert (answer.status_code, answer.get_json()["type"]) == (400, "/problems/unparseable")


def test_422_goes_before_428_and_tells_every_fault_of_body_query_and_headers(director: Caller, veg: str) -> None:
    answer = director.send("PUT", veg + "?colour=red", {"position": "x", "hue": 1}, headers={"If-Match": "unquoted"})
    assert answer.status_code == 422
    assert faults(answer) == {
        ("/name", "required"),
        ("/position", "wrong_type"),
        ("/hue", "unknown_field"),
        ("colour", "unknown_field"),
        ("If-Match", "wrong_type"),
    }


def test_428_then_412(director: Caller, veg: str) -> None:
    assert director.put(veg, STATION).status_code == 428
    assert director.put(veg, STATION, If_Match='"old"').status_code == 412
    assert director.delete(veg).status_code == 428
    assert director.delete(veg, If_Match='"old"').status_code == 412


def test_412_goes_before_409(director: Caller, veg: str) -> None:
    form = {"code": "dice", "name": "dice", "station": "veg", "trim_yield": 1}
    assert director.put("/v1/ingredients/onion", {"name": "Onion", "kind": "mass", "forms": [form]}).status_code == 201
    assert director.delete(veg, If_Match='"old"').status_code == 412
    answer = director.delete(veg, If_Match="*")
    assert (answer.status_code, answer.get_json()["type"]) == (409, "/problems/in-use")
    assert {code for _, code in faults(answer)} == {"in_use"}


def test_publishing_the_same_again_is_409(director: Caller, veg: str) -> None:
    assert director.put("/v1/ingredients/onion", {"name": "Onion", "kind": "mass"}).status_code == 201
    draft = {
        **DRAFT,
        "yield": {"amount": 1, "unit": "kg"},
        "lines": [{"item": {"ingredient": "onion"}, "quantity": {"amount": 2, "unit": "kg"}}],
    }
    assert director.put("/v1/recipes/soup/draft", draft).status_code == 201
    made = director.post("/v1/recipes/soup/versions", {"from": "2026-12-02"})
    assert (made.status_code, made.headers["Location"]) == (201, "/v1/recipes/soup/versions/1")
    again = director.post("/v1/recipes/soup/versions", {"from": "2026-12-02"})
    assert (again.status_code, faults(again)) == (409, {("", "nothing_to_publish")})


@pytest.mark.parametrize(
    "path",
    [
        "/v1/stations/Veg",
        "/v1/stations/-veg",
        "/v1/stations/" + "a" * 65,
        "/v1/stations/veg/",
        "/v1//stations",
        "/v1/recipes/soup/versions/0",
        "/v1/recipes/soup/versions/99999999999999999999",
        "/v1/sites/mill-street/prep-lists/2026-02-30",
        "/v1/sites/mill-street/prep-lists/1999-12-31",
        "/v1/sites/mill-street/prep-lists/tomorrow",
        "/v1/stations/%00",
        "/v1/stations/%ff",
        "/nowhere",
    ],
)
def test_a_path_of_the_wrong_shape_names_nothing(director: Caller, path: str) -> None:
    director.put("/v1/sites/mill-street", SITE)
    answer = director.get(path)
    assert (answer.status_code, answer.get_json()["type"]) == (404, "/problems/not-found")


def test_a_date_that_does_not_exist_is_404_for_every_method(director: Caller) -> None:
    for method in ("GET", "DELETE", "PUT", "PATCH"):
        assert director.send(method, "/v1/sites/mill-street/overrides/2026-02-30/lunch/bowl", {}).status_code == 404
