"""A file is one job and a function takes what can be kept in mind: both are counted."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
MOST_LINES = 300
MOST_PARAMETERS = 7
REASON = "Long, because"  # how the head of a longer file begins to say why


def longer_without_reason(source: str) -> bool:
    return len(source.splitlines()) > MOST_LINES and REASON not in (ast.get_docstring(ast.parse(source)) or "")


@pytest.mark.parametrize("folder", ["fitcheck", "tests", "models"])
def test_a_longer_file_says_why(folder):
    files = list((ROOT / folder).rglob("*.py"))
    assert len(files) > 5
    assert [str(path.relative_to(ROOT)) for path in files if longer_without_reason(path.read_text("utf-8"))] == []


def heavy(source: str) -> list[str]:
    """Functions with more parameters; a command of the terminal has one for each of its options."""
    return [
        f"{node.name} {count(node)}"
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and count(node) > MOST_PARAMETERS and not is_command(node)
    ]


def count(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    given = node.args
    names = [one.arg for one in (*given.posonlyargs, *given.args, *given.kwonlyargs)]
    return len([name for name in names if name not in ("self", "cls")]) + bool(given.vararg) + bool(given.kwarg)


def is_command(node: ast.FunctionDef | ast.AsyncFunctionDef) -> bool:
    called = [one.func for one in node.decorator_list if isinstance(one, ast.Call)]
    return any(isinstance(one, ast.Attribute) and one.attr == "command" for one in called)


def test_no_function_takes_more_than_seven():
    found = {str(path.relative_to(ROOT)): heavy(path.read_text("utf-8")) for path in (ROOT / "fitcheck").rglob("*.py")}
    assert {path: functions for path, functions in found.items() if functions} == {}


def test_what_counts():
    """Both checks can fail."""
    assert longer_without_reason("x = 1\n" * 301)
    assert not longer_without_reason("x = 1\n" * 300)
    assert not longer_without_reason('"""Long, because it is a table."""\n' + "x = 1\n" * 300)
    eight = "a, b, c, d, e, f, g"
    assert heavy(f"def much({eight}, *, h): ...") == ["much 8"]
    assert heavy(f"def enough({eight}): ...") == []
    assert heavy(f"class A:\n    def of_itself(self, {eight}): ...\n    def more(self, {eight}, **how): ...") == ["more 8"]
    assert heavy(f"@app.command()\ndef told({eight}, h): ...") == []
