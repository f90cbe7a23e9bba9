"""Every module that does anything has a test file of its own, at the same place under tests/."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PACKAGES = ["vision", "photo", "core", "measure", "body", "report", "pattern", "advice", "diary", "stages", "film", "web"]


def does_something(path: Path) -> bool:
    """Not only records and numbers."""
    return any(isinstance(node, ast.FunctionDef) for node in ast.walk(ast.parse(path.read_text())))


def without_tests(modules: list[Path]) -> list[str]:
    """Of these, those that have no test file; `__main__` is tested by `test_main`."""
    found = [path.relative_to(ROOT / "fitcheck") for path in modules if does_something(path)]
    assert len(found) > 3
    return [str(path) for path in sorted(found) if not (ROOT / "tests" / path.parent / f"test_{path.stem.strip('_')}.py").exists()]


@pytest.mark.parametrize("package", PACKAGES)
def test_every_module_has_its_tests(package):
    assert without_tests(list((ROOT / "fitcheck" / package).rglob("*.py"))) == []


def test_every_module_outside_the_packages_has_its_tests():
    assert without_tests(list((ROOT / "fitcheck").glob("*.py"))) == []
