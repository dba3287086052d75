"""What can be wrong with a file or a value, told so that a user can mend it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Fault:
    """One thing wrong in a file: where, what was found, how to mend it."""

    field: str
    problem: str
    mend: str = ""

    def __str__(self) -> str:
        where = f"{self.field}: " if self.field else ""
        mend = f" ({self.mend})" if self.mend else ""
        return f"{where}{self.problem}{mend}"


class DataError(ValueError):
    """A file that cannot be used; `faults` says everything that was found wrong in it."""

    def __init__(self, file: str, *faults: Fault) -> None:
        self.file = file
        self.faults = faults
        super().__init__("; ".join(f"{file}: {fault}" for fault in faults))
