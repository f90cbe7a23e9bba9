"""Everything the program imports is declared, and the README's commands are the ones that do the set-up."""

import ast
import re
import sys
import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[1]
NAMES = {"PIL": "pillow", "cv2": "opencv-contrib-python"}  # where package and module differ by more than a dash


def imported(folder: Path) -> set[str]:
    found: set[str] = set()
    for file in folder.rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            if isinstance(node, ast.Import):
                found |= {alias.name.partition(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module:
                found.add(node.module.partition(".")[0])
    return found - set(sys.stdlib_module_names)


def test_everything_imported_is_declared():
    declared = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["dependencies"]
    names = {re.match(r"[\w-]+", line)[0].lower() for line in declared}
    needed = {NAMES.get(name, name.replace("_", "-")).lower() for name in imported(ROOT / "fitcheck")} - {"fitcheck"}
    assert needed == names


def test_the_readme_sets_up_what_ci_runs():
    readme, ci = (ROOT / "README.md").read_text("utf-8"), (ROOT / ".ci" / "run").read_text("utf-8")
    commands = re.findall(r"^sh \.ci/setup.*$", readme, re.M)
    assert len(commands) == 2
    assert commands[0].endswith("fitcheck check sample_images/forward_shoulder --out out")
    assert commands[1].endswith("-m pytest")
    assert "grep -m 1 -- '-m pytest$' README.md" in ci
    assert "sudo" in (ROOT / ".ci" / "setup").read_text("utf-8")
