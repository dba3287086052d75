"""What `gapwright mend --json` prints."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from geometry.edits import CUT_CAUTION
from geometry.finding import Finding
from geometry.search.mending.changes import NOT_TRIED
from geometry.search.mending.mend import Mends


class MendSaid(BaseModel):
    """One change; `clears` numbers findings as `gapwright check` does.

    `cuts` marks a change to the enclosure by cutting, which is irreversible.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    number: int
    steps: tuple[str, ...]
    clears: tuple[int, ...]
    faults_left: int
    cuts: bool


class MendFile(BaseModel):
    """The smallest changes that clear what is blocked or tight."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    format: Literal["gapwright-mend"] = "gapwright-mend"
    version: Literal[1] = 1
    file: str
    faults: tuple[str, ...]
    advice: Annotated[
        tuple[str, ...], Field(description="of each fault: why, and what would give it room")
    ]
    asked: Annotated[int | None, Field(description="the finding to be cleared; null for all")]
    changes: tuple[MendSaid, ...]
    layouts_checked: int
    pairs_untried: int
    not_tried: Annotated[str, Field(description="what is done by hand and was not tried here")]
    locked: Annotated[
        tuple[str, ...], Field(description="what was not changed, since it is locked")
    ]
    cutting_allowed: bool
    caution: Annotated[str, Field(description="where cutting is allowed, else empty")]
    stopped: bool


def mend_file(
    file: str,
    told: Sequence[Finding],
    found: Mends,
    *,
    asked: int | None,
    cutting: bool,
    stopped: bool,
) -> MendFile:
    """Return what was found as it is printed; `told` are the findings, numbered from 1."""
    return MendFile(
        file=file,
        faults=tuple(fault.title for fault in told),
        advice=tuple(fault.advice for fault in told),
        asked=asked,
        changes=tuple(
            MendSaid(
                number=number,
                steps=mend.steps,
                clears=mend.clears,
                faults_left=mend.left,
                cuts=mend.cuts,
            )
            for number, mend in enumerate(found.found, start=1)
        ),
        layouts_checked=found.tried,
        pairs_untried=found.untried,
        not_tried=NOT_TRIED,
        locked=found.locked,
        cutting_allowed=cutting,
        caution=CUT_CAUTION if cutting else "",
        stopped=stopped,
    )
