"""For all tests: one thread for numpy's algebra, as a check has; more only wait for each other on a busy machine."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from threadpoolctl import threadpool_limits


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int | None:
    """No processes besides this one for files named singly, which start faster without; else pytest-xdist counts the cores."""
    return 0 if all(Path(word.partition("::")[0]).is_file() for word in config.args) else None


@pytest.fixture(scope="session", autouse=True)
def one_thread() -> Iterator[None]:
    with threadpool_limits(1, "blas"):
        yield
