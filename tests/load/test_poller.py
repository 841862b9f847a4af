"""One token keeps many lists fresh: it is told of those that changed, and asks for no others."""

from pathlib import Path

from service.config import Config
from service.operations.tokens import create_token
from service.shell import writing
from tests.load.poller import Poller, push
from tests.load.scene import NOW, SITES_OF_A_TILL, fresh, prepare
from tests.serving import serving


def test_a_poller_of_many_lists_asks_for_those_alone_that_changed(tmp_path: Path) -> None:
    with fresh("sqlite", tmp_path) as url:
        scene = prepare(url, 2 * SITES_OF_A_TILL)
        with writing(Config(database_url=url, pinned=NOW)) as session:
            token = create_token(session, "screen", "viewer", None, None, 1, NOW)[0]
        with serving(url, tmp_path, KITCHEN_PREP_NOW=NOW.isoformat()) as served:
            poller = Poller(served, token)
            poller.poll(fetch=False)
            assert len(poller.tags) == 2 * SITES_OF_A_TILL + 3
            poller.poll(fetch=True)
            assert (poller.watch.feeds, poller.watch.requests, poller.watch.fetched) == (2, 2, 0)
            push(served, scene.tills[1], 7)
            poller.poll(fetch=True)
            assert (poller.watch.requests, poller.watch.fetched) == (3 + SITES_OF_A_TILL, SITES_OF_A_TILL)
            poller.poll(fetch=True)
            assert poller.watch.requests == 4 + SITES_OF_A_TILL
            poller.line.close()
