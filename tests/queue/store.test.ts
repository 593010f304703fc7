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

type Matrix = readonly [number, number, number, number, number, number];

/** Pixel of a sheet's proof at a place of a drawing, after the placement's matrix. */
const colourAt = async (
  proof: Buffer,
  [across, up]: readonly [number, number],
  [a, b, c, d, e, f]: Matrix,
  [x, y]: readonly [number, number],
) => {
  const [u, v] = [a * x + c * y + e, b * x + d * y + f];
  const { data, info } = await sharp(proof).removeAlpha().raw().toBuffer({ resolveWithObject: true });
  const at = Math.floor((1 - v / up) * info.height) * info.width + Math.floor((u / across) * info.width);
  return [...data.subarray(3 * at, 3 * at + 3)];
};

it("sells ten kits, one with the buyer's own picture, and has their files byte for byte; one is printed again", async ({
  onTestFinished,
}) => {
  const at = bench();
  const kit = JSON.parse(readFileSync(join(at.kits, "tag/kit.json"), "utf8")) as { pieces: { slots?: object[] }[] };
  kit.pieces[0]?.slots?.push({ slot: "photo", picture: true, box: [40, 10, 10, 10], fit: "cover", least: 30 });
  writeFileSync(join(at.kits, "tag/kit.json"), JSON.stringify(kit));
  writeFileSync(at.shop, readFileSync(at.shop, "utf8").replace('"colour":"cmyk"', '"colour":"rgb"'));
  const photo = await sharp({ create: { width: 200, height: 200, channels: 3, background: "#20b050" } })
    .jpeg()
    .toBuffer();
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
    { customer: "Ann Lee", kit: "tag", names: ["Ann", "Bo"], photo: { slot: "photo", bytes: photo } },
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
    sheets: {
      sheet: number;
      run: number;
      size: [number, number];
      files: { proof: string };
      placements: { number: number; piece: string; matrix: Matrix; texts: { photo?: { file: string } } }[];
    }[];
  };
  expect(job).toBe(manifest.job);
  expect([...names].sort()).toEqual(["job.json", ...manifest.files.map((f) => f.name)].sort());
  for (const { name, sha256 } of manifest.files) {
    const bytes = readFileSync(join(at.root, "fetched", job, name));
    expect(createHash("sha256").update(bytes).digest("hex"), name).toBe(sha256);
  }
  const tags = manifest.sheets.reduce((n, s) => n + s.run * s.placements.filter((p) => p.piece === "tag").length, 0);
  expect(tags).toBe(10);
  // The buyer's picture is on both of her tags, and printed there.
  const hash = createHash("sha256").update(photo).digest("hex");
  const hers = manifest.sheets.flatMap((s) =>
    s.placements.flatMap((p) => (p.texts.photo?.file === `pictures/${hash}` ? [{ ...p, sheet: s }] : [])),
  );
  expect(hers.length).toBe(2);
  for (const { matrix, sheet } of hers) {
    const proof = readFileSync(join(at.root, "fetched", job, sheet.files.proof));
    const [r, g, b] = (await colourAt(proof, sheet.size, matrix, [45, 15])) as [number, number, number];
    expect([r < 90, g > 120, b < 140], `rgb ${r} ${g} ${b}`).toEqual([true, true, true]);
  }

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
  for (const order of orders) expect(lifeOf(order)).toEqual(["received", "checked", "ganged", "making", "made"]);
  expect(store.forged()).toBe(0);

  // A parcel is lost, and a tag is spoiled on the cutter: printed again, each as an order of its own.
  const lost = await store.print.reprint(orders[1] as string);
  const spoiled = manifest.sheets.flatMap((s) => s.placements.map((p) => `${s.sheet}:${p.number}`)).slice(0, 1);
  const anew = await store.print.remake(orders[0] as string, spoiled);
  const again = await Promise.all([lost, anew].map(({ order }) => store.print.wait(order)));
  expect(again.map(({ state }) => state)).toEqual(["made", "made"]);
  expect((await store.print.reprint(orders[1] as string)).order).toBe(lost.order);
  expect((await store.print.files(lost.order)).job).not.toBe(job);
  expect(serving.troubles).toEqual([]);
});
