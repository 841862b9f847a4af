"""Makes the published document the baseline, at a release: ``python -m tests.contract.baseline``."""

import shutil

from service.resources import folder

if __name__ == "__main__":
    shutil.copy(folder("openapi") / "openapi.json", folder("openapi") / "baseline.json")
