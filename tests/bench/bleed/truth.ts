// Pictures whose bleed is known: drawn past the contour, cut to it, bled again, compared with what was cut off. 512 x 512
// pixels at 300 ppi around one wavy contour. Seeded; photographs are those that scipy and scikit-image bring.
import { readFileSync } from "node:fs";
import { grow, type Outline } from "@kitforme/geometry";
import { minusRuns, nearest, rasterise, type Runs } from "@kitforme/bleed";
import { random } from "./contours.ts";
import { ask, inFolder } from "./peers.ts";

export const SIDE = 512;
export const PIXEL = 25_400 / 300;
export const BLEED = 3000;
export const BOX = { x: 0, y: 0, width: SIDE * PIXEL, height: SIDE * PIXEL };

const contour: Outline<"drawing"> = {
  outer: Array.from({ length: 720 }, (_, i) => {
    const angle = (2 * Math.PI * i) / 720;
    const r = 165 + 26 * Math.sin(3 * angle) + 12 * Math.cos(7 * angle + 1);
    return { x: Math.round((256 + r * Math.cos(angle)) * PIXEL), y: Math.round((256 + r * Math.sin(angle)) * PIXEL) };
  }),
  openings: [],
};
export const PARTS = [contour];
export const REACH = grow(PARTS, BLEED);

const setOf = (outlines: readonly Outline<"drawing">[]): Runs =>
  rasterise(
    outlines.map(({ outer }) => Float64Array.from(outer.flatMap(({ x, y }) => [x / PIXEL, y / PIXEL]))),
    SIDE,
    SIDE,
  );

export const BODY = setOf(PARTS);
export const BAND = minusRuns(setOf(REACH), BODY);

/** Every band pixel: its place, and how far it lies from the contour's nearest pixel, in mm. */
export const bandPixels = (): { at: number; mm: number }[] => {
  const map = nearest({ source: BODY, target: BAND, width: SIDE, reach: 40, stride: SIDE, offset: 0 });
  const out: { at: number; mm: number }[] = [];
  let n = 0;
  for (let y = 0; y < SIDE; y++)
    for (let i = BAND.start[y] as number; i < (BAND.start[y + 1] as number); i += 2)
      for (let x = BAND.ends[i] as number; x < (BAND.ends[i + 1] as number); x++) {
        const from = map.from[n++] as number;
        const far = Math.hypot(x - (from % SIDE), y - Math.floor(from / SIDE));
        out.push({ at: y * SIDE + x, mm: (far * PIXEL) / 1000 });
      }
  return out;
};

export interface Truth {
  /** A number: a photograph with so many pixels an inch, enlarged to 300. A picture of 1024 pixels across a contour of the
   * speed bench has 128. */
  readonly kind: 300 | 200 | 128 | "stripes" | "flat";
  readonly name: string;
  readonly rgb: Uint8Array;
}

const drawn = (kind: Truth["kind"], name: string, paint: (x: number, y: number) => readonly number[]): Truth => {
  const rgb = new Uint8Array(SIDE * SIDE * 3);
  for (let y = 0; y < SIDE; y++)
    for (let x = 0; x < SIDE; x++)
      rgb.set(
        paint(x, y).map((v) => Math.max(0, Math.min(255, Math.round(v)))),
        (y * SIDE + x) * 3,
      );
  return { kind, name, rgb };
};

const NAVY = [27, 58, 91];
const SAND = [236, 214, 160];

export const truths = async (photographs: boolean): Promise<Truth[]> => {
  const grain = random(5);
  const list: Truth[] = [
    drawn("flat", "flat", () => NAVY),
    drawn("flat", "gradient", (x, y) => [40 + x * 0.35, 90 + y * 0.2, 200 - x * 0.2]),
    drawn("flat", "film noise", () => [120, 110, 100].map((v) => v + 30 * (grain() + grain() - 1))),
    // Rings across the contour, rays along its normal, and straight stripes that meet it at every angle.
    drawn("stripes", "rings", (x, y) => (Math.floor(Math.hypot(x - 256, y - 256) / 9) % 2 ? NAVY : SAND)),
    drawn("stripes", "rays", (x, y) =>
      Math.floor((Math.atan2(y - 256, x - 256) / Math.PI) * 60 + 60) % 2 ? NAVY : SAND,
    ),
    drawn("stripes", "horizontal", (_, y) => (Math.floor(y / 9) % 2 ? NAVY : SAND)),
    drawn("stripes", "diagonal", (x, y) => (Math.floor((x + y) / 13) % 2 ? NAVY : SAND)),
  ];
  if (!photographs) return list;
  return inFolder((folder) => {
    for (const [kind, n] of ask("photos", folder)["written"] as unknown as [300 | 200 | 128, number][])
      list.push({ kind, name: `photograph ${n + 1}, ${kind} ppi`, rgb: readFileSync(`${folder}/${kind}-${n}`) });
    return list;
  });
};
