"""The part of mediapipe that finds poses, without the rest of that package.

`import mediapipe` begins with every task it has: sounds, which look for an audio library by running a compiler and the loader;
drawing, for which a plot library is loaded that writes a cache of fonts. They cost a second and are not wanted here. So the
beginnings of its packages are passed over, and only the modules named below are read. The version is pinned, and a test holds
that the whole package can still be imported by whoever wants it.
"""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.util import find_spec
from types import ModuleType

_PASSED_OVER = ("mediapipe", "mediapipe.tasks", "mediapipe.tasks.python", "mediapipe.tasks.python.vision")
_OPTIONAL = "tensorflow"  # mediapipe would load it, where it happens to be installed, for a mark on its documentation


@contextmanager
def _beginnings_passed_over() -> Iterator[None]:
    """Bare packages in place of the real ones, which are put back afterwards."""
    before = _loaded()
    for name in before:
        del sys.modules[name]
    spec = find_spec("mediapipe")
    if spec is None or not spec.submodule_search_locations:
        raise ModuleNotFoundError("mediapipe is not installed", name="mediapipe")
    try:
        sys.modules[_OPTIONAL] = ModuleType(_OPTIONAL)
        for name in _PASSED_OVER:
            bare = ModuleType(name)
            bare.__path__ = [os.path.join(spec.submodule_search_locations[0], *name.split(".")[1:])]
            sys.modules[name] = bare
        yield
    finally:
        for name in _loaded():
            del sys.modules[name]
        sys.modules.update(before)


def _loaded() -> dict[str, ModuleType]:
    return {name: module for name, module in sys.modules.items() if name.partition(".")[0] in ("mediapipe", _OPTIONAL)}


with _beginnings_passed_over():
    from mediapipe.tasks.python.core.base_options import BaseOptions as BaseOptions
    from mediapipe.tasks.python.core.mediapipe_c_bindings import load_raw_library
    from mediapipe.tasks.python.vision.core.image import Image as Image
    from mediapipe.tasks.python.vision.core.image import ImageFormat as ImageFormat
    from mediapipe.tasks.python.vision.pose_landmarker import PoseLandmarker as PoseLandmarker
    from mediapipe.tasks.python.vision.pose_landmarker import PoseLandmarkerOptions as PoseLandmarkerOptions

    load_raw_library()  # it is looked for through the packages that are bare now
