// `kitforme serve` in the test's own process, on a free port; every answer is held against the OpenAPI document.
import { randomBytes } from "node:crypto";
import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { Ajv2020 } from "ajv/dist/2020.js";
import { openapi, OPERATIONS, type ServeSettings, type Serving, startServe } from "@kitforme/serve";
import { expect, onTestFinished } from "vitest";
import { type Bench, until } from "./queue.ts";

export const TOKEN = randomBytes(24).toString("hex");

interface Document {
  readonly paths: Record<
    string,
    Record<string, { responses: Record<string, { content?: Record<string, { schema: object }> }> }>
  >;
}

const document = openapi() as Document;
const DOCUMENT = "https://kitforme.invalid/openapi.json";
const ajv = new Ajv2020({ strict: false, validateFormats: false });
ajv.addSchema({ ...document, $id: DOCUMENT });

/** Compiled once: compiling takes longer than answering, in the very process that answers. */
const checks = new Map<string, ReturnType<typeof ajv.compile>>();

/** Fails where a response is not what the document says of the operation. */
export const matches = async (operation: keyof typeof OPERATIONS, response: Response): Promise<void> => {
  const { method, path } = OPERATIONS[operation];
  const said = document.paths[path]?.[method]?.responses[response.status];
  expect(said, `${operation} answered ${response.status}, which the document does not know`).toBeDefined();
  const type = (response.headers.get("content-type") ?? "").split(";")[0] as string;
  const kinds = Object.keys(said?.content ?? {});
  if (kinds.length === 0 || kinds.includes("*/*")) return;
  expect(kinds, `media type of ${operation} ${response.status}`).toContain(type);
  if (!type.endsWith("json")) return;
  const escaped = (part: string) => encodeURIComponent(part.replaceAll("~", "~0").replaceAll("/", "~1"));
  const pointer = ["paths", path, method, "responses", String(response.status), "content", type, "schema"];
  const at = `${DOCUMENT}#/${pointer.map(escaped).join("/")}`;
  const check = checks.get(at) ?? ajv.compile({ $ref: at });
  checks.set(at, check);
  const body: unknown = await response.clone().json();
  if (!check(body))
    throw new Error(`${operation} ${response.status}: ${ajv.errorsText(check.errors)}\n${JSON.stringify(body)}`);
};

export const serveHere = async (at: Bench, more: Partial<ServeSettings> = {}) => {
  const tokens = join(at.root, "tokens");
  writeFileSync(tokens, `# who may ask\nstore ${TOKEN}\n`);
  mkdirSync(at.out, { recursive: true });
  const troubles: string[] = [];
  const lines: { status: number; route: string; name?: string; order?: string }[] = [];
  const serving: Serving = await startServe(
    {
      house: { shop: at.shop, kits: at.kits, out: at.out },
      redis: at.url,
      prefix: at.keys.prefix,
      host: "127.0.0.1",
      port: 0,
      tokens,
      effort: "quick",
      ...more,
    },
    {
      onTrouble: (what, error) => void troubles.push(`${what}: ${error.message}`),
      onRequest: (line) => void lines.push(line),
    },
  );
  // Until Redis is there it answers 503, as it should.
  await until("the server to reach Redis", () => serving.trouble() === undefined);
  let stopped: Promise<boolean> | undefined;
  const stop = () => (stopped ??= serving.stop());
  onTestFinished(async () => void (await stop()));
  const ask = async (operation: keyof typeof OPERATIONS, path: string, init: RequestInit = {}): Promise<Response> => {
    const { method } = OPERATIONS[operation];
    const body = init.body === undefined ? {} : { "content-type": "application/json" };
    const response = await fetch(serving.url + path, {
      method: method.toUpperCase(),
      ...init,
      headers: { authorization: `Bearer ${TOKEN}`, ...body, ...(init.headers as Record<string, string>) },
    });
    await matches(operation, response);
    return response;
  };
  return { ...serving, stop, ask, tokens, troubles, lines };
};
