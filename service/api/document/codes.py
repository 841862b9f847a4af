"""The codes of single faults, as the problem pages explain them.

Responsible for one sentence about each code. Refuses to decide when a code applies.
"""

CODES: dict[str, str] = {
    "required": "A field, query key or entry that must be there is missing or empty.",
    "unknown_field": "The field or query key does not exist here; look for a misspelling.",
    "wrong_type": "The value is of another type or form than the field takes; the detail shows the form.",
    "out_of_range": "The number, date, duration or position lies outside what is legal.",
    "too_long": "The text has more characters than the field holds.",
    "too_many": "The list has more entries than it may.",
    "not_in_list": "The word is not one of the closed list that the detail names.",
    "duplicate": "The same entry, key or code stands there already.",
    "unknown_unit": "The unit is neither in the kitchen vocabulary nor a measure that the item names in an equivalent.",
    "ambiguous_unit": "Cooks read the unit in two ways (t, T, c, C, pt); write the one that is meant, such as tsp, tbsp, cup or pint.",
    "wrong_kind": "A quantity of this kind has no place here.",
    "missing_equivalent": "Mass, volume and count meet with no stated pair that leads from one to the other.",
    "contradictory_equivalents": "Two equivalents of one owner differ by more than one percent.",
    "unknown_reference": "Nothing has the code that is referred to.",
    "loop": "Recipes or by-products need each other; the detail names the path.",
    "plan_too_large": "The plan that the question needs is larger than one request may make; the detail says how to ask for less.",
    "output_exceeds_input": "More comes out than goes in: look at yields, trim yields and by-products, or say gains_water.",
    "batch_rule": "Multiple, smallest and largest batch do not fit each other.",
    "rule_not_allowed": "The scaling rule is not legal on this line.",
    "yield_kind_changed": "Versions of one recipe never change the kind of its yield; make it a new recipe.",
    "acknowledge_needed": "An allergen is added to something in use: name it in acknowledge.",
    "safety_laxer": "The step is laxer than the published food code; record a reason, or make it stricter.",
    "keeps_exceeds_part": "Cold ready-to-eat food keeps longer than a cold ready-to-eat part of it: shorten keeps, or record keeps_reason.",
    "not_on_menu": "The menu item is not sold on the date; the detail says from when and until when it is.",
    "in_use": "Something else refers to this.",
    "nothing_to_publish": "Draft, from and sites equal those of the newest version.",
    "key_reused": "The Idempotency-Key was used for another request to this route in the last 24 hours.",
    "unknown_site": "There is no site of this code, or not for this token.",
    "unknown_till_source": "The token does not push as this source.",
    "at_in_future": "The moment at which work was done lies more than five minutes ahead of the service's clock.",
    "counted_in_future": "The moment of the count lies more than five minutes ahead of the service's clock.",
    "as_of_in_future": "The moment lies more than five minutes ahead of the service's clock.",
}
