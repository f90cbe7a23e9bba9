"""Widths of the lower sleeve; how it is done follows alterations.toml."""

import numpy as np

from fitcheck.pattern.moves import move_line
from fitcheck.pattern.piece import Piece, arrow
from fitcheck.pattern.recipes.recipe import Case


def wrist(case: Case) -> list[Piece]:
    """Half of the amount at each end of the sleeve hem, to nothing at the underarm."""
    sleeve, out = case.pieces["sleeve"], np.array([case.amount / 2, 0.0])
    front, back, hem = (sleeve.edges[edge].copy() for edge in ("seam_front", "seam_back", "hem"))
    front[-1], back[0], hem = front[-1] + out, back[0] - out, hem + np.array([out, -out])
    return [sleeve.with_edges(arrow(hem[0] - out, hem[0]), arrow(hem[-1] + out, hem[-1]), seam_front=front, seam_back=back, hem=hem)]


def forearm(case: Case) -> list[Piece]:
    """Half of the amount at each underarm seam below the elbow, to nothing at underarm and wrist."""
    sleeve = case.pieces["sleeve"]
    top, low = (float(y) for y in sleeve.edges["seam_front"][[0, -1], 1])
    share = move_line.taper((top, 0), (top + 0.6 * (low - top), 1), (low, 0))
    for edge, part in (("seam_front", 0.5), ("seam_back", -0.5)):
        sleeve = move_line.displaced(sleeve, [edge], move_line.sideways(case.amount * part, share), case.amount * part)
    return [sleeve]
