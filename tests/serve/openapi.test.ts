// The OpenAPI document: valid by another's judgement, shipped as it is made, whole. tests/queue holds the answers against it.
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { Validator } from "@seriousme/openapi-schema-validator";
import { Ajv2020 } from "ajv/dist/2020.js";
import { openapi, OPERATIONS } from "@kitforme/serve";
import { expect, it } from "vitest";

const document = openapi() as {
  paths: Record<
    string,
    Record<string, { operationId: string; parameters?: { name: string; in: string }[]; responses: object }>
  >;
  components: { schemas: Record<string, object> };
};

it("is valid OpenAPI 3.1 (judge: @seriousme/openapi-schema-validator)", async () => {
  const validator = new Validator();
  expect(await validator.validate(structuredClone(document))).toEqual({ valid: true });
  expect(validator.version).toBe("3.1");
  const broken = { ...document, paths: { "/orders": { get: { responses: 7 } } } };
  expect((await new Validator().validate(structuredClone(broken))).valid).toBe(false);
});

it("lies in the package as it is made (else: npx tsx --conditions=@kitforme/source packages/serve/openapi.ts)", () => {
  const file = join(import.meta.dirname, "../../packages/serve/openapi.json");
  expect(readFileSync(file, "utf8")).toBe(`${JSON.stringify(document, null, 2)}\n`);
});

it("has every operation once, every parameter of its path, and schemas that a strict validator takes", () => {
  const all = Object.entries(document.paths).flatMap(([path, methods]) =>
    Object.values(methods).map((operation) => ({ path, ...operation })),
  );
  expect(all.map((o) => o.operationId).sort()).toEqual(Object.keys(OPERATIONS).sort());
  for (const { path, operationId, parameters = [] } of all)
    expect(
      parameters.filter((p) => p.in === "path").map((p) => p.name),
      operationId,
    ).toEqual([...path.matchAll(/\{(\w+)\}/g)].map((m) => m[1]));
  const ajv = new Ajv2020({ strict: true, strictTypes: false, strictRequired: false, formats: { "date-time": true } });
  const text = JSON.stringify(document.components.schemas).replaceAll("#/components/schemas/", "#/$defs/");
  const $defs = JSON.parse(text) as Record<string, object>;
  for (const name of Object.keys($defs))
    expect(typeof ajv.compile({ $defs, $ref: `#/$defs/${name}` }), name).toBe("function");
  const order = ajv.compile({ $defs, $ref: "#/$defs/Order" });
  expect(order({ order: "A", lines: [{ kit: "tag", quantity: 1 }] })).toBe(true);
  expect(order({ order: "A", lines: [{ kit: "tag", quantity: 0 }] })).toBe(false);
});
