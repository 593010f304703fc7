// Bad input gets a finding within seconds, never an exception. Standards sheet 7.7, 16.14.
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { kitOf, pieceOf, svgMm } from "../support/kits.ts";

const SVG = 'xmlns="http://www.w3.org/2000/svg"';
const CUT = '<rect id="cut" width="9" height="9"/>';

/** CPU milliseconds of this process, so that a busy machine does not fail the test. */
const timed = async <T>(work: () => Promise<T>): Promise<[T, number]> => {
  const before = process.cpuUsage();
  const result = await work();
  const { user, system } = process.cpuUsage(before);
  return [result, (user + system) / 1000];
};

describe("drawings that are refused", () => {
  const laughs = `<!DOCTYPE svg [<!ENTITY a "ha">${"bcdefghij"
    .split("")
    .map((c, i) => `<!ENTITY ${c} "${`&${"abcdefghij"[i]};`.repeat(10)}">`)
    .join("")}]><svg ${SVG} width="9mm" height="9mm"><text>&j;</text>${CUT}</svg>`;
  it.each([
    ["a document type that grows", laughs, "doctype-refused"],
    ["an unknown entity", `<svg ${SVG}>&boom;</svg>`, "drawing-broken"],
    ["no XML", "GIF89a", "drawing-broken"],
    ["nothing", "", "drawing-broken"],
    ["an unclosed tag", `<svg ${SVG}><g>`, "drawing-broken"],
    ["an attribute without quotes", `<svg ${SVG} a=1/>`, "drawing-broken"],
    ["a web page", "<html><svg/></html>", "drawing-broken"],
    ["a script", svgMm(9, 9, `${CUT}<script>1</script>`), "script-refused"],
    ["an event attribute", svgMm(9, 9, `<g onload="x()">${CUT}</g>`), "script-refused"],
    ["an animation", svgMm(9, 9, `${CUT}<g><animate attributeName="x"/></g>`), "element-refused"],
    ["a foreign object", svgMm(9, 9, `${CUT}<foreignObject>x</foreignObject>`), "element-refused"],
    ["a picture outside", svgMm(9, 9, `${CUT}<image href="file:///etc/passwd"/>`), "external-reference"],
    ["a use outside", svgMm(9, 9, `${CUT}<use href="other.svg#a"/>`), "external-reference"],
    ["a paint outside", svgMm(9, 9, `${CUT}<path fill="url(x.svg#g)"/>`), "external-reference"],
    ["a style that imports", svgMm(9, 9, `<style>@import "a.css";</style>${CUT}`), "external-reference"],
    [
      "a style that refers outside",
      svgMm(9, 9, `<style>g{filter:url('//x/y#z')}</style><g>${CUT}</g>`),
      "external-reference",
    ],
    ["a style sheet instruction", `<?xml-stylesheet href="a.css"?>${svgMm(9, 9, CUT)}`, "external-reference"],
    [
      "an embedded SVG that is none",
      svgMm(9, 9, `${CUT}<image href="data:image/svg+xml;base64,PHN2Zy8+"/>`),
      "data-image-refused",
    ],
    ["a PNG that is none", svgMm(9, 9, `${CUT}<image href="data:image/png;base64,AAAA"/>`), "data-image-refused"],
  ])("%s", async (_, svg, rule) => {
    const [{ findings, piece }, ms] = await timed(() => pieceOf(svg));
    expect(findings.map((f) => f.rule)).toContain(rule);
    expect(findings.every((f) => f.hint !== "" && f.message !== "")).toBe(true);
    expect(piece).toBeUndefined();
    expect(ms).toBeLessThan(1000);
  });

  it("a link, a comment and an editor's own notes are nothing to refuse", async () => {
    const svg = `<svg ${SVG} xmlns:e="urn:e" width="9mm" height="9mm"><!-- x --><e:view e:zoom="1"><e:script/></e:view><metadata/><a href="https://example.org">${CUT}</a></svg>`;
    expect((await pieceOf(svg)).rules).toEqual([]);
  });
});

describe("drawings that are large or deep", () => {
  const many = (n: number, one: (i: number) => string): string => Array.from({ length: n }, (_, i) => one(i)).join("");
  it("100,000 shapes are read within seconds", async () => {
    const svg = svgMm(
      1000,
      1000,
      `<style>.a{fill:#123} path{stroke:#000} g > .b{fill:none}</style><rect id="cut" width="1000" height="1000"/><g>${many(100_000, (i) => `<path class="${i % 2 ? "a" : "b"}" d="M${i % 1000} ${i % 997}h1v1z"/>`)}</g>`,
    );
    const [{ piece, rules }, ms] = await timed(() => pieceOf(svg));
    expect(rules).toEqual([]);
    expect(piece?.artwork?.kind).toBe("drawing");
    expect(ms).toBeLessThan(12_000);
  });
  it("30,000 lines are judged within seconds", async () => {
    const svg = svgMm(
      1000,
      1000,
      `<g id="cut"><rect width="1000" height="1000"/></g><g id="crease">${many(30_000, (i) => `<path d="M${(i % 330) * 3 + 1} ${Math.floor(i / 330) * 3 + 1}h2"/>`)}</g>`,
    );
    const [{ piece, findings }, ms] = await timed(() =>
      pieceOf(svg, { lines: { cutting: "#cut", creasing: "#crease" } }),
    );
    expect(findings).toEqual([]);
    expect(piece?.lines).toHaveLength(30_001);
    expect(ms).toBeLessThan(20_000);
  });
  it("50,000 cutting contours are refused, not held against one another", async () => {
    const holes = many(50_000, (i) => `<path d="M${(i % 330) * 3 + 1} ${Math.floor(i / 330) * 3 + 1}h1v1h-1z"/>`);
    const svg = svgMm(1000, 1000, `<g id="cut"><rect width="1000" height="1000"/>${holes}</g>`);
    const [{ findings }, ms] = await timed(() => pieceOf(svg));
    expect(findings).toMatchObject([{ rule: "drawing-too-large", message: expect.stringContaining("5000") }]);
    expect(ms).toBeLessThan(20_000);
  });
  it("a contour of 20,001 corners is refused with its place, one of 20,000 is not", async () => {
    const wave = (n: number): string => many(n - 2, (i) => `L${1 + i / 100} ${i % 2 ? 5 : 6}`);
    const cut = (n: number): string => svgMm(300, 20, `<path id="cut" d="M1 15${wave(n)}L201 15Z"/>`);
    const [{ findings }, ms] = await timed(() => pieceOf(cut(20_001)));
    expect(findings).toMatchObject([
      { rule: "drawing-too-large", message: expect.stringContaining("20000"), where: { at: [1, 15] } },
    ]);
    expect(ms).toBeLessThan(10_000);
    expect((await pieceOf(cut(20_000))).rules).not.toContain("drawing-too-large");
  }, 60_000);
  it("selectors over 6,000 siblings give up in time", async () => {
    const svg = svgMm(
      9,
      9,
      `<style>path:nth-last-child(2n) ~ path ~ path{fill:red}</style>${CUT}${many(6000, () => "<path d='M0 0'/>")}`,
    );
    const [{ rules }, ms] = await timed(() =>
      pieceOf(svg, { lines: { cutting: "path ~ rect ~ path ~ path ~ path:nth-child(3n+1)" } }),
    );
    expect(rules.length).toBeGreaterThan(0);
    expect(ms).toBeLessThan(15_000);
  });
  it.each([
    ["200,001 elements", () => svgMm(9, 9, "<g/>".repeat(200_001)), "drawing-too-large"],
    ["10,000 levels", () => svgMm(9, 9, "<g>".repeat(10_000) + "</g>".repeat(10_000)), "drawing-too-large"],
    [
      "uses of uses of uses",
      () =>
        svgMm(
          9,
          9,
          `${CUT}<g id="a0"><path d="M0 0h1"/></g>${many(30, (i) => `<g id="a${i + 1}">${`<use href="#a${i}"/>`.repeat(10)}</g>`)}`,
        ),
      "drawing-too-large",
    ],
    [
      "uses in a ring",
      () => svgMm(9, 9, `${CUT}<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>`),
      "use-refused",
    ],
    ["a style sheet of brackets", () => svgMm(9, 9, `<style>${"(".repeat(200_000)}</style>${CUT}`), "style-unreadable"],
    [
      "a million-fold selector",
      () => svgMm(9, 9, `<style>${":not(".repeat(20_000)}a${")".repeat(20_000)}{fill:red}</style>${CUT}`),
      "style-unreadable",
    ],
  ])("%s", async (_, svg, rule) => {
    const [{ rules }, ms] = await timed(() => pieceOf(svg()));
    expect(rules).toContain(rule);
    expect(ms).toBeLessThan(8000);
  });
  it("a hundred thousand faults are told briefly", async () => {
    const { findings } = await pieceOf(svgMm(9, 9, `<g id="cut">${many(5000, (i) => `<path d="L${i}"/>`)}</g>`));
    expect(findings.length).toBeLessThan(100);
    expect(findings.filter((f) => f.rule === "value-unreadable").at(-1)?.more).toBeGreaterThan(1000);
  });
});

describe("numbers", () => {
  it.each(["NaN", "1e400", "-1e400", "Infinity", "1e9", "0x10", "--1", "1 2", ""])("x=%j", async (x) => {
    const { findings } = await pieceOf(
      svgMm(9, 9, `<g id="cut"><rect width="9" height="9"/><rect x="${x}" width="9" height="9"/></g>`),
    );
    if (x === "") expect(findings.map((f) => f.rule)).toEqual(["line-doubled"]);
    else expect(findings.filter((f) => f.level === "error").map((f) => f.rule)).toEqual(["value-unreadable"]);
  });
});

describe("paths", () => {
  const good = { piece: "p", drawing: "p.svg", stock: "s", lines: { cutting: "#cut" } };
  const bad = [
    "../p.svg",
    "a/../../p.svg",
    "..",
    "/etc/passwd",
    "//host/p.svg",
    "a\\p.svg",
    "..\\p.svg",
    "C:/p.svg",
    "c:p.svg",
    "file:///p.svg",
    "https://example.org/p.svg",
    "a\u0000.svg",
    "a\n.svg",
    "~/p.svg",
    "./p.svg",
    "a//p.svg",
    "a/",
    "%2e%2e/p.svg",
    "a/con",
    "p.svg.",
    "p.lnk",
    "a\u202ep.svg",
    "\ud800.svg",
  ];
  const slot = { slot: "x", box: [1, 1, 5, 5], safe: 0 };
  const fields: [string, (path: string) => unknown, string][] = [
    ["drawing", (path) => ({ ...good, drawing: path }), "pieces[0].drawing"],
    ["artwork", (path) => ({ ...good, artwork: { file: path, box: [0, 0, 9, 9] } }), "pieces[0].artwork.file"],
    ["font", (path) => ({ ...good, slots: [{ ...slot, font: path }] }), "pieces[0].slots[0].font"],
    ["fallback", (path) => ({ ...good, slots: [{ ...slot, fallback: ["a.ttf", path] }] }), "pieces[0].slots[0].font"],
  ];
  const files = { "p.svg": svgMm(9, 9, CUT), "a.ttf": "font" };
  it.each(fields)("%s never leaves the kit", async (_, piece, field) => {
    for (const path of bad) {
      const { findings, asked } = await kitOf({ kit: "k", pieces: [piece(path)] }, files);
      expect(
        findings.map((f) => [f.rule, f.where.field]),
        path,
      ).toEqual([["path-outside-kit", field]]);
      expect(
        asked.filter((p) => p !== "p.svg" && p !== "a.ttf"),
        path,
      ).toEqual([]);
    }
  });
  it("a kit's own fonts neither", async () => {
    for (const path of bad) {
      const { findings, asked } = await kitOf({ kit: "k", fonts: [path], pieces: [{ ...good, slots: [slot] }] }, files);
      expect(
        findings.map((f) => f.rule),
        path,
      ).toEqual(["path-outside-kit"]);
      expect(asked, path).toEqual(["p.svg"]);
    }
  });
  it("an honest path is opened, once", async () => {
    const kit = {
      kit: "k",
      fonts: ["f/A b-c_d.(1).ttf"],
      pieces: [{ ...good, slots: [slot, { ...slot, slot: "y" }] }],
    };
    const { findings, asked } = await kitOf(kit, { ...files, "f/A b-c_d.(1).ttf": "font" });
    expect(findings).toEqual([]);
    expect(asked).toEqual(["f/A b-c_d.(1).ttf", "p.svg"]);
  });
  it("names that would be bad file names are told", async () => {
    for (const name of [
      "a/b",
      "..",
      ".a",
      "a.",
      " a",
      "a ",
      "con",
      "LPT1.x",
      "a:b",
      "a\u0007",
      "a\u202eb",
      "x".repeat(61),
      "__proto__",
      "-rf",
    ]) {
      const { findings } = await kitOf(
        { kit: name, pieces: [{ ...good, piece: name, stock: name, slots: [{ ...slot, slot: name }] }] },
        files,
      );
      expect(
        findings.filter((f) => f.rule === "name-bad"),
        name,
      ).toHaveLength(4);
    }
    const { findings } = await kitOf({ kit: "k", pieces: [{ ...good, piece: "Bördür-1_a (2).b" }] }, files);
    expect(findings).toEqual([]);
  });
});

describe("JSON of any shape", () => {
  it("is a finding or a kit, never an exception", async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.anything({
          withBigInt: true,
          withDate: true,
          withMap: true,
          withNullPrototype: true,
          withSparseArray: true,
        }),
        async (data) => {
          const { findings, value } = await kitOf("x", {}).then(() =>
            import("@kitforme/kit").then(({ readKit }) =>
              readKit({ folder: "k", text: data, read: () => Promise.resolve(undefined) }),
            ),
          );
          expect(value === undefined || findings.every((f) => f.level !== "error")).toBe(true);
          if (!value) expect(findings.length).toBeGreaterThan(0);
        },
      ),
      { numRuns: 300, seed: 11 },
    );
  });
  it.each([
    "",
    "{",
    "[1,",
    "nul",
    '"',
    "{}",
    "[]",
    "null",
    "1",
    '{"kit":1e400}',
    "[".repeat(100_000),
    '{"pieces":[{}]}',
  ])("%.20s", async (text) => {
    const { findings } = await kitOf(text === "" ? " " : text, {});
    expect(findings.length).toBeGreaterThan(0);
    expect(findings.every((f) => f.rule === "json-broken" || f.rule === "field-wrong")).toBe(true);
  });
  it("a good kit with any one value replaced", async () => {
    const kit = {
      kit: "k",
      title: "T",
      fonts: ["a.ttf"],
      pieces: [
        {
          piece: "p",
          drawing: "p.svg",
          perKit: 2,
          stock: "s",
          lines: { cutting: "#cut" },
          artwork: { file: "a.png", box: [0, 0, 9, 9] },
          size: [9, 9],
          bleed: 3,
          grain: "vertical",
          turns: [0, 90],
          spread: "soft",
          slots: [
            {
              slot: "x",
              box: [3, 3, 3, 3],
              font: "a.ttf",
              fallback: ["a.ttf"],
              size: 9,
              leastSize: 5,
              align: "left",
              colour: "#000000",
              safe: 1,
              required: true,
            },
          ],
        },
      ],
    };
    const paths: (string | number)[][] = [];
    const walk = (value: unknown, path: (string | number)[]): void => {
      paths.push(path);
      if (typeof value === "object" && value !== null)
        for (const [k, v] of Object.entries(value)) walk(v, [...path, Array.isArray(value) ? Number(k) : k]);
    };
    walk(kit, []);
    const strange = fc.oneof(
      fc.anything(),
      fc.constantFrom(null, -1, 0, 0.5, NaN, Infinity, 1e308, "", "#cut", "..", [], {}, [[]], true),
    );
    await fc.assert(
      fc.asyncProperty(fc.constantFrom(...paths.slice(1)), strange, async (path, value) => {
        const copy: unknown = structuredClone(kit);
        let at = copy as Record<string | number, unknown>;
        for (const step of path.slice(0, -1)) at = at[step] as Record<string | number, unknown>;
        at[path.at(-1) as string] = value;
        const { readKit } = await import("@kitforme/kit");
        const { findings } = await readKit({
          folder: "k",
          text: copy,
          read: (name) =>
            Promise.resolve(
              name === "p.svg"
                ? new TextEncoder().encode(svgMm(9, 9, CUT))
                : new Uint8Array([0x89, 0x50, 0x4e, 0x47, 13, 10, 26, 10]),
            ),
        });
        for (const f of findings)
          expect([f.rule, typeof f.message, typeof f.hint]).toEqual([f.rule, "string", "string"]);
      }),
      { numRuns: 300, seed: 3 },
    );
  });
});
