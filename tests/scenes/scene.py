"""The 3D scene of a spec: two bodies, the garment cut on one, draped on the other. Subject frames, metres."""

from dataclasses import dataclass

import numpy as np

from . import landmarks, mesh, observables
from .body import Body, build
from .drape import simulate
from .drawn_lines import draw_half_lines, draw_lines
from .garment import cut_shell, half_of, open_front
from .mesh import Bools, Floats, Ints, Map
from .spec import HalfTissue, Letter, Spec

HELD_M, STRIP_M = 0.012, 0.030  # what a pin or a strip of tape holds of the cloth; its length


@dataclass(frozen=True)
class Draped:
    """What truth and pictures are made from.

    Attributes
    ----------
    reference : Body
        Whom the garment was cut for (not subdivided).
    v_reference, v_subject : ndarray, shape (n, 3)
        Subdivided bodies of the same topology.
    quads, skin_weights : ndarray
        Of the subdivided bodies.
    lm_reference, lm, normals : dict
        Landmarks, and the skin's normals at those of the subject.
    tris : ndarray of int, shape (m, 3)
    rest, hung, x : ndarray, shape (k, 3)
        The garment as cut, at rest on the reference, and on the subject.
    pins_z : list of float
        Heights in `rest` at which an open front is pinned; empty where it is closed.
    held : list of (ndarray, ndarray)
        What holds a half tissue at its middle, pins or strips of tape: both ends, off the cloth and on it.
    half : "L", "R" or None
        The side of a half tissue.
    lines_hung, lines : dict
        Drawn lines on the reference and on the subject.
    girths_reference, girths : dict
        mm.
    """

    reference: Body
    v_reference: Floats
    v_subject: Floats
    quads: Ints
    skin_weights: Floats
    lm_reference: dict[str, Floats]
    lm: dict[str, Floats]
    normals: dict[str, Floats]
    tris: Ints
    rest: Floats
    hung: Floats
    x: Floats
    pins_z: list[float]
    held: list[tuple[Floats, Floats]]
    half: Letter | None
    lines_hung: dict[str, Floats]
    lines: dict[str, Floats]
    girths_reference: dict[str, float | None]
    girths: dict[str, float | None]

    @property
    def opened(self) -> bool:
        """Whether the front is open."""
        return bool(self.pins_z)

    @property
    def marks(self) -> dict[str, Floats]:
        """Ends of the shoulder seams and the bust marks on the subject."""
        out = {}
        for side in [letter for letter in "LR" if self.half in (None, letter)]:
            seam, princess = self.lines["shoulder_" + side], self.lines["princess_" + side]
            out["shoulder_seam_neck_end_" + side] = seam[np.abs(seam[:, 0]).argmin()]
            out["shoulder_seam_tip_end_" + side] = seam[np.abs(seam[:, 0]).argmax()]
            out["bust_mark_" + side] = princess[princess[:, 2].argmax()]
        return out

    def pins(self) -> list[tuple[Floats, Floats]]:
        """Ends of the pins across the opened front."""

        def nearest(z: float, x: float) -> Floats:
            away = np.abs(self.rest[:, 2] - z) + np.abs(self.rest[:, 0] - x) + (self.rest[:, 1] > 0)
            return np.asarray(self.x[away.argmin()])

        return [(nearest(z, 0.012), nearest(z, -0.012)) for z in self.pins_z]


def drape_scene(spec: Spec) -> Draped:
    """Build the bodies, cut the garment, hang it on the reference, draw its lines there, and drape it on the subject."""
    reference, subject = build(spec.reference), build(spec.subject)
    finer, quads = mesh.subdivide(reference.quads, len(reference.v))
    weights, v_reference, v_subject = (np.asarray(finer @ part) for part in (reference.skin_weights, reference.v, subject.v))
    lm_reference, _ = landmarks.on_skin(spec.reference, v_reference, quads)
    lm, normals = landmarks.on_skin(spec.subject, v_subject, quads)
    shell = cut_shell(reference, v_reference, quads, weights, lm_reference, spec.garment.ease_mm / 1000, spec.garment.refine)
    pins_z: list[float] = []
    if spec.garment.front_pins:
        front = shell.rest[(np.abs(shell.rest[:, 0]) < 0.02) & (shell.rest[:, 1] < np.median(shell.rest[:, 1]))][:, 2]
        pins_z = [float(front.max() - 0.012 - share * (np.ptp(front) - 0.03)) for share in spec.garment.front_pins]
        shell = open_front(shell, pins_z)
    tris, rest = shell.tris, shell.rest

    finest, body_quads = mesh.subdivide(quads, len(v_reference))
    a, b = finest @ v_reference, finest @ v_subject
    z = a[body_quads].mean(1)[:, 2]
    body_quads = body_quads[(z > rest[:, 2].min() - 0.06) & (z < rest[:, 2].max() + 0.06)]
    sim = spec.sim
    hung = simulate(tris, rest, rest, lambda share: a, body_quads, settle_steps=sim.settle_steps)
    half, held = spec.garment.half, []
    if half is None:
        lines = draw_lines(hung, tris, lm_reference, bool(pins_z), spec.line_offsets_mm)
    else:
        ends = _centre_ends(hung, lm_reference, half)
        beyond = half.beyond_mm / 1000
        s, tris = half_of(hung, tris, half.side, ends["front"] - beyond, ends["back"] - beyond)
        rest, hung = np.asarray(s @ rest), np.asarray(s @ hung)
        lines = draw_half_lines(hung, tris, lm_reference, half, spec.line_offsets_mm, _centre_ends(hung, lm_reference, half))
        held = [near for end in ("front", "back") for near in _held(hung, lines[f"{end}_edge_{half.side}"], half)]
    x = simulate(
        tris,
        rest,
        hung,
        lambda share: a * (1 - share) + b * share,
        body_quads,
        morph_steps=sim.morph_steps,
        settle_steps=sim.end_steps,
        friction=sim.friction,
        iterations=sim.iterations,
        held=np.concatenate(held) if held else None,
    )
    torso = _torso(reference, quads, weights)
    strips = [] if half is None or half.held_by == "nothing" else [_strip(x, near, half.side) for near in held]
    return Draped(
        reference=reference,
        v_reference=v_reference,
        v_subject=v_subject,
        quads=quads,
        skin_weights=weights,
        lm_reference=lm_reference,
        lm=lm,
        normals=normals,
        tris=tris,
        rest=rest,
        hung=hung,
        x=x,
        pins_z=pins_z,
        held=strips,
        half=half.side if half else None,
        lines_hung={name: line @ hung for name, line in lines.items()},
        lines={name: line @ x for name, line in lines.items()},
        girths_reference=observables.girths(v_reference, torso, lm_reference),
        girths=observables.girths(v_subject, torso, lm),
    )


def _centre_ends(x: Floats, lm: dict[str, Floats], half: HalfTissue) -> dict[str, Floats]:
    """How far from the middle the centre lines of a half tissue are to lie, before and behind, at the height of each of its points x, m."""
    level = sorted(observables.centre_levels(lm).items(), key=lambda row: row[1])
    heights = [z for _, z in level]
    ends = {"front": half.front_short_mm, "back": half.back_short_mm}
    return {end: np.interp(x[:, 2], heights, [getattr(at, name) / 1000 for name, _ in level]) for end, at in ends.items()}


def _held(x: Floats, edge: Map, half: HalfTissue) -> list[Ints]:
    """The points near an edge that pins or tape hold, place by place."""
    rim = x[edge.indices]
    spots = [rim[np.abs(rim[:, 2] - rim[:, 2].max() + share * np.ptp(rim[:, 2])).argmin()] for share in half.held_at]
    return [] if half.held_by == "nothing" else [np.flatnonzero(np.linalg.norm(x - spot, axis=1) < HELD_M) for spot in spots]


def _strip(x: Floats, near: Ints, side: Letter) -> tuple[Floats, Floats]:
    """Both ends of the pin or strip of tape that holds the points `near`, off the cloth and on it."""
    on_cloth = np.array([STRIP_M / 2 if side == "L" else -STRIP_M / 2, 0.0, 0.0])
    edge = x[near][(x[near, 0] * on_cloth[0]).argmin()]
    return edge - on_cloth, edge + on_cloth


def _torso(body: Body, quads: Ints, skin_weights: Floats) -> Bools:
    used = np.zeros(len(skin_weights), bool)
    used[np.unique(quads)] = True
    return np.asarray(used & (body.arm_weight(skin_weights) < 0.3))
