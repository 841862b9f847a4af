"""Sheet links: addresses that open a site's sheet in any browser."""

from service.api.fields import Code, Document, Many, Moment, Text, WholeNumber
from service.api.schemas.computed import NUMBERED
from service.api.schemas.queries import DateText, NumberText, SheetQuery
from service.limits import SHEET_LINK_DAYS, SHEET_LINK_DAYS_DEFAULT

STATIONS = 500


class SheetLinkBody(Document):
    """A link to make: to the sheets of some stations or of all (null), and for how many days."""

    stations = Many(Code(), most=STATIONS, least=1, unique=(), load_default=None)
    days = WholeNumber(SHEET_LINK_DAYS, load_default=SHEET_LINK_DAYS_DEFAULT)


class SheetLink(Document):
    """A link without its address."""

    id = Text(required=True)
    stations = Many(Code(), most=STATIONS, allow_none=True, required=True)
    created_at = Moment(required=True)
    expires_at = Moment(required=True)
    revoked_at = Moment(allow_none=True, required=True)


class CreatedSheetLink(SheetLink):
    """A link with its address, shown this once."""

    url = Text(required=True)


class OpenedSheet(SheetQuery):
    """Which sheet a link opens: of today unless a date is given, of all its stations or of one, as computed now or as printed."""

    on = DateText(data_key="date", load_default=None)
    station = Code(load_default=None)
    print_number = NumberText(NUMBERED, data_key="print", load_default=None)
