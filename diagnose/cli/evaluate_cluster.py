"""Vehicles played on the workers of a cluster, through a scheduler that runs already: the extra `cluster`.

The workers need this program in the same version. Which vehicles there are and what comes of them is not known here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

from diagnose.basics.errors import BadInput, Problem

__all__ = ["over_cluster"]

Work = TypeVar("Work")
Done = TypeVar("Done")
#: s to reach the scheduler, and times that a piece of work is begun again when its worker is lost
REACH, AGAIN = 10, 5


def over_cluster(address: str) -> Callable[[Callable[[Work], Done], Sequence[Work]], Iterator[Done]]:
    """Return what plays pieces of work on a cluster and yields what came of them, in their order.

    Parameters: `address` of the scheduler, as it prints it, for example tcp://10.0.0.5:8786.
    Raises: BadInput where the library is not installed; and, once it is used, where no scheduler answers.
    """
    try:
        from distributed import Client
    except ImportError:
        right = "install the extra: pip install .[cluster]"
        raise BadInput([Problem("--cluster", None, None, "the scheduler's library is not installed", right)]) from None

    def over(play: Callable[[Work], Done], pieces: Sequence[Work]) -> Iterator[Done]:
        try:
            client = Client(address, timeout=REACH, set_as_default=False)  # type: ignore[no-untyped-call]
        except (OSError, ValueError, ImportError) as error:
            what = f"no scheduler answers at `{address}` ({type(error).__name__})"
            right = "start one, and write its address as it prints it"
            raise BadInput([Problem("--cluster", None, None, what, right)]) from None
        with client:
            # Each piece is told from every other by its number, so that none is taken for one that was played before.
            futures = client.map(play, list(pieces), key=[f"vehicles-{n}" for n in range(len(pieces))], retries=AGAIN)
            for future in futures:
                yield future.result()

    return over
