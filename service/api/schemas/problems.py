"""Problem documents (RFC 9457)."""

from service.api.fields import Document, Echo, Many, Object, Text, WholeNumber
from service.limits import ERRORS, Span


class ProblemFault(Document):
    """One fault: where (a pointer into the body, or a parameter), which rule, what to write instead."""

    pointer = Echo()
    parameter = Echo()
    code = Text(required=True)
    detail = Echo(required=True)


class Problem(Document):
    """Why a request was refused."""

    type = Text(required=True)
    title = Text(required=True)
    status = WholeNumber(Span(400, 599), required=True)
    detail = Echo(required=True)
    instance = Text()
    errors = Many(Object(ProblemFault), most=ERRORS, required=True)
    more = WholeNumber(Span(1, 10**9))
