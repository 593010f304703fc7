// What was made is printed again: an order whole, spoiled pieces of a job; and what stands in the way of it.
import { readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { cancelOrder, type OrderStatus, printAgain } from "@kitforme/queue";
import { expect, it } from "vitest";
import { answered, failing } from "../support/answered.ts";
import { hashes } from "../support/command.ts";
import { inside } from "../support/inside.ts";
import { bench, workHere } from "../support/queue.ts";

const folderOf = (status: OrderStatus | undefined): string => {
  if (status?.answer?.end !== "made") throw new Error(JSON.stringify(status));
  return status.answer.folder;
};
interface Manifest {
  readonly job: string;
  readonly orders: readonly string[];
  readonly gang?: { readonly closed: string; readonly why: string };
  readonly remakes?: object;
  readonly totals: { readonly pieces: number };
  readonly sheets: readonly {
    readonly sheet: number;
    readonly placements: readonly {
      readonly number: number;
      readonly texts: object;
      readonly serves: readonly object[];
    }[];
  }[];
}
const manifestOf = (folder: string): Manifest => JSON.parse(readFileSync(join(folder, "job.json"), "utf8")) as Manifest;

it("an order is printed again as the job it was, or would have been by itself, byte for byte; spoiled pieces as a remake; each a job of its own on the queue", async () => {
  const at = bench();
  const [one, two, alone] = [
    at.order("Q-1", ["Solveig", "Aino"]),
    at.order("Q-2", ["Per"]),
    at.order("Q-3", ["Ann"]),
  ] as [string, string, string];
  const whole = await at.alone(one);
  const byItself = hashes(whole);
  await at.submit(one, two);
  await at.submit(alone);
  workHere(at);
  const [gang, , lone] = await at.ended("Q-1", "Q-2", "Q-3");
  const [shared, single] = [folderOf(gang), folderOf(lone)];
  const [before, beforeSingle] = [hashes(shared), hashes(single)];

  // The kit has changed since: nothing of that shows.
  const kit = join(at.kits, "tag/kit.json");
  writeFileSync(kit, readFileSync(kit, "utf8").replace('"perKit":1', '"perKit":3'));

  expect(await printAgain(at.redis, at.keys, "Q-9")).toEqual({ not: undefined });
  const first = await printAgain(at.redis, at.keys, "Q-1");
  expect(first).toMatchObject({ fresh: true, status: { order: "Q-1:reprint" } });
  // Asking twice is asking once.
  expect(await printAgain(at.redis, at.keys, "Q-1")).toMatchObject({ fresh: false });
  await printAgain(at.redis, at.keys, "Q-3");
  const [tag] = manifestOf(shared).sheets.flatMap(({ sheet, placements }) =>
    placements.flatMap((p) => (JSON.stringify(p.texts).includes("Aino") ? [{ ...p, sheet }] : [])),
  );
  const spoiled = [`${tag?.sheet}:${tag?.number}`];
  const remade = await printAgain(at.redis, at.keys, "Q-2", { spoiled, as: "Q-2 anew" });
  expect(remade).toMatchObject({ fresh: true, status: { order: "Q-2 anew" } });
  expect(await printAgain(at.redis, at.keys, "Q-2", { spoiled: ["1:999"], as: "Q-2 anew" })).toEqual({
    taken: "Q-2 anew",
  });
  await printAgain(at.redis, at.keys, "Q-2", { spoiled: ["1:999"], as: "Q-2 wrong" });
  const [again, same, remake, wrong] = await at.ended("Q-1:reprint", "Q-3:reprint", "Q-2 anew", "Q-2 wrong");

  // Of the gang by itself: the job of that order alone, but for why it was made.
  const printed = folderOf(again);
  expect(manifestOf(printed)).toMatchObject({
    orders: ["Q-1"],
    totals: { pieces: manifestOf(whole).totals.pieces },
    gang: { closed: "reprint", why: `printed again from job ${manifestOf(shared).job}` },
  });
  const { "job.json": _, ...files } = hashes(printed);
  const { "job.json": __, ...expected } = byItself;
  expect(files).toEqual(expected);
  expect(again).toMatchObject({
    state: "made",
    again: { kind: "reprint", order: "Q-1", job: manifestOf(shared).job },
    why: `order Q-1 of job ${manifestOf(shared).job} printed again`,
  });
  // An order that was by itself is the same job in the same folder.
  expect(folderOf(same)).toBe(single);

  expect(manifestOf(folderOf(remake))).toMatchObject({
    orders: ["Q-1"],
    remakes: { job: manifestOf(shared).job, spoiled },
    totals: { pieces: 1 },
    sheets: [{ placements: [{ texts: tag?.texts, serves: [{ order: "Q-1", first: 2, last: 2 }] }] }],
  });
  expect(wrong).toMatchObject({ state: "refused", answer: { findings: [{ rule: "spoiled-unknown" }] } });
  for (const status of [again, remake])
    expect(Object.keys(status?.times ?? {})).toEqual(["received", "checked", "ganged", "making", "made"]);

  // What was made before is as it was, and a job that the shop has removed can be printed again no more.
  expect([hashes(shared), hashes(single)]).toEqual([before, beforeSingle]);
  expect(
    readdirSync(at.out)
      .filter((name) => !name.startsWith("."))
      .sort(),
  ).toEqual(at.jobs().sort());
  expect(at.jobs().length).toBe(4);
  rmSync(shared, { recursive: true });
  await printAgain(at.redis, at.keys, "Q-2");
  expect((await at.ended("Q-2:reprint"))[0]).toMatchObject({
    state: "refused",
    answer: { findings: [{ rule: "remake-unfinished" }] },
  });
});

it("a reprint can be cancelled until it is ganged, and comes again", async () => {
  const at = bench();
  const P = at.keys.prefix;
  await at.submit(at.order("Q-1", ["Solveig"]));
  await answered(at, "Q-1");

  await printAgain(at.redis, at.keys, "Q-1");
  expect(await cancelOrder(at.redis, at.keys, "Q-1:reprint")).toBe("cancelled");
  expect(await printAgain(at.redis, at.keys, "Q-1")).toMatchObject({ fresh: true, status: { state: "received" } });
  // A reprint on its way is nothing that could be printed again.
  expect(await printAgain(at.redis, at.keys, "Q-1:reprint")).toEqual({ not: "received" });
  expect(await at.redis.hlen(`${P}-frozen`), "nothing is held that was frozen").toBe(0);
});

it("the commands print again, remake and retry, and say when that cannot be", async () => {
  const at = bench();
  await at.submit(at.order("Q-1", ["Solveig"]));
  await answered(at, "Q-1");
  await at.submit(at.order("Q-2", ["Aino"]));
  await at.submit(at.order("Q-3", ["Per"]));
  await failing(at, "Q-2", "Q-3");
  const run = async (...args: string[]) => {
    const { code, out } = await inside([...args, ...at.queue]);
    return [code, out.trim()];
  };
  expect(await run("reprint", "Q-1")).toEqual([0, "Q-1:reprint  on the queue"]);
  expect(await run("reprint", "Q-1")).toEqual([0, "Q-1:reprint  is there already: received"]);
  expect(await run("reprint", "Q-2")).toEqual([1, "Q-2  is not made: failed"]);
  expect(await run("reprint", "Q-9")).toEqual([1, "order Q-9 is not known here"]);
  expect(await run("remake", "--order", "Q-1", "--spoiled", "1:2, 1:1", "--as", "Q-1b")).toEqual([
    0,
    "Q-1b  on the queue",
  ]);
  expect(await run("remake", "--order", "Q-1", "--spoiled", "1:3", "--as", "Q-1b")).toEqual([
    1,
    "another order is called Q-1b: give the name with --as",
  ]);
  expect((await at.status("Q-1b"))?.again).toEqual({
    kind: "remake",
    order: "Q-1",
    job: "JOB",
    spoiled: ["1:1", "1:2"],
  });
  expect((await run("status", "Q-1b"))[1]).toMatch(
    /^Q-1b {2}received\n {2}makes spoiled pieces of job JOB anew: 1:1, 1:2\n/,
  );
  expect(await run("retry", "--failed")).toEqual([0, "Q-2  on the queue again\nQ-3  on the queue again"]);
  expect((await at.status("Q-3"))?.state).toBe("checked");
  expect(await run("retry", "--failed")).toEqual([0, "no order has failed"]);
});
