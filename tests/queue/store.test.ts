// A store sells ten kits through the print shop's HTTP, hears of them by webhook and has the files in the end.
import { createHash } from "node:crypto";
import { readFileSync, writeFileSync } from "node:fs";
import { createServer } from "node:http";
import { join } from "node:path";
import sharp from "sharp";
import { expect, it } from "vitest";
import { openStore } from "../../fixtures/store/store.ts";
import { bench, until, workHere } from "../support/queue.ts";
import { serveHere, TOKEN } from "../support/serve.ts";

const freePort = (): Promise<number> =>
  new Promise((resolve) => {
    const server = createServer();
    server.listen(0, "127.0.0.1", () => {
      const { port } = server.address() as { port: number };
      server.close(() => resolve(port));
    });
  });

it("sells ten kits, and has their files byte for byte", async ({ onTestFinished }) => {
  const at = bench();
  const secret = "s".repeat(40);
  writeFileSync(join(at.root, "secret"), `${secret}\n`);
  const port = await freePort();
  const webhook = { url: `http://127.0.0.1:${port}/changes`, secret: join(at.root, "secret"), firstWait: 50 };
  workHere(at);
  const serving = await serveHere(at, { webhook });
  const store = await openStore({ url: serving.url, token: TOKEN, secret, port, folder: join(at.root, "fetched") });
  onTestFinished(() => store.close());

  expect(await store.print.kits()).toEqual([{ kit: "tag", title: "Name tag" }]);
  const baskets = [
    { customer: "Solveig Aune", kit: "tag", names: ["Solveig", "Aino", "Per"] },
    { customer: "Ann Lee", kit: "tag", names: ["Ann", "Bo"] },
    { customer: "Ida Moe", kit: "tag", names: ["Ida", "Eli", "Siv", "Jon", "Tor"] },
  ];
  const [ann, bo] = await store.show(baskets[1] as (typeof baskets)[0], "tag", "name");
  const { width, height, channels } = await sharp(ann).metadata();
  expect(channels).toBe(4);
  expect(Math.abs(width / height - 60 / 40)).toBeLessThan(0.1); // the tag, with a little room around it
  expect(Buffer.from(ann ?? []).equals(bo ?? Buffer.alloc(0)), "the names differ").toBe(false);

  const orders = await store.sell(baskets, "name");
  const statuses = await Promise.all(orders.map((order) => store.print.wait(order)));
  expect(statuses.map(({ state }) => state)).toEqual(["made", "made", "made"]);
  expect(new Set(statuses.map(({ gang }) => gang)).size).toBe(1);

  await until("the files", () => store.fetched.size === 1);
  const [[job, names]] = [...store.fetched] as [[string, readonly string[]]];
  const folder = join(at.out, at.jobs()[0] as string);
  const manifest = JSON.parse(readFileSync(join(folder, "job.json"), "utf8")) as {
    job: string;
    files: { name: string; sha256: string }[];
    sheets: { run: number; placements: { piece: string }[] }[];
  };
  expect(job).toBe(manifest.job);
  expect([...names].sort()).toEqual(["job.json", ...manifest.files.map((f) => f.name)].sort());
  for (const { name, sha256 } of manifest.files) {
    const bytes = readFileSync(join(at.root, "fetched", job, name));
    expect(createHash("sha256").update(bytes).digest("hex"), name).toBe(sha256);
  }
  const tags = manifest.sheets.reduce((n, s) => n + s.run * s.placements.filter((p) => p.piece === "tag").length, 0);
  expect(tags).toBe(10);

  // Every change of every order came, signed, and nothing else.
  const lifeOf = (order: string) => [
    ...new Set(
      store
        .changes()
        .filter((c) => c.order === order)
        .map((c) => c.state),
    ),
  ];
  await until("all webhooks", () => orders.every((order) => lifeOf(order).length >= 5));
  for (const order of orders) expect(lifeOf(order)).toEqual(["received", "waiting", "ganged", "making", "made"]);
  expect(store.forged()).toBe(0);
  expect(serving.troubles).toEqual([]);
});
