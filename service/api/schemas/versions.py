"""Publishing, withdrawing and reading versions of recipes."""

from service.api.fields import AllergenName, CivilDate, Code, Document, Flag, Many, Moment, Number, Object, Text, WholeNumber
from service.api.schemas.computed import NUMBERED
from service.api.schemas.recipes import DraftBody
from service.limits import ALLERGENS, NOTE_LENGTH, Span

SITES = 500


class PublicationBody(Document):
    """From when, and where, a draft is to be in force; sites null is everywhere."""

    starts_on = CivilDate(attribute="from", data_key="from", required=True)
    sites = Many(Code(), most=SITES, least=1, unique=(), load_default=None)
    note = Text(NOTE_LENGTH, lines=True, blank=True, load_default="")
    acknowledge = Many(AllergenName(), most=len(ALLERGENS) * 2, load_default=list)


class WithdrawalBody(Document):
    """From when a version is no longer in force."""

    starts_on = CivilDate(attribute="from", data_key="from", required=True)
    note = Text(NOTE_LENGTH, lines=True, blank=True, load_default="")


class Warned(Document):
    """A warning: its code and a sentence."""

    code = Text(required=True)
    detail = Text(required=True)


class Publication(Document):
    """A published version, and what the publisher should know."""

    recipe = Code(required=True)
    version = WholeNumber(NUMBERED, required=True)
    starts_on = CivilDate(data_key="from", required=True)
    sites = Many(Code(), most=SITES, allow_none=True, required=True)
    warnings = Many(Object(Warned), most=10_000, required=True)
    cooking_yield = Number(Span(0, 10**9), allow_none=True)


class VersionHead(Document):
    """A version without its document; note and warnings are the publisher's alone to see."""

    recipe = Code(required=True)
    version = WholeNumber(NUMBERED, required=True)
    starts_on = CivilDate(data_key="from", required=True)
    sites = Many(Code(), most=SITES, allow_none=True, required=True)
    title = Text(required=True)
    note = Text(NOTE_LENGTH, blank=True)
    warnings = Many(Object(Warned), most=10_000)
    published_at = Moment(required=True)
    withdrawn_from = CivilDate(allow_none=True, required=True)


class Version(DraftBody):
    """A version as it was published, which never changes."""

    code = Code()
    recipe = Code()
    version = WholeNumber(NUMBERED, required=True)
    starts_on = CivilDate(data_key="from", required=True)
    sites = Many(Code(), most=SITES, allow_none=True, required=True)
    note = Text(NOTE_LENGTH, blank=True)
    warnings = Many(Object(Warned), most=10_000)
    published_at = Moment()
    withdrawn_from = CivilDate(allow_none=True)


class RecipeRow(Document):
    """A recipe as the list shows it; title and station of the version in force, else of the draft."""

    code = Code(required=True)
    title = Text(required=True, allow_none=True)
    station = Code(required=True, allow_none=True)
    version = WholeNumber(NUMBERED, allow_none=True)
    draft = Flag()
