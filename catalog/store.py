"""The library: shipped parts and enclosures, and beside them the user's own."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar

from pydantic import TypeAdapter

from catalog.enclosure import Enclosure
from catalog.errors import DataError, Fault
from catalog.parts import Part, PartKind, part_cells, top_cells

T = TypeVar("T", Part, Enclosure)

DATA = Path(__file__).parent / "data"

SHIPPED_PARTS = (
    "exchangers", "fans", "gaskets", "adapters", "pumps", "reservoirs", "pump_reservoirs",
    "fittings", "boards", "cards", "supplies", "drives",
)  # fmt: skip
"""Files of shipped parts, in the order in which parts are listed."""

SHIPPED_ENCLOSURES = (
    "bench-box", "tall-tower", "rack-chassis-4u", "small-cube", "wall-cabinet",
)  # fmt: skip

KIND_WORDS: Mapping[PartKind, str] = {
    "exchanger": "exchanger radiator rad heat cooler",
    "fan": "fan blower",
    "gasket": "gasket seal",
    "adapter": "adapter adaptor spacer converter",
    "pump": "pump circulator",
    "reservoir": "reservoir res tank vessel",
    "pump_reservoir": "unit combo pump reservoir res circulator",
    "board": "board motherboard mainboard mobo",
    "card": "card graphics gpu accelerator expansion",
    "supply": "supply psu power",
    "drive": "drive disk disc hdd ssd storage",
    "fitting": "fitting connector",
}
"""What the trade calls each kind, for search; it holds for the user's own parts too."""


SAME_WORDS: Mapping[str, str] = {"thin": "slim"}
"""Other words for those of the parts' names and aliases (common practice, no source)."""


class NotInLibraryError(KeyError):
    """There is no part or enclosure of that id; `near` are ids like it."""

    def __init__(self, what: str, wanted: str, near: Iterable[str]) -> None:
        self.wanted = wanted
        self.near = tuple(near)
        hint = f"; did you mean {', '.join(self.near)}?" if self.near else ""
        self.message = f'there is no {what} "{wanted}" in the library{hint}'
        super().__init__(self.message)

    def __str__(self) -> str:
        return self.message


@dataclass(frozen=True)
class Library:
    """Parts and enclosures by id: the shipped ones first, then those of `user_dir`.

    Nothing is read before it is asked for; `user_dir` may be a function that then finds it. A file
    of the user's that cannot be used is left out and stands in `problems`.
    """

    user_dir: Path | Callable[[], Path] | None = None

    @cached_property
    def parts(self) -> Mapping[str, Part]:
        """All parts by id."""
        return self._all_parts[0]

    @cached_property
    def enclosures(self) -> Mapping[str, Enclosure]:
        """All enclosures by id."""
        return self._all_enclosures[0]

    @cached_property
    def problems(self) -> tuple[DataError, ...]:
        """Why files of the user's were left out, one error a file."""
        return (*self._all_parts[1], *self._all_enclosures[1])

    def part(self, part_id: str) -> Part:
        """Return a part; NotInLibraryError, which names near ids, when there is none."""
        return _look_up(self.parts, part_id, "part")

    def enclosure(self, enclosure_id: str) -> Enclosure:
        """Return an enclosure; NotInLibraryError, which names near ids, when there is none."""
        return _look_up(self.enclosures, enclosure_id, "enclosure")

    def search(
        self,
        text: str = "",
        kinds: Collection[PartKind] | None = None,
        frame_mm: float | None = None,
    ) -> list[Part]:
        """Return the parts that answer to every word of `text`, best first.

        A word matches the beginning of a word of the part's name, id, aliases or of its kind's
        trade words; whole words count for more. `frame_mm` keeps the parts with a hole pattern of
        that frame on either face.
        """
        wanted = _words(text)
        ranked: list[tuple[int, Part]] = []
        for part in self.parts.values():
            if kinds is not None and part.kind not in kinds:
                continue
            if frame_mm is not None and frame_mm not in _frames(part):
                continue
            have = self._search_words[part.id]
            if all(any(one.startswith((word, _usual(word))) for one in have) for word in wanted):
                ranked.append((-sum(word in have for word in wanted), part))
        ranked.sort(key=lambda pair: pair[0])
        return [part for _, part in ranked]

    @cached_property
    def _search_words(self) -> dict[str, frozenset[str]]:
        return {
            part.id: frozenset(
                _words(" ".join((part.name, part.id, *part.aliases, KIND_WORDS[part.kind])))
            )
            for part in self.parts.values()
        }

    @cached_property
    def _all_parts(self) -> tuple[Mapping[str, Part], tuple[DataError, ...]]:
        return _gathered(_shipped_parts(), _user_part, self._files("parts"))

    @cached_property
    def _all_enclosures(self) -> tuple[Mapping[str, Enclosure], tuple[DataError, ...]]:
        shipped = (
            Enclosure.model_validate_json(_shipped_text(f"enclosures/{name}.json"))
            for name in SHIPPED_ENCLOSURES
        )
        return _gathered(shipped, _user_enclosure, self._files("enclosures"))

    def _files(self, folder: str) -> Iterator[Path | DataError]:
        """Yield the user's JSON files of one kind by name; an error where the folder is closed."""
        if self.user_dir is None:
            return
        place = (self.user_dir() if callable(self.user_dir) else self.user_dir) / folder
        try:
            found = sorted(place.iterdir())
        except (FileNotFoundError, NotADirectoryError):
            return
        except OSError as error:
            reason = (error.strerror or "unknown reason").lower()
            yield DataError(str(place), Fault("", f"cannot be read: {reason}", "ask its owner"))
            return
        yield from (p for p in found if p.suffix.lower() == ".json" and p.name[0] != ".")


def load_library(user_dir: Path | None = None) -> Library:
    """Return the library of the shipped data and of the user's, from `user_folder()` if None."""
    return Library(user_folder if user_dir is None else user_dir)


def user_folder() -> Path:
    """Return the user's data folder, with `parts` and `enclosures` in it; it need not exist."""
    from platformdirs import user_data_path

    return user_data_path("gapwright", appauthor=False)


def _shipped_text(name: str) -> bytes:
    return (DATA / name).read_bytes()


def _shipped_parts() -> Iterator[Part]:
    adapter = TypeAdapter(tuple[Part, ...])
    for name in SHIPPED_PARTS:
        yield from adapter.validate_json(_shipped_text(f"parts/{name}.json"))


def _user_part(path: Path) -> Part:
    # Loaded when there is such a file: few libraries have parts of the user's own.
    from catalog.files import read_json_model
    from catalog.part_file import PartFile

    return read_json_model(path, PartFile).root


def _user_enclosure(path: Path) -> Enclosure:
    from catalog.files import read_json_model

    return read_json_model(path, Enclosure)


def _gathered(
    shipped: Iterable[T], read: Callable[[Path], T], user_files: Iterable[Path | DataError]
) -> tuple[Mapping[str, T], tuple[DataError, ...]]:
    found: dict[str, T] = {one.id: one for one in shipped}
    origin: dict[str, str] = dict.fromkeys(found, "a shipped one")
    problems: list[DataError] = []
    for path in user_files:
        if isinstance(path, DataError):
            problems.append(path)
            continue
        try:
            one = read(path)
        except DataError as error:
            problems.append(error)
            continue
        if one.id in found:
            fault = Fault("id", f'"{one.id}" is taken by {origin[one.id]}', "choose another id")
            problems.append(DataError(str(path), fault))
            continue
        found[one.id] = one
        origin[one.id] = path.name
    return MappingProxyType(found), tuple(problems)


def _look_up(things: Mapping[str, T], wanted: str, what: str) -> T:
    try:
        return things[wanted]
    except KeyError:
        # Loaded here: only a mistake needs it.
        from difflib import get_close_matches

        near = get_close_matches(wanted, list(things), n=3)
        raise NotInLibraryError(what, wanted, near) from None


def _words(text: str) -> list[str]:
    """Return the words of a text in one spelling: "2 x 120" is "2x120", "30 mm" is "30mm"."""
    spelled = text.lower().replace("×", "x").replace(",", " ")
    spelled = re.sub(r"(?<=\d)\s*x\s*(?=\d)", "x", spelled)
    spelled = re.sub(r"(?<=\d)\s+mm\b", "mm", spelled)
    return [word for word in re.split(r"[^\w./]+", spelled) if word]


def _usual(word: str) -> str:
    """Return the word that the library uses for one that says the same."""
    return SAME_WORDS.get(word, word)


def _frames(part: Part) -> set[Any]:
    return {
        mount.frame_mm for cell in (*part_cells(part), *top_cells(part)) for mount in cell.accepts
    }
