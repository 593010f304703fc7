import type { GangRequest, Plan } from "./footprint.ts";
import { Catalogues } from "@kitforme/nest";
import { homesOf, type Missing } from "./homes-of.ts";
import { boundOf } from "./runs/bound.ts";
import { geometriesFor } from "./runs/geometries.ts";
import { type Geometry, priceOf, type Quota, sheetsOf } from "./runs/search.ts";
import { needOf } from "./runs/need.ts";
import { withOwners } from "./runs/owners.ts";
import { PatternBook } from "./runs/pattern-book.ts";
import { formesOf } from "./runs/words.ts";

/**
 * Which pieces share a layout, and how often each layout is printed: at least
 * `setup.sheetChange * sheets + setup.newLayout * distinct geometries`. Every demand is made at least as often as wanted
 * (with its overs), personal demands exactly so often. Geometries are planned by footprint; words are put on them afterwards,
 * because a geometry printed with other words is no new layout.
 *
 * Same request, same plan: effort counts pieces laid and moves made, never time. An aborted search gives its best plan so far.
 */
export const gang = async (request: GangRequest): Promise<Plan> => {
  const { footprints, fields, demands, setup, overs, effort } = request;
  const threads = request.threads ?? 0;
  const catalogues = new Catalogues();
  const book = new PatternBook(footprints, fields, catalogues, effort === "quick");
  const needs = demands.map((d) => needOf(d, overs));
  const asked = footprints.map((_, f) => demands.some((d) => d.footprint === f && d.copies > 0));
  const { home, least } = homesOf({ footprints, fields, effort }, asked, catalogues);
  const leftovers = demands.flatMap((d, demand) =>
    d.copies <= 0 || (home[d.footprint] as number) >= 0 ? [] : [{ demand, ...(least[d.footprint] as Missing) }],
  );
  const able = demands.map((d) => (home[d.footprint] as number) >= 0);
  const need = footprints.map((_, f) =>
    demands.reduce((n, d, i) => (d.footprint === f && able[i] ? n + (needs[i] as number) : n), 0),
  );
  const exact = footprints.map((_, f) => demands.every((d) => d.footprint !== f || d.personal));
  const wanted = need.reduce((sum, n, f) => sum + n * (book.area[f] as number), 0);
  const report = (done: number, sheets: number): void => {
    const room = sheets * Math.max(...fields.map((f) => f.width * f.height));
    const covered = room > 0 ? Math.min(1, wanted / room) : 0;
    request.onProgress?.({ done: Math.round(100 * done), of: 100, sheets, yield: covered });
  };
  const geometries: Geometry[] = [];
  for (let field = 0; field < fields.length; field++) {
    const quota: Quota = { field, need: need.map((n, f) => (home[f] === field ? n : 0)), exact };
    const soFar = sheetsOf(geometries);
    const found = await geometriesFor(
      {
        book,
        costs: setup,
        effort,
        threads,
        signal: request.signal,
        onProgress: (done, n) => report((field + done) / fields.length, soFar + n),
      },
      quota,
    );
    for (const g of found) geometries.push(await smaller(g, book));
  }
  const formes = withOwners(
    formesOf(
      geometries,
      demands,
      needs.map((n, i) => (able[i] ? n : 0)),
    ),
    demands,
  );
  report(1, sheetsOf(geometries));
  return {
    formes,
    leftovers,
    bound: boundOf(book, setup, need, home),
    cost: priceOf(geometries, setup),
  };
};

/** The same pieces on the smallest sheet that takes them: sheets cost the same, paper does not. */
const smaller = async (geometry: Geometry, book: PatternBook): Promise<Geometry> => {
  const paper = (f: number): number => {
    const field = book.fields[f] as (typeof book.fields)[number];
    return field.width * field.height;
  };
  const now = geometry.pattern.field;
  const others = book.fields
    .map((_, f) => f)
    .filter((f) => paper(f) < paper(now))
    .sort((a, b) => paper(a) - paper(b) || a - b);
  for (const f of others) {
    const pattern = await book.fit(f, geometry.pattern.counts, "quick");
    if (pattern) return { pattern, run: geometry.run };
  }
  return geometry;
};
