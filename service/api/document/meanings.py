"""What a field means in one shape, where its name alone does not tell; and what parameters mean.

Responsible for putting a sentence on every property and parameter of the published document. Refuses to know a shape otherwise
than by its name.
"""

from typing import Any

from service.api.document.vocabulary import NAMES

Json = dict[str, Any]

OWN: dict[tuple[str, str], str] = {
    ("AtRisk", "date"): "The business date of their meal.",
    ("BatchCost", "batch"): "What an authored batch costs.",
    ("BatchCost", "portion"): "What a portion costs.",
    ("Capacity", "equipment"): "How many machines of some equipment can be used on the date; null for as many as usual.",
    ("Capacity", "shifts"): "The shifts of the date in place of the usual ones, none at all on a closing day; null for the usual ones.",
    ("CapacityBody", "equipment"): "How many machines of some equipment can be used on the date; null for as many as usual.",
    ("CapacityBody", "shifts"): "The shifts of the date in place of the usual ones, none at all on a closing day; null for the usual ones.",
    ("ComputedQuantity", "amount"): "The exact amount, in the unit beside it.",
    ("ComputedQuantity", "unit"): "g, mL or each, by the stock kind of the item.",
    ("Cost", "amount"): "A decimal text in the currency beside it; a credit may make it negative.",
    ("Count", "id"): "The number of the count at its site, in the order of recording.",
    ("DateCapacity", "equipment"): "How many machines of each equipment can be used.",
    ("DateCapacity", "shifts"): "The shifts of the date.",
    ("DateShift", "from"): "The clock time at which it begins, HH:MM at the site.",
    ("DateShift", "name"): "What the shift is called; a label, nobody's name.",
    ("DateShift", "stations"): "The codes of the stations of the site at which its cooks work.",
    ("EntryFault", "code"): "Which rule is broken, one word of a list that the problem's page explains.",
    ("Equipment", "position"): "Its place in the order of equipment, from the front.",
    ("EquipmentBody", "position"): "Its place in the order of equipment, from the front.",
    ("Event", "code"): "The source's own key of the event.",
    ("Expected", "at"): "The moment at which they eat.",
    ("Expected", "count"): "The guests that are planned for, buffers included.",
    ("Expected", "from"): "Whether a forecast or the site's own word is counted.",
    ("Expected", "name"): "What the menu item is called.",
    ("Expected", "sources"): "The codes of the sources that pushed.",
    ("Form", "source"): "Where its trim yield is from.",
    ("HandsOnTime", "time"): "What that quantity takes, as an ISO 8601 duration.",
    ("ImportBody", "equipment"): "Equipment, each its PUT body and its code.",
    ("ImportBody", "ingredients"): "Ingredients, each its PUT body and its code.",
    ("ImportBody", "menu_items"): "Menu items, each its PUT body and its code.",
    ("ImportBody", "recipes"): "Drafts, each its PUT body and its code, and from when it is to be in force.",
    ("ImportBody", "sites"): "Sites, each its PUT body and its code.",
    ("ImportBody", "stations"): "Stations, each its PUT body and its code.",
    ("ImportResult", "unchanged"): "How many elements were the same already.",
    ("Ingredient", "kind"): "The stock kind: in mass, volume or count.",
    ("IngredientBody", "kind"): "The stock kind: in mass, volume or count.",
    ("Lot", "quantity"): "How much of it is on hand; 0 is legal.",
    ("ListWarning", "code"): "What the warning is about, one word for programs.",
    ("Machines", "count"): "How many machines of it there are.",
    ("MissingPrice", "detail"): "Why the price is not known.",
    ("Money", "amount"): "A decimal text in the currency beside it, at most four decimals.",
    ("NumberedStep", "active"): "Hands-on time: of one batch, as an ISO 8601 duration, or set_up and time for each per of what is made.",
    ("NumberedStep", "equipment"): "The code of the equipment that the step takes, for hands-on time and rest; null for none.",
    ("OrderLine", "packs"): "The packs to order; empty where nobody stated any.",
    ("OrderLine", "pulls"): "What the lists of the window pull.",
    ("OrderedPack", "count"): "How many of the pack.",
    ("OrderedPack", "quantity"): "What one pack holds.",
    ("Override", "count"): "Guests in the place of every forecast of the period; null leaves them.",
    ("OverrideBody", "count"): "Guests in the place of every forecast of the period; null leaves them.",
    ("Pack", "quantity"): "What one pack holds.",
    ("Par", "level"): "How much must stand ready.",
    ("PercentScaling", "of"): "The numbers of the lines of which it is a percentage, from 1.",
    ("Pull", "id"): "The id of the pull, which a recomputation keeps.",
    ("ProblemFault", "code"): "Which rule is broken, one word of a list that the problem's page explains.",
    ("PushBody", "source"): "The code of the source that pushes.",
    ("Refused", "errors"): "What is wrong with the entry; pointers begin at the root of the body.",
    ("RecipeCost", "batch"): "What an authored batch costs.",
    ("RecipeCost", "portion"): "What a portion costs; null where no portion is stated.",
    ("ReportBody", "at"): "The moment of the report, RFC 3339 with offset; null for now.",
    ("ScalingBody", "to"): "What to scale to.",
    ("SheetLink", "stations"): "The codes of the stations whose sheets it opens; null for all.",
    ("CreatedSheetLink", "stations"): "The codes of the stations whose sheets it opens; null for all.",
    ("PublicationBody", "note"): "Why, for those who publish; what cooks should know belongs in the recipe.",
    ("SheetLinkBody", "stations"): "The codes of the stations whose sheets it is to open; null for all.",
    ("Shift", "from"): "The clock time at which it begins, HH:MM at the site.",
    ("Shift", "name"): "What the shift is called; a label, nobody's name.",
    ("Shift", "stations"): "The codes of the stations of the site at which its cooks work.",
    ("Site", "equipment"): "The machines of the site, by their equipment.",
    ("SiteBody", "equipment"): "The machines of the site, by their equipment.",
    ("SiteRow", "add"): "Guests whom the site adds; null where it says nothing.",
    ("SiteRow", "count"): "The guests that the kitchen plans for.",
    ("SiteRow", "sources"): "The codes of the sources that pushed.",
    ("Stage", "of"): "Of how many stages.",
    ("Step", "active"): "Hands-on time: of one batch, as an ISO 8601 duration, or set_up and time for each per of what is made.",
    ("Step", "equipment"): "The code of the equipment that the step takes, for hands-on time and rest; null for none.",
    ("StepTime", "time"): "What that quantity takes, as an ISO 8601 duration.",
    ("StoredEntry", "source"): "The code of the source that pushed it.",
    ("Target", "have"): "What is on hand of one item, which limits the run.",
    ("Target", "quantity"): "How much is wanted of the yield.",
    ("TaskBatch", "count"): "How many batches of the size.",
    ("Temperature", "amount"): "Degrees, from -100 to 500.",
    ("Temperature", "unit"): "degC or degF.",
    ("TemperatureStretch", "from"): "The temperature at its beginning.",
    ("TemperatureStretch", "to"): "The temperature at its end.",
    ("TillCode", "source"): "The code of the point-of-sale source.",
    ("Token", "source"): "The source that an integration pushes as; null for other roles.",
    ("TokenBody", "source"): "The source that an integration pushes as; null for other roles.",
    ("TokenBody", "days"): "For how many days it serves; null for as long as is configured.",
    ("Turnover", "level"): "How many recipes stand between it and the published one, which is at 0.",
    ("UnmappedCode", "entries"): "How many counts are kept under it.",
    ("UnmappedCode", "source"): "The code of the source.",
    ("Usable", "count"): "How many machines of it can be used.",
    ("Version", "note"): "Why it was published; left out for kitchens and viewers.",
    ("VersionHead", "note"): "Why it was published; left out for kitchens and viewers.",
    ("Vessel", "largest"): "The largest batch that it takes.",
    ("Warned", "code"): "What the warning is about, one word for programs.",
    ("WhoAmI", "source"): "The source that an integration pushes as; null for other roles.",
}

PARAMETERS: dict[str, str] = {
    "If-Match": "The ETag of the state to be replaced, or * for any.",
    "If-None-Match": "ETags of answers that the caller has: where one of them still holds, 304 says so.",
    "Idempotency-Key": "A key of the caller's own for this request; a repetition within 24 hours changes nothing more.",
    "cards": "Whether the sheet has the cards of what to weigh for each batch.",
    "code": "The code of the thing.",
    "cursor": "Where the page begins, as next has it.",
    "date": "A business date of the site, YYYY-MM-DD.",
    "dry_run": "Whether the import is only checked.",
    "event": "The code of an event; left out, what the period has without events.",
    "from": "The first business date, or the version to compare with.",
    "limit": "How many rows a page has at most.",
    "number": "The number of the thing, from 1.",
    "on": "The business date for which it is told; today where it is left out.",
    "print": "The number of a print; as it is now where it is left out.",
    "secret": "The secret part of a sheet link's address.",
    "since": "Since when: the number of a print, or the cursor of an answer of /v1/revisions.",
    "site": "The code of a site.",
    "sites": "The codes of sites, separated by commas; all in reach where it is left out.",
    "source": "The code of a source.",
    "trace": "Whether shares and feeds are told.",
}


def put_sentences(document: Json) -> None:
    """Put a sentence on every property and parameter of a document that has none of its own."""
    for name, shape in document["components"]["schemas"].items():
        fields = shape.get("properties", {})
        for key, inner in fields.items():
            if (sentence := meaning(name, key)) is not None:
                fields[key] = {**inner, "description": sentence}
    for operations in document["paths"].values():
        for operation in operations.values():
            for parameter in operation["parameters"]:
                parameter.setdefault("description", PARAMETERS.get(parameter["name"]) or NAMES.get(parameter["name"], ""))


def meaning(shape: str, key: str) -> str | None:
    """What a field means in a shape; None where nobody has said."""
    return OWN.get((shape, key)) or NAMES.get(key)
