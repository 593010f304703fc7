// Workers with no folder in common: what orders were frozen to, prepared pieces and finished jobs lie in an S3-compatible store.
import { createHash } from "node:crypto";
import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { setTimeout as wait } from "node:timers/promises";
import { addressOf, openStore, printAgain, type ObjectStore } from "@kitforme/queue";
import { failureOf } from "@kitforme/run";
import { expect, it } from "vitest";
import { hashes } from "../support/command.ts";
import { objectServer } from "../support/object-server.ts";
import { bench, until, workHere } from "../support/queue.ts";

const text = (bytes: Uint8Array | undefined): string | undefined => bytes && new TextDecoder().decode(bytes);
const bytes = (said: string): Uint8Array => new TextEncoder().encode(said);

it("an address is read, or refused by the name of its variable", () => {
  const keys = { AWS_ACCESS_KEY_ID: "K", AWS_SECRET_ACCESS_KEY: "S" };
  expect(addressOf("s3://shop/a/b", { ...keys, KITFORME_STORE_ENDPOINT: "http://here:9000/" })).toEqual({
    address: {
      bucket: "shop",
      prefix: "a/b/",
      endpoint: "http://here:9000",
      region: "us-east-1",
      keyId: "K",
      secret: "S",
    },
  });
  expect(addressOf("s3://shop", { ...keys, AWS_REGION: "eu-north-1" })).toMatchObject({
    address: { prefix: "", endpoint: "https://s3.eu-north-1.amazonaws.com" },
  });
  for (const [url, env, named] of [
    ["shop", keys, "KITFORME_STORE"],
    ["s3://Shop_/x", keys, "KITFORME_STORE"],
    ["s3://shop", { ...keys, KITFORME_STORE_ENDPOINT: "here" }, "KITFORME_STORE_ENDPOINT"],
    ["s3://shop", { AWS_ACCESS_KEY_ID: "K" }, "AWS_SECRET_ACCESS_KEY"],
  ] as const)
    expect(addressOf(url, env)).toMatchObject({ fault: expect.stringContaining(named) });
});

it("objects are put, put once, listed and removed; a store that is away or says no is an environment fault", async () => {
  const server = await objectServer();
  const store = await openStore(server.address);
  expect(await store.get("a")).toBeUndefined();
  await store.put("jobs/x y&<1>.json", bytes("one"));
  expect(text(await store.get("jobs/x y&<1>.json"))).toBe("one");
  expect(await store.putNew("jobs/new", bytes("first"))).toBe(true);
  expect(await store.putNew("jobs/new", bytes("second"))).toBe(false);
  expect(text(await store.get("jobs/new"))).toBe("first");
  await store.put("other", new Uint8Array(300_000));
  const listed = await store.list("jobs/");
  expect(listed.map(({ key, bytes: size }) => [key, size])).toEqual([
    ["jobs/new", 5],
    ["jobs/x y&<1>.json", 3],
  ]);
  expect(Math.abs((listed[0]?.at ?? 0) - Date.now())).toBeLessThan(60_000);
  await store.remove("jobs/new");
  expect(await store.get("jobs/new")).toBeUndefined();
  const fault = (one: ObjectStore) => one.put("a", bytes("a")).then(() => undefined, failureOf);
  const stranger = await openStore({ ...server.address, keyId: "unknown" });
  expect(await fault(stranger)).toMatchObject({
    kind: "environment",
    message: expect.stringMatching(/s3:\/\/shop.*403/),
  });
  server.stop();
  expect(await fault(store)).toMatchObject({
    kind: "environment",
    message: expect.stringContaining("s3://shop/night/"),
  });
});

it("an order frozen on one machine is made on another, to the same bytes; a job that is there is never replaced", async () => {
  const at = bench();
  const server = await objectServer();
  const store = await openStore(server.address);
  const order = at.order("S-1", ["Solveig", "Aino"]);
  const alone = await at.madeAlone(order);
  const job = readdirSync(join(at.root, "alone")).find((name) => !name.startsWith("."));
  const there = join(at.root, "there");
  mkdirSync(there);
  await at.submitWith({ house: { shop: at.shop, kits: at.kits, out: there, store } }, order);
  // The submitter's machine is gone, and its kit is another by now.
  rmSync(there, { recursive: true });
  writeFileSync(join(at.kits, "tag", "tag.svg"), "<svg/>");
  const place = `jobs/${job}/`;
  await store.put(`${place}job.json`, bytes("another's"));
  const cache = { folder: join(at.out, ".kitforme", "cache"), bytes: 1e8 };
  const worker = workHere(at, { store, cache });
  await until("the place to be seen as taken", () =>
    worker.troubles.some((t) => t.reason.includes("another finished job")),
  );
  expect(text(await store.get(`${place}job.json`))).toBe("another's");
  await store.remove(`${place}job.json`);
  const [ended] = await at.ended("S-1");
  expect(ended).toMatchObject({ state: "made", answer: { folder: `s3://shop/night/${place}` } });
  const sent: Record<string, string> = {};
  for (const { key } of await store.list(place))
    sent[key.slice(place.length)] = createHash("sha256")
      .update((await store.get(key)) ?? "")
      .digest("hex");
  expect(sent).toEqual(alone);
  expect(hashes(join(at.out, job ?? ""))).toEqual(alone);
  // It is printed again from the store, by a machine that has it no more: the very same job.
  rmSync(join(at.out, job ?? ""), { recursive: true });
  await printAgain(at.redis, at.keys, "S-1");
  expect((await at.ended("S-1:reprint"))[0]).toMatchObject({ state: "made", answer: { job } });
  expect(hashes(join(at.out, job ?? ""))).toEqual(alone);
  // What was prepared lies there for machines that have never seen it.
  const kept = await store.list("cache/");
  expect(kept.map(({ key }) => key.slice("cache/".length))).toEqual(readdirSync(cache.folder).sort());
  expect(kept.length).toBeGreaterThan(0);
  for (const { key } of kept)
    expect(Buffer.from((await store.get(key)) ?? [])).toEqual(
      readFileSync(join(cache.folder, key.slice("cache/".length))),
    );
});

it("one gang is made by two workers that have only the store in common, to the same bytes", async () => {
  const at = bench();
  const server = await objectServer();
  const store = await openStore(server.address);
  const order = at.order(
    "S-1",
    Array.from({ length: 40 }, (_, i) => `Boat ${i}`),
  ); // three sheets of card, one of board
  const alone = await at.madeAlone(order);
  const outs = ["first", "second"].map((name) => join(at.root, name));
  for (const out of outs) mkdirSync(out);
  const [maker] = outs.map((out) => workHere(at, { out, store }));
  await at.submitWith({ house: { shop: at.shop, kits: at.kits, out: outs[0] as string, store } }, order);
  const handed = new Set<string>();
  const helped = await until("the other to do a part", async () => {
    // Now and then: what is handed over lies there until the gang has ended.
    await wait(250);
    for (const { key } of await store.list("parts/")) handed.add(key);
    return [...handed].some((key) => /\/part-[^/]*$/.test(key));
  });
  expect(helped).toBe(true);
  const [ended] = await at.ended("S-1");
  expect(ended?.state).toBe("made");
  const made = outs.flatMap((out) =>
    readdirSync(out)
      .filter((name) => !name.startsWith("."))
      .map((name) => join(out, name)),
  );
  expect(made.map((folder) => hashes(folder))).toEqual([alone]);
  expect(maker?.troubles).toEqual([]);
  // Nothing that was handed over stays, in the store or beside the jobs.
  const left = (folder: string): string[] => {
    const helped = join(folder, ".kitforme", "helped");
    return existsSync(helped) ? readdirSync(helped) : [];
  };
  await until("what was handed over to be gone", async () => {
    await wait(250);
    const there = await store.list("parts/");
    return there.length === 0 && outs.flatMap(left).length === 0;
  });
});
