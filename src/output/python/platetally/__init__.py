"""What a sliced plate will cost before it is printed: hours, swaps, grams, watt-hours, money.

    import platetally
    account = platetally.tally("lantern.gcode", machine="changer-5")
    account["totals"]["purge_g"]        # a number
    account["layers"]["purge_g"]        # a numpy array, one number a layer
    pandas.DataFrame(platetally.flat(account["layers"]))

Keys and units are those of docs/json.md: a key carries its unit.

Options that most functions take: materials=FILE, prices=FILE, colours={0: "black", 1: "#f0c814"} or a
list by tool, copies=1 (good parts on the plate), threads=2, partial=False (True: also of a plate of
which only a part can be read; then account["reading"]["partial"] is 1), objects=False (True: account["objects"]
has a row for each object), and progress=None: a callable that is told the bytes read so far now and then and once at the end. What it raises ends the call and is
passed on; so does an interrupt (KeyboardInterrupt), as soon as the bytes that were read are dealt with.

Python's own errors say what is wrong with a path: FileNotFoundError, IsADirectoryError,
PermissionError; ValueError for one with a zero byte. PlateError says what is wrong with what lies there.
"""

import errno as _errno
import json as _json
import os as _os
import stat as _stat
import time as _time

import numpy as _numpy

from . import _core

__all__ = ["Account", "PlateError", "audit", "compare", "fields", "flat", "history", "machines", "order", "schema",
           "tally", "tally_bytes", "text"]
__version__ = _core.version


class PlateError(ValueError):
    """A plate, machine, materials, prices file or history that cannot be used; one line says why."""


class Account(dict):
    """A dict as in docs/json.md, but for "layers": there each key holds one numpy array over the layers
    ("order", the tools of each layer, a list of lists)."""

    def __init__(self, read):
        super().__init__(_json.loads(read.json()))
        self._read = read
        self["layers"] = _columns(self["layers"], read)

    def __reduce__(self):
        """Pickled and copied as a plain dict."""
        return dict, (dict(self),)

    def text(self):
        """The report for people."""
        return self._read.text()

    def limits(self, highest):
        """Holds the account against highest values, such as {"purge_g": 50, "time_s": 36000}.

        A dict: "passes" (nothing is over, all could be checked, the account is of the whole plate), "over"
        (dicts with "key", "value", "limit"), "not_checked" (sentences), "partial". Raises PlateError for a
        key that is none.
        """
        return _json.loads(_called(self._read.limits, list(highest), [float(value) for value in highest.values()]))


def tally(plate, machine=None, **options):
    """The Account of a plate on `machine` (an embedded machine's name or a machine file).

    `plate`: a path; or what gives its bytes: a file opened in binary mode, or an iterable of bytes.
    Options as above, and member=NAME of a path to a zip with several plates.

    Raises PlateError, and as above.
    """
    return Account(_read(plate, machine, **options))


def tally_bytes(data, machine=None, **options):
    """The same for G-code, or a container of it, in memory."""
    return Account(_called(_core.tally, None, bytes(data), _machine(machine), _asked(**options)))


def text(plate, machine=None, **options):
    """The report for people of a plate, as of tally()."""
    return _read(plate, machine, **options).text()


def order(path, machine=None, by=None, heads=None, first=None, kept=None, before=(), **options):
    """The order of the tools of the plate at `path`, as it is and at its best: a dict as in docs/json.md.

    by: "grams", "seconds", "money" (with prices) or "swaps"; None: grams where it is known what changes
    need, else swaps. heads: "ascending", "alternating" or "cyclic", where the machine goes through its
    heads in that order. first, kept: tools in hand before and behind the plate. before: pairs of tools, the
    first before the second in every layer with both. Options as above. Raises PlateError.
    """
    return _json.loads(_called(_core.order, _path(path), _machine(machine), by, heads, first, kept, list(before),
                               _asked(**options)))


def compare(paths, machines, **options):
    """Plates on machines, the first of which they were sliced for; of two plates also "before_after".

    Paths and machines: one each, or lists. A dict as in docs/json.md. Options as above. Raises PlateError.
    """
    machines = [_machine(machine) for machine in _several(machines)]
    return _json.loads(_called(_core.compare, [_path(path) for path in _several(paths)], machines or [_machine(None)],
                               _asked(**options)))


def audit(paths, machine=None, include=(), exclude=(), limits=None, sort=None, strict=False, history=None, threads=1,
          **options):
    """Every plate at or below the paths (one, or a list), worst first: a dict as in docs/json.md.

    include, exclude: shell patterns of names. limits: highest values by key. sort: key of a number. strict: a
    plate with a warning does not pass. history: an SQLite file that keeps what was tallied. threads: plates at
    once. Options as above; progress is told the bytes of files that are done. Raises PlateError, as where there
    is nothing to audit; a plate that cannot be read is a row with its "error".
    """
    limits = dict(limits or {})
    wanted = _core.AuditAsked(_texts(include), _texts(exclude), list(limits), [float(most) for most in limits.values()],
                              sort, None if history is None else _fs(history), bool(strict), threads,
                              int(_time.time()))
    return _json.loads(_called(_core.audit, [_path(path, folder_too=True) for path in _several(paths)],
                               _machine(machine), wanted, _asked(**options)))


def flat(columns, _within=""):
    """Columns such as account["layers"], a dict in a dict laid open: "energy_by.bed"."""
    out = {}
    for key, column in columns.items():
        if isinstance(column, dict):
            out.update(flat(column, _within + key + "."))
        else:
            out[_within + key] = column
    return out


def history(file, since="1970-01-01"):
    """What a history of `platetally audit --history` holds since `since` ("2026-11-25", UTC).

    A dict: "totals" (sums), "findings", "weeks" (a numpy array for each key; "monday" as
    datetime64), and "plates": "path", "member" and "error" as lists, every total as a numpy array
    (NaN where not known). Raises PlateError.
    """
    report = _json.loads(_called(_core.history, _fs(file), since))
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


def _called(function, *arguments):
    try:
        return function(*arguments)
    except RuntimeError as error:
        raise PlateError(str(error)) from None


def _fs(path):
    return _os.fsencode(_os.fspath(path))


def _path(path, folder_too=False):
    """A path that can be opened; Python's own error where it cannot."""
    status = _os.stat(path)
    if _stat.S_ISDIR(status.st_mode):
        if not folder_too:
            raise IsADirectoryError(_errno.EISDIR, _os.strerror(_errno.EISDIR), _os.fspath(path))
        _os.scandir(path).close()
    elif _stat.S_ISREG(status.st_mode):
        with open(path, "rb"):
            pass
    return _fs(path)


def _machine(machine):
    """An embedded machine's name, or a machine file. None is chosen for the caller: it decides the figures."""
    if machine is None:
        raise TypeError("say which machine: machine=FILE, or one of " + ", ".join(machines()))
    return _fs(machine)


def _texts(texts):
    if isinstance(texts, (str, bytes)):
        raise TypeError("expected a list of texts, not one text")
    return list(texts)


def _several(one_or_more):
    return [one_or_more] if isinstance(one_or_more, (str, bytes, _os.PathLike)) else list(one_or_more)


def _asked(materials=None, prices=None, member=None, colours=(), copies=1, threads=2, partial=False, objects=False,
           progress=None):
    if isinstance(colours, (str, bytes)):
        raise TypeError('colours: expected a dict or a list by tool, such as {0: "black"}, not one text')
    if isinstance(colours, dict):
        colours = [colours.get(tool, "") for tool in range(max(colours, default=-1) + 1)]
    if progress is not None and not callable(progress):
        raise TypeError("progress: expected a callable")
    files = [None if file is None else _path(file) for file in (materials, prices)]
    return _core.Asked(*files, member, ["" if colour is None else colour for colour in colours], copies, threads,
                       bool(partial), bool(objects), progress)


def _read(plate, machine, **options):
    if isinstance(plate, (str, bytes, _os.PathLike)):
        return _called(_core.tally, _path(plate), b"", _machine(machine), _asked(**options))
    return _read_pieces(plate, machine, **options)


def _read_pieces(plate, machine, **options):
    """Of a file, or of an iterable of bytes."""
    if hasattr(plate, "read"):
        pieces = _pieces_of(plate)
    elif isinstance(plate, (bytearray, memoryview)):
        pieces = [plate]
    else:
        pieces = iter(plate)
    feed = _called(_core.Feed, _machine(machine), _asked(**options))
    for piece in pieces:
        if isinstance(piece, str):
            raise TypeError("expected bytes, not text: open the file in binary mode")
        if not _called(feed.push, piece):
            break
    return _called(feed.finish)


def _pieces_of(file):
    while True:
        piece = file.read(1 << 18)
        if piece is None:
            raise BlockingIOError(_errno.EAGAIN, "the file has no bytes yet")
        if not piece:
            return
        yield piece


def _floats(values):
    return _numpy.array([_numpy.nan if value is None else value for value in values], dtype=float)


def _columns(rows, read):
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
    return columns
