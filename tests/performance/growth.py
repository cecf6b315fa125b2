"""How the cost of a review grows with the fleet: invented fleets of rising size, reviewed by stages and whole.

    python growth.py WORK [--sizes 1000,3000,10000,30000,100000] [--seed 1] [--months 12] [--threads 2]
                          [--rounds 1] [--within 20] [--program PATH]

The fleets are written to WORK/fleets by `demo write` and used again the next time. A size is what is asked for, in
flights; the approaches are counted in what the review wrote, and everything is divided by that count. Outputs are
removed as soon as they are measured. JSON lines come first, then the tables, then the checks:

- *against the median*: processor seconds per approach of the whole review, start included, at the largest size over
  the median of the same at all sizes;
- *a line*: the line a + b × approaches through the processor seconds of the whole review with the least sum of
  squares of relative errors (weights 1 / seconds²), and the greatest distance of a size from it, in % of the line;
- *the last step*: processor seconds per approach added between the last two sizes over the same between the first two.
  The start of the program falls out of it, so that this is the first to tell of growth that is faster than a line.

Exit code 1 where the first is above 1 + within/100, or the second above within. Two sizes lie on a line always, so
fewer than three are refused.
"""

import json
import shutil
import statistics
import sys
from pathlib import Path

import measured


def fleet(args, size):
    """The folder of the fleet of this size, written unless it is there already."""
    folder = args.work / "fleets" / f"{size}-flights-{args.months}-months-seed-{args.seed}"
    # `demo write` gives a folder its name when it is complete: what is there is whole.
    if not folder.exists():
        folder.parent.mkdir(parents=True, exist_ok=True)
        cost = measured.run([args.program, "demo", "write", folder, "--flights", size, "--months", args.months,
                             "--seed", args.seed, "--quiet"])
        measured.line("written", flights=size, **cost)
    elif not (folder / "fleet.toml").is_file():
        measured.stop(f"{folder} holds no fleet.toml", "a fleet of an earlier run, or nothing", "remove the folder")
    return folder


def measure(args, size, turn):
    """One round at one size: the cost of each stage and of the whole review, and the approaches it found."""
    folder, out = fleet(args, size), args.work / "out"
    costs = {}
    measured.fresh(out)
    for name in measured.STAGES:
        costs[name] = measured.stage(args, name, folder, out, args.threads)
    apart = measured.approaches(out)
    measured.fresh(out)
    costs["review"] = measured.stage(args, "review", folder, out, args.threads)
    found, store_mib = measured.approaches(out), measured.folder_mib(out / "restricted" / "store")
    shutil.rmtree(out)
    if found == 0 or found != apart:
        measured.stop(f"{folder}: the stages found {apart} approaches and the review {found}",
                      "the same number, above 0", "remove the fleet, so that it is written anew")
    for name, cost in costs.items():
        measured.line(name, flights=size, approaches=found, threads=args.threads, round=turn + 1, **cost)
    measured.line("sizes", flights=size, approaches=found, records_mib=measured.folder_mib(folder / "records"),
                  store_mib=store_mib)
    return found, costs


def checks(points):
    """The three figures of the head of this file, of (approaches, processor seconds) in rising order."""
    each = [seconds / n for n, seconds in points]
    steps = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in zip(points, points[1:])]
    constant, slope = measured.least_squares(points, [1 / seconds**2 for _, seconds in points])
    off = max(abs(seconds / (constant + slope * n) - 1) for n, seconds in points)
    return {
        "largest_to_median": round(each[-1] / statistics.median(each), 3),
        "line_constant_s": round(constant, 3),
        "line_s_per_1000": round(1000 * slope, 3),
        "off_line_pct": round(100 * off, 1),
        "last_step_to_first": round(steps[-1] / steps[0], 3) if steps[0] > 0 else None,
    }


def tables(found):
    """Two tables: the whole review by size, and the processor seconds of each stage per 1,000 approaches."""
    whole, apart, before = [], [], None
    for n, costs in found:
        cost = costs["review"]
        step = None
        if before:
            step = f"{1000 * (cost['processor_seconds'] - before[1]) / (n - before[0]):.2f}"
        before = n, cost["processor_seconds"]
        whole.append((f"{n:,}", f"{cost['seconds']:.1f}", f"{cost['processor_seconds']:.1f}",
                      f"{1000 * cost['seconds'] / n:.2f}", f"{1000 * cost['processor_seconds'] / n:.2f}", step,
                      f"{cost['peak_mib']:.0f}"))
        apart.append((f"{n:,}", *(f"{1000 * costs[name]['processor_seconds'] / n:.2f}" for name in measured.STAGES),
                      *(f"{costs[name]['peak_mib']:.0f}" for name in measured.STAGES)))
    measured.table(("approaches", "s", "processor s", "s / 1,000", "processor s / 1,000",
                    "processor s / 1,000 added", "peak MiB"), whole)
    measured.table(("approaches", *(f"`{name}`, processor s / 1,000" for name in measured.STAGES),
                    *(f"`{name}`, peak MiB" for name in measured.STAGES)), apart)


def main():
    parser = measured.arguments(__doc__.split("\n")[0], rounds=1)
    parser.add_argument("work", type=Path, help="folder for fleets, which stay, and outputs, which do not")
    parser.add_argument("--sizes", type=measured.numbers, default=[1000, 3000, 10_000, 30_000, 100_000],
                        help="flights of each fleet, at least three sizes")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--months", type=measured.positive, default=12)
    parser.add_argument("--threads", type=measured.positive, default=2)
    parser.add_argument("--within", type=float, default=20, help="how far from linear is allowed, %%")
    args = parser.parse_args()
    if len(args.sizes) < 3:
        parser.error("--sizes: give at least three, as any two lie on a line")
    rounds = {size: [] for size in args.sizes}
    for turn in range(args.rounds):
        for size in args.sizes:
            rounds[size].append(measure(args, size, turn))
    found = []
    for of_size in rounds.values():
        names = of_size[0][1]
        found.append((of_size[0][0], {name: measured.medians([one[1][name] for one in of_size]) for name in names}))
    print(f"\nThreads: {args.threads}; rounds: {args.rounds}; months: {args.months}; seed: {args.seed}.")
    tables(found)
    figures = {name: checks([(n, costs[name]["processor_seconds"]) for n, costs in found])
               for name in ("review", *measured.STAGES)}
    print()
    for name, figure in figures.items():
        measured.line("linear", of=name, **figure)
    review = figures["review"]
    linear = review["largest_to_median"] <= 1 + args.within / 100 and review["off_line_pct"] <= args.within
    print(f"\nlinear within {args.within:g} %: {'yes' if linear else 'NO'}: {json.dumps(review)}")
    sys.exit(0 if linear else 1)


if __name__ == "__main__":
    main()
