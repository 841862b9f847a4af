"""A list's other faces: the sheet that a cook holds, and the table for spreadsheets."""

import base64
import csv
import hashlib
import html
import io
import json
import re
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest

from service import demo
from service.api.sheets import CONTENT_SECURITY_POLICY, sheet_csv, sheet_html
from service.api.sheets.table import COLUMNS, FORMULA_STARTS
from service.api.wire.json import parse, render
from service.config import Config
from service.kitchen.book.item import ItemWithTitle
from service.kitchen.lists.documents import ExpectedRow, PrepList, ProgressRow, TaskEntry
from service.kitchen.lists.parts import ComputedQuantity
from service.operations.lists import ListRequest, prep_list
from service.operations.loading import load_catalogue
from service.shell import reading
from tests.api.sheet_list import COOK, EMPTY, LIST, MAKE, PREP, PULL, USE, at, line, list_of, measured

NOW = "2026-12-02T07:00:00-05:00"
HOSTILE = "<script>alert(\"1\")</script> & 'quote'"


@pytest.fixture(scope="module")
def demo_lists() -> list[PrepList]:
    """The demo's lists of today, with its late tasks, of all three sites in both unit systems."""
    with demo.temporary(Config.from_env({"KITCHEN_PREP_NOW": NOW})) as config:
        demo.prepare(config)
        now = config.now()
        with reading(config) as session:
            catalogue = load_catalogue(session)
            requests = [
                ListRequest(site=site, on=demo.today(catalogue, site, now) + timedelta(days), units=units)
                for site in catalogue.sites
                for days in (0, 2)
                for units in ("metric", "us")
            ]
            return [prep_list(session, request, now) for request in requests]


def text_of(page: str) -> str:
    """What a reader sees of a page: no tags, no style, spaces folded."""
    body = re.sub(r"<style>.*?</style>|<title>.*?</title>", " ", page, flags=re.DOTALL)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", body)).split())


def read(document: PrepList) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(sheet_csv(document), newline=""), strict=True))


def displays(value: Any) -> Iterator[str]:
    """The display texts of a document but those that say nothing: nothing over or on hand, and a need that is all made.

    A machine's stay says no quantity of its own: it is that of its load, which stands with its task, be it on the list of another date.
    """
    if isinstance(value, dict) and "free_again" not in value:
        if isinstance(value.get("display"), str):
            yield value["display"]
        silent = {"stages", "temperature"}
        if "surplus" in value and value["surplus"]["amount"] <= 0:
            silent.add("surplus")
        if "have" in value and value["have"]["amount"] <= 0:
            silent.add("have")
            if value["need"]["display"] == value["quantity"]["display"]:
                silent |= {"need", "surplus"}
        for key, inner in value.items():
            if key not in silent:
                yield from displays(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from displays(inner)


def section(page: str, start: str, end: str) -> str:
    return page[page.index(start) : page.index(end, page.index(start))]


def test_every_quantity_title_step_and_warning_of_the_demos_lists_stands_on_the_sheet(demo_lists: list[PrepList]) -> None:
    for document in demo_lists:
        text = text_of(sheet_html(document))
        assert {shown for shown in displays(document) if " ".join(shown.split()) not in text} == set()
        tasks = [task for station in document["stations"] for task in station["tasks"]]
        assert tasks
        wanted = [entry["item"]["title"] for entry in [*tasks, *document["pulls"], *document["left_over"], *document["discard"]]]
        wanted += [step["text"] for task in tasks if task["kind"] == "make" for step in task["steps"]]
        wanted += [row["why"] for row in document["discard"]]
        wanted += [warning["detail"] for warning in document["warnings"]] + document["cautions"]
        assert [each for each in wanted if " ".join(each.split()) not in text] == []


def test_what_is_in_a_machine_of_the_demos_lists_is_what_the_load_of_its_task_says(demo_lists: list[PrepList]) -> None:
    for document in demo_lists:
        loads: dict[tuple[str | None, int | None], ComputedQuantity] = {
            (task["id"], load["number"]): load["quantity"]
            for station in document["stations"]
            for task in station["tasks"]
            if task["kind"] != "use"
            for load in task["loads"]
        }
        stays = [stay for machine in document["capacity"]["equipment"] for stay in machine["work"]]
        here = [stay for stay in stays if (stay["task"], stay["load"]) in loads]
        assert here
        assert [stay["quantity"] for stay in here] == [loads[stay["task"], stay["load"]] for stay in here]


def test_every_entry_of_the_demos_lists_has_its_tick_box_and_its_time(demo_lists: list[PrepList]) -> None:
    for document in demo_lists:
        page = sheet_html(document)
        for entry in [task for station in document["stations"] for task in station["tasks"]] + document["pulls"]:
            part = section(page, f'id="{entry["id"]}"', "</tr>")
            assert entry["start_by"][11:16] in text_of(part)
            assert 'class="tick"' in part
        assert page.count('class="tick"') >= page.count('class="entry" id=')


def test_every_amount_of_the_demos_lists_stands_in_the_table_as_in_the_document(demo_lists: list[PrepList]) -> None:
    for document in demo_lists:
        rows = read(document)
        weighed = {(row["id"], row["batch"], row["line_title"], row["line_quantity_amount"]) for row in rows if row["line_kind"] == "weigh"}
        for task in (task for station in document["stations"] for task in station["tasks"]):
            first = next(row for row in rows if row["id"] == task["id"] and row["line"] == "1")
            assert [first["quantity_amount"], first["quantity_display"]] == [str(task["quantity"]["amount"]), task["quantity"]["display"]]
            for number, card in enumerate(task["batches"] if task["kind"] == "make" else (), start=1):
                for each in card["lines"]:
                    assert (task["id"], str(number), each["item"]["title"], str(each["quantity"]["amount"])) in weighed
        assert sum(row["kind"] == "pull" for row in rows) == len(document["pulls"])
        assert sum(row["kind"] == "left_over" for row in rows) == len(document["left_over"])


def test_the_head_tells_site_date_first_date_and_print() -> None:
    text = text_of(sheet_html(LIST, "Mill Street"))
    assert text.startswith("Mill Street Thu 3 Dec 2026 , planned from Wed 2 Dec 2026, working copy ")
    assert "print 4" in text_of(sheet_html(LIST | {"print": 4}))
    assert text_of(sheet_html(LIST)).startswith("mill-street Thu 3 Dec 2026")


def test_the_front_tells_what_is_expected_by_time_up_to_whole_portions() -> None:
    rows = LIST["expected"]
    party: ExpectedRow = rows[0] | {"event": "school-party", "at": at("10:30"), "count": 25, "from": "forecast"}
    text = text_of(sheet_html(LIST | {"expected": [party, *rows, rows[0] | {"name": "Slaw", "count": 9, "from": "forecast"}]}))
    expected = "What is expected 10:30 School party 25 Soup bowl 11:30 Lunch 42 Soup bowl, the kitchen’s own count 9 Slaw Station"
    assert expected in text
    old = list_of(PREP)
    del old["expected"]
    assert "What is expected" not in text_of(sheet_html(old))


def test_a_sheet_without_cards_still_tells_every_task() -> None:
    page = sheet_html(LIST, cards=False)
    assert 'class="card"' in sheet_html(LIST)
    assert 'class="card"' not in page
    assert "make Lentil soup (part 1 of 2) 50 L" in text_of(page)
    assert "46.1 g" not in text_of(page)


def test_the_sheet_of_a_station_has_the_pulls_that_it_takes() -> None:
    pulls = [PULL | {"id": f"pull.{name}", "stations": [name, "pastry"]} for name in ("veg", "hot-line", "old")]
    document = list_of(PREP, pulls=pulls)
    del document["pulls"][-1]["stations"]
    page = sheet_html(document, stations=["hot-line"])
    assert re.findall(r'id="(pull\.[a-z-]+)"', page) == ["pull.hot-line", "pull.old"]
    assert "Trout" in text_of(page)


def test_a_station_of_few_tasks_without_a_card_shares_a_page_with_those_before_it() -> None:
    tasks: dict[str, list[TaskEntry]] = {"few": [USE], "one": [MAKE], "many": [USE] * 6}
    stations = [LIST["stations"][0] | {"code": code, "tasks": of_station} for code, of_station in tasks.items()]
    page = sheet_html(LIST | {"stations": stations})
    assert re.findall(r'class="(station[a-z ]*)" id="station-([a-z]+)"', page) == [
        ("station", "one"),
        ("station", "many"),
        ("station small", "few"),
    ]


def test_moments_name_their_date_where_it_is_not_the_lists() -> None:
    text = text_of(sheet_html(LIST))
    assert "LATE was due Wed 17:07" in text
    assert "Use by the end of Fri 4 Dec" in text
    assert "Use by Fri 4 Dec 04:00" in text
    assert "ready 10:40" in text


def test_a_doubled_hour_tells_its_offset() -> None:
    starts = [f"2026-12-03T01:30:00-0{hours}:00" for hours in (5, 6)]
    tasks = [PREP | {"id": f"prep.{number}", "start_by": start} for number, start in enumerate(starts)]
    text = text_of(sheet_html(list_of(*tasks)))
    assert "01:30 (UTC-05:00)" in text
    assert "01:30 (UTC-06:00)" in text
    assert "UTC" not in text_of(sheet_html(LIST))


def test_late_ones_stand_where_the_list_has_them_and_name_what_is_at_risk() -> None:
    page = sheet_html(list_of(MAKE, PREP, USE))
    places = [page.index(f'id="{task["id"]}"') for task in (MAKE, PREP, USE)]
    assert places == sorted(places)
    text = text_of(page)
    assert "LATE was due Wed 17:07 ready 10:40 make Lentil soup (part 1 of 2)" in text
    assert "Puts at risk: 41 portions of soup bowl, lunch, Thu 3 Dec" in text
    assert "1 LATE" in text
    late_pull = PULL | {"id": "pull.late", "late": True}
    assert "LATE was due 06:20" in text_of(sheet_html(list_of(PREP, pulls=[late_pull])))


def test_what_is_on_hand_stands_among_the_tasks_with_its_use_by() -> None:
    text = text_of(sheet_html(list_of(PREP, USE)))
    assert "use Chicken stock 7 L none recorded Use by Fri 4 Dec 04:00 . For Soup bowl." in text
    assert "Keeps." in text_of(sheet_html(list_of(USE | {"use_by": None, "use_by_date": None})))


def test_a_task_tells_need_have_and_what_will_be_over_where_it_is_not_just_what_is_made() -> None:
    assert "Need 52 L, have 3 L, 1 L will be over." in text_of(sheet_html(list_of(MAKE)))
    nothing_over = measured("0 L", 0.0)
    assert "Need 52 L, have 3 L. For" in text_of(sheet_html(list_of(MAKE | {"surplus": nothing_over})))
    just = MAKE | {"need": measured("50 L"), "have": nothing_over, "surplus": nothing_over}
    assert "Need" not in text_of(sheet_html(list_of(just)))


def test_identical_batches_are_told_once_with_a_box_for_each() -> None:
    page = sheet_html(list_of(MAKE))
    text = text_of(page)
    assert text.count("2 × 25 L, weigh for each 46.1 g Cumin exactly (toasted) step 1 20 L Water") == 1
    assert "In batches: 2 × 25 L." in text
    assert section(page, 'class="ticks"', "</p>").count('class="tick"') == 2
    assert "Take in all 92.2 g Cumin, 40 L Water." in text


def test_one_batch_that_takes_just_its_lines_says_so_once() -> None:
    one = MAKE["batches"][0] | {"count": 1, "lines": [line("Cumin", "92.2 g", 1), line("Water", "40 L", 1)]}
    assert "Take in all" not in text_of(sheet_html(list_of(MAKE | {"batches": [one]})))
    several = MAKE | {"batches": [one], "draw": [*MAKE["draw"], MAKE["draw"][0] | {"quantity": measured("1 kg")}]}
    assert "Take in all 1 kg Cumin." in text_of(sheet_html(list_of(several)))
    assert "In batches" not in text_of(sheet_html(list_of(several)))


def test_a_cut_tells_what_each_form_and_by_product_gets() -> None:
    text = text_of(sheet_html(list_of(PREP)))
    assert "Take 21.6 kg Chicken, whole." in text
    assert "Gives 6.7 kg Chicken, leg (need 6.1 kg, have 250 g, 850 g will be over), 5.2 kg Chicken carcass." in text


def test_steps_tell_rests_as_clock_times_why_and_what_is_safe() -> None:
    text = text_of(sheet_html(list_of(MAKE)))
    assert "Leave 1 h: ready from 08:55, best at 09:05, no later than 09:35. Why: Browning would darken the soup." in text
    assert "Simmer. Set to 180 °C. (10 min hands-on) Leave 40 min, until 10:40." in text
    assert "Safety: Cook through, poultry: 82 °C; the code asks at least 74 °C, Food Code of a test 3-401.11." in text


def test_a_rest_without_a_window_ends_where_the_next_step_begins() -> None:
    first = MAKE["steps"][0] | {"window": None}
    assert "Leave 1 h, until 09:50." in text_of(sheet_html(list_of(MAKE | {"steps": [first, MAKE["steps"][1]]})))


def test_a_print_of_before_says_the_section_beside_what_it_asked() -> None:
    before = COOK | {"display": "at least 74 °C"}
    del before["asks"]
    steps = [MAKE["steps"][1] | {"safety": before}]
    text = text_of(sheet_html(list_of(MAKE | {"steps": steps})))
    assert "Safety: Cook through, poultry: at least 74 °C, Food Code of a test 3-401.11." in text


def test_a_recorded_reason_for_less_than_the_code_is_told() -> None:
    laxer = COOK | {"kind": "thaw", "reason": "Approved plan 7.", "laxer": True, "note": "For at once."}
    steps = [MAKE["steps"][1] | {"safety": laxer}]
    text = text_of(sheet_html(list_of(MAKE | {"steps": steps})))
    assert "For at once. Laxer than the code, by the reason on record: Approved plan 7." in text


def test_allergens_are_words_with_their_species() -> None:
    text = text_of(sheet_html(list_of(MAKE, PREP)))
    assert "Allergens (may contain)" in text
    assert "celery, fish (cod) (brazil nut)" in text
    assert "none recorded" in text
    only_traces = MAKE | {"allergens": {"contains": [], "may_contain": ["milk"]}}
    assert "50 L (milk)" in text_of(sheet_html(list_of(only_traces)))


def test_what_a_task_is_for_is_told_in_short_with_the_last_date_that_it_serves() -> None:
    assert "For Soup bowl; par 2 L by 09:00 (until Fri 4 Dec)." in text_of(sheet_html(list_of(MAKE)))
    many = MAKE | {"for": ["Soup bowl, lunch", "Slaw, side, lunch", "Broth, dinner", "Soup bowl, dinner"]}
    assert "For Soup bowl; Slaw, side and 1 more." in text_of(sheet_html(list_of(many)))


def test_pulls_stand_by_store_then_by_time_with_amount_station_and_thawing() -> None:
    onion = PULL | {"id": "pull.onion", "thaw": None, "storage": "dry", "need_by": at("06:20"), "stations": ["hot-line", "veg-prep"]}
    late = PULL | {"id": "pull.late", "thaw": None, "start_by": at("09:00"), "need_by": at("09:30")}
    text = text_of(sheet_html(list_of(PREP, pulls=[onion, PULL, late])))
    assert "Freezer 06:20 3 kg Trout thaws 2 d, needed Sat 5 Dec 06:20 Hot line 09:00 3 kg Trout needed 09:30 Hot line" in text
    assert "Dry store 06:20 3 kg Trout Hot line, veg prep" in text


def test_reported_work_is_marked() -> None:
    progress: ProgressRow = {"state": "done", "made": measured("48 L"), "drawn": None, "at": at("10:00"), "note": "One pan boiled over."}
    page = sheet_html(list_of(MAKE | {"progress": progress}))
    assert "DONE, made 48 L: One pan boiled over." in text_of(page)
    assert page.count("✓") == 1
    assert "DONE" not in text_of(sheet_html(list_of(MAKE | {"progress": progress | {"state": "open"}})))


def test_cautions_and_warnings_stand_in_front() -> None:
    front = text_of(section(sheet_html(LIST), "<header", "</header>"))
    assert "1 entry should have begun before 2026-12-02" in front
    assert "Follow your local food code." in front


def test_an_empty_list_is_a_sheet_and_a_table_that_say_so() -> None:
    assert "No task stands on this list." in text_of(sheet_html(EMPTY))
    assert sheet_csv(EMPTY) == ",".join(COLUMNS) + "\r\n"


def test_names_cannot_break_out_of_the_sheet() -> None:
    named: ItemWithTitle = {"recipe": "lentil-soup", "title": HOSTILE}
    batch = MAKE["batches"][0] | {"lines": [line(HOSTILE, "1 g", 1, note=HOSTILE)]}
    step = MAKE["steps"][0] | {"text": HOSTILE, "why": HOSTILE}
    draw = MAKE["draw"][0] | {"item": named}
    task = MAKE | {"item": named, "batches": [batch], "steps": [step], "for": [HOSTILE], "draw": [draw]}
    document = list_of(task, pulls=[PULL | {"item": named}])
    document |= {"left_over": [LIST["left_over"][0] | {"item": named}], "cautions": [HOSTILE]}
    document["warnings"] = [{"code": "late", "detail": HOSTILE}]
    document["stations"][0]["name"] = HOSTILE
    page = sheet_html(document, HOSTILE)
    assert "<script" not in page
    assert page.count(html.escape("<script>")) >= 12
    assert " style=" not in page
    assert not re.search(r"\son\w+=", page)


def test_the_policy_allows_the_pages_own_style_and_nothing_else() -> None:
    page = sheet_html(LIST)
    (style,) = re.findall(r"<style>(.*?)</style>", page, flags=re.DOTALL)
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    directives = dict(part.strip().split(" ", 1) for part in CONTENT_SECURITY_POLICY.split(";"))
    assert (directives["default-src"], directives["style-src"]) == ("'none'", f"'sha256-{digest}'")
    assert "script-src" not in directives
    assert not re.search(r"<(?:img|script|link|iframe)\b|https?:|url\(|@import", page)


def test_a_cell_that_could_start_a_formula_is_guarded() -> None:
    for start in FORMULA_STARTS:
        note = f'{start}cmd|"calc",1'
        batch = MAKE["batches"][0] | {"lines": [line(note, "1 g", 1, note=note)]}
        row = read(list_of(MAKE | {"batches": [batch]}))[0]
        assert (row["line_title"], row["note"]) == (f"'{note}", f"'{note}")
    assert set(FORMULA_STARTS) == {"=", "+", "-", "@", "\t", "\r", "\uff1d", "\uff0b", "\uff0d", "\uff20"}


def test_texts_of_any_kind_come_back_whole_from_the_table() -> None:
    for title in ('Two "quotes"', "comma, semicolon;", "first\nsecond line", "Crème brûlée ½", "a = b"):
        document = list_of(PREP | {"item": PREP["item"] | {"title": title}})
        assert read(document)[0]["title"] == title


def test_a_row_is_a_line_of_a_task_and_the_first_ones_are_the_tasks() -> None:
    rows = read(LIST)
    assert [(row["kind"], row["line"], row["line_kind"], row["line_title"]) for row in rows] == [
        ("make", "1", "weigh", "Cumin"),
        ("make", "2", "weigh", "Water"),
        ("make", "3", "take", "Cumin"),
        ("make", "4", "take", "Water"),
        ("prep", "1", "take", "Chicken, whole"),
        ("prep", "2", "give", "Chicken, leg"),
        ("prep", "3", "give", "Chicken carcass"),
        ("use", "1", "", ""),
        ("pull", "1", "", ""),
        ("left_over", "1", "", ""),
    ]
    assert [row["id"] for row in rows if row["line"] == "1"] == [MAKE["id"], PREP["id"], USE["id"], PULL["id"], ""]


def test_a_row_can_be_read_alone() -> None:
    cumin = read(LIST | {"print": 2})[0]
    told = {
        "site": "mill-street",
        "date": "2026-12-03",
        "print": "2",
        "station": "hot-line",
        "item": "lentil-soup",
        "stage": "1",
        "stages": "2",
        "version": "3",
        "late": "true",
        "start_by": "2026-12-02T17:07:00-05:00",
        "use_by": "the end of Fri 4 Dec",
        "use_by_date": "2026-12-04",
        "quantity_amount": "50000.0",
        "quantity_unit": "mL",
        "quantity_display": "50 L",
        "surplus_display": "1 L",
        "batch": "1",
        "batch_count": "2",
        "batch_quantity_display": "25 L",
        "line_quantity_display": "46.1 g",
        "step": "1",
        "critical": "true",
        "note": "toasted",
        "at_risk": "soup-bowl 2026-12-03 lunch: 41",
        "contains": "celery; fish:cod",
        "may_contain": "brazil_nut",
        "progress": "",
    }
    assert {name: cumin[name] for name in told} == told
    assert read(LIST)[4]["item"] == "chicken/breast"


def test_a_list_that_was_stored_gives_the_same_sheet_and_table() -> None:
    stored = parse(render(LIST))
    assert sheet_html(stored) == sheet_html(LIST)
    assert [row["line_quantity_display"] for row in read(stored)] == [row["line_quantity_display"] for row in read(LIST)]
    assert json.loads(render(stored))["date"] == LIST["date"]


def test_what_is_overdue_says_until_when_it_could_still_begin() -> None:
    text = text_of(sheet_html(list_of(PREP | {"overdue": True, "last_start": at("06:10")})))
    assert "OVERDUE 05:52" in text
    assert "Last start 06:10." in text
    assert "Hot line 1 OVERDUE 1" in text
    assert "OVERDUE" not in text_of(sheet_html(list_of(PREP | {"overdue": False, "last_start": at("06:10")})))
    assert "Last start" not in text_of(sheet_html(list_of(PREP | {"overdue": True, "last_start": PREP["start_by"]})))


def test_the_front_tells_of_a_station_what_is_late_and_what_is_overdue_besides_and_what_comes_first_then() -> None:
    text = text_of(sheet_html(list_of(MAKE | {"overdue": True}, PREP | {"overdue": True}, USE)))
    assert "Hot line 1 LATE 1 OVERDUE 3 06:45" in text


def test_of_much_that_is_at_risk_the_first_few_are_named() -> None:
    rows = [LIST["stations"][0]["tasks"][0]["at_risk"][0] | {"date": f"2026-12-0{day}"} for day in (3, 4, 5, 6, 7)]
    text = text_of(sheet_html(list_of(PREP | {"at_risk": rows})))
    named = "; ".join(f"41 portions of soup bowl, lunch, {day}" for day in ("Thu 3 Dec", "Fri 4 Dec", "Sat 5 Dec"))
    assert f"Puts at risk: {named}; and 2 more until Mon 7 Dec." in text


def test_the_table_tells_stations_and_pieces_of_pulls_and_what_to_discard() -> None:
    document = list_of(PREP | {"overdue": True, "last_start": at("06:10")}, pulls=[PULL | {"pieces": 4}])
    document["discard"] = [{**LIST["left_over"][0], "why": "past its use"}]
    found = read(document)
    assert (found[0]["overdue"], found[0]["last_start"]) == ("true", at("06:10"))
    pulled = next(row for row in found if row["kind"] == "pull")
    assert (pulled["stations"], pulled["pieces"]) == ("hot-line", "4")
    assert (found[-1]["kind"], found[-1]["title"], found[-1]["note"]) == ("discard", "Bread ends", "past its use")
