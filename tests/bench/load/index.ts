// What a queue of many orders takes: decisions at 100, 1,000 and 10,000 orders, and a worker's memory over hundreds of jobs.
//   npm run bench:load [-- --json] [--only decisions,steady] [--orders 300]
// A Redis of its own is started. Orders taken by HTTP and by the client: npm run bench:intake.
import { mkdirSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { parseArgs } from "node:util";
import { keysOf } from "@kitforme/queue";
import { Redis } from "ioredis";
import { redisHere } from "../../support/redis-server.ts";
import { smallShop } from "../../support/small-shop.ts";
import { type Figure, machine } from "../bleed/measure.ts";
import { decisions } from "./decisions.ts";
import { steady } from "./steady.ts";

const { values } = parseArgs({
  options: {
    json: { type: "boolean", default: false },
    only: { type: "string", default: "decisions,steady" },
    orders: { type: "string", default: "300" },
  },
});
const only = values.only.split(",");
const { url, child } = await redisHere();
const redis = new Redis(url, { maxRetriesPerRequest: null });
const figures: Figure[] = [];
if (only.includes("decisions")) {
  // The first calls compile and load the scripts: they are counted to nobody.
  await decisions(redis, () => keysOf("warm"), 100);
  for (const count of [100, 1_000, 10_000]) figures.push(...(await decisions(redis, (n) => keysOf(`load${n}`), count)));
}
if (only.includes("steady") && process.platform === "linux") {
  const shop = smallShop(mkdtempSync(join(tmpdir(), "kitforme-load-")));
  mkdirSync(shop.out);
  const { figures: own, held } = await steady(redis, url, shop, Number(values.orders));
  figures.push(...own);
  if (!values.json) console.log(`MiB held, every ten orders: ${held.join(" ")}`);
  rmSync(shop.root, { recursive: true, force: true });
}
if (values.json) process.stdout.write(`${JSON.stringify({ machine: machine(), figures, left: [] })}\n`);
else
  for (const { name, value, unit } of figures) console.log(`${name.padEnd(90)} ${String(value).padStart(8)} ${unit}`);
redis.disconnect();
child.kill("SIGKILL");
process.exit(0);
