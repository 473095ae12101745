"""The keeper that a configuration names.

What is imported within a function is for the start-up time: of two kinds of keepers it loads one.
"""

from timer.keeper.config import Config
from timer.keeper.host.client import Keeper, Listener


def open_keeper(config: Config, listen: Listener) -> Keeper:
    """A local keeper is started, a controller is looked for and greeted. KeeperError in one sentence."""
    if config.lamp == "controller":
        from timer.keeper.host.controller import connect

        return connect(config, listen)
    from timer.keeper.host.local import start_local

    return start_local(config, listen)
