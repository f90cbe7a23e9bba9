"""Steps back and forth in what was put right."""

from fitcheck.body.placed import PlacedFile
from fitcheck.web.corrections import MOST_STEPS, Corrections


def placed(x: float) -> PlacedFile:
    return PlacedFile.model_validate({"point": [{"name": "waist_front", "view": "front", "xy": [x, 1]}]})


def test_back_and_forth():
    one = Corrections().then(placed(1))
    two = one.then(placed(2))
    assert two.now == placed(2)
    assert two.moved(-1).now == placed(1)
    assert two.moved(-1).moved(-1).now == PlacedFile()
    assert two.moved(-1).moved(1).now == placed(2)
    assert Corrections().now == PlacedFile()  # nothing was changed by all that


def test_no_further_than_there_are_steps():
    one = Corrections().then(placed(1))
    assert one.moved(1) == one
    assert one.moved(-1).moved(-1).now == PlacedFile()


def test_a_new_step_forgets_those_taken_back():
    other = Corrections().then(placed(1)).then(placed(2)).moved(-1).then(placed(3))
    assert [step.point[0].xy[0] for step in other.steps[1:]] == [1, 3]


def test_only_so_many_are_kept():
    steps = Corrections()
    for x in range(MOST_STEPS + 20):
        steps = steps.then(placed(x))
    assert len(steps.steps) == MOST_STEPS
    assert steps.now == placed(MOST_STEPS + 19)
