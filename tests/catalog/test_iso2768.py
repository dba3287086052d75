"""General tolerances against the published table, and the tolerance of a model's field."""

from __future__ import annotations

import pytest

from catalog.iso2768 import Grade, KnownDimension, dimension_of, linear_tolerance_mm
from catalog.model import Dimension, FrozenMap
from catalog.parts import Fan, Tank
from catalog.store import Library

# ISO 2768-1:1989, Table 1: permissible deviations for linear dimensions, by the upper end of the
# range ("over ... up to"). Class c of the first two ranges is 0.2 and 0.3; 0.15 and 0.2, which
# also circulate, are of an older national standard.
PUBLISHED = """
range   3     6     30    120   400   1000  2000  4000
f       0.05  0.05  0.1   0.15  0.2   0.3   0.5   -
m       0.1   0.1   0.2   0.3   0.5   0.8   1.2   2
c       0.2   0.3   0.5   0.8   1.2   2     3     4
v       -     0.5   1     1.5   2.5   4     6     8
"""

_LINES = [line.split() for line in PUBLISHED.strip().splitlines()]
UPPER = [float(cell) for cell in _LINES[0][1:]]
ROWS = [
    (grade, upper, None if cell == "-" else float(cell))
    for grade, *cells in _LINES[1:]
    for upper, cell in zip(UPPER, cells, strict=True)
]


@pytest.mark.parametrize(("grade", "upper", "tolerance"), ROWS)
def test_the_published_table(grade: Grade, upper: float, tolerance: float | None) -> None:
    lower = ([0.5, *UPPER])[UPPER.index(upper)]
    inside = (lower + upper) / 2
    assert linear_tolerance_mm(inside, grade) == tolerance
    assert linear_tolerance_mm(upper, grade) == tolerance, "the upper end belongs to the range"
    assert linear_tolerance_mm(-upper, grade) == tolerance


@pytest.mark.parametrize("upper", UPPER[:-1])
def test_just_over_the_end_the_next_range_begins(upper: float) -> None:
    following = UPPER[UPPER.index(upper) + 1]
    assert linear_tolerance_mm(upper + 0.001) == linear_tolerance_mm(following)


def test_beyond_the_table_there_is_none() -> None:
    assert linear_tolerance_mm(0.49) is None
    assert linear_tolerance_mm(0.5) == 0.1
    assert linear_tolerance_mm(4000.1) is None
    assert linear_tolerance_mm(0.0) is None


def test_a_field_has_class_m_and_no_origin_unless_it_says_otherwise() -> None:
    fan = Fan(
        id="fan", name="Fan", frame_mm=120.0, pitch_mm=105.0, thickness_mm=25.0, hub_mm=42.0,
        dimensions=FrozenMap(
            {
                "thickness_mm": Dimension(minus_mm=0.4, plus_mm=0.1, origin="measured"),
                "hub_mm": Dimension(minus_mm=1.0, origin="drawing"),
                "pitch_mm": Dimension(),
            }
        ),
    )  # fmt: skip
    # 120 lies in the range over 30 up to 120, class m: 0.3
    assert dimension_of(fan, "frame_mm") == KnownDimension(120.0, 0.3, 0.3, "unknown", True)
    assert dimension_of(fan, "frame_mm", "c") == KnownDimension(120.0, 0.8, 0.8, "unknown", True)
    assert dimension_of(fan, "thickness_mm") == KnownDimension(25.0, 0.4, 0.1, "measured", False)
    assert dimension_of(fan, "hub_mm") == KnownDimension(42.0, 1.0, 0.3, "drawing", True)
    assert dimension_of(fan, "pitch_mm") == KnownDimension(105.0, 0.3, 0.3, "assumed", True)


def test_paths_lead_into_tanks_lists_and_points() -> None:
    exchanger = Library().part("exchanger-2x120-30")
    assert dimension_of(exchanger, "port_tank.length_mm").origin == "assumed"
    assert dimension_of(exchanger, "cells[1].u_mm").nominal_mm == 60.0
    assert dimension_of(exchanger, "ports[0].at_mm[0]").nominal_mm == 135.0


@pytest.mark.parametrize(
    "path",
    ["", "port_tank", "port_tank.lenght_mm", "cells[9].u_mm", "cells.u_mm", "name", "name[0]",
     "cells[0]", "kind.x", "cells[-1].u_mm", "ports[0].open", "port_tank..length_mm"],
)  # fmt: skip
def test_a_path_to_no_number_is_a_key_error(path: str) -> None:
    exchanger = Library().part("exchanger-2x120-30")
    with pytest.raises(KeyError):
        dimension_of(exchanger, path)


def test_a_part_may_not_name_a_dimension_that_it_lacks() -> None:
    with pytest.raises(ValueError, match="leads to no number"):
        Fan(
            id="fan", name="Fan", frame_mm=120.0, pitch_mm=105.0, thickness_mm=25.0, hub_mm=42.0,
            dimensions=FrozenMap({"port_tank.length_mm": Dimension()}),
        )  # fmt: skip
    assert "port_tank" not in Fan.model_fields
    assert "length_mm" in Tank.model_fields
