"""The feed: which of many sites' lists have changed since somebody last asked.

Responsible for telling it by revisions and the clock, in two small reads however many sites there are. Refuses to plan, and to
know what a list says.
"""

from collections.abc import Callable, Collection
from dataclasses import dataclass
from datetime import UTC, datetime

from sqlalchemy.orm import Session

from service import __version__
from service.errors import Invalid, NotFound
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.measures.calendar import quarter_begun
from service.operations.loading import load_catalogue
from service.store import revisions

Tag = Callable[[Catalogue, str, int, datetime], str]
"""The tag of a site's list: by the catalogue, the site, its revision, and the moment at which it is asked."""

STATE = r"[0-9A-Za-z.+-]{1,40}\|[0-9]{1,18}\|[0-9]{1,12}"
SEPARATOR = "|"


@dataclass(frozen=True, slots=True)
class State:
    """What there was when somebody asked: the release, the last change of all, and the quarter hour that had begun."""

    release: str
    sequence: int
    quarter: datetime

    def write(self) -> str:
        """The state as a text.

        >>> State("0.2.0", 7, datetime(2026, 12, 2, 12, 15, tzinfo=UTC)).write()
        '0.2.0|7|1796213700'
        """
        return SEPARATOR.join((self.release, str(self.sequence), str(int(self.quarter.timestamp()))))

    @staticmethod
    def read(text: str) -> "State":
        """The state of a text in the form of ``STATE``."""
        release, sequence, quarter = text.split(SEPARATOR)
        return State(release, int(sequence), datetime.fromtimestamp(int(quarter), UTC))


@dataclass(frozen=True, slots=True)
class Feed:
    """The sites whose lists have changed, in order of code, each with the tag of its list, and the state to ask on from."""

    tags: dict[str, str]
    state: State


def read_feed(
    session: Session,
    tag: Tag,
    now: datetime,
    *,
    reach: Collection[str] | None,
    asked: Collection[str] | None = None,
    since: State | None = None,
    after: str = "",
    most: int | None = None,
) -> Feed:
    """What has changed since a state (None: all), of the sites ``asked`` for (None: all in reach): up to ``most`` behind a code.

    ``reach`` are the sites that the caller may see (None: all). A site may be told that has not changed, as after another release;
    none that has changed is left out. Raises NotFound for a site that is out of reach, and what ``tag`` raises.
    """
    catalogue, every = load_catalogue(session), revisions.every(session)
    codes = [code for code in sites_among(catalogue, reach, asked) if code > after]
    state = State(__version__, revisions.last_place(every.values()), quarter_begun(now))
    before = since if since is not None and _continues(since, every.get(revisions.CATALOGUE, revisions.NEVER), state) else None
    tags: dict[str, str] = {}
    for code in codes:
        if len(tags) == most:
            break
        revision = every.get(revisions.site(code), revisions.NEVER)
        current = tag(catalogue, code, revision.number, now)
        if before is None or revision.after(before.sequence) or _was(tag, catalogue, code, revision.number, before.quarter) != current:
            tags[code] = current
    return Feed(tags, state)


def sites_among(catalogue: Catalogue, reach: Collection[str] | None, asked: Collection[str] | None) -> list[str]:
    """The codes of the sites asked for (None: all) among those in reach (None: all), in order; raises NotFound."""
    known = [code for code in catalogue.sites if reach is None or code in reach]
    if asked is None:
        return sorted(known)
    for code in asked:
        if code not in catalogue.sites or (reach is not None and code not in reach):
            raise NotFound("site", code)
    return sorted(set(asked))


def _continues(since: State, catalogue: revisions.Revision, now: State) -> bool:
    """Whether single sites can be told apart: not after another release, a change of the catalogue, or in another database."""
    return since.release == now.release and since.sequence <= now.sequence and not catalogue.after(since.sequence)


def _was(tag: Tag, catalogue: Catalogue, code: str, number: int, moment: datetime) -> str | None:
    """The tag of an unchanged site at an earlier moment; None where its list could not be asked for then."""
    try:
        return tag(catalogue, code, number, moment)
    except Invalid:
        return None
