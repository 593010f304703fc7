import { Catalogues, type Effort, type Field, type Footprint, homes, missing } from "@kitforme/nest";

/** By how much a footprint is larger than the field that it misses least, micrometres. */
export interface Missing {
  readonly overWidth: number;
  readonly overHeight: number;
}

interface Request {
  readonly footprints: readonly Footprint[];
  readonly fields: readonly Field[];
  readonly effort: Effort;
}

/** The largest field that holds each footprint that is asked for, -1 for none; and what those that no field holds miss. */
export const homesOf = (
  { footprints, fields, effort }: Request,
  asked: readonly boolean[],
  catalogues: Catalogues,
): { readonly home: readonly number[]; readonly least: readonly Missing[] } => {
  const order = fields
    .map((_, f) => f)
    .sort((a, b) => {
      const [p, q] = [fields[a] as Field, fields[b] as Field];
      return q.bounds.width * q.bounds.height - p.bounds.width * p.bounds.height || a - b;
    });
  const home = footprints.map(() => -1);
  const least: Missing[] = footprints.map(() => ({ overWidth: Infinity, overHeight: Infinity }));
  for (const field of order) {
    const waiting = footprints.map((_, f) => f).filter((f) => asked[f] && (home[f] as number) < 0);
    if (waiting.length === 0) break;
    const one = [fields[field] as Field];
    const catalogue = catalogues.of(footprints, one, effort === "quick");
    const found = homes(catalogue, one, footprints.length);
    for (const f of waiting) {
      if ((found[f] as number) >= 0) {
        home[f] = field;
        continue;
      }
      const by = missing(catalogue, one, f);
      const best = least[f] as Missing;
      if (by.overWidth + by.overHeight < best.overWidth + best.overHeight) least[f] = by;
    }
  }
  return {
    home,
    least: least.map(({ overWidth, overHeight }) => ({ overWidth: finite(overWidth), overHeight: finite(overHeight) })),
  };
};

const finite = (n: number): number => (Number.isFinite(n) ? n : 0);

/**
 * Footprints that lie on none of the fields, though each may be smaller than all of them: what `gang` leaves over at the same
 * effort, known without laying anything out.
 */
export const homeless = (request: Request): readonly number[] => {
  const { home } = homesOf(
    request,
    request.footprints.map(() => true),
    new Catalogues(),
  );
  return home.flatMap((field, f) => (field < 0 ? [f] : []));
};
