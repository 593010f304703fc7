// Files made to hurt, and mutants of them: each is made or refused with a reason, nothing crashes, nothing goes on for ever,
// nothing beside the job's folder is touched. `npm run test:hostile` tries all of the corpus and 10,000 mutants.
import { Openers } from "@kitforme/run";
import { afterAll, expect, it, vi } from "vitest";
import { corpus, type Hostile } from "./corpus.ts";
import { randomFrom } from "./random.ts";
import { type Fate, fates } from "./shop.ts";

const LONG = process.env["KITFORME_HOSTILE"] === "all";
const MUTANTS = LONG ? Number(process.env["KITFORME_MUTANTS"] ?? 10_000) : 24;
/** Mutants that share a job: so many of them share its layout, its sheets and its processes. */
const TOGETHER = LONG ? 50 : 20;
vi.setConfig({ testTimeout: LONG ? 24 * 3_600_000 : 900_000 });

// Mutants, and all of the short form, get less time to the same end.
const hasty = new Openers({ preparing: { seconds: 4, memory: 1500 }, reading: { seconds: 4, memory: 1000 } });
const openers = LONG ? new Openers() : hasty;
afterAll(() => Promise.all([openers.close(), hasty.close()]));

const files = await corpus();
/** Seconds of work each: only in the long form. */
const HEAVY = /200 MB|million|200,000|2,000 blurs|10\^20|20,000 x 20,000/;

const settled = ({ name, made, errors }: Fate): string =>
  `${name}: ${made !== errors.length > 0 ? "settled" : "neither made nor refused with a reason"}`;

it("the corpus is large enough and has no two of a kind", () => {
  expect(files.length).toBeGreaterThanOrEqual(100);
  expect(new Set(files.map(({ as, name }) => `${as} ${name}`)).size).toBe(files.length);
});

it("every file of the corpus is made or refused with a reason", async () => {
  // The short form takes a third of each kind.
  const tried = LONG ? files : files.filter(({ name }) => !HEAVY.test(name)).filter((_, i) => i % 3 === 0);
  for (let i = 0; i < tried.length; i += 20)
    for (const fate of await fates(tried.slice(i, i + 20), openers))
      expect(settled(fate)).toBe(`${fate.name}: settled`);
});

it(`${MUTANTS} mutants are made or refused with a reason`, async () => {
  const random = randomFrom(1);
  const seeds = files.filter(({ bytes, name }) => bytes.length > 0 && bytes.length < 200_000 && !HEAVY.test(name));
  const mutants = Array.from({ length: MUTANTS }, (_, i) => mutant(seeds[random(seeds.length)] as Hostile, i, random));
  let made = 0;
  for (let i = 0; i < mutants.length; i += TOGETHER) {
    const all = await fates(mutants.slice(i, i + TOGETHER), hasty);
    for (const fate of all) expect(settled(fate)).toBe(`${fate.name}: settled`);
    made += all.filter((fate) => fate.made).length;
    if (LONG)
      process.stderr.write(`${i + all.length} mutants, ${made} made, ${Math.round(performance.now() / 1_000)} s\n`);
  }
});

/** Bytes changed, cut, doubled, moved, or numbers made large. */
const mutant = (seed: Hostile, number: number, random: (below: number) => number): Hostile => {
  let bytes = Buffer.from(seed.bytes);
  for (let times = 1 + random(8); times > 0; times--) {
    const at = random(Math.max(1, bytes.length));
    const end = Math.min(bytes.length, at + 1 + random(64));
    const way = random(6);
    if (way === 0) bytes[at] = random(256);
    else if (way === 1) bytes.fill(random(2) * 255, at, end);
    else if (way === 2) bytes = Buffer.concat([bytes.subarray(0, at), bytes.subarray(end)]);
    else if (way === 3) bytes = Buffer.concat([bytes.subarray(0, end), bytes.subarray(at)]);
    else if (way === 4)
      bytes = Buffer.from(
        bytes.toString("latin1").replace(/\d+/g, (d) => (random(20) === 0 ? String(random(2 ** 31)) : d)),
        "latin1",
      );
    else bytes = Buffer.from(bytes.subarray(0, Math.max(1, end)));
  }
  return { ...seed, name: `mutant ${number} of ${seed.name}`, bytes: new Uint8Array(bytes) };
};
