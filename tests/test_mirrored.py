"""Every module of these packages that does anything has a test file of its own, at the same place under tests/."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


def does_something(path: Path) -> bool:
    """Not only records and numbers."""
    return any(isinstance(node, ast.FunctionDef) for node in ast.walk(ast.parse(path.read_text())))


@pytest.mark.parametrize("package", ["vision", "photo", "core", "measure", "body", "report", "pattern"])
def test_every_module_has_its_tests(package):
    modules = [path.relative_to(ROOT / "fitcheck") for path in (ROOT / "fitcheck" / package).rglob("*.py") if does_something(path)]
    assert len(modules) > 3
    assert [str(path) for path in sorted(modules) if not (ROOT / "tests" / path.parent / f"test_{path.name}").exists()] == []
