"""A seam line drawn anew beside the old one, running to nothing where it should."""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from fitcheck.core.records import Floats
from fitcheck.pattern.drafts.block import NOTCHES_MM
from fitcheck.pattern.lines import dense, drag, path_length, point_at, steps_along, stretched, unit
from fitcheck.pattern.piece import Mark, Piece, Pieces, arrow

_CURVES = ("armhole", "neck", "waist", "cap_back", "cap_front", "princess_upper")  # follow smoothly when an end moves


def taper(*stops: tuple[float, float]) -> Callable[[Floats], Floats]:
    """Shares of the amount by height, smooth from stop to stop, level at each."""
    places, shares = (np.array(column, dtype=float) for column in zip(*sorted(stops), strict=True))

    def share(at: Floats) -> Floats:
        step = np.clip(np.searchsorted(places, at, side="right"), 1, len(places) - 1)
        t = np.clip((at - places[step - 1]) / (places[step] - places[step - 1]), 0, 1)
        found: Floats = shares[step - 1] + (shares[step] - shares[step - 1]) * t**2 * (3 - 2 * t)
        return found

    return share


def sideways(amount: float, share: Callable[[Floats], Floats]) -> Callable[[Floats], Floats]:
    """Points to moves: the amount along x, in shares by height."""

    def by(points: Floats) -> Floats:
        moves: Floats = np.outer(share(points[:, 1]), [amount, 0.0])
        return moves

    return by


def displaced(piece: Piece, edges: Sequence[str], by: Callable[[Floats], Floats], told: float | None = None) -> Piece:
    """Some edges, neighbours in order, moved point by point; the ends of what joins them follow.

    Parameters
    ----------
    by : callable
        Points (N, 2) to how far each moves (N, 2), mm.
    told : float, optional
        What the arrow says; the greatest move where it is left out.
    """
    before = {edge: dense(piece.edges[edge]) for edge in edges}
    moves = {edge: by(before[edge]) for edge in edges}
    after = {edge: before[edge] + moves[edge] for edge in edges}
    names = list(piece.edges)
    previous, following = names[names.index(edges[0]) - 1], names[(names.index(edges[-1]) + 1) % len(names)]
    after[previous] = follow(piece, previous, moves[edges[0]][0], -1)
    after[following] = follow(piece, following, moves[edges[-1]][-1], 0)
    points, steps = (np.vstack(list(found.values())) for found in (before, moves))
    far = np.hypot(*steps.T)
    widest = np.flatnonzero(far > far.max() - 1e-6)
    most = widest[0] if edges[0] == "waist" else widest[len(widest) // 2]
    return piece.with_edges(arrow(points[most], points[most] + steps[most], told), **after)


def follow(piece: Piece, edge: str, by: Floats, at: int) -> Floats:
    """An edge one end of which moves."""
    if edge in _CURVES:
        return drag(piece.edges[edge], by, at)
    moved = piece.edges[edge].copy()
    moved[at] = moved[at] + by
    return moved


def moved_armhole(pieces: Pieces, names: Sequence[str], by: Callable[[Floats, str], Floats]) -> dict[str, Piece]:
    """An armhole moved, on one piece or on the two that a princess seam parts; the seams that end on it follow.

    Parameters
    ----------
    by : callable
        How far along the whole armhole, from 0 at the shoulder to 1 at the underarm (N,), and the piece, to moves (N, 2).
    """
    total = sum(path_length(pieces[name].edges["armhole"]) for name in names)
    passed, found = 0.0, {}
    for name in names:
        piece = pieces[name]
        armhole = piece.edges["armhole"]
        own = path_length(armhole)
        moves = by((passed + steps_along(armhole) * own) / total, name)
        passed += own
        changes = {"armhole": armhole + moves}
        edges = list(piece.edges)
        at = edges.index("armhole")
        for edge, move, end in ((edges[at - 1], moves[0], -1), (edges[(at + 1) % len(edges)], moves[-1], 0)):
            changes[edge] = follow(piece, edge, move, end)
        found[name] = piece.with_edges(**changes)
    return found


def moved_neck(piece: Piece, at_centre: Floats, at_shoulder: Floats) -> Piece:
    """The neck seam drawn anew from moved ends; centre line and shoulder seam follow."""
    neck, shoulder, centre = piece.edges["neck"], piece.edges["shoulder"].copy(), piece.edges["centre"].copy()
    share = steps_along(neck)[:, None]
    shoulder[0] = shoulder[0] + at_shoulder
    centre[-1] = centre[-1] + at_centre
    return piece.with_edges(neck=neck + (1 - share) ** 2 * at_centre + share**2 * at_shoulder, shoulder=shoulder, centre=centre)


def widened_shoulder(pieces: Pieces, names: Sequence[str], amount: float) -> dict[str, Piece]:
    """The shoulder seam longer at its armhole end, the armhole drawn anew to nothing half way down."""
    neck, tip = pieces[names[0]].edges["shoulder"]
    out = unit(tip - neck) * amount
    found = moved_armhole(pieces, names, lambda share, _: np.outer(np.clip(1 - 2 * share, 0, 1) ** 2, out))
    first = found[names[0]]
    return {**found, names[0]: first.with_edges(arrow(tip, tip + out))}


def beside_the_dart(piece: Piece, amount: float, share: Callable[[Floats], Floats]) -> Piece:
    """A strip added along the side seam of a front with a dart: both legs grow along their own direction, so the dart stays as it is.

    Parameters
    ----------
    share : callable
        Height to the share of the amount, for the side seam below the dart.
    """
    upper, apex = piece.edges["dart_upper"]
    lower = piece.edges["dart_lower"][1]
    out = np.array([amount, 0.0])
    new_upper, new_lower = (point + unit(point - apex) * amount for point in (upper, lower))
    side = dense(piece.edges["side_lower"])
    side = side + np.outer(share(side[:, 1]), out)
    side = np.vstack([new_lower, side[side[:, 1] > new_lower[1] + 3]])
    low = "hem" if "hem" in piece.edges else "waist"
    underarm = piece.edges["side_upper"][0]
    return piece.with_edges(
        arrow(underarm, underarm + out),
        armhole=drag(piece.edges["armhole"], out, -1),
        side_upper=np.array([underarm + out, new_upper]),
        dart_upper=np.array([new_upper, apex]),
        dart_lower=np.array([apex, new_lower]),
        side_lower=side,
        **{low: np.vstack([side[-1:], piece.edges[low][1:]])},
    )


def moved_dart(piece: Piece, up: float) -> Piece:
    """The block around a side dart cut out and moved up or down whole; the side seam is drawn anew."""
    by = np.array([0.0, -up])
    apex = piece.edges["dart_upper"][1]
    side_upper, side_lower = piece.edges["side_upper"].copy(), piece.edges["side_lower"].copy()
    left, top, low = apex[0] - 25, side_upper[1, 1] - 20, side_lower[0, 1] + 20
    right = max(side_upper[1, 0], side_lower[0, 0])
    block = np.array([[right, top], [left, top], [left, low], [right, low]])
    side_upper[1], side_lower[0] = side_upper[1] + by, side_lower[0] + by
    moved = piece.with_edges(
        Mark("block", block + by),
        arrow(apex, apex + by),
        side_upper=side_upper,
        dart_upper=piece.edges["dart_upper"] + by,
        dart_lower=piece.edges["dart_lower"] + by,
        side_lower=side_lower,
    )
    return replace(moved, inner={**piece.inner, "bust point": piece.inner["bust point"] + by})


def moved_dart_point(piece: Piece, out: float) -> Piece:
    """The point of a side dart moved along the dart's middle line, so that its legs keep one length."""
    upper, apex = piece.edges["dart_upper"]
    lower = piece.edges["dart_lower"][1]
    along = unit((upper + lower) / 2 - apex)
    new = apex + along * out / along[0]
    moved = piece.with_edges(arrow(apex, new, out), dart_upper=np.array([upper, new]), dart_lower=np.array([new, lower]))
    return replace(moved, inner={**piece.inner, "bust point": new[None]})


def moved_princess(pieces: Pieces, by: Floats, told: float | None = None) -> dict[str, Piece]:
    """The princess seam moved at the bust point, to nothing at its ends; the same move on both pieces is a new place for it."""
    found = {}
    for name, piece in pieces.items():
        first, second = piece.edges_named("princess")  # they meet at the bust point
        bust = piece.edges[first][-1]
        changes = {first: drag(piece.edges[first], by, -1), second: drag(piece.edges[second], by, 0)}
        moved = piece.with_edges(arrow(bust, bust + by, told), **changes)
        found[name] = replace(moved, inner={**piece.inner, "bust point": piece.inner["bust point"] + by})
    return found


def raised_waist(piece: Piece, side: str, inner: str, amount: float) -> Piece:
    """The waist seam of a skirt or trousers raised straight up, or cut lower along the seams that end in it.

    Parameters
    ----------
    side, inner : str
        The seams at its outer end, which begins there, and at its inner end, which ends there.
    """
    outside, centre, waist = piece.edges[side], piece.edges[inner], piece.edges["waist"]
    if amount > 0:
        outside, centre = (np.vstack([points[0] - [0, amount], points]) for points in (outside, centre[::-1]))
        centre = centre[::-1]
    else:
        outside, centre = stretched(outside, path_length(outside) + amount, 0), stretched(centre, path_length(centre) + amount)
    ends = np.array([centre[-1], outside[0]]) - waist[[0, -1]]
    moved = waist + np.outer(1 - steps_along(waist), ends[0]) + np.outer(steps_along(waist), ends[1])
    return piece.with_edges(arrow(waist[0], moved[0], amount), **{"waist": moved, side: outside, inner: centre})


def raised_hip(piece: Piece, side: str, waist: float, hip: float, nothing: float, amount: float) -> Piece:
    """The widest place of a side seam raised, the seam drawn anew to nothing at the waist above and at a level below.

    Parameters
    ----------
    waist, hip, nothing : float
        Levels.
    """
    share = taper((waist, 0), (hip, 1), (nothing, 0))

    def by(points: Floats) -> Floats:
        moves: Floats = np.outer(share(points[:, 1]), [0.0, -amount])
        return moves

    points = piece.edges[side]
    new = np.array([np.interp(hip, points[:, 1], points[:, 0]), hip - amount])
    return displaced(piece, [side], by).with_edges(Mark("notch", np.array([new, new - [14, 0]])))


def raised_cap(piece: Piece, amount: float) -> Piece:
    """The top of a sleeve cap raised, the cap drawn to nothing at its underarm ends."""
    back, front = piece.edges["cap_back"], piece.edges["cap_front"]
    up = np.array([0.0, -amount])
    return piece.with_edges(
        arrow(back[-1], back[-1] + up),
        cap_back=back + np.outer(rounded(steps_along(back)), up),
        cap_front=front + np.outer(rounded(1 - steps_along(front)), up),
    )


def rounded(share: Floats) -> Floats:
    """From 0 to 1, level at both ends."""
    found: Floats = (1 - np.cos(np.pi * share)) / 2
    return found


def raised_underarm(piece: Piece, amount: float) -> Piece:
    """The underarm of the sleeve cap raised along both underarm seams, the cap drawn to nothing at its top."""
    back, front = piece.edges["seam_back"], piece.edges["seam_front"]
    new_back, new_front = stretched(back, path_length(back) + amount), stretched(front, path_length(front) + amount, 0)
    return piece.with_edges(
        arrow(front[0], new_front[0], amount),
        seam_back=new_back,
        seam_front=new_front,
        cap_back=drag(piece.edges["cap_back"], new_back[-1] - back[-1], 0),
        cap_front=drag(piece.edges["cap_front"], new_front[0] - front[0], -1),
    )


def notches_moved(piece: Piece, amount: float) -> Piece:
    """The sleeve turned in the armhole: the cap stays, its notches move along it (towards the front for amounts above zero)."""
    cap = np.vstack([piece.edges["cap_back"], piece.edges["cap_front"][1:]])
    top, whole = piece.length("cap_back"), path_length(cap)
    marks = []
    for at in (*NOTCHES_MM["back"], top, *(whole - far for far in NOTCHES_MM["front"])):
        old, new = point_at(cap, at), point_at(cap, at + amount)
        ahead = point_at(cap, at + amount + 1)
        across = unit(ahead - new)[::-1] * [-14, 14]
        marks += [Mark("notch", np.array([new, new + across]))]
        if at == top:
            marks += [arrow(old, new, amount)]
    return piece.with_edges(*marks)
