"""A prep list by hand: one station with a late make, a prep that gives a cut, a use, and a pull that thaws."""

import copy

from service.kitchen.lists.documents import BatchLine, MakeTask, PrepList, PrepTask, PullEntry, TaskEntry, UseTask
from service.kitchen.lists.parts import ComputedQuantity, Portion
from service.kitchen.safety.safety import StepSafety

DAY = "2026-12-03"


def measured(display: str, amount: float = 1.0, unit: str = "g") -> ComputedQuantity:
    return {"amount": amount, "unit": unit, "display": display}


def portion(title: str, display: str, code: str = "onion") -> Portion:
    return {"item": {"ingredient": code, "title": title}, "quantity": measured(display)}


def line(title: str, display: str, step: int | None, *, critical: bool = False, note: str = "") -> BatchLine:
    return {**portion(title, display), "step": step, "critical": critical, "note": note}


def at(clock: str, day: str = DAY) -> str:
    return f"{day}T{clock}:00-05:00"


COOK: StepSafety = {
    "kind": "cook",
    "class": "poultry",
    "temperature": {"amount": 82.0, "unit": "degC", "display": "82 °C"},
    "time": None,
    "stages": None,
    "asks": {"temperature": {"amount": 74.0, "unit": "degC", "display": "74 °C"}, "time": None},
    "section": "3-401.11(A)(3)",
    "edition": "Food Code of a test",
    "note": None,
    "reason": None,
    "laxer": False,
    "display": "82 °C; the code asks at least 74 °C, Food Code of a test 3-401.11",
}
MAKE: MakeTask = {
    "id": "make.mill-street.lentil-soup.2026-12-03.1",
    "kind": "make",
    "item": {"recipe": "lentil-soup", "title": "Lentil soup"},
    "version": 3,
    "stage": {"number": 1, "of": 2},
    "need": measured("52 L", 52_000.0, "mL"),
    "have": measured("3 L", 3_000.0, "mL"),
    "quantity": measured("50 L", 50_000.0, "mL"),
    "surplus": measured("1 L", 1_000.0, "mL"),
    "draw": [portion("Cumin", "92.2 g"), portion("Water", "40 L")],
    "gives": [],
    "start_by": at("17:07", "2026-12-02"),
    "ready_by": at("10:40"),
    "use_by": at("04:00", "2026-12-05"),
    "use_by_date": "2026-12-04",
    "active": "PT25M",
    "late": True,
    "at_risk": [{"menu_item": "soup-bowl", "date": DAY, "period": "lunch", "event": None, "portions": 41}],
    "for": ["Soup bowl, lunch", "Soup bowl, lunch, Fri 4 Dec", "par 2 L by 09:00"],
    "batches": [
        {
            "count": 2,
            "quantity": measured("25 L"),
            "factor": 1.25,
            "lines": [line("Cumin", "46.1 g", 1, critical=True, note="toasted"), line("Water", "20 L", None)],
        }
    ],
    "steps": [
        {
            "number": 1,
            "text": "Sweat the onion.",
            "why": "Browning would darken the soup.",
            "starts": at("17:07", "2026-12-02"),
            "active": "PT15M",
            "passive": "PT1H",
            "window": {"min": at("08:55"), "target": at("09:05"), "max": at("09:35")},
            "safety": None,
        },
        {
            "number": 2,
            "text": "Simmer.",
            "set_to": {"amount": 180.0, "unit": "degC", "display": "180 °C"},
            "why": None,
            "starts": at("09:50"),
            "active": "PT10M",
            "passive": "PT40M",
            "window": None,
            "safety": COOK,
        },
    ],
    "allergens": {"contains": ["celery", "fish:cod"], "may_contain": ["brazil_nut"]},
    "progress": None,
}
PREP: PrepTask = {
    "id": "prep.mill-street.chicken.breast.2026-12-03.1",
    "kind": "prep",
    "item": {"ingredient": "chicken", "form": "breast", "title": "Chicken, breast"},
    "version": None,
    "stage": {"number": 1, "of": 1},
    "need": measured("5 kg"),
    "have": measured("0 g", 0.0),
    "quantity": measured("5.6 kg"),
    "surplus": measured("600 g"),
    "draw": [portion("Chicken, whole", "21.6 kg", "chicken")],
    "gives": [
        {
            "item": {"ingredient": "chicken", "form": "leg", "title": "Chicken, leg"},
            "need": measured("6.1 kg"),
            "have": measured("250 g"),
            "quantity": measured("6.7 kg"),
            "surplus": measured("850 g"),
        },
        {"item": {"ingredient": "carcass", "title": "Chicken carcass"}, "quantity": measured("5.2 kg")},
    ],
    "start_by": at("05:52"),
    "ready_by": at("06:30"),
    "use_by": None,
    "active": "PT0S",
    "late": False,
    "at_risk": [],
    "for": ["Soup bowl, lunch"],
    "allergens": {"contains": [], "may_contain": []},
    "progress": None,
}
USE: UseTask = {
    "id": "use.mill-street.stock.2026-12-03.20261204T040000",
    "kind": "use",
    "item": {"recipe": "stock", "title": "Chicken stock"},
    "version": 2,
    "quantity": measured("7 L"),
    "start_by": at("06:45"),
    "ready_by": at("06:45"),
    "use_by": at("04:00", "2026-12-04"),
    "active": "PT0S",
    "late": False,
    "at_risk": [],
    "for": ["Soup bowl, lunch"],
    "allergens": {"contains": [], "may_contain": []},
    "progress": None,
}
PULL: PullEntry = {
    "id": "pull.mill-street.trout.2026-12-05",
    "item": {"ingredient": "trout", "title": "Trout"},
    "quantity": measured("3 kg"),
    "need_by": at("06:20", "2026-12-05"),
    "start_by": at("06:20"),
    "thaw": "P2D",
    "storage": "frozen",
    "stations": ["hot-line"],
    "late": False,
    "at_risk": [],
    "for": ["Soup bowl, lunch"],
    "progress": None,
}
LIST: PrepList = {
    "site": "mill-street",
    "date": DAY,
    "from": "2026-12-02",
    "units": "metric",
    "print": None,
    "expected": [
        {
            "period": "lunch",
            "event": None,
            "at": at("11:30"),
            "menu_item": "soup-bowl",
            "name": "Soup bowl",
            "count": 41.3,
            "from": "override",
            "sources": ["till-east"],
        }
    ],
    "stations": [{"code": "hot-line", "name": "Hot line", "active": "PT25M", "tasks": [MAKE, PREP, USE]}],
    "pulls": [PULL],
    "left_over": [{**portion("Bread ends", "250 g"), "use_by": None, "use_by_date": None}],
    "warnings": [{"code": "late", "detail": "1 entry should have begun before 2026-12-02"}],
    "cautions": ["Follow your local food code."],
}
EMPTY: PrepList = LIST | {"expected": [], "stations": [], "pulls": [], "left_over": [], "warnings": [], "cautions": []}


def list_of(*tasks: TaskEntry, pulls: list[PullEntry] | None = None) -> PrepList:
    """The list with these tasks at its one station, and other pulls; a copy that a test may change."""
    changed = copy.deepcopy(LIST)
    changed["stations"][0]["tasks"] = copy.deepcopy(list(tasks))
    if pulls is not None:
        changed["pulls"] = copy.deepcopy(pulls)
    return changed
