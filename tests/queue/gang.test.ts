// Orders that come one by one are ganged over time, of what they meant when they came, and can be changed until then.
import { mkdirSync, readFileSync, readdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { cancelOrder, countsOf, type OrderStatus, retryOrder, watchOrders } from "@kitforme/queue";
import { script } from "../../packages/queue/src/scripts.ts";
import sharp from "sharp";
import { describe, expect, it } from "vitest";
import { hashes, kitforme } from "../support/command.ts";
import { bench, ganging, until, workHere } from "../support/queue.ts";

interface Manifest {
  readonly totals: { readonly sheets: number };
  readonly orders: readonly string[];
  readonly gang?: { readonly closed: string; readonly why: string };
}
const manifestOf = (folder: string) => JSON.parse(readFileSync(join(folder, "job.json"), "utf8")) as Manifest;
const madeOf = (status: OrderStatus | undefined) => {
  if (status?.answer?.end !== "made") throw new Error(`${status?.order} was not made`);
  return status.answer;
};
const folderOf = (status: OrderStatus | undefined): string => madeOf(status).folder;
const jobOf = (status: OrderStatus | undefined): string => madeOf(status).job;
const edit = (file: string, from: string, to: string) =>
  writeFileSync(file, readFileSync(file, "utf8").replace(from, to));

describe("orders that come one by one", () => {
  it("take at most a twentieth more sheets than one job of all of them", async () => {
    const at = ganging({ fill: 0.6, wait: 0.3, lead: 24 });
    workHere(at, { settle: 3_000 });
    const names = Array.from({ length: 30 }, (_, i) => `Q-${String(i).padStart(2, "0")}`);
    const files = names.map((name, i) => at.order(name, [`Boat ${i}`, `Ship ${i}`, `Raft ${i}`].slice(0, 1 + (i % 3))));
    for (const file of files) {
      await at.submit(file);
      await new Promise((r) => void setTimeout(r, 100));
    }
    const ended = await at.ended(...names);
    expect(ended.every((s) => s.state === "made")).toBe(true);
    const made = at.jobs().map((job) => manifestOf(join(at.out, job)));
    expect(made.flatMap((job) => job.orders).sort()).toEqual(names);
    const sheets = made.reduce((sum, job) => sum + job.totals.sheets, 0);
    expect(sheets).toBeLessThanOrEqual(1.05 * manifestOf(await at.alone(...files)).totals.sheets);
    expect(made[0]?.gang?.why).toMatch(/filled to|has waited/);
  });

  it("say what they wait for; --now does not wait, and a due date closes the gang", async () => {
    const at = ganging({ fill: 0.9, wait: 600, lead: 24 });
    workHere(at);
    await at.submit(at.order("Q-1", ["Solveig"]));
    const waiting = await until("the wait", async () => {
      const now = await at.status("Q-1");
      return now?.state === "waiting" && now.waits ? now : undefined;
    });
    expect(waiting.waits?.sheets).toBeGreaterThan(1); // of two stocks, each almost empty
    expect(Date.parse(waiting.waits?.until ?? "") - Date.now()).toBeGreaterThan(9 * 3600_000);
    const said = await kitforme(["status", ...at.queue, "Q-1"]);
    expect(said.out).toMatch(/^Q-1 {2}waits for 1\.\d sheets, at the latest (\S+ )?\d\d:\d\d$/m);
    await at.submitWith({ now: true }, at.order("Q-2", ["Aino"]));
    const [now] = await at.ended("Q-2");
    expect(now?.state).toBe("made");
    expect((await at.status("Q-1"))?.state).toBe("waiting");
    const due = JSON.parse(readFileSync(at.order("Q-3", ["Frida"]), "utf8")) as object;
    const file = join(at.root, "due.json");
    writeFileSync(file, JSON.stringify({ ...due, due: new Date().toISOString().slice(0, 10) }));
    await at.submit(file);
    const [one, three] = await at.ended("Q-1", "Q-3");
    expect(one?.answer).toMatchObject({ job: jobOf(three) });
    expect(manifestOf(join(at.out, jobOf(one))).gang?.closed).toBe("due");
  });

  it("can be changed and cancelled until they are ganged, and come again afterwards", async () => {
    const at = ganging({ fill: 0.6, wait: 240, lead: 24 });
    const worker = workHere(at);
    await at.submit(at.order("Q-1", ["Solveig"]), at.order("Q-2", ["Aino"]));
    await until("the wait", async () => (await countsOf(at.redis, at.keys)).counts.waiting === 2);
    expect((await at.submit(at.order("Q-1", ["Frida"]))).findings).toMatchObject([{ rule: "order-changed" }]);
    const changed = at.order("Q-1", ["Frida"]);
    expect((await at.submitWith({ change: true, now: true }, changed)).orders).toMatchObject([{ fresh: true }]);
    expect(await cancelOrder(at.redis, at.keys, "Q-2")).toBe("cancelled");
    const [made] = await at.ended("Q-1");
    expect(hashes(folderOf(made))["sheet-001.print.pdf"]).toBe((await at.madeAlone(changed))["sheet-001.print.pdf"]);
    expect(await cancelOrder(at.redis, at.keys, "Q-1")).toBe("made");
    expect(await retryOrder(at.redis, at.keys, "Q-1")).toBe("made");
    expect(await cancelOrder(at.redis, at.keys, "Q-404")).toBeUndefined();
    expect((await at.status("Q-2"))?.state).toBe("cancelled");
    expect((await at.submit(at.order("Q-2", ["Aino"]))).orders).toMatchObject([{ fresh: true }]);
    expect(worker.troubles).toEqual([]);
    // No words of a made or cancelled order are left in Redis but those that wait again.
    const texts = await Promise.all(
      ["Q-1", "Q-2"].map((name) => at.redis.hget(`${at.keys.prefix}-order:${name}`, "text")),
    );
    expect(texts.map((text) => text !== null)).toEqual([false, true]);
  });
});

describe("what an order means", () => {
  it("is fixed when it is taken: a kit edited later does not change it", async () => {
    const at = ganging({ fill: 0.6, wait: 240, lead: 24 });
    const before = await at.madeAlone(at.order("Q-1", ["Solveig"]));
    const worker = workHere(at);
    await at.submit(at.order("Q-1", ["Solveig"]));
    await until("the wait", async () => (await at.status("Q-1"))?.state === "waiting");
    edit(join(at.kits, "tag/kit.json"), '"piece":"tag"', '"perKit":7,"piece":"tag"');
    edit(join(at.kits, "tag/tag.svg"), "#2f7f8a", "#8a2f2f");
    // A later order has the kit as it is now, and never lies on a sheet with the one before.
    await at.submitWith({ now: true }, at.order("Q-2", ["Solveig"]));
    await at.ended("Q-2");
    await at.redis.hset(`${at.keys.prefix}-order:Q-1`, "now", "1");
    await at.submitWith({ now: true }, at.order("Q-3", ["Aino"]));
    const [one, two] = await at.ended("Q-1", "Q-2");
    const cut = "sheet-001.cut.svg";
    const [first, second] = [one, two].map((s) => hashes(folderOf(s)));
    expect(Object.keys(first ?? {})).toEqual(Object.keys(before));
    const pieces = (s: typeof one) =>
      (manifestOf(folderOf(s)) as unknown as { totals: { pieces: number } }).totals.pieces;
    expect([pieces(one), pieces(two)]).toEqual([2, 8]);
    expect(first?.[cut]).not.toBe(second?.[cut]);
    expect(worker.troubles).toEqual([]);
  });

  it("is not refused for a shop.json that is half saved: orders wait, health and status say why, and go on", async () => {
    const at = ganging({ fill: 0.6, wait: 240, lead: 24 });
    const worker = workHere(at);
    const shop = readFileSync(at.shop, "utf8");
    writeFileSync(at.shop, shop.slice(0, shop.length / 2));
    await at.submitWith({ now: true }, at.order("Q-1", ["Solveig"]));
    await until("the pause", () => worker.trouble()?.includes("shop.json"));
    expect(worker.ready()).toBe(false);
    await until("others to see it", async () => (await countsOf(at.redis, at.keys)).trouble?.includes("shop.json"));
    expect((await at.status("Q-1"))?.state).toBe("received");
    writeFileSync(at.shop, shop);
    expect((await at.ended("Q-1"))[0]?.state).toBe("made");
    expect(worker.ready()).toBe(true);
    expect((await countsOf(at.redis, at.keys)).trouble).toBeUndefined();
  });

  it("is fixed by the submitter that can see shop and kits", async () => {
    const at = ganging({ fill: 0.6, wait: 240, lead: 24 });
    const house = { shop: at.shop, kits: at.kits, out: at.out };
    await at.submitWith({ now: true, house }, at.order("Q-1", ["Solveig"]));
    edit(join(at.kits, "tag/kit.json"), '"piece":"tag"', '"perKit":7,"piece":"tag"');
    workHere(at);
    const [one] = await at.ended("Q-1");
    expect(manifestOf(folderOf(one))).toMatchObject({ totals: { pieces: 2 } });
  });
});

describe("a buyer's picture", () => {
  it("goes with its order where the submitter sees the store, and is as it was then", async () => {
    const at = bench();
    const kit = JSON.parse(readFileSync(join(at.kits, "tag/kit.json"), "utf8")) as { pieces: { slots?: object[] }[] };
    kit.pieces[0]?.slots?.push({ slot: "photo", picture: true, box: [40, 10, 10, 10], fit: "cover", least: 30 });
    writeFileSync(join(at.kits, "tag/kit.json"), JSON.stringify(kit));
    edit(at.shop, '"colour":"cmyk"', '"colour":"rgb"');
    const photo = join(at.root, "orders/uploads/7.png");
    mkdirSync(join(photo, ".."), { recursive: true });
    const paint = (background: string) =>
      sharp({ create: { width: 200, height: 200, channels: 3, background } })
        .png()
        .toFile(photo);
    await paint("#b03020");
    const file = at.order("Q-1", ["Solveig"], {
      texts: [{ name: "Solveig", photo: { file: "uploads/7.png" } }],
    });
    expect((await at.submit(file)).findings).toMatchObject([
      { rule: "order-pictures-unseen", where: { order: "Q-1" } },
    ]);
    const house = { shop: at.shop, kits: at.kits, out: at.out };
    expect((await at.submitWith({ house }, file)).findings).toEqual([]);
    const before = await at.madeAlone(file);
    await paint("#2030b0");
    expect((await at.submitWith({ house }, file)).findings).toMatchObject([{ rule: "order-changed" }]);
    workHere(at);
    const [made] = await at.ended("Q-1");
    expect(hashes(folderOf(made))).toEqual(before);
  });
});

describe("an order of 1,500 copies, more than 200 sheets", () => {
  it("holds nobody up: others are made meanwhile, and a rush order passes it within the time of one sheet", async () => {
    const at = ganging({ fill: 0.6, wait: 240, lead: 24 });
    writeFileSync(at.shop, readFileSync(at.shop, "utf8").replaceAll("[210,297]", "[105,148]"));
    await at.submit(
      at.order(
        "Q-L",
        Array.from({ length: 1_500 }, (_, i) => `Boat ${i}`),
      ),
    );
    workHere(at, { grace: 0 });
    await until("the large one to be made", async () => (await at.status("Q-L"))?.state === "making");
    const sheets = JSON.parse((await at.redis.hget(`${at.keys.prefix}-order:Q-L`, "sheets")) ?? "{}") as object;
    expect(Object.values(sheets).reduce((sum: number, n: number) => sum + n, 0)).toBeGreaterThan(200);
    const rush = join(at.root, "rush.json");
    const plain = JSON.parse(readFileSync(at.order("Q-R", ["Solveig"]), "utf8")) as object;
    writeFileSync(rush, JSON.stringify({ ...plain, rush: true }));
    await at.submit(rush);
    await at.submitWith({ now: true }, at.order("Q-N", ["Aino"]));
    const [first, other] = await at.ended("Q-R", "Q-N");
    expect([first?.state, other?.state]).toEqual(["made", "made"]);
    expect((await at.status("Q-L"))?.state).toBe("making");
    // What it waited for a worker is less than a job of one sheet takes.
    const at_ = (state: "ganged" | "making" | "made") => Date.parse(first?.times[state] ?? "");
    expect(at_("making") - at_("ganged")).toBeLessThan(at_("made") - at_("making"));
  });
});

describe("an order's life", () => {
  it("is shown as it goes on, and forgotten after the shop's days", async () => {
    const at = ganging({ fill: 0.6, wait: 240, lead: 24 });
    const stop = new AbortController();
    const eye = at.redis.duplicate();
    workHere(at);
    await at.submitWith({ now: true }, at.order("Q-R", ["Solveig"]));
    const seen: string[] = [];
    for await (const change of watchOrders(eye, at.keys, "Q-R", stop.signal)) seen.push(change.state);
    eye.disconnect();
    expect(seen.at(-1)).toBe("made");
    expect(Object.keys((await at.status("Q-R"))?.times ?? {})).toEqual([
      "received",
      "checked",
      "ganged",
      "making",
      "made",
    ]);
    expect(await script(at.redis, at.keys, "expire", 3600_000, 100)).toBe(0);
    expect(await script(at.redis, at.keys, "expire", 0, 100)).toBe(1);
    expect(await at.status("Q-R")).toBeUndefined();
    expect(readdirSync(at.out).length).toBeGreaterThan(1); // the job itself is the shop's
  });
});
