"""The only door to JSON files: read into a checked model, or refused with every fault named."""

from __future__ import annotations

import codecs
import contextlib
import gc
import json
import os
import stat
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NoReturn, TypeVar

from pydantic import BaseModel, ValidationError

from catalog.errors import DataError, Fault
from catalog.migrate import FileFormat, format_faults, migrated
from catalog.paths import step_down

SIZE_LIMIT_BYTES = 64 * 2**20
"""Larger files are refused unread: a layout of 5,000 parts has about 3 MB."""

M = TypeVar("M", bound=BaseModel)

_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)


def read_json_model(path: Path, model_type: type[M], file_format: FileFormat | None = None) -> M:
    """Return the model in a JSON file, brought to the newest version of `file_format`.

    Raises DataError, which names every fault, when the file cannot be read or is not sound.
    """
    return parse_json_model(_read_bytes(path), str(path), model_type, file_format)


def parse_json_model(
    data: bytes, name: str, model_type: type[M], file_format: FileFormat | None = None
) -> M:
    """Return the model in the bytes of a JSON file that errors call `name`.

    Raises DataError, which names every fault.
    """
    text = _decoded(data, name)
    with _collector_paused():
        document = _loaded(text, name)
        if file_format is not None:
            newest = _in_newest_version(document, name, file_format)
            if newest is not document:
                document, text = newest, json.dumps(newest)
        try:
            return model_type.model_validate_json(text)
        except ValidationError as error:
            first = error.errors(include_url=False)[0]
            if first["type"] == "json_invalid":
                raise _not_json(name, first["ctx"]["error"]) from None
            # Loaded when there is something to explain: most files are sound.
            from catalog.faults import explain

            raise DataError(name, *explain(error, model_type, document)) from None


def _in_newest_version(document: object, name: str, file_format: FileFormat) -> object:
    if not isinstance(document, dict):
        from catalog.faults import shown

        fault = Fault("", f"found {shown(document)}, expected an object", "check the file")
        raise DataError(name, fault)
    faults = format_faults(document, file_format)
    if faults:
        raise DataError(name, *faults)
    return migrated(document, file_format)


def _not_json(name: str, reason: str) -> DataError:
    if "recursion" in reason:
        return DataError(name, Fault("", "lists and objects are nested too deep", "flatten it"))
    return DataError(name, Fault("", f"is not JSON: {reason}", "correct it in a text editor"))


def _read_bytes(path: Path) -> bytes:
    try:
        found = path.stat()
        if stat.S_ISDIR(found.st_mode):
            raise DataError(str(path), Fault("", "is a folder", "name a file in it"))
        if not stat.S_ISREG(found.st_mode):
            raise DataError(str(path), Fault("", "is no ordinary file", "name a file"))
        if found.st_size > SIZE_LIMIT_BYTES:
            raise _too_large(path, found.st_size)
        with path.open("rb") as file:
            data = file.read(SIZE_LIMIT_BYTES + 1)
    except (OSError, ValueError) as error:
        if isinstance(error, DataError):
            raise
        raise DataError(str(path), _file_fault(error, "read")) from error
    if len(data) > SIZE_LIMIT_BYTES:
        raise _too_large(path, len(data))
    return data


def _too_large(path: Path, size: int) -> DataError:
    return DataError(
        str(path),
        Fault(
            "",
            f"has {size >> 20} MB; files of up to {SIZE_LIMIT_BYTES >> 20} MB are read",
            "check that it is the file meant",
        ),
    )


def _file_fault(error: OSError | ValueError, doing: str) -> Fault:
    """Return what the system said, in plain words; ValueError is a path no system can hold."""
    if isinstance(error, FileNotFoundError):
        return Fault("", "is not there", "check the name and the folder")
    if isinstance(error, PermissionError):
        return Fault("", f"may not be {doing}: no permission", "ask its owner, or take a copy")
    if isinstance(error, OSError):
        reason = error.strerror or type(error).__name__
        return Fault("", f"cannot be {doing}: {reason.lower()}", "try another place")
    return Fault("", f"cannot be {doing}: {error}", "check the name")


def _decoded(data: bytes, name: str) -> str:
    encoding, mark = "utf-8", b""
    for known, its_encoding in _MARKS:
        if data.startswith(known):
            encoding, mark = its_encoding, known
            break
    try:
        return data[len(mark) :].decode(encoding)
    except UnicodeDecodeError as error:
        at = error.start + len(mark)
        line = data[:at].count(b"\n") + 1
        fault = Fault("", f"is not {encoding.upper()} text: line {line}", "save it as UTF-8")
        raise DataError(name, fault) from None


@contextlib.contextmanager
def _collector_paused() -> Iterator[None]:
    """Pause the garbage collector: a large document is built three times as fast without it."""
    was_running = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_running:
            gc.enable()


class _CloserLookError(Exception):
    """The fast reading met something that JSON forbids; the slow one tells where."""


def _loaded(text: str, name: str) -> Any:
    try:
        return json.loads(text, object_pairs_hook=_without_repeats, parse_constant=_refuse_constant)
    except _CloserLookError:
        raise DataError(name, *_repeats_and_constants(text)) from None
    except json.JSONDecodeError as error:
        reason = f"line {error.lineno}, column {error.colno}: {error.msg.lower()}"
        if not text.strip():
            reason = "the file is empty"
        raise _not_json(name, reason) from None
    except RecursionError:
        raise _not_json(name, "recursion") from None
    except ValueError:
        raise _not_json(name, "a number has thousands of figures") from None


def _without_repeats(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise _CloserLookError
    return found


def _refuse_constant(_: str) -> NoReturn:
    raise _CloserLookError


class _Constant(str):
    """NaN or an infinity, which JSON does not have."""

    __slots__ = ()


class _Pairs(list[tuple[str, Any]]):
    """An object with its repeated keys."""


def _repeats_and_constants(text: str) -> list[Fault]:
    """Return where keys are repeated and where NaN or infinities stand, in file order."""
    document = json.loads(text, object_pairs_hook=_Pairs, parse_constant=_Constant)
    faults: list[Fault] = []
    pending: list[tuple[str, Any]] = [("", document)]
    while pending:
        path, value = pending.pop()
        if isinstance(value, _Constant):
            faults.append(Fault(path, f"found {value}, expected a number", "write it in figures"))
        elif isinstance(value, _Pairs):
            seen: set[str] = set()
            for key, _ in value:
                if key in seen:
                    fault = Fault(step_down(path, key), "stands there twice", "remove one of them")
                    faults.append(fault)
                seen.add(key)
            pending.extend((step_down(path, key), inner) for key, inner in reversed(value))
        elif isinstance(value, list):
            places = range(len(value) - 1, -1, -1)
            pending.extend((step_down(path, k), value[k]) for k in places)
    return faults


def write_text_atomic(path: Path, text: str) -> None:
    """Put `text` into a file in UTF-8, as `write_bytes_atomic` does. Raises DataError."""
    try:
        data = text.encode("utf-8")
    except UnicodeEncodeError:
        fault = Fault("", "cannot be saved: a text contains an invalid character", "retype it")
        raise DataError(str(path), fault) from None
    write_bytes_atomic(path, data)


def write_bytes_atomic(path: Path, data: bytes) -> None:
    """Put `data` into a file so that at any moment the old or the new one is there, whole.

    Written beside, flushed to disk, then put in the old one's place; links are followed and the
    old file's permissions kept. Raises DataError when it cannot be saved; the old file is then
    as it was.
    """
    with _telling_of(path):
        _write_atomic(path, data)


def refuse_unsavable(path: Path) -> None:
    """Raise DataError where `write_bytes_atomic` would not save a file as things are; none is left.

    For what takes long and is saved in the end.
    """
    with _telling_of(path):
        target, _ = _target(path)
        handle, beside = _opened_beside(target)
        os.close(handle)
        beside.unlink()


@contextlib.contextmanager
def _telling_of(path: Path) -> Iterator[None]:
    """Raise what goes wrong while a file is saved as DataError."""
    try:
        yield
    except DataError:
        raise
    except (OSError, ValueError) as error:
        raise DataError(str(path), _saving_fault(error)) from error


def _saving_fault(error: OSError | ValueError) -> Fault:
    if isinstance(error, FileNotFoundError):
        return Fault("", "cannot be saved: its folder is not there", "choose another folder")
    if isinstance(error, PermissionError):
        return Fault("", "cannot be saved: no permission", "save under another name or folder")
    fault = _file_fault(error, "saved")
    return Fault("", fault.problem, "free some room or save elsewhere; the old file is unharmed")


def _write_atomic(path: Path, data: bytes) -> None:
    target, mode = _target(path)
    handle, beside = _opened_beside(target)
    try:
        try:
            _write_all(handle, data)
            os.fsync(handle)
        finally:
            os.close(handle)
        if mode is not None:
            beside.chmod(mode)
        beside.replace(target)
    except BaseException:
        with contextlib.suppress(OSError):
            beside.unlink()
        raise
    _flush_folder(target.parent)


def _target(path: Path) -> tuple[Path, int | None]:
    """Return what a file is written to, and the permissions of the old one where there is one."""
    target = _resolved(path)
    if not target.exists():
        return target, None
    found = target.stat()
    if stat.S_ISDIR(found.st_mode):
        raise DataError(str(path), Fault("", "is a folder", "name a file in it"))
    if not stat.S_ISREG(found.st_mode):
        raise DataError(str(path), Fault("", "is no ordinary file", "name a file"))
    if not os.access(target, os.W_OK):
        raise PermissionError
    return target, stat.S_IMODE(found.st_mode)


def _opened_beside(target: Path) -> tuple[int, Path]:
    """Return a new file beside another, open for writing, and its path."""
    beside = target.parent / f".{uuid.uuid4().hex}.tmp"
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    return os.open(beside, flags, 0o666), beside


def _resolved(path: Path) -> Path:
    """Return where links lead to in the end."""
    try:
        target = path.resolve()
        looped = target.is_symlink()
    except RuntimeError:
        looped = True
    if looped:
        problem = "cannot be saved: a link on the way to it leads back to itself"
        raise DataError(str(path), Fault("", problem, "save under another name or folder"))
    return target


def _write_all(handle: int, data: bytes) -> None:
    rest = memoryview(data)
    while rest:
        rest = rest[os.write(handle, rest) :]


def _flush_folder(folder: Path) -> None:
    """Flush the new name to disk. Some file systems cannot; the file is whole all the same."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
