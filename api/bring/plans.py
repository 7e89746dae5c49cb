"""A plan from a table: one row a step, its limits beside it or left for a table of limits."""

import csv
import io
from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from pydantic import ValidationError

from api.bring.measurements import BadRow, why_not
from api.bring.rows import Row
from daq.head.errors import RefusedError
from daq.head.limits_csv import COLUMNS as LIMIT_COLUMNS
from daq.head.limits_csv import Imported, with_limits
from daq.head.plan import Plan, Step

_LISTS = ("depths_mm", "directions")
_STEP = (*_LISTS, "nominal_mm", "window_mm", "material")
_LIMIT = tuple(sorted(LIMIT_COLUMNS))
# Which limit of a plan a row is about.
_OF_LIMIT = ("characteristic", "use", "side", "spot", "length_mm")


class BroughtPlan(NamedTuple):
    """The plan of the good rows, and the rows that were not taken."""

    plan: Plan
    taken: int
    bad: list[BadRow]


def plan_from(rows: list[Row], about: dict[str, Any]) -> BroughtPlan:
    """The plan that `about` (name, title, source, head) and the rows make.

    Lists stand in one cell with spaces between. Several rows of one characteristic give its
    limits. Raises RefusedError where no step is left, or the plan as a whole cannot be.
    """
    _check_columns(rows, {*_LIMIT, *_STEP})
    steps: dict[str, dict[str, Any]] = {}
    bad: list[BadRow] = []
    limited: list[Row] = []
    for row in rows:
        try:
            step = _step(row.whole())
            Step.model_validate(step)
        except ValidationError as error:
            bad.append(BadRow(row.line, why_not(error)))
            continue
        except RefusedError as error:
            bad.append(BadRow(row.line, str(error)))
            continue
        steps.setdefault(step["characteristic"], step)
        if any(name in row.cells for name in _LIMIT if name not in {"characteristic", "unit"}):
            limited.append(row)
    if not steps:
        why = f"; {bad[0].text} (line {bad[0].line})" if bad else ""
        raise RefusedError(f"no row is a step that can be measured{why}")
    try:
        plan = Plan.model_validate({**about, "steps": list(steps.values())})
    except ValidationError as error:
        raise RefusedError(why_not(error)) from None
    plan, unlimited = limited_by(plan, limited)
    bad = sorted([*bad, *unlimited])
    return BroughtPlan(plan, len(rows) - len(bad), bad)


def _check_columns(rows: list[Row], known: Iterable[str]) -> None:
    unknown = sorted({name for row in rows for name in row.cells if name} - {*known})
    if unknown:
        raise RefusedError(
            f"there is no column {unknown[0]!r}; there are {', '.join(sorted(known))}"
        )


def _step(cells: Mapping[str, str]) -> dict[str, Any]:
    step: dict[str, Any] = {"characteristic": cells["characteristic"]}
    for name in _STEP:
        if name in cells:
            step[name] = cells[name].split() if name in _LISTS else cells[name]
    return step


def limited_by(plan: Plan, rows: list[Row]) -> tuple[Plan, list[BadRow]]:
    """The plan with the limits of the rows, and the rows that were not taken.

    One by one, so that each keeps the line it stands in. Raises RefusedError for a column that
    nobody knows: what it says would be lost.
    """
    _check_columns(rows, _LIMIT)
    bad = []
    said: dict[tuple[str, ...], int] = {}
    for row in rows:
        try:
            cells = row.whole()
        except RefusedError as error:
            bad.append(BadRow(row.line, str(error)))
            continue
        key = tuple(cells.get(name, "") for name in _OF_LIMIT)
        if key in said:
            text = f"line {said[key]} says this limit already; which one is right?"
            bad.append(BadRow(row.line, text))
            continue
        imported = _with_limit(plan, cells)
        plan = imported.plan
        bad += [BadRow(row.line, each.text) for each in imported.bad]
        if imported.taken:
            said[key] = row.line
    return plan, bad


def _with_limit(plan: Plan, cells: Mapping[str, str]) -> Imported:
    names = [name for name in _LIMIT if name in cells]
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(names)
    writer.writerow([cells[name] for name in names])
    return with_limits(plan, text.getvalue())
