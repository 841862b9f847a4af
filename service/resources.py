"""The folders beside the code: migrations, seeds and the OpenAPI document.

Responsible for finding them, in a checkout and in an installed service. Refuses to know what is
in them.
"""

from pathlib import Path

PACKAGE = Path(__file__).resolve().parent


class MissingFolder(Exception):
    """A folder that belongs to the service is not where it was installed."""


def folder(name: str) -> Path:
    """The folder ``migrations``, ``seeds`` or ``openapi``: the checkout's beside the package, else the one installed inside it."""
    candidates = (PACKAGE / "bundled" / name, PACKAGE.parent / name)
    for candidate in candidates:
        if candidate.is_dir():
            return candidate
    raise MissingFolder(f"the folder {name} is missing: it belongs at {' or '.join(map(str, candidates))}; install the service again")
