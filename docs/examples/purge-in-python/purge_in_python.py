#!/usr/bin/python3
"""purge_in_python.py PLATE MACHINE   grams purged in every layer, and whether the plate keeps to a limit."""
import sys

import platetally

plate, machine = sys.argv[1:]
try:
    account = platetally.tally(plate, machine)   # a dict as in json.md
except (platetally.PlateError, OSError) as error:
    sys.exit(str(error))
layers = account["layers"]                       # but for the layers: a NumPy array a column
for index, purge_g in zip(layers["index"], layers["purge_g"]):
    if purge_g > 0.0:
        print(f"{index:.0f} {purge_g:.6g} g")
print(account.limits({"purge_g": 50, "swaps": 100})["passes"], file=sys.stderr)
