"""What is worked out of a scene while another thread takes it over is neither lost nor spoilt."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest
from filled_rooms import filled

from catalog.store import load_library
from geometry.checks.survey import Survey, make_survey
from geometry.scene import Scene
from geometry.stackup.figures import Tolerances

TURNS = 10


@pytest.fixture
def _threads_take_turns_often() -> Iterator[None]:
    before = sys.getswitchinterval()
    sys.setswitchinterval(1e-6)
    yield
    sys.setswitchinterval(before)


@pytest.fixture(scope="module")
def survey() -> Survey:
    return make_survey(filled(load_library(), "small-cube"))


def anew(survey: Survey) -> Tolerances:
    """Return stack-ups of which none was asked for yet."""
    return Tolerances(survey.scene, survey.depths)


@pytest.mark.usefixtures("_threads_take_turns_often")
def test_a_thread_asks_for_what_may_be_off_while_another_takes_it_over(survey: Survey) -> None:
    scene = survey.scene
    with ThreadPoolExecutor(2) as pool:
        for _ in range(TURNS):
            before = anew(survey)
            asked = pool.submit(lambda before=before: [before.far_out(s) for s in scene.solids])
            while not asked.done():
                Tolerances.of_scene(scene, survey.depths, before)
            assert asked.result() == [anew(survey).far_out(s) for s in scene.solids]


class AsksMeanwhile:
    """The solids of a scene; whoever looks into them lets another figure be asked for."""

    def __init__(self, scene: Scene, before: Tolerances) -> None:
        self.solids, self.before = set(scene.solids), before
        self.pairs = [((a,), (b,)) for a, b in zip(scene.movable, scene.movable[1:], strict=False)]

    def __contains__(self, solid: object) -> bool:
        if self.pairs:
            self.before.between(*self.pairs.pop())
        return solid in self.solids


def test_a_gap_is_asked_for_while_gaps_are_taken_over(survey: Survey) -> None:
    before = anew(survey)
    meanwhile = AsksMeanwhile(survey.scene, before)
    a, b = meanwhile.pairs.pop()
    known = before.between(a, b)
    after = Tolerances.of_scene(survey.scene, replace(survey.depths, solids=meanwhile), before)
    assert after.between(a, b) is known
