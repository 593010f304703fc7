import type { Um } from "./length.ts";
import { grow } from "./offset.ts";
import type { Outline, Space } from "./point.ts";

const grown = new WeakMap<readonly Outline<Space>[], Map<Um, readonly Outline<Space>[]>>();

/**
 * Like `grow`, remembered for as long as the outlines themselves are: the checks of a piece and its layout ask for the same. The
 * outlines are not changed afterwards, nor is the answer.
 */
export const growOnce = <S extends Space>(outlines: readonly Outline<S>[], by: Um): readonly Outline<S>[] => {
  const known = grown.get(outlines) ?? new Map<Um, readonly Outline<Space>[]>();
  grown.set(outlines, known);
  const answer = known.get(by) ?? grow(outlines, by);
  known.set(by, answer);
  return answer as readonly Outline<S>[];
};
