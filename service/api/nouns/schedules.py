"""Schedules: who does what when on a site's date."""

from service.api import sheets
from service.api.exchange.call import Call
from service.api.exchange.roles import READERS
from service.api.exchange.views import BODY, Described, Noun
from service.api.schemas.queries import ScheduleQuery
from service.api.schemas.schedules import Schedule
from service.api.wire.answers import Answer
from service.operations.collections import name_of
from service.operations.day_schedules import ScheduleRequest, schedule_on, schedule_tag
from service.operations.lists import ListRequest

schedules = Noun("Schedules", "Who does what when on a date, where a site states shifts or equipment.")


@schedules.view(
    "GET",
    "/v1/sites/{site}/schedules/{date}",
    roles=READERS,
    query=ScheduleQuery,
    produces=sheets.SCHEDULE_TYPES,
    plans=BODY,
    answers={200: Described("The schedule, computed from the date's list, shifts and equipment.", Schedule)},
)
def get_schedule(call: Call) -> Answer:
    """Get the schedule of a site for a date: what each cook and each machine does when, and why; what finds no place, and what would help.

    A load is what goes through the steps of a run together. With at nothing that is unreported begins before that moment: it is 9.40 and
    an oven has failed, what now? Each help is a single change that was tried by a whole new schedule; helps=false leaves them out and
    answers faster. A site that states neither shifts nor equipment has no schedule: 404.

    By Accept it is the document (application/json), a picture to print (text/html), or an entry of a calendar for each piece of work
    (text/calendar), for wall screens and phones.
    """
    query, on = call.query, call.path["date"]
    listed = ListRequest(
        site=call.site,
        on=on,
        first=query["first"],
        station=query["station"],
        units=query["units"],
        pinned=call.config.pinned is not None,
    )
    request = ScheduleRequest(listed=listed, at=query["at"], helps=query["helps"])
    return Answer(
        body=lambda: schedule_on(call.session, request, call.now),
        tag=schedule_tag(call.session, request, call.now),
        faces=sheets.schedule_faces(lambda: name_of(call.session, call.site), f"{call.site}-{on}-schedule"),
    )
