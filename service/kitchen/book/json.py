"""JSON: objects whose keys no type of the house names.

Responsible for what they are called: a document is one that is read, and never changed. Refuses to know any key.
"""

from collections.abc import Mapping
from typing import Any

Json = dict[str, Any]
Document = Mapping[str, Any]
