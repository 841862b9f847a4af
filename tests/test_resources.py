from pathlib import Path

import pytest

from service import resources
from service.resources import MissingFolder, folder


@pytest.mark.parametrize("name", ["migrations", "seeds", "openapi"])
def test_a_folder_of_a_checkout_stands_beside_the_package(name: str) -> None:
    assert folder(name) == Path(resources.__file__).parent.parent / name


def test_a_folder_of_an_installed_service_is_found_inside_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "bundled" / "seeds").mkdir(parents=True)
    monkeypatch.setattr(resources, "PACKAGE", tmp_path)
    assert folder("seeds") == tmp_path / "bundled" / "seeds"


def test_a_folder_that_is_not_there_is_named() -> None:
    with pytest.raises(MissingFolder, match="the folder recipes is missing"):
        folder("recipes")
