"""The calendar: a date's schedule as entries for wall screens and phones.

Responsible for one entry for each piece of work of a cook and each stay in a machine (RFC 5545). Refuses to compute: every moment stands
in the document already.
"""

from collections.abc import Iterator
from datetime import UTC, date, datetime, time

from icalendar import Calendar, Event, vText

from service.kitchen.lists.schedule_documents import Schedule

PRODUCT = "-//kitchen prep//schedule//EN"


def schedule_calendar(document: Schedule, site_name: str) -> bytes:
    """A schedule's document as an iCalendar object: each entry has whoever or whatever does it as its resource."""
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    # Equal schedules are equal bytes: an entry is as old as the plan, whenever it is asked for.
    stamp = datetime.combine(date.fromisoformat(document["from"]), time(), UTC)
    for uid, summary, resource, starts, ends in _entries(document):
        event = Event()
        event.add("uid", f"{uid}@{document['site']}")
        event.add("dtstamp", stamp)
        event.add("dtstart", datetime.fromisoformat(starts).astimezone(UTC))
        event.add("dtend", datetime.fromisoformat(ends).astimezone(UTC))
        event.add("summary", summary)
        event.add("resources", [vText(resource)])
        event.add("location", site_name)
        calendar.add_component(event)
    return bytes(calendar.to_ical())


def _entries(document: Schedule) -> Iterator[tuple[str, str, str, str, str]]:
    """For each piece of work its id, what it is, who or what has it, and from when to when."""
    of = {(load["task"], load["number"]): load["of"] for load in document["loads"]}

    def title(what: str, task: str | None, load: int | None) -> str:
        loads = of.get((task or "", load or 0), 1)
        return what if loads == 1 else f"{what} {load} of {loads}"

    for cook in document["cooks"]:
        who = f"{cook['shift']} {cook['number']}"
        for piece in cook["work"]:
            uid = f"{piece['task']}.{piece['load']}.{piece['step']}.hands"
            yield uid, title(piece["title"], piece["task"], piece["load"]), who, piece["starts"], piece["ends"]
    for machine in document["equipment"]:
        what = machine["name"] if machine["number"] is None else f"{machine['name']} {machine['number']}"
        for stay in machine["work"]:
            uid = f"{stay['task']}.{stay['load']}.{machine['equipment']}.{stay['starts']}"
            yield uid, title(stay["title"], stay["task"], stay["load"]), what, stay["starts"], stay["ends"]
