"""The benchmark in small: that it runs, and that its workload is what it says. Nothing here is timed against anything."""

import gc
import tracemalloc
from collections.abc import Iterator
from pathlib import Path

from click.testing import CliRunner

from service.api.exchange.interior import Interior
from service.kitchen.planning.plan import Plan
from service.operations.kept_plans import NEED_BYTES
from service.operations.lists import plan_without
from service.operations.loading import load_catalogue
from service.operations.past import Unsaid
from tests.bench.jobs import DAYS, rows
from tests.bench.level import TELLINGS, level
from tests.bench.scene import Scene
from tests.bench.timing import Row, best, line
from tests.bench.workload import SIZES, START, Workload

TINY = SIZES["tiny"]


def test_every_job_is_timed_beside_its_baseline(tmp_path: Path) -> None:
    found = list(rows(TINY, tmp_path, 1))
    jobs = ("plan", "its", "plan", "plan", "send", "say", "send", "say", "push", "push", "push", "first", "import", "import")
    jobs_of_capacity = ("schedule", "what", "plan,", "send")
    assert tuple(row.job.split()[0] for row in found) == (*jobs, *jobs_of_capacity, "a", "a")
    assert all(row.seconds > 0 and row.baseline_seconds > 0 for row in found)


def test_the_least_of_several_rounds_counts_without_what_it_begins_with() -> None:
    done: list[str] = []
    assert best(lambda: done.append("work"), rounds=2, times=3, prepare=lambda: done.append("prepare")) > 0
    assert done == ["prepare", "work", "work", "work"] * 2
    assert line(Row("a job", 0.5, "another", 0.25, 3)) == "| a job | 500 | another | 250 | 2.00 | 3 |"


def test_the_workload_is_the_same_every_time_and_exercises_every_rule(tmp_path: Path) -> None:
    workload = Workload(TINY)
    assert workload.catalogue() == Workload(TINY).catalogue()
    scene = Scene(tmp_path / "bench.sqlite3", workload)
    scene.fill(DAYS)
    with Interior.of(scene.app).readers() as session:
        catalogue = load_catalogue(session)
        seen = {
            feature
            for site in catalogue.sites.values()
            for feature in features(plan_without(session, catalogue, site, START, START, Unsaid()))
        }
    scene.close()
    assert seen == {
        *("a counted lot", "a by-product", "thawing", "an event", "a par", "a cut", "a form"),
        *("several dates", "several batches", "several stages", "linear", "per_batch", "power", "tested", "percent", "critical"),
    }


def features(planned: Plan) -> Iterator[str]:
    """What of the rules a plan shows."""
    yield from ("a counted lot" for use in planned.uses if use.lot.source is None)
    yield from ("thawing" for pull in planned.pulls if pull.starts < pull.at)
    yield from ("an event" for outlet in planned.demand.portions if outlet.event)
    for run in planned.runs:
        yield from (draw.line.line.scaling.rule for draw in run.draws if draw.line is not None)
        shown = {
            "critical": any(draw.line is not None and draw.line.line.critical for draw in run.draws),
            "a by-product": bool(run.gives),
            "a par": bool(run.pars),
            "a form": run.version is None,
            "a cut": len(run.outputs) > 1,
            "several dates": len({need.on for need, _ in run.fed}) > 1,
            "several batches": sum(batch.count for batch, _ in run.batches) > 1,
            "several stages": len(run.stages) > 1,
        }
        yield from (name for name, true in shown.items() if true)


def test_a_plan_takes_no_more_memory_than_is_reckoned_with_where_plans_are_kept(tmp_path: Path) -> None:
    scene = Scene(tmp_path / "bench.sqlite3", Workload(TINY))
    scene.fill(DAYS)
    with Interior.of(scene.app).readers() as session:
        catalogue = load_catalogue(session)
        site = catalogue.sites["s-0"]
        # What is made for the first plan of a catalogue stays with that.
        plan_without(session, catalogue, site, START, START, Unsaid())
        gc.collect()
        tracemalloc.start()
        try:
            found = plan_without(session, catalogue, site, START, START, Unsaid())
            gc.collect()
            taken, _ = tracemalloc.get_traced_memory()
        finally:
            tracemalloc.stop()
    scene.close()
    assert taken < NEED_BYTES * len(found.needs)


def test_a_worker_is_watched_while_lists_change() -> None:
    done = CliRunner().invoke(level, ["--size", "tiny", "--minutes", "0.05"])
    # That it has grown is an answer, too.
    assert done.exception is None or isinstance(done.exception, SystemExit)
    told = [line.split() for line in done.output.splitlines()]
    assert len(told) == TELLINGS
    assert all(float(line[-2]) > 30 for line in told)
    assert int(told[-1][2]) >= TELLINGS
