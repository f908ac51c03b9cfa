"""The likeliest bad box against a search written apart with many more starts, and shares against plain counts.

Run: python tests/bench_rare.py [boxes of a plain count, in millions; 1 if nothing is said] [studies]
With a number of studies it tells instead in how many of them the interval holds the share.
"""

import math
import sys
import time

from rare_apart import counted, descended

from assembly.files.reading import maker, read_design
from assembly.model.design import Limit
from assembly.rare.likeliest import bad_boxes
from assembly.study.check import BoxModel

STARTS = 300
# What is limited so that from 1 box in 20 to 1 in 20,000 break it.
CASES = (
    ("frost_watch", "new_to_tools", "gap right-back", {"max": 1.45}),
    ("frost_watch", "new_to_tools", "gap left-front", {"max": 1.9}),
    ("frost_watch", "new_to_tools", "joint_gap", {"max": 2.6}),
    ("frost_watch", "new_to_tools", "length", {"within": 2.0}),
    ("frost_watch", "new_to_tools", "step", {"max": 1.1}),
    ("frost_watch", "new_to_tools", "lean", {"max": 2.0}),
    ("frost_watch", "practised", "gap right-back", {"max": 0.9}),
    ("frost_watch", "practised", "gap left-back", {"max": 1.5}),
    ("frost_watch", "practised", "closed_share", {"min": 0.2}),
    ("frost_watch", "practised", "plaque_spare", {"min": 0.0}),
    ("seed_box", "practised", "joint_gap", {"max": 2.2}),
    ("label_box", "practised", "width", {"within": 0.8}),
)


def model_of(design, hands):
    """Return a shipped design made by some hands."""
    read = read_design(design)
    return BoxModel(read, maker(read, design, hands))


def searches():
    """Print the least |u| of both searches, and how long each took."""
    print(f"least |u|, right-back joint of the frost watch over 1.5 mm: ours, and from {STARTS} starts apart")
    for hands in ("new_to_tools", "practised"):
        model, limit = model_of("frost_watch", hands), Limit(max=1.5)
        start = time.process_time()
        (ours,) = bad_boxes(model, [("gap right-back", limit)], pattern=0)
        between = time.process_time()
        apart = descended(model, "gap right-back", limit, starts=STARTS, seed=3)
        ratio = (time.process_time() - between) / (between - start)
        beta = float(ours.points.beta[0])
        print(f"  {hands:13} {beta:.3f} {apart:.3f}, ours over the other {beta / apart:.3f}; {ratio:.0f} times as long")


def shares(boxes):
    """Print each case's share, weighed and counted, and how many standard errors lie between."""
    print(f"shares: ours, and of {boxes:,} boxes counted")
    for design, hands, row, limit in CASES:
        model, limited = model_of(design, hands), Limit(**limit)
        (ours,) = bad_boxes(model, [(row, limited)])
        share = counted(model, row, limited, boxes=boxes, seed=9)
        error = math.hypot(ours.share.standard_error, math.sqrt(share / boxes))
        how = "counted" if ours.effective is None else f"effective {ours.effective:.0f}"
        apart = (ours.share.value - share) / error
        print(f"  {design:11} {hands:12} {row:14} {ours.share.value:.2e} {share:.2e} {apart:+.1f} errors, {how}")


def coverage(seeds, boxes):
    """Print in how many of so many studies the interval holds the share that a plain count of `boxes` finds."""
    design, hands, row, limit = CASES[7]
    model, limited = model_of(design, hands), Limit(**limit)
    share = counted(model, row, limited, boxes=boxes, seed=9)
    found = [bad_boxes(model, [(row, limited)], seed=seed)[0].share for seed in range(100, 100 + seeds)]
    held = sum(each.low <= share <= each.high for each in found)
    mean = sum(each.value for each in found) / seeds
    print(
        f"coverage: {row}, {hands}: {share:.2e} of {boxes:,} boxes, mean of {seeds} studies {mean:.2e}, {held} hold it"
    )


if __name__ == "__main__":
    many = round(float(sys.argv[1]) * 1e6) if len(sys.argv) > 1 else 1_000_000
    if len(sys.argv) > 2:
        coverage(int(sys.argv[2]), many)
    else:
        searches()
        shares(many)
