"""What can go wrong, named after the concept it concerns.

Responsible for the error types that every wing of the house raises. Refuses to know HTTP: the
interface maps each class to a status in one table of its own.
"""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from service.limits import DETAIL_SHOWN, ERRORS, FAULT_BYTES, LOADS_SCHEDULED, NEEDS_OF_A_PLAN, NEEDS_PLANNED

# What the names of its keys take in the JSON of a fault, and what an answer sets around one.
FRAME = 60


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with what a caller sent: where (an RFC 6901 pointer), which rule, and what to write instead."""

    pointer: str
    code: str
    detail: str
    parameter: str | None = None

    def below(self, prefix: str) -> "Fault":
        """The same fault, seen from a document that holds the faulty one at ``prefix``."""
        return Fault(prefix + self.pointer, self.code, self.detail, self.parameter)


class Room:
    """What one answer has room for of faults, in bytes."""

    def __init__(self, size: int = FAULT_BYTES) -> None:
        self.left = size

    def shown(self, faults: Iterable[Fault]) -> list[Fault]:
        """The first of some faults, as many as there is room for; a long detail is cut."""
        fitting: list[Fault] = []
        for fault in islice(faults, ERRORS):
            short = replace(fault, detail=fault.detail[:DETAIL_SHOWN])
            # Never less than it takes in an answer, where other letters than those of ASCII stand as they are.
            self.left -= len(json.dumps([short.pointer, short.parameter, short.code, short.detail])) + FRAME
            if self.left < 0:
                break
            fitting.append(short)
        return fitting


class ServiceError(Exception):
    """Anything that the service refuses to do, with a sentence for the caller."""

    code = "refused"

    def __init__(self, detail: str) -> None:
        super().__init__(detail)
        self.detail = detail


class KitchenError(ServiceError):
    """A rule of the kitchen domain is broken; ``code`` is one of the contract's error codes."""


class BadAmount(KitchenError):
    """An amount that is not a number, a fraction or a mixed number within the limits."""

    def __init__(self, detail: str, code: str = "wrong_type") -> None:
        super().__init__(detail)
        self.code = code


class UnknownUnit(KitchenError):
    """A unit that neither the kitchen vocabulary nor the item itself names."""

    code = "unknown_unit"

    def __init__(self, text: str, detail: str | None = None) -> None:
        super().__init__(detail or f"{text!r} is not a unit of the kitchen vocabulary")
        self.text = text


class AmbiguousUnit(KitchenError):
    """A unit that cooks read in two ways (t, T, c, C, pt); the detail says what to write."""

    code = "ambiguous_unit"

    def __init__(self, text: str, detail: str) -> None:
        super().__init__(detail)
        self.text = text


class WrongKind(KitchenError):
    """A quantity of a kind that has no place here (a temperature, a percentage, a portion)."""

    code = "wrong_kind"


class MissingEquivalent(KitchenError):
    """No stated pair leads from one kind of quantity to the other for this item."""

    code = "missing_equivalent"

    def __init__(self, item: str, from_kind: str, to_kind: str) -> None:
        super().__init__(
            f"{item} is measured here by {from_kind} and kept by {to_kind}: state an equivalent, "
            f"for instance 1 {EXAMPLE_UNIT.get(from_kind, from_kind)} = … {EXAMPLE_UNIT.get(to_kind, to_kind)}"
        )
        self.item = item
        self.from_kind = from_kind
        self.to_kind = to_kind


EXAMPLE_UNIT = {"mass": "g", "volume": "mL", "count": "each"}


class RecipeLoop(KitchenError):
    """Recipes that need each other; ``path`` names every item on the way, the first one again at the end."""

    code = "loop"

    def __init__(self, path: Sequence[str]) -> None:
        super().__init__("these need each other: " + " → ".join(path))
        self.path = tuple(path)


class PlanTooLarge(KitchenError):
    """A question whose plan, or whose plans together, would hold more needs than they may."""

    code = "plan_too_large"

    def __init__(self) -> None:
        super().__init__(
            f"this would plan more than {NEEDS_OF_A_PLAN:,} needs for a site, or {NEEDS_PLANNED:,} at once: ask for a date nearer to "
            "the one that is planned from, for fewer sites on a page, or for a recipe that stands on less"
        )


class TooManyLoads(PlanTooLarge):
    """A plan with more loads than one schedule may have (K4)."""

    def __init__(self) -> None:
        KitchenError.__init__(
            self,
            f"this would schedule more than {LOADS_SCHEDULED:,} loads at once: ask for a date nearer to the one that is planned from, "
            "or state equipment of a size that what is made in it calls for",
        )


class Invalid(ServiceError):
    """What a caller sent is well formed but wrong; every fault is listed."""

    code = "invalid"

    def __init__(self, faults: Iterable[Fault], detail: str = "The request is not acceptable; each fault says what to change.") -> None:
        super().__init__(detail)
        self.faults = tuple(faults)


class NotFound(ServiceError):
    """The thing asked for does not exist, or is not the caller's to see: the answer is the same."""

    code = "not_found"

    def __init__(self, thing: str, name: object, hint: str = "") -> None:
        super().__init__(f"There is no {thing} {name}. {hint}".rstrip())


class Unauthenticated(ServiceError):
    """No token, or one that is unknown, expired or revoked."""

    code = "unauthenticated"


class Forbidden(ServiceError):
    """A valid token whose role may not do this."""

    code = "forbidden"


class ForeignSource(Forbidden):
    """A push as a source that is not the token's own."""

    code = "unknown_till_source"


class MatchRequired(ServiceError):
    """Replacing or deleting without saying which state is replaced."""

    code = "match_required"


class Stale(ServiceError):
    """The state that the caller wants to replace is no longer the current one."""

    code = "stale"


class Moved(ServiceError):
    """What something was computed from has changed before it could be written: it is to be computed once more."""

    code = "moved"


class InUse(ServiceError):
    """Something else still refers to what the caller wants to remove."""

    code = "in_use"

    def __init__(self, detail: str, users: Iterable[str] = ()) -> None:
        super().__init__(detail)
        self.users = tuple(users)


class NothingToPublish(ServiceError):
    """The draft, its date and its sites are those of the newest version."""

    code = "nothing_to_publish"
