import type { Field, Footprint } from "../shapes/footprint.ts";
import { faultsOf, type Placed } from "../proof/verify.ts";
import { Catalogues } from "../maps/catalogues.ts";
import { HASTY } from "./effort.ts";
import type { SheetPieces } from "../pack/layout.ts";
import { squeezer, without } from "./squeeze.ts";

/** Kinds up to which exchanges are made where they are many: of 100 kinds the maps took two minutes, for nothing. */
const MOST_KINDS = 64;

/** What became of an exchange, and the moves of single pieces it took. */
export interface Exchanged {
  /** The sheet after it, proven; absent where it did not come off. */
  readonly layout: readonly Placed[] | undefined;
  readonly moves: number;
}

/**
 * Exchanges pieces of full sheets of one field: `gone` are indices into the pieces that lie there, `added` are footprints.
 * Each answer depends on all questions before it, by the seed and by what it learnt to be hopeless. None for very many kinds:
 * exchanges let all of them meet, and every two that meet need their map.
 */
export const exchanger = (
  footprints: readonly Footprint[],
  field: readonly [Field],
  draft: boolean,
  seed: number,
  aborted: () => boolean,
  catalogues = new Catalogues(),
): ((layout: readonly Placed[], gone: readonly number[], added: readonly number[]) => Exchanged) | undefined => {
  const catalogue = catalogues.of(footprints, field, draft);
  if (catalogue.options.many && (draft || footprints.length > MOST_KINDS)) return undefined;
  const squeeze = squeezer(catalogue, seed, { ...HASTY, aborted });
  const poseOf = ({ footprint, turn }: Placed): number =>
    (catalogue.posesOn[0]?.[footprint] ?? []).find((p) => catalogue.poses[p]?.turn === turn) as number;
  return (layout, gone, added) => {
    const sheet: SheetPieces = {
      field: 0,
      ids: layout.map((_, i) => i),
      kinds: layout.map((p) => p.footprint),
      pose: layout.map(poseOf),
      x: layout.map((p) => p.x),
      y: layout.map((p) => p.y),
    };
    const { sheet: found, moves } = squeeze(
      without(sheet, gone),
      added.map((kind) => ({ id: -1, kind })),
    );
    if (!found) return { layout: undefined, moves };
    const placed = found.kinds.map((footprint, i) => ({
      footprint,
      turn: catalogue.poses[found.pose[i]].turn,
      x: found.x[i],
      y: found.y[i],
    }));
    return { layout: faultsOf(placed, footprints, field[0]).length === 0 ? placed : undefined, moves };
  };
};
