from typing import Any

from service.api.sheets import listing


def quantity(display: str) -> dict[str, Any]:
    return {"amount": 1, "unit": "g", "display": display}


def part(title: str, display: str, **more: Any) -> dict[str, Any]:
    return {"item": {"title": title}, "quantity": quantity(display), **more}


DAY = "2026-12-03"
LIST: dict[str, Any] = {
    "site": "mill-street",
    "date": DAY,
    "from": "2026-12-02",
    "stations": [
        {
            "name": "Vegetable prep",
            "active": "PT1H35M",
            "tasks": [
                part(
                    "Onion, small dice",
                    "2 kg",
                    kind="prep",
                    start_by="2026-12-03T08:10:00-05:00",
                    use_by="2026-12-05T04:00:00-05:00",
                    late=False,
                    draw=[part("Onion", "2.25 kg")],
                    gives=[part("Onion trim", "180 g")],
                )
            ],
        },
        {
            "name": "Hot line",
            "active": "PT10M",
            "tasks": [
                part(
                    "Lentil soup",
                    "50 L",
                    kind="make",
                    stage={"number": 1, "of": 2},
                    start_by="2026-12-02T17:00:00-05:00",
                    late=True,
                    batches=[{"count": 2, "quantity": quantity("25 L"), "lines": [part("Cumin", "46 g", note="toasted")]}],
                    steps=[{"number": 1, "text": "Sweat the onion."}],
                    **{"for": ["Soup bowl, lunch"]},
                )
            ],
        },
    ],
    "pulls": [part("Trout", "3 kg", start_by="2026-12-03T06:00:00-05:00", thaw="P1DT12H", late=False)],
    "left_over": [part("Onion", "250 g", use_by=None)],
    "warnings": [{"code": "no_forecast", "detail": "No forecast for dinner."}],
    "cautions": ["Follow your local food code."],
}


def test_a_list_reads_from_stations_down_to_cautions() -> None:
    assert listing.write(LIST).splitlines() == [
        "Prep list of mill-street for 2026-12-03, planned from 2026-12-02",
        "",
        "VEGETABLE PREP (1 h 35 min hands-on)",
        "  08:10  prep  Onion, small dice: 2 kg",
        "           from 2.25 kg Onion",
        "           gives 180 g Onion trim",
        "           use by Sat 5 Dec 04:00",
        "",
        "HOT LINE (10 min hands-on)",
        "  LATE, Wed 2 Dec 17:00  make  Lentil soup (stage 1 of 2): 50 L",
        "           2 × 25 L",
        "             46 g Cumin (toasted)",
        "           1. Sweat the onion.",
        "           for Soup bowl, lunch",
        "",
        "PULL FROM STORE",
        "  06:00  Trout: 3 kg, thaws 1 d 12 h",
        "",
        "LEFT OVER",
        "  Onion: 250 g, keeps",
        "",
        "WARNINGS",
        "  No forecast for dinner.",
        "",
        "TAKE CARE",
        "  Follow your local food code.",
    ]


def test_a_list_of_nothing_is_its_heading() -> None:
    empty = LIST | {key: [] for key in ("stations", "pulls", "left_over", "warnings", "cautions")}
    assert listing.write(empty) == "Prep list of mill-street for 2026-12-03, planned from 2026-12-02"
