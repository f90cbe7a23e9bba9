"""Make pose_landmarker_full.task from the two networks in the PyPI wheel mediapipe 0.10.21 (Apache-2.0).

    python models/pose_landmarker/build.py [--wheel mediapipe-0.10.21-cp311-...whl]

Python 3.11 on Linux with `flatbuffers` installed (mediapipe brings it). The result is byte for byte the same every time;
its sha256 belongs in card.toml beside this script.
"""

import argparse
import hashlib
import subprocess
import sys
import tempfile
import zipfile
from pathlib import Path

HERE = Path(__file__).parent
BUNDLE = "pose_landmarker_full.task"
# newer wheels carry no weights, and their metadata writer misses its compiled half: both come from this one
WHEEL = ("mediapipe==0.10.21", "--python-version", "3.11", "--platform", "manylinux_2_28_x86_64")
# (network in the wheel, name the task loader looks for, mean and std that turn 0..255 into the network's input)
NETWORKS = (
    ("mediapipe/modules/pose_detection/pose_detection.tflite", "pose_detector.tflite", 127.5, 127.5),
    ("mediapipe/modules/pose_landmark/pose_landmark_full.tflite", "pose_landmarks_detector.tflite", 0.0, 255.0),
)
WRITER = ("mediapipe/tasks/python/metadata/", "mediapipe/tasks/metadata/", "mediapipe/tasks/cc/metadata/python/")


def download(folder: Path) -> Path:
    """Fetch the wheel from PyPI into `folder`."""
    subprocess.run([sys.executable, "-m", "pip", "download", *WHEEL, "--no-deps", "--only-binary=:all:", "-d", str(folder)], check=True)
    return next(folder.glob("mediapipe-0.10.21-*.whl"))


def unpack(wheel: Path, folder: Path) -> None:
    """Networks and metadata writer only; without the package's __init__ files, which would import everything else."""
    with zipfile.ZipFile(wheel) as archive:
        for name in archive.namelist():
            wanted = name.startswith(WRITER) and not name.endswith("/__init__.py")
            if wanted or name in {network for network, *_ in NETWORKS}:
                archive.extract(name, folder)
    (folder / "mediapipe" / "__init__.py").touch()  # an installed mediapipe would otherwise win over this folder


def with_metadata(network: bytes, mean: float, std: float) -> bytes:
    """The network with the normalisation of its input image written into it."""
    from mediapipe.tasks.python.metadata.metadata_writers.metadata_writer import MetadataWriter

    populated, _json = MetadataWriter.create(bytearray(network)).add_image_input([mean], [std]).populate()
    return bytes(populated)


def build(wheel: Path, out: Path) -> str:
    """Write the bundle; return its sha256."""
    with tempfile.TemporaryDirectory() as folder:
        unpack(wheel, Path(folder))
        sys.path.insert(0, folder)
        with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
            for source, name, mean, std in NETWORKS:
                # the loader maps the file into memory, so nothing may be compressed; the fixed date keeps the bytes the same
                entry = zipfile.ZipInfo(name, date_time=(1980, 1, 1, 0, 0, 0))
                archive.writestr(entry, with_metadata((Path(folder) / source).read_bytes(), mean, std))
    return hashlib.sha256(out.read_bytes()).hexdigest()


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--wheel", type=Path, help="the wheel, when it is already here")
    parser.add_argument("--out", type=Path, default=HERE / BUNDLE)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        wheel = options.wheel or download(Path(folder))
        print(build(wheel, options.out), options.out.name)


if __name__ == "__main__":
    main()
