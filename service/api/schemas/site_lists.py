"""Prep lists of several sites: how they are planned and shown, and which page of sites."""

from service.api.fields import Choice, CivilDate
from service.api.schemas.queries import Paging
from service.limits import UNIT_SYSTEMS


class PrepListsQuery(Paging):
    """How the lists are planned and shown, and a page of sites by code."""

    first = CivilDate(data_key="from", load_default=None)
    units = Choice(UNIT_SYSTEMS, load_default=None)
