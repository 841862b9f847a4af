"""Problem documents (RFC 9457)."""

from service.api.fields import Document, Many, Object, Text, WholeNumber
from service.limits import ERRORS, IMPORT_BODY_BYTES, Span


class ProblemFault(Document):
    """One fault: where (a pointer into the body, or a parameter), which rule, what to write instead."""

    pointer = Text(IMPORT_BODY_BYTES, blank=True)
    parameter = Text(IMPORT_BODY_BYTES, blank=True)
    code = Text(required=True)
    detail = Text(IMPORT_BODY_BYTES, required=True)


class Problem(Document):
    """Why a request was refused."""

    type = Text(required=True)
    title = Text(required=True)
    status = WholeNumber(Span(400, 599), required=True)
    detail = Text(IMPORT_BODY_BYTES, required=True)
    errors = Many(Object(ProblemFault), most=ERRORS, required=True)
    more = WholeNumber(Span(1, 10**9))
