import { type Contour, grow, toMm } from "@kitforme/geometry";
import type { Piece, Place } from "@kitforme/kit";
import type { Prepared, PreparedPiece } from "./prepared.ts";

/**
 * Both sides of a piece as pieces of their own, so that what is done with a front is done with a back: each has its own slots,
 * and the back lies in the space that its artwork is drawn in. Nothing for a piece without a back.
 */
export const facesOf = (piece: Piece): { readonly front: Piece; readonly back: Piece } | undefined => {
  const { back, slots, ...rest } = piece;
  if (!back) return undefined;
  const front = { ...rest, slots: slots.filter(({ side }) => side !== "back") };
  const behind = { ...rest, artwork: back.artwork, slots: slots.filter(({ side }) => side === "back") };
  const { mirror } = back;
  if (mirror === undefined) return { front, back: behind };
  const over = (ring: Contour<"drawing">): Contour<"drawing"> =>
    ring.map(({ x, y }) => ({ x: mirror - x, y })).reverse();
  const parts = piece.parts.map(({ outer, openings }) => ({ outer: over(outer), openings: openings.map(over) }));
  return { front, back: { ...behind, parts } };
};

/** Both sides of a piece, made ready, together. Findings of the back say so, at their places as seen from the front. */
export const withBack = (
  piece: Piece,
  front: Prepared<PreparedPiece>,
  behind: Prepared<PreparedPiece>,
): Prepared<PreparedPiece> => {
  const mirror = piece.back?.mirror;
  const there = <P extends Place>(place: P): P => ({
    ...place,
    side: "back",
    ...(place.at && mirror !== undefined ? { at: [toMm(mirror) - place.at[0], place.at[1]] } : {}),
  });
  const findings = [
    ...front.findings,
    ...behind.findings.map((finding) => ({
      ...finding,
      where: there(finding.where),
      ...(finding.places ? { places: finding.places.map(there) } : {}),
    })),
  ];
  if (!front.value || !behind.value) return { findings };
  const { layers, spots, ink, bleed } = behind.value;
  // Both sides have the same bleed, and one of them may have none.
  const reach = front.value.bleed || !bleed ? front.value.reach : grow(piece.parts, bleed.wanted);
  const back = {
    layers,
    ...(spots ? { spots } : {}),
    ...(ink ? { ink } : {}),
    bleed,
    ...(mirror === undefined ? {} : { mirror }),
  };
  return { value: { ...front.value, piece, reach, back }, findings };
};
