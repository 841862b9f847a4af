"""What lists and schedules tell of loads, cooks and machines: worked examples of our own, checked by hand (K1, K12 to K17)."""

from datetime import datetime
from typing import Any

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.recipe import Version
from service.kitchen.capacity.scheduled import Scheduled
from service.kitchen.lists.documents import PrepList, TaskEntry
from service.kitchen.lists.freezing import freeze_list
from service.kitchen.lists.naming import Naming
from service.kitchen.lists.prep_list import Asked as AskedList
from service.kitchen.lists.prep_list import prep_list, telling_of
from service.kitchen.lists.schedule_documents import Schedule
from service.kitchen.lists.schedules import Asked, schedule
from service.kitchen.planning.plan import Plan
from tests.kitchen.capacity.doable import scheduled, staffed
from tests.kitchen.larder import MON, TUE, form, ingredient, kitchen, line, machines, only_site, recipe, shift, step
from tests.kitchen.plans import plan_needs, wanted

OVEN = machines("oven", 1, "8 pan", turn_round="PT10M")
DAY = shift("hot-line", "06:00", "14:00", name="Day")
SIX = "2026-12-01 06:00"


def pie(*lines: Any, **fields: Any) -> Version:
    """Twenty-two of these go through one oven in loads of 8, 8 and 6 (W1)."""
    steps = [step("PT10M", "PT1H", equipment="oven"), step(None, "PT20M")]
    told = {"keeps": "P1D", "batch": {"multiple": "1 pan", "largest": "8 pan", "split": "full"}, **fields}
    return recipe("pie", "1 pan", *lines, equivalents=["1 pan = 1 each"], steps=steps, **told)


def pies(*more: Any, day: Any = DAY, **fields: Any) -> tuple[Catalogue, Plan]:
    catalogue = kitchen(*more, pie(**fields), staffed(day, equipment=[OVEN]))
    return catalogue, plan_needs(catalogue, [wanted("recipe pie", 22, TUE, "12:15")])


def listed(catalogue: Catalogue, planned: Plan, found: Scheduled | None, on: Any = TUE) -> PrepList:
    return prep_list(planned, catalogue, only_site(catalogue), AskedList(on=on, system="metric"), found)


def told(catalogue: Catalogue, planned: Plan, found: Scheduled, asked: Asked) -> Schedule:
    place = only_site(catalogue)
    telling = telling_of(planned, catalogue, place, AskedList(on=asked.on, system="metric"), found)
    return schedule(planned, found, asked, telling, listed(catalogue, planned, found, asked.on))


def tasks(document: PrepList) -> list[TaskEntry]:
    return [task for station in document["stations"] for task in station["tasks"]]


def only_task(document: PrepList) -> dict[str, Any]:
    (task,) = tasks(document)
    return dict(task)


def clock(moment: str) -> str:
    return datetime.fromisoformat(moment).strftime("%H:%M")


class TestLists:
    """What a list gains, and what it is without a capacity."""

    def test_a_list_without_a_capacity_tells_nothing_of_it(self) -> None:
        """K1."""
        catalogue, planned = pies()
        document = listed(catalogue, planned, None)
        assert "capacity" not in document
        assert not {"fits", "slack", "loads"} & only_task(document).keys()
        assert "cooks" not in document["stations"][0]

    def test_a_task_begins_with_its_first_load_and_is_ready_with_its_last(self) -> None:
        """W1, K17."""
        catalogue, planned = pies()
        task = only_task(listed(catalogue, planned, scheduled(planned, catalogue, at=SIX)))
        assert (clock(task["start_by"]), clock(task["ready_by"]), task["fits"], task["slack"]) == ("08:05", "12:15", True, "PT2H5M")
        rows = [(row["number"], row["of"], row["quantity"]["amount"], clock(row["starts"]), clock(row["ready"])) for row in task["loads"]]
        assert rows == [(1, 3, 8, "08:05", "09:35"), (2, 3, 8, "09:25", "10:55"), (3, 3, 6, "10:45", "12:15")]
        assert [row["held"] for row in task["loads"]] == ["PT2H40M", "PT1H20M", "PT0S"]
        first = task["loads"][0]["steps"][0]
        assert (first["cook"], first["equipment"]) == ({"shift": "Day", "number": 1}, {"equipment": "oven", "number": 1})
        assert [clock(first[name]) for name in ("starts", "rests", "ends")] == ["08:05", "08:15", "09:15"]
        assert [clock(each["starts"]) for each in task["steps"]] == ["08:05", "09:15"]
        assert task["active"] == "PT30M"

    def test_a_list_tells_whether_all_fits_and_what_each_cook_and_machine_does(self) -> None:
        catalogue, planned = pies()
        document = listed(catalogue, planned, scheduled(planned, catalogue, at=SIX))
        capacity = document["capacity"]
        assert (capacity["fits"], capacity["left_out"], capacity["reserve"]) == (True, 0, "PT2H5M")
        (cook,) = capacity["cooks"]
        assert (cook["shift"], cook["number"], cook["stations"], cook["active"]) == ("Day", 1, ["hot-line"], "PT30M")
        assert [(piece["load"], piece["step"], clock(piece["starts"])) for piece in cook["work"]] == [
            (1, 1, "08:05"),
            (2, 1, "09:25"),
            (3, 1, "10:45"),
        ]
        (oven,) = capacity["equipment"]
        assert [(stay["load"], clock(stay["ends"]), clock(stay["free_again"])) for stay in oven["work"]] == [
            (1, "09:15", "09:25"),
            (2, "10:35", "10:45"),
            (3, "11:55", "12:05"),
        ]
        (station,) = document["stations"]
        assert [(each["shift"], clock(each["from"]), clock(each["until"])) for each in station["cooks"]] == [("Day", "06:00", "14:00")]

    def test_what_stands_longer_than_it_may_be_held_is_warned_of_once_a_task(self) -> None:
        """W1, K14."""
        catalogue, planned = pies(hold="PT2H")
        document = listed(catalogue, planned, scheduled(planned, catalogue, at=SIX))
        (warning,) = [each for each in document["warnings"] if each["code"] == "held_too_long"]
        assert warning["task"] == only_task(document)["id"]
        assert warning["detail"] == "Pie may be held 2 h: load 1 of 3 is ready at Tue 1 Dec 09:35 and first used 2 h 40 min later"

    def test_what_finds_no_place_is_warned_of_and_stands_as_planned(self) -> None:
        """W6, K12."""
        catalogue, planned = pies(day=shift("hot-line", "08:30", "14:00", name="Day"))
        document = listed(catalogue, planned, scheduled(planned, catalogue))
        assert (document["capacity"]["fits"], document["capacity"]["left_out"]) == (False, 1)
        (warning,) = [each for each in document["warnings"] if each["code"] == "does_not_fit"]
        assert warning["detail"] == "1 load finds no place: Pie 1 of 3; the schedule says what would help"
        task = only_task(document)
        assert (task["fits"], task["slack"]) == (False, None)
        assert [(row["fits"], row["slack"] is None) for row in task["loads"]] == [(False, True), (True, False), (True, False)]
        assert task["loads"][0]["steps"][0]["cook"] is None

    def test_what_a_load_draws_is_pulled_before_the_first_of_them(self) -> None:
        catalogue = kitchen(ingredient("butter"), pie(line("butter", "100 g", 1)), staffed(DAY, equipment=[OVEN]))
        planned = plan_needs(catalogue, [wanted("recipe pie", 22, TUE, "12:15")])
        (pull,) = listed(catalogue, planned, scheduled(planned, catalogue, at=SIX))["pulls"]
        assert (clock(pull["start_by"]), clock(pull["need_by"])) == ("08:05", "08:05")

    def test_what_is_done_the_evening_before_stands_on_that_list(self) -> None:
        """W7, K17."""
        active = {"set_up": None, "per": {"amount": 1, "unit": "kg"}, "time": "PT1H"}
        roots = [ingredient(code, form("cut", station="veg", active=active, keeps="P1D")) for code in ("carrot", "onion")]
        soup = recipe("soup", "1 kg", line("carrot/cut", "1 kg", 1), line("onion/cut", "1 kg", 1), steps=[step(None, "PT1H")])
        catalogue = kitchen(*roots, soup, staffed(shift("veg", "06:00", "14:00", name="Veg")))
        planned = plan_needs(catalogue, [wanted("recipe soup", 1000, TUE, "08:00")], first=MON)
        found = scheduled(planned, catalogue)
        items = [[task["item"]["title"] for task in tasks(listed(catalogue, planned, found, on))] for on in (MON, TUE)]
        assert items == [["Onion, cut"], ["Carrot, cut", "Soup"]]
        document = told(catalogue, planned, found, Asked(on=TUE))
        assert [each["task"].split(".")[2] for each in document["evening_before"]] == ["onion"]
        because = {load["title"]: load["because"] for load in document["loads"]}
        assert because["Carrot, cut"] is not None
        assert (because["Carrot, cut"]["code"], because["Carrot, cut"]["detail"]) == ("due", "Soup draws on it at Tue 1 Dec 07:00")

    def test_what_is_kept_of_a_list_is_at_the_times_that_it_shows(self) -> None:
        """K17."""
        catalogue = kitchen(ingredient("butter"), pie(line("butter", "100 g", 1)), staffed(DAY, equipment=[OVEN]))
        planned = plan_needs(catalogue, [wanted("recipe pie", 22, TUE, "12:15")])
        found = scheduled(planned, catalogue, at=SIX)
        kept = {each.kind: each.document for each in freeze_list(planned, catalogue, only_site(catalogue), TUE, found)}
        task = only_task(listed(catalogue, planned, found))
        moments = [kept["run"]["stages"][0]["starts"], kept["run"]["draws"][0]["at"], kept["pull"]["starts"]]
        assert {datetime.fromisoformat(each) for each in moments} == {datetime.fromisoformat(task["start_by"])}


class TestSchedules:
    """The document of a date's schedule."""

    def test_each_load_tells_why_it_is_not_later(self) -> None:
        """W1, K16."""
        catalogue, planned = pies()
        document = told(catalogue, planned, scheduled(planned, catalogue, at=SIX), Asked(on=TUE))
        assert [load["because"] and load["because"]["detail"] for load in document["loads"]] == [
            "oven has Pie 2 of 3",
            "oven has Pie 3 of 3",
            "it is needed at Tue 1 Dec 12:15",
        ]
        assert (document["fits"], document["reserve"], document["conflicts"]) == (True, "PT2H5M", [])
        assert "helps" not in document

    def test_a_conflict_tells_what_lacks_by_how_much_and_what_was_tried_that_helps(self) -> None:
        """W6 with hands, K12, K13: the cook loads the last pans from 10:45 on, so that without the oven's limit it were at 10:35."""
        catalogue, planned = pies(day=shift("hot-line", "08:30", "14:00", name="Day"))
        found = scheduled(planned, catalogue)
        document = told(catalogue, planned, found, Asked(on=TUE, helps=found.helps(found.loads)))
        (conflict,) = document["conflicts"]
        assert (conflict["load"], conflict["lacks"], conflict["short"]) == (1, [{"equipment": "oven"}], "PT1H20M")
        assert [clock(str(conflict[name])) for name in ("from", "until")] == ["10:35", "12:15"]
        assert conflict["taken_by"] == [{"task": conflict["task"], "number": 3}]
        assert [(row["menu_item"], row["portions"]) for row in conflict["at_risk"]] == [("guests", 8)]
        assert conflict["detail"] == (
            "Pie 1 of 3: no place found; it lacks oven from Tue 1 Dec 10:35 until Tue 1 Dec 12:15, taken by Pie 3 of 3; "
            "1 h 20 min later there would be one"
        )
        assert [(each["code"], each.get("by"), each["left_out"], each["detail"]) for each in document["helps"]] == [
            ("begins_earlier", "PT30M", 0, "With Day beginning at 08:00 everything fits."),
            ("needed_later", "PT30M", 0, "With what they are for needed 30 min later everything fits."),
            ("one_more_machine", None, 0, "With one more oven everything fits."),
        ]

    def test_a_station_sees_its_own_cooks_and_loads(self) -> None:
        catalogue, planned = pies()
        found = scheduled(planned, catalogue, at=SIX)
        other = told(catalogue, planned, found, Asked(on=TUE, station="pastry"))
        assert (other["cooks"], other["loads"]) == ([], [])
        assert len(told(catalogue, planned, found, Asked(on=TUE, station="hot-line"))["loads"]) == 3

    def test_a_sentence_names_the_first_loads_of_many(self) -> None:
        catalogue = kitchen(pie(), staffed(DAY, equipment=[machines("oven", 1, "4 pan")]))
        planned = plan_needs(catalogue, [wanted("recipe pie", 22, TUE, "12:15")])
        found = scheduled(planned, catalogue)
        telling = telling_of(planned, catalogue, only_site(catalogue), AskedList(on=TUE, system="metric"), found)
        naming, keys = Naming(planned, found, telling.words), sorted(load.key for load in found.loads)
        assert naming.titles(keys[:1]) == "Pie 1 of 6"
        assert naming.titles(keys[:2]) == "Pie 1 of 6 and Pie 2 of 6"
        assert naming.titles(keys) == "Pie 1 of 6, Pie 2 of 6, Pie 3 of 6 and 3 more"
