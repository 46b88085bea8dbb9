#!/usr/bin/python3
"""year_of_waste.py HISTORY PICTURE [SINCE]

Draws what the plates of a history waste, week by week, and which plates waste most. HISTORY is the
file that `platetally audit FOLDER --machine M --history HISTORY` keeps; SINCE is a date, "2026-01-01".
"""

# %% What is asked for
import sys

import matplotlib

matplotlib.use("Agg")  # a picture, no window
import matplotlib.pyplot as plt
import numpy as np

import platetally

if len(sys.argv) not in (3, 4):
    sys.exit(__doc__)
history_file, picture = sys.argv[1:3]
since = sys.argv[3] if len(sys.argv) == 4 else "1970-01-01"

# %% Read the history
history = platetally.history(history_file, since)
weeks, plates, totals = history["weeks"], history["plates"], history["totals"]
if not len(weeks["monday"]):
    sys.exit(f"{history_file}: no plate since {since}")

# %% In words
waste_g, part_g = weeks["purge_g"].sum(), weeks["part_g"].sum()
print(f"{weeks['plates'].sum():.0f} plates in {len(weeks['monday'])} weeks: {part_g:.1f} g of part, "
      f"{waste_g:.1f} g purged, {100 * waste_g / (part_g + waste_g):.0f} % of all material")
worst = np.argsort(-np.nan_to_num(plates["purge_g"]), kind="stable")[:5]
for row in worst:
    name = plates["path"][row] + (":" + plates["member"][row] if plates["member"][row] else "")
    print(f"  {plates['purge_g'][row]:8.2f} g  {plates['swaps'][row]:5.0f} swaps  {name}")

# %% In a picture: each week's grams, and how they add up
figure, (by_week, summed) = plt.subplots(2, 1, sharex=True, figsize=(9, 6), layout="constrained")
width = np.timedelta64(6, "D")
by_week.bar(weeks["monday"], weeks["part_g"], width, align="edge", color="#7a9a5b", label="part")
by_week.bar(weeks["monday"], weeks["purge_g"], width, align="edge", bottom=weeks["part_g"],
            color="#b4552d", hatch="//", edgecolor="white", label="purge")
by_week.set_ylabel("g a week")
by_week.legend()
summed.step(weeks["monday"], weeks["purge_g"].cumsum(), where="post", color="#b4552d")
summed.set_ylabel("g purged so far")
summed.set_xlabel("week of the first tally")
figure.suptitle(f"{waste_g:.0f} g purged since {since}; predicted, not weighed")
figure.savefig(picture, dpi=120)
