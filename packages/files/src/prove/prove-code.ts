import type { Rect } from "@kitforme/geometry";
import type { CodeModule } from "@kitforme/sheet";
import type { ProofFault } from "./fault.ts";
import { darkness, offsetAt, type Seen } from "./seen.ts";

/** The part of a page that holds the code. */
export const codeWindow = (modules: readonly CodeModule[]): Rect | undefined => {
  if (modules.length === 0) return undefined;
  const [xs, ys] = [modules.map(({ x }) => x), modules.map(({ y }) => y)];
  const [x, y] = [Math.min(...xs) - 500, Math.min(...ys) - 500];
  return { x, y, width: Math.max(...xs) + 500 - x, height: Math.max(...ys) + 500 - y };
};

/** The code of this very sheet, module by module. The symbol mends errors itself; a printed file has none to mend. */
export const proveCode = (modules: readonly CodeModule[], seen: Seen): ProofFault[] => {
  const wrong = modules.filter(({ x, y, dark }) => {
    const at = offsetAt(seen, x, y);
    return at < 0 || darkness(seen.data, at) > 0.5 !== dark;
  });
  const [first] = wrong;
  if (!first) return [];
  const what =
    wrong.length === modules.filter(({ dark }) => dark).length && wrong.every(({ dark }) => dark)
      ? "the sheet's code is not found in the print"
      : `the code in the print is not the sheet's own: ${wrong.length} of ${modules.length} modules differ`;
  return [{ check: "code", what, at: first }];
};
