// How many orders a second the server takes, shop and kits frozen: from the client, a hundred a call, and by HTTP, each a PUT of its
// own: npm run bench:intake [-- ORDERS] [--json]. Figures: ../load/BENCH.md.
// The server runs in this process, who asks in it too: both share the processor that is measured.
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { Agent, request } from "node:http";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { parseArgs } from "node:util";
import { connect } from "@kitforme/client";
import { startServe } from "@kitforme/serve";
import { type Figure, machine, round } from "../bleed/measure.ts";
import { redisHere } from "../../support/redis-server.ts";
import { smallShop } from "../../support/small-shop.ts";

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: { json: { type: "boolean", default: false } },
});
const COUNT = Number(positionals[0] ?? 3_000);
const AT_ONCE = 32;
const shop = smallShop(mkdtempSync(join(tmpdir(), "kitforme-intake-")));
const token = "t".repeat(40);
const tokens = join(shop.root, "tokens");
writeFileSync(tokens, `bench ${token}\n`);
mkdirSync(shop.out);
const { url: redis, child } = await redisHere();
const serving = await startServe({
  house: { shop: shop.shop, kits: shop.kits, out: shop.out },
  redis,
  prefix: "intake",
  host: "127.0.0.1",
  port: 0,
  tokens,
  effort: "quick",
  rate: 1_000_000,
});
while (serving.trouble() !== undefined) await new Promise((r) => void setTimeout(r, 20));
const { hostname, port } = new URL(serving.url);
const agent = new Agent({ keepAlive: true, maxSockets: AT_ONCE });
const put = (name: string): Promise<number> =>
  new Promise((resolve, reject) => {
    const headers = { authorization: `Bearer ${token}`, "content-type": "application/json" };
    const asked = request({ agent, hostname, port, method: "PUT", path: `/orders/${name}`, headers }, (response) => {
      response.resume().once("end", () => resolve(response.statusCode ?? 0));
    });
    asked.once("error", reject);
    asked.end(JSON.stringify({ order: name, lines: [{ kit: "tag", quantity: 1, texts: [{ name: "Aino" }] }] }));
  });
/** Orders of one call of the client. */
const A_CALL = 100;
const orderOf = (order: string) => ({ order, lines: [{ kit: "tag", quantity: 1, texts: [{ name: "Aino" }] }] });
const shopClient = connect({ url: serving.url, token });
const cpu = (): number => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1_000;
};
await shopClient.submit(orderOf("C-first")); // freezes shop and kits
const [began, used] = [performance.now(), cpu()];
for (let i = 0; i < COUNT; i += A_CALL) {
  const calls = Array.from({ length: Math.min(A_CALL, COUNT - i) }, (_, k) => orderOf(`C-${i + k}`));
  const { orders } = await shopClient.submit(calls);
  if (orders.some(({ fresh }) => !fresh)) throw new Error("an order of the client is not new");
}
const byClient = { seconds: (performance.now() - began) / 1_000, cpu: (cpu() - used) / COUNT };
const usedByClient = cpu();
let next = 0;
const waits: number[] = [];
const start = performance.now();
await Promise.all(
  Array.from({ length: AT_ONCE }, async () => {
    while (next < COUNT) {
      const asked = performance.now();
      const status = await put(`H-${next++}`);
      if (status !== 201) throw new Error(`answered ${status}`);
      waits.push(performance.now() - asked);
    }
  }),
);
const seconds = (performance.now() - start) / 1_000;
waits.sort((a, b) => a - b);
const at = (share: number): string => (waits[Math.floor(waits.length * share)] ?? 0).toFixed(0);
const byHttp = (cpu() - usedByClient) / COUNT;
const figures: Figure[] = [
  { name: `orders taken from the client, ${A_CALL} a call`, value: Math.round(COUNT / byClient.seconds), unit: "/s" },
  { name: "from the client: client and server, an order", value: round(byClient.cpu), unit: "ms of processor" },
  { name: "orders taken by HTTP, each a PUT of its own", value: Number((COUNT / seconds).toFixed(0)), unit: "/s" },
  { name: "by HTTP: asker and server, an order", value: round(byHttp), unit: "ms of processor" },
  { name: "answered in, median", value: Number(at(0.5)), unit: "ms" },
  { name: "answered in, 99 of 100", value: Number(at(0.99)), unit: "ms" },
];
if (values.json) process.stdout.write(`${JSON.stringify({ machine: machine(), figures, left: [] })}\n`);
else
  for (const { name, value, unit } of figures) console.log(`${name.padEnd(50)} ${String(value).padStart(8)} ${unit}`);
agent.destroy();
await serving.stop();
child.kill("SIGKILL");
rmSync(shop.root, { recursive: true, force: true });
process.exit(0);
