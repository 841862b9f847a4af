"""Schedules: who does what when on a date, in which machine, and why; what finds no place, and what would help.

Responsible for the document of a date's schedule (domain K12 to K16). Refuses to place anything, and to draw it.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from service.kitchen.capacity.scheduled import (
    Because,
    Conflict,
    Help,
    Lack,
    LoadKey,
    Scheduled,
    ScheduledLoad,
)
from service.kitchen.lists.documents import PrepList
from service.kitchen.lists.listed import listed_on
from service.kitchen.lists.loads import loads_on, said
from service.kitchen.lists.naming import Naming
from service.kitchen.lists.schedule_documents import (
    BecauseRow,
    ConflictRow,
    EarlyLoad,
    HelpRow,
    LackRow,
    Schedule,
    ScheduleLoad,
)
from service.kitchen.lists.telling import Telling
from service.kitchen.measures.calendar import write_duration
from service.kitchen.planning.plan import Plan


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """Which schedule is asked for: a date, perhaps one station's, from a moment on, and what would help, where that was asked."""

    on: date
    station: str | None = None
    at: datetime | None = None
    helps: Sequence[Help] | None = None


def schedule(plan: Plan, scheduled: Scheduled, asked: Asked, telling: Telling, listed: PrepList) -> Schedule:
    """The schedule of a date, beside its list, of which it tells the warnings and cautions again."""
    return _Schedule(plan, scheduled, asked, telling).document(listed)


class _Schedule:
    """A plan's schedule, and how it is told."""

    def __init__(self, plan: Plan, scheduled: Scheduled, asked: Asked, telling: Telling) -> None:
        self.plan, self.scheduled, self.asked, self.telling = plan, scheduled, asked, telling
        self.words = telling.words
        self.write = telling.words.calendar.write
        self.naming = Naming(plan, scheduled, self.words)

    def document(self, listed: PrepList) -> Schedule:
        asked, scheduled = self.asked, self.scheduled
        loads = [load for load in loads_on(scheduled, asked.on, self.plan.first) if self._concerns(load.key)]
        capacity = listed["capacity"]
        document: Schedule = {
            "site": listed["site"],
            "date": listed["date"],
            "from": listed["from"],
            "at": None if asked.at is None else self.write(asked.at),
            "units": listed["units"],
            "print": None,
            "fits": capacity["fits"],
            "reserve": capacity["reserve"],
            "cooks": [cook for cook in capacity["cooks"] if self._at(cook["stations"])],
            "equipment": capacity["equipment"],
            "loads": [self._load(load) for load in loads],
            "evening_before": [self._early(load) for load in scheduled.evening_before(asked.on) if self._concerns(load.key)],
            "conflicts": [self._conflict(each) for each in self._conflicts()],
            "warnings": listed["warnings"],
            "cautions": listed["cautions"],
        }
        if asked.helps is not None:
            document["helps"] = [self._help(each) for each in asked.helps]
        return document

    def _at(self, stations: Iterable[str]) -> bool:
        return self.asked.station is None or self.asked.station in stations

    def _concerns(self, key: LoadKey) -> bool:
        """Whether a load is worked on at the station asked for."""
        return self._at(self.naming.stations(key))

    def _station(self, code: str) -> str:
        return self.words.catalogue.station_name(code)

    def _equipment(self, code: str) -> str:
        return self.words.catalogue.equipment_name(code)

    def _load(self, load: ScheduledLoad) -> ScheduleLoad:
        return {
            **self.naming.name(load.key),
            "of": load.of,
            "title": self.naming.item(load.key),
            "station": self.words.site.station(self.naming.stage(load.key).station),
            "starts": self.write(load.starts),
            "ready": self.write(load.ready),
            "due": None if load.due is None else self.write(load.due),
            "held": write_duration(load.held),
            "slack": None if load.slack is None else write_duration(load.slack),
            "fits": load.fits,
            "because": None if load.because is None else self._because(load, load.because),
        }

    def _because(self, load: ScheduledLoad, because: Because) -> BecauseRow:
        return {
            "code": because.code,
            "equipment": because.name if because.code == "equipment" else None,
            "station": because.name if because.code in ("station", "hours") else None,
            "loads": [self.naming.name(each) for each in because.loads],
            "detail": self._reason(load, because),
        }

    def _reason(self, load: ScheduledLoad, because: Because) -> str:
        """Why a load is not a minute later, as a cook would say it."""
        name, others = because.name or "", self.naming.titles(because.loads)
        due = "" if load.due is None else self.words.moment(load.due)
        match because.code:
            case "due":
                return f"{others} draws on it at {due}" if others else f"it is needed at {due}"
            case "equipment":
                return f"{self._equipment(name)} has {others}" if others else f"{self._equipment(name)} is out of order then"
            case "station":
                return f"{self._station(name)} has {others}"
            case "hours":
                return f"nobody is at {self._station(name)} later"
            case "step":
                return "one of its steps may begin no later"
            case "begun":
                return "it is under way"

    def _early(self, load: ScheduledLoad) -> EarlyLoad:
        return {**self.naming.name(load.key), "starts": self.write(load.starts)}

    def _conflicts(self) -> Iterator[Conflict]:
        """The loads that are left out on the date; those that supply another such are told under that."""
        for conflict in self.scheduled.conflicts:
            load = self.scheduled.load(conflict.load)
            if conflict.under is None and listed_on(load.on, self.plan.first) == self.asked.on and self._concerns(conflict.load):
                yield conflict

    def _conflict(self, conflict: Conflict) -> ConflictRow:
        return {
            "task": self.naming.name(conflict.load)["task"],
            "load": conflict.load.number,
            "lacks": list(map(self._lack, conflict.lacks)),
            "from": None if conflict.begins is None else self.write(conflict.begins),
            "until": None if conflict.until is None else self.write(conflict.until),
            "short": None if conflict.short is None else write_duration(conflict.short),
            "taken_by": [self.naming.name(each) for each in conflict.taken_by],
            "at_risk": self.telling.at_risk(self.telling.shares.of_parts(conflict.at_risk)),
            "detail": self._trouble(conflict),
        }

    def _lack(self, lack: Lack) -> LackRow:
        match lack.kind:
            case "equipment":
                return {"equipment": lack.name}
            case "station":
                return {"station": lack.name}
            case "hours":
                return {"hours": lack.name}

    def _lacking(self, lack: Lack) -> str:
        match lack.kind:
            case "equipment":
                return self._equipment(lack.name)
            case "station":
                return self._station(lack.name)
            case "hours":
                return f"the hours of {self._station(lack.name)}"

    def _trouble(self, conflict: Conflict) -> str:
        """What keeps a load from finding a place, as a cook would say it."""
        lacks = " or ".join(map(self._lacking, conflict.lacks))
        taken = f", taken by {self.naming.titles(conflict.taken_by)}" if conflict.taken_by else ""
        when = ""
        if conflict.begins is not None and conflict.until is not None:
            when = f" from {self.words.moment(conflict.begins)} until {self.words.moment(conflict.until)}"
        short = "" if conflict.short is None else f"; {said(conflict.short)} later there would be one"
        return f"{self.naming.title(conflict.load)}: no place found; it lacks {lacks}{when}{taken}{short}"

    def _help(self, change: Help) -> HelpRow:
        name = change.name or ""
        row: HelpRow = {
            "code": change.code,
            "left_out": change.left_out,
            "detail": f"{self._change(change, name)} {_rest(change.left_out)}",
        }
        if change.by is not None:
            row["by"] = write_duration(change.by)
        if change.code in ("begins_earlier", "one_more_cook"):
            row["shift"] = name
        if change.code == "one_more_machine":
            row["equipment"] = name
        return row

    def _change(self, change: Help, name: str) -> str:
        match change.code:
            case "begins_earlier":
                return f"With {name} beginning {self._earlier(name, change.by)}"
            case "needed_later":
                return f"With what they are for needed {said(change.by or timedelta())} later"
            case "one_more_cook":
                return f"With one more cook in {name}"
            case "one_more_machine":
                return f"With one more {self._equipment(name)}"

    def _earlier(self, shift: str, by: timedelta | None) -> str:
        """The clock time at which a shift of the date would begin, or where it has none then, how much earlier."""
        earlier = by or timedelta()
        starts = [duty.starts for duty in self.scheduled.duties if duty.on == self.asked.on and duty.cook.shift == shift]
        if not starts:
            return f"{said(earlier)} earlier"
        return f"at {(min(starts) - earlier).astimezone(self.words.calendar.zone):%H:%M}"


def _rest(left_out: int) -> str:
    """What a change leaves out, as the end of a sentence."""
    if left_out == 0:
        return "everything fits."
    return "1 load finds no place." if left_out == 1 else f"{left_out} loads find no place."
