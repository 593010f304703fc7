import type { Rect } from "@kitforme/geometry";
import type { CodeModule } from "@kitforme/sheet";
import type { ProofFault } from "./fault.ts";
import { darkness, offsetAt, pointOf, type Seen } from "./seen.ts";

/** The part of a page that holds the code. */
export const codeWindow = (modules: readonly CodeModule[]): Rect | undefined => {
  if (modules.length === 0) return undefined;
  const [xs, ys] = [modules.map(({ x }) => x), modules.map(({ y }) => y)];
  const [x, y] = [Math.min(...xs) - 500, Math.min(...ys) - 500];
  return { x, y, width: Math.max(...xs) + 500 - x, height: Math.max(...ys) + 500 - y };
};

/** How far the code may be found from its place, micrometres: a camera looks for it there. */
const OFF = 200;

/**
 * The code of this very sheet, found by the middle of its ink in the blank paper around it and then read module by module. The
 * symbol mends errors itself; a printed file has none to mend.
 * @returns how far it lies from its place, micrometres, where it is found
 */
export const proveCode = (
  modules: readonly CodeModule[],
  seen: Seen,
): { readonly faults: ProofFault[]; readonly off?: number } => {
  const dark = modules.filter((module) => module.dark);
  const place = middleOf(dark.map(({ x, y }) => ({ x, y, share: 1 })));
  const ink: { x: number; y: number; share: number }[] = [];
  for (let row = 0; row < seen.height; row++)
    for (let column = 0; column < seen.width; column++) {
      const share = darkness(seen.data, (row * seen.width + column) * 4);
      if (share > 0.05) ink.push({ ...pointOf(seen, column, row), share });
    }
  const [first] = modules;
  if (!first || ink.length === 0)
    return {
      faults: [{ check: "code", what: "the sheet's code is not found in the print", ...(first ? { at: first } : {}) }],
    };
  const found = middleOf(ink);
  const [dx, dy] = [found.x - place.x, found.y - place.y];
  const wrong = modules.filter((module) => {
    const at = offsetAt(seen, module.x + dx, module.y + dy);
    return at < 0 || darkness(seen.data, at) > 0.5 !== module.dark;
  });
  if (wrong[0]) {
    const what = `the code in the print is not the sheet's own: ${wrong.length} of ${modules.length} modules differ`;
    return { faults: [{ check: "code", what, at: wrong[0] }] };
  }
  const off = Math.hypot(dx, dy);
  if (off <= OFF) return { faults: [], off };
  return {
    faults: [{ check: "code", what: `the code lies ${(off / 1000).toFixed(2)} mm from its place`, at: first }],
    off,
  };
};

const middleOf = (points: readonly { readonly x: number; readonly y: number; readonly share: number }[]) => {
  let [sum, x, y] = [0, 0, 0];
  for (const p of points) [sum, x, y] = [sum + p.share, x + p.share * p.x, y + p.share * p.y];
  return { x: x / sum, y: y / sum };
};
