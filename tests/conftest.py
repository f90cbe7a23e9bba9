"""For all tests: one thread for numpy's algebra, as a check has; more only wait for each other on a busy machine."""

from collections.abc import Iterator

import pytest
from threadpoolctl import threadpool_limits


@pytest.fixture(scope="session", autouse=True)
def one_thread() -> Iterator[None]:
    with threadpool_limits(1, "blas"):
        yield
