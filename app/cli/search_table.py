"""The answer of a search as lines for a terminal, and as rows of CSV."""

from __future__ import annotations

import csv
import io
import math

from app.cli.figures import mm_text, table
from app.cli.search_run import Searched
from geometry.search.answers import Measure, Row, free_slide_mm


def search_lines(found: Searched, width: int) -> list[str]:
    """Return what was found, as lines."""
    problem = found.problem
    layout = problem.base.scene.layout
    judged = "clear or tight" if problem.wishes.tight_allowed else "clear"
    lines = [f"{layout.enclosure.name}: what fits ({judged})", ""]
    names = {zone.id: zone.name for zone in layout.enclosure.zones}
    rows = [
        (f"{zone.listed:,}", f"{len(zone.options):,}", names[zone.zone]) for zone in problem.zones
    ]
    lines += table(("listed", "fit alone", "zone"), rows, right=frozenset((0, 1)), width=width)
    lines += ["", count_text(found), *_standing(found), ""]
    wanted = ", ".join(m.name for m in found.wanted)
    whole = "" if found.answer.done else " (cut short: there may be better ones)"
    lines.append(f"best trade-offs by {wanted}{whole}:")
    head = (
        "#",
        *(f"{m.key} {m.unit}".strip() for m in found.wanted),
        "worst",
        "like it",
        "pattern",
    )
    told = [
        (
            str(n),
            *(figure_text(row, m) for m in found.wanted),
            str(row.tight_at_worst),
            f"{row.alike:,}",
            row_text(row),
        )
        for n, row in enumerate(found.answer.rows, start=1)
    ]
    if told:
        right = frozenset(range(len(found.wanted) + 3))
        lines += table(head, told, right=right, width=width)
    else:
        lines.append("  none")
    if any(row.tight_at_worst for row in found.answer.rows):
        lines.append(
            "Judged by dimensions as drawn; 'worst' counts gaps that are tight in the worst case."
        )
    if found.answer.refused:
        lines.append(f"{found.answer.refused} more were left out: the full check did not agree")
    lines += _exclusion_lines(found, width)
    lines += _largest_lines(found, width)
    if found.stopped:
        lines += ["", found.stopped]
    return lines


def _exclusion_lines(found: Searched, width: int) -> list[str]:
    """Return what excludes what; options that never stand together first."""
    if not found.exclusions:
        return ["", "no two zones exclude each other"]
    names = {z.id: z.name for z in found.problem.base.scene.layout.enclosure.zones}
    told = sorted(found.exclusions, key=lambda e: (not e.always, -e.excluded / e.pairs))
    rows = [
        (
            "never" if e.always else f"{e.excluded:,} of {e.pairs:,} not",
            mm_text(e.short_mm),
            f"{names[e.zones[0]]}: {e.patterns[0]} with {names[e.zones[1]]}: {e.patterns[1]}\n"
            f"at best {e.first} is in the way of {e.second}",
        )
        for e in told
    ]
    head = ("together", "short mm", "what excludes what, and the solids that meet")
    return ["", *table(head, rows, right=frozenset((1,)), width=width)]


def _largest_lines(found: Searched, width: int) -> list[str]:
    """Return what at most goes into each zone, the other zones being as in the first row."""
    if not found.largest:
        return []
    rows = []
    for one in found.largest:
        for word, most in (
            ("thickest", one.thickest), ("longest", one.longest), ("deepest", one.deepest),
        ):  # fmt: skip
            if most is not None:
                option, mm = most
                core = f", {option.core.name}" if option.core is not None else ""
                rows.append((one.zone, word, mm_text(mm), f"{option.pattern}{core}"))
    head = ("zone", "what", "mm", "that still goes in, the other zones as in row 1")
    return ["", *table(head, rows, right=frozenset((2,)), width=width)]


def count_text(found: Searched) -> str:
    """Say how many combinations fit, and how sure that is."""
    raw = found.problem.tables.combinations
    count, guess = found.count, found.estimate
    if count.done:
        return f"{count.found:,} of {raw:,} combinations fit (exact count)"
    bounds = f"between {count.found:,} and {count.at_most:,} of {raw:,} combinations fit"
    if guess is None:
        return f"{bounds} (the count was cut short)"
    low = max(guess.mean - guess.half_width, 0.0)
    high = guess.mean + guess.half_width
    return (
        f"about {guess.mean:.3g} of {raw:,} combinations fit (an estimate: {low:.3g} to "
        f"{high:.3g} at 95 %, from {guess.runs:,} random runs; surely {bounds})"
    )


def _standing(found: Searched) -> list[str]:
    """Say what stands already and is at fault, so that nothing at all can fit."""
    report = found.problem.base.report
    faults = [f for f in report.findings if f.verdict.value != "clear"]
    if not found.problem.wishes.tight_allowed:
        return [f"note: {f.verdict.value} already without any stack: {f.title}" for f in faults]
    return [f"note: blocked already: {f.title}" for f in faults if f.verdict.value == "blocked"]


def figure_text(row: Row, measure: Measure) -> str:
    """Return one figure of a row."""
    value = row.figures[measure.key]
    if measure.unit == "mm":
        return mm_text(value)
    return f"{value:.0f}" if math.isfinite(value) else "-"


def row_text(row: Row) -> str:
    """Return the pattern of a row, and below it what each zone holds in full."""
    names = {zone.id: zone.name for zone in row.layout.enclosure.zones}
    lines = [row.pattern]
    for stack in row.layout.stacks:
        layers = [
            f"{len(layer.items)} x {row.layout.part(layer.items[0].part).name}"
            if len(layer.items) > 1
            else row.layout.part(layer.items[0].part).name
            for layer in (*reversed(stack.outer), *stack.inner)
        ]
        turned = [
            ("port end turned" if item.turn >= 2 else "")
            + (" ports to the plate" if item.turned_over else "")
            for layer in (*stack.inner, *stack.outer)
            for item in layer.items
            if row.layout.part(item.part).kind == "exchanger"
        ]
        slide = ""
        if (stack.slide_u_mm, stack.slide_v_mm) != (0.0, 0.0):
            slide = f", slid u {stack.slide_u_mm:g} v {stack.slide_v_mm:g}"
        how = "".join(f", {t.strip()}" for t in turned if t)
        ends = zip("uv", _free(row, stack.id), strict=True)
        free = [f"{n} -{a:.1f} +{b:.1f}" for n, (a, b) in ends if a or b]
        more = f"; free to slide {', '.join(free)} mm to touching" if free else ""
        lines.append(f"{names[stack.zone]}: {' + '.join(layers)}{how}{slide}{more}")
    return "\n".join(lines)


def _free(row: Row, stack_id: str) -> list[tuple[float, float]]:
    """Return how far a stack may be slid back and ahead, along u and v, to a tenth."""
    return [(round(a, 1), round(b, 1)) for a, b in free_slide_mm(row.checked.scene, stack_id)]


def search_csv(found: Searched) -> str:
    """Return the rows as CSV (RFC 4180), a head line first."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    zones = [zone.zone for zone in found.problem.zones]
    heads = [f"{m.key}_{m.unit}".rstrip("_") for m in found.wanted]
    writer.writerow(["number", *heads, "tight_at_worst", "like_it", "pattern", *zones])
    for n, row in enumerate(found.answer.rows, start=1):
        figures = [row.figures[m.key] for m in found.wanted]
        writer.writerow(
            [n, *(f"{v:g}" for v in figures), row.tight_at_worst, row.alike, row.pattern]
            + [_option_text(row, k) for k in range(len(zones))]
        )
    return out.getvalue()


def _option_text(row: Row, zone: int) -> str:
    stack = row.options[zone].stack
    if stack is None:
        return ""
    layers = (*reversed(stack.outer), *stack.inner)
    return " + ".join(f"{len(layer.items)} x {layer.items[0].part}" for layer in layers)
