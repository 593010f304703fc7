// Files made to hurt, and mutants of them: each is made or refused with a reason, nothing crashes, nothing goes on for ever,
// nothing beside the job's folder is touched. `npm run test:hostile` tries all of the corpus, and then 10,000 mutants of good files
// through a worker (fuzz.ts).
import { readFileSync } from "node:fs";
import { Openers } from "@kitforme/run";
import { afterAll, expect, it, vi } from "vitest";
import { corpus, type Hostile } from "./corpus.ts";
import { randomFrom } from "./random.ts";
import { type Fate, fates } from "./shop.ts";

const LONG = process.env["KITFORME_HOSTILE"] === "all";
const MUTANTS = LONG ? 500 : 20;
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

/** Seconds of processor of all children that have ended: cutime and cstime of proc(5). */
const ofChildren = (): number => {
  const fields = readFileSync("/proc/self/stat", "latin1")
    .replace(/^.*\) /, "")
    .split(" ");
  return (Number(fields[13]) + Number(fields[14])) / 100;
};

const settled = ({ name, made, errors }: Fate): string =>
  `${name}: ${made !== errors.length > 0 ? "settled" : "neither made nor refused with a reason"}`;

it("the corpus is large enough and has no two of a kind", () => {
  expect(files.length).toBeGreaterThanOrEqual(100);
  expect(new Set(files.map(({ as, name }) => `${as} ${name}`)).size).toBe(files.length);
});

it("every file of the corpus is made or refused with a reason", async () => {
  // The short form takes a fifth of each kind.
  const tried = LONG ? files : files.filter(({ name }) => !HEAVY.test(name)).filter((_, i) => i % 5 === 0);
  for (let i = 0; i < tried.length; i += 20)
    for (const fate of await fates(tried.slice(i, i + 20), openers))
      expect(settled(fate)).toBe(`${fate.name}: settled`);
});

/** What issue and rule of the house name: whatever it takes, it is answered within 20 s of processor. */
const ANSWERED = /^(2,000 blurs|a million paths|200,000 curves in .*|(20,000|one line of 20,000) letters.*)/;

it("no file may use more than 20 s of processor: reading and preparing a piece, or setting its texts, are ended there", async () => {
  const own = new Openers();
  const { reading, preparing, setting } = own.bounds;
  expect(reading.seconds + preparing.seconds).toBeLessThanOrEqual(20);
  expect(setting.seconds).toBeLessThanOrEqual(20);
  await own.close();
});

it.runIf(process.platform === "linux")(
  "20,000 letters of live text, and in the long form 200,000 curves, 2,000 blurs and a million paths: answered within 20 s of processor",
  async () => {
    const tried = files.filter(({ name }) => ANSWERED.test(name) && (LONG || /20,000 letters of/.test(name)));
    expect(tried.length).toBe(LONG ? 7 : 1);
    for (const one of tried) {
      const apart = new Openers();
      const before = ofChildren();
      const [fate] = await fates([one], apart);
      await apart.close();
      const seconds = ofChildren() - before;
      if (LONG)
        process.stderr.write(`${one.name}: ${fate?.made ? "made" : fate?.errors.join()}, ${seconds.toFixed(1)} s\n`);
      expect(settled(fate as Fate)).toBe(`${one.name}: settled`);
      // The processes' own start, the layout and the sheet are in it too.
      expect(seconds, one.name).toBeLessThan(20);
    }
  },
);

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
