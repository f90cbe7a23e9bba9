import numpy as np
import pytest
from shapely import Polygon

from fitcheck.pattern.drafts.block import Body
from fitcheck.pattern.drafts.bodice import bodice
from tests.scenes.sewn.altered import BELOW_MM, altered, dress, shared_cloth
from tests.scenes.sewn.cut import Cloth, cut, doubled_areas

BODY = Body(bust=900, waist=740, hip=980)
FRONTS = ("dart", "princess", "shoulder_dart")


def cloth(front: str = "dart", step: float = 20.0) -> Cloth:
    return cut(dress(BODY, front), bodice(BODY, front, BELOW_MM).sewn, step)


@pytest.mark.parametrize("front", FRONTS)
def test_triangles_cover_every_piece_once(front: str) -> None:
    made, pieces = cloth(front), dress(BODY, front)
    areas = doubled_areas(made.flat, made.tris) / 2
    assert (areas > 0).all()
    for number, name in enumerate(made.names):
        own = made.piece_of[made.tris[:, 0]] == number
        assert areas[own].sum() == pytest.approx(Polygon(pieces[name].outline).area, rel=0.004)  # curves are cut off by chords


@pytest.mark.parametrize("front", FRONTS)
def test_what_is_sewn_is_one_line_of_points(front: str) -> None:
    made = cloth(front)
    assert set(made.along("back", "shoulder")) == {
        point
        for name in made.names
        if name != "back"
        for edge in ("shoulder", "shoulder_outer")
        if (name, edge) in made.border
        for point in made.along(name, edge)
    }


def test_the_dart_shut_meets_itself_and_ends_in_one_point() -> None:
    made = cloth()
    upper, lower = made.along("front", "dart_upper"), made.along("front", "dart_lower")
    assert list(upper) == list(lower[::-1])
    assert upper[-1] not in made.along("back", "side")


def test_neckline_and_hem_stay_open() -> None:
    made = cloth()
    assert set(made.along("back", "neck")) & set(made.along("front", "neck")) == {int(made.along("back", "shoulder")[0])}
    assert set(made.along("back", "hem")) & set(made.along("front", "hem")) == {int(made.along("back", "side")[-1])}


def test_an_altered_piece_keeps_the_triangles_and_has_its_own_outline() -> None:
    made = cloth()
    longer = altered(BODY, "dart", [("whole_bodice_length", 10.0)])
    flat = made.on_paper(longer)
    more = (doubled_areas(flat, made.tris).sum() - doubled_areas(made.flat, made.tris).sum()) / 2
    width = sum(float(np.ptp(longer[name].edges["hem"][:, 0])) for name in longer)
    assert more == pytest.approx(10 * width, rel=0.2)  # a strip of 10 mm across back and front, a little narrower than at the hem
    assert flat[made.border["back", "hem"]][:, 1] == pytest.approx(made.flat[made.border["back", "hem"]][:, 1] + 10)


def test_the_block_itself_lies_where_it_was_cut() -> None:
    made = cloth()
    assert made.on_paper(dress(BODY)) == pytest.approx(made.flat)


def test_blocks_of_small_and_large_women_share_a_mesh() -> None:
    bodies = [Body(bust=820, waist=690, hip=900), BODY, Body(bust=960, waist=820, hip=1060)]
    made = shared_cloth(bodies)
    for body in bodies:
        assert (doubled_areas(made.on_paper(dress(body)), made.tris) > 0).all()


def test_a_turned_over_mesh_is_refused() -> None:
    made, pieces = cloth(), dress(BODY)
    back = pieces["back"]
    folded = back.edges["centre"] + [400.0, 0.0]
    with pytest.raises(ValueError, match="turn over"):
        made.on_paper({**pieces, "back": back.with_edges(centre=folded)})
