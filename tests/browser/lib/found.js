// Which pages and pictures there are: found in the folders, so that a new page is tested unasked.
import { existsSync, readdirSync } from "node:fs";
import { basename, dirname, join, resolve } from "node:path";

// All files below a folder with that ending, but for the store: many files, and none of them a page.
const listed = (folder, ending) =>
  readdirSync(folder, { withFileTypes: true })
    .sort((a, b) => (a.name < b.name ? -1 : 1))
    .flatMap((one) => {
      if (one.isDirectory()) return one.name === "store" ? [] : listed(join(folder, one.name), ending);
      return one.name.endsWith(ending) ? [join(folder, one.name)] : [];
    });

// The folder that may be handed on, and beside it the one that may not.
export function folders(share = process.env.REPORT_FOLDER) {
  if (!share) throw new Error("REPORT_FOLDER is not set: start these tests with tests/browser/run");
  const handed = resolve(share);
  const beside = join(dirname(handed), "restricted");
  return basename(handed) === "share" && existsSync(beside) ? [handed, beside] : [handed];
}

// Pages of single approaches: as many as there are examples, all from one template. Two stand for them.
const SINGLE = ["examples", "retraces"];
const STAND_FOR_ALL = 2;

export const isSingle = (file) => SINGLE.includes(basename(dirname(file)));

export function pages(share) {
  const all = folders(share).flatMap((folder) => listed(folder, ".html"));
  const singles = all.filter(isSingle).slice(0, STAND_FOR_ALL);
  return all.filter((file) => !isSingle(file) || singles.includes(file));
}

export const pictures = (share) => folders(share).flatMap((folder) => listed(folder, ".svg"));

// A short name for messages: the folder and the file.
export const named = (file) => join(basename(dirname(file)), basename(file));
