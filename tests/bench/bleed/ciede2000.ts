// Colour difference by eye: CIEDE2000 (CIE 142-2001; formulas and test pairs as in Sharma, Wu, Dalal 2005) of sRGB values
// (IEC 61966-2-1), white D65.

type Lab = readonly [l: number, a: number, b: number];

const linear = Float64Array.from({ length: 256 }, (_, v) => {
  const c = v / 255;
  return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
});

const curve = (t: number): number => (t > 216 / 24_389 ? Math.cbrt(t) : (t * 24_389) / 27 / 116 + 16 / 116);

export const labOf = (red: number, green: number, blue: number): Lab => {
  const [r, g, b] = [linear[red] as number, linear[green] as number, linear[blue] as number];
  const x = curve((0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505);
  const y = curve(0.2126 * r + 0.7152 * g + 0.0722 * b);
  const z = curve((0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.089);
  return [116 * y - 16, 500 * (x - y), 200 * (y - z)];
};

const degrees = (radians: number): number => (radians * 180) / Math.PI;
const cosine = (angle: number): number => Math.cos((angle * Math.PI) / 180);
const sine = (angle: number): number => Math.sin((angle * Math.PI) / 180);

export const difference = ([l1, a1, b1]: Lab, [l2, a2, b2]: Lab): number => {
  const mean = (Math.hypot(a1, b1) + Math.hypot(a2, b2)) / 2;
  const grey = 0.5 * (1 - Math.sqrt(mean ** 7 / (mean ** 7 + 25 ** 7)));
  const [p1, p2] = [(1 + grey) * a1, (1 + grey) * a2];
  const [c1, c2] = [Math.hypot(p1, b1), Math.hypot(p2, b2)];
  const hue = (b: number, a: number): number => (a === 0 && b === 0 ? 0 : (degrees(Math.atan2(b, a)) + 360) % 360);
  const [h1, h2] = [hue(b1, p1), hue(b2, p2)];
  const grown = c1 * c2 !== 0;
  let turn = grown ? h2 - h1 : 0;
  if (turn > 180) turn -= 360;
  if (turn < -180) turn += 360;
  const dh = 2 * Math.sqrt(c1 * c2) * sine(turn / 2);
  const l = (l1 + l2) / 2;
  const c = (c1 + c2) / 2;
  let h = h1 + h2;
  if (grown) h = Math.abs(h1 - h2) <= 180 ? h / 2 : h < 360 ? (h + 360) / 2 : (h - 360) / 2;
  const t = 1 - 0.17 * cosine(h - 30) + 0.24 * cosine(2 * h) + 0.32 * cosine(3 * h + 6) - 0.2 * cosine(4 * h - 63);
  const sl = 1 + (0.015 * (l - 50) ** 2) / Math.sqrt(20 + (l - 50) ** 2);
  const sc = 1 + 0.045 * c;
  const sh = 1 + 0.015 * c * t;
  const rt = -2 * Math.sqrt(c ** 7 / (c ** 7 + 25 ** 7)) * sine(60 * Math.exp(-(((h - 275) / 25) ** 2)));
  const [x, y, z] = [(l2 - l1) / sl, (c2 - c1) / sc, dh / sh];
  return Math.sqrt(x * x + y * y + z * z + rt * y * z);
};
