// Keys that stand twice: held against what JSON.parse loses.
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { readOrders, readShop } from "@kitforme/kit";

const twiceIn = (text: string) =>
  readShop(text)
    .findings.filter((f) => f.rule === "field-twice")
    .map((f) => f.where.field);

describe("field-twice", () => {
  it.each([
    ['{"a":1,"b":2}', []],
    ['{"a":1,"a":1}', ["a"]],
    ['{"a":{"a":[{"a":1},{"a":2}]}}', []],
    ['{"x":[1,[2,{"k":1,"l":"{\\"k\\":1}","k":2}]]}', ["x[1][1].k"]],
    ['{"a\\\\":1,"a\\\\\\\\":2,"a\\"":3,"a\\\\":4}', ['["a\\\\"]']],
    ['{"é":1,"e\\u0301":2}', ['["é"]']],
    ['{"s":"a\\",\\"s","t":"\\\\"}', []],
  ])("%s: %j", (text, fields) => expect(twiceIn(text)).toEqual(fields));

  it("finds exactly the keys that JSON.parse drops", () => {
    const key = fc.constantFrom("a", "b", '"', "\\", "{", "é", "], ");
    const { value } = fc.letrec<{ value: string }>((tie) => ({
      value: fc.oneof(
        { maxDepth: 4 },
        fc.constantFrom("1", '"x,y"', "null", '"\\""', '"}"'),
        fc.array(tie("value"), { maxLength: 3 }).map((all) => `[${all.join(", ")}]`),
        fc
          .array(fc.tuple(key, tie("value")), { maxLength: 4 })
          .map((all) => `{${all.map(([k, v]) => `${JSON.stringify(k)}:\n${v}`).join(",")}}`),
      ),
    }));
    const written = (text: string): number => {
      let keys = 0;
      for (const _ of text.matchAll(/":\n/g)) keys++;
      return keys;
    };
    const kept = (data: unknown): number =>
      typeof data !== "object" || data === null
        ? 0
        : (Array.isArray(data) ? 0 : Object.keys(data).length) +
          Object.values(data).reduce((sum: number, one) => sum + kept(one), 0);
    fc.assert(
      fc.property(value, (text) => {
        const twice = twiceIn(text);
        // What JSON.parse lost may itself have held keys, so the count is a bound; none lost means none found.
        expect(twice.length > 0).toBe(kept(JSON.parse(text)) < written(text));
      }),
      { numRuns: 500 },
    );
  });
  it("orders too: no text of a buyer is lost without a word", () => {
    const text = '{"order":"A","lines":[{"kit":"k","quantity":1,"texts":[{"boat":"Solveig","boat":"Aino"}]}]}';
    const { findings, value } = readOrders([{ file: "a.json", text }], { kits: [] });
    expect(value).toBeUndefined();
    expect(findings).toMatchObject([{ rule: "field-twice", where: { field: "lines[0].texts[0].boat" } }]);
  });
  it("32 million characters are read within seconds", () => {
    const text = `{"x":[${Array.from({ length: 900_000 }, () => '{"a":"b\\\\","c":[1,2]}').join(",")}]}`;
    const before = process.cpuUsage();
    readShop(text);
    expect(process.cpuUsage(before).user).toBeLessThan(8e6);
  });
});
