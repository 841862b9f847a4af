"""A client that is generated from the committed document, as an integrator would make one.

Responsible for generating it into a folder and for calling the application through it. Refuses to know any noun.
"""

import sys
from importlib import import_module
from pathlib import Path
from types import ModuleType
from typing import Any

import httpx
from flask import Flask
from openapi_python_client import generate
from openapi_python_client.config import Config, ConfigFile, MetaType

from service.resources import folder

PACKAGE = "generated_kitchen_client"


def make(place: Path) -> ModuleType:
    """The client as a package in a folder; whatever the generator warns of is an error."""
    options = ConfigFile(post_hooks=[])
    config = Config.from_sources(
        options,
        MetaType.NONE,
        document_source=folder("openapi") / "openapi.json",
        file_encoding="utf-8",
        overwrite=False,
        output_path=place / PACKAGE,
    )
    complaints = generate(config=config)
    assert not complaints, [(each.header, each.detail) for each in complaints]
    sys.path.insert(0, str(place))
    try:
        return import_module(PACKAGE)
    finally:
        sys.path.remove(str(place))


def connected(package: ModuleType, app: Flask, token: str) -> Any:
    """A client of the package that talks to an application, without a server between."""
    transport = httpx.WSGITransport(app=app)
    return package.AuthenticatedClient(base_url="http://kitchen", token=token, httpx_args={"transport": transport})


def operation(package: ModuleType, tag: str, name: str) -> Any:
    """The module of an operation."""
    return import_module(f"{package.__name__}.api.{tag}.{name}")


def model(package: ModuleType, name: str) -> Any:
    """The class of a component."""
    return getattr(import_module(f"{package.__name__}.models"), name)
