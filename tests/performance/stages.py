"""What each stage of a review costs: load, detect, summarise and report by themselves, and one whole review.

    python stages.py FLEET [--threads 1,2] [--rounds 3] [--program PATH] [--work FOLDER]

In every round the four stages fill one empty output folder one after the other, and a review fills another. Rounds
go through all numbers of threads in turn, so that a busy minute of the machine hits them all. JSON lines of every
round come first, then a table of the medians. The work folder needs room for two outputs; all of it is removed.

The four stages together cost more than the review: each is a process that opens fleet and store anew, and `report`
makes the summary again that `summarise` has written.
"""

from pathlib import Path

import measured


def one_round(args, threads, work):
    """The costs of each stage and of a whole review, and how many approaches there are."""
    apart, whole = measured.fresh(work / "apart"), measured.fresh(work / "whole")
    costs = {name: measured.stage(args, name, args.fleet, apart, threads) for name in measured.STAGES}
    costs["review"] = measured.stage(args, "review", args.fleet, whole, threads)
    counts = measured.approaches(apart), measured.approaches(whole)
    if counts[0] != counts[1]:
        measured.stop(f"the stages found {counts[0]} approaches and the review {counts[1]}", "the same number",
                      "do not trust the figures: report the fleet's options and the program's version")
    return costs, counts[0]


def rows(found, approaches):
    """Rows of the table: every number of threads, then the stages in order."""
    for threads, rounds in found.items():
        review = measured.medians([one["review"] for one in rounds])["processor_seconds"]
        for name in (*measured.STAGES, "review"):
            cost = measured.medians([one[name] for one in rounds])
            yield (
                f"`{name}`",
                threads,
                f"{cost['seconds']:.2f}",
                f"{cost['least_seconds']:.2f}–{cost['most_seconds']:.2f}",
                f"{cost['processor_seconds']:.2f}",
                f"{cost['processor_seconds'] / review:.2f}",
                f"{1000 * cost['processor_seconds'] / approaches:.2f}" if approaches else None,
                f"{cost['peak_mib']:.0f}",
            )


def main():
    parser = measured.arguments(__doc__.split("\n")[0], rounds=3)
    parser.add_argument("fleet", type=measured.fleet_folder, help="fleet folder")
    parser.add_argument("--threads", type=measured.numbers, default=[1, 2], help="numbers of threads, as 1,2")
    parser.add_argument("--work", help="folder for what the program writes [default: one of the system's]")
    args = parser.parse_args()
    found, approaches = {}, 0
    with measured.work_folder(args.work) as work:
        for turn in range(args.rounds):
            for threads in args.threads:
                costs, approaches = one_round(args, threads, Path(work))
                for name, cost in costs.items():
                    measured.line(name, approaches=approaches, threads=threads, round=turn + 1, **cost)
                found.setdefault(threads, []).append(costs)
    print(f"\n{approaches:,} approaches; rounds: {args.rounds}.")
    measured.table(("stage", "threads", "median s", "least–most s", "processor s", "× review", "processor s / 1,000",
                    "peak MiB"), rows(found, approaches))


if __name__ == "__main__":
    main()
