"""`gapwright schema`: the JSON Schema of the files that are read and of what is printed."""

from __future__ import annotations

import argparse
import json
from importlib import import_module
from typing import Any

from pydantic import BaseModel, TypeAdapter

from app.cli import console
from app.cli.command import Command
from app.cli.desk import Desk
from app.cli.outcome import Exit, Unusable
from app.cli.similar_words import meant
from catalog.schema import DIALECT, json_schema
from geometry.layout_file import layout_schema

PRINTED = {
    "report": "report_json.ReportFile",
    "depth": "depth_json.DepthFile",
    "search": "search_json_fields.SearchFile",
    "mend": "mend_json.MendFile",
    "parts": "library_json.PartsFile",
    "enclosures": "library_json.EnclosuresFile",
}
"""What commands print with --json, each with its model among the modules beside this one."""

KINDS = ("layout", "part", "enclosure", *PRINTED)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument(
        "kind", metavar="KIND", help=f"which file to describe, of {', '.join(KINDS)}"
    )


def run(args: argparse.Namespace, desk: Desk) -> Exit:  # noqa: ARG001 - needs no screen
    """Print one schema."""
    if args.kind not in KINDS:
        known = f"there are {', '.join(KINDS)}"
        raise Unusable(f"'{args.kind}' is no kind of file ({known}){meant(args.kind, KINDS)}")
    console.say(json.dumps(schema_of(args.kind), indent=2, ensure_ascii=False))
    return Exit.OK


def schema_of(kind: str) -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of one kind of file."""
    if kind == "layout":
        return layout_schema()
    if kind in PRINTED:
        schema = TypeAdapter(_printed(kind)).json_schema(mode="serialization")
        return {"$schema": DIALECT, **schema, "title": f"Gapwright {kind}"}
    return json_schema("part" if kind == "part" else "enclosure")


def _printed(kind: str) -> type[BaseModel]:
    """Return the model of what a command prints; loaded only when it is asked for."""
    module, _, name = PRINTED[kind].partition(".")
    found: type[BaseModel] = getattr(import_module(f"app.cli.{module}"), name)
    return found


COMMAND = Command(
    name="schema",
    about="""\
Print the JSON Schema of a kind of file.
`layout`, `part` and `enclosure` describe the files that are read, so that one can be written
by hand. The others describe what is printed with --json: `report` by `gapwright check`, and
`depth`, `search`, `mend`, `parts` and `enclosures` by the commands of these names. Each names its
`format` and its `version`, which is raised when a field changes its meaning or goes.""",
    examples="""\
  gapwright schema enclosure > enclosure.schema.json
  gapwright schema report""",
    add_arguments=add_arguments,
    run=run,
)
