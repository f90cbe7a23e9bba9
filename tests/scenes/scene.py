"""The 3D scene of a spec: two bodies, the garment cut on one, draped on the other. Subject frames, metres."""

from dataclasses import dataclass

import numpy as np

from . import landmarks, mesh, observables
from .body import Body, build
from .drape import simulate
from .drawn_lines import draw_lines
from .garment import cut_shell, open_front
from .mesh import Bools, Floats, Ints
from .spec import Spec


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
        for side in "LR":
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
    pick = landmarks.standard()
    shell = cut_shell(reference, v_reference, quads, weights, pick, spec.garment.ease_mm / 1000, spec.garment.refine)
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
    lm_reference = landmark_points(v_reference, quads, pick)
    lines = draw_lines(hung, tris, lm_reference, bool(pins_z), spec.line_offsets_mm)
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
    )
    torso = _torso(reference, quads, weights)
    normals = mesh.normals(v_subject, mesh.triangles(quads))
    lm = landmark_points(v_subject, quads, pick)
    return Draped(
        reference=reference,
        v_reference=v_reference,
        v_subject=v_subject,
        quads=quads,
        skin_weights=weights,
        lm_reference=lm_reference,
        lm=lm,
        normals={name: normals[i] for name, i in pick.items()},
        tris=tris,
        rest=rest,
        hung=hung,
        x=x,
        pins_z=pins_z,
        lines_hung={name: line @ hung for name, line in lines.items()},
        lines={name: line @ x for name, line in lines.items()},
        girths_reference=observables.girths(v_reference, torso, lm_reference),
        girths=observables.girths(v_subject, torso, lm),
    )


def landmark_points(v: Floats, quads: Ints, pick: dict[str, int]) -> dict[str, Floats]:
    used = v[np.unique(quads)]
    return {name: v[i] for name, i in pick.items()} | {"crown": used[used[:, 2].argmax()]}


def _torso(body: Body, quads: Ints, skin_weights: Floats) -> Bools:
    used = np.zeros(len(skin_weights), bool)
    used[np.unique(quads)] = True
    return np.asarray(used & (body.arm_weight(skin_weights) < 0.3))
