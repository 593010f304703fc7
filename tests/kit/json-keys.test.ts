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

describe("json-broken", () => {
  const why = (text: string): string | undefined =>
    readShop(text)
      .findings.find((f) => f.rule === "json-broken")
      ?.message.replace("This is not JSON: ", "");
  it.each([
    ['{"a": 1,}', "line 1, column 9: there is a comma too many before }."],
    ['{"a": 1\n "b": 2}', "line 2, column 2: a comma is missing before this."],
    ['{"a": [1, 2}', "line 1, column 12: a comma or the end of the object or list is expected."],
    ['{"a" 1}', "line 1, column 6: a colon is expected."],
    ["{a: 1}", "line 1, column 2: a name in double quotes or } is expected."],
    ["{'a': 1}", "line 1, column 2: ' is no quote here: texts stand in straight double quotes."],
    ['{"a": 01}', "line 1, column 7: a value is expected."],
    ['{"a": .5}', "line 1, column 7: a value is expected."],
    ['{"a": NaN}', "line 1, column 7: a value is expected."],
    ['{"a": 1} // done', "line 1, column 10: comments are no JSON."],
    ['{"a": 1}}', "line 1, column 9: nothing more is expected."],
    ['{"a": "x\n"}', "line 1, column 7: the text that begins here has no closing quote on its line."],
    ['{"a": "\\x"}', "line 1, column 8: the backslash is followed by no sign that it may stand before."],
    ['{"a": [', "line 1, column 8: the text ends, but ] is missing."],
    ["", "line 1, column 1: the text ends before its value."],
  ])("%j: %s", (text, what) => expect(why(text)).toBe(what));
  it("finds a fault exactly where JSON.parse finds one, and never in its own words", () => {
    const sign = fc.constantFrom(
      ...Array.from("{}[],:\"\\'/ \n\t0123.-+eEtrufalsn\u0001é💙"),
      '"a"',
      "true",
      "null",
      "1e5",
      "\\u0041",
    );
    const near = fc.tuple(fc.nat(60), sign).map(([at, one]) => {
      const good = '{"stocks":{"a":[1,-2.5e3,"x\\n\\u00e9"],"b":{"c":null}},"d":[[],{}]}';
      return good.slice(0, at) + one + good.slice(at + 1);
    });
    const text = fc.oneof(
      near,
      fc.array(sign, { maxLength: 12 }).map((all) => all.join("")),
    );
    fc.assert(
      fc.property(text, (one) => {
        let good = true;
        try {
          JSON.parse(one);
        } catch {
          good = false;
        }
        expect(why(one) === undefined, one).toBe(good);
        if (!good) expect(why(one)).toMatch(/^line \d+, column \d+: /);
      }),
      { numRuns: 3000, seed: 3 },
    );
  });
});
