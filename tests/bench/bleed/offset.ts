// Growing the noisiest contour: a tracer's 15,000 vertices at full size and as a piece of 30 mm, where plain offsetting takes
// half a minute. Area against clipper2, another implementation, on the same points.
import { grow, type Outline, outlinesArea } from "@kitforme/geometry";
import { Clipper, ClipperOffset, EndType, JoinType } from "clipper2-ts";
import { BLEED, random } from "./contours.ts";
import { atMost, cpuMs, type Figure, type Measured } from "./measure.ts";

const noisy = (vertices: number, radius: number): Outline<"drawing"> => {
  const rand = random(15);
  return {
    outer: Array.from({ length: vertices }, (_, i) => {
      const angle = (2 * Math.PI * i) / vertices;
      const r = radius * (1 + 0.12 * Math.sin(4 * angle) + 0.05 * Math.sin(9 * angle)) + 500 * (rand() - 0.5);
      return { x: Math.round(radius * 2 + r * Math.cos(angle)), y: Math.round(radius * 2 + r * Math.sin(angle)) };
    }),
    openings: [],
  };
};

/** Points so near that their notches, 15 mm deep, close at once: clipper-lib alone takes 10 s for 7,500 corners. */
const spiked = (corners: number): Outline<"drawing"> => ({
  outer: Array.from({ length: corners }, (_, i) => {
    const angle = (2 * Math.PI * i) / corners;
    const r = i % 2 ? 80_000 : 65_000;
    return { x: Math.round(160_000 + r * Math.cos(angle)), y: Math.round(160_000 + r * Math.sin(angle)) };
  }),
  openings: [],
});

const areaBySecond = ({ outer }: Outline<"drawing">): number => {
  const offset = new ClipperOffset(2, 1);
  offset.addPath(
    outer.map(({ x, y }) => ({ x, y })),
    JoinType.Round,
    EndType.Polygon,
  );
  const out: { x: number; y: number }[][] = [];
  offset.execute(BLEED, out);
  return out.reduce((sum, path) => sum + Clipper.area(path), 0);
};

export const offset = (say: (line: string) => void): Measured => {
  const figures: Figure[] = [];
  const cases: readonly (readonly [name: string, outline: Outline<"drawing">])[] = [
    ...[90_000, 45_000, 13_500, 5_000].map(
      (radius) => [`15,000 noisy vertices, piece of ${radius / 500} mm`, noisy(15_000, radius)] as const,
    ),
    ["a star of 7,500 corners, notches of 15 mm", spiked(7500)],
  ];
  for (const [name, outline] of cases) {
    say(name);
    figures.push(
      atMost(
        `offset, ${name}`,
        cpuMs(3, () => grow([outline], BLEED)),
        "ms CPU",
        1000,
      ),
    );
    const ours = outlinesArea(grow([outline], BLEED));
    const second = areaBySecond(outline);
    figures.push(atMost(`offset, ${name}: area against clipper2`, (100 * Math.abs(ours - second)) / second, "%", 0.05));
  }
  return { figures, left: [] };
};
