// Numbers in words, as the Python side writes them.

const EIGHTH_M = 0.0254 / 8;

/** `2.20 m`; in rooms measured in feet or inches `7'-2 5/8"`, or `28 1/2"` under 3 feet: halves away from zero. */
export function length(metres, units) {
  if (units !== "ft" && units !== "in") return `${sign(metres, 0.005)}${(Math.round(Math.abs(metres) * 100) / 100).toFixed(2)} m`;
  const eighths = Math.round(Math.abs(metres) / EIGHTH_M);
  const [inches, rest] = [Math.floor(eighths / 8), eighths % 8];
  const by = rest % 4 === 0 ? 4 : rest % 2 === 0 ? 2 : 1;
  const fraction = rest ? ` ${rest / by}/${8 / by}` : "";
  const told = inches >= 36 ? `${Math.floor(inches / 12)}'-${inches % 12}${fraction}` : `${inches || !rest ? inches : ""}${fraction}`.trim();
  return `${sign(metres, EIGHTH_M / 2)}${told}"`;
}
const sign = (metres, half) => (metres <= -half ? "−" : "");

/** A margin with its sign: `+0.21 m`. */
export const margin = (metres, units) => `${metres < 0 ? "−" : "+"}${length(Math.abs(metres), units)}`;

export const degrees = (deg) => `${deg.toFixed(1)}°`;
