// Faults are told one to a line. Where in these tests they were told would only hide them.
export function none(faults) {
  if (faults.length === 0) return;
  const error = new Error(`${faults.length} ${faults.length === 1 ? "fault" : "faults"}:\n${faults.join("\n")}`);
  error.stack = error.message;
  throw error;
}
