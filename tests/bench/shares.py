"""Shares: how often each rule occurs in the workload of the benchmark."""

# How often something is so, by what it is said of.
SHARES = {
    "an ingredient is counted in pieces": 0.10,
    "an ingredient is measured by volume": 0.20,
    "an ingredient thaws for a day": 0.10,
    "an ingredient keeps two days": 0.10,
    "an ingredient has forms": 0.35,
    "forms are of one cut": 0.15,
    "a form is drawn in whole pieces": 0.15,
    "a form gives a by-product": 0.20,
    "a form is made for two dates": 0.10,
    "a line calls another recipe": 0.30,
    "a line calls a form where there is one": 0.60,
    "a line crosses from volume to mass": 0.20,
    "a line takes a power of the batch": 0.08,
    "a line goes by tested points": 0.05,
    "a line takes the same each batch": 0.05,
    "a line is a percentage of the first": 0.12,
    "a line is critical": 0.03,
    "a recipe gives a by-product": 0.05,
    "a recipe is made for two or three dates": 0.15,
    "a recipe is made in whole multiples": 0.25,
    "a recipe has a smallest batch": 0.20,
    "a recipe has a largest batch": 0.40,
    "full batches go before a rest": 0.25,
    "a recipe rests over night": 0.10,
    "a recipe rests for a window": 0.05,
    "a recipe has steps at two stations": 0.30,
    "half of the guests take a component": 0.20,
    "a menu item is known by a till code": 0.30,
    "a menu item is not sold at a site": 0.30,
    "guests come to an event": 0.02,
    "a site overrides a count": 0.01,
    "a site has a vessel for a recipe": 0.05,
    "a site has a par of a recipe": 0.02,
    "a site counted a lot of a recipe": 0.10,
    "a site counted a lot in store": 0.20,
}
DEPTH = (0.40, 0.25, 0.18, 0.11, 0.06)
KEEPS = ("PT6H", "P1D", "P2D", "P3D", "P5D")
UNITS = {"mass": {"g": 1, "kg": 1000}, "volume": {"mL": 1, "L": 1000}, "count": {"each": 1}}
CANONICAL = {"mass": "g", "volume": "mL", "count": "each"}
STATIONS = 12
SOURCE = "bench"
PERIODS = {"breakfast": "07:00", "lunch": "11:30", "dinner": "17:30"}
