"""What a stored value takes: bytes of the sample files of a store, over the values that they hold.

    python store_size.py STORE [--largest 10] [--at-most BYTES]

Bytes are those of whole files on the disk, footers and all, of the files that the store's log names. Key, place in
time and labels (`approach_key`, `k`, `time_s` and the columns of text) are paid for in these bytes, but their cells
are not counted as values: they hardly vary, and would flatter the figure. A *cell* is a row of a column; it is *known*
where it is not null. *Plain* is what the known values would take uncompressed, 4 bytes a number and 1 a state.

Where cleaning a record changed what it shows, its samples are stored a second time as they were before, under a
negative key. These copies repeat nearly all of the first, so their bytes count and their values do not.

Columns are *recorded* where the store's table of quality has seen their parameter in a record, and *worked out* else.

Known values are those of the store's grid. Where that is finer than a parameter was recorded, they lie between
recorded ones, so bytes per known value are no bytes per recorded value. Columns are read only where a row group holds
second copies or a footer lacks its count of nulls. Exit code 1 where the bytes per known value are above `--at-most`,
if given.
"""

import argparse
import sys

import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq

import measured

KEYS = ("approach_key", "k", "time_s")
COUNTED = ("cells", "known", "bytes", "plain")


def label(field):
    """Whether a column is a key, a place in time or a label."""
    inner = field.type.value_type if pa.types.is_dictionary(field.type) else field.type
    return field.name in KEYS or pa.types.is_string(inner) or pa.types.is_large_string(inner)


def kind(field):
    """Numbers, or states, which are small whole numbers."""
    return "states" if pa.types.is_int8(field.type) else "numbers"


def known(file, group, place, first):
    """Known cells of a column of a row group, second copies left out; `first` tells the other rows, None being all."""
    chunk = file.metadata.row_group(group).column(place)
    if first is None and chunk.statistics is not None and chunk.statistics.has_null_count:
        return chunk.num_values - chunk.statistics.null_count
    column = file.read_row_group(group, columns=[file.schema_arrow.names[place]]).column(0)
    column = column if first is None else column.filter(first)
    return len(column) - column.null_count


def add(path, columns):
    """Adds the columns of a file to `columns`, by name; its samples, and how many more are second copies."""
    try:
        file = pq.ParquetFile(path)
    except (OSError, pa.ArrowInvalid) as error:
        measured.stop(f"{path}: {error}", "a sample file that the store's log names",
                      "run `glidetally store verify OUT`")
    samples, copies = 0, 0
    for group in range(file.metadata.num_row_groups):
        of_group = file.metadata.row_group(group)
        first = pc.greater_equal(file.read_row_group(group, columns=["approach_key"])["approach_key"], 0)
        rows = pc.sum(first).as_py()
        samples += rows
        copies += of_group.num_rows - rows
        for place, field in enumerate(file.schema_arrow):
            start = {"label": label(field), "kind": kind(field)} | dict.fromkeys(COUNTED, 0)
            one = columns.setdefault(field.name, start)
            values = known(file, group, place, first if rows < of_group.num_rows else None)
            one["cells"] += rows
            one["known"] += values
            one["bytes"] += of_group.column(place).total_compressed_size
            if not one["label"]:
                one["plain"] += values * (field.type.bit_width // 8)
    return samples, copies


def parameters(store):
    """The parameters that were seen in records, own ones among them."""
    files = measured.store_files(store, "quality")
    return {name for path in files for name in pq.read_table(path, columns=["parameter"])["parameter"].to_pylist()}


def by_kind(columns, recorded):
    """Cells, known values and bytes of the columns of each kind."""
    found = {}
    for name, one in columns.items():
        origin = "recorded" if name in recorded else "worked out"
        title = "keys and labels" if one["label"] else f"{origin} {one['kind']}"
        of_kind = found.setdefault(title, {"columns": 0} | dict.fromkeys(COUNTED, 0))
        of_kind["columns"] += 1
        for what in COUNTED:
            of_kind[what] += one[what]
    return dict(sorted(found.items()))


def rate_hz(path):
    """Samples a second, from the first two of the first approach of a file."""
    first = next(pq.ParquetFile(path).iter_batches(batch_size=2, columns=["k", "time_s"])).to_pydict()
    if first["k"] != [0, 1]:
        measured.stop(f"{path} begins with the samples {first['k']}", "0 and 1 of an approach",
                      "give the store of a review")
    return round(1 / (first["time_s"][1] - first["time_s"][0]), 3)


def size(one):
    """Cells of a table: MiB, share that is known, bytes per known value."""
    return (f"{one['bytes'] / 2**20:.2f}", f"{100 * one['known'] / one['cells']:.1f}",
            f"{one['bytes'] / one['known']:.3f}" if one["known"] else None)


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("store", help="folder of a store, OUT/restricted/store of a review")
    parser.add_argument("--largest", type=measured.positive, default=10, help="so many columns in the table")
    parser.add_argument("--at-most", type=float, help="exit code 1 above so many bytes per known value")
    args = parser.parse_args()
    files = measured.store_files(args.store, "samples")
    if not files:
        measured.stop(f"{args.store} holds no sample files", "the store of a review that found approaches",
                      "give OUT/restricted/store of a review")
    columns = {}
    rows, copies = (sum(counts) for counts in zip(*(add(path, columns) for path in files)))
    values = [one for one in columns.values() if not one["label"]]
    cells, filled = (sum(one[what] for one in values) for what in ("cells", "known"))
    if filled == 0:
        measured.stop(f"{args.store} holds no known value", "samples of flights", "look at its table `quality`")
    on_disk, in_columns = sum(path.stat().st_size for path in files), sum(one["bytes"] for one in columns.values())
    figures = {
        "rate_hz": rate_hz(files[0]), "files": len(files), "rows": rows, "second_copies": copies,
        "columns": len(columns), "bytes": on_disk, "bytes_of_footers": on_disk - in_columns,
        "bytes_of_labels": sum(one["bytes"] for one in columns.values() if one["label"]),
        "cells": cells, "known": filled, "known_share": round(filled / cells, 4),
        "bytes_per_known": round(on_disk / filled, 4), "bytes_per_cell": round(on_disk / cells, 4),
        "bytes_per_row": round(on_disk / rows, 1),
        "plain_per_known": round(sum(one["plain"] for one in values) / filled, 4),
    }
    kinds = by_kind(columns, parameters(args.store))
    measured.line("store", **figures, kinds=kinds)
    print(f"\n{rows:,} samples at {figures['rate_hz']:g} Hz in {len(files)} files of {on_disk / 2**20:.1f} MiB; "
          f"{filled:,} known values in {cells:,} cells of {len(values)} columns. "
          f"{copies:,} more samples are second copies.")
    measured.table(("bytes over", "bytes"), [
        ("known values", f"{figures['bytes_per_known']:.3f}"), ("all cells", f"{figures['bytes_per_cell']:.3f}"),
        ("rows", f"{figures['bytes_per_row']:.1f}"), ("known values, plain", f"{figures['plain_per_known']:.3f}")])
    measured.table(("columns", "how many", "MiB", "known, %", "bytes / known value"), [
        (name, one["columns"], *size(one)) for name, one in kinds.items()])
    largest = sorted(columns.items(), key=lambda item: (-item[1]["bytes"], item[0]))[:args.largest]
    head = (f"the {len(largest)} largest columns", "MiB", "% of the files", "known, %", "bytes / known value")
    measured.table(head, [
        (f"`{name}`", size(one)[0], f"{100 * one['bytes'] / on_disk:.1f}", *size(one)[1:]) for name, one in largest])
    if args.at_most is not None:
        small = figures["bytes_per_known"] <= args.at_most
        print(f"\nat most {args.at_most:g} bytes per known value: {'yes' if small else 'NO'}")
        sys.exit(0 if small else 1)


if __name__ == "__main__":
    main()
