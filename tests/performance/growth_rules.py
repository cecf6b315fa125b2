"""How the cost of judging grows with the number of rules, over the samples of one store.

    python growth_rules.py STORE [--rules 1,20,40,60] [--rounds 5] [--threads 2] [--within 25]
                           [--at-most 5] [--detect-cost PATH]

`detect_cost` judges the store by parts of the pack, each an even selection of it, and reads the same columns without
judging, in turns; it tells wall seconds only, so the machine must be idle. Of every number of rules the median counts.
The figures:

- *scan*: reading the columns of the largest part, seconds: what any number of rules costs at least;
- *each rule*: the slope of the line with the least sum of squares through the seconds of judging against the number
  of rules, as a share of the scan. Columns that are read because a rule needs them are in it;
- *each rule, without reading*: the same of the seconds of judging less those of reading. Exit code 1 where it is
  above `--at-most` %, if given;
- *off the line*: the greatest distance of a number of rules from the first line, in % of the line;
- *last above the others*: how far judging less reading by the most rules lies above the line that the smaller
  numbers make, in %: above 0 the last rules cost more than those before. Exit code 1 where it is above `--within`.
"""

import argparse
import json
import statistics
import subprocess
import sys

import measured


def measure(args):
    """The median seconds of reading and judging, by number of rules; beside them rows, approaches and memory."""
    measured.runs(args.store)
    command = [str(args.detect_cost), args.store, "--rules", ",".join(map(str, args.rules)),
               "--rounds", str(args.rounds), "--threads", str(args.threads)]
    try:
        done = subprocess.run(command, check=False, capture_output=True, text=True)
    except OSError as error:
        measured.stop(f"{args.detect_cost}: {error.strerror}", "the example detect_cost",
                      "build it with `cargo build --release --workspace --examples`, or give --detect-cost PATH")
    if done.returncode:
        measured.stop(f"{args.detect_cost}: {done.stderr.strip()}", "the folder of a store that a review has filled",
                      "give OUT/restricted/store of a review")
    found = {}
    for text in done.stdout.splitlines():
        told = json.loads(text)
        print(text, flush=True)
        found.setdefault(told["rules"], {})[told["what"]] = told
    most = max(found)
    # A number above the size of the pack gives the whole pack.
    if most < max(args.rules):
        measured.stop(f"--rules asks for {max(args.rules)} rules, and {most} read samples", f"numbers up to {most}",
                      f"give --rules with {most} as its greatest number")
    if found[most]["read"]["rows"] == 0:
        measured.stop(f"{args.store} holds no samples", "the store of a review that found approaches",
                      "give OUT/restricted/store of a review")
    return dict(sorted(found.items()))


def figures(found):
    """The figures of the head of this file."""
    read = {n: statistics.median(one["read"]["seconds"]) for n, one in found.items()}
    judge = {n: statistics.median(one["detect"]["seconds"]) for n, one in found.items()}
    most = max(found)
    scan = read[most]
    constant, slope = measured.least_squares(list(judge.items()))
    net = [(n, judge[n] - read[n]) for n in found]
    _, apart = measured.least_squares(net)
    before = measured.least_squares(net[:-1])
    return {
        "scan_s": round(scan, 4),
        "each_rule_of_scan_pct": round(100 * slope / scan, 2),
        "each_rule_without_reading_of_scan_pct": round(100 * apart / scan, 2),
        "all_rules_to_scan": round(judge[most] / scan, 2),
        "off_line_pct": round(100 * max(abs(seconds / (constant + slope * n) - 1) for n, seconds in judge.items()), 1),
        "last_above_others_pct": round(100 * (net[-1][1] / (before[0] + before[1] * most) - 1), 1),
    }


def rows(found, scan):
    """Rows of the table, by number of rules."""
    for n, one in found.items():
        read, judge = (statistics.median(one[what]["seconds"]) for what in ("read", "detect"))
        yield (n, one["read"]["columns"], f"{read:.3f}", f"{judge:.3f}",
               f"{min(one['detect']['seconds']):.3f}–{max(one['detect']['seconds']):.3f}",
               f"{judge / read:.2f}", f"{100 * (judge - read) / n / scan:.2f}", f"{one['detect']['events']:,}")


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("store", help="folder of a store, OUT/restricted/store of a review")
    parser.add_argument("--rules", type=measured.numbers, default=[1, 20, 40, 60], help="at least three numbers")
    parser.add_argument("--rounds", type=measured.positive, default=5)
    parser.add_argument("--threads", type=measured.positive, default=2)
    parser.add_argument("--within", type=float, default=25, help="how far above a line is allowed, %%")
    parser.add_argument("--at-most", type=float, help="greatest cost of each rule without reading, %% of the scan")
    parser.add_argument("--detect-cost", default=measured.TOP / "target" / "release" / "examples" / "detect_cost")
    args = parser.parse_args()
    if len(args.rules) < 3:
        parser.error("--rules: give at least three numbers, as any two lie on a line")
    found = measure(args)
    told = figures(found)
    one = next(iter(found.values()))["read"]
    print(f"\n{one['rows']:,} samples of {one['approaches']:,} approaches; threads: {args.threads}; "
          f"rounds: {args.rounds}.")
    measured.table(("rules", "columns", "reading s", "judging s", "least–most s", "judging / reading",
                    "each rule without reading, % of the scan", "events"), rows(found, told["scan_s"]))
    print()
    measured.line("rules", **told)
    linear = told["last_above_others_pct"] <= args.within
    print(f"\nthe last rules cost no more than those before, within {args.within:g} %: {'yes' if linear else 'NO'}")
    each = told["each_rule_without_reading_of_scan_pct"]
    cheap = args.at_most is None or each <= args.at_most
    if args.at_most is not None:
        print(f"each rule without reading takes {each} % of the scan, at most {args.at_most:g}: "
              f"{'yes' if cheap else 'NO'}")
    sys.exit(0 if linear and cheap else 1)


if __name__ == "__main__":
    main()
