"""Basis: the revisions that something was computed from.

Responsible for telling, when it is to be written, whether it would be computed otherwise by now. Refuses to
know what was computed.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy.orm import Session

from service.errors import Moved
from service.kitchen.book.catalogue import Catalogue
from service.store import revisions


@dataclass(frozen=True, slots=True)
class Basis:
    """Scopes of revisions, each with its number when they were read."""

    numbers: tuple[tuple[str, int], ...]


def read_basis(session: Session, scopes: Iterable[str]) -> Basis:
    """The revisions that a session sees: whatever else it reads is of these."""
    return Basis(tuple(revisions.current(session, list(scopes)).items()))


def basis_of(catalogue: Catalogue) -> Basis:
    """The revision of a catalogue, for what is computed from nothing else."""
    return Basis(((revisions.CATALOGUE, catalogue.revision),))


def check_basis(session: Session, basis: Basis) -> None:
    """Raise Moved where a scope has another revision in this session than in the basis."""
    if read_basis(session, dict(basis.numbers)) != basis:
        raise Moved("What this was computed from has changed meanwhile; try again.")


def check_catalogue(session: Session, catalogue: Catalogue) -> None:
    """Raise Moved where the catalogue has another revision in this session."""
    check_basis(session, basis_of(catalogue))
