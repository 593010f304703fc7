import { Catalogues } from "../maps/catalogues.ts";
import { areaOfField } from "../maps/room.ts";
import type { Catalogue } from "../maps/catalogue.ts";
import { Dice } from "../search/dice.ts";
import { choose } from "../choose/choose.ts";
import { constructInBreaths, homes, missing } from "../start/construct.ts";
import { GRANTED } from "../search/effort.ts";
import { fillsOf, groupsOf, joined, type Layout, layoutOf, part, TOGETHER } from "./layout.ts";
import { mend } from "./mend.ts";
import type { Packed, PackRequest, PackResult } from "./packed.ts";
import type { Task } from "./perform.ts";
import { Pool } from "./pool.ts";

/** Searches of the same sheets where there is but one group of them; the best counts. Part of the effort, so never the number of threads. */
const RESTARTS = 2;

/** Constructive starts times pieces: of hundreds of pieces one start is enough, the search makes up for the rest. */
const STARTS_OF = 400;

/** Times that sheets are dealt into new groups: what is free on a sheet of one group may be wanted in another. */
const ROUNDS = 3;
/** Number of the search after them. */
const LAST = 6;
/** Of the effort, for each of those rounds. */
const FRACTION = 0.13;

/** Copies of a kind that count in the effort of choosing: the worth of a piece does not depend on how many there are. */
const ENOUGH = 12;

/** Sheets searched together. */
const GROUP = 8;

/**
 * Kinds up to which there is a search where they are many. It lets all kinds of a group meet, and every two that meet need
 * their map: 200 kinds in 600 pieces took minutes for maps alone.
 */
const SEARCHED = { quick: 0, normal: 100, best: Infinity };

/** Fewer pieces left over, then fewer sheets, then the emptiest sheet emptier: negative when `a` is better. */
const compare = (catalogue: Catalogue, a: Layout, b: Layout): number => {
  const loose = (l: Layout): number => l.sheet.filter((s) => s < 0).length;
  const least = (l: Layout): number => Math.min(Infinity, ...fillsOf(catalogue, l));
  return loose(a) - loose(b) || a.fields.length - b.fields.length || least(a) - least(b);
};

const search = async (
  catalogue: Catalogue,
  request: PackRequest,
  start: Layout,
  report: (layout: Layout, done: number) => void,
): Promise<Layout> => {
  const { many } = catalogue.options;
  const perPiece = GRANTED[request.effort].moves / (many ? 8 : 1);
  const pool = new Pool(request, catalogue, perPiece * start.kinds.length);
  const dice = new Dice(request.seed, 11);
  let layout = start;
  /** Searches each of these groups of sheets, the first one with the pieces not placed yet; the others stay. */
  const searched = async (
    groups: readonly number[][],
    way: Task["way"],
    fraction: number,
    done: number,
  ): Promise<void> => {
    const parts = groups.map((sheets, g) => part(layout, sheets, g === 0));
    const restarts = request.effort === "quick" || many || groups.length > 1 ? 1 : RESTARTS;
    const found = await Promise.all(
      parts.flatMap((some, g) =>
        Array.from({ length: restarts }, (_, k) =>
          pool.run({
            layout: some.layout,
            seed: request.seed * 1009 + 131 * done + g * restarts + k,
            moves: Math.ceil((perPiece * fraction * some.pieces.length) / restarts),
            way,
          }),
        ),
      ),
    );
    const touched = new Set(groups.flat());
    const rest = layout.fields.map((_, s) => s).filter((s) => !touched.has(s));
    layout = joined(layout, [
      part(layout, rest, false),
      ...parts.map((some, g) => {
        const mine = found.slice(g * restarts, (g + 1) * restarts).sort((a, b) => compare(catalogue, a, b));
        return { layout: mine[0] ?? some.layout, pieces: some.pieces };
      }),
    ]);
    report(layout, done < LAST ? 0.1 * (done + 1) : 1);
  };
  try {
    // Of very many kinds every two that meet need their map, and dealing sheets anew makes all of them meet.
    if (many) {
      await searched(
        groupsOf(
          layout,
          layout.fields.map((_, s) => s),
        ),
        "empty",
        0.8,
        0,
      );
    }
    for (let round = 0; round < ROUNDS && layout.fields.length > 1 && !many; round++) {
      const order = Int32Array.from(layout.fields, (_, s) => s);
      dice.shuffle(order, order.length);
      const groups = Math.ceil(order.length / GROUP);
      await searched(
        Array.from({ length: groups }, (_, g) => [...order].filter((_, q) => q % groups === g)),
        "consolidate",
        FRACTION,
        round,
      );
    }
    const exchanges =
      GRANTED[request.effort].exchanges * Math.min(layout.kinds.length, ENOUGH * catalogue.kinds.length);
    if (!many && exchanges > 0 && request.maxSheets === undefined && layout.fields.length > 1) {
      const chosen = await choose(
        catalogue,
        layout,
        request.seed,
        exchanges,
        (tasks) => Promise.all(tasks.map((task) => pool.run(task))),
        (fraction) => report(layout, 0.3 + 0.6 * fraction),
      );
      if (compare(catalogue, chosen, layout) < 0) layout = chosen;
    }
    // One sheet that is asked whether it takes all has nobody to exchange with.
    const single = start.fields.length === 1;
    // Last the emptiest ones, with pieces allowed to wander between all of them.
    const fills = fillsOf(catalogue, layout);
    const order = layout.fields.map((_, s) => s).sort((a, b) => fills[a] - fills[b] || a - b);
    await searched(groupsOf(layout, order).slice(0, 1), "empty", single ? 0.5 : 0.2, LAST);
  } finally {
    await pool.close();
  }
  return layout;
};

/**
 * Places all items on as few sheets as it can, the last one emptied as far as possible.
 * Same request, same answer, whatever the machine and the number of threads. Aborting keeps the best valid layout so far.
 */
export async function pack(request: PackRequest): Promise<PackResult> {
  const { footprints, fields, items } = request;
  const catalogue = (request.catalogues ?? new Catalogues()).of(footprints, fields, request.draft === true);
  const home = homes(catalogue, fields, footprints.length);
  const fitting = items.filter((item) => home[item.footprint] >= 0);
  const leftovers = items
    .filter((item) => home[item.footprint] < 0)
    .map((item) => ({ key: item.key, ...missing(catalogue, fields, item.footprint) }));
  const list = fitting.map((item) => item.footprint);
  if (list.length === 0) return { sheets: [], leftovers, mended: 0 };
  const filled = await constructInBreaths(
    catalogue,
    fields,
    list,
    home,
    Math.max(1, Math.min(GRANTED[request.effort].starts, Math.ceil(STARTS_OF / list.length))),
    request.maxSheets ?? Infinity,
    (f) => f.over.length === 0 && f.beds.length === 1,
  );
  const start = layoutOf(filled, list);
  const all = list.reduce((sum, k) => sum + catalogue.kinds[k].area, 0);
  const report = (layout: Layout, done: number): void => {
    request.onProgress?.({
      done: Math.round(done * list.length),
      of: list.length,
      sheets: layout.fields.length,
      yield: all / layout.fields.reduce((sum, f) => sum + areaOfField(fields[f]), 0),
    });
  };
  report(start, 0);
  // What is asked of few sheets lets few kinds meet, however many there are.
  const few = request.maxSheets !== undefined && request.effort !== "quick";
  const searched = few || !catalogue.options.many || catalogue.kinds.length <= SEARCHED[request.effort];
  const crowded = list.length - filled.over.length > TOGETHER * start.fields.length;
  const found =
    searched && !crowded && (start.fields.length > 1 || filled.over.length > 0)
      ? await search(catalogue, request, start, report)
      : start;
  const { layout, mended } = mend(catalogue, footprints, fields, home, found, request.maxSheets ?? Infinity);
  report(layout, 1);
  const sheets = layout.fields.map(
    (field, s): Packed => ({
      field,
      placements: fitting
        .map((item, i) => ({
          at: layout.sheet[i],
          key: item.key,
          turn: catalogue.poses[layout.pose[i]].turn,
          x: layout.x[i],
          y: layout.y[i],
        }))
        .filter((p) => p.at === s)
        .map(({ key, turn, x, y }) => ({ key, turn, x, y })),
    }),
  );
  fitting.forEach((item, i) => {
    if (layout.sheet[i] < 0) leftovers.push({ key: item.key, overWidth: 0, overHeight: 0 });
  });
  return { sheets, leftovers, mended };
}
