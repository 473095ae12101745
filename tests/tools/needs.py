"""Tools beyond Python that a few tests need: absent in CI is a failure, absent at a stranger's is a skip that says so."""

import os
import shutil
from pathlib import Path

import pytest


def need(*tools: str, header: str = "", install: str) -> None:
    missing = [tool for tool in tools if not shutil.which(tool)]
    if header and not Path(header).exists():
        missing.append(header)
    if not missing:
        return
    says = f"{', '.join(missing)} missing: apt-get install {install}"
    if os.environ.get("CI"):
        pytest.fail(says)
    pytest.skip(says)
