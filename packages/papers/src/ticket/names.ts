import type { Job } from "@kitforme/files";
import type { Piece } from "@kitforme/kit";
import type { Sheet } from "@kitforme/sheet";

/** Paper of one stock in one size. */
export interface Paper {
  readonly id: string;
  readonly sheets: readonly Sheet[];
}

/** A piece of the job, whatever words are on it. */
export interface Shape {
  readonly id: string;
  readonly piece: Piece;
}

/** One order's copies of one piece over all sheets. */
export interface Share {
  readonly id: string;
  readonly order: string;
  readonly piece: Piece;
  readonly wanted: number;
  /** With the overs of the places that serve this order before any other. */
  readonly made: number;
}

/** What the ticket speaks of, each with its name in it: names are counted in the job's own sequence, so they are always the same. */
export interface Names {
  readonly papers: readonly Paper[];
  readonly shapes: ReadonlyMap<string, Shape>;
  readonly shares: ReadonlyMap<string, Share>;
}

/** A place as every paper of the job writes it. */
export const placeName = (sheet: number, number: number): string => `${sheet}:${number}`;
export const dieName = (sheet: number): string => `DIE-${sheet}`;

export const shapeKey = ({ kit, piece }: Piece): string => JSON.stringify([kit, piece]);
export const shareKey = (order: string, { kit, piece }: Piece): string => JSON.stringify([order, kit, piece]);

export const namesOf = (job: Job): Names => {
  const papers = new Map<string, Sheet[]>();
  const shapes = new Map<string, Shape>();
  const shares = new Map<string, Share>();
  for (const { sheet } of job.sheets) {
    const paper = JSON.stringify([sheet.stock.stock, sheet.width, sheet.height]);
    papers.set(paper, [...(papers.get(paper) ?? []), sheet]);
    for (const { prepared, serves } of sheet.placed) {
      const { piece } = prepared;
      const key = shapeKey(piece);
      if (!shapes.has(key)) shapes.set(key, { id: `SHAPE-${shapes.size + 1}`, piece });
      let over = sheet.run - serves.reduce((n, { first, last }) => n + last - first + 1, 0);
      for (const { order, first, last } of serves) {
        const own = shareKey(order, piece);
        const share = shares.get(own) ?? { id: `PART-${shares.size + 1}`, order, piece, wanted: 0, made: 0 };
        const copies = last - first + 1;
        shares.set(own, { ...share, wanted: share.wanted + copies, made: share.made + copies + over });
        over = 0;
      }
    }
  }
  return {
    papers: [...papers.values()].map((sheets, i) => ({ id: `MEDIA-${i + 1}`, sheets })),
    shapes,
    shares,
  };
};
