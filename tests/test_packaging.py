"""Everything the program imports is declared, and the README's commands are the ones that do the set-up."""

import ast
import os
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[1]
# where package and module differ by more than a dash
NAMES = {"PIL": "pillow", "cv2": "opencv-contrib-python", "markdown_it": "markdown-it-py", "nacl": "pynacl"}


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
    ends = ["fitcheck open", "fitcheck check sample_images/half_tissue --out out", "-m pytest"]
    assert len(commands) == 3
    assert all(command.endswith(end) for command, end in zip(commands, ends, strict=True))
    assert "grep -m 1 -- '-m pytest$' README.md" in ci


# Stands for every program that the set-up calls: notes its call, and does what the test wants of it.
STUB = """#!/bin/sh
echo "${0##*/} $* $DEBIAN_FRONTEND" >> "$CALLS"
case "${0##*/}" in
  id) echo "$WHO" ;;
  dpkg) exit "$LACKING" ;;
  sudo) exit "$REFUSED" ;;
  python3) mkdir -p .venv/bin && cp "$0" .venv/bin/python ;;
esac
"""
SYSTEM, FOR_TESTS = re.findall(r'packages="(?:\$packages )?([^"]+)"', (ROOT / ".ci" / "setup").read_text("utf-8"))
IN_PLACE = ["python3 -m venv .venv", "python -m pip install --quiet ."]


def set_up(tmp_path: Path, *words: str, root: bool, lacking: bool, refused: bool = False) -> tuple[int, list[str]]:
    """How the set-up ends in a copy of the project among stubs, and what it called."""
    (tmp_path / ".ci").mkdir()
    shutil.copy(ROOT / ".ci" / "setup", tmp_path / ".ci")
    programs = tmp_path / "programs"
    programs.mkdir()
    for name in ("id", "dpkg", "sudo", "apt-get", "python3"):
        (programs / name).write_text(STUB)
        (programs / name).chmod(0o755)
    calls = tmp_path / "calls"
    told = {"CALLS": calls, "WHO": "0" if root else "1000", "LACKING": int(lacking), "REFUSED": int(refused)}
    env = {"PATH": f"{programs}{os.pathsep}{os.environ['PATH']}"} | {name: str(value) for name, value in told.items()}
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    done = subprocess.run(["sh", str(tmp_path / ".ci" / "setup"), *words], cwd=elsewhere, env=env, capture_output=True, check=False)
    return done.returncode, [line.strip() for line in calls.read_text().splitlines()]


def test_set_up_asks_for_no_password_where_nothing_is_lacking(tmp_path):
    assert set_up(tmp_path, root=False, lacking=False) == (0, [f"dpkg -s {SYSTEM}", *IN_PLACE])


def test_set_up_as_root(tmp_path):
    installed = ["apt-get update -qq", f"apt-get install -y -qq {SYSTEM} noninteractive"]
    assert set_up(tmp_path, root=True, lacking=True) == (0, [f"dpkg -s {SYSTEM}", "id -u", *installed, *IN_PLACE])


def test_set_up_by_a_user_goes_through_sudo_for_the_system_alone(tmp_path):
    by_sudo = ["sudo apt-get update -qq", f"sudo env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq {SYSTEM}"]
    assert set_up(tmp_path, root=False, lacking=True) == (0, [f"dpkg -s {SYSTEM}", "id -u", *by_sudo, *IN_PLACE])


def test_set_up_for_the_tests_takes_what_they_run_besides(tmp_path):
    code, calls = set_up(tmp_path, "dev", root=False, lacking=True)
    assert code == 0
    assert calls[0] == f"dpkg -s {SYSTEM} {FOR_TESTS}"
    assert calls[3].endswith(f" {SYSTEM} {FOR_TESTS}")
    assert calls[-1] == "python -m pip install --quiet .[dev]"


def test_set_up_stops_where_the_password_is_refused(tmp_path):
    code, calls = set_up(tmp_path, root=False, lacking=True, refused=True)
    assert code == 1
    assert calls[-1] == "sudo apt-get update -qq"


def test_programs_that_the_tests_run_are_among_the_packages():
    """And no package is asked for that no test runs."""
    comes_with = {"git": "git", "strace": "strace", "pdftoppm": "poppler-utils", "chromium": "chromium", "ip": "iproute2"}
    sources = "".join(path.read_text("utf-8") for path in (ROOT / "tests").rglob("*.py") if path != Path(__file__))
    used = {package for program, package in comes_with.items() if re.search(rf"[\"/]{program}\"", sources)}
    assert used == set(FOR_TESTS.split())
    assert {"python3-venv", "libgl1", "libegl1", "libgles2", "libglib2.0-0"} <= set(SYSTEM.split())  # what a bare system lacked


def test_the_readme_names_no_system_package_that_is_not_installed():
    """It leaves the list to the script; a package it did name would have to be there."""
    named = re.findall(r"\b(?:lib[a-z]+[\d.][\w.-]*|python3-venv|poppler-utils|strace)\b", (ROOT / "README.md").read_text("utf-8"))
    assert set(named) <= {*SYSTEM.split(), *FOR_TESTS.split()}


TELL_WHAT_IS_LOADED = """
import runpy
import sys
try:
    runpy.run_module("fitcheck", run_name="__main__", alter_sys=True)
finally:
    print("loaded:", *{name.partition(".")[0] for name in sys.modules})
"""


def test_a_check_loads_neither_scipy_nor_what_opens_heif(tmp_path):
    """Half a second together, and these photos are JPEG."""
    words = ["check", "sample_images/control", "--out", str(tmp_path)]
    told = subprocess.run([sys.executable, "-c", TELL_WHAT_IS_LOADED, *words], capture_output=True, text=True, check=True, cwd=ROOT)
    loaded = set(told.stdout.rpartition("loaded:")[2].split())
    assert (tmp_path / "report.html").exists()
    assert {"cv2", "PIL"} <= loaded
    assert not {"scipy", "pillow_heif"} & loaded
