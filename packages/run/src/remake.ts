import type { Job } from "@kitforme/files";
import { type Finding, hasErrors, type MadeJob, type MadeSheet } from "@kitforme/kit";
import { type Article, articlesOf, type Numbers } from "./demands-of.ts";
import { JobName } from "./job-name.ts";
import { withOpeners } from "./outside/with-openers.ts";
import { readAll } from "./read-all.ts";
import { readFinished, recordOf } from "./read-finished.ts";
import { readRecorded } from "./read-recorded.ts";
import type { ReadJobFile } from "./fit.ts";
import { type Options, type Outcome, press, settingsOf, type Wanted } from "./run.ts";
import { sortFindings } from "./sort-findings.ts";
import type { Work } from "./watch.ts";
import { versions } from "./versions.ts";
import { say } from "./words.ts";
import type { Destination } from "./world.ts";

/** One spoiled piece's place: number `number` on sheet `sheet`. */
interface Spoiled {
  readonly sheet: number;
  readonly number: number;
}

/** See `remake` of the front door. */
export const remake = async (
  read: ReadJobFile,
  spoiled: readonly string[],
  out: (job: string) => Destination,
  options: Options = {},
): Promise<Outcome> =>
  withOpeners(options, async (work) => {
    const again = await orderAgain(read, spoiled, options, work);
    if (!again.wanted) return again;
    return press(again.wanted, out, settingsOf(options), work, { remakes: again.remakes });
  });

/** What a remake makes: pieces and orders cut down to the spoiled ones, and whose they were. */
type OrderedAgain =
  | { readonly wanted: Wanted; readonly remakes: NonNullable<Job["remakes"]>; readonly findings: readonly Finding[] }
  | { readonly wanted?: undefined; readonly findings: readonly Finding[] };

/** Reads what a finished job recorded, and what of it is to be made anew. */
export const orderAgain = async (
  read: ReadJobFile,
  spoiled: readonly string[],
  options: Options,
  work: Work,
): Promise<OrderedAgain> => {
  const made = await readFinished(read);
  if (!made.value) return { findings: made.findings };
  const job = made.value;
  const asked = placesOf(spoiled, job);
  if (hasErrors(asked.findings)) return { findings: sortFindings(asked.findings) };
  const { zip, findings } = await recordOf(read, job);
  if (!zip) return { findings };

  const settings = settingsOf(options);
  const { input, kits: store } = readRecorded(zip);
  const again = await readAll(input, store, settings, work);
  if (!again.value) return { findings: sortFindings(again.findings) };
  const name = new JobName().add("versions", JSON.stringify(await versions())).add("effort", settings.effort);
  name.add("remakes", job.job).add("spoiled", asked.spoiled.join(","));
  const articles = articlesFor(asked.numbers, articlesOf(again.value.orders, again.value.kits));
  const wanted = new Set(articles.flatMap(({ wanted: numbers }) => numbers.map(({ order }) => order)));
  const commission = {
    ...again.value,
    // Overs of overs: nobody asked for them.
    shop: { ...again.value.shop, overs: { sheets: 0, share: 0 } },
    orders: again.value.orders.filter(({ order }) => wanted.has(order)),
    job: name.value(),
  };
  return {
    wanted: { commission, articles, findings: asked.findings },
    remakes: { job: job.job, spoiled: asked.spoiled },
    findings: [],
  };
};

/** Numbers of one piece that are made anew. */
interface Again extends Numbers {
  readonly kit: string;
  readonly piece: string;
}

/** The numbers that lie at the spoiled places; every place that cannot be one is a finding. */
const placesOf = (
  spoiled: readonly string[],
  job: MadeJob,
): {
  readonly numbers: readonly Again[];
  readonly spoiled: readonly string[];
  readonly findings: readonly Finding[];
} => {
  const findings: Finding[] = [];
  const counts = new Map<string, number>();
  for (const text of spoiled) {
    const at = /^(\d{1,6}):(\d{1,6})$/.exec(text.trim());
    if (at) {
      const key = `${Number(at[1])}:${Number(at[2])}`;
      counts.set(key, (counts.get(key) ?? 0) + 1);
    } else findings.push(say("spoiled-unreadable", {}, { text }));
  }
  const places = [...counts.keys()].map((key): Spoiled => {
    const [sheet = 0, number = 0] = key.split(":").map(Number);
    return { sheet, number };
  });
  places.sort((a, b) => a.sheet - b.sheet || a.number - b.number);
  const numbers: Again[] = [];
  for (const { sheet, number } of places) {
    const at = `${sheet}:${number}`;
    const count = counts.get(at) ?? 0;
    const found: MadeSheet | undefined = job.sheets.find((s) => s.sheet === sheet);
    const placed = found?.placements.find((p) => p.number === number);
    if (!found || !placed) findings.push(say("spoiled-unknown", { sheet }, { at, sheets: job.sheets.length }));
    else if (count > found.run) findings.push(say("spoiled-too-many", { sheet }, { at, count, run: found.run }));
    else {
      const own = placed.serves.flatMap(({ order, first, last }) =>
        Array.from(
          { length: last - first + 1 },
          (_, i): Again => ({ kit: placed.kit, piece: placed.piece, order, first: first + i, last: first + i }),
        ),
      );
      numbers.push(...own.slice(0, count));
      if (own.length < count) findings.push(say("spoiled-over", { sheet }, { at, over: count - own.length }));
    }
  }
  if (numbers.length === 0 && !hasErrors(findings)) findings.push(say("nothing-to-remake", {}, {}));
  const sorted = places.flatMap(({ sheet, number }) =>
    Array.from({ length: counts.get(`${sheet}:${number}`) ?? 0 }, () => `${sheet}:${number}`),
  );
  return { numbers, spoiled: sorted, findings };
};

/** The articles of the first job, cut down to these numbers. */
const articlesFor = (numbers: readonly Again[], articles: readonly Article[]): Article[] =>
  articles.flatMap((article) => {
    const { kit, piece } = article.piece;
    const wanted = numbers
      .filter((n) => n.kit === kit && n.piece === piece)
      .filter((n) => article.wanted.some((w) => w.order === n.order && w.first <= n.first && n.last <= w.last))
      .map(({ order, first, last }): Numbers => ({ order, first, last }));
    return wanted.length > 0 ? [{ ...article, copies: wanted.length, wanted }] : [];
  });
