"""Records the examples of answers anew, after a change of what is answered: ``python -m tests.contract.record``."""

import tempfile
from pathlib import Path

from service.api.schemas.stored import completions
from service.resources import folder
from service.store import migration
from service.store.documents import complete_by
from tests.contract.group import opened
from tests.contract.recording import FILE, record, write

if __name__ == "__main__":
    complete_by(completions())
    with tempfile.TemporaryDirectory() as place:
        url = f"sqlite:///{Path(place) / 'group.sqlite3'}"
        migration.upgrade(url)
        with opened(url) as director:
            (folder("openapi") / FILE).write_text(write(record(director)), "utf-8")
