import { Scene } from "./scene.ts";

/** Two large pieces that differ change places; what they come to lie on is left to the search. */
export const disrupt = (scene: Scene): void => {
  const { dice, catalogue, n } = scene;
  const size = (i: number) => catalogue.lambda[scene.kind[i]] ** 4;
  const sorted = Array.from({ length: n }, (_, i) => i).sort((a, b) => size(b) - size(a) || a - b);
  let sum = 0;
  const all = sorted.reduce((t, i) => t + size(i), 0);
  const large: number[] = [];
  for (const i of sorted) {
    if (sum > 0.75 * all && large.length > 1) break;
    large.push(i);
    sum += size(i);
  }
  const first = large[dice.below(large.length)];
  const others = large.filter((i) => scene.kind[i] !== scene.kind[first]);
  const second = others.length > 0 ? others[dice.below(others.length)] : large[dice.below(large.length)];
  if (first === second) return;
  const centre = (i: number): [number, number] => {
    const p = scene.pose[i];
    return [
      scene.x[i] + (catalogue.minX[p] + catalogue.maxX[p]) / 2,
      scene.y[i] + (catalogue.minY[p] + catalogue.maxY[p]) / 2,
    ];
  };
  const [ax, ay] = centre(first);
  const [bx, by] = centre(second);
  const to = (i: number, sheet: number, cx: number, cy: number): void => {
    const p = scene.pose[i];
    scene.shift(
      i,
      sheet,
      p,
      cx - (catalogue.minX[p] + catalogue.maxX[p]) / 2,
      cy - (catalogue.minY[p] + catalogue.maxY[p]) / 2,
    );
  };
  const [sa, sb] = [scene.sheet[first], scene.sheet[second]];
  to(first, sb, bx, by);
  to(second, sa, ax, ay);
};
