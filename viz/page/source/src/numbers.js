// Numbers in words, as the Python side writes them.

const EIGHTH_M = 0.0254 / 8;

/** `2.20 m`; in rooms measured in feet or inches `7'-2 5/8"`, or `28 1/2"` under 3 feet: halves away from zero. */
export function length(metres, units) {
  if (units !== "ft" && units !== "in") return `${sign(metres, 0.005)}${(Math.round(Math.abs(metres) * 100) / 100).toFixed(2)} m`;
  return `${sign(metres, EIGHTH_M / 2)}${inches(Math.round(Math.abs(metres) / EIGHTH_M), 8)}`;
}
function inches(count, part) {
  const [whole, rest] = [Math.floor(count / part), count % part];
  let by = part;
  while (rest % by) by /= 2;
  const fraction = rest ? ` ${rest / by}/${part / by}` : "";
  const text = whole >= 36 ? `${Math.floor(whole / 12)}'-${whole % 12}${fraction}` : `${whole || !rest ? whole : ""}${fraction}`.trim();
  return `${text}"`;
}
const sign = (metres, half) => (metres <= -half ? "−" : "");

/** A margin with its sign, always down: `+21 cm`, `−1.27 m`, `+7 mm`; from whole steps of 1 mm or 1/16 inch. */
export function margin(steps, units) {
  const sign = steps > 0 ? "+" : steps < 0 ? "−" : "";
  const size = Math.abs(steps);
  const down = steps >= 0 ? Math.floor : Math.ceil;
  if (units === "ft" || units === "in") {
    const sixteenths = size < 4 ? size : down(size / 2) * 2;
    return `${sign}${inches(sixteenths, 16)}`;
  }
  if (size < 10) return `${sign}${size} mm`;
  const centimetres = down(size / 10);
  return `${sign}${centimetres < 100 ? `${centimetres} cm` : `${(centimetres / 100).toFixed(2)} m`}`;
}

export const degrees = (deg) => `${deg.toFixed(1)}°`;
