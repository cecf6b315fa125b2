// What decides an approach: ends by energy, the checkpoint that tells, gates, go-arounds, routings, late drag.
import { isHidden, NOT_ESTIMATED, NOT_KNOWN, share, shareShort } from "./cells.js";
import { isFleet, sorted } from "./names.js";
import { cell, figure, number, reckoned } from "./shown.js";
import { checkpoint } from "./spreads.js";

const CLASSES = {
  low: "below the plan", on_profile: "on the plan", clean: "high: idle is enough", drag: "high: flap or speedbrake",
  gear: "high: only the gear", beyond: "high: nothing is enough",
};
const VERDICTS = ["unstable", "stable", "not known"];

export function outcomes(holding) {
  const own = holding.tables.energy_outcomes.rows.filter((row) => isFleet(row) && row.routing === "all");
  const classes = Object.keys(CLASSES).filter((name) => own.some((row) => row.energy_class === name));
  const places = [...new Set(own.map((row) => row.checkpoint))];
  const unknown = own.filter((row) => !(row.energy_class in CLASSES));
  if (unknown.length > 0) holding.tell("energy_outcomes.csv", `its class ${unknown[0].energy_class} stands nowhere on the page`);
  holding.hold("ended unstable by checkpoint and energy class", {
    csv: "energy_outcomes",
    heads: ["At", ...classes.map((name) => CLASSES[name])],
    rows: places.map((at) => ({
      of: `fleet, all, ${at}`,
      cells: [checkpoint(at), ...classes.map((name) => {
        const row = own.find((one) => one.checkpoint === at && one.energy_class === name);
        return row ? shareShort(row, ["approaches", "unstable", "unstable_share"]) : "none";
      })],
    })),
  });
}

export function decisive(holding) {
  holding.hold("how well each checkpoint tells the end", {
    csv: "decisive_checkpoint",
    heads: ["Checkpoint", "Approaches", "Unstable", "Probability", "95 % interval", "Remark"],
    rows: holding.tables.decisive_checkpoint.rows.filter(isFleet).map((row) => ({
      of: `fleet, ${row.checkpoint}`,
      cells: [
        checkpoint(row.checkpoint), figure("count", row, "approaches", NOT_KNOWN), figure("count", row, "unstable", NOT_KNOWN),
        figure("two", row, "auc", NOT_ESTIMATED),
        row.auc_low && row.auc_high ? cell`${figure("two", row, "auc_low")} to ${figure("two", row, "auc_high")}` : NOT_ESTIMATED,
        row.decisive === "true" ? "earliest of the best" : row.why_not,
      ],
    })),
  });
}

export function gates(holding, names) {
  const own = holding.tables.gate_criteria.rows.filter(isFleet);
  const columns = ["approaches", "failed", "failed_share"];
  const heads = ["Criterion", "Approaches", "Not met", "Share (95 % interval)", "Alone", "Left later", "Latest month"];
  for (const rule of new Set(own.map((row) => row.rule))) {
    const region = `criteria not met, ${names.title({ rule })}`;
    const all = own.filter((row) => row.rule === rule && row.period === "all");
    const later = (row, column) => (isHidden(row) ? "" : figure("count", row, column, NOT_KNOWN));
    holding.hold(region, {
      csv: "gate_criteria",
      heads,
      rows: all.map((row) => {
        const latest = own.find((one) => one.rule === rule && one.criterion === row.criterion && one.period === "latest");
        return {
          of: `${rule}, ${row.criterion}, fleet`,
          cells: [
            row.criterion.replaceAll("_", " "), ...share(row, columns),
            later(row, "failed_alone"), later(row, "left_later"), shareShort(latest, columns),
          ],
        };
      }),
    });
  }
}

export function decisions(holding) {
  const wanted = holding.tables.go_arounds.rows.filter((row) => isFleet(row) || (row.group_kind === "airport" && row.at_gate === "unstable"));
  const group = (row) => (isFleet(row) ? "whole fleet" : row.group);
  const own = sorted(wanted, (row) => !isFleet(row), (row) => VERDICTS.indexOf(row.at_gate));
  const count = (row, column) => figure("count", row, column, NOT_KNOWN);
  holding.hold("what followed a verdict at the governing gate", {
    csv: "go_arounds",
    heads: ["Group", "At the gate", "Approaches", "Landed", "Neither", "Landed or went around", "Went around", "Share (95 % interval)"],
    keys: [0, 1],
    rows: own.filter((row) => !isHidden(row)).map((row) => ({
      of: `${row.group}, ${row.at_gate}`,
      cells: [
        group(row), row.at_gate, count(row, "approaches"), count(row, "landed"), count(row, "neither"),
        ...share(row, [reckoned("count", number(row.landed) + number(row.went_around), "landed + went_around"), "went_around", "went_around_share"]),
      ],
    })),
  });
  hidden(holding, "go-arounds", own.filter(isHidden).map((row) => `${group(row)} (${row.at_gate})`),
    (lines) => `Suppressed, as they rest on few flights or would give such a figure away: ${lines.join(", ")}.`);
}

export function shortcuts(holding) {
  holding.hold("routings", {
    csv: "shortcuts",
    heads: ["Routing", "Miles taken away (median)", "Energy excess at 10 NM, ft (median)", "Held one speed", "Approaches", "Unstable", "Share (95 % interval)"],
    rows: holding.tables.shortcuts.rows.filter((row) => row.airport === "").map((row) => ({
      of: `all routes, ${row.routing}`,
      cells: [
        row.routing, figure("one", row, "miles_taken_median_nm", NOT_KNOWN), figure("whole", row, "energy_excess_10nm_median_ft", NOT_KNOWN),
        figure("share", row, "held_speed_share", NOT_KNOWN), ...share(row, ["approaches", "unstable", "unstable_share"]),
      ],
    })),
  });
}

// "300 to 700 ft", "below 0.95", "from 1200 ft".
function between(row, [from, to], places, unit) {
  const [low, high] = [number(row[from]) || null, number(row[to])].map((bound) => (bound === null ? null : bound.toFixed(places)));
  if (low === null) return high === null ? "any" : `below ${high}${unit}`;
  return high === null ? `from ${low}${unit}` : `${low} to ${high}${unit}`;
}

export function recoverability(holding) {
  const own = holding.tables.recoverability.rows;
  const nm = (row, column) => figure("one", row, column);
  const taken = (row) => (["taken_p10_nm", "taken_median_nm", "taken_p90_nm"].some((name) => row[name] === "") ? NOT_KNOWN
    : cell`${nm(row, "taken_median_nm")} (${nm(row, "taken_p10_nm")} to ${nm(row, "taken_p90_nm")})`);
  holding.hold("how late was not too late", {
    csv: "recoverability",
    heads: ["Type", "Mass ratio", "Drag", "Excess", "Approaches", "Stable", "Share (95 % interval)", "Taken at, NM: median (10 to 90 %)", "Frontier"],
    keys: [0, 1, 2, 3],
    rows: own.filter((row) => !isHidden(row)).map((row) => {
      const key = [
        row.aircraft_type, between(row, ["mass_ratio_from", "mass_ratio_to"], 2, ""), row.drag,
        between(row, ["energy_excess_from_ft", "energy_excess_to_ft"], 0, " ft"),
      ];
      return {
        of: key.join(", "),
        cells: [
          ...key, ...share(row, ["approaches", "stable", "stable_share"]), taken(row),
          row.frontier_nm === "" ? row.limit || NOT_KNOWN : cell`${nm(row, "frontier_nm")} NM`,
        ],
      };
    }),
  });
  hidden(holding, "recoverability-heading", own.filter(isHidden), (lines) => `Suppressed lines of this table: ${lines.length}.`);
}

// What is hidden is named or counted below its table.
function hidden(holding, box, lines, words) {
  const said = holding.page.paragraphs.filter((one) => one.box === box && one.text.startsWith("Suppressed")).map((one) => one.text);
  const meant = lines.length > 0 ? [words(lines)] : [];
  if (said.join() !== meant.join()) holding.tell(`“${box}”`, `shown “${said.join()}”, expected “${meant.join()}”`);
}
