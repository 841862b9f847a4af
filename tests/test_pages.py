"""The pages: what those for developers name exists, what any links to is there, and their lines are short."""

import re
from pathlib import Path

import pytest

from tests.marked import PAGES as FOR_READERS

TOP = Path(__file__).resolve().parent.parent
DEVELOPERS = TOP / "DEVELOPERS.md"
RULES = TOP / "service" / "kitchen" / "README.md"
INTERFACE = TOP / "service" / "api" / "README.md"
LOAD = TOP / "tests" / "load" / "README.md"
PAGES = (DEVELOPERS, RULES, INTERFACE, LOAD, *FOR_READERS)
WIDTH = 120
# How many files a page for developers names at the least.
NAMING = {DEVELOPERS: 40, RULES: 1, INTERFACE: 1, LOAD: 4}
# Where a page may begin the path of a file that it names.
PLACES = (TOP, TOP / "service", TOP / "service" / "api", TOP / "service" / "kitchen", TOP / "tests")


def shown(page: Path) -> str:
    return page.relative_to(TOP).as_posix()


def prose(page: Path) -> str:
    """A page without its blocks of code."""
    return re.sub(r"```.*?```", "", page.read_text(encoding="utf-8"), flags=re.DOTALL)


def anchors(page: Path) -> list[str]:
    """What the headings of a page's sections are reached by."""
    return [anchor(heading) for heading in re.findall(r"^##+ (.+)$", prose(page), re.MULTILINE)]


def anchor(heading: str) -> str:
    """What a heading is reached by."""
    return re.sub(r"[^a-z0-9 -]", "", heading.lower()).replace(" ", "-")


def found(path: Path) -> bool:
    """Whether a file, a folder or a module is there, and in the module the name that a dotted path says."""
    module_name, _, name = path.name.partition(".")
    module = path.with_name(f"{module_name}.py")
    return path.exists() or (module.exists() and re.search(rf"\b{name}\b", module.read_text(encoding="utf-8")) is not None)


@pytest.mark.parametrize("page", PAGES, ids=shown)
def test_every_line_wraps_unless_it_is_a_single_name(page: Path) -> None:
    lines = page.read_text(encoding="utf-8").splitlines()
    assert [line for line in lines if len(line) > WIDTH and not re.fullmatch(r"- \S+", line)] == []


@pytest.mark.parametrize(("page", "least"), NAMING.items(), ids=map(shown, NAMING))
def test_every_file_that_a_page_names_exists(page: Path, least: int) -> None:
    named = {name for name in re.findall(r"`([a-z0-9_./]+)`", prose(page)) if re.search(r"/|\.(py|json|toml|md)$", name)}
    assert len(named) >= least
    assert not {name for name in named if not any(found(place / name.removeprefix("/")) for place in PLACES)}


def test_the_interface_is_as_long_as_the_page_for_developers_says() -> None:
    text = " ".join(DEVELOPERS.read_text(encoding="utf-8").split())
    own, other = re.findall(r"It costs some ([0-9,]+) lines .*?; schemas and views are ([0-9,]+) more", text)[0]
    for told, rooms in ((own, ("wire", "exchange", "fields", "document")), (other, ("schemas", "nouns"))):
        files = [file for room in rooms for file in (TOP / "service" / "api" / room).glob("*.py")]
        lines = sum(len(file.read_text(encoding="utf-8").splitlines()) for file in files)
        assert lines == pytest.approx(int(told.replace(",", "")), rel=0.05), rooms


@pytest.mark.parametrize("page", PAGES, ids=shown)
def test_every_link_of_a_page_leads_somewhere(page: Path) -> None:
    for target in re.findall(r"\]\((?!https?:)([^)\s]+)\)", prose(page)):
        path, _, section = target.partition("#")
        leads_to = (page.parent / path).resolve() if path else page
        assert leads_to.exists(), target
        assert not section or section in anchors(leads_to), target


@pytest.mark.parametrize("page", [DEVELOPERS, RULES, INTERFACE], ids=shown)
def test_every_section_of_a_page_is_reached_from_its_beginning(page: Path) -> None:
    sections = re.findall(r"^## (.+)$", prose(page), re.MULTILINE)
    assert set(re.findall(r"\]\(#([a-z0-9-]+)\)", prose(page))) == {anchor(each) for each in sections} - {"contents"}
