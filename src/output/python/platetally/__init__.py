"""What a sliced plate will cost before it is printed: hours, swaps, grams, watt-hours, money.

    import platetally
    account = platetally.tally("lantern.gcode", machine="changer-5")
    account["totals"]["purge_g"]        # a number
    account["layers"]["purge_g"]        # a numpy array, one number a layer

Keys and units are those of docs/json.md: a key carries its unit.
"""

import json as _json
import os as _os

import numpy as _numpy

from . import _core

__all__ = ["PlateError", "fields", "history", "machines", "schema", "tally", "tally_bytes", "text"]
__version__ = _core.version


class PlateError(ValueError):
    """A plate, machine, materials, prices file or history that cannot be used; one line says why."""


def tally(path, machine="changer-5", **options):
    """The account of the plate at `path` on `machine` (an embedded machine's name or a machine file).

    A dict as in docs/json.md, but for "layers": there each key holds one numpy array over the layers
    ("order", the tools of each layer, a list of lists).

    Options: materials=FILE, prices=FILE, member=NAME (of a zip), colours={0: "black", 1: "#f0c814"}
    or a list by tool, copies=1 (good parts on the plate), threads=2, partial=False (True: also of a
    plate of which only a part can be read; then account["reading"]["partial"] is 1), objects=False
    (True: account["objects"] has a row for each object).

    Raises PlateError.
    """
    return _as_dict(_read(_os.fspath(path), b"", machine, **options))


def tally_bytes(data, machine="changer-5", **options):
    """The same for G-code, or a container of it, in memory."""
    return _as_dict(_read(None, bytes(data), machine, **options))


def text(path, machine="changer-5", **options):
    """The report for people of the plate at `path`."""
    return _read(_os.fspath(path), b"", machine, **options).text()


def history(file, since="1970-01-01"):
    """What a history of `platetally audit --history` holds since `since` ("2026-11-25", UTC).

    A dict: "totals" (sums), "findings", "weeks" (a numpy array for each key; "monday" as
    datetime64), and "plates": "path", "member" and "error" as lists, every total as a numpy array
    (NaN where not known). Raises PlateError.
    """
    try:
        report = _json.loads(_core.history(_os.fspath(file), since))
    except RuntimeError as error:
        raise PlateError(str(error)) from None
    rows = report.pop("rows")
    plates = {key: [row[key] for row in rows] for key in ("path", "member", "error")}
    for key in report["totals"]:
        plates[key] = _floats(row.get("totals", {}).get(key) for row in rows)
    report["plates"] = plates
    weeks = report["weeks"]
    keys = ("plates", "swaps", "hours", "part_g", "purge_g", "energy_kwh")
    report["weeks"] = {key: _floats(week[key] for week in weeks) for key in keys}
    report["weeks"]["monday"] = _numpy.array([week["monday"] for week in weeks], dtype="datetime64[D]")
    return report


def fields():
    """Every value that an account can hold: dicts with "key", "unit", "title", "note"."""
    return _json.loads(_core.fields())


def schema():
    """The JSON Schema (2020-12) of an account's JSON."""
    return _json.loads(_core.schema())


def machines():
    """The names of the embedded machines."""
    return _json.loads(_core.machines())


def _read(path, data, machine, materials=None, prices=None, member=None, colours=(), copies=1, threads=2,
          partial=False, objects=False):
    if isinstance(colours, dict):
        colours = [colours.get(tool, "") for tool in range(max(colours, default=-1) + 1)]
    files = [None if file is None else _os.fspath(file) for file in (materials, prices)]
    try:
        return _core.tally(path, data, _os.fspath(machine), *files, member, list(colours), copies, threads,
                           bool(partial), bool(objects))
    except RuntimeError as error:
        raise PlateError(str(error)) from None


def _floats(values):
    return _numpy.array([_numpy.nan if value is None else value for value in values], dtype=float)


def _as_dict(read):
    account = _json.loads(read.json())
    rows = account["layers"]
    columns = {"order": [row["order"] for row in rows]}
    for field in fields():
        section, _, key = field["key"].partition(".INDEX.")
        if section != "layers" or key == "order":
            continue
        at = columns
        *owners, last = key.split(".")
        for owner in owners:
            at = at.setdefault(owner, {})
        at[last] = read.column("layers." + key)
    account["layers"] = columns
    return account
