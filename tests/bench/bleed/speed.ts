// The fill with its contour raster, against scipy and OpenCV on the same masks; every band pixel against a k-d tree.
import { writeFileSync } from "node:fs";
import { BleedCache, fillBand } from "@kitforme/bleed";
import { canvasOf, setsOf } from "./canvas.ts";
import { BLEED, CONTOURS } from "./contours.ts";
import { against, atMost, cpuMs, type Figure, type Measured } from "./measure.ts";
import { ask, inFolder, peersPresent, writeMask } from "./peers.ts";

const GOALS = { 300: { scipy: 70, labels: 18 }, 600: { scipy: 100, labels: 22 } } as const;

export const speed = async (say: (line: string) => void): Promise<Measured> => {
  const figures: Figure[] = [];
  const left: string[] = [];
  const present = peersPresent();
  let pixels = 0;
  let exact = 0;
  for (const ppi of [300, 600] as const)
    for (const [name, outline] of Object.entries(CONTOURS)) {
      say(`${name} at ${ppi} ppi`);
      const canvas = canvasOf(outline, ppi);
      const { grid, parts, reach } = canvas;
      const before = new Uint8Array(grid.data as Uint8Array);
      // The first calls compile, and all threads' time counts. The cold call is measured by itself.
      cpuMs(25, () => fillBand(grid, parts, reach, BLEED));
      const ours = cpuMs(25, () => fillBand(grid, parts, reach, BLEED));
      const title = `fill, ${name}, ${ppi} ppi`;
      if (ppi === 300) {
        const cache = new BleedCache();
        cpuMs(25, () => fillBand(grid, parts, reach, BLEED, cache));
        figures.push(
          atMost(
            `cached repeat, ${name}, 300 ppi`,
            cpuMs(25, () => fillBand(grid, parts, reach, BLEED, cache)),
            "ms CPU",
            1.5,
          ),
        );
      }
      const { source, target, from } = setsOf(canvas);
      figures.push(
        atMost(
          `opaque interior, ${name}, ${ppi} ppi`,
          changed(before, grid.data as Uint8Array, source, grid.width),
          "bytes changed",
          0,
        ),
      );
      if (!present) {
        figures.push({ name: title, value: Number(ours.toPrecision(3)), unit: "ms CPU" });
        continue;
      }
      const peer = await inFolder((folder) => {
        const path = (file: string): string => `${folder}/${file}`;
        writeFileSync(path("picture"), before);
        writeMask(path("source"), source, grid.width);
        writeMask(path("target"), target, grid.width);
        writeFileSync(path("from"), new Uint8Array(from.buffer));
        return ask("fill", grid.width, grid.height, path("picture"), path("source"), path("target"), path("from"));
      });
      figures.push(against(`${title}, against scipy`, ours, peer["scipy"] as number, GOALS[ppi].scipy));
      figures.push(against(`${title}, against OpenCV labels`, ours, peer["labels"] as number, GOALS[ppi].labels));
      pixels += peer["pixels"] as number;
      exact += peer["exact"] as number;
    }
  if (present)
    figures.push({
      name: `exactness, ${pixels} band pixels against a k-d tree`,
      value: (100 * exact) / pixels,
      unit: "%",
      goal: "100",
      met: exact === pixels,
    });
  else left.push("peers and k-d tree: no scipy and OpenCV at /usr/bin/python3");
  return { figures, left };
};

/** Bytes of source pixels that differ. */
const changed = (
  before: Uint8Array,
  after: Uint8Array,
  { rows, start, ends }: ReturnType<typeof setsOf>["source"],
  width: number,
): number => {
  let n = 0;
  for (let y = 0; y < rows; y++)
    for (let i = start[y] as number; i < (start[y + 1] as number); i += 2) {
      const from = (y * width + (ends[i] as number)) * 4;
      const to = (y * width + (ends[i + 1] as number)) * 4;
      for (let k = from; k < to; k++) if (before[k] !== after[k]) n++;
    }
  return n;
};
