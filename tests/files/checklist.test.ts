// The checker that every print PDF goes through before it leaves: one mutant a letter of the checklist of PDF/X-4 (ISO 15930-7
// as far as public sources give it; open validators agree), and of the house's own rules.
import { spawnSync } from "node:child_process";
import { writeFileSync } from "node:fs";
import { checkPrint, writePrint } from "@kitforme/files";
import { mm } from "@kitforme/geometry";
import { outputProfile } from "@kitforme/prepress";
import { PDFArray, PDFContext, PDFDict, PDFDocument, PDFName, PDFRawStream, PDFString, PDFWriter } from "pdf-lib";
import { beforeAll, describe, expect, it } from "vitest";
import { has, inFolder } from "../support/oracle.ts";
import { harbourSheet, press } from "../support/sheets.ts";

const SHEET = { width: mm(320), height: mm(450), pages: 1, condition: true };
/** Letters that a file breaks, each once, in order. */
const broken = async (bytes: Uint8Array): Promise<string> =>
  [...new Set((await checkPrint(bytes, SHEET)).map(({ letter }) => letter))].join(" ");

let good: Uint8Array;
beforeAll(async () => {
  good = await writePrint(await harbourSheet(), { title: "Harbour & sons <1>", profile: outputProfile(press()) });
});

type Change = (context: PDFContext, catalog: PDFDict, page: PDFDict, info: PDFDict) => void;

/** The good file with one thing changed, saved with the header it had. */
const spoiled = async (change: Change): Promise<Uint8Array> => {
  const document = await PDFDocument.load(good, { updateMetadata: false });
  const { context, catalog } = document;
  change(context, catalog, document.getPage(0).node, context.lookup(context.trailerInfo.Info, PDFDict));
  const bytes = await PDFWriter.forContext(context, Infinity).serializeToBuffer();
  bytes.set(good.subarray(0, 8));
  return bytes;
};

const n = PDFName.of;
const xmpWith =
  (from: string, to: string): Change =>
  (context, catalog) => {
    const old = catalog.lookup(n("Metadata"));
    if (!(old instanceof PDFRawStream)) throw new Error("no XMP to spoil");
    const text = new TextDecoder().decode(old.getContents());
    if (!text.includes(from)) throw new Error(`nothing to spoil: ${from}`);
    const bytes = new TextEncoder().encode(text.replace(from, to));
    old.dict.set(n("Length"), context.obj(bytes.length));
    catalog.set(n("Metadata"), context.register(PDFRawStream.of(old.dict, bytes)));
  };
const intentOf = (catalog: PDFDict): PDFDict => catalog.lookup(n("OutputIntents"), PDFArray).lookup(0, PDFDict);
const anImage = (context: PDFContext): PDFDict => {
  for (const [, o] of context.enumerateIndirectObjects())
    if (o instanceof PDFRawStream && o.dict.get(n("Subtype")) === n("Image")) return o.dict;
  throw new Error("no image to spoil");
};
/** One more program after what the page draws. */
const drawAlso = (context: PDFContext, page: PDFDict, program: string): void => {
  const own = page.get(n("Contents"));
  if (!own) throw new Error("no contents to go on from");
  page.set(n("Contents"), context.obj([own, context.register(context.stream(program))]));
};
const separation = (context: PDFContext, name: string, alternate: string) =>
  context.obj([n("Separation"), n(name), n(alternate), context.obj({ FunctionType: 2, Domain: [0, 1], N: 1 })]);
const layers = (context: PDFContext, d: Record<string, PDFDict | string | PDFString | PDFArray>) => {
  const group = context.register(context.obj({ Type: "OCG", Name: PDFString.of("Fog") }));
  return context.obj({ OCGs: [group], D: { Name: PDFString.of("All"), BaseState: "ON", Order: [group], ...d } });
};

/** One mutant per letter, and the checker flags exactly that letter. */
const MUTANTS: Readonly<Record<string, Change>> = {
  b: (context) => {
    context.trailerInfo.ID = context.obj([]);
  },
  c: xmpWith("<pdfxid:GTS_PDFXVersion>PDF/X-4<", "<pdfxid:GTS_PDFXVersion>PDF/X-3<"),
  d: (_c, _k, _p, info) => info.set(n("Title"), PDFString.of("another")),
  e: (_c, _k, _p, info) => info.set(n("Trapped"), n("Unknown")),
  f: (_c, _k, _p, info) => info.set(n("GTS_PDFXVersion"), PDFString.of("PDF/X-1a:2003")),
  g: (_c, catalog) => intentOf(catalog).delete(n("OutputConditionIdentifier")),
  h: (context, catalog) => {
    const profile = intentOf(catalog).lookup(n("DestOutputProfile"));
    if (profile instanceof PDFRawStream) profile.dict.set(n("N"), context.obj(3));
  },
  i: (context) => anImage(context).set(n("ColorSpace"), n("DeviceRGB")),
  j: (context) => anImage(context).set(n("ColorSpace"), n("DeviceNoise")),
  k: (context, _k, page) => {
    const font = context.obj({ Type: "Font", Subtype: "Type1", BaseFont: "Helvetica" });
    page.lookup(n("Resources"), PDFDict).set(n("Font"), context.obj({ AA: font }));
    drawAlso(context, page, "BT /AA 12 Tf (name) Tj ET");
  },
  l: (context) => {
    context.register(context.obj({ Type: "ExtGState", BM: "Glow" }));
  },
  m: (context, catalog) =>
    catalog.set(n("OpenAction"), context.obj({ S: "JavaScript", JS: PDFString.of("app.beep()") })),
  n: (context, _k, page) =>
    page
      .lookup(n("Resources"), PDFDict)
      .set(
        n("ColorSpace"),
        context.obj({ A: separation(context, "Gold", "DeviceCMYK"), B: separation(context, "Gold", "Lab") }),
      ),
  o: (context, _k, page) =>
    page
      .lookup(n("Resources"), PDFDict)
      .set(n("ColorSpace"), context.obj({ A: separation(context, "Gr#FCn", "DeviceCMYK") })),
  p: (context, catalog) =>
    catalog.set(n("OCProperties"), layers(context, { AS: context.obj([context.obj({ Event: "Print" })]) })),
  q: (context, catalog) => catalog.set(n("OCProperties"), layers(context, { BaseState: "OFF" })),
};

/** More ways to break a letter, each seen somewhere in the wild. */
const ALSO: readonly (readonly [letter: string, what: string, change: Change])[] = [
  ["i", "a red set by an operator", (context, _k, page) => drawAlso(context, page, "1 0 0 rg 0 0 5 5 re f")],
  [
    "i",
    "an inline picture in RGB",
    (context, _k, page) => drawAlso(context, page, "q BI /W 1 /H 1 /BPC 8 /CS /RGB ID abc EI Q"),
  ],
  [
    "l",
    "a page that blends in RGB",
    (context, _k, page) => page.set(n("Group"), context.obj({ S: "Transparency", CS: "DeviceRGB" })),
  ],
  [
    "m",
    "a transfer function",
    (context) => {
      context.register(context.obj({ Type: "ExtGState", TR: context.obj({ FunctionType: 2, Domain: [0, 1], N: 2 }) }));
    },
  ],
  [
    "m",
    "an annotation",
    (context, _k, page) =>
      page.set(n("Annots"), context.obj([context.obj({ Type: "Annot", Subtype: "Text", Rect: [0, 0, 9, 9] })])),
  ],
  ["m", "a content stream cut off in a string", (context, _k, page) => drawAlso(context, page, "(no end")],
  ["boxes", "a trim that is not the sheet", (context, _k, page) => page.set(n("TrimBox"), context.obj([9, 9, 99, 99]))],
  ["boxes", "a turned page", (context, _k, page) => page.set(n("Rotate"), context.obj(90))],
  [
    "steps",
    "a layer of lines to cut (ISO 19593-1)",
    (context) => {
      const metadata = { GTS_ProcStepsGroup: "Structural", GTS_ProcStepsType: "Cutting" };
      context.register(context.obj({ Type: "OCG", Name: PDFString.of("Cut"), GTS_Metadata: metadata }));
    },
  ],
];

/** What looks like a breach and is none: a false alarm would stop a shop's night. */
const SOUND: readonly (readonly [what: string, change: Change])[] = [
  [
    "a font that is declared and never used",
    (context, _k, page) => {
      const font = context.obj({ Type: "Font", Subtype: "Type1", BaseFont: "Helvetica" });
      page.lookup(n("Resources"), PDFDict).set(n("Font"), context.obj({ AA: font }));
    },
  ],
  [
    "a string that reads like an operator",
    (context, _k, page) => drawAlso(context, page, "/T << /A (1 0 0 rg) >> BDC EMC"),
  ],
  [
    "resources that bear forbidden keys as names",
    (context, _k, page) => {
      const resources = page.lookup(n("Resources"), PDFDict);
      resources.set(n("Properties"), context.obj({ AA: context.obj({}), JS: context.obj({}), TR: context.obj({}) }));
    },
  ],
  [
    "a soft mask with a transfer function of its own",
    (context) => {
      context.register(
        context.obj({ Type: "Mask", S: "Luminosity", TR: context.obj({ FunctionType: 2, Domain: [0, 1], N: 1 }) }),
      );
    },
  ],
  [
    "one ink described twice in the same words",
    (context, _k, page) => {
      const twice = {
        A: context.register(separation(context, "Gold", "DeviceCMYK")),
        B: separation(context, "Gold", "DeviceCMYK"),
      };
      page.lookup(n("Resources"), PDFDict).set(n("ColorSpace"), context.obj(twice));
    },
  ],
  [
    "a stencil without a colour space",
    (context) => {
      context.register(
        context.stream("x", { Type: "XObject", Subtype: "Image", ImageMask: true, Width: 8, Height: 1 }),
      );
    },
  ],
];

describe("the checklist of PDF/X-4", () => {
  it("finds nothing amiss in a print PDF", async () => {
    expect(await broken(good)).toBe("");
  });

  it("has a mutant for every letter", () => {
    expect(["a", ...Object.keys(MUTANTS)].join("")).toBe("abcdefghijklmnopq");
  });

  it("a: another version in the header is found", async () => {
    const other = Uint8Array.from(good);
    other.set(Buffer.from("%PDF-1.7"));
    expect(await broken(other)).toBe("a");
  });

  it.each(Object.entries(MUTANTS))("%s: its mutant is found, and nothing else", async (letter, change) => {
    expect(await broken(await spoiled(change))).toBe(letter);
  });

  it.each(ALSO)("%s: %s is found", async (letter, _what, change) => {
    expect(await broken(await spoiled(change))).toBe(letter);
  });

  it.each(SOUND)("%s is no breach", async (_what, change) => {
    expect(await broken(await spoiled(change))).toBe("");
  });

  it("asks for the pages that the sheet has, and finds a file cut short", async () => {
    const letters = async (bytes: Uint8Array, more: object) =>
      (await checkPrint(bytes, { ...SHEET, ...more })).map(({ letter }) => letter);
    expect(await letters(good, { pages: 2 })).toEqual(["pages"]);
    expect(new Set(await letters(good, { width: mm(321) }))).toEqual(new Set(["boxes"]));
    expect((await letters(good.subarray(0, good.length / 2), {})).length).toBeGreaterThan(0);
  });

  it("says nothing of PDF/X without a printing condition", async () => {
    const bytes = await writePrint(await harbourSheet(), { title: "none", profile: null });
    expect(Buffer.from(bytes).includes("GTS_PDFX")).toBe(false);
  });
});

describe.runIf(has("qpdf"))("the checklist, read by another reader (oracle: qpdf --json)", () => {
  type Json = null | boolean | number | string | readonly Json[] | { readonly [key: string]: Json };
  interface Seen {
    readonly version: string;
    readonly trailer: { readonly [key: string]: Json };
    /** Every dictionary of the file, those within others too. */
    readonly dicts: readonly { readonly [key: string]: Json }[];
    /** Every array and every name. */
    readonly arrays: readonly (readonly Json[])[];
    readonly names: readonly string[];
    readonly at: (ref: Json | undefined) => { readonly [key: string]: Json };
    readonly bytesAt: (ref: Json | undefined) => Buffer;
  }
  const isDict = (value: Json | undefined): value is { readonly [key: string]: Json } =>
    typeof value === "object" && value !== null && !Array.isArray(value);
  const word = (value: Json | undefined): string => (typeof value === "string" ? value : "");
  const see = (bytes: Uint8Array): Seen =>
    inFolder((at) => {
      writeFileSync(at("in.pdf"), bytes);
      const args = ["--json=2", "--json-stream-data=inline", "--decode-level=generalized", at("in.pdf")];
      const said = spawnSync("qpdf", args, { encoding: "utf8", maxBuffer: 2 ** 29 }).stdout;
      const [head, objects] = (JSON.parse(said) as { qpdf: [{ pdfversion: string }, { [key: string]: Json }] }).qpdf;
      const whole = (key: string): { readonly [key: string]: Json } => {
        const one = objects[key];
        return isDict(one) ? one : {};
      };
      const dicts: { readonly [key: string]: Json }[] = [];
      const arrays: (readonly Json[])[] = [];
      const names: string[] = [];
      const walk = (value: Json): void => {
        if (typeof value === "string" && /^(n:)?\//.test(value)) names.push(value);
        else if (Array.isArray(value)) {
          arrays.push(value as readonly Json[]);
          (value as readonly Json[]).forEach(walk);
        } else if (isDict(value)) {
          dicts.push(value);
          Object.values(value).forEach(walk);
        }
      };
      for (const one of Object.values(objects)) {
        if (!isDict(one)) continue;
        const { stream, value } = one;
        walk(isDict(stream) ? (stream["dict"] ?? null) : (value ?? null));
      }
      const bodyOf = (ref: Json | undefined) => whole(`obj:${word(ref)}`);
      return {
        version: head.pdfversion,
        trailer: isDict(whole("trailer")["value"]) ? (whole("trailer")["value"] as { [key: string]: Json }) : {},
        dicts,
        arrays,
        names,
        at: (ref) => {
          if (isDict(ref)) return ref;
          const { stream, value } = bodyOf(ref);
          const found = isDict(stream) ? stream["dict"] : value;
          return isDict(found) ? found : {};
        },
        bytesAt: (ref) => {
          const { stream } = bodyOf(ref);
          return Buffer.from(isDict(stream) ? word(stream["data"]) : "", "base64");
        },
      };
    });
  const catalogOf = ({ at, trailer }: Seen) => at(trailer["/Root"]);
  const xmpOf = (seen: Seen): string => seen.bytesAt(catalogOf(seen)["/Metadata"]).toString("utf8");
  const infoOf = ({ at, trailer }: Seen) => at(trailer["/Info"]);
  const intentIn = (seen: Seen) => {
    const intents = catalogOf(seen)["/OutputIntents"];
    return seen.at(Array.isArray(intents) ? (intents as readonly Json[])[0] : undefined);
  };
  const images = ({ dicts }: Seen) => dicts.filter((one) => one["/Subtype"] === "/Image");
  const spotsIn = ({ arrays }: Seen) => arrays.filter(([kind]) => kind === "/Separation");
  const layersOf = (seen: Seen) => seen.at(seen.at(catalogOf(seen)["/OCProperties"])["/D"]);
  const SPACES = /^\/(DeviceGray|DeviceCMYK|DeviceRGB|Indexed|ICCBased|CalGray|CalRGB|Lab|Separation|DeviceN|Pattern)$/;
  const BLENDS =
    /^\/(Normal|Compatible|Multiply|Screen|Overlay|Darken|Lighten|ColorDodge|ColorBurn|HardLight|SoftLight|Difference|Exclusion|Hue|Saturation|Color|Luminosity)$/;
  /** What each letter asks for, as far as one mutant goes. */
  const KEPT: Readonly<Record<string, (seen: Seen) => boolean>> = {
    b: ({ trailer }) => Array.isArray(trailer["/ID"]) && (trailer["/ID"] as readonly Json[]).length === 2,
    c: (seen) => xmpOf(seen).includes("<pdfxid:GTS_PDFXVersion>PDF/X-4<"),
    d: (seen) => infoOf(seen)["/Title"] === "u:Harbour & sons <1>" && xmpOf(seen).includes("Harbour &amp; sons &lt;1"),
    e: (seen) => ["/True", "/False"].includes(word(infoOf(seen)["/Trapped"])),
    f: (seen) => [undefined, "u:PDF/X-4"].includes(infoOf(seen)["/GTS_PDFXVersion"] as string | undefined),
    g: (seen) =>
      intentIn(seen)["/S"] === "/GTS_PDFX" && typeof intentIn(seen)["/OutputConditionIdentifier"] === "string",
    h: (seen) => {
      const profile = intentIn(seen)["/DestOutputProfile"];
      return seen.at(profile)["/N"] === 4 && seen.bytesAt(profile).toString("latin1", 12, 20) === "prtrCMYK";
    },
    i: (seen) => images(seen).every((one) => one["/ColorSpace"] !== "/DeviceRGB"),
    j: (seen) =>
      images(seen).every(({ "/ColorSpace": space = null, "/ImageMask": stencil }) => {
        const kind = Array.isArray(space) ? (space as readonly Json[])[0] : space;
        return stencil === true || (typeof kind === "string" && (SPACES.test(kind) || kind.endsWith(" R")));
      }),
    k: ({ dicts }) => dicts.every((one) => one["/Type"] !== "/Font"),
    l: ({ dicts }) => dicts.every((one) => one["/BM"] === undefined || BLENDS.test(word(one["/BM"]))),
    m: (seen) => catalogOf(seen)["/OpenAction"] === undefined && seen.dicts.every((one) => one["/JS"] === undefined),
    n: (seen) => {
      const first = new Map<Json | undefined, string>();
      return spotsIn(seen).every(([, spot, alternate]) => {
        const before = first.get(spot) ?? JSON.stringify(alternate);
        first.set(spot, before);
        return before === JSON.stringify(alternate);
      });
    },
    // Names that are no UTF-8: newer versions of qpdf mark them, older ones write their bytes, which are no text.
    o: ({ names }) => names.every((one) => !one.startsWith("n:") && !one.includes("\uFFFD")),
    p: (seen) => layersOf(seen)["/AS"] === undefined,
    q: (seen) => layersOf(seen)["/BaseState"] !== "/OFF",
  };

  it("a: is of version 1.6", () => {
    expect(see(good).version).toBe("1.6");
  });

  it.each(Object.entries(MUTANTS))("%s: is kept, and its mutant is seen", async (letter, change) => {
    const kept = KEPT[letter];
    expect(kept?.(see(good))).toBe(true);
    expect(kept?.(see(await spoiled(change)))).toBe(false);
  });
});
