"""What one more month costs: eleven months reviewed at once, then the twelfth added to them, stage by stage and whole.

    python months.py FLEET [--threads 2] [--rounds 3] [--at-most load=1.5,review=4] [--program PATH] [--work FOLDER]

FLEET is a fleet folder whose record files or their folders are named after their month, YYYY-MM, as `demo write FLEET
--months 12` and `loading/flights.py` leave them; record files of no month in their path are left out, and counted.
FLEET is not changed: each round works on a copy of it, with hard links to the records where the file system has
them. The files of the last month join after the first review. In every round the four stages fill one output folder
and a review another, three times over:

- *first*: without the last month;
- *added*: the same output, the last month's files there too;
- *again*: the same once more, with nothing new.

`month` is the processor seconds of *first* over its months. The ratios are *added* over `month`, the same where both
are divided by their approaches, and (*added* − *again*) over `month`: what the new month itself took. A stage that
does only what is new has a ratio near 1; one that does everything anew has one near the number of months. Exit code 1
where the first ratio of a command is above what `--at-most` gives for it. That the last month's files were loaded, and
no others, is read from the store's log; that the months are those expected, from the headline figures.
"""

import argparse
import json
import os
import re
import shutil
import sys
import tomllib
from pathlib import Path

import measured

MONTH = re.compile(r"\d{4}-\d{2}")
STEPS = ("first", "added", "again")


def by_month(fleet):
    """The record files of a fleet by month, as paths within it, the months in order; beside them how many have none."""
    try:
        settings = tomllib.loads((fleet / "fleet.toml").read_text(encoding="utf-8"))
    except tomllib.TOMLDecodeError as error:
        measured.stop(f"{fleet / 'fleet.toml'}: {error}", "TOML", "put it right; `glidetally load` says more")
    folder = Path(settings.get("records", {}).get("path", "records"))
    found, without = {}, 0
    for path in sorted((fleet / folder).rglob("*")):
        if path.suffix not in (".parquet", ".csv"):
            continue
        inside = path.relative_to(fleet / folder)
        months = [part for part in (*inside.parts[:-1], inside.stem) if MONTH.fullmatch(part)]
        if months:
            found.setdefault(months[-1], []).append(folder / inside)
        else:
            without += 1
    if len(found) < 3:
        measured.stop(f"{fleet / folder} holds files of {len(found)} months", "three at least, named YYYY-MM",
                      f"write a fleet with `glidetally demo write {fleet} --flights 3000 --months 12`")
    return folder, dict(sorted(found.items())), without


def put(fleet, copy, files):
    """Puts record files of the fleet into its copy."""
    for name in files:
        (copy / name).parent.mkdir(parents=True, exist_ok=True)
        try:
            os.link(fleet / name, copy / name)
        except OSError:  # another file system, or one without links
            shutil.copy2(fleet / name, copy / name)


def loaded(store):
    """The input files that each load of a store took, in order of the runs."""
    return [one["file"] for run in measured.runs(store) if run["kind"] == "load" for one in run["inputs"]]


def check(out, store_before, files, months):
    """Stops unless exactly these files were loaded since, and the review is of these months."""
    now = loaded(out / "restricted" / "store")
    new = sorted(now[len(store_before):])
    if new != sorted(path.as_posix() for path in files):
        measured.stop(f"{out}: {len(new)} files were loaded, {', '.join(new[:3])} …", f"{len(files)} files",
                      "look at `glidetally store log` of a review of the same fleet")
    told = json.loads((out / "share" / "headline.json").read_text(encoding="utf-8"))["months"]
    if told != months:
        measured.stop(f"{out}: the review is of the months {', '.join(told)}", ", ".join(months),
                      "compare the months of the flight list with the names of the record files")
    return now


def one_round(args, work):
    """The costs by step and command, and the approaches after each step."""
    months = list(args.files)
    last, early = args.files[months[-1]], [path for month in months[:-1] for path in args.files[month]]
    copy, apart, whole = work / "fleet", measured.fresh(work / "apart"), measured.fresh(work / "whole")
    shutil.rmtree(copy, ignore_errors=True)
    shutil.copytree(args.fleet, copy, ignore=lambda at, names: [
        name for name in names if Path(at, name) in (args.fleet / args.records, args.fleet / "truth")])
    put(args.fleet, copy, early)
    costs, counts, before = {}, {}, {apart: [], whole: []}
    for step in STEPS:
        if step == "added":
            put(args.fleet, copy, last)
        costs[step] = {name: measured.stage(args, name, copy, apart, args.threads) for name in measured.STAGES}
        costs[step]["review"] = measured.stage(args, "review", copy, whole, args.threads)
        files = {"first": early, "added": last, "again": []}[step]
        for out in before:
            before[out] = check(out, before[out], files, months[:-1] if step == "first" else months)
        counts[step] = measured.approaches(whole)
    return costs, counts


def ratios(seconds, counts, months):
    """`month` and the three ratios of one command, of its processor seconds by step."""
    month = seconds["first"] / months
    more = counts["added"] - counts["first"]
    return {
        "month": round(month, 4),
        "added_to_month": round(seconds["added"] / month, 2),
        "by_approach": round((seconds["added"] / more) / (seconds["first"] / counts["first"]), 2) if more else None,
        "new_to_month": round((seconds["added"] - seconds["again"]) / month, 2),
    }


def limits(text):
    """Greatest ratios by command, for an option: load=1.5,review=4."""
    found = {}
    for part in text.split(","):
        name, _, ratio = part.partition("=")
        if name not in (*measured.STAGES, "review"):
            raise argparse.ArgumentTypeError(f"{name} is no command; there are {', '.join(measured.STAGES)}, review")
        try:
            found[name] = float(ratio)
        except ValueError:
            raise argparse.ArgumentTypeError(f"{part} gives no ratio; write {name}=1.5") from None
    return found


def main():
    parser = measured.arguments(__doc__.split("\n")[0], rounds=3)
    parser.add_argument("fleet", type=measured.fleet_folder, help="fleet folder, as of `demo write --months 12`")
    parser.add_argument("--threads", type=measured.positive, default=2)
    parser.add_argument("--at-most", type=limits, default={}, help="greatest ratios, as load=1.5,review=4")
    parser.add_argument("--work", help="folder for copies and outputs [default: one of the system's]")
    args = parser.parse_args()
    args.records, args.files, without = by_month(args.fleet)
    months, rounds, counts = len(args.files) - 1, [], {}
    with measured.work_folder(args.work) as work:
        for turn in range(args.rounds):
            costs, counts = one_round(args, Path(work))
            rounds.append(costs)
            for step, of_step in costs.items():
                for name, cost in of_step.items():
                    measured.line(name, step=step, approaches=counts[step], threads=args.threads, round=turn + 1,
                                  **cost)
    found, rows = {}, []
    for name in (*measured.STAGES, "review"):
        middle = {step: measured.medians([one[step][name] for one in rounds]) for step in STEPS}
        seconds = {step: cost["processor_seconds"] for step, cost in middle.items()}
        found[name] = ratios(seconds, counts, months)
        measured.line("month", of=name, months=months, **found[name])
        rows.append((f"`{name}`", *(f"{seconds[step]:.2f}" for step in STEPS), f"{found[name]['month']:.2f}",
                     *(None if ratio is None else f"{ratio:.2f}" for ratio in list(found[name].values())[1:]),
                     f"{middle['added']['seconds']:.2f}",
                     f"{middle['added']['peak_mib']:.0f}"))
    more = counts["added"] - counts["first"]
    print(f"\n{counts['first']:,} approaches of {months} months, then {more:,} of one more; threads: {args.threads}; "
          f"rounds: {args.rounds}; files of no month, left out: {without}.")
    measured.table(("stage", "first, processor s", "added", "again", "month", "added / month", "by approach",
                    "(added − again) / month", "added, s", "added, peak MiB"), rows)
    above = [name for name, limit in args.at_most.items() if found[name]["added_to_month"] > limit]
    for name, limit in args.at_most.items():
        print(f"\n{name}: one more month costs {found[name]['added_to_month']} of a month, at most {limit:g}: "
              f"{'NO' if name in above else 'yes'}", end="")
    print()
    sys.exit(1 if above else 0)


if __name__ == "__main__":
    main()
