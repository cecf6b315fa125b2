"""Runs the program as a process of its own and says what it cost; what all the measuring scripts share.

Seconds are wall time from starting the process to its end. Processor seconds are those of all its threads, in the
program and in the system for it. Memory is the most that was resident at any moment, MiB. All three come from the
system's own account of the finished process (`wait4`), so that nothing has to be asked while it works.
"""

import argparse
import csv
import json
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

TOP = Path(__file__).resolve().parents[2]
STAGES = ("load", "detect", "summarise", "report")
# 1 is "done, with findings": the invented fleets hold damaged records, and these are refused as they must be.
DONE = (0, 1)


def stop(what, expected, todo):
    """Ends the script with exit code 2: what is wrong, what was expected, what to do about it."""
    print(f"error: {what}\n  expected: {expected}\n  to do: {todo}", file=sys.stderr)
    sys.exit(2)


def run(command):
    """Runs a command to its end; its cost, the exit code beside it. Stops where it was not done."""
    command = [str(part) for part in command]
    with tempfile.TemporaryFile("w+", encoding="utf-8", errors="replace") as said:
        start = time.perf_counter()
        try:
            child = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=said)
        except OSError as error:
            stop(f"{command[0]}: {error.strerror}", "a program that can be run",
                 "build it with `cargo build --release --workspace --bins --examples`, or name it with its option")
        # A process counts as its own what its parent held when starting it: this one is small, and stays so.
        _, status, used = os.wait4(child.pid, 0)
        seconds = time.perf_counter() - start
        child.returncode = os.waitstatus_to_exitcode(status)
        if child.returncode not in DONE:
            said.seek(0)
            print(said.read()[-4000:], file=sys.stderr)
            stop(f"`{' '.join(command)}` ended with {child.returncode}", "exit code 0 or 1",
                 "read what it said above, and run the command by itself")
    return {
        "exit_code": child.returncode,
        "seconds": round(seconds, 4),
        "processor_seconds": round(used.ru_utime + used.ru_stime, 4),
        "peak_mib": round(used.ru_maxrss / 1024, 1),  # the system counts in KiB
    }


def stage(args, name, fleet, out, threads):
    """One command of the program, with a fleet and an output folder."""
    return run([args.program, name, fleet, "--out", out, "--threads", threads, "--quiet"])


def medians(costs):
    """The median of each figure over the rounds; memory is the greatest, as that is what a machine must have."""
    return {
        "rounds": len(costs),
        "seconds": round(statistics.median(cost["seconds"] for cost in costs), 4),
        "least_seconds": min(cost["seconds"] for cost in costs),
        "most_seconds": max(cost["seconds"] for cost in costs),
        "processor_seconds": round(statistics.median(cost["processor_seconds"] for cost in costs), 4),
        "peak_mib": max(cost["peak_mib"] for cost in costs),
    }


def least_squares(points, weights=None):
    """Constant and slope of the line through (x, y) with the least sum of squares, weighted if weights are given."""
    weights = weights or [1.0] * len(points)
    whole = sum(weights)
    x_mean = sum(w * x for w, (x, _) in zip(weights, points)) / whole
    y_mean = sum(w * y for w, (_, y) in zip(weights, points)) / whole
    spread = sum(w * (x - x_mean) ** 2 for w, (x, _) in zip(weights, points))
    slope = sum(w * (x - x_mean) * (y - y_mean) for w, (x, y) in zip(weights, points)) / spread
    return y_mean - slope * x_mean, slope


def approaches(out):
    """How many approaches a review found: the rows of its table of approaches."""
    path = Path(out, "restricted", "tables", "approaches.csv")
    if not path.is_file():
        stop(f"{path} is not there", "the table that a review writes", "look at the review's own messages")
    with path.open(encoding="utf-8", newline="") as file:
        return sum(1 for _ in csv.DictReader(file))


def runs(store):
    """The log of a store, run by run in order."""
    paths = sorted(Path(store, "runs").glob("*.json"))
    if not paths:
        stop(f"{store} has no runs/*.json", "the folder of a store, OUT/restricted/store of a review",
             "give the store's folder, or review a fleet first")
    return [json.loads(path.read_text(encoding="utf-8")) for path in paths]


def store_files(store, table):
    """The files of one table as the log says now: those added, less those removed by a later run."""
    files = []
    for one in runs(store):
        gone = set(one["removed"].get(table, []))
        files = [name for name in files if name not in gone] + one["added"].get(table, [])
    return [Path(store, name) for name in files]


def folder_mib(folder):
    """What the files of a folder take, MiB."""
    return round(sum(path.stat().st_size for path in Path(folder).rglob("*") if path.is_file()) / 2**20, 1)


def arguments(description, *, rounds):
    """The options that every measuring script has."""
    parser = argparse.ArgumentParser(description=description)
    parser.add_argument("--program", default=TOP / "target" / "release" / "glidetally", help="the program to measure")
    parser.add_argument("--rounds", type=positive, default=rounds, help="rounds of which the median counts")
    return parser


def positive(text):
    """A whole number of at least 1, for an option."""
    number = int(text)
    if number < 1:
        raise argparse.ArgumentTypeError(f"{text} is less than 1")
    return number


def numbers(text):
    """Whole numbers of at least 1 with commas between, for an option; in rising order, none twice."""
    return sorted({positive(part) for part in text.split(",")})


def fleet_folder(text):
    """A folder with a fleet.toml in it, for an argument."""
    if not Path(text, "fleet.toml").is_file():
        raise argparse.ArgumentTypeError(
            f"{text} holds no fleet.toml; write a fleet with `glidetally demo write {text} --flights 3000`")
    return Path(text)


def work_folder(given):
    """A folder for what is written while measuring; one of its own, removed in the end, unless one is given."""
    if given:
        Path(given).mkdir(parents=True, exist_ok=True)
    return tempfile.TemporaryDirectory(prefix="measure-", dir=given)


def fresh(folder):
    """The folder, emptied: a review finds nothing of an earlier one there."""
    shutil.rmtree(folder, ignore_errors=True)
    Path(folder).mkdir(parents=True)
    return Path(folder)


def line(what, **figures):
    """One JSON line."""
    print(json.dumps({"what": what, **figures}), flush=True)


def table(columns, rows):
    """A table in Markdown; the first column is text, the others are numbers. None is a dash."""
    print("\n| " + " | ".join(columns) + " |")
    print("|---" + "|--:" * (len(columns) - 1) + "|")
    for row in rows:
        print("| " + " | ".join("–" if cell is None else str(cell) for cell in row) + " |")
