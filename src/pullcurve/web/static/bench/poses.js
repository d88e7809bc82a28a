// Where everything stands between two rows of the pose table: straight lines between them, no mechanics.

const LEVER = ["theta_deg", "travel_mm", "gap_mm", "pull_newton", "release_newton", "finger_mm", "push"];

/**
 * Row below a value in rising numbers, and how far the value lies toward the next row.
 * @param {number[]} rising
 * @param {number} value
 * @returns {[number, number]}
 */
export function locate(rising, value) {
  const last = rising.length - 1;
  if (!(value > rising[0])) return [0, 0];
  if (value >= rising[last]) return [last - 1, 1];
  let [low, high] = [0, last];
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (rising[middle] <= value) low = middle;
    else high = middle;
  }
  return [low, (value - rising[low]) / (rising[high] - rising[low])];
}

/** Between two rows of a column of numbers or points; null where either is not known. */
function between(column, row, share) {
  const [a, b] = [column[row], column[row + 1]];
  if (Array.isArray(a)) return a.map((value, axis) => value + share * (b[axis] - value));
  return a === null || b === null ? null : a + share * (b - a);
}

function columns(table, names, row, share) {
  return Object.fromEntries(names.map((name) => [name, between(table[name], row, share)]));
}

/**
 * The mechanism at a travel of the finger.
 * @param {object} record one lever as the server describes it
 * @param {number} travel in mm
 */
export function poseAt(record, travel) {
  const [row, share] = locate(record.poses.travel_mm, travel);
  return {
    ...columns(record.poses, LEVER, row, share),
    rockers: record.rockers.map((rocker) => columns(rocker.poses, Object.keys(rocker.poses), row, share)),
  };
}

/** Travel at a lever angle, and where it ends. */
export function travelAt(record, degrees) {
  const [row, share] = locate(record.poses.theta_deg, degrees);
  return between(record.poses.travel_mm, row, share);
}

/** Largest travel of a lever. */
export const endOf = (record) => record.poses.travel_mm.at(-1);

/** Rockers that one drive of a lever shows: an assist belongs to the clutch. */
export function shownRockers(record, kind) {
  const kinds = kind === "clutch" ? ["clutch", "assist"] : [kind];
  return record.rockers.map((rocker, index) => ({ rocker, index })).filter(({ rocker }) => kinds.includes(rocker.drives));
}
