// A kit from its folder, whole; the schemas; and whether a shop can make it.
import { readFileSync } from "node:fs";
import { checkKit, type Kit, readKit, readShop, schemaOf, type Shop } from "@kitforme/kit";
import { describe, expect, it } from "vitest";
import { kitOf, pieceOf, svgMm } from "../support/kits.ts";

const CUT = '<rect id="cut" width="90" height="60"/>';
const PNG = new Uint8Array([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);
const base = { piece: "p", drawing: "p.svg", stock: "card", lines: { cutting: "#cut" } };
const files = { "p.svg": svgMm(90, 60, CUT) };

describe("readKit", () => {
  it("reads a folder", async () => {
    const { value, findings } = await readKit({
      folder: "lantern",
      text: readFileSync("fixtures/kits/lantern/kit.json", "utf8"),
      read: (path) => Promise.resolve(readFileSync(`fixtures/kits/lantern/${path}`)),
    });
    expect(findings).toEqual([]);
    const [wall, insert] = value?.pieces ?? [];
    expect(wall).toMatchObject({
      kit: "lantern",
      piece: "wall",
      perKit: 4,
      size: { width: 120_000, height: 180_000 },
      bleed: 3000,
      grain: "vertical",
      turns: [0, 180],
      spread: "nearest",
      artwork: { kind: "drawing", box: { x: -3000, y: -3000, width: 126_000, height: 186_000 }, file: "wall.svg" },
      slots: [
        {
          slot: "boat",
          box: { x: 12_000, y: 60_000, width: 50_000, height: 14_000 },
          fonts: [],
          size: 24,
          leastSize: 10,
          safe: 2000,
        },
      ],
    });
    expect(wall?.parts.map((p) => p.openings.length)).toEqual([1]);
    expect(wall?.lines.map((l) => l.operation)).toEqual(["creasing", "cutting", "cutting"]);
    expect(insert).toMatchObject({
      perKit: 1,
      artwork: null,
      turns: [0, 90, 180, 270],
      size: { width: 50_000, height: 30_000 },
    });
  });
  it("reads the demo's kits without an error", async () => {
    for (const name of ["harbour-lantern", "keepsake", "pilot-boat"]) {
      const { value, findings } = await readKit({
        folder: name,
        text: readFileSync(`fixtures/demo/kits/${name}/kit.json`, "utf8"),
        read: (path) => Promise.resolve(readFileSync(`fixtures/demo/kits/${name}/${path}`)),
      });
      expect(
        findings.filter((f) => f.level === "error"),
        name,
      ).toEqual([]);
      expect(value?.pieces.length, name).toBeGreaterThan(2);
    }
  });
  it("fills in what may be left out", async () => {
    const { value } = await kitOf(
      { kit: "k", pieces: [{ ...base, slots: [{ slot: "s", box: [10, 10, 20, 10] }] }] },
      files,
    );
    expect(value).toMatchObject({
      title: "k",
      pieces: [
        {
          perKit: 1,
          spread: "nearest",
          slots: [{ size: 12, leastSize: 12, align: "left", colour: "#000000", safe: 2000 }],
        },
      ],
    });
    expect(value?.pieces[0]).not.toHaveProperty("bleed");
    expect(value?.pieces[0]).not.toHaveProperty("grain");
  });
  it("turns are brought within a full turn, each once", async () => {
    const turns = async (t: unknown) => (await pieceOf(svgMm(90, 60, CUT), { turns: t })).piece?.turns;
    expect(await turns([180, -180, 360, 45, 450])).toEqual([0, 45, 90, 180]);
    expect(await turns("any")).toBe("any");
    expect(await turns([])).toBeUndefined();
  });
  it("fonts are tried in order: the slot's own, its fallbacks, the kit's", async () => {
    const slot = { slot: "s", box: [10, 10, 20, 10], font: "a.ttf", fallback: ["b.ttf", "a.ttf"] };
    const { value, asked } = await kitOf(
      { kit: "k", fonts: ["c.ttf", "b.ttf"], pieces: [{ ...base, slots: [slot] }] },
      { ...files, "a.ttf": "A", "b.ttf": "B", "c.ttf": "C" },
    );
    const [read] = value?.pieces[0]?.slots ?? [];
    expect(read?.kind === "text" && read.fonts.map((f) => f.file)).toEqual(["a.ttf", "b.ttf", "c.ttf"]);
    expect(asked.filter((p) => p.endsWith(".ttf"))).toEqual(["a.ttf", "b.ttf", "c.ttf"]);
  });
  it.each([
    ["sr", "sr"],
    ["zh-Hant", "zh-Hant"],
    ["de-AT", "de-AT"],
    ["Serbian", undefined],
    ["", undefined],
  ])("a slot's language is a tag: %s", async (language, read) => {
    const slot = { slot: "s", box: [10, 10, 20, 10], language };
    const { value } = await kitOf({ kit: "k", pieces: [{ ...base, slots: [slot] }] }, files);
    const [one] = value?.pieces[0]?.slots ?? [];
    expect(one?.kind === "text" ? one.language : undefined).toBe(read);
    expect(value === undefined).toBe(read === undefined);
  });
  it("the bundled font stays first when only fallbacks are given", async () => {
    const first = async (slot: object, fonts: readonly string[]): Promise<unknown> => {
      const form = { slot: "s", box: [10, 10, 20, 10], ...slot };
      const { value } = await kitOf(
        { kit: "k", fonts, pieces: [{ ...base, slots: [form] }] },
        { ...files, "c.ttf": "C" },
      );
      const [read] = value?.pieces[0]?.slots ?? [];
      return read?.kind === "text" && [read.fonts.map(({ file }) => file), read.bundledFirst];
    };
    expect(await first({}, ["c.ttf"])).toEqual([["c.ttf"], true]);
    expect(await first({ fallback: ["c.ttf"] }, [])).toEqual([["c.ttf"], true]);
    expect(await first({ font: "c.ttf" }, [])).toEqual([["c.ttf"], undefined]);
  });
  it("file-missing and artwork-missing tell the field", async () => {
    const { findings } = await kitOf(
      {
        kit: "k",
        pieces: [
          {
            ...base,
            artwork: { file: "a.png", box: [0, 0, 9, 9] },
            slots: [{ slot: "s", box: [10, 10, 9, 9], font: "no.ttf" }],
          },
          { ...base, piece: "q", drawing: "Q.svg" },
        ],
      },
      files,
    );
    expect(findings.map((f) => [f.rule, f.where.piece, f.where.file])).toEqual([
      ["file-missing", "p", "no.ttf"],
      ["artwork-missing", "p", "a.png"],
      ["file-missing", "q", "Q.svg"],
    ]);
  });
  it.each<[string, Uint8Array | string, string]>([
    ["png", PNG, "png"],
    ["jpeg called png", new Uint8Array([0xff, 0xd8, 0xff, 0xe0]), "jpeg"],
    ["tiff", new Uint8Array([0x4d, 0x4d, 0, 0x2a]), "tiff"],
    ["pdf after junk", "\n%PDF-1.4", "pdf"],
    ["svg", svgMm(9, 9, "<rect width='9' height='9'/>"), "svg"],
  ])("knows an artwork file by its bytes: %s", async (_, file, format) => {
    const { value, findings } = await kitOf(
      { kit: "k", pieces: [{ ...base, artwork: { file: "a.png", box: [-3, -3, 96, 66] } }] },
      { ...files, "a.png": file },
    );
    expect(findings).toEqual([]);
    expect(value?.pieces[0]?.artwork).toMatchObject({
      kind: "file",
      format,
      box: { x: -3000, y: -3000, width: 96_000, height: 66_000 },
    });
  });
  it("artwork-unknown", async () => {
    const { findings } = await kitOf(
      { kit: "k", pieces: [{ ...base, artwork: { file: "a.png", box: [0, 0, 9, 9] } }] },
      { ...files, "a.png": "8BPS" },
    );
    expect(findings).toMatchObject([{ rule: "artwork-unknown", where: { file: "a.png" } }]);
  });
  it("an SVG artwork file is as harmless as a drawing", async () => {
    const artwork = { file: "a.svg", box: [0, 0, 90, 60] };
    const bad = await kitOf(
      { kit: "k", pieces: [{ ...base, artwork }] },
      { ...files, "a.svg": svgMm(9, 9, '<image href="/etc/passwd"/>') },
    );
    expect(bad.findings).toMatchObject([{ rule: "external-reference" }]);
    const sizeless = await kitOf(
      { kit: "k", pieces: [{ ...base, artwork }] },
      {
        ...files,
        "a.svg": '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 6"><rect width="9" height="6"/></svg>',
      },
    );
    expect(sizeless.findings).toEqual([]);
    const read = sizeless.value?.pieces[0]?.artwork;
    expect(read?.kind === "file" && new TextDecoder().decode(read.bytes)).toContain(
      'width="90" height="60" viewBox="0 0 90 60"',
    );
  });
  it("a drawing may be UTF-16, but not Latin-1 or compressed", async () => {
    const text = svgMm(90, 60, CUT);
    const utf16 = new Uint8Array(2 + 2 * text.length);
    utf16.set([0xff, 0xfe]);
    for (let i = 0; i < text.length; i++) utf16[2 + 2 * i] = text.charCodeAt(i);
    expect((await kitOf({ kit: "k", pieces: [base] }, { "p.svg": utf16 })).findings).toEqual([]);
    for (const [bytes, words] of [
      [new Uint8Array([0x3c, 0x73, 0xe9]), "no Unicode text"],
      [new Uint8Array([0x1f, 0x8b, 8, 0]), "it is compressed (SVGZ"],
      [new TextEncoder().encode("GIF89a"), "it is a GIF"],
      [new TextEncoder().encode("%PDF-1.7"), "it is a PDF"],
    ] as const)
      expect((await kitOf({ kit: "k", pieces: [base] }, { "p.svg": bytes })).findings).toMatchObject([
        { rule: "drawing-broken", message: expect.stringContaining(words) },
      ]);
  });
  it("field-misspelt and field-unknown: no field is passed over without a word, at any depth", async () => {
    const slot = { slot: "s", box: [10, 10, 20, 10], leastsize: 6, note: 1 };
    const { findings, value } = await kitOf(
      {
        $schema: "kit.schema.json",
        kit: "k",
        Title: "T",
        author: "x",
        pieces: [
          { ...base, perkit: 4, perKit: 2, blead: 3, turn: [0], remark: "y", slots: [slot], artwork: "#art" },
          { ...base, piece: "q", artwork: { file: "p.svg", box: [0, 0, 9, 9], bx: 1, fiel: 2 } },
        ],
      },
      files,
    );
    expect(findings.filter((f) => f.rule.startsWith("field-")).map((f) => [f.rule, f.level, f.where.field])).toEqual([
      ["field-misspelt", "warning", "Title"],
      ["field-unknown", "warning", "author"],
      ["field-misspelt", "warning", "pieces[0].perkit"],
      ["field-misspelt", "warning", "pieces[0].blead"],
      ["field-misspelt", "warning", "pieces[0].turn"],
      ["field-unknown", "warning", "pieces[0].remark"],
      ["field-misspelt", "warning", "pieces[0].slots[0].leastsize"],
      ["field-unknown", "warning", "pieces[0].slots[0].note"],
      ["field-unknown", "warning", "pieces[1].artwork.bx"],
      ["field-misspelt", "warning", "pieces[1].artwork.fiel"],
    ]);
    expect(value === undefined).toBe(findings.some((f) => f.level === "error"));
    expect(findings[2]?.message).toContain('"perKit" is, and is given as well');
    expect(findings[3]?.message).toContain('"bleed" is, and is not given');
    expect(findings[8]?.hint).toContain("file, box");
  });
  it("unknown fields are reported beside faults of the form", async () => {
    const { findings } = await kitOf({ kit: "k", pieces: [{ ...base, stock: 4, nonsense: 1 }] }, files);
    expect(findings.map((f) => [f.rule, f.where.field])).toEqual([
      ["field-wrong", "pieces[0].stock"],
      ["field-unknown", "pieces[0].nonsense"],
    ]);
  });
  it("field-twice: a key that stands twice in one object, with its lines", async () => {
    const text = `{ "kit": "k", "pieces": [\n{ "piece": "p", "drawing": "p.svg", "stock": "card",\n"bleed": 3, "lines": { "cutting": "#cut" }, "\\u0062leed": 30 }] }`;
    const answer = await readKit({ folder: "k", text, read: () => Promise.resolve(undefined) });
    expect(answer.value).toBeUndefined();
    expect(answer.findings.filter((f) => f.rule === "field-twice")).toMatchObject([
      {
        level: "error",
        where: { field: "pieces[0].bleed" },
        message: "pieces[0].bleed is given twice, both times in line 3.",
      },
    ]);
  });
  it("name-twice and kit-folder", async () => {
    const { findings } = await kitOf({ kit: "K2", pieces: [base, { ...base, piece: "P" }] }, files);
    expect(findings.map((f) => [f.rule, f.level])).toEqual([
      ["kit-folder", "warning"],
      ["name-twice", "error"],
    ]);
  });
  it("a reader that fails is the caller's weather, not a finding", async () => {
    await expect(
      readKit({ folder: "k", text: { kit: "k", pieces: [base] }, read: () => Promise.reject(new Error("disk")) }),
    ).rejects.toThrow("disk");
  });
});

describe("schemaOf", () => {
  it.each(["shop", "kit", "order"] as const)(
    "%s: what people write, more fields allowed, defaults not required",
    (file) => {
      const schema = schemaOf(file) as {
        type: string;
        required: string[];
        additionalProperties?: unknown;
        properties: object;
      };
      expect(schema.type).toBe("object");
      expect(schema.additionalProperties).not.toBe(false);
      expect(Object.keys(schema.properties)).toEqual(expect.arrayContaining(schema.required));
      expect(schema.required).toEqual(
        { shop: ["stocks", "cutters"], kit: ["kit", "pieces"], order: ["order", "lines"] }[file],
      );
    },
  );
});

const CUTTER = {
  formats: ["svg"],
  tolerance: 1,
  clearance: 1,
  margins: { top: 5, right: 5, bottom: 5, left: 5 },
  marks: { shape: "disc", size: 5, clear: 2 },
  tools: { cutting: { pen: 1 } },
};

describe("readKit, told who is to make the kit", () => {
  const maker = () => ({
    shop: readShop({
      stocks: { card: { sheet: [320, 450], press: null, cutter: "c" } },
      cutters: {
        c: CUTTER,
      },
    }).value as Shop,
  });
  const read = (pieces: readonly object[]) =>
    readKit(
      {
        folder: "k",
        text: JSON.stringify({ kit: "k", pieces }),
        read: (path) => Promise.resolve(new TextEncoder().encode(files[path as "p.svg"])),
      },
      maker(),
    );

  it("tells unknown stocks beside faults of the drawing, and gives the pieces that have none", async () => {
    const { value, findings, pieces } = await read([
      { ...base, stock: "vellum", lines: { cutting: "#no" } },
      { ...base, piece: "q", stock: "vellum" },
      { ...base, piece: "r" },
    ]);
    expect(value).toBeUndefined();
    expect(findings.map((f) => `${f.where.piece} ${f.rule}`)).toEqual([
      "p stock-unknown",
      "p selector-finds-nothing",
      "q stock-unknown",
    ]);
    expect(pieces.map((p) => p.piece)).toEqual(["r"]);
  });
  it("reads the drawings of the other pieces when one piece's form is at fault", async () => {
    const { value, findings } = await read([
      { ...base, perKit: 0 },
      { ...base, piece: "q", lines: { cutting: "#no" }, drawing: "p.svg" },
      { ...base, piece: "r", drawing: "../p.svg" },
    ]);
    expect(value).toBeUndefined();
    expect(findings.map((f) => `${f.where.field ?? f.where.piece} ${f.rule}`)).toEqual([
      "pieces[0].perKit field-wrong",
      "q selector-finds-nothing",
      "pieces[2].drawing path-outside-kit",
    ]);
  });
  it("holds a piece against the room its sheets have", async () => {
    const room = { x: 0, y: 0, width: 80_000, height: 80_000 };
    const source = {
      folder: "k",
      text: JSON.stringify({ kit: "k", pieces: [base] }),
      read: () => Promise.resolve(new TextEncoder().encode(files["p.svg"])),
    };
    expect((await readKit(source, maker())).findings).toEqual([]);
    expect((await readKit(source, { ...maker(), roomOf: () => ({ print: room, cut: room }) })).findings).toMatchObject([
      { rule: "piece-too-large", message: expect.stringContaining("10 mm too wide") },
    ]);
  });
});

describe("checkKit", () => {
  const shop = (change: (shop: Record<string, Record<string, Record<string, unknown>>>) => void = () => {}): Shop => {
    const plain = {
      stocks: {
        card: { sheet: [320, 450], grain: "long", press: "digital", cutter: "flatbed" },
        board: { sheet: [320, 450], press: null, cutter: "flatbed" },
      },
      presses: {
        digital: {
          margins: { top: 5, right: 5, bottom: 8, left: 5 },
          resolution: 300,
          bleed: 3,
          colour: "cmyk",
          register: 0.5,
        },
      },
      cutters: {
        flatbed: CUTTER,
      },
    };
    change(plain as unknown as Record<string, Record<string, Record<string, unknown>>>);
    return readShop(plain).value as Shop;
  };
  const art = (w: number, h: number) => `<rect width="${w}" height="${h}" fill="#00f"/>`;
  const kit = async (w: number, h: number, more: object = {}, inner = ""): Promise<Kit> => {
    const svg = svgMm(w, h, `${art(w, h)}<g id="cut"><rect width="${w}" height="${h}"/>${inner}</g>`);
    return (await kitOf({ kit: "k", pieces: [{ ...base, ...more }] }, { "p.svg": svg })).value as Kit;
  };
  const rules = (k: Kit, s: Shop) => checkKit(k, s).map((f) => f.rule);

  it("finds nothing to say about a piece that fits", async () => {
    expect(checkKit(await kit(100, 100), shop())).toEqual([]);
  });
  it("stock-unknown", async () => {
    for (const stock of ["cord", "constructor", "toString"])
      expect(checkKit(await kit(9, 9, { stock }), shop())).toMatchObject([
        { rule: "stock-unknown", where: { kit: "k", piece: "p", stock }, hint: "Stocks on hand: card, board." },
      ]);
  });
  it("tool-missing", async () => {
    const svg = svgMm(100, 60, `<rect id="cut" width="100" height="60"/><path id="c" d="M0 30H100"/>`);
    const { value } = await kitOf(
      { kit: "k", pieces: [{ ...base, lines: { cutting: "#cut", creasing: "#c" } }] },
      { "p.svg": svg },
    );
    expect(checkKit(value as Kit, shop())).toMatchObject([{ rule: "tool-missing", where: { operation: "creasing" } }]);
    expect(
      rules(
        value as Kit,
        shop((s) => Object.assign(s["cutters"]?.["flatbed"]?.["tools"] as object, { creasing: { pen: 2 } })),
      ),
    ).toEqual([]);
  });
  it("piece-too-large: with bleed inside the press's margins", async () => {
    // Printable 310 x 437, bleed 3 all round: 304 x 431.
    expect(rules(await kit(304, 431, { turns: [0] }), shop())).toEqual([]);
    expect(checkKit(await kit(305, 431.5, { turns: [0] }), shop())).toMatchObject([
      {
        rule: "piece-too-large",
        message: expect.stringMatching(/320 x 450 mm, turned 0 degrees, it is 1 mm too wide and 0.5 mm too high/),
      },
    ]);
    expect(rules(await kit(431, 304, { turns: [0] }), shop())).toEqual(["piece-too-large"]);
    expect(rules(await kit(431, 304), shop())).toEqual([]);
    expect(rules(await kit(431, 304, { turns: "any" }), shop())).toEqual([]);
  });
  it("piece-too-large: unprinted, only the cutter counts; another sheet size may hold it", async () => {
    expect(rules(await kit(310, 440, { stock: "board", artwork: null, turns: [0] }), shop())).toEqual([]);
    expect(rules(await kit(311, 440, { stock: "board", artwork: null, turns: [0] }), shop())).toEqual([
      "piece-too-large",
    ]);
    expect(
      rules(
        await kit(311, 440, { stock: "board", artwork: null }),
        shop((s) => Object.assign(s["stocks"]?.["board"] as object, { sheets: [[500, 700]] })),
      ),
    ).toEqual([]);
  });
  it("piece-too-large: free rotation finds the diagonal", async () => {
    // A bar of 480 x 10 fits 310 x 440 only on the slant.
    expect(rules(await kit(480, 10, { stock: "board", artwork: null, turns: "any" }), shop())).toEqual([]);
    expect(rules(await kit(480, 10, { stock: "board", artwork: null }), shop())).toEqual(["piece-too-large"]);
  });
  it("grain-forbids-all-turns", async () => {
    const s = shop();
    expect(rules(await kit(50, 50, { grain: "vertical", turns: [180] }), s)).toEqual([]);
    expect(rules(await kit(50, 50, { grain: "horizontal", turns: [90] }), s)).toEqual([]);
    expect(rules(await kit(50, 50, { grain: "vertical" }), s)).toEqual([]);
    expect(rules(await kit(50, 50, { grain: "vertical", turns: "any" }), s)).toEqual([]);
    expect(checkKit(await kit(50, 50, { grain: "vertical", turns: [90] }), s)).toMatchObject([
      { rule: "grain-forbids-all-turns", message: expect.stringContaining("0 or 180") },
    ]);
    const lying = shop((p) => Object.assign(p["stocks"]?.["card"] as object, { sheet: [450, 320] }));
    expect(rules(await kit(50, 50, { grain: "vertical", turns: [90] }), lying)).toEqual([]);
    const short = shop((p) => Object.assign(p["stocks"]?.["card"] as object, { grain: "short" }));
    expect(rules(await kit(50, 50, { grain: "vertical", turns: [90] }), short)).toEqual([]);
  });
  it("grain decides which turns a large piece has", async () => {
    expect(rules(await kit(400, 200), shop())).toEqual([]);
    expect(rules(await kit(400, 200, { grain: "vertical" }), shop())).toEqual(["piece-too-large"]);
  });
  it("grain-of-stock-unknown", async () => {
    expect(checkKit(await kit(50, 50, { grain: "vertical", stock: "board", artwork: null }), shop())).toMatchObject([
      { rule: "grain-of-stock-unknown", level: "warning" },
    ]);
    const square = shop((p) => Object.assign(p["stocks"]?.["card"] as object, { sheet: [450, 450] }));
    expect(checkKit(await kit(50, 50, { grain: "vertical" }), square)).toMatchObject([
      { rule: "grain-of-stock-unknown", message: expect.stringContaining("square") },
    ]);
  });
  it("opening-closes: narrower than twice the bleed", async () => {
    expect(rules(await kit(100, 100, {}, '<rect x="20" y="20" width="30" height="6.1"/>'), shop())).toEqual([]);
    expect(checkKit(await kit(100, 100, {}, '<rect x="20" y="20" width="30" height="5.9"/>'), shop())).toMatchObject([
      { rule: "opening-closes", level: "note", where: { at: [20, 20] } },
    ]);
    expect(rules(await kit(100, 100, { bleed: 2 }, '<rect x="20" y="20" width="30" height="5.9"/>'), shop())).toEqual(
      [],
    );
  });
  it("an artwork file on unprinted stock is an error, what a drawing has left over only a warning", async () => {
    const svg = svgMm(90, 60, CUT);
    const { value } = await kitOf(
      { kit: "k", pieces: [{ ...base, stock: "board", artwork: { file: "a.png", box: [0, 0, 90, 60] } }] },
      { "p.svg": svg, "a.png": PNG },
    );
    expect(checkKit(value as Kit, shop())).toMatchObject([{ rule: "artwork-on-unprinted-stock", level: "error" }]);
  });
  it("print on unprinted stock", async () => {
    const k = await kit(100, 100, { stock: "board", slots: [{ slot: "s", box: [10, 10, 20, 10] }] });
    expect(checkKit(k, shop()).map((f) => [f.rule, f.level])).toEqual([
      ["artwork-on-unprinted-stock", "warning"],
      ["slot-on-unprinted-stock", "error"],
    ]);
  });
});
