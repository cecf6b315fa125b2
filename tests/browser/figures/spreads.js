// Where values lie: energy on the way in, margins to the flap limits, moments, and the measure of each rule.
import { quantileHeads, quantiles } from "./cells.js";
import { isFleet, isHead, sorted } from "./names.js";
import { number } from "./shown.js";

const MOMENTS = [
  ["stabilised_height_ft", "settled", "ft"],
  ["landing_flap_height_aal_ft", "landing flap", "ft"],
  ["gear_down_height_aal_ft", "gear down", "ft"],
  ["go_around_height_ft", "go-around", "ft"],
  ["first_flap_nm", "first flap", "NM"],
];
const OWN = ["energy_excess_ft", "flap_margin_kt", "worst", ...MOMENTS.map(([measure]) => measure)];

// From far out to close in: miles first, then heights.
const way = (at) => (at.endsWith("nm") ? -1e6 : 0) - Number.parseFloat(at);

export const checkpoint = (at) => at.replace(/^(\d+)(nm|ft)$/, (_, size, unit) =>
  `${Number(size).toLocaleString("en-US")} ${unit === "nm" ? "NM" : "ft"}`);

export function spreads(holding, names) {
  const own = holding.tables.spreads.rows;
  const latest = holding.page.month || "the latest month";
  const period = (row) => ({ latest, before: `before ${latest}` })[row.period] ?? "all months";
  const quantity = (label, row) => ({ of: `${row.measure} ${row.rule}${row.at}, ${row.group}, ${row.period}`, cells: quantiles(label, row) });
  const held = (region, first, rows) => holding.hold(region, { csv: "spreads", heads: quantileHeads(first), rows });
  for (const measure of new Set(own.map((row) => row.measure))) {
    if (!OWN.includes(measure)) holding.tell("spreads.csv", `its measure ${measure} stands nowhere on the page`);
  }

  const energy = own.filter((row) => row.measure === "energy_excess_ft" && row.group_kind !== "airport" && row.period !== "before");
  const groups = new Map(energy.map((row) => [isFleet(row) ? "whole fleet" : row.group, row.group]));
  for (const [title, group] of groups) {
    const rows = sorted(energy.filter((row) => row.group === group), (row) => way(row.at), (row) => row.period);
    held(`energy excess, ${title}`, "Checkpoint and period", rows.map((row) => quantity(`${checkpoint(row.at)}, ${period(row)}`, row)));
  }

  const margins = own.filter((row) => row.measure === "flap_margin_kt" && row.period === "all");
  held("margin to the flap limit", "Type and lever", sorted(margins, (row) => row.group, (row) => number(row.at))
    .map((row) => quantity(`${row.group}, flap ${row.at}`, row)));

  for (const unit of ["ft", "NM"]) {
    const rows = MOMENTS.filter((moment) => moment[2] === unit).flatMap(([measure, title]) =>
      ["latest", "before"].flatMap((when) => own
        .filter((row) => row.measure === measure && isFleet(row) && row.period === when)
        .map((row) => quantity(`${title}, ${period(row)}`, row))));
    held(`when things were done, in ${unit}`, "What, and when", rows);
  }

  // Rules on trial have their spread in the table only. So have gates of several criteria, of which it is the number
  // that failed: which of them did is told in a table of its own.
  const gates = new Set(holding.tables.gate_criteria.rows.map((row) => row.rule));
  const measured = holding.tables.rates.rows.filter((row) => isHead(row) && row.rule_status === "core" && row.rule !== "" && !gates.has(row.rule));
  for (const rule of measured) {
    const rows = ["latest", "before"].flatMap((when) => own.filter((row) => row.rule === rule.rule && row.period === when));
    held(`spread, ${names.title(rule)}`, "Period", rows.map((row) => quantity(period(row), row)));
  }
}
