"""No threshold stands unnamed inside the functions that see, place and measure.

What was chosen or fitted has a name, a unit and a reason at the head of its file. Plain mathematics stays: halves, doubles, axes, shapes,
places in arrays, and guards against dividing by nothing.
"""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "fitcheck"
CHECKED = ("vision", "photo", "body", "measure")
ALLOWED = {
    ("photo/load.py", 6): "bytes and pixels in millions, as powers of ten",
    ("photo/load.py", 8): "bits of a grey level that fall away from sixteen",
    **{("body/shape.py", number): "of the polynomials of a Catmull-Rom spline and of their slopes" for number in (5, 8, 9)},
}
SCALES = (10, 100, 255)  # powers of ten, per cent, grey levels of 8 bits
GUARD = 1e-6  # so little only keeps from dividing by nothing
SHAPES = {"zeros", "eye", "reshape", "transpose"}  # calls whose numbers are sizes and axes
ORDER = (ast.Lt, ast.LtE, ast.Gt, ast.GtE)


def _numbers(source: str) -> Iterator[tuple[int, float]]:
    """Line and value of what looks like an unnamed threshold."""
    for function in ast.walk(ast.parse(source)):
        if isinstance(function, ast.FunctionDef):
            for statement in [*function.args.defaults, *function.args.kw_defaults, *function.body]:
                if statement is not None:
                    yield from _in(statement, False)


def _in(node: ast.AST, compared: bool) -> Iterator[tuple[int, float]]:
    if isinstance(node, ast.FunctionDef):
        return  # has a turn of its own
    if isinstance(node, ast.Constant) and isinstance(node.value, int | float) and not isinstance(node.value, bool):
        if not _plain(node.value, compared):
            yield node.lineno, node.value
        return
    called = node.func.attr if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) else ""
    if called in SHAPES:
        return
    # a number counts as compared where it is an operand, not where it is handed to a function whose value is compared
    compared = (isinstance(node, ast.Compare) and isinstance(node.ops[0], ORDER)) or (
        compared and isinstance(node, ast.BinOp | ast.UnaryOp)
    )
    for child in ast.iter_child_nodes(node):
        if not (isinstance(node, ast.Subscript) and child is node.slice):
            yield from _in(child, compared)


def _plain(value: float, compared: bool) -> bool:
    if isinstance(value, int):
        return value in SCALES or value <= (2 if compared else 4)
    return value in (0.0, 1.0) or (not compared and value in (0.5, 2.0)) or value <= GUARD


@pytest.mark.parametrize("package", CHECKED)
def test_every_threshold_has_a_name(package):
    unnamed = []
    for path in sorted((PACKAGE / package).rglob("*.py")):
        name = path.relative_to(PACKAGE).as_posix()
        unnamed += [f"{name}:{line}: {value}" for line, value in _numbers(path.read_text()) if (name, value) not in ALLOWED]
    assert unnamed == []


def test_exceptions_are_still_needed():
    for name, value in ALLOWED:
        assert value in [found for _, found in _numbers((PACKAGE / name).read_text())], (name, value)


@pytest.mark.parametrize("package", CHECKED)
def test_every_number_at_the_head_of_a_file_is_explained(package):
    """On its own line, or in a line above its block."""
    bare = []
    for path in sorted((PACKAGE / package).rglob("*.py")):
        name = path.relative_to(PACKAGE).as_posix()
        bare += [f"{name}:{line}" for line in _unexplained(path.read_text())]
    assert bare == []


def _unexplained(source: str) -> Iterator[int]:
    lines = source.splitlines()
    for node in ast.parse(source).body:
        numbers = isinstance(node, ast.Assign) and any(
            isinstance(part, ast.Constant) and isinstance(part.value, int | float) and not isinstance(part.value, bool)
            for part in ast.walk(node.value)
        )
        if numbers and not any("#" in line for line in lines[node.lineno - 1 : node.end_lineno]):
            above = next((line for line in lines[node.lineno - 2 :: -1] if not line or line.startswith("#")), "")
            if not above:
                yield node.lineno


def test_what_counts_as_explained():
    assert list(_unexplained("LEAST = 0.3  # of a line\n")) == []
    assert list(_unexplained("# of a line\nLEAST = 0.3\nMOST = 0.7\n")) == []
    assert list(_unexplained("# of a line\nLEAST = 0.3\n\nMOST = 0.7\n")) == [4]


@pytest.mark.parametrize(
    ("line", "found"),
    [
        ("return x > 0.6", [0.6]),
        ("return x > 0.5", [0.5]),
        ("return 0.5 * x > y", [0.5]),
        ("return x > np.radians(45)", [45]),
        ("return len(x) < 12", [12]),
        ("return np.clip(x, 0.3, 6.0)", [0.3, 6.0]),
        ("return cv2.GaussianBlur(x, (17, 1), 0)", [17]),
        ("return (x + 0.5) / 2 - 0.5", []),
        ("return x / max(y, 1e-9)", []),
        ("return x[5] + x[:7].reshape(6, 9).sum(axis=2)", []),
        ("return len(x) < 2 or x.sum() > 0", []),
        ("return x / 255 * 100", []),
        ("return np.median(y[..., 5]) > LEAST", []),
    ],
)
def test_what_counts_as_a_threshold(line, found):
    assert [value for _, value in _numbers(f"def f(x, y):\n    {line}\n")] == found


def test_defaults_count_and_heads_of_files_do_not():
    assert list(_numbers("LEAST = 0.3\n\ndef f(x, least=0.7):\n    return x > LEAST\n")) == [(3, 0.7)]
