"""Words: what a cook reads instead of the codes of a list's document.

Responsible for the wording of allergens, safety, risks, rests, pulls and reports on the sheet. Refuses to
know how they are laid out.
"""

import re
from collections.abc import Sequence

from service.api.sheets.clock import Clock, date_of
from service.kitchen.lists.documents import AtRisk, MakeTask, Portion, PrepTask, ProgressRow
from service.kitchen.lists.wording import MONTHS, WEEKDAYS, day
from service.kitchen.measures.calendar import spoken
from service.kitchen.safety.safety import StepSafety, cited

SAFETY = {
    "cook": "Cook through",
    "reheat": "Reheat",
    "hold_hot": "Hold hot",
    "hold_cold": "Hold cold",
    "cool": "Cool in two stages",
    "time_control": "Time is the control",
    "thaw": "Thaw safely",
}
# Of these the note says when they may be done so; of others, in which edition of the code a figure stands.
CONDITIONED = ("time_control", "thaw")
STORES = {None: "Store", "dry": "Dry store", "cold": "Cold store", "frozen": "Freezer"}
REPORTED = {"doing": "BEGUN", "done": "DONE"}
NOTHING = "PT0S"
DATED = re.compile(rf"(?P<what>.*), (?P<day>(?:{'|'.join(WEEKDAYS)}) \d{{1,2}} (?:{'|'.join(MONTHS)}))", re.DOTALL)


def plain(code: str) -> str:
    """A code or name of a closed list as words.

    >>> plain("brazil_nut"), plain("soup-bowl"), plain("fish:cod")
    ('brazil nut', 'soup bowl', 'fish (cod)')
    """
    kind, _, species = code.replace("_", " ").replace("-", " ").partition(":")
    return f"{kind} ({species})" if species else kind


def listed(names: Sequence[str]) -> str:
    """Names as one text, in their order."""
    return ", ".join(plain(name) for name in names)


def lasts(duration: str | None) -> str:
    """A duration in words; nothing where it is none.

    >>> lasts("PT1H35M"), lasts("PT0S"), lasts(None)
    ('1 h 35 min', '', '')
    """
    return "" if duration in (None, NOTHING) else spoken(str(duration))


def safety(rule: StepSafety) -> str:
    """What a step must keep to: the kind, what recipe and code say of it with the section, and what is on record beside them.

    >>> safety({"kind": "cook", "class": "poultry", "display": "82 °C; the code asks at least 74 °C, Food Code 3-401.11", "asks": {},
    ...         "section": "3-401.11(A)(3)", "edition": "Food Code", "note": None, "laxer": False, "reason": None})
    'Cook through, poultry: 82 °C; the code asks at least 74 °C, Food Code 3-401.11.'
    """
    kind = SAFETY.get(rule["kind"], plain(rule["kind"]))
    head = f"{kind}, {plain(rule['class'])}" if rule["class"] else kind
    # What was printed before the code's figures stood apart does not name the section in its text.
    source = "" if "asks" in rule else f", {cited(rule['edition'], rule['section'])}"
    text = f"{head}: {rule['display']}{source}"
    reason = f"{'Laxer than the code, by the reason' if rule['laxer'] else 'Reason'} on record: {rule['reason']}" if rule["reason"] else ""
    condition = rule["note"] if rule["kind"] in CONDITIONED else None
    return " ".join(part.rstrip(".") + "." for part in (text, condition, reason) if part)


def risk(row: AtRisk) -> str:
    """What a late task puts at risk: so many portions of a menu item, and for when.

    >>> risk({"menu_item": "soup-bowl", "date": "2026-12-03", "period": "lunch", "event": None, "portions": 40})
    '40 portions of soup bowl, lunch, Thu 3 Dec'
    """
    count = row["portions"]
    portions = f"{count} {'portion' if count == 1 else 'portions'} of {plain(row['menu_item'])}"
    return ", ".join((portions, plain(row["event"] or row["period"]), day(date_of(row["date"]))))


def rest(task: MakeTask, index: int, clock: Clock) -> str:
    """How long a step is left alone, as clock times: its window, or until the next step or the end of the task."""
    step = task["steps"][index]
    window, span = step["window"], lasts(step["passive"])
    if window:
        least, target, most = map(clock.moment, (window["min"], window["target"], window["max"]))
        return f"Leave {span or 'it'}: ready from {least}, best at {target}, no later than {most}"
    later = task["steps"][index + 1 :]
    ends = later[0]["starts"] if later else task["ready_by"]
    return f"Leave {span}, until {clock.moment(ends)}" if span else ""


def purposes(texts: Sequence[str]) -> str:
    """What an entry is for, each purpose once with all its dates.

    >>> purposes(["Soup bowl, lunch", "Soup bowl, lunch, Fri 4 Dec", "Soup bowl, lunch, Sat 5 Dec", "par 2 kg by 09:00"])
    'Soup bowl, lunch (also Fri 4 Dec, Sat 5 Dec); par 2 kg by 09:00'
    >>> purposes(["Granola, breakfast, Fri 4 Dec"])
    'Granola, breakfast, Fri 4 Dec'
    """
    dates: dict[str, list[str]] = {}
    for text in texts:
        dated = DATED.fullmatch(text)
        dates.setdefault(dated["what"] if dated else text, []).extend([dated["day"]] if dated else [])
    return "; ".join(_dated(what, days, today=what in texts) for what, days in dates.items())


def _dated(what: str, days: Sequence[str], *, today: bool) -> str:
    if not days:
        return what
    return f"{what} (also {', '.join(days)})" if today else f"{what}, {', '.join(days)}"


def walk_purposes(texts: Sequence[str]) -> str:
    """What a pull is for, in short: each purpose once, and the last date that it serves.

    >>> walk_purposes(["Soup bowl, lunch", "Soup bowl, lunch, Fri 4 Dec", "Slaw, lunch, Sat 5 Dec"])
    'Soup bowl, lunch; Slaw, lunch (until Sat 5 Dec)'
    """
    matches = [(text, DATED.fullmatch(text)) for text in texts]
    short = "; ".join(dict.fromkeys(dated["what"] if dated else text for text, dated in matches))
    days = [dated["day"] for _, dated in matches if dated]
    return f"{short} (until {days[-1]})" if days else short


def progress(said: ProgressRow | None) -> str:
    """What the kitchen has reported about a task or pull; nothing while it is open."""
    if said is None or said["state"] not in REPORTED:
        return ""
    amounts = [f"{word} {amount['display']}" for word, amount in (("made", said["made"]), ("took", said["drawn"])) if amount]
    text = ", ".join([REPORTED[said["state"]], *amounts])
    return f"{text}: {said['note']}" if said["note"] else text


def takes_differ(task: PrepTask | MakeTask) -> bool:
    """Whether what a task takes in all says more than its batch cards: not so for one batch that takes just that."""
    if task["kind"] == "prep" or sum(card["count"] for card in task["batches"]) != 1:
        return bool(task["draw"])
    shown = [_taken(line) for line in task["batches"][0]["lines"]]
    return any(_taken(draw) not in shown for draw in task["draw"])


def _taken(row: Portion) -> tuple[str, str]:
    return (row["item"]["title"], row["quantity"]["display"])
