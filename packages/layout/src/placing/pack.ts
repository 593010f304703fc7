import type { Field } from "../footprint.ts";
import { areaOfField, catalogueOf, MANY } from "./catalogue-of.ts";
import type { Catalogue } from "./catalogue.ts";
import { construct, homes, missing } from "./construct.ts";
import { GRANTED } from "./effort.ts";
import { fillsOf, groupsOf, joined, type Laid, laidOf, part } from "./laid.ts";
import { mend } from "./mend.ts";
import type { Packed, PackRequest, PackResult } from "./packed.ts";
import { Pool } from "./pool.ts";

/** Independent searches of each group of sheets; the best counts. Part of the effort, so never the number of threads. */
const RESTARTS = 2;

/** Fewer pieces left over, then fewer sheets, then the emptiest sheet emptier: negative when `a` is better. */
const compare = (catalogue: Catalogue, a: Laid, b: Laid): number => {
  const loose = (l: Laid): number => l.sheet.filter((s) => s < 0).length;
  const least = (l: Laid): number => Math.min(Infinity, ...fillsOf(catalogue, l));
  return loose(a) - loose(b) || a.fields.length - b.fields.length || least(a) - least(b);
};

const search = async (
  catalogue: Catalogue,
  request: PackRequest,
  start: Laid,
  report: (laid: Laid, done: number) => void,
): Promise<Laid> => {
  // Of hundreds of kinds every pair met needs its map: searching costs more there than it gains.
  const many = catalogue.kinds.length > MANY;
  const restarts = request.effort === "quick" || many ? 1 : RESTARTS;
  const perPiece = GRANTED[request.effort].moves / (many ? 8 : 1);
  const pool = new Pool(request, catalogue);
  let laid = start;
  try {
    // First all sheets, group by group; then once more the emptiest of each group together.
    for (let pass = 0; pass < 2; pass++) {
      const fills = fillsOf(catalogue, laid);
      const order = laid.fields.map((_, s) => s);
      if (pass === 1) order.sort((a, b) => (fills[a] as number) - (fills[b] as number) || a - b);
      const groups = groupsOf(laid, order);
      if (pass === 1 && groups.length === 1) break;
      const parts = groups.map((sheets, g) => part(laid, sheets, g === 0));
      const todo = pass === 0 ? parts.length : 1;
      let done = 0;
      const searched = await Promise.all(
        Array.from({ length: todo * restarts }, async (_, k) => {
          const g = Math.floor(k / restarts);
          const some = parts[g] as (typeof parts)[number];
          const found = await pool.run({
            laid: some.laid,
            seed: request.seed * 1009 + 131 * pass + k,
            moves: Math.ceil((perPiece * some.pieces.length) / restarts),
          });
          report(laid, (pass + ++done / (todo * restarts)) / 2);
          return found;
        }),
      );
      laid = joined(
        laid,
        parts.map((some, g) => {
          const mine = searched.slice(g * restarts, (g + 1) * restarts).sort((a, b) => compare(catalogue, a, b));
          return { laid: mine[0] ?? some.laid, pieces: some.pieces };
        }),
      );
    }
  } finally {
    await pool.close();
  }
  return laid;
};

/**
 * Lays all items on as few sheets as it can, the last one emptied as far as possible.
 * Same request, same answer, whatever the machine and the number of threads. Aborting keeps the best lawful layout so far.
 */
export async function pack(request: PackRequest): Promise<PackResult> {
  const { footprints, fields, items } = request;
  const catalogue = catalogueOf(footprints, fields);
  const home = homes(catalogue, fields, footprints.length);
  const fitting = items.filter((item) => (home[item.footprint] as number) >= 0);
  const leftovers = items
    .filter((item) => (home[item.footprint] as number) < 0)
    .map((item) => ({ key: item.key, ...missing(catalogue, fields, item.footprint) }));
  const list = fitting.map((item) => item.footprint);
  if (list.length === 0) return { sheets: [], leftovers, mended: 0 };
  const filled = construct(
    catalogue,
    fields,
    list,
    home,
    Math.max(1, Math.min(GRANTED[request.effort].starts, Math.ceil(2000 / list.length))),
    request.maxSheets ?? Infinity,
    (f) => f.over.length === 0 && f.beds.length === 1,
  );
  const start = laidOf(filled, list);
  const all = list.reduce((sum, k) => sum + (catalogue.kinds[k]?.area as number), 0);
  const report = (laid: Laid, done: number): void => {
    request.onProgress?.({
      done: Math.round(done * list.length),
      of: list.length,
      sheets: laid.fields.length,
      yield: all / laid.fields.reduce((sum, f) => sum + areaOfField(fields[f] as Field), 0),
    });
  };
  report(start, 0);
  const searched = request.effort !== "quick" || catalogue.kinds.length <= MANY;
  const found =
    searched && (start.fields.length > 1 || filled.over.length > 0)
      ? await search(catalogue, request, start, report)
      : start;
  const { laid, mended } = mend(catalogue, footprints, fields, home, found, request.maxSheets ?? Infinity);
  report(laid, 1);
  const sheets = laid.fields.map(
    (field, s): Packed => ({
      field,
      placements: fitting
        .map((item, i) => ({
          at: laid.sheet[i] as number,
          key: item.key,
          turn: catalogue.poses[laid.pose[i] as number]?.turn as number,
          x: laid.x[i] as number,
          y: laid.y[i] as number,
        }))
        .filter((p) => p.at === s)
        .map(({ key, turn, x, y }) => ({ key, turn, x, y })),
    }),
  );
  fitting.forEach((item, i) => {
    if ((laid.sheet[i] as number) < 0) leftovers.push({ key: item.key, overWidth: 0, overHeight: 0 });
  });
  return { sheets, leftovers, mended };
}
