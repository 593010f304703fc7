// Paper inside the cut for 900 displacements of the cut against the print: shift, turn about the middle of the sheet, stretch,
// mixed, so that the sheet's worst corner moves by no more than the bleed.
import { grow, type Outline, outlinesArea, type Point, subtract } from "@kitforme/geometry";
import { BLEED, CONTOURS, random } from "./contours.ts";
import { atMost, type Measured } from "./measure.ts";

const SHEET = { width: 320_000, height: 450_000 };
/** Where the piece lies on the sheet. */
const AT = { x: 60_000, y: 100_000 };

const moved = (outline: Outline<"drawing">, move: (p: Point) => Point<"drawing">): Outline<"drawing"> => ({
  outer: outline.outer.map(move),
  openings: outline.openings.map((o) => o.map(move)),
});

/** A random displacement that moves the worst corner of the sheet by exactly `most` µm. */
const poseOf = (rand: () => number, most: number): ((p: Point) => Point<"drawing">) => {
  const [dx, dy, turn, stretch] = [rand() - 0.5, rand() - 0.5, (rand() - 0.5) / 200_000, (rand() - 0.5) / 200_000];
  const shift = (p: Point): readonly [number, number] => {
    const x = p.x + AT.x - SHEET.width / 2;
    const y = p.y + AT.y - SHEET.height / 2;
    return [dx + stretch * x - turn * y, dy + stretch * y + turn * x];
  };
  const corners = [0, SHEET.width].flatMap((x) => [0, SHEET.height].map((y) => shift({ x: x - AT.x, y: y - AT.y })));
  const worst = Math.max(...corners.map(([x, y]) => Math.hypot(x, y)));
  return (p) => {
    const [x, y] = shift(p);
    return { x: Math.round(p.x + (x / worst) * most), y: Math.round(p.y + (y / worst) * most) };
  };
};

/** Largest area of paper inside the cut, mm². */
export const paperInside = (poses: number, most: number, name: "net" | "blob", bleed = BLEED): number => {
  const rand = random(900);
  const cut = CONTOURS[name];
  const reach = grow([cut], bleed);
  let paper = 0;
  for (let k = 0; k < poses; k++)
    paper = Math.max(paper, outlinesArea(subtract([moved(cut, poseOf(rand, most))], reach)) / 1e6);
  return paper;
};

export const poses = (say: (line: string) => void): Measured => {
  say("900 poses");
  // Offset tolerance of the geometry and rounding to whole micrometres: 0.01 mm less than the bleed is asked for.
  const figures = (["net", "blob"] as const).map((name) =>
    atMost(
      `paper inside the cut, ${name}, 450 displacements by the whole bleed of 3 mm`,
      round4(paperInside(450, BLEED - 10, name)),
      "mm2",
      0,
    ),
  );
  return { figures, left: [] };
};

const round4 = (value: number): number => Math.round(value * 1e4) / 1e4;
