"""What has to follow an alteration on the neighbours, so that seams that are sewn together keep one length."""

from dataclasses import replace
from typing import Literal

import numpy as np

from fitcheck.core.records import Floats
from fitcheck.pattern.drafts.block import Block, strip
from fitcheck.pattern.lines import drag, line, part, path_length, solve, steps_along, stretched
from fitcheck.pattern.moves.move_line import follow, rounded
from fitcheck.pattern.piece import Mark, Piece, Pieces, arrow

Cap = Literal["top", "underarm"]
HAIR_MM = 1.5  # less is no pencil line beside another


def trued(block: Block, after: Pieces, cap: Cap, holds: str) -> dict[str, Piece]:
    """Make every neighbour fit again.

    Parameters
    ----------
    cap : top | underarm
        Where the sleeve cap gives: at its top, the notch there moving along it, or at its underarm ends.
    holds : str
        The piece whose side seam is right; the other piece's follows at its lower end, by a millimetre or two.
    """
    found = dict(after)
    if "side front" in found:
        _end(block, found, "side front", "princess_upper", -1)
        _end(block, found, "side front", "princess_lower", 0)
    for name, piece in found.items():
        for edge in piece.edges_named("side")[-1:] + piece.edges_named("outside") + piece.edges_named("inside"):
            if (name == "back") == (holds != "back"):
                _end(block, found, name, edge, 0 if edge == "outside" else -1)
    if "sleeve" in found:
        back, front = (block.wanted(found, "sleeve", edge) for edge in ("cap_back", "cap_front"))
        found["sleeve"] = _fitted_cap(found["sleeve"], back, front, cap)
    for name, piece in found.items():
        if "top" in piece.edges:  # a collar or waistband
            lengths = {edge: block.wanted(found, name, edge) for edge in ("back", "front")}
            if max(abs(long - piece.length(edge)) for edge, long in lengths.items()) > 0.01:
                found[name] = replace(strip(name, **lengths), marks=_grown(piece, lengths))
    return found


def matched_princess(centre: Piece, side: Piece, level: bool = True) -> Piece:
    """Lengthen (or shorten) the centre front above and below the bust until its princess seams are as long as the side front's.

    Parameters
    ----------
    level : bool
        The whole lower edge moves; otherwise the change runs to nothing at the centre.
    """
    low = "hem" if "hem" in centre.edges else "waist"

    def upper(drop: float) -> Floats:
        return drag(centre.edges["princess_upper"], np.array([0.0, drop]), -1)

    drop = solve(lambda d: path_length(upper(d)) - side.length("princess_upper"))
    old, bust = centre.edges["princess_upper"][-1], upper(drop)[-1]

    def lower(more: float) -> Floats:
        return np.vstack([bust, centre.edges["princess_lower"][1:] + [0.0, more]])

    more = solve(lambda d: path_length(lower(d)) - side.length("princess_lower"))
    falls = np.array([[0.0, more], [0.0, more if level else 0.0]])
    area = np.array([[0.0, old[1]], old, old + [0.0, more], [0.0, old[1] + falls[1, 1]]])
    marks = [Mark("cut", line((0.0, float(old[1])), (float(old[0]), float(old[1])))), Mark("gap" if more > 0 else "lap", area)]
    marks += [] if level else [Mark("hinge", line((0.0, float(old[1]))))]
    marks += [arrow(old - [22.0, 0.0], old + [-22.0, more])]
    longer = centre.with_edges(
        *marks,
        princess_upper=upper(drop),
        princess_lower=lower(more),
        centre=centre.edges["centre"] + np.array([falls[1], [0.0, 0.0]]),
        **{low: centre.edges[low] + falls},
    )
    return replace(longer, inner={**centre.inner, "bust point": bust[None]})


def _end(block: Block, pieces: dict[str, Piece], name: str, edge: str, at: int) -> None:
    """The lower end of a seam moved on along it until it fits."""
    piece = pieces[name]
    old = piece.edges[edge]
    new = stretched(old, block.wanted(pieces, name, edge) + piece.taken.get(edge, 0.0), at)
    edges = list(piece.edges)
    neighbour = edges[(edges.index(edge) + (1 if at else -1)) % len(edges)]
    pieces[name] = piece.with_edges(**{edge: new, neighbour: follow(piece, neighbour, new[at] - old[at], 0 if at else -1)})


def _fitted_cap(sleeve: Piece, back: float, front: float, give: Cap) -> Piece:
    """The cap as long as both halves of the armhole and their ease, parted at the notch of the shoulder seam."""
    caps = sleeve.edges["cap_back"], sleeve.edges["cap_front"]
    if max(abs(path_length(one) - long) for one, long in zip(caps, (back, front), strict=True)) < 0.01:
        return sleeve
    if give == "underarm":
        for edge, seam, long in (("cap_back", "seam_back", back), ("cap_front", "seam_front", front)):
            sleeve = _let_out(sleeve, edge, seam, long)
        return sleeve
    whole = np.vstack([caps[0], caps[1][1:]])
    top = path_length(caps[0]) / path_length(whole)
    along = steps_along(whole)
    bump = rounded(np.where(along < top, along / top, (1 - along) / (1 - top)))

    def raised(by: float) -> Floats:
        found: Floats = whole - np.outer(bump, [0.0, by])
        return found

    by = solve(lambda by: path_length(raised(by)) - back - front)
    new, old = raised(by), caps[0][-1]
    fitted = sleeve.with_edges(cap_back=part(new, 0, back), cap_front=part(new, back, path_length(new)))
    up, ahead = cap_moved(sleeve, fitted)
    top, notch = old - [0.0, up], fitted.edges["cap_back"][-1]
    marks = [Mark("notch", np.array([notch, notch + [0, 14]]))] if max(abs(up), abs(ahead)) > HAIR_MM else []
    marks += [arrow(old, top, up)] if abs(up) > HAIR_MM else []
    marks += [arrow(top, notch, ahead)] if abs(ahead) > HAIR_MM else []
    return fitted.with_edges(*marks)


def cap_moved(old: Piece, new: Piece) -> tuple[float, float]:
    """How far a cap lies higher where its notch was, and how far along the new cap the notch has moved towards the front, mm."""
    whole = np.vstack([new.edges["cap_back"], new.edges["cap_front"][1:]])
    top, passed = old.edges["cap_back"][-1], steps_along(whole) * path_length(whole)
    along = float(np.interp(top[0], whole[:, 0], passed))
    return float(top[1] - np.interp(top[0], whole[:, 0], whole[:, 1])), new.length("cap_back") - along


def _let_out(sleeve: Piece, edge: str, seam: str, long: float) -> Piece:
    """The underarm end of one half of the cap moved in or out, its underarm seam as long as before and to nothing at the wrist."""
    cap, under = sleeve.edges[edge], sleeve.edges[seam]
    at, out = (0, -1.0) if edge == "cap_back" else (-1, 1.0)
    wrist, old, own = under[0 if at == 0 else -1], cap[at], path_length(under)

    def moved(by: float) -> Floats:
        across = old[0] + out * by
        new: Floats = np.array([across, wrist[1] - np.sqrt(own**2 - (across - wrist[0]) ** 2)])
        return new

    by = solve(lambda by: path_length(drag(cap, moved(by) - old, at)) - long)
    if abs(by) < 0.05:
        return sleeve
    new = moved(by)
    marks = [arrow(old, new)] if np.hypot(*(new - old)) > HAIR_MM else []
    return sleeve.with_edges(*marks, **{edge: drag(cap, new - old, at), seam: np.array([wrist, new] if at == 0 else [new, wrist])})


def _grown(piece: Piece, lengths: dict[str, float]) -> tuple[Mark, ...]:
    """How much longer or shorter each half of the strip has become, at the end of it."""
    marks, x, high = [], 0.0, float(piece.edges["front"][-1, 1])
    for edge, long in lengths.items():
        x += long
        more = long - piece.length(edge)
        end = np.array([x, high / 2])
        marks += [arrow(end - [more, 0.0], end)] if abs(more) > HAIR_MM else []
    return tuple(marks)
