"""What single relaxation would let a layout through that the checks refuse.

Take out an obstacle, or put it in another of its states; cut it, where that is allowed; move fans
to another face; put in a smaller pump; slide between the listed steps; ask for a smaller margin.
Each has been verified by the full check on the changed layout, and an amount is the least tenth of
a millimetre that does.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from catalog.parts import Part
from geometry.checks.runner import Checked
from geometry.edits import set_judge, set_margin, without_leftovers
from geometry.finding import Finding, Report, Verdict
from geometry.layout import Layout
from geometry.remedies import faults
from geometry.search.mending.bench import Bench, Keys
from geometry.search.mending.changes import relaxing_steps, sliding_steps
from geometry.search.mending.steps import TENTH_MM, Sized, Step, StepKind
from geometry.search.mending.wanted import Wanted
from geometry.search.wishes import Judging

Tried = Literal["slides", "margin", "all but slides"]
"""Which single changes are tried."""


@dataclass(frozen=True, eq=False)
class Relaxation:
    """One change that makes a refused layout fit, with the full check of the changed layout.

    `cuts` marks a change to the enclosure by cutting, which is irreversible. `amount_mm` is by how
    much, for what has an amount; for the margin, how much less is asked for. `judge` is how the
    layout has it; `checked` is judged as the search judges.
    """

    name: str
    kind: StepKind
    cuts: bool
    amount_mm: float | None
    checked: Checked
    judge: Judging

    @property
    def layout(self) -> Layout:
        """The changed layout."""
        return without_leftovers(set_judge(self.checked.scene.layout, self.judge))


def blocking(report: Report, standing: Keys, *, tight_allowed: bool) -> tuple[Finding, ...]:
    """Return the faults that refuse a layout, but for those that stand without it."""
    return tuple(
        fault
        for key, fault in faults(report).items()
        if key not in standing and not (tight_allowed and fault.verdict is Verdict.TIGHT)
    )


def relaxations(
    miss: Checked,
    standing: Keys,
    parts: Sequence[Part],
    *,
    judge: Judging,
    tight_allowed: bool,
    cutting: bool,
    tried: Tried,
) -> Iterator[Relaxation | None]:
    """Yield the single relaxations that make a refused layout fit; None for each that does not.

    `standing` are the faults that the layout has without what was put in; `parts` those that may
    be put in. `judge` is how the changed layouts are to have it. Without `cutting` nothing that
    changes the enclosure is tried. No other changes are than those to be `tried`.
    """

    def lets_in(report: Report) -> bool:
        return not blocking(report, standing, tight_allowed=tight_allowed)

    bench = Bench(miss, lets_in)

    def fits(steps: Sequence[Step]) -> Checked | None:
        after = bench.checked_after(steps)
        return after if after is not None and lets_in(after.report) else None

    refused = blocking(miss.report, standing, tight_allowed=tight_allowed)

    works: set[frozenset[str]] = set()
    steps: list[Step] = []
    wanted = Wanted(refused, set(faults(miss.report)))
    if tried == "slides":
        steps = sliding_steps(miss.scene, wanted)
    elif tried == "all but slides":
        steps = relaxing_steps(miss.scene, wanted, parts, cutting=cutting)
    if tried != "slides" and not tight_allowed:
        steps += _margin_steps(miss, refused)
    for step in steps:
        if any(smaller <= step.atoms for smaller in works):
            continue
        if fits((step,)) is None:
            yield None
            continue
        works.add(step.atoms)
        (least,) = bench.least((step,), lambda smaller: fits(smaller) is not None)
        after = fits((least,))
        assert after is not None, "the least that does has been tried"
        yield Relaxation(least.name, least.kind, least.cuts, least.amount_mm, after, judge)


def _margin_steps(miss: Checked, refused: Sequence[Finding]) -> Iterator[Step]:
    """Yield the smaller margin, where nothing but the margin of the layout is missing."""
    asked = miss.scene.layout.settings.margin_mm
    tenths = round(asked / TENTH_MM) - 1
    if tenths < 1 or any(one.verdict is Verdict.BLOCKED for one in refused):
        return

    def by(less: int) -> Step:
        margin = round(asked - less * TENTH_MM, 6)
        return Step(
            f"Ask for a margin of {margin:.1f} mm instead of {asked:.1f} mm",
            70.0,
            "margin",
            lambda layout: set_margin(layout, margin),
            "margin",
            sized=Sized("margin", less, by),
        )

    yield by(tenths)
