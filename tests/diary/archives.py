"""Archives for the tests: taken in, and changed by hand as a stranger might."""

import hashlib
import json
import zipfile
from pathlib import Path

from fitcheck.diary import importing
from fitcheck.diary.store import Diary
from fitcheck.diary.unpacking import checked_archive


def import_wearer(diary: Diary, path: Path, name: str | None = None) -> tuple[str, int]:
    with checked_archive(path) as archive:
        return importing.import_wearer(diary, archive, name)


def rewritten(path, change):
    """The archive with its files changed by `change(name, data) -> data`."""
    with zipfile.ZipFile(path) as old:
        files = {name: change(name, old.read(name)) for name in old.namelist()}
    with zipfile.ZipFile(path, "w") as new:
        for name, data in files.items():
            new.writestr(name, data)
    return path


def crafted(path, change, text=None):
    """The archive with its rows changed in place by `change`, and a manifest that agrees."""
    with zipfile.ZipFile(path) as held:
        rows = json.loads(held.read("wearer.json"))
    change(rows)
    data = text or json.dumps(rows).encode()

    def written(name, old):
        if name == "manifest.json":
            manifest = json.loads(old)
            manifest["sha256"]["wearer.json"] = hashlib.sha256(data).hexdigest()
            return json.dumps(manifest).encode()
        return data if name == "wearer.json" else old

    return rewritten(path, written)
