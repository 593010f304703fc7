import { type Contour, mm, unit } from "@kitforme/geometry";
import type { Piece } from "@kitforme/kit";
import type { Sheet } from "@kitforme/sheet";

/** A caution that travels with the job. */
export interface Caution {
  readonly rule: "caution.cutter" | "caution.small-parts" | "caution.food";
  readonly title: string;
  readonly text: string;
}

/**
 * The small-parts cylinder of 16 CFR 1501: 31.7 mm across, 57.1 mm at its deepest. That rule leaves paper out; the warning
 * is given all the same, because kits may be laminated or carry other parts.
 */
const CYLINDER = { across: mm(31.7), deep: mm(57.1) };

/** What a caution depends on: the piece, and whether its stock is printed. */
export interface Handled {
  readonly piece: Piece;
  readonly printed: boolean;
}

/**
 * The usual cautions of the trade for these sheets. They defer to the maker's manual, local rules and trained staff.
 *
 * @example
 * const { job } = await run({ shop, orders: [order] }, { kits: kitsIn("kits"), out: () => jobFolder("out") });
 * for (const { title, text } of cautionsFor(job?.sheets.map(({ sheet }) => sheet) ?? [])) console.log(title, text);
 */
export const cautionsFor = (sheets: readonly Sheet[]): Caution[] =>
  cautionsForPieces(
    sheets.flatMap(({ placed, stock }) =>
      placed.map(({ prepared }) => ({ piece: prepared.piece, printed: stock.press !== null })),
    ),
  );

/** The same for pieces that lie on no sheet yet; none for no pieces. */
export const cautionsForPieces = (pieces: readonly Handled[]): Caution[] => {
  if (pieces.length === 0) return [];
  const small = new Set(
    pieces
      .filter(({ piece }) => loosePartsOf(piece).some(fitsCylinder))
      .map(({ piece }) => `${piece.kit}/${piece.piece}`),
  );
  const cautions: Caution[] = [
    {
      rule: "caution.cutter",
      title: "At the cutter",
      text:
        "Blades cut and rollers draw in. Follow the maker's manual and local rules; trained staff only. Switch off and lock out " +
        "before changing blades or reaching in, cut away from hands, keep hair, sleeves and fingers from the rollers, leave the " +
        "guards on, put used blades into a sharps box. A laser adds dust and fumes: draw them off.",
    },
  ];
  if (small.size > 0)
    cautions.push({
      rule: "caution.small-parts",
      title: "Small parts",
      text:
        `Smaller than 31.7 x 57.1 mm lying flat: ${[...small].sort().join(", ")}. Small parts can choke small children: not for ` +
        "children under 3 years unless the shop's own assessment says otherwise. Local toy rules decide.",
    });
  if (pieces.some(({ printed }) => printed))
    cautions.push({
      rule: "caution.food",
      title: "Food",
      text: "Printed paper: not for direct food contact unless the shop declares otherwise for this stock and ink. Local law decides.",
    });
  return cautions;
};

/** What comes off the sheet or its liner by itself: the parts, and what is kiss-cut out of them. */
const loosePartsOf = ({ parts, lines }: Piece): Contour<"drawing">[] => [
  ...parts.map(({ outer }) => outer),
  ...lines.flatMap((l) => (l.closed && l.operation === "partialCutting" ? [l.points] : [])),
];

/** Whether a part lying flat goes into the cylinder at any turn; five degrees apart is near enough for a warning. */
const fitsCylinder = (outer: Contour<"drawing">): boolean =>
  Array.from({ length: 36 }, (_, i) => unit(i * 5)).some(([cos, sin]) => {
    const spread = (along: (x: number, y: number) => number): number => {
      let low = Infinity;
      let high = -Infinity;
      for (const { x, y } of outer) {
        const at = along(x, y);
        if (at < low) low = at;
        if (at > high) high = at;
      }
      return high - low;
    };
    return spread((x, y) => x * cos + y * sin) < CYLINDER.across && spread((x, y) => y * cos - x * sin) < CYLINDER.deep;
  });
