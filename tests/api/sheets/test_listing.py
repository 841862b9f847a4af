from service.api.sheets import listing, words
from service.kitchen.lists.documents import Discarded
from tests.api.sheet_list import COOK, EMPTY, LIST, PREP, PULL, at, list_of


def test_a_list_reads_from_stations_down_to_cautions() -> None:
    assert listing.write(LIST).splitlines() == [
        "Prep list of mill-street for 2026-12-03, planned from 2026-12-02",
        "",
        "HOT LINE (25 min hands-on)",
        "  [ ] LATE, Wed 2 Dec 17:07  make  Lentil soup (stage 1 of 2): 50 L",
        "           Puts at risk: 41 portions of soup bowl, lunch, Thu 3 Dec",
        "           need 52 L, have 3 L, 1 L will be over",
        "           2 × 25 L",
        "             46.1 g Cumin (toasted)",
        "             20 L Water",
        "           1. Sweat the onion. Leave 1 h: ready from 08:55, best at 09:05, no later than 09:35.",
        "           2. Simmer. Set to 180 °C. Leave 40 min, until 10:40.",
        f"              Safety: {words.safety(COOK)}",
        "           for Soup bowl, lunch; Soup bowl, lunch, Fri 4 Dec; par 2 L by 09:00",
        "           use by the end of Fri 4 Dec",
        "           allergens: celery, fish (cod); may contain brazil nut",
        "  [ ] 05:52  prep  Chicken, breast: 5.6 kg",
        "           need 5 kg, 600 g will be over",
        "           from 21.6 kg Chicken, whole",
        "           gives 6.7 kg Chicken, leg, 5.2 kg Chicken carcass",
        "           for Soup bowl, lunch",
        "  [ ] 06:45  use   Chicken stock: 7 L",
        "           for Soup bowl, lunch",
        "           use by Fri 4 Dec 04:00",
        "",
        "PULL FROM STORE",
        "  [ ] 06:20  Trout: 3 kg, thaws 2 d",
        "",
        "LEFT OVER",
        "  Bread ends: 250 g, keeps",
        "",
        "WARNINGS",
        "  1 entry should have begun before 2026-12-02",
        "",
        "TAKE CARE",
        "  Follow your local food code.",
    ]


def test_what_is_overdue_says_until_when_it_could_still_begin() -> None:
    tasks, pulls = [PREP | {"overdue": True, "last_start": at("06:30")}], [PULL | {"overdue": True, "last_start": at("06:30")}]
    told = listing.write(list_of(*tasks, pulls=pulls)).splitlines()
    for entry, last in (
        ("  [ ] OVERDUE, 05:52  prep  Chicken, breast: 5.6 kg", "           Last start 06:30"),
        ("  [ ] OVERDUE, 06:20  Trout: 3 kg, thaws 2 d", "      Last start 06:30"),
    ):
        assert told[told.index(entry) + 1] == last


def test_a_list_of_nothing_is_its_heading() -> None:
    assert listing.write(EMPTY) == "Prep list of mill-street for 2026-12-03, planned from 2026-12-02"


def test_what_is_to_be_discarded_stands_behind_what_is_left_over_with_its_reason() -> None:
    why = "made on Sun 29 Nov, counted on Tue 1 Dec, to be used by the end of Mon 30 Nov"
    row: Discarded = {**LIST["left_over"][0], "why": why}
    told = listing.write(LIST | {"discard": [row]}).splitlines()
    place = told.index("DISCARD")
    assert told[place - 2 : place + 3] == ["  Bread ends: 250 g, keeps", "", "DISCARD", f"  Bread ends: 250 g, {why}", ""]
