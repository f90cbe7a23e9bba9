"""The upper body: back, front, set-in sleeve, and the collar or facing of the neck."""

import math
from dataclasses import replace
from functools import lru_cache

import numpy as np

from fitcheck.core.records import Floats
from fitcheck.pattern.drafts.block import HIP_BELOW_WAIST, Block, Body, strip
from fitcheck.pattern.drafts.fronts import SIDE_DART_AT, princess_front, reshaped
from fitcheck.pattern.lines import curve, line, part, path_length, rotated, solve, turn_between
from fitcheck.pattern.piece import Mark, Piece, Pieces, Seam, Sewn

DRAFTED_MM = 25.0  # spread at the bust of each half for the cup of the block: half of the 5 cm between full and high bust (common practice)
CAP_EASE_MM = 25.0  # common practice: 2 to 3.5 cm for cloth
BACK_SHARE_OF_EASE = 0.5
COLLAR = "collar or facing"
_HINGE_AT = 1 / 2  # of the points of the front armhole, from the shoulder: where a spread front turns (common practice: its notch)


@lru_cache(maxsize=32)
def bodice(body: Body, front: str, below: float = 0.0) -> Block:
    """Draft the block on which alterations are made: kinds of front that are cut from another one (`fronts.SHAPES`) are still whole.

    Parameters
    ----------
    front : dart | waist_dart | french_dart | shoulder_dart | princess | shoulder_princess | none
    below : float
        How far below the waist the hem lies; 0 for a bodice that ends at the waist.
    """
    back, fronts = half(body, "back", below), [half(body, "front", below)]
    if front != "none" and not (front == "waist_dart" and below):
        fronts = [replace(darted_front(body, DRAFTED_MM, below), marks=())]
    if front == "princess":
        whole = half(body, "front", below).edges["armhole"]
        fronts = princess_front(fronts[0], "armhole", path_length(whole[: int(len(whole) * _HINGE_AT) + 1]), body.bust_span / 2)
    front_armhole = sum(one.length("armhole") for one in fronts)
    pieces = {one.name: one for one in (back, *fronts)}
    pieces["sleeve"] = sleeve(body, back.length("armhole"), front_armhole)
    pieces[COLLAR] = strip(COLLAR, back=back.length("neck"), front=fronts[0].length("neck"))
    return Block(pieces, sewn(pieces))


def as_worn(block: Block, front: str, body: Body) -> Block:
    """The block with its front cut as it is sewn."""
    pieces = reshaped(block.pieces, front, body)
    return block if pieces is block.pieces else Block(pieces, sewn(pieces))


def sewn(pieces: Pieces) -> Sewn:
    """What is sewn to what, for every kind of front."""
    fronts = [name for name in pieces if name.endswith("front")]
    first, last = fronts[0], fronts[-1]

    def along(start: str) -> Seam:
        return tuple((name, edge) for name in fronts for edge in pieces[name].edges_named(start))

    found: Sewn = (
        ((("back", "shoulder"),), along("shoulder")),
        ((("back", "side"),), along("side")),
        ((("back", "armhole"),), (("sleeve", "cap_back"),)),
        (along("armhole"), (("sleeve", "cap_front"),)),
        ((("sleeve", "seam_back"),), (("sleeve", "seam_front"),)),
        ((("back", "neck"),), ((COLLAR, "back"),)),
        (((first, "neck"),), ((COLLAR, "front"),)),
    )
    legs = pieces[first].edges_named("dart")
    if legs:
        found += ((((first, legs[0]),), ((first, legs[1]),)),)
    found += tuple((((first, edge),), ((last, edge),)) for edge in pieces[first].edges_named("princess"))
    return tuple(pair for pair in found if all(name in pieces for side in pair for name, _ in side))


def half(body: Body, name: str, below: float = 0.0, narrower: float = 0.0) -> Piece:
    """Half of a back or front, undarted; both have the same shoulder and side seam lengths.

    Parameters
    ----------
    narrower : float
        By how much the side seam lies further in: a front that is spread for its cup is drafted to the high bust.
    """
    sign = -1 if name == "back" else 1  # what the front has more of, the back has less of
    quarters = np.array([body.bust / 4 + 22, body.waist / 4 + 35, body.hip / 4 + 15]) - narrower
    forward = np.array([body.side_forward_bust, body.side_forward_waist, body.side_forward_hip])
    quarter_bust, quarter_waist, quarter_hip = quarters - sign * forward
    depth, waist = body.armhole_depth, body.waist_level
    top, neck_depth = (0.0, body.back_neck) if name == "back" else (-body.front_longer, body.front_neck - body.front_longer)
    neck_end = np.array([body.bust / 20 + body.neck_more, top + sign * body.seam_forward_neck])
    drop = top + body.shoulder * math.sin(math.radians(body.slope_deg)) + sign * body.seam_forward_tip
    across = math.sqrt(body.shoulder**2 - (drop - neck_end[1]) ** 2)
    reach = min(neck_end[0] + across, body.bust / 4 + 22 - 15)
    tip = np.array([reach, drop])
    chest = reach - (12 if name == "back" else 24)
    underarm = np.array([quarter_bust, depth])
    waist_side = _below(underarm, quarter_waist, waist - body.side_waist_up, quarters[1] - quarters[0])
    foot = waist + below
    hip_side = [_below(waist_side, quarter_hip, waist_side[1] + HIP_BELOW_WAIST, quarters[2] - quarters[1])] if below else []
    hip_side += [np.array([quarter_hip, hip_side[0][1] + foot - waist - HIP_BELOW_WAIST])] if below else []
    middle = np.array([chest, (drop + depth) / 2])
    side = np.array([underarm, waist_side, *hip_side])
    centre_waist = waist + (body.front_waist_down if name == "front" else 0.0)
    low = foot if below else centre_waist
    return Piece(
        name,
        {
            "neck": curve(np.array([0.0, neck_depth]), np.array([neck_end[0] * 0.95, neck_depth]), neck_end),
            "shoulder": np.array([neck_end, tip]),
            "armhole": np.vstack([curve(tip, np.array([chest, drop + 25]), middle), curve(middle, np.array([chest, depth]), underarm)[1:]]),
            "side": side,
            "hem" if below else "waist": np.array([side[-1], [0.0, low]]),
            "centre": line((0.0, low), (0.0, neck_depth)),
        },
        {"waist": np.array([[0.0, centre_waist], waist_side])} if below else {},
    )


def _below(point: Floats, x: float, level: float, slant: float) -> Floats:
    """Where a seam from a point ends that would reach the level with the common slant: with another one front and back keep one length."""
    long2 = (level - point[1]) ** 2 + slant**2
    return np.array([x, point[1] + math.sqrt(long2 - (x - point[0]) ** 2)])


def darted_front(body: Body, spread: float, below: float = 0.0, level: bool = True) -> Piece:
    """A front slashed to the bust point and spread there, so that a dart at the side opens; its legs have one length.

    Slash from the lower edge to the bust point and on to the armhole, and across from the side; the part over the dart turns about
    the armhole, the part under it slides out unturned, so that the edges of the long cut stay parallel below the bust.

    Parameters
    ----------
    spread : float
        How far apart the edges of the long cut lie.
    level : bool
        Lengthen the centre part until the lower edge is level again; otherwise it runs to nothing at the centre.
    """
    front = half(body, "front", below, DRAFTED_MM)
    armhole, side = front.edges["armhole"], front.edges["side"]
    lower_edge = "hem" if "hem" in front.edges else "waist"
    at = int(len(armhole) * _HINGE_AT)
    hinge = armhole[at]
    point = np.array([body.bust_span / 2, body.bust_level])
    radius = math.dist(point, hinge)

    def swung(x: float) -> Floats:
        """Where the bust point lies when it has turned about the armhole to this far from the centre."""
        return np.array([x, hinge[1] + math.sqrt(radius**2 - (x - hinge[0]) ** 2)])

    start, apex = swung(point[0] - DRAFTED_MM), swung(point[0] - DRAFTED_MM + spread)
    angle = turn_between(start - hinge, apex - hinge)
    dart = side[0] + (side[1] - side[0]) * SIDE_DART_AT
    leg, underarm = (rotated(place[None], angle, hinge)[0] for place in (dart, side[0]))
    slide = apex - start
    drop = slide if level else point - start
    foot, bottom = np.array([start[0], front.edges["centre"][0, 1]]), float(front.edges["centre"][0, 1] + drop[1])
    inner = {name: np.array([points[0] + [0.0, slide[1]], points[-1] + slide]) for name, points in front.inner.items()}
    return Piece(
        "front",
        {
            "neck": front.edges["neck"],
            "shoulder": front.edges["shoulder"],
            "armhole": np.vstack([armhole[: at + 1], rotated(armhole[at + 1 :], angle, hinge)]),
            "side_upper": np.array([underarm, leg]),
            "dart_upper": np.array([leg, apex]),
            "dart_lower": np.array([apex, dart + slide]),
            "side_lower": np.vstack([dart + slide, side[1:] + slide]),
            lower_edge: np.array([side[-1] + slide, *([] if level else [foot + slide, [foot[0], bottom]]), [0.0, bottom]]),
            "centre": line((0.0, bottom), (0.0, float(front.edges["neck"][0, 1]))),
        },
        {"bust point": apex[None], **inner},
        {},
        (Mark("cut", np.array([apex, hinge])), Mark("cut", np.array([foot + slide, apex])), Mark("hinge", hinge[None])),
    )


def sleeve(body: Body, back_armhole: float, front_armhole: float) -> Piece:
    """A straight set-in sleeve whose cap is as long as the armhole and its ease; its halves meet at the notch of the shoulder seam."""
    half, long = body.bust / 7 + 30, 560.0
    wanted = back_armhole + front_armhole + CAP_EASE_MM

    def cap(high: float) -> Floats:
        under, middle, top = (np.array([half * x, high * y]) for x, y in ((-1, 1), (-0.5, 0.5), (0, 0)))
        one = np.vstack(
            [curve(under, np.array([-half * 0.6, high]), middle), curve(middle, np.array([-half * 0.38, 0.0]), top)[1:]],
        )
        return np.vstack([one, (one * [-1, 1])[-2::-1]])

    start = body.bust / 8 + 10
    whole = cap(start + solve(lambda more: path_length(cap(start + more)) - wanted))
    notch = back_armhole + CAP_EASE_MM * BACK_SHARE_OF_EASE
    wrist = half * 0.7
    return Piece(
        "sleeve",
        {
            "cap_back": part(whole, 0, notch),
            "cap_front": part(whole, notch, path_length(whole)),
            "seam_front": np.array([whole[-1], [wrist, long]]),
            "hem": line((wrist, long), (-wrist, long)),
            "seam_back": np.array([[-wrist, long], whole[0]]),
        },
    )
