// The latest month against those before it, the months of every rule and family, and what is said of their slope.
import { hasRate, isHidden, NOT_EVALUABLE, NOT_KNOWN, RATE_HEADS, rate, rateInterval, signal } from "./cells.js";
import { compared, isHead, isOf, sorted } from "./names.js";
import { cell, figure, number } from "./shown.js";

const NOT_TESTED = "not tested";
const SEASON = "season not controlled";

export function trend(holding, names) {
  const { tables } = holding;
  const months = tables.trend_monthly.rows.filter(isHead);
  const slopes = tables.trend_slope.rows.filter(isHead);
  const subjects = compared(tables, true).map((subject) => ({
    title: names.title(subject),
    isFamily: subject.rule === "",
    months: sorted(months.filter(isOf(subject)), (row) => row.month),
    slope: slopes.find(isOf(subject)),
    of: subject.rule || `family ${subject.family}`,
  }));
  changed(holding, subjects, months);
  for (const subject of subjects) course(holding, subject);
}

function changed(holding, subjects, months) {
  const latest = months.reduce((last, row) => (row.month > last ? row.month : last), "");
  if (holding.page.month !== latest) holding.tell("month under review", `shown “${holding.page.month}”, trend_monthly.csv ends with “${latest}”`);
  const tests = subjects
    .map((subject) => ({ ...subject, row: subject.months.find((row) => row.month === latest) }))
    .filter(({ row }) => row && !isHidden(row));
  const seasons = tests.map(({ row }) => row.season_controlled).filter(Boolean);
  const isToldOnce = seasons.length > 0 && !seasons.includes("true");
  const ordered = sorted(tests, ({ row }) => !row.signal, ({ slope }) => !called(slope), ({ isFamily }) => !isFamily);
  // Families, and what a review should look at, stand open; the other rules fold out.
  const leads = ({ row, slope, isFamily }) => isFamily || Boolean(row.signal) || called(slope) || near(slope);
  const rows = (of) => ordered.filter(of).map((test) => ({ of: `${test.of}, ${latest}`, cells: [test.title, null, ...tested(test, isToldOnce)] }));
  const heads = ["Rule", "Course", "Result", "Rate of the month", "Before", "Ratio", "q", "Trend", "Rise that would have shown", "Remark"];
  const others = rows((test) => !leads(test));
  holding.hold("latest month against the months before, other rules", { csv: "trend_monthly", heads, rows: others });
  const table = holding.hold("latest month against the months before", { csv: "trend_monthly", heads, rows: rows(leads) });
  if (!table) return;
  if (table.caption.includes("Season not controlled") !== isToldOnce) holding.tell(`table “${table.region}”`, "its caption and season_controlled disagree");
  if (!table.caption.startsWith(`Month: ${latest}. `)) holding.tell(`table “${table.region}”`, `its caption does not begin with the month ${latest}`);
}

const called = (slope) =>
  Boolean(slope && slope.call && slope.slope_pct_per_month && slope.ci_low && slope.ci_high);

// Not called, although its own interval leaves no change out.
const near = (slope) =>
  Boolean(slope && !slope.call && slope.slope_pct_per_month && (number(slope.ci_low) > 0 || number(slope.ci_high) < 0));

const aMonth = (slope) =>
  cell`${figure("one", slope, "slope_pct_per_month")} % a month (${figure("one", slope, "ci_low")} to ${figure("one", slope, "ci_high")})`;

function tested({ row, slope }, isToldOnce) {
  const two = (column) => figure("two", row, column);
  const season = row.season_controlled === "false" && !isToldOnce ? SEASON : "";
  return [
    signal(row.signal, row.q !== ""),
    hasRate(row)
      ? cell`${figure("rate", row, "rate_per_1000")}\n${rateInterval(row)}\n${figure("count", row, "approaches_with_event", NOT_KNOWN)} of ${figure("count", row, "evaluable", NOT_KNOWN)}`
      : NOT_EVALUABLE,
    cell`${figure("rate", row, "baseline_rate", NOT_KNOWN)}\n${figure("count", { ...row, baseline_months: row.baseline_months || "0" }, "baseline_months")} months`,
    cell`${ratio(row, two)}\nmix taken out: ${figure("two", row, "standardised_ratio", NOT_TESTED)}`,
    figure("error", row, "q", NOT_TESTED),
    called(slope) ? cell`${slope.call} ${aMonth(slope)}` : near(slope) ? cell`not called, ${aMonth(slope)}` : "none called",
    row.detectable_rise_pct === "" ? NOT_KNOWN : cell`${figure("whole", row, "detectable_rise_pct")} %`,
    [row.why_no_signal, season].filter(Boolean).join("; "),
  ];
}

function ratio(row, two) {
  if (row.ratio === "") return row.ratio_low === "" ? "not estimable" : cell`not estimable, at least ${two("ratio_low")}`;
  if (row.ratio_low === "") return two("ratio");
  if (row.ratio_high === "") return cell`${two("ratio")} (at least ${two("ratio_low")})`;
  return cell`${two("ratio")} (${two("ratio_low")} to ${two("ratio_high")})`;
}

// “Rising” or “falling” tells the way: the figure stands without its sign.
const steepness = (slope) => ({ ...figure("one", slope, "slope_pct_per_month"), value: Math.abs(number(slope.slope_pct_per_month)) });

function course(holding, { title, months, slope, of }) {
  holding.hold(`${title} by month`, {
    csv: "trend_monthly",
    heads: ["Month", ...RATE_HEADS],
    rows: months.map((row) => ({ of: `${of}, ${row.month}`, cells: [row.month, ...rate(row)] })),
  });
  if (months.length > 0 && slope) {
    const box = holding.page.tables.find((one) => one.region === `${title} by month`)?.box;
    holding.sentence({ box, title }, /^(No trend|The rate is)/, statement(slope), `trend_slope.csv: ${of}`);
  }
}

function statement(slope) {
  const season = slope.season_controlled === "false" ? `; ${SEASON}` : "";
  if (!slope.slope_pct_per_month || !slope.ci_low || !slope.ci_high) return `No trend is computed: ${slope.why_no_call}.`;
  const between = cell`${figure("one", slope, "ci_low")} to ${figure("one", slope, "ci_high")} % a month`;
  if (slope.call) return cell`The rate is ${slope.call} by ${steepness(slope)} % a month (${between})${season}.`;
  return cell`No trend shown: could be ${between} (${slope.why_no_call})${season}.`;
}
