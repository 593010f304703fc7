// Bad input at the command's door: a finding and exit 1 within seconds; never a stack trace, a hang, or a file outside the job folder.
import { existsSync, mkdirSync, readdirSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { deflateSync, crc32 } from "node:zlib";
import sharp from "sharp";
import { describe, expect, it } from "vitest";
import { DEMO, DEMO_ORDERS, type Ended, kitforme, scratch } from "../support/command.ts";

const SHOP = join(DEMO, "shop.json");
const SQUARE =
  '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 40 40"><rect id="art" width="40" height="40" fill="#c63d2b"/><rect id="cut" width="40" height="40" fill="none" stroke="#000"/></svg>';
const PIECE = { piece: "tag", drawing: "tag.svg", stock: "card", lines: { cutting: "#cut" }, artwork: "#art" };
const KIT = { kit: "trial", title: "Trial", pieces: [PIECE] };
const ORDER = { order: "T-1", lines: [{ kit: "trial", quantity: 1 }] };

type Content = string | Uint8Array | object;

/** A kit folder and an order in a scratch folder, with some files replaced; `{}`-like content is written as JSON. */
const tried = async (
  files: Record<string, Content>,
  order: Content = ORDER,
  shop = SHOP,
  /** Files beside the order; those that end in .json and lie in no folder are orders too. */
  more: Record<string, string> = {},
): Promise<Ended & { root: string; found: Record<string, unknown>[] }> => {
  const root = scratch();
  const put = (name: string, content: Content) => {
    mkdirSync(dirname(join(root, name)), { recursive: true });
    writeFileSync(
      join(root, name),
      typeof content === "string" || content instanceof Uint8Array ? content : JSON.stringify(content),
    );
  };
  put("order.json", order);
  for (const [name, content] of Object.entries(more)) put(name, content);
  for (const [name, content] of Object.entries({ "kit.json": KIT, "tag.svg": SQUARE, ...files }))
    put(`kits/trial/${name}`, content);
  const ended = await kitforme([
    "make",
    "--json",
    "--shop",
    shop,
    "--kits",
    join(root, "kits"),
    "--out",
    join(root, "out"),
    "--effort",
    "quick",
    ...["order.json", ...Object.keys(more).filter((name) => !name.includes("/"))].map((name) => join(root, name)),
  ]);
  return { ...ended, root, found: ended.events.filter((e) => e["event"] === "finding") };
};

const refused = (ended: Awaited<ReturnType<typeof tried>>, rule: RegExp, given: readonly string[] = []) => {
  expect(ended.err).not.toMatch(/^\s+at .*:\d+/m);
  expect(ended.found.filter((f) => f["level"] === "error").map((f) => f["rule"])).toContainEqual(
    expect.stringMatching(rule),
  );
  for (const f of ended.found) expect(String(f["message"]).length * String(f["hint"]).length).toBeGreaterThan(0);
  expect(ended.code).toBe(1);
  expect(ended.seconds).toBeLessThan(15);
  expect(existsSync(join(ended.root, "out", "job.json"))).toBe(false);
  expect(readdirSync(ended.root).filter((name) => !["kits", "order.json", "out", ...given].includes(name))).toEqual([]);
};

/** Many faults in one kit: every piece has an error, and each of the rules stands among the errors of its piece. */
const eachRefused = (ended: Awaited<ReturnType<typeof tried>>, rules: Readonly<Record<string, RegExp>>) => {
  refused(ended, /./);
  for (const [piece, rule] of Object.entries(rules)) {
    const errors = ended.found.filter(
      (f) => f["level"] === "error" && (f["where"] as { piece?: string }).piece === piece,
    );
    expect(
      errors.map((f) => f["rule"]),
      `errors of ${piece}`,
    ).toContainEqual(expect.stringMatching(rule));
  }
};

const png = async (width: number, height: number) =>
  sharp({ create: { width, height, channels: 3, background: "#2f7f8a" } })
    .png()
    .toBuffer();

/** A PNG that claims 20,000 x 20,000 pixels and holds none of them. */
const bomb = (): Buffer => {
  const chunk = (type: string, data: Buffer) => {
    const body = Buffer.concat([Buffer.from(type, "latin1"), data]);
    const frame = Buffer.alloc(8);
    frame.writeUInt32BE(data.length, 0);
    frame.writeUInt32BE(crc32(body), 4);
    return Buffer.concat([frame.subarray(0, 4), body, frame.subarray(4)]);
  };
  const header = Buffer.alloc(13);
  header.writeUInt32BE(20_000, 0);
  header.writeUInt32BE(20_000, 4);
  header.set([8, 2, 0, 0, 0], 8);
  return Buffer.concat([
    Buffer.from([137, 80, 78, 71, 13, 10, 26, 10]),
    chunk("IHDR", header),
    chunk("IDAT", deflateSync(Buffer.alloc(1_000_000))),
    chunk("IEND", Buffer.alloc(0)),
  ]);
};

describe("bad input", () => {
  it("makes the trial kit when nothing is wrong with it", async () => {
    const ended = await tried({});
    expect(ended.found.filter((f) => f["level"] === "error")).toEqual([]);
    expect(ended.code).toBe(0);
    expect(existsSync(join(ended.root, "out", "job.json"))).toBe(true);
  });

  it("makes an order whose file starts with a byte order mark, as many editors write it", async () => {
    expect((await tried({}, `\ufeff${JSON.stringify(ORDER)}`)).code).toBe(0);
  });

  it("says so when a file is not UTF-8, and writes no control characters to the terminal", async () => {
    const utf16 = await tried({}, Buffer.from(`\ufeff${JSON.stringify(ORDER)}`, "utf16le"));
    refused(utf16, /json-broken/);
    expect(JSON.stringify(utf16.found)).toContain("UTF-8");
    const latin = Buffer.from(JSON.stringify({ ...ORDER, order: "Bj\u00f8rn" }), "latin1");
    refused(await tried({}, latin), /name-bad/);
    const steering = await tried({}, { ...ORDER, order: "T\u001b[2J", lines: [{ kit: "a\u001b]0;b", quantity: 1 }] });
    refused(steering, /name-bad/);
    refused(await tried({}, '{"order": \u001b[2J}'), /json-broken/);
    expect(steering.err).not.toContain("\u001b");
    expect(steering.err).toContain("\\u001b");
  });

  it("refuses pictures that are cut short, none, empty, or a bomb: all in one answer", async () => {
    const whole = await png(700, 700);
    const jpeg = await sharp(whole).jpeg().toBuffer();
    const pictures: Record<string, Content> = {
      "short.png": whole.subarray(0, whole.length * 0.6),
      "short.jpg": jpeg.subarray(0, jpeg.length * 0.5),
      "none.png": "no picture",
      "empty.tif": new Uint8Array(),
      "bomb.png": bomb(),
      "none.pdf": "%PDF-1.7\nnothing",
    };
    const names = Object.keys(pictures);
    const pieces = names.map((file, i) => ({ ...PIECE, piece: `p${i}`, artwork: { file, box: [-3, -3, 46, 46] } }));
    const ended = await tried({ "kit.json": { ...KIT, pieces }, ...pictures });
    eachRefused(ended, Object.fromEntries(pieces.map(({ piece }) => [piece, /artwork/])));
  });

  it("refuses a DOCTYPE and its entities", async () => {
    const lol = `<!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa">${"bcdefghij"
      .split("")
      .map((c, i) => `<!ENTITY ${c} "&${"abcdefghi"[i]};&${"abcdefghi"[i]};&${"abcdefghi"[i]};&${"abcdefghi"[i]};">`)
      .join("")}]>`;
    refused(await tried({ "tag.svg": `${lol}${SQUARE.replace("</svg>", "<text>&j;</text></svg>")}` }), /./);
  });

  const WAYS: readonly (readonly [string, object])[] = [
    ["drawing", { drawing: "../../../outside.svg" }],
    ["drawing, absolute", { drawing: "/etc/passwd" }],
    ["artwork", { artwork: { file: "../outside.png", box: [0, 0, 40, 40] } }],
    ["artwork, backslash", { artwork: { file: "..\\outside.png", box: [0, 0, 40, 40] } }],
    [
      "font",
      {
        slots: [
          {
            slot: "boat",
            box: [5, 5, 30, 10],
            font: "fonts/../../../f.ttf",
            size: 12,
            leastSize: 6,
            align: "left",
            colour: "#000000",
            safe: 2,
          },
        ],
      },
    ],
    ["piece name", { piece: "../../tag" }],
  ];
  it("never follows a path out of the kit, in whatever field", async () => {
    const pieces = WAYS.map(([, change], i) => ({ ...PIECE, piece: `p${i}`, ...change }));
    const ended = await tried({ "kit.json": { ...KIT, pieces } });
    refused(ended, /./);
    const told = JSON.stringify(ended.found.filter((f) => f["level"] === "error"));
    for (const i of WAYS.keys()) expect(told, WAYS[i]?.[0]).toContain(`pieces[${i}]`);
    expect(told).not.toContain("root:");
  });

  it("never follows names of kits and orders out of their folders", async () => {
    const ended = await tried({}, { ...ORDER, order: "../../T-1", lines: [{ kit: "../trial", quantity: 1 }] });
    refused(ended, /./);
    expect(JSON.stringify(ended.found)).toContain("../trial");
    expect(JSON.stringify(ended.found)).toContain("../../T-1");
  });

  it("reads a drawing of 100,000 nodes, or refuses it, within seconds", async () => {
    const dots = Array.from({ length: 100_000 }, (_, i) => `<path d="M${i % 40} ${(i / 40) % 40}h.1v.1z"/>`).join("");
    const ended = await tried({
      "tag.svg": SQUARE.replace('<rect id="art"', `<g id="many">${dots}</g><rect id="art"`),
    });
    expect([0, 1]).toContain(ended.code);
    expect(ended.seconds).toBeLessThan(30);
    expect(ended.err).not.toMatch(/^\s+at .*:\d+/m);
  });

  it("finds fault with paths that are none", async () => {
    const paths = ["NaN", "1e400", "", "M0 0L40 NaN", "M0 0 L40 0 40 40 0 40 L1e308 1e308Z", "M0,0 A"];
    const drawings = paths.map((d, i) => [
      `p${i}.svg`,
      SQUARE.replace('<rect id="cut" width="40" height="40"', `<path id="cut" d="${d}"`),
    ]);
    const pieces = paths.map((_, i) => ({ ...PIECE, piece: `p${i}`, drawing: `p${i}.svg` }));
    const ended = await tried({ "kit.json": { ...KIT, pieces }, ...Object.fromEntries(drawings) });
    eachRefused(ended, Object.fromEntries(pieces.map(({ piece }) => [piece, /./])));
  });

  it("finds fault with orders and kits of every wrong form, each at its file", async () => {
    const orders = [
      "{",
      "[]",
      "null",
      '"kit"',
      '{"order": 7}',
      '{"order":"T","lines":[{"kit":"trial","quantity":-1}]}',
      '{"order":"T","lines":[{"kit":"trial","quantity":1e999}]}',
    ];
    const kits = [
      "{",
      "[1]",
      '{"kit":"k2","title":"x","pieces":[]}',
      '{"kit":"k3","title":"x","pieces":[{"piece":"a"}]}',
    ];
    const more = Object.fromEntries(orders.map((text, i) => [`o${i}.json`, text]));
    const ended = await tried(
      {},
      { ...ORDER, lines: kits.map((_, i) => ({ kit: `k${i}`, quantity: 1 })) },
      SHOP,
      Object.fromEntries([...Object.entries(more), ...kits.map((text, i) => [`kits/k${i}/kit.json`, text])]) as Record<
        string,
        string
      >,
    );
    refused(ended, /./, Object.keys(more));
    const errors = JSON.stringify(ended.found.filter((f) => f["level"] === "error").map((f) => f["where"]));
    for (const name of Object.keys(more)) expect(errors, more[name]).toContain(name);
    for (const i of kits.keys()) expect(errors, kits[i]).toContain(`"k${i}"`);
  });

  it("tells all faults in one answer", async () => {
    const ended = await tried(
      {
        "kit.json": {
          ...KIT,
          pieces: [
            { ...PIECE, stock: "vellum" },
            { ...PIECE, piece: "two", lines: { cutting: "#none" } },
            { ...PIECE, piece: "three", drawing: "missing.svg" },
          ],
        },
      },
      {
        ...ORDER,
        lines: [
          { kit: "trial", quantity: 2, texts: [{ boat: "A" }] },
          { kit: "unknown", quantity: 1 },
        ],
      },
    );
    refused(ended, /./);
    const about = new Set(ended.found.map((f) => (f["where"] as { piece?: string }).piece));
    expect(about).toEqual(new Set([...about, "tag", "two", "three"]));
    expect(JSON.stringify(ended.found)).toContain("unknown");
  });

  it("says wrong usage by exit 2, and files that are not there by exit 1", async () => {
    expect((await kitforme(["make"])).code).toBe(2);
    expect((await kitforme(["mend"])).code).toBe(2);
    expect(
      (await kitforme(["make", "--effort", "heroic", "--shop", SHOP, "--kits", ".", "--out", "o", ...DEMO_ORDERS]))
        .code,
    ).toBe(2);
    const ended = await kitforme(["check", "--shop", "nowhere/shop.json", "nowhere/order.json"]);
    expect(ended.code).toBe(1);
    expect(ended.out + ended.err).toContain("nowhere/order.json");
    expect((await kitforme(["--help"])).code).toBe(0);
  });
});
