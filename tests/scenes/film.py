"""Compose and encode a film from what `film_frames.py` rendered: python -m tests.scenes.film FOLDER [...]

Writes FOLDER/fitting.mp4 or .mov in 1080p, and fitting_4k beside it where the moments were rendered so large. Every row of a picture is
taken at its own moment (rolling exposure): while she stands, the rendered moment nearest in time is moved by her known sway and breath;
while she turns, by the flow between two of them, and several moments of the exposure are averaged (motion blur). Then lens blur, grain, and
the codec and bitrate of a phone. Needs PyAV besides OpenCV.
"""

import json
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import cv2
import numpy as np
from numpy.typing import NDArray

from .camera import Camera
from .film_specs import LENS_TOLD, SIZE, SIZE_4K, set_up
from .motion import Motion, Stand, breathed, draw_motion
from .spec import Spec

READOUT_S = 0.018  # from the first row to the last: phones' sensors take 10 to 30 ms (estimate)
EXPOSURE_S = 1 / 60  # indoors
MOMENTS_OF_EXPOSURE = 3
RATE = 24
COARSE = 8  # pixels a cell of the map that says which point of her is seen where
FEATHER_PX = 14.0  # beyond her outline the motion dies away
SHOWS_THROUGH_M = 0.12  # a cell that only her far side hits lies so much behind its neighbours
BANDS = 10  # of her height, each as broad as she is there
GRAIN_OVER = 64
TICKS = 600  # a second
FOCAL_KEY = "com.apple.quicktime.camera.focal_length.35mm_equivalent"
Picture = NDArray[np.uint8]


@dataclass(frozen=True)
class Encoding:
    """How a phone writes it."""

    codec: str = "libx264"
    mbits: float = 17.0
    uneven: bool = False  # variable frame rate: dark rooms make phones leave pictures out
    told: bool = False  # the focal length stands in the track
    options: tuple[tuple[str, str], ...] = (("preset", "superfast"),)

    @property
    def suffix(self) -> str:
        return ".mov" if self.told else ".mp4"


def encoding(spec: Spec) -> Encoding:
    """Drawn for a spec: three of four in H.264, the others in HEVC; one of three with a variable frame rate; three times the bits in 4K."""
    rng = np.random.default_rng(spec.seed + 78)
    large = 3.0 if spec.camera.size == SIZE_4K else 1.0
    hevc, uneven, told = bool(rng.uniform() < 1 / 4), bool(rng.uniform() < 1 / 3), set_up(spec) == LENS_TOLD
    if hevc:
        return Encoding("libx265", 9.0 * large, uneven, told, (("preset", "ultrafast"), ("x265-params", "log-level=error")))
    return Encoding("libx264", 17.0 * large, uneven, told)


@dataclass(frozen=True)
class _Seen:
    """Of one stand, in coarse cells.

    Attributes
    ----------
    points : ndarray, shape (n, 3)
        Of her, one for each cell in which she is seen.
    valid, label : ndarray, shape (h, w)
        Where that is; for every cell the nearest such cell.
    soft : ndarray, shape (h, w)
        1 on her, falling to 0 beyond her outline.
    bands : tuple
        Rows and columns of the picture where she moves.
    """

    stand: Stand
    points: NDArray[np.float64]
    valid: NDArray[np.bool_]
    label: NDArray[np.int32]
    soft: NDArray[np.float32]
    bands: tuple[tuple[slice, slice], ...]


class Rendered:
    """The rendered moments of a film, and any moment between them."""

    def __init__(self, folder: Path, spec: Spec) -> None:
        listed = json.loads((folder / "film.json").read_text())
        self.motion: Motion = draw_motion(spec)
        self._folder, self._spec = folder, spec
        self._times = [key["time_s"] for key in listed["keys"]]
        self._chest = (listed["chest_z_m"], listed["axis_y_m"])
        self._axis_y = listed["axis_y_m"]
        self._points = np.load(folder / "points.npz")["points"].astype(float) / 1e4
        camera = spec.camera.model_copy(update={"jitter": 0.0})
        rng = np.random.default_rng(0)  # nothing is drawn where there is no jitter
        self._cam = Camera(camera, rng)
        self._coarse = Camera(camera.model_copy(update={"size": (camera.size[0] // COARSE, camera.size[1] // COARSE)}), rng)
        self._size = camera.size
        self._held: dict[int, Picture] = {}
        self._flows: tuple[int, NDArray[np.float32], NDArray[np.float32]] | None = None
        self._seen: _Seen | None = None

    def picture(self, time_s: float) -> Picture:
        """What the phone sees in the picture whose first row is exposed at a time; BGR."""
        after = int(np.clip(np.searchsorted(self._times, time_s, side="right"), 1, len(self._times) - 1))
        stand = self.motion.held(time_s)
        return self._turning(time_s, after - 1) if stand is None else self._standing(time_s, stand)

    def _key(self, i: int) -> Picture:
        if i not in self._held:
            self._held = {k: kept for k, kept in self._held.items() if abs(k - i) <= 1}
            found = cv2.imread(str(self._folder / "keys" / f"{i:04d}.jpg"))
            assert found is not None
            large = found.shape[0] > self._size[1]
            self._held[i] = np.asarray(cv2.resize(found, self._size, interpolation=cv2.INTER_AREA) if large else found, np.uint8)
        return self._held[i]

    def _standing(self, time_s: float, stand: Stand) -> Picture:
        """The rendered moment nearest in time, moved by what she has swayed and breathed since."""
        seen = self._seen_in(stand)
        nearest = min(range(len(self._times)), key=lambda i: abs(self._times[i] - time_s))
        there = self._at(seen.points, self._times[nearest])
        first, last = (self._at(seen.points, at) - there for at in (time_s, time_s + READOUT_S))
        late = (np.flatnonzero(seen.valid) // seen.valid.shape[1] / seen.valid.shape[0])[:, None]  # which share of the rows comes before
        cells = np.zeros((seen.label.max() + 1, 2), np.float32)
        cells[seen.label[seen.valid]] = first + (last - first) * late
        shift = cv2.resize(cv2.blur(cells[seen.label], (3, 3)) * seen.soft[..., None], self._size, interpolation=cv2.INTER_LINEAR)
        key = self._key(nearest)
        out = key.copy()
        for box in seen.bands:
            down, across = (at.astype(np.float32) for at in np.mgrid[box])
            out[box] = cv2.remap(key, across - shift[*box, 0], down - shift[*box, 1], cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
        return out

    def _at(self, points: NDArray[np.float64], time_s: float) -> NDArray[np.float64]:
        """Pixels (n, 2) of points of her at a time."""
        turn, shift = self.motion.place(time_s, self._axis_y)
        return self._cam.project(breathed(points, self.motion.breath_m(time_s), *self._chest) @ turn.T + shift)

    def _seen_in(self, stand: Stand) -> _Seen:
        if self._seen is None or self._seen.stand != stand:
            turn, shift = self.motion.place((stand.start_s + stand.end_s) / 2, self._axis_y)
            world = self._points @ turn.T + shift
            width, height = self._coarse.size
            cell = np.round(self._coarse.project(world)).astype(int)
            inside = ((cell >= 0) & (cell < [width, height])).all(axis=1)
            far = np.linalg.norm(world - self._coarse.position, axis=1)
            order = np.flatnonzero(inside)[np.argsort(-far[inside])]  # the nearest is written last
            seen = np.full((height, width), -1)
            seen[cell[order, 1], cell[order, 0]] = order
            near = np.where(seen >= 0, far[seen], 1e3).astype(np.float32)
            valid = (seen >= 0) & (near < cv2.erode(near, np.ones((3, 3), np.uint8)) + SHOWS_THROUGH_M)
            her = cv2.morphologyEx(valid.astype(np.uint8), cv2.MORPH_CLOSE, np.ones((3, 3), np.uint8))
            soft = np.clip(2 - cv2.distanceTransform(1 - her, cv2.DIST_L2, 3) * COARSE / FEATHER_PX, 0, 1).astype(np.float32)
            _, label = cv2.distanceTransformWithLabels(1 - valid.astype(np.uint8), cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL)
            self._seen = _Seen(stand, self._points[seen[valid]], valid, np.asarray(label), soft, tuple(self._bands(soft)))
        return self._seen

    def _bands(self, soft: NDArray[np.float32]) -> Iterator[tuple[slice, slice]]:
        """Rows and columns of the picture, band by band, in which she moves."""
        (width, height), reach = self._size, soft > 0
        for rows in np.array_split(np.flatnonzero(reach.any(axis=1)), BANDS):
            columns = np.flatnonzero(reach[rows].any(axis=0))
            left, right = max(0, (columns[0] - 1) * COARSE), min(width, (columns[-1] + 2) * COARSE)
            yield slice(rows[0] * COARSE, min(height, (rows[-1] + 1) * COARSE)), slice(left, right)

    def _turning(self, time_s: float, before: int) -> Picture:
        half = self._size[0] // 2, self._size[1] // 2
        a, b = (cv2.resize(self._key(i), half, interpolation=cv2.INTER_AREA) for i in (before, before + 1))
        if self._flows is None or self._flows[0] != before:
            grey_a, grey_b = (cv2.cvtColor(one, cv2.COLOR_BGR2GRAY) for one in (a, b))
            dis = cv2.DISOpticalFlow.create(cv2.DISOPTICAL_FLOW_PRESET_MEDIUM)
            none = np.zeros((*grey_a.shape, 2), np.float32)
            self._flows = before, dis.calc(grey_a, grey_b, none.copy()), dis.calc(grey_b, grey_a, none.copy())
        _, there, back = self._flows
        rows = np.arange(half[1], dtype=np.float32)[:, None]
        total = np.zeros(a.shape, np.float32)
        for moment in np.linspace(-EXPOSURE_S / 2, EXPOSURE_S / 2, MOMENTS_OF_EXPOSURE):
            since = time_s + moment + READOUT_S * rows / half[1] - self._times[before]
            share = np.clip(since / (self._times[before + 1] - self._times[before]), 0, 1).astype(np.float32)
            weights = (np.ascontiguousarray(np.broadcast_to(part, a.shape[:2])) for part in (1 - share, share))
            cv2.accumulate(cv2.blendLinear(_carried(a, there, share), _carried(b, back, 1 - share), *weights), total)
        return np.asarray(
            cv2.resize(cv2.convertScaleAbs(total, alpha=1 / MOMENTS_OF_EXPOSURE), self._size, interpolation=cv2.INTER_LINEAR), np.uint8
        )


def _carried(picture: Picture, flow: NDArray[np.float32], share: NDArray[np.float32]) -> Picture:
    """A picture moved by a share (H, 1), row by row, of a flow (H, W, 2)."""
    down, across = (at.astype(np.float32) for at in np.mgrid[: picture.shape[0], : picture.shape[1]])
    x, y = across - share * flow[..., 0], down - share * flow[..., 1]
    return np.asarray(cv2.remap(picture, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), np.uint8)


def write_films(folder: Path) -> Iterator[Path]:
    """Compose and encode the film whose rendered moments lie in a folder, in 1080p and as it was rendered."""
    spec = Spec.model_validate_json((folder / "spec.json").read_text())
    if spec.camera.size == SIZE_4K:
        yield _write_film(folder, spec.model_copy(update={"camera": spec.camera.model_copy(update={"size": SIZE})}), "fitting")
    yield _write_film(folder, spec, "fitting_4k" if spec.camera.size == SIZE_4K else "fitting")


def _write_film(folder: Path, spec: Spec, name: str) -> Path:
    how = encoding(spec)
    out = (folder / name).with_suffix(how.suffix)
    rendered = Rendered(folder, spec)
    rng = np.random.default_rng(spec.seed + 79)
    grain = _grain(spec, rng)
    with av.open(str(out), "w", options={"movflags": "use_metadata_tags"}) as film:
        if how.told:
            film.metadata[FOCAL_KEY] = str(round(spec.camera.f35_mm))
        stream = film.add_stream(how.codec, rate=RATE, options=dict(how.options))
        assert isinstance(stream, av.VideoStream)
        stream.width, stream.height = spec.camera.size
        stream.pix_fmt, stream.bit_rate = "yuv420p", int(how.mbits * 1e6)
        stream.time_base = stream.codec_context.time_base = Fraction(1, TICKS)
        for time_s in _times(rendered.motion.ends_s, how.uneven, rng):
            picture = cv2.GaussianBlur(rendered.picture(time_s), (0, 0), spec.blur_px)
            y, x = rng.integers(0, GRAIN_OVER, 2)
            noisy = cv2.add(picture, grain[y : y + picture.shape[0], x : x + picture.shape[1]], dtype=cv2.CV_8U)
            frame = av.VideoFrame.from_ndarray(np.asarray(noisy), format="bgr24")
            frame.pts, frame.time_base = round(time_s * TICKS), Fraction(1, TICKS)
            film.mux(stream.encode(frame))
        film.mux(stream.encode(None))
    return out


def _times(ends_s: float, uneven: bool, rng: np.random.Generator) -> Iterator[float]:
    at = 0.0
    while at < ends_s - READOUT_S:
        yield at
        at += (float(rng.choice([1, 1, 1, 2])) + 0.2 * float(rng.uniform(-1, 1)) if uneven else 1.0) / RATE


def _grain(spec: Spec, rng: np.random.Generator) -> NDArray[np.int16]:
    """One drawn field of grain, laid anew in each picture; a little coarser than pixels."""
    width, height = spec.camera.size
    rough = rng.normal(0, 1, (height + GRAIN_OVER, width + GRAIN_OVER, 3)).astype(np.float32)
    return np.asarray(np.round((rough + 1.2 * cv2.GaussianBlur(rough, (0, 0), 1.1)) * spec.noise), np.int16)


if __name__ == "__main__":
    for word in sys.argv[1:]:
        for written in write_films(Path(word)):
            print(written, flush=True)
