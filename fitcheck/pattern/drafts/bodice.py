"""The upper body: back, front (plain, with a dart, or princess), set-in sleeve, and the collar or facing of the neck."""

import math
from dataclasses import replace
from functools import lru_cache

import numpy as np

from fitcheck.core.records import Floats
from fitcheck.pattern.drafts.block import HIP_BELOW_WAIST, Block, Body, strip
from fitcheck.pattern.lines import curve, line, part, path_length, rotated, solve, stretched, unit
from fitcheck.pattern.piece import Mark, Piece, Sewn

DRAFTED_MM = 42.0  # spread at the bust of the block's own dart (estimate: a usual B)
CAP_EASE_MM = 25.0  # common practice: 2 to 3.5 cm for cloth
BACK_SHARE_OF_EASE = 0.5
COLLAR = "collar or facing"


@lru_cache(maxsize=32)
def bodice(body: Body, front: str, below: float = 0.0) -> Block:
    """Draft the block.

    Parameters
    ----------
    front : dart | princess | none
    below : float
        How far below the waist the hem lies; 0 for a bodice that ends at the waist.
    """
    back, plain = half(body, "back", below), half(body, "front", below)
    if front == "dart":
        fronts = [replace(darted_front(body, plain, DRAFTED_MM), marks=())]
    elif front == "princess":
        fronts = list(princess_front(body, plain))
    else:
        fronts = [plain]
    first, last = fronts[0].name, fronts[-1].name
    front_armhole = sum(one.length("armhole") for one in fronts)
    pieces = {one.name: one for one in (back, *fronts)}
    pieces["sleeve"] = sleeve(body, back.length("armhole"), front_armhole)
    pieces[COLLAR] = strip(COLLAR, back=back.length("neck"), front=fronts[0].length("neck"))
    sewn: Sewn = (
        ((("back", "shoulder"),), ((first, "shoulder"),)),
        ((("back", "side"),), tuple((last, edge) for edge in fronts[-1].edges_named("side"))),
        ((("back", "armhole"),), (("sleeve", "cap_back"),)),
        (tuple((one.name, "armhole") for one in fronts), (("sleeve", "cap_front"),)),
        ((("sleeve", "seam_back"),), (("sleeve", "seam_front"),)),
        ((("back", "neck"),), ((COLLAR, "back"),)),
        (((first, "neck"),), ((COLLAR, "front"),)),
    )
    if front == "dart":
        sewn += (((("front", "dart_upper"),), (("front", "dart_lower"),)),)
    if front == "princess":
        sewn += tuple((((first, edge),), ((last, edge),)) for edge in ("princess_upper", "princess_lower"))
    return Block(pieces, sewn)


def half(body: Body, name: str, below: float = 0.0) -> Piece:
    """Half of a back or front, undarted; both have the same shoulder and side seam lengths."""
    quarter_bust, quarter_waist, quarter_hip = body.bust / 4 + 17, body.waist / 4 + 35, body.hip / 4 + 15
    neck, drop = body.bust / 20 + 17, body.shoulder * math.sin(math.radians(body.slope_deg))
    reach = min(neck + body.shoulder * math.cos(math.radians(body.slope_deg)), quarter_bust - 15)
    depth = body.armhole_depth
    neck_depth, chest = (20.0, reach - 12) if name == "back" else (75.0, reach - 24)
    neck_end, tip = np.array([neck, 0.0]), np.array([reach, drop])
    underarm, waist_side = np.array([quarter_bust, depth]), np.array([quarter_waist, body.back_waist])
    middle = np.array([chest, (drop + depth) / 2])
    foot = body.back_waist + below
    hip_side = [[quarter_hip, body.back_waist + HIP_BELOW_WAIST], [quarter_hip, foot]] if below else []
    side = np.array([underarm, waist_side, *hip_side])
    return Piece(
        name,
        {
            "neck": curve(np.array([0.0, neck_depth]), np.array([neck * 0.95, neck_depth]), neck_end),
            "shoulder": np.array([neck_end, tip]),
            "armhole": np.vstack([curve(tip, np.array([chest, drop + 25]), middle), curve(middle, np.array([chest, depth]), underarm)[1:]]),
            "side": side,
            "hem" if below else "waist": np.array([side[-1], [0.0, foot]]),
            "centre": line((0.0, foot), (0.0, neck_depth)),
        },
        {"waist": line((0.0, body.back_waist), (quarter_waist, body.back_waist))} if below else {},
    )


def princess_front(body: Body, front: Piece) -> tuple[Piece, Piece]:
    """Centre front and side front, whose princess seams (bust to armhole above, bust to the lower edge below) have one length each."""
    armhole, side = front.edges["armhole"], front.edges["side"]
    lower_edge = "hem" if "hem" in front.edges else "waist"
    bottom = float(side[-1, 1])
    at = len(armhole) // 2
    bust = np.array([body.bust_span / 2, body.bust_level])
    upper = curve(bust, np.array([bust[0] + 8, (bust[1] + armhole[at, 1]) / 2]), armhole[at])
    hem = [[bust[0], bottom]] if lower_edge == "hem" else []
    lower = np.array([bust, [bust[0] - 8, body.back_waist], *hem])
    outer = stretched(np.array([bust, [bust[0] + 16, body.back_waist], *hem]), path_length(lower))
    centre = Piece(
        "centre front",
        {
            "neck": front.edges["neck"],
            "shoulder": front.edges["shoulder"],
            "armhole": armhole[: at + 1],
            "princess_upper": upper[::-1],
            "princess_lower": lower,
            lower_edge: np.array([lower[-1], [0.0, bottom]]),
            "centre": front.edges["centre"],
        },
        {"bust point": bust[None]},
    )
    side_front = Piece(
        "side front",
        {
            "armhole": armhole[at:],
            "side": side,
            lower_edge: np.array([side[-1], outer[-1]]),
            "princess_lower": outer[::-1],
            "princess_upper": upper,
        },
        {"bust point": bust[None]},
    )
    return centre, side_front


def darted_front(body: Body, front: Piece, spread: float, level: bool = True) -> Piece:
    """The front slashed to the bust point and spread there, so that a dart at the side opens; its legs have one length.

    Slash from the lower edge to the bust point and on to the armhole, and across from the side; the part over the dart turns about
    the armhole, the part under it slides out unturned, so that the edges of the long cut stay parallel below the bust.

    Parameters
    ----------
    level : bool
        Lengthen the centre part until the lower edge is level again; otherwise it runs to nothing at the centre.
    """
    armhole, side = front.edges["armhole"], front.edges["side"]
    lower_edge = "hem" if "hem" in front.edges else "waist"
    at = len(armhole) * 2 // 3
    hinge = armhole[at]
    bust = np.array([body.bust_span / 2, body.bust_level])
    dart = side[0] + (side[1] - side[0]) * 0.35
    foot = np.array([bust[0], side[-1, 1]])
    angle = -2 * math.asin(spread / 2 / float(np.hypot(*(bust - hinge))))
    apex, leg, underarm = (rotated(point[None], angle, hinge)[0] for point in (bust, dart, side[0]))
    slide = apex - bust
    bottom = float(side[-1, 1] + (slide[1] if level else drafted_drop(front, body)))
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
            lower_edge: np.array([side[-1] + slide, foot + slide, [foot[0], bottom], [0.0, bottom]]),
            "centre": line((0.0, bottom), (0.0, float(front.edges["neck"][0, 1]))),
        },
        {"bust point": apex[None]},
        {},
        (Mark("cut", np.array([apex, hinge])), Mark("cut", np.array([foot + slide, apex])), Mark("hinge", hinge[None])),
    )


def drafted_drop(front: Piece, body: Body) -> float:
    """By how much the block's own dart has lowered its front waist."""
    hinge = front.edges["armhole"][len(front.edges["armhole"]) * 2 // 3]
    bust = np.array([body.bust_span / 2, body.bust_level])
    angle = -2 * math.asin(DRAFTED_MM / 2 / float(np.hypot(*(bust - hinge))))
    return float((rotated(bust[None], angle, hinge)[0] - bust)[1])


def trued_dart(front: Piece) -> tuple[Floats, Floats]:
    """The dart as it is sewn, its point drawn back 2 cm from the bust point, and its mouth, so that the edges meet when it is folded down.

    The half of the dart under the fold is the mirror image of the side seam below, up to the dart's middle line.
    """
    upper, apex = front.edges["dart_upper"]
    lower = front.edges["dart_lower"][1]
    middle, leg, below = unit((upper + lower) / 2 - apex), unit(lower - apex), unit(front.edges["side_lower"][1] - lower)
    mirrored = 2 * (leg @ below) * leg - below
    far, _ = np.linalg.solve(np.column_stack([middle, -mirrored]), lower - apex)
    point = apex + middle * 20  # common practice: 2 to 2.5 cm for a dart from the side
    return np.array([upper, point, lower]), np.array([upper, apex + middle * far, lower])


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
