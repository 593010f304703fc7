import { flattenCubic, flattenQuadratic, type Point } from "@kitforme/geometry";
import { pathSteps } from "./path-steps.ts";

/** Curves of letters are followed within this, micrometres. */
const CHORD = 10;

/** Path data as kitforme writes it (absolute M L C Q Z) as rings in its own units, curves as chords. */
export const ringsOfPath = (outlines: string): Point[][] => {
  const rings: Point[][] = [];
  for (const { command, values: n } of pathSteps(outlines)) {
    const at = (i: number): Point => ({ x: n[i] as number, y: n[i + 1] as number });
    const ring = rings.at(-1);
    const from = ring?.at(-1);
    if (command === "M") rings.push([at(0)]);
    else if (!ring || !from) continue;
    else if (command === "L") ring.push(at(0));
    else if (command === "C") ring.push(...flattenCubic(from, at(0), at(2), at(4), CHORD).slice(1));
    else if (command === "Q") ring.push(...flattenQuadratic(from, at(0), at(2), CHORD).slice(1));
  }
  return rings;
};
