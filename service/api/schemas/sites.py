"""Sites: one kitchen's clock, periods, stations, vessels, pars, machines and shifts."""

from service.api.fields import (
    Choice,
    Code,
    Document,
    ItemReference,
    Many,
    Number,
    Object,
    QuantityField,
    Table,
    Text,
    TimeOfDay,
    WholeNumber,
    Zone,
)
from service.api.schemas.capacity import Machines, Shift
from service.limits import BUFFER, EQUIPMENT, PARS, PERIODS, SHIFTS, SITE_EQUIPMENT, UNIT_SYSTEMS, VESSELS, WEEKDAY

MAPPED_STATIONS = 200


class Period(Document):
    """A meal period, the time by which its food must be ready, and when it ends: then the till no longer changes what is cooked."""

    code = Code(required=True)
    name = Text(required=True)
    ready_by = TimeOfDay(required=True)
    ends = TimeOfDay(load_default=None)


class Vessel(Document):
    """The largest batch of a recipe that the site's vessel takes."""

    recipe = Code(required=True)
    largest = QuantityField(required=True)


class Par(Document):
    """A level that must stand ready by a time on some weekdays (Monday is 1)."""

    item = ItemReference(raw=False, required=True)
    level = QuantityField(required=True)
    weekdays = Many(WholeNumber(WEEKDAY), most=7, least=1, unique=(), required=True)
    by = TimeOfDay(required=True)


class SiteBody(Document):
    """One kitchen."""

    name = Text(required=True)
    time_zone = Zone(required=True)
    units = Choice(UNIT_SYSTEMS, load_default="metric")
    day_starts = TimeOfDay(load_default="04:00")
    buffer = Number(BUFFER, load_default=0)
    periods = Many(Object(Period), most=PERIODS, least=1, unique=("code",), required=True)
    station_map = Table(most=MAPPED_STATIONS, load_default=dict)
    vessels = Many(Object(Vessel), most=VESSELS, unique=("recipe",), load_default=list)
    pars = Many(Object(Par), most=PARS, load_default=list)
    equipment = Many(Object(Machines), most=SITE_EQUIPMENT, unique=("equipment",), load_default=list)
    equipment_map = Table(most=EQUIPMENT, load_default=dict)
    shifts = Many(Object(Shift), most=SHIFTS, load_default=list)


class Site(SiteBody):
    """A site with its code."""

    code = Code(required=True)
