"""Where the printer's files are kept."""

import os
from pathlib import Path
from typing import Literal


def folder(kind: Literal["config", "data", "state"]) -> Path:
    """Where settings, the notebook and the keeper's memory live; LAMPHOUSE_HOME puts all under one folder."""
    home = os.environ.get("LAMPHOUSE_HOME")
    if home:
        return Path(home).absolute()  # the same from wherever it is asked
    import platformdirs  # start-up time: one folder in the environment needs no search

    dirs = platformdirs.PlatformDirs("lamphouse", appauthor=False)
    return {"config": dirs.user_config_path, "data": dirs.user_data_path, "state": dirs.user_state_path}[kind]


def notebook_file() -> Path:
    """Where the printer's own notebook is."""
    return folder("data") / "notebook.db"
