"""Standing: for how long an answer that was computed for a site says the same.

Responsible for telling, in one small read, whether it still does, and whether the token that it was given to may still ask. Refuses
to know what was answered.
"""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from service.kitchen.measures.calendar import QUARTER, quarter_begun
from service.operations.lists import known_site
from service.operations.loading import load_catalogue
from service.operations.tokens import Identity
from service.store import revisions
from service.store.engine import Ask


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """What an answer hangs on: a token, the revisions of the catalogue and of a site, and the time between two moments."""

    token_id: str
    site: str
    numbers: tuple[int, int]
    since: datetime
    until: datetime

    def holds(self, ask: Ask, now: datetime) -> bool:
        """Whether the same token would get the same answer now; ``ask`` reads ``revisions.SEEN``."""
        return self.since <= now < self.until and ask(revisions.parameters_seen(self.token_id, self.site)) == self.numbers


def standing(session: Session, identity: Identity, site: str, now: datetime) -> Standing:
    """The standing of what a session of readers sees of a site: until the token, the quarter hour (P7) or the business date ends (T4)."""
    catalogue = load_catalogue(session)
    calendar = known_site(catalogue, site).calendar()
    return Standing(
        token_id=identity.token_id,
        site=site,
        numbers=(catalogue.revision, revisions.number(session, revisions.site(site))),
        since=now,
        until=min(identity.expires_at, quarter_begun(now) + QUARTER, calendar.end(calendar.business_date(now))),
    )
