// The client: webhooks' signatures, tries again.
import { createServer } from "node:http";
import { connect, Refused, verifyWebhook } from "@kitforme/client";
import { readTokens, signatureOf } from "@kitforme/serve";
import { describe, expect, it, onTestFinished } from "vitest";

describe("a webhook's signature", () => {
  const secret = "k".repeat(40);
  const body = '{"id":"1-0","order":"A-1","state":"made","at":"2026-01-01T00:00:00.000Z"}';
  const now = 1_800_000_000_000;
  const seconds = now / 1_000;
  const headers = { "kitforme-timestamp": String(seconds), "kitforme-signature": signatureOf(secret, seconds, body) };

  it("is HMAC-SHA-256 over time and body (value by: printf %s 1800000000.{} | openssl dgst -sha256 -hmac SECRET)", () => {
    expect(signatureOf(secret, seconds, "{}")).toBe(
      "v1=bfc66f477999f67496847d7e6ef53962bdc389d6125217e3475e65fd20a48e88",
    );
  });

  it("is believed when it is the shop's, and fresh", () => {
    expect(verifyWebhook({ body, headers }, secret, now)?.state).toBe("made");
    expect(verifyWebhook({ body, headers }, ["other".repeat(8), secret], now + 299_000)?.order).toBe("A-1");
  });

  it.each([
    ["another secret", { body, headers }, "x".repeat(40), now],
    ["another body", { body: body.replace("made", "failed"), headers }, secret, now],
    ["another time", { body, headers: { ...headers, "kitforme-timestamp": String(seconds + 1) } }, secret, now],
    ["an old one", { body, headers }, secret, now + 301_000],
    ["one of tomorrow", { body, headers }, secret, now - 301_000],
    ["none", { body, headers: {} }, secret, now],
    ["half of one", { body, headers: { ...headers, "kitforme-signature": "v1=00" } }, secret, now],
    ["no time", { body, headers: { ...headers, "kitforme-timestamp": "now" } }, secret, now],
  ])("is not believed: %s", (_, received, key, when) => {
    expect(verifyWebhook(received, key, when)).toBeUndefined();
  });
});

describe("a server that is busy", () => {
  const busy = async (times: number, status: number) => {
    let asked = 0;
    const server = createServer((_, response) => {
      if (asked++ < times)
        response.writeHead(status, { "content-type": "application/problem+json" }).end('{"detail":"Busy."}');
      else response.writeHead(200, { "content-type": "application/json" }).end('{"orders":[],"findings":[]}');
    });
    await new Promise<void>((resolve) => server.listen(0, "127.0.0.1", resolve));
    onTestFinished(() => void server.close());
    const { port } = server.address() as { port: number };
    return { shop: connect({ url: `http://127.0.0.1:${port}/`, token: "t", tries: 3 }), asked: () => asked };
  };
  it("is asked again, some times", async () => {
    const twice = await busy(2, 503);
    expect((await twice.shop.submit([])).orders).toEqual([]);
    const always = await busy(9, 429);
    await expect(always.shop.submit([])).rejects.toMatchObject({ status: 429, message: "Busy." });
    expect(always.asked()).toBe(3);
  });
  it("is not asked again for what it refused", async () => {
    const refusing = await busy(9, 422);
    await expect(refusing.shop.submit([])).rejects.toBeInstanceOf(Refused);
    expect(refusing.asked()).toBe(1);
  });
});

it.each([
  ["store short", "line 1"],
  ["# nobody\n", "no token"],
  [`a ${"x".repeat(40)}\nb`, "line 2"],
  [`a ${"x".repeat(40)} more`, "NAME TOKEN"],
  [`../a ${"x".repeat(40)}`, "NAME TOKEN"],
])("a file of tokens that cannot be used says where: %j", (text, where) => {
  const said = readTokens(text);
  expect("fault" in said ? said.fault : "none").toContain(where);
});
