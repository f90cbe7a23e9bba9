"""One floor for all photos: cameras, lens, sheets and wall card of a fitting solved together.

Unknown are, for every photo, where its camera stands over the floor; for every printed thing, where it lies or hangs, the same in all
photos but where it was moved; and the lens. What is known beforehand enters as whitened rows: sheets lie nearly flat on one floor, one
printer printed everything, the lens is about as the file says. The wall card may hang as crooked as it likes. Bundle adjustment (Triggs
et al. 2000) by Levenberg-Marquardt steps on the normal equations, as each edge touches 16 of the unknowns; soft L1 loss against strays.

Floor frame: x to image right, y up, z towards the camera, origin at the middle of the squares of the sheet that shows in most photos.
"""

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from fitcheck.core.camera import pinhole
from fitcheck.core.records import Floats, View
from fitcheck.photo.floor.curl import BENDS, corner_rise
from fitcheck.photo.floor.one_floor import FloorFit, Place, Seen, Setting, Thing

# Estimates of ours, where no line says more.
TILT_SD = math.radians(0.25)  # of a sheet against the floor: paper, tape, a carpet's pile
LIFT_SD_MM = 0.6  # of its middle
ONE_PRINTER_SD = 0.0005  # by how much prints of one printer differ in size
ANY_TURN_SD = math.radians(20.0)  # of a wall card against the floor's upright
CURL_SD_MM = 6.0  # of a corner that stands off the floor
INSET_SD_PX = 0.3  # light spreads from white over black
UPRIGHT = 0.5  # cosine between a thing's upright and the picture's: cameras are held upright
FIXED = 1e-6  # of what is a choice and no knowledge: where the origin is, which sheet has the size it has
STRAYS_FROM = 3.0  # standard deviations from which an edge counts less
ANY_SIZE_SD = 0.1  # of a sheet that was printed to another size
PER_PLACE, PER_PHOTO, PER_LENS = 6, 6, 2  # unknowns of each
IN_THE_FLOOR = (1, 3, 5)  # those of a sheet's place that move it in the floor: turn, across, along
GUESSED_SD = 0.05  # of a focal length, relative, from which on it is a guess
LONGER = tuple(0.12 * k for k in range(-3, 8))  # logarithms of focal lengths over the guessed one that are begun with
FIRST_ROUNDS = 5  # from each of them
ROUNDS = 60  # a fit takes 5 to 20
STOP, STOP_SHARE = 0.01, 1e-4  # a round that betters the cost by less than that, or than that share of it, was the last
HELD, LOOSER, TIGHTER, TIGHTEST = 1e-3, 0.2, 8.0, 1e8  # how much a step is held back at first, and by which factors less or more


def fit_floor(setting: Setting, near: FloorFit | None = None) -> FloorFit | None:
    """Solve for one floor.

    Parameters
    ----------
    setting : Setting
    near : FloorFit, optional
        To start from.

    Returns
    -------
    FloorFit or None
        Photos that share no thing with the others are left out; None where no photo shows a floor sheet.
    """
    if not any(s.thing != "card" for s in setting.seen):
        return None
    problem = _Problem(setting)
    if near is not None or max(lens.focal_sd for lens in setting.lenses.values()) < GUESSED_SD:
        start = problem.start(near)
        return None if start is None else problem.solve(start)
    # the longer the lens is taken, the farther everything: a narrow valley that bends, so it is entered at several places
    starts = [start for longer in LONGER if (start := problem.start(None, longer)) is not None]
    begun = [problem.steps(start, FIRST_ROUNDS) for start in starts]
    return problem.solve(min(begun, key=lambda found: found[1])[0]) if begun else None


class _Problem:
    """The unknowns in order: lenses, places, sizes, photos, insets, corners of sheets that stand up."""

    def __init__(self, setting: Setting) -> None:
        self.setting = setting
        sheets = [s for s in setting.seen if s.thing != "card"]
        count = {thing: sum(s.thing == thing for s in sheets) for thing in ("left", "right")}
        self.first: Thing = "left" if count["left"] >= count["right"] else "right"
        self.seen = setting.seen
        self.views = list(dict.fromkeys(s.view for s in self.seen))
        self.groups = list({id(setting.lenses[v]): setting.lenses[v] for v in self.views}.values())
        self.places = list(dict.fromkeys(self.place(s) for s in self.seen))
        self.things: list[Thing] = list(dict.fromkeys(s.thing for s in self.seen))
        at = PER_LENS * len(self.groups)
        self.place_at = {place: at + PER_PLACE * i for i, place in enumerate(self.places)}
        at += PER_PLACE * len(self.places)
        self.size_at = {thing: at + i for i, thing in enumerate(self.things)}
        at += len(self.things)
        self.photo_at = {view: at + PER_PHOTO * i for i, view in enumerate(self.views)}
        at += PER_PHOTO * len(self.views)
        self.inset_at = {(s.view, s.thing): at + i for i, s in enumerate(self.seen)}
        at += len(self.seen)
        sheet_places = [place for place in self.places if place[0] != "card"]
        self.curl_at = {place: at + BENDS * i for i, place in enumerate(sheet_places)}
        self.size = at + BENDS * len(sheet_places)
        self.rises = [None if s.thing == "card" else corner_rise(s.edges.middles_mm) for s in self.seen]
        self.solid = [_solid(s) for s in self.seen]
        self._known()

    def place(self, s: Seen) -> Place:
        return s.thing, self.setting.moved.get((s.view, s.thing), 0)

    def lens_at(self, view: View) -> int:
        return PER_LENS * next(i for i, lens in enumerate(self.groups) if lens is self.setting.lenses[view])

    def _known(self) -> None:
        """Rows `(x[column] - mean) / sd`: columns, means and sds."""
        rows: list[tuple[int, float, float]] = []
        for i, lens in enumerate(self.groups):
            known = lens.focal_sd if lens.known_sd is None else lens.known_sd
            rows += [(PER_LENS * i, 0.0, known), (PER_LENS * i + 1, lens.k1, lens.k1_sd)]
        for place, at in self.place_at.items():
            flat = place[0] != "card"
            rows += [(at + k, 0.0, TILT_SD if flat else ANY_TURN_SD) for k in (0, 2)]
            if flat:
                rows.append((at + 4, 0.0, LIFT_SD_MM))
            if place == ("card", 0) and (told := self.setting.card_height) is not None:
                rows.append((at + 4, told.mm, told.sd_mm))
            if place == (self.first, 0):
                rows += [(at + k, 0.0, FIXED) for k in IN_THE_FLOOR]
        for thing, at in self.size_at.items():
            free = thing == self.setting.other_size
            rows.append((at, 0.0, ANY_SIZE_SD if free else FIXED if thing == self.first else ONE_PRINTER_SD))
        rows += [(at, 0.0, INSET_SD_PX) for at in self.inset_at.values()]
        rows += [(at + k, 0.0, CURL_SD_MM) for at in self.curl_at.values() for k in range(BENDS)]
        columns, means, sds = zip(*rows, strict=True)
        self.known_columns, self.known_means, self.known_sds = np.array(columns), np.array(means), np.array(sds)

    def start(self, near: FloorFit | None, longer: float = 0.0) -> Floats | None:
        """Rough values, the lens so much longer (log) than believed; None where something hangs together with nothing else.

        Each photo comes from a thing whose place is known, each place from a photo that is.
        """
        x = np.zeros(self.size)
        for i, lens in enumerate(self.groups):
            x[PER_LENS * i : PER_LENS * i + PER_LENS] = longer, lens.k1
        rough = {(s.view, s.thing): _rough(s, self.setting, longer) for s in self.seen}
        poses: dict[View, Floats] = {}
        places: dict[Place, Floats] = {(self.first, 0): np.zeros(6)}
        if near is not None:
            poses |= near.poses
            places = near.places | places
            for view, (focal_px, k1) in near.lenses.items():
                if view in self.views:
                    at = self.lens_at(view)
                    x[at : at + 2] = math.log(focal_px / self.setting.lenses[view].focal_px), k1
        for _ in range(len(self.views) + len(self.places)):
            for s in self.seen:
                seen, place = rough[s.view, s.thing], self.place(s)
                if seen is None:
                    continue
                if s.view not in poses and place in places:
                    poses[s.view] = _joined(_back(places[place]), seen)
                elif s.view in poses and place not in places:
                    places[place] = _joined(seen, _back(poses[s.view]))
        if not set(self.views) <= set(poses) or not set(self.places) <= set(places):
            return None
        for place, at in self.place_at.items():
            x[at : at + 6] = places[place]
        for view, at in self.photo_at.items():
            x[at : at + 6] = poses[view]
        for place, at in self.curl_at.items():
            if near is not None and place in near.curls_mm:
                x[at : at + BENDS] = near.curls_mm[place]
        return x

    def solve(self, x: Floats) -> FloorFit:
        x, cost = self.steps(x, ROUNDS)
        return self.found(x, cost, np.asarray(np.linalg.inv(self._linearised(x)[1]), np.float64))

    def steps(self, x: Floats, rounds: int) -> tuple[Floats, float]:
        """The unknowns after so many rounds at most, and their cost."""
        cost, normal, right = self._linearised(x)
        held = HELD
        for _ in range(rounds):
            there = x + np.linalg.solve(normal + held * np.diag(np.diag(normal)), right)
            better, *linearised = self._linearised(there)
            if not better < cost:
                held *= TIGHTER
                if held > TIGHTEST:
                    break
                continue
            gained, x, cost, (normal, right), held = cost - better, there, better, linearised, held * LOOSER
            if gained < STOP + STOP_SHARE * cost:
                break
        return x, cost

    def _linearised(self, x: Floats) -> tuple[float, Floats, Floats]:
        """Cost, normal matrix and right side about `x`, strays counted less."""
        normal, right = np.zeros((self.size, self.size)), np.zeros(self.size)
        off = (x[self.known_columns] - self.known_means) / self.known_sds
        np.add.at(normal, (self.known_columns, self.known_columns), self.known_sds**-2)
        np.subtract.at(right, self.known_columns, off / self.known_sds)
        cost = float(off @ off) / 2
        for i, s in enumerate(self.seen):
            columns, off, rows = self._rows(i, s, x)
            soft = np.sqrt(1 + (off / STRAYS_FROM) ** 2)
            cost += STRAYS_FROM**2 * float((soft - 1).sum())
            weighted = rows / soft[:, None]
            normal[np.ix_(columns, columns)] += rows.T @ weighted
            right[columns] -= weighted.T @ off
        return cost, normal, right

    def _rows(self, i: int, s: Seen, x: Floats) -> tuple[NDArray[np.intp], Floats, Floats]:
        """Columns (K,) that the i-th thing in a photo touches, whitened residuals of its edges (N,), and their slopes (N, K)."""
        place, photo, lens = self.place_at[self.place(s)], self.photo_at[s.view], self.lens_at(s.view)
        size, inset = self.size_at[s.thing], self.inset_at[s.view, s.thing]
        rise, curl = self.rises[i], self.curl_at.get(self.place(s), 0)
        lies = self.solid[i] if rise is None else self.solid[i] + np.outer(rise @ x[curl : curl + BENDS], [0.0, 1.0, 0.0])
        p = lies * math.exp(x[size])
        joined = cv2.composeRT(x[place : place + 3], x[place + 3 : place + 6], x[photo : photo + 3], x[photo + 3 : photo + 6])
        turn, shift = joined[0].ravel(), joined[1].ravel()
        focal = self.setting.lenses[s.view].focal_px * math.exp(x[lens])
        bent = np.array([x[lens + 1], *self.setting.lenses[s.view].higher])
        px, by = cv2.projectPoints(p, turn, shift, pinhole(focal, self.setting.sizes_px[s.view]), bent)
        off = ((px.reshape(-1, 2) - s.edges.found_px) * s.edges.normals).sum(axis=1) + x[inset]
        across = np.einsum("nc,nck->nk", s.edges.normals, by.reshape(-1, 2, by.shape[1]))
        by_turn, by_shift = across[:, :3], across[:, 3:6]
        by_r1, by_t1, by_r2, by_t2 = (by_turn @ joined[2 + k] + by_shift @ joined[6 + k] for k in range(4))
        by_focal, by_size = (across[:, 6] + across[:, 7]) * focal, (by_shift * (p @ cv2.Rodrigues(turn)[0].T)).sum(axis=1)
        rows = np.column_stack([by_focal, across[:, 10], by_r1, by_t1, by_r2, by_t2, by_size, np.ones(len(p))])
        columns = np.array([lens, lens + 1, *range(place, place + PER_PLACE), *range(photo, photo + PER_PHOTO), size, inset])
        if rise is not None:
            rows = np.column_stack([rows, (by_shift @ cv2.Rodrigues(turn)[0][:, 1])[:, None] * rise])
            columns = np.append(columns, np.arange(curl, curl + BENDS))
        return columns, off / s.sd_px, rows / s.sd_px

    def found(self, x: Floats, cost: float, covariance: Floats) -> FloorFit:
        rms: dict[tuple[View, Thing], float] = {}
        for i, s in enumerate(self.seen):
            own = self._rows(i, s, x)[1]
            soft = STRAYS_FROM**2 * 2 * (np.sqrt(1 + (own / STRAYS_FROM) ** 2) - 1)
            rms[s.view, s.thing] = float(np.sqrt(soft.mean())) * s.sd_px
        lenses = {}
        for view in self.views:
            at = self.lens_at(view)
            lenses[view] = (self.setting.lenses[view].focal_px * math.exp(x[at]), float(x[at + 1]))
        return FloorFit(
            poses={view: x[at : at + 6] for view, at in self.photo_at.items()},
            places={place: x[at : at + 6] for place, at in self.place_at.items()},
            lenses=lenses,
            sizes={thing: math.exp(x[at]) for thing, at in self.size_at.items()},
            covariance=covariance,
            columns=dict(self.photo_at),
            place_columns=dict(self.place_at),
            focal_columns={view: self.lens_at(view) for view in self.views},
            curls_mm={place: x[at : at + BENDS] for place, at in self.curl_at.items()},
            cost=cost,
            rms_px=rms,
        )


def _solid(s: Seen) -> Floats:
    """Middles of the edges in space, as they lie or hang before they are placed, (N, 3)."""
    x, y = s.edges.middles_mm.T
    nothing = np.zeros(len(x))
    return np.stack([x, y, nothing] if s.thing == "card" else [x, nothing, -y], axis=1)


def _rough(s: Seen, setting: Setting, longer: float) -> Floats | None:
    """Thing to camera, roughly, by a plane's pose from its edges' middles (IPPE); of the two the better one that stands upright."""
    lens = setting.lenses[s.view]
    matrix, bent = pinhole(lens.focal_px * math.exp(longer), setting.sizes_px[s.view]), np.array([lens.k1, *lens.higher])
    flat = np.column_stack([s.edges.middles_mm, np.zeros(len(s.edges.middles_mm))])
    good, turns, shifts, _ = cv2.solvePnPGeneric(flat, s.edges.found_px, matrix, bent, flags=cv2.SOLVEPNP_IPPE)
    if not good:
        return None
    lying = np.eye(3) if s.thing == "card" else np.array([[1.0, 0, 0], [0, 0, -1.0], [0, 1.0, 0]])  # back from (x, 0, -y)
    turns = [cv2.Rodrigues(turn)[0] @ lying for turn in turns]  # the better one first
    upright = [k for k, turn in enumerate(turns) if -turn[1, 1] > UPRIGHT]
    if not upright:
        return None
    return np.concatenate([cv2.Rodrigues(turns[upright[0]])[0].ravel(), shifts[upright[0]].ravel()])


def _joined(first: Floats, then: Floats) -> Floats:
    turn, shift = cv2.composeRT(first[:3], first[3:], then[:3], then[3:])[:2]
    return np.concatenate([turn.ravel(), shift.ravel()])


def _back(pose: Floats) -> Floats:
    turn = cv2.Rodrigues(pose[:3])[0]
    return np.concatenate([-pose[:3], -turn.T @ pose[3:]])
