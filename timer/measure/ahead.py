"""One thing made while the one before is used."""

from collections.abc import Iterator
from typing import TypeVar

T = TypeVar("T")


def ahead(made: Iterator[T]) -> Iterator[T]:
    """The same, the next one being made on a thread of its own: what unpacks, and much of what counts, leaves others their
    turn. What goes wrong in making is raised here."""
    from concurrent.futures import ThreadPoolExecutor  # start-up time: few pictures are so large

    with ThreadPoolExecutor(1) as pool:
        coming = pool.submit(next, made, None)
        while (one := coming.result()) is not None:
            coming = pool.submit(next, made, None)
            yield one
