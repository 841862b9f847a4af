"""Turns: how a view is carried out, so that whoever writes holds the others up for as short as can be.

Responsible for a slot for what plans, for one transaction a request, and for doing what was prepared once more where it
has moved before it could be written. Refuses to know who may ask, and whether what was asked has the right shape.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext
from dataclasses import replace
from functools import partial
from time import monotonic
from typing import Any

import structlog
from flask import Response, current_app, g, request
from sqlalchemy.orm import Session

from service.api.exchange import reach
from service.api.exchange.call import Call
from service.api.exchange.idempotency import Keyed, begin, recall, remember
from service.api.exchange.interior import Interior
from service.api.exchange.standing import STANDS, Stands
from service.api.exchange.views import BODY, NEEDED, REPEAT, WHOLE, View
from service.api.wire.answers import Answer, key_of, respond
from service.api.wire.conditions import ANY
from service.api.wire.refusals import Unavailable
from service.errors import MatchRequired, Moved, Stale
from service.operations.past import closed_while_reading, keep_closed
from service.operations.standing import standing
from service.store.engine import BUSY_SECONDS
from service.store.revisions import any_unplaced, place
from service.store.troubles import TROUBLES

# As long as one waits for the writer. What takes longer is done a second time all the same, where a request has time for that.
PATIENCE_SECONDS = BUSY_SECONDS
log = structlog.get_logger("service.api")


def carry_out(view: View, call: Call, keyed: Keyed | None, media_type: str) -> Response:
    """The answer to a request whose shape is right; raises Unavailable where what it is made from moves each time."""
    if not view.writes:
        if view.places:
            place_changes(call)
        with planning(view, WHOLE):
            response = answer(view, call, media_type)
        keep_in_haste(call)
        return response
    interior, started = Interior.of(current_app), monotonic()
    # Over all tries: between two of them the key would look free to its twin.
    with interior.twins.alone(keyed), interior.alone.taken() if view.alone else nullcontext():
        tries = 0
        while True:
            tries, began = tries + 1, monotonic()
            ready = prepare(view, call, keyed, media_type, tries)
            try:
                return write(view, call, keyed, media_type, ready)
            except Moved as error:
                # Whatever moved it was kept, so each time somebody has got on.
                now = monotonic()
                late = now - started > PATIENCE_SECONDS and tries > 1
                if late or now - started + (now - began) > interior.config.request_seconds:
                    raise Unavailable("What this is computed from keeps changing.") from error


def prepare(view: View, call: Call, keyed: Keyed | None, media_type: str, tries: int) -> Response | None:
    """Compute what is to be written, by the newest state there is, while others write; the answer too, where that is known before."""
    if view.prepare is None:
        return None
    # A reader sees the state at which it began: what has moved since, only a new one sees.
    if keyed or tries > 1:
        change_session(call, Interior.of(current_app).readers)
        begin(keyed, call.session)
    call.planning = partial(planning, view, NEEDED)
    with planning(view, WHOLE):
        call.prepared = view.prepare(call)
        # An answer that waits for no number of the writer's is made here, while others write.
        return None if view.keep is None else answer(view, call, media_type)


def write(view: View, call: Call, keyed: Keyed | None, media_type: str, ready: Response | None) -> Response:
    """Wait for the request's turn to write, and take it: what the view wrote is committed together with the answer kept under its key."""
    interior = Interior.of(current_app)
    closed = closed_while_reading(call.session)
    with interior.metrics.turn(view.path, view.method) as has_come:
        change_session(call, interior.writers)
        try:
            begin(keyed, call.session, call.site if view.local else None)
            # The transaction has begun, and with it the turn: nobody else writes what this one does.
            has_come()
            # While this one waited, its twin in another process may have been answered.
            if keyed and (known := recalled(view, call, keyed)):
                return known
            keep_closed(call.session, closed, call.now)
            if view.keep is not None:
                view.keep(call)
            response = ready or answer(view, call, media_type)
            if keyed:
                remember(keyed, call.session, response, call.now, whole=view.keyed == REPEAT and view.made is None)
            call.session.commit()
            return response
        finally:
            # Whatever was refused or failed is rolled back here, and not only when the refusal is written.
            call.session.close()


def recalled(view: View, call: Call, keyed: Keyed) -> Response | None:
    """What was answered under the key, as the caller is shown it; None the first time."""
    made = view.made

    def read(location: str, status: int) -> Any:
        shown = reach.limit(view, call.identity, Answer(body=made and made(call, location), status=status)).body
        return shown() if callable(shown) else shown

    return recall(keyed, call.session, request, call.now, read if made else None)


def keep_in_haste(call: Call) -> None:
    """Keep the days that a reader closed, so that the next one need not; not now, where another writes or has changed their site."""
    closed = closed_while_reading(call.session)
    if any(each.over(call.now) for each in closed):
        # Nothing is lost where they are not: whoever reads next closes the same days again.
        write_in_haste("closed days not kept", lambda session: keep_closed(session, closed, call.now))


def place_changes(call: Call) -> None:
    """Give changes that have none yet a place in the order of all, and go on with a reader that sees it."""
    if any_unplaced(call.session):
        # A change without a place is told each time that somebody asks, until it has one.
        write_in_haste("changes not placed", place)
        change_session(call, Interior.of(current_app).readers)


def write_in_haste(else_told: str, work: Callable[[Session], None]) -> None:
    """Write what may as well be written the next time, not now where another writes; the log is told where it was not."""
    try:
        with Interior.of(current_app).hasty_writers() as session:
            work(session)
            session.commit()
    except TROUBLES as error:
        log.info(else_told, reason=type(error).__name__)


def change_session(call: Call, sessions: Callable[[], Session]) -> None:
    """Let go of the request's session, and go on with another."""
    g.session.close()
    g.session = call.session = sessions()


def answer(view: View, call: Call, media_type: str) -> Response:
    """Call the view's function, and make a response of what it answers."""
    who = call.identity
    answered = deferred(view, reach.limit(view, who, run(view, call)))
    # A body that is made only when it is needed is one that takes long.
    kept = Interior.of(current_app).kept if callable(answered.body) else None
    reader = (who.role, who.sites, who.source)
    response = respond(request, answered, media_type, kept, reader)
    if view.stands:
        bytes_of = None if response.status_code == 304 else key_of(request, media_type, reader, response.headers["ETag"])
        request.environ[STANDS] = Stands(standing(call.session, who, call.site, call.now), str(request.url_rule), bytes_of)
    return response


def run(view: View, call: Call) -> Answer:
    """Call the view. If-None-Match: * asks for creation alone: there, replacing is what is stale."""
    try:
        result = view.function(call)
    except MatchRequired:
        if view.method == "PUT" and request.headers.get("If-None-Match", "").strip() == ANY:
            raise Stale("If-None-Match: * asks to create, but the thing exists.") from None
        raise
    return result if isinstance(result, Answer) else Answer(body=result)


def deferred(view: View, answer: Answer) -> Answer:
    """The answer, with a slot to plan its body in where only that plans: a caller who has the state needs none."""
    body = answer.body
    if view.plans != BODY or not callable(body):
        return answer

    def plan() -> Any:
        with planning(view, BODY):
            return body()

    return replace(answer, body=plan)


@contextmanager
def planning(view: View, part: str) -> Iterator[None]:
    """A slot to plan in, and the time that it takes, where this part of the view plans; raises Busy."""
    if view.plans != part:
        yield
        return
    interior = Interior.of(current_app)
    with interior.slots.taken(), interior.metrics.planning(view.path):
        yield
