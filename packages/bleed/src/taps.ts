/** How many colours soft spread mixes. */
export const TAPS = 16;
/** Standard deviation of the taps, as a share of the distance to the source. */
const SIGMA = 0.3;
/** The outermost tap in standard deviations: the taps stand on the quantiles of a round normal distribution. */
const OUTERMOST = Math.sqrt(2 * Math.log(2 * TAPS));

/** How far beyond a band of some width taps look, in the same unit. */
export const softMargin = (width: number): number => Math.ceil(SIGMA * OUTERMOST * width) + 2;

/** Turned by the golden angle from one to the next: no two directions fall together, whatever the number. */
export const taps = (): { readonly x: Float64Array; readonly y: Float64Array } => {
  const x = new Float64Array(TAPS);
  const y = new Float64Array(TAPS);
  for (let k = 0; k < TAPS; k++) {
    const r = SIGMA * Math.sqrt(-2 * Math.log(1 - (k + 0.5) / TAPS));
    const angle = k * Math.PI * (3 - Math.sqrt(5));
    x[k] = r * Math.cos(angle);
    y[k] = r * Math.sin(angle);
  }
  return { x, y };
};
