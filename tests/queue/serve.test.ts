// The HTTP of the queue: what it takes, refuses, tells and keeps to itself. Every answer is held against the OpenAPI document.
import { createHash } from "node:crypto";
import { existsSync, mkdirSync, readdirSync, readFileSync, symlinkSync, utimesSync, writeFileSync } from "node:fs";
import { createServer, request } from "node:http";
import type { AddressInfo } from "node:net";
import { join } from "node:path";
import { connect, Refused, verifyWebhook } from "@kitforme/client";
import { script } from "../../packages/queue/src/scripts.ts";
import sharp from "sharp";
import { describe, expect, it, onTestFinished } from "vitest";
import { bench, doorTo, until } from "../support/queue.ts";
import { answered } from "../support/answered.ts";
import { familiesOf, valueOf } from "../support/prometheus.ts";
import { serveHere, TOKEN } from "../support/serve.ts";

const order = (name: string, more: object = {}) =>
  JSON.stringify({ order: name, lines: [{ kit: "tag", quantity: 1, texts: [{ name: "Aino" }] }], ...more });

describe("orders in", () => {
  it("are idempotent by name and content, changed when asked, cancelled", async () => {
    const at = bench();
    const { ask } = await serveHere(at);
    const put = async (text: string, query = "") =>
      (await ask("putOrder", `/orders/A-1${query}`, { body: text })).status;
    expect(await put(order("A-1"))).toBe(201);
    expect(await put(order("A-1").replaceAll(",", " ,\n "))).toBe(200);
    expect(await put(order("A-1", { rush: true }))).toBe(409);
    expect(await put(order("A-1", { rush: true }), "?change=true")).toBe(201);
    const status = await at.status("A-1");
    expect(status?.state).toBe("received");
    // Shop and kit are frozen by the server: a worker need not see what they were.
    expect(await at.redis.hmget(`${at.keys.prefix}-order:A-1`, "shop", "kits", "rush")).toEqual([
      expect.stringMatching(/^[0-9a-f]{32}$/),
      expect.stringMatching(/^[0-9a-f]{32}\/tag$/),
      "1",
    ]);
    expect((await ask("getFindings", "/orders/A-1/findings")).status).toBe(200);
    expect((await ask("cancelOrder", "/orders/A-1")).status).toBe(200);
    expect((await at.status("A-1"))?.state).toBe("cancelled");
    expect((await ask("retryOrder", "/orders/A-1/retry", { method: "POST" })).status).toBe(409);
    expect((await ask("cancelOrder", "/orders/NO-1")).status).toBe(404);
  });

  it("are refused with findings: form, name, pictures, doubled fields; all or none", async () => {
    const at = bench();
    const { ask } = await serveHere(at);
    const rules = async (path: string, body: string): Promise<unknown> => {
      const post = path === "/orders";
      const response = await ask(post ? "postOrders" : "putOrder", path, { body });
      expect(response.status).toBe(422);
      return ((await response.json()) as { findings: { rule: string }[] }).findings.map((f) => f.rule);
    };
    expect(await rules("/orders/A-1", order("A-2"))).toEqual(["order-name-differs"]);
    expect(await rules("/orders/A-1", order("A-1").replace('"quantity":1', '"quantity":0'))).toEqual(["field-wrong"]);
    expect(await rules("/orders/A-1", "")).toEqual(["json-broken"]);
    expect(await rules("/orders/A-1", order("A-1").replace('"Aino"', '{"file":"../../shop.json"}'))).toEqual([
      "order-picture-unsent",
    ]);
    expect(await rules("/orders/A-1", order("A-1").replace('"Aino"', '{"file":"shop.json"}'))).toEqual([
      "order-picture-unsent",
    ]);
    const twice = order("A-3").replace('"quantity":1', '"quantity":9,"quantity":1');
    expect(await rules("/orders", `{"orders":[${order("A-4")},${twice}]}`)).toEqual(["field-twice"]);
    expect(await at.status("A-4")).toBeUndefined();
    const both = await ask("postOrders", "/orders", { body: `{"orders":[${order("A-4")},${order("A-5")}]}` });
    expect(both.status).toBe(201);
    expect(await both.json()).toEqual({
      orders: [
        { order: "A-4", fresh: true },
        { order: "A-5", fresh: true },
      ],
      findings: [],
    });
  });

  it("bring buyers' pictures along: sent ahead by their hash, copied to the order, another picture is another order", async () => {
    const at = bench();
    const { ask, url } = await serveHere(at);
    const shop = connect({ url, token: TOKEN });
    const png = await sharp({ create: { width: 40, height: 30, channels: 3, background: "#a33" } })
      .png()
      .toBuffer();
    const hash = createHash("sha256").update(png).digest("hex");
    const send = async (to: string, body: Uint8Array | string, type = "image/png") =>
      (await ask("putPicture", `/pictures/${to}`, { body: body as BodyInit, headers: { "content-type": type } }))
        .status;
    expect(await send("0".repeat(64), png), "another hash").toBe(400);
    expect(await send("..%2Fshop.json", png)).toBe(400);
    expect(await send(hash, "{}", "application/json")).toBe(415);
    expect((await ask("putOrder", "/orders/P-1", { body: png, headers: { "content-type": "image/png" } })).status).toBe(
      415,
    );
    const large = Buffer.alloc((32 << 20) + 1);
    expect(await send(createHash("sha256").update(large).digest("hex"), large), "above 32 MiB").toBe(413);
    const named = {
      order: "P-1",
      lines: [{ kit: "tag", quantity: 1, texts: [{ photo: { file: `pictures/${hash}` } }] }],
    };
    await expect(shop.submit(named)).rejects.toMatchObject({
      status: 422,
      findings: [expect.objectContaining({ rule: "order-picture-unsent", level: "error" })],
    });

    const picture = await shop.picture(png);
    expect(picture).toEqual({ file: `pictures/${hash}` });
    expect(await send(hash, png), "twice is once").toBe(201);
    expect((await shop.submit(named)).orders).toEqual([{ order: "P-1", fresh: true }]);
    expect((await shop.submit(named)).orders).toEqual([{ order: "P-1", fresh: false }]);
    const id = (await at.redis.hget(`${at.keys.prefix}-order:P-1`, "pictures")) ?? "";
    const frozen = join(at.out, ".kitforme/store/orders", id, "pictures", hash);
    expect(readFileSync(frozen).equals(png)).toBe(true);
    const other = await shop.picture(await sharp(png).negate().png().toBuffer());
    const changed = { ...named, lines: [{ ...named.lines[0], kit: "tag", quantity: 1, texts: [{ photo: other }] }] };
    await expect(shop.submit(changed)).rejects.toMatchObject({ status: 409 });
    // A day later nobody has named them again: the next picture sweeps them away, the order keeps its own.
    const old = new Date(Date.now() - 25 * 3600_000);
    const sent = join(at.out, ".kitforme/uploads/pictures");
    for (const name of readdirSync(sent)) utimesSync(join(sent, name), old, old);
    const { ask: askAnother } = await serveHere(at);
    const third = await sharp(png).blur(2).png().toBuffer();
    const body = { body: third as BodyInit, headers: { "content-type": "image/png" } };
    const third256 = createHash("sha256").update(third).digest("hex");
    expect((await askAnother("putPicture", `/pictures/${third256}`, body)).status).toBe(201);
    expect(readdirSync(sent)).toEqual([third256]);
    expect(existsSync(frozen)).toBe(true);
  });

  it("are taken while the shop's file cannot be used: a worker freezes them when it can", async () => {
    const at = bench();
    writeFileSync(at.shop, "{");
    const { ask } = await serveHere(at);
    expect((await ask("putOrder", "/orders/A-1", { body: order("A-1") })).status).toBe(201);
    expect(await at.redis.hget(`${at.keys.prefix}-order:A-1`, "shop")).toBe("");
  });

  it("are listed by pages and states", async () => {
    const at = bench();
    const { ask } = await serveHere(at);
    const names = Array.from({ length: 7 }, (_, i) => `L-${i}`);
    await ask("postOrders", "/orders", { body: `{"orders":[${names.map((n) => order(n)).join()}]}` });
    await ask("cancelOrder", "/orders/L-3");
    const page = async (query: string) => {
      const response = await ask("listOrders", `/orders?${query}`);
      return (await response.json()) as { orders: { order: string }[]; next?: number; counts: Record<string, number> };
    };
    const first = await page("limit=3&state=received");
    expect([first.orders.map((o) => o.order), first.next]).toEqual([["L-0", "L-1", "L-2"], 3]);
    const last = await page("limit=3&skip=3&state=received&state=cancelled");
    expect([last.orders.map((o) => o.order), last.next]).toEqual([["L-3", "L-4", "L-5"], 6]);
    expect(last.counts).toMatchObject({ received: 6, cancelled: 1, made: 0 });
    for (const wrong of ["limit=0", "limit=1001", "state=lost", "colour=red"])
      expect((await ask("listOrders", `/orders?${wrong}`)).status, wrong).toBe(400);
  });
});

describe("something made printed again", () => {
  it("is refused with what is in the way, and is one however often it is asked for", async () => {
    const at = bench();
    const { ask } = await serveHere(at);
    expect((await ask("reprintOrder", "/orders/R-1/reprint")).status).toBe(404);
    await ask("putOrder", "/orders/R-1", { body: order("R-1") });
    const early = await ask("reprintOrder", "/orders/R-1/reprint");
    expect([early.status, await early.json()]).toEqual([409, expect.objectContaining({ state: "received" })]);
    // Made, as far as the queue knows.
    await answered(at, "R-1");
    const spoiled = (places: unknown) => ({ body: JSON.stringify({ spoiled: places }) });
    for (const wrong of [[], ["2.7"], [7], "2:7", ["1:1", "x"]])
      expect((await ask("remakeOrder", "/orders/R-1/remake", spoiled(wrong))).status).toBe(400);
    expect((await ask("reprintOrder", "/orders/R-1/reprint?as=%1bR")).status).toBe(400);
    const first = await ask("remakeOrder", "/orders/R-1/remake", spoiled(["2:7", "1:1"]));
    const { order: name, again } = (await first.json()) as { order: string; again: object };
    expect([first.status, again]).toEqual([201, { kind: "remake", order: "R-1", job: "JOB", spoiled: ["1:1", "2:7"] }]);
    const second = await ask("remakeOrder", "/orders/R-1/remake", spoiled(["1:1", "2:7"]));
    expect([second.status, ((await second.json()) as { order: string }).order]).toEqual([200, name]);
    expect((await ask("getOrder", `/orders/${encodeURIComponent(name)}`)).status).toBe(200);
    expect((await ask("cancelOrder", `/orders/${encodeURIComponent(name)}`)).status).toBe(200);
    expect((await ask("reprintOrder", "/orders/R-1/reprint?as=R-1")).status, "the order's own name").toBe(409);
    expect((await ask("reprintOrder", "/orders/R-1/reprint?as=R-1b")).status).toBe(201);
  });
});

describe("who may ask", () => {
  it("bears a token of the file, which is read again when it changes", async () => {
    const at = bench();
    const { ask, tokens, troubles, lines } = await serveHere(at);
    const by = async (authorization: string) => (await ask("listKits", "/kits", { headers: { authorization } })).status;
    expect(await by(`Bearer ${TOKEN}`)).toBe(200);
    expect(lines.at(-1)).toMatchObject({ name: "store", status: 200 });
    for (const wrong of ["", `Bearer ${TOKEN}x`, `Basic ${TOKEN}`, "Bearer", `Bearer ${TOKEN.slice(1)}`])
      expect(await by(wrong), wrong).toBe(401);
    const other = "o".repeat(40);
    writeFileSync(tokens, `store ${TOKEN}\nbench ${other}\n`);
    await until("the second token", async () => (await by(`Bearer ${other}`)) === 200, 10);
    writeFileSync(tokens, "store short\n");
    await until("the fault", () => troubles.some((t) => t.includes("line 1")), 10);
    expect(troubles.join()).not.toContain("short");
    expect(await by(`Bearer ${TOKEN}`), "the tokens before stay good").toBe(200);
  });

  it("and asks no faster than allowed, nor sends more than allowed", async () => {
    const at = bench();
    const { ask } = await serveHere(at, { rate: 5, body: 2_000 });
    const fast = await Promise.all(Array.from({ length: 12 }, () => ask("getOrder", "/orders/NO-1")));
    const slowed = fast.filter((r) => r.status === 429);
    expect(slowed.length).toBeGreaterThanOrEqual(2);
    expect(Number(slowed[0]?.headers.get("retry-after"))).toBeGreaterThan(0);
    const guesses = await Promise.all(
      Array.from({ length: 60 }, (_, i) =>
        ask("getOrder", "/orders/NO-1", { headers: { authorization: `Bearer ${i}${"x".repeat(40)}` } }),
      ),
    );
    expect(guesses.filter((r) => r.status === 429).length).toBeGreaterThan(0);
    await new Promise((r) => void setTimeout(r, 1_100));
    expect((await ask("putOrder", "/orders/A-1", { body: order("A-1", { note: "x".repeat(3_000) }) })).status).toBe(
      413,
    );
    const xml = { body: "<order/>", headers: { "content-type": "text/xml" } };
    expect((await ask("putOrder", "/orders/A-1", xml)).status).toBe(415);
  });
});

describe("files", () => {
  it("are those of the made order's job and nothing else on the disk", async () => {
    const at = bench();
    const { ask, url } = await serveHere(at);
    const folder = join(at.out, "job-1");
    mkdirSync(folder, { recursive: true });
    const put = (name: string, text: string) => writeFileSync(join(folder, name), text);
    const sha256 = "0".repeat(64);
    put("sheet-001.print.pdf", "%PDF-1.6 0123456789");
    put("job.html", "<script>alert(1)</script>");
    put(".hidden.json", "{}");
    put("job.json", JSON.stringify({ job: "J", files: [{ name: "sheet-001.print.pdf", bytes: 19, sha256 }] }));
    symlinkSync(at.shop, join(folder, "sheet-002.cut.svg"));
    await ask("putOrder", "/orders/A-1", { body: order("A-1") });
    expect((await ask("listFiles", "/orders/A-1/files")).status).toBe(409);
    // The order is made, as far as Redis knows: the queue's own script says so of a gang that we claim.
    const end = async (job: string) => {
      const { redis, keys } = at;
      await redis.hset(`${keys.prefix}-gang:g1`, "token", "t", "orders", '["A-1"]');
      const answer = { end: "made", gang: "g1", job: "J", folder: job, findings: [] };
      expect(await script(redis, keys, "finish", "g1", "t", "A-1", "made", JSON.stringify(answer))).toBe(1);
    };
    await end(folder);
    const list = (await (await ask("listFiles", "/orders/A-1/files")).json()) as {
      files: { name: string; type: string }[];
    };
    expect(list.files.map((f) => [f.name, f.type])).toEqual([
      ["job.json", "application/json"],
      ["sheet-001.print.pdf", "application/pdf"],
    ]);
    const get = (name: string, headers = {}) => ask("getFile", `/orders/A-1/files/${name}`, { headers });
    const pdf = await get("sheet-001.print.pdf");
    expect([pdf.status, pdf.headers.get("content-type"), await pdf.text()]).toEqual([
      200,
      "application/pdf",
      "%PDF-1.6 0123456789",
    ]);
    const part = await get("sheet-001.print.pdf", { range: "bytes=9-12" });
    expect([part.status, await part.text()]).toEqual([206, "0123"]);
    const known = await get("sheet-001.print.pdf", {
      "if-none-match": pdf.headers.get("etag") ?? "",
      "cache-control": "max-age=0", // else fetch says no-cache
    });
    expect(known.status).toBe(304);
    expect((await get("sheet-001.print.pdf", { range: "bytes=900-" })).status).toBe(416);
    const html = await get("job.html");
    expect([html.headers.get("content-security-policy"), html.headers.get("content-disposition")]).toEqual([
      "sandbox",
      'attachment; filename="job.html"',
    ]);
    const outside = [
      "..%2F..%2Fshop.json",
      "%2e%2e%2fjob-1%2fjob.json",
      ".hidden.json",
      "sheet-002.cut.svg",
      "job.json%00.pdf",
      "no.pdf",
    ];
    for (const name of outside) expect((await get(name)).status, name).toBe(404);
    // fetch would tidy such a path up before it is sent.
    const raw = await new Promise<number | undefined>((resolve, reject) => {
      const { hostname, port } = new URL(url);
      const headers = { authorization: `Bearer ${TOKEN}` };
      request({ hostname, port, path: "/orders/A-1/files/../../../shop.json", headers }, (r) => resolve(r.statusCode))
        .once("error", reject)
        .end();
    });
    expect(raw).toBe(404);
    await end(at.kits);
    expect((await get("job.json")).status, "a folder that is no job's").toBe(410);
    await end(join(at.out, "gone"));
    expect((await ask("listFiles", "/orders/A-1/files")).status).toBe(410);
  });
});

describe("kits and previews", () => {
  it("show what is on the shelf now", async () => {
    const at = bench();
    const { ask } = await serveHere(at);
    expect(await (await ask("getKit", "/kits/tag")).json()).toMatchObject({
      kit: "tag",
      pieces: [
        { piece: "tag", slots: ["name"] },
        { piece: "insert", slots: [] },
      ],
    });
    const preview = (body: object, accept = "image/png", piece = "tag") =>
      ask("previewPiece", `/kits/tag/pieces/${piece}/preview`, { body: JSON.stringify(body), headers: { accept } });
    const png = await preview({ copy: { name: "Aino" } });
    expect([png.status, png.headers.get("content-type")]).toEqual([200, "image/png"]);
    expect((await preview({ copy: { name: "x".repeat(500) } })).status).toBe(422);
    const said = (await (await preview({ copy: { name: "x".repeat(500) } }, "application/json")).json()) as object;
    expect(said).toMatchObject({ png: expect.any(String), findings: [expect.objectContaining({ level: "error" })] });
    expect((await preview({ copy: { name: { file: "shop.json" } } })).status).toBe(400);
    expect((await preview({ words: {} })).status).toBe(400);
    expect((await preview({}, "image/png", "nothing")).status).toBe(422);
    expect((await ask("getKit", "/kits/..%2Ftag")).status).toBe(404);
    writeFileSync(join(at.kits, "tag/kit.json"), '{"kit": "tag"}');
    const spoiled = await ask("getKit", "/kits/tag");
    expect(await spoiled.json()).toMatchObject({ pieces: [], findings: [expect.objectContaining({ level: "error" })] });
    expect((await preview({})).status).toBe(422);
  });
});

describe("webhooks", () => {
  it("are off by default, and tried again until the store takes them: a redirect is no taking", async () => {
    const at = bench();
    const secret = "s".repeat(40);
    writeFileSync(join(at.root, "secret"), secret);
    const seen: { id: string; order: string }[] = [];
    const answers = [500, 302, 204];
    const store = createServer((asked, reply) => {
      let body = "";
      asked.on("data", (part: Buffer) => (body += part.toString()));
      asked.on("end", () => {
        const change = verifyWebhook({ body, headers: asked.headers }, secret);
        if (change) seen.push(change);
        reply.writeHead(answers.shift() ?? 204, { location: "/elsewhere" }).end();
      });
    });
    await new Promise<void>((resolve) => store.listen(0, "127.0.0.1", resolve));
    onTestFinished(() => void store.close());
    const { port } = store.address() as AddressInfo;
    const quiet = await serveHere(at);
    await quiet.ask("putOrder", "/orders/W-0", { body: order("W-0") });
    const webhook = { url: `http://127.0.0.1:${port}/changes`, secret: join(at.root, "secret"), firstWait: 20 };
    const { ask } = await serveHere(at, { webhook });
    const groups = async () => {
      const known = await at.redis.xinfo("GROUPS", `${at.keys.prefix}-events`).catch(() => []);
      return (known as unknown[]).length > 0;
    };
    await until("the reader of changes", groups);
    await ask("putOrder", "/orders/W-1", { body: order("W-1") });
    await until("three tries", () => seen.length === 3);
    expect(new Set(seen.map(({ id }) => id)).size).toBe(1);
    expect(seen.map((change) => change.order)).toEqual(["W-1", "W-1", "W-1"]);
    const page = await until("the third to be counted", async () => {
      const now = familiesOf(await (await ask("metrics", "/metrics")).text());
      return valueOf(now, "kitforme_serve_webhooks_total", { end: "taken" }) === 1 && now;
    });
    expect(valueOf(page, "kitforme_serve_webhooks_total", { end: "failed" })).toBe(2);
  });
});

describe("the server's metrics", () => {
  it("are for who bears a token, count requests, webhooks and listeners, and show the queue (parser: parse-prometheus-text-format)", async () => {
    const at = bench();
    const { ask, url } = await serveHere(at);
    expect((await fetch(`${url}/metrics`)).status).toBe(401);
    await ask("putOrder", "/orders/M-1", { body: order("M-1") });
    await ask("getOrder", "/orders/M-2");
    const away = new AbortController();
    const headers = { authorization: `Bearer ${TOKEN}` };
    const line = await fetch(`${url}/events`, { headers, signal: away.signal });
    const response = await ask("metrics", "/metrics");
    expect(response.headers.get("content-type")).toMatch(/^text\/plain; version=0\.0\.4/);
    const text = await response.text();
    const page = familiesOf(text);
    away.abort();
    await line.text().catch(() => undefined);
    const requests = (method: string, route: string, status: string) =>
      valueOf(page, "kitforme_serve_requests_total", { method, route, status });
    expect(requests("PUT", "/orders/:order", "201")).toBe(1);
    expect(requests("GET", "/orders/:order", "404")).toBe(1);
    expect(requests("GET", "/metrics", "401")).toBe(1);
    expect(page.get("kitforme_serve_request_seconds")?.type).toBe("HISTOGRAM");
    expect(text).toContain('kitforme_serve_request_seconds_count{route="/orders/:order"} 2\n');
    expect(valueOf(page, "kitforme_serve_listeners")).toBe(1);
    expect(valueOf(page, "kitforme_serve_ready")).toBe(1);
    expect(valueOf(page, "kitforme_serve_webhooks_total", { end: "failed" })).toBe(0);
    expect(valueOf(page, "kitforme_orders", { state: "received" })).toBe(1);
    expect(valueOf(page, "kitforme_queue_paused")).toBe(0);
    expect(valueOf(page, "process_resident_memory_bytes")).toBeGreaterThan(10 << 20);
    // No name of an order, no token's name: the page is not longer for many of them.
    expect([...page.values()].flatMap((f) => f.metrics.flatMap((m) => Object.values(m.labels ?? {})))).not.toContain(
      "M-1",
    );
  });
});

describe("events and stops", () => {
  it("tell one order's life to a page with a ticket, all orders' to the store, and go on after a break", async () => {
    const at = bench();
    const { ask, url } = await serveHere(at, { origins: ["https://store.example"] });
    const shop = connect({ url, token: TOKEN });
    const all: string[] = [];
    let last: string | undefined;
    const listen = async (most: number) => {
      for await (const { order, state, id } of shop.events(last === undefined ? {} : { after: last })) {
        last = id;
        if (all.push(`${order} ${state}`) >= most) return;
      }
    };
    const heard = listen(1);
    await until("a listener", async () => {
      await ask("putOrder", "/orders/E-1", { body: order("E-1") });
      await ask("putOrder", "/orders/E-1?change=true", { body: order("E-1", { rush: all.length % 2 === 0 }) });
      await ask("cancelOrder", "/orders/E-1");
      return all.length > 0;
    });
    await heard;
    await ask("putOrder", "/orders/E-2", { body: order("E-2") }); // nobody listens
    const { ticket } = await shop.ticket("E-2");
    const page = await fetch(`${url}/orders/E-2/events?ticket=${ticket}`, {
      headers: { origin: "https://store.example" },
    });
    expect(page.headers.get("access-control-allow-origin")).toBe("https://store.example");
    expect((await fetch(`${url}/orders/E-1/events?ticket=${ticket}`)).status, "of another order").toBe(401);
    expect((await fetch(`${url}/orders?ticket=${ticket}`)).status).toBe(401);
    await ask("cancelOrder", "/orders/E-2");
    expect([...(await page.text()).matchAll(/"state":"(\w+)"/g)].map((m) => m[1])).toEqual(["received", "cancelled"]);
    const before = all.length;
    await listen(before + 1);
    while (!all.includes("E-2 cancelled")) await listen(all.length + 1);
    expect(all.filter((line) => line === "E-2 received").length).toBe(1);
    expect((await shop.wait("E-2")).state).toBe("cancelled");
    expect(await shop.get("NO-1")).toBeUndefined();
    const refused = await shop.submit({ order: "E-3", lines: [{ kit: "tag", quantity: 0 }] }).catch((e: unknown) => e);
    expect(refused).toBeInstanceOf(Refused);
    expect(refused).toMatchObject({ status: 422, findings: [expect.objectContaining({ rule: "field-wrong" })] });
  });

  it("is ready while Redis is there, says when it is not, and stops without breaking a request", async () => {
    const at = bench();
    const door = await doorTo(at.url);
    const { ask, url, stop } = await serveHere(at, { redis: door.url });
    await until("Redis", async () => (await ask("health", "/health")).status === 200);
    await door.shut();
    await until("the loss to be seen", async () => (await ask("health", "/health")).status === 503);
    const away = await ask("putOrder", "/orders/A-1", { body: order("A-1") });
    expect([away.status, away.headers.get("retry-after")]).toEqual([503, "5"]);
    expect((await ask("live", "/live")).status).toBe(200);
    await door.open();
    await until(
      "Redis again",
      async () => (await ask("putOrder", "/orders/A-1", { body: order("A-1") })).status === 201,
    );
    const line = await fetch(`${url}/events`, { headers: { authorization: `Bearer ${TOKEN}` } });
    // Takes longer than the stop: processes are started for it.
    const under = ask("getKit", "/kits/tag");
    await new Promise((r) => void setTimeout(r, 200));
    const [kit] = await Promise.all([under, line.text(), stop()]);
    expect(kit.status).toBe(200);
    await expect(fetch(`${url}/live`)).rejects.toThrow();
  });
});
