"""Runs every tool in every formulation, checks what it found, and prints one table in Markdown.

    python compare.py STORE RULES_FOLDER [--ours COMMAND] [--rounds R] [--threads T] [--only TOOL …]

Each measurement is a process of its own with one warm-up and one timed round, and all of them take turns,
so that a busy minute of the machine hits everyone. COMMAND is our own program with its arguments, in which
{store}, {rules} and {threads} are filled in; it prints JSON lines with "what": "read" for reading the needed
columns and "what": "detect" for judging, and "seconds" of its timed rounds.
"""

import argparse
import json
import shlex
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

import check
import duckdb_rules

HERE = Path(__file__).parent
TOOLS = {
    "polars": ("filter_first", "runs"),
    "duckdb": ("filter_first", "windows"),
    "pandas": ("per_file", "per_flight"),
}


def measure(command):
    """The JSON lines that a program prints; its complaints go to ours."""
    done = subprocess.run(command, check=True, stdout=subprocess.PIPE, text=True)
    return [json.loads(line) for line in done.stdout.splitlines() if line.startswith("{")]


def commands(args, folder):
    """Every measurement by tool and formulation, with the file for its result."""
    found = {}
    for tool in args.only or TOOLS:
        for formulation in TOOLS[tool]:
            result = str(Path(folder, f"{tool}_{formulation}.parquet"))
            command = [sys.executable, str(HERE / f"{tool}_rules.py"), args.store, args.rules_folder]
            command += ["--formulation", formulation, "--threads", str(args.threads), "--rounds", "1"]
            if args.rules:
                command += ["--rules", str(args.rules)]
            found[tool, formulation] = (command, result)
    return found


def collect(args, folder):
    """What was measured, by name and formulation; `read` and `detect` are ours. Stops at a wrong result."""
    measured = {}
    for turn in range(args.rounds):
        if args.ours:
            filled = args.ours.format(store=args.store, rules=args.rules_folder, threads=args.threads)
            for line in measure(shlex.split(filled)):
                measured.setdefault(("ours", line["what"]), []).append(line)
        for name, (command, result) in commands(args, folder).items():
            more = ["--result", result] if turn == 0 else []
            measured.setdefault(name, []).extend(measure(command + more))
            if turn == 0:
                _check(args, name, result)
    return measured


def _check(args, name, result):
    rules = check.read_rules(args.rules_folder, args.rules)
    differences, counts = check.compare(args.store, rules, result)
    for one in differences:
        print(*one, sep=" | ", file=sys.stderr)
    if differences:
        sys.exit(f"{' '.join(name)} differs from the store")
    told = ", ".join(f"{rows} {kind} rows of {of_rules} rules" for kind, rows, of_rules in counts)
    print(f"{' '.join(name)}: equal ({told})", file=sys.stderr)


def _seconds(lines, key="seconds"):
    return [one for line in lines for one in line.get(key, [])]


def _median(lines, key="seconds"):
    seconds = _seconds(lines, key)
    return statistics.median(seconds) if seconds else None


def _number(value, digits=2):
    return "–" if value is None else f"{value:.{digits}f}"


def table(measured):
    """Markdown; of every tool the fastest formulation is the one that counts, and stands in bold."""
    ours, floor = (_median(measured.get(("ours", what), [])) for what in ("detect", "read"))
    fastest = {}
    for tool, formulation in measured:
        if tool != "ours":
            before = fastest.get(tool)
            if before is None or _median(measured[tool, formulation]) < _median(measured[tool, before]):
                fastest[tool] = formulation
    yield "| tool | formulation | median s | least–most s | processor s | × ours | × reading | peak MiB |"
    yield "|---|---|--:|--:|--:|--:|--:|--:|"
    for (tool, formulation), lines in measured.items():
        seconds, median = _seconds(lines), _median(lines)
        if not seconds:
            continue
        name = f"{lines[0].get('tool', tool)} {lines[0].get('version', '')}".strip()
        if fastest.get(tool) == formulation:
            name, formulation = f"**{name}**", f"**{formulation}**"
        cells = [
            name,
            formulation,
            _number(median),
            f"{min(seconds):.2f}–{max(seconds):.2f}",
            _number(_median(lines, "processor_seconds")),
            _number(median / ours if ours else None),
            _number(median / floor if floor else None),
            _number(max(line["peak_rss_mib"] for line in lines), 0),
        ]
        yield f"| {' | '.join(cells)} |"


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("store")
    parser.add_argument("rules_folder")
    parser.add_argument("--ours", help="command of our own program")
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--threads", type=int, default=2)
    parser.add_argument("--rules", type=int, help="only the first so many by name")
    parser.add_argument("--only", nargs="+", choices=list(TOOLS), help="only these tools")
    args = parser.parse_args()
    stale = duckdb_rules.outdated(HERE / "queries", check.read_rules(args.rules_folder))
    if stale:
        names = ", ".join(path.name for path in stale)
        sys.exit(f"{names}: not the SQL that is run; write it anew with duckdb_rules.py --write-sql queries")
    with tempfile.TemporaryDirectory() as folder:
        measured = collect(args, folder)
    some = next(iter(measured.values()))[-1]
    print(f"{some['rules']} rules, {some['rows']:,} samples of {some['approaches']:,} approaches, "
          f"{args.threads} threads, {args.rounds} rounds.\n")
    print("\n".join(table(measured)))


if __name__ == "__main__":
    main()
