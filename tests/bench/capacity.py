"""Capacity: the benchmark's kitchens with cooks and machines, and what their schedules cost.

Responsible for a staffing under which a day is tight, and for the rows of schedules. Refuses to know the other jobs.
"""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from sqlalchemy.orm import Session

from service.api.exchange.interior import Interior
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.site import Site
from service.kitchen.capacity.scheduling import dates_of, schedule_plan
from service.kitchen.lists.documents import PrepList
from service.kitchen.lists.prep_list import Asked
from service.kitchen.lists.prep_list import prep_list as slice_of
from service.kitchen.planning.plan import Plan
from service.operations.capacity import capacities_of
from service.operations.lists import plan_without
from service.operations.loading import load_catalogue
from service.operations.past import Unsaid
from tests.bench import baselines
from tests.bench.scene import Scene, call
from tests.bench.shares import STATIONS
from tests.bench.timing import Row, best
from tests.bench.workload import START, Size, Workload

MANY = 100
KITCHEN = Size(1, 8, 24, 400)
"""One whose plan comes to about 150 loads, whatever the size of the others."""
EVERY_DAY = [*range(1, 8)]
EQUIPMENT = ("oven", "kettle", "mixer", "prover")
LOADS = [{"amount": 20, "unit": "kg"}, {"amount": 20, "unit": "L"}, {"amount": 60, "unit": "each"}]


class Staffed(Workload):
    """The workload with shifts for a third of the stations each, and every other recipe in one of four kinds of equipment."""

    def catalogue(self) -> dict[str, Any]:
        """All of it as the body of an import."""
        for number, recipe in enumerate(self.recipes):
            if number % 2:
                recipe["steps"][0]["equipment"] = EQUIPMENT[number // 2 % len(EQUIPMENT)]
        for site in self.sites:
            site |= {"shifts": list(shifts()), "equipment": [machines(code) for code in EQUIPMENT]}
        kinds = [{"code": code, "name": code.title(), "position": place} for place, code in enumerate(EQUIPMENT)]
        return {**super().catalogue(), "equipment": kinds}


def shifts() -> Iterator[dict[str, Any]]:
    """Early and late, for each third of the stations."""
    third = STATIONS // 3
    for part in range(3):
        stations = [f"st-{number}" for number in range(part * third, (part + 1) * third)]
        for name, begins, until in (("Early", "05:00", "13:00"), ("Late", "12:00", "20:00")):
            shift = {"name": f"{name} {part}", "stations": stations, "weekdays": EVERY_DAY}
            yield {**shift, "from": begins, "until": until, "cooks": 2}


def machines(code: str) -> dict[str, Any]:
    """Two of a kind: kettle and mixer by the batch, the prover with things side by side."""
    shared = code == "prover"
    loads = LOADS if code in ("oven", "prover") else []
    return {"equipment": code, "count": 2, "load": loads, "turn_round": "PT0S" if shared else "PT10M", "shared": shared}


def scheduling(place: Path, days: int, rounds: int) -> Iterator[Row]:
    """Scheduling a site's day, what would help it, a list with its schedule beside one without, and sending that list again."""
    scene = Scene(place / "staffed.sqlite3", Staffed(KITCHEN))
    scene.fill(days)
    with Interior.of(scene.app).readers() as session:
        catalogue = load_catalogue(session)
        site = catalogue.sites["s-0"]

        bare = replace(site, shifts=(), equipment={})
        found = planned(session, catalogue, site)
        capacities = capacities_of(session, site.code, *dates_of(found))
        scheduled = schedule_plan(found, catalogue, site, capacities)
        if scheduled is None:
            raise AssertionError
        asked = Asked(on=START, system="metric")

        def written(site: Site) -> PrepList:
            plan = planned(session, catalogue, site)
            return slice_of(plan, catalogue, site, asked, schedule_plan(plan, catalogue, site, capacities))

        left = sum(not load.fits for load in scheduled.loads)
        one = best(lambda: schedule_plan(found, catalogue, site, capacities), rounds)
        plan = best(lambda: planned(session, catalogue, site), rounds)
        yield Row(f"schedule {len(scheduled.loads)} loads, of which {left} find no place", one, "plan them", plan)
        yield Row("what would help them", best(lambda: scheduled.helps(scheduled.loads), rounds), "schedule them", one)
        without = best(lambda: written(bare), rounds)
        yield Row("plan, schedule and write a list", best(lambda: written(site), rounds), "plan and write it, of nothing stated", without)
    path = f"/v1/sites/s-0/prep-lists/{START}"
    content = scene.send("GET", path)
    again = best(lambda: call(scene.app, scene.request("GET", path)), rounds, MANY)
    static = baselines.static(content, '"tag"')
    same = best(lambda: call(static, scene.request("GET", "/")), rounds, MANY)
    yield Row("send a list with its schedule again", again, "static route, same bytes", same, 3)
    scene.close()


def planned(session: Session, catalogue: Catalogue, site: Site) -> Plan:
    """A site's plan of the first date, anew."""
    return plan_without(session, catalogue, site, START, START, Unsaid())
