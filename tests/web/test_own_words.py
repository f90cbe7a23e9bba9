"""Everything that the page can say, gone over: buttons and fields, no commands, options or files of settings."""

import ast
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from fitcheck.web.own_words import INSTEAD, in_own_words

ROOT = Path(__file__).parents[2] / "fitcheck"
COMMANDS = "check|open|card|piece|calibrate|rules|explain|size|sheet|compare|profile|posture|diary"
OF_A_TERMINAL = re.compile(rf"(?<![\w-])--[a-z]|(?<!a )\bfitcheck ({COMMANDS})\b|\w\.toml\b|\[(tape|observed)\]|\bFOLDER\b|\bterminal\b")
OWN_TABLES = {path.name for path in ROOT.rglob("*.toml")}  # named only where the installation is broken
NEVER_SAID = {  # by what is asked of these modules here
    "body/placed.py": "a point typed in a command",
    "core/fitting.py": "names of options that are looked up by who read a command",
    "piece_command.py": "photos, files and options of a command",
    "piece/piece_file.py": "the head of a file",
    "diary_commands.py": "which rounds, where a command leaves it open",
    "film/read_film.py": "a folder of hers that cannot be written; here it is the program's own",
    "film/which_moments.py": "moments typed in a command",
    "photo/without_card/given_corners.py": "corners typed in a command",
    "diary/rescue.py": "a file that was moved away, or a folder to rescue into, both named in a command",
    "web/serve.py": "said before there is a page",
    "report/on_disk.py": "a report written into a folder of hers",
    "advice/size.py": "sizes are chosen by a command only",
    "body/placed_doubt.py": "one sentence that is put together of parts, tried below",
    "diary/archive.py": "the name of a format",
}


def imported(path: Path) -> set[Path]:
    """Modules of the program that a module imports, anywhere in it."""
    found: set[Path] = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        names: list[str] = []
        if isinstance(node, ast.Import):
            names = [one.name for one in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            names = [node.module, *(f"{node.module}.{one.name}" for one in node.names)]
        for name in names:
            file = ROOT.parent / Path(*name.split(".")).with_suffix(".py")
            if name.startswith("fitcheck.") and file.exists():
                found.add(file)
    return found


def reached() -> list[Path]:
    """The page's modules, and all that they bring in."""
    found, new = set(), set((ROOT / "web").glob("*.py"))
    while new:
        found |= new
        new = {one for path in new for one in imported(path)} - found
    return sorted(found)


def sentences(path: Path) -> Iterator[str]:
    """Every text of a module that is none of its docstrings; a value in the middle of one is told as `…`."""
    tree = ast.parse(path.read_text("utf-8"))
    passed = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr) and id(node) not in passed:
            passed |= {id(one) for one in node.values}
            yield "".join(one.value if isinstance(one, ast.Constant) else "…" for one in node.values)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in passed:
            yield node.value


def faults(text: str) -> list[str]:
    """Words of a terminal that are left in it as the page tells it."""
    told = in_own_words(text)
    named = {found for found in re.findall(r"[\w.]+\.toml", told) if found in OWN_TABLES}
    for name in named:
        told = told.replace(name, "")
    if re.fullmatch(r"[\w…]+\.toml", told):  # the name of a file, no sentence
        return []
    return [told] if OF_A_TERMINAL.search(told) else []


def texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict | list):
        for one in value.values() if isinstance(value, dict) else value:
            yield from texts(one)


def test_every_sentence_of_every_module_the_page_reaches():
    modules = [path for path in reached() if path.relative_to(ROOT).as_posix() not in (*NEVER_SAID, "web/own_words.py")]
    assert len(modules) > 150
    assert not [path for path in modules if path.name.startswith("cli")]
    found = {str(path.relative_to(ROOT)): [one for text in sentences(path) for one in faults(text)] for path in modules}
    assert {path: said for path, said in found.items() if said} == {}


def test_every_sentence_of_every_table():
    found = {
        path.name: [one for text in texts(tomllib.loads(path.read_text("utf-8"))) for one in faults(text)] for path in ROOT.rglob("*.toml")
    }
    assert len(found) > 8
    assert {name: said for name, said in found.items() if said} == {}


@pytest.mark.parametrize("kind", ["*.j2", "*.js"])
def test_every_line_of_every_template_and_script(kind):
    elsewhere = ("diary_base.html.j2", "nacl-fast.min.js")  # the frame of a page that a command writes; what others wrote
    files = [path for path in ROOT.rglob(kind) if path.name not in elsewhere]
    assert len(files) > 10
    lines = [
        (path.name, line)
        for path in files
        for line in path.read_text("utf-8").splitlines()
        if not line.lstrip().startswith(("//", "*", "/*"))
    ]
    assert [(name, one) for name, line in lines for one in faults(line)] == []


def test_whoever_is_passed_over_has_something_to_pass_over():
    for name in NEVER_SAID:
        assert [text for text in sentences(ROOT / name) if faults(text)], name


def test_every_replacement_is_of_something_that_is_said():
    """One that matches nothing any more is dead."""
    said = [text for path in reached() if path.name != "own_words.py" for text in sentences(path)]
    joined = "\n".join((*said, "There is no alteration. 'fitcheck rules' lists all names."))
    question = "hardly counts: did you mean the upright photo? If it is right, say sure = true in placed.toml (or ,sure after its pixels)"
    assert [pattern for pattern, _ in INSTEAD if not re.search(pattern, f"{joined}\n{question}")] == []


@pytest.mark.parametrize(
    ("said", "here"),
    [
        (
            "The diary in X is damaged (y). Run 'fitcheck diary rescue': it keeps a copy of all of it.",
            "The diary in X is damaged (y). Press “Rescue the diary” under “Settings”: that keeps a copy of all of it.",
        ),
        (
            "waist front was put 9 cm off, so it hardly counts: did you mean pixels of the upright photo? Times 2 they would fit. "
            "If it is right, say sure = true in placed.toml (or ,sure after its pixels).",
            "waist front was put 9 cm off, so it hardly counts. If it is right, choose it under “Put right what was misread” and press "
            "“It is right there”.",
        ),
        ("The diary already knows Anna. Import under another name with --as, or delete her first.", None),
        ("lengthen the hem -- by hand", "lengthen the hem -- by hand"),
    ],
)
def test_said_otherwise(said, here):
    told = in_own_words(said)
    assert not faults(told)
    assert here is None or told == here


def test_the_search_finds_what_it_should():
    for text in ("Give --out.", "Run 'fitcheck check'.", "say it in fitting.toml", "under [observed]", "name a FOLDER"):
        assert faults(text)
    assert not faults("fitcheck is open; every piece of paper -- and the card")
