"""A study on many machines: the workers of a Dask scheduler as an executor.

The scheduler gives the work of a worker that dies to another one; nothing of a study depends on who solved it.
"""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager

from cases.errors import WireslotError

SECONDS = 20
"""In which the scheduler must answer, and the first worker come."""


class ClusterError(WireslotError):
    """The scheduler cannot be reached, or has no workers."""

    exit_code = 2


@contextmanager
def cluster(address: str) -> Iterator[tuple[Executor, int]]:
    """An executor on the workers of the scheduler at ``address``, and how many rows they solve at a time.

    Raises ClusterError."""
    try:
        from distributed import Client
    except ImportError as error:
        raise ClusterError(
            "--cluster needs the package distributed, which is not installed: bash scripts/setup cluster"
        ) from error
    try:
        client = Client(address, timeout=SECONDS)
    except (OSError, TimeoutError, ValueError) as error:
        raise ClusterError(
            f"no scheduler answers at {address} ({error}): start one with dask scheduler, and give the address that "
            "it prints"
        ) from error
    try:
        try:
            client.wait_for_workers(1, timeout=SECONDS)
        except TimeoutError as error:
            raise ClusterError(
                f"the scheduler at {address} has no workers: start some with dask worker {address}"
            ) from error
        threads = sum(client.nthreads().values())
        yield client.get_executor(pure=False), max(1, threads)
    finally:
        client.close()
