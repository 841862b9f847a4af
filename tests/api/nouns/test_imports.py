"""An import tells which users its ingredients would break, each at the ingredient that does."""

from tests.api.caller import Caller, faults
from tests.api.shop import CATALOGUE, open_shop


def test_an_ingredient_that_its_users_need_as_it_was_is_refused_where_it_stands(director: Caller) -> None:
    open_shop(director)
    onion, *others = CATALOGUE["ingredients"]
    bare = {**onion, "forms": []}
    refused = director.post("/v1/imports", {"ingredients": [*others, bare]})
    assert (refused.status_code, faults(refused)) == (422, {("/ingredients/3/forms", "in_use")})
    assert director.post("/v1/imports", {"ingredients": [*others, onion]}).get_json()["unchanged"] == 4
