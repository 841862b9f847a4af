"""The demo's sheets as a browser prints them and as a phone shows them: how many pages, and that nothing runs off the edge."""

import html
import re
import shutil
import subprocess
from copy import deepcopy
from datetime import timedelta
from pathlib import Path

import pytest

from service import demo
from service.api.sheets import sheet_html
from service.config import Config
from service.kitchen.lists.documents import PrepList
from service.operations.lists import ListRequest, prep_list
from service.operations.loading import load_catalogue
from service.shell import reading

NOW = "2026-12-02T07:00:00-05:00"
BROWSER = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
PAPERS = ("A4", "letter")
# Of a kitchen that states shifts: the picture of its day, a station's own rows, and a line for each load are on them.
MOST_PAGES, MOST_OF_A_STATION = 16, 6
PHONE = 360
# Tells in its title how wide the sheet in its frame really is.
FRAME = """<!DOCTYPE html><iframe width="{width}" height="800" style="border: 0" srcdoc="{sheet}"></iframe>
<script>onload = () => {{ document.title = document.querySelector("iframe").contentDocument.documentElement.scrollWidth }}</script>"""
Lists = dict[tuple[str, str | None], tuple[PrepList, str]]

pytestmark = pytest.mark.skipif(BROWSER is None, reason="there is no Chromium here that could print the sheets")


@pytest.fixture(scope="module")
def tomorrow() -> Lists:
    """The demo's lists of tomorrow with the name of their site: of each site, and of each of its stations alone."""
    with demo.temporary(Config.from_env({"KITCHEN_PREP_NOW": NOW})) as config:
        demo.prepare(config)
        now = config.now()
        with reading(config) as session:
            catalogue = load_catalogue(session)
            lists: Lists = {}
            for code, site in catalogue.sites.items():
                on = demo.today(catalogue, code, now) + timedelta(days=1)
                whole = prep_list(session, ListRequest(site=code, on=on), now)
                lists[code, None] = (whole, site.name)
                for station in whole["stations"]:
                    lists[code, station["code"]] = (whole | {"stations": [station]}, site.name)
            return lists


def browse(page: str, place: Path, *options: str) -> bytes:
    """Open a page in a browser without a window, and what it writes to standard output."""
    path = place / "page.html"
    path.write_text(page, encoding="utf-8")
    profile = place / "profile"
    command = [str(BROWSER), "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={profile}", *options, path.as_uri()]
    return subprocess.run(command, capture_output=True, check=True, timeout=60).stdout


def pages(page: str, paper: str, place: Path) -> int:
    """On how many pages of a paper a sheet is printed."""
    assert "@page {" in page
    printed = place / "sheet.pdf"
    browse(page.replace("@page {", f"@page {{ size: {paper};", 1), place, "--no-pdf-header-footer", f"--print-to-pdf={printed}")
    return len(re.findall(rb"/Type\s*/Page\b", printed.read_bytes()))


def test_each_kitchen_of_the_demo_is_printed_on_sixteen_pages_at_most(tomorrow: Lists, tmp_path: Path) -> None:
    found = {
        (site, paper): pages(sheet_html(document, name), paper, tmp_path)
        for (site, station), (document, name) in tomorrow.items()
        if station is None
        for paper in PAPERS
    }
    assert len(found) == 6
    # A list of any of these kitchens has a front, pulls, and a page a station at least.
    assert {key: count for key, count in found.items() if not 5 <= count <= MOST_PAGES} == {}


def test_a_station_alone_is_printed_on_six_pages_at_most(tomorrow: Lists, tmp_path: Path) -> None:
    found = {
        (site, station): pages(sheet_html(document, name, stations=[str(station)]), "letter", tmp_path)
        for (site, station), (document, name) in tomorrow.items()
        if station is not None
    }
    assert len(found) > 10
    assert {key: count for key, count in found.items() if not 1 <= count <= MOST_OF_A_STATION} == {}


def test_cards_take_most_of_the_pages(tomorrow: Lists, tmp_path: Path) -> None:
    document, name = tomorrow["mill-street", None]
    assert pages(sheet_html(document, name, cards=False), "A4", tmp_path) < pages(sheet_html(document, name), "A4", tmp_path)


@pytest.mark.parametrize("overdue", [False, True])
def test_nothing_runs_off_the_edge_of_a_phone(tomorrow: Lists, tmp_path: Path, *, overdue: bool) -> None:
    for document, name in (each for (_, station), each in deepcopy(tomorrow).items() if station is None):
        for number, task in enumerate(task for station in document["stations"] for task in station["tasks"]):
            task["overdue"] = overdue
            task["late"] = overdue and number % 2 == 0
        framed = FRAME.format(width=PHONE, sheet=html.escape(sheet_html(document, name)))
        width = re.search(rb"<title>(\d+)</title>", browse(framed, tmp_path, "--dump-dom"))
        assert width is not None
        assert 0 < int(width[1]) <= PHONE
