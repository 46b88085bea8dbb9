#!/usr/bin/python3
"""plain_script.py FILE   what a plain script does: split every line, sum path and filament. Less than a tally by far.

It is what the speed of a tally is held against (docs/performance.md): no layers, no swaps, no time, no heat, no faults.
"""

import math
import sys

position = {"X": 0.0, "Y": 0.0, "Z": 0.0}
path_mm = filament_mm = 0.0
with open(sys.argv[1], encoding="utf-8", errors="replace") as plate:
    for line in plate:
        words = line.split(";")[0].split()
        if not words or words[0] not in ("G0", "G1"):
            continue
        before = dict(position)
        for word in words[1:]:
            if word[0] in position:
                position[word[0]] = float(word[1:])
            elif word[0] == "E":
                filament_mm += float(word[1:])
        path_mm += math.dist(before.values(), position.values())
print(f"{path_mm:.0f} mm of path, {filament_mm:.1f} mm of filament")
