// The checklist of PDF/X-4 as far as public sources give it (letters a to q: ISO 15930-7 second-hand,
// open validators agree; the standard's own text was not seen). Reads bytes, never the writer's state.
import {
  decodePDFRawStream,
  PDFArray,
  PDFDict,
  PDFDocument,
  PDFHexString,
  PDFName,
  type PDFObject,
  PDFRawStream,
  PDFRef,
  PDFString,
} from "pdf-lib";
import { SaxesParser } from "saxes";

/** Letters of the list that a file breaks, in order. */
export const broken = async (bytes: Uint8Array): Promise<string> => {
  const file = await read(bytes);
  return CHECKS.filter(([, holds]) => !holds(file))
    .map(([letter]) => letter)
    .join("");
};

interface File {
  readonly bytes: Uint8Array;
  readonly document: PDFDocument;
  readonly info: PDFDict;
  readonly catalog: PDFDict;
  readonly page: PDFDict;
  /** Every dictionary of the file, streams' own among them. */
  readonly dicts: readonly PDFDict[];
  readonly streams: readonly { readonly dict: PDFDict; readonly text: string }[];
  /** Text of XMP elements by their namespace and local name. */
  readonly xmp: ReadonlyMap<string, string>;
  readonly metadata: PDFRawStream | undefined;
}

const n = PDFName.of;
const dictAt = (dict: PDFDict, key: string): PDFDict | undefined => {
  const value = dict.lookup(n(key));
  return value instanceof PDFRawStream ? value.dict : value instanceof PDFDict ? value : undefined;
};
const nameAt = (dict: PDFDict, key: string): string | undefined => {
  const value = dict.lookup(n(key));
  return value instanceof PDFName ? value.asString() : undefined;
};
const textAt = (dict: PDFDict, key: string): string | undefined => {
  const value = dict.lookup(n(key));
  return value instanceof PDFString || value instanceof PDFHexString ? value.decodeText() : undefined;
};

const read = async (bytes: Uint8Array): Promise<File> => {
  const document = await PDFDocument.load(bytes, { updateMetadata: false, ignoreEncryption: true });
  const dicts: PDFDict[] = [];
  const streams: { dict: PDFDict; text: string }[] = [];
  const walk = (object: PDFObject): void => {
    if (object instanceof PDFDict) {
      dicts.push(object);
      for (const [, value] of object.entries()) walk(value);
    } else if (object instanceof PDFArray) for (const value of object.asArray()) walk(value);
    else if (object instanceof PDFRawStream) {
      walk(object.dict);
      const filter = nameAt(object.dict, "Filter");
      const programs = nameAt(object.dict, "Subtype") !== "/Image" && !object.dict.has(n("N"));
      if (programs && (filter === undefined || filter === "/FlateDecode"))
        streams.push({ dict: object.dict, text: Buffer.from(decodePDFRawStream(object).decode()).toString("latin1") });
    }
  };
  for (const [, object] of document.context.enumerateIndirectObjects()) walk(object);
  const metadata = document.catalog.lookup(n("Metadata"));
  const info = document.context.lookup(document.context.trailerInfo.Info);
  return {
    bytes,
    document,
    info: info instanceof PDFDict ? info : document.context.obj({}),
    catalog: document.catalog,
    page: document.getPage(0).node,
    dicts,
    streams,
    metadata: metadata instanceof PDFRawStream ? metadata : undefined,
    xmp: metadata instanceof PDFRawStream ? readXmp(metadata.getContents()) : new Map(),
  };
};

const readXmp = (bytes: Uint8Array): Map<string, string> => {
  const parser = new SaxesParser({ xmlns: true });
  const found = new Map<string, string>();
  const open: string[] = [];
  parser.on("opentag", (tag) => open.push(`${tag.uri}${tag.local}`));
  parser.on("closetag", () => open.pop());
  parser.on("text", (text) => {
    const property = open[3];
    if (property && text.trim() !== "") found.set(property, text.trim());
  });
  parser.on("error", (error) => {
    throw error;
  });
  parser.write(new TextDecoder().decode(bytes)).close();
  return found;
};

const XMP = {
  version: "http://www.npes.org/pdfx/ns/id/GTS_PDFXVersion",
  title: "http://purl.org/dc/elements/1.1/title",
  created: "http://ns.adobe.com/xap/1.0/CreateDate",
  modified: "http://ns.adobe.com/xap/1.0/ModifyDate",
  described: "http://ns.adobe.com/xap/1.0/MetadataDate",
  document: "http://ns.adobe.com/xap/1.0/mm/DocumentID",
  revision: "http://ns.adobe.com/xap/1.0/mm/VersionID",
  rendition: "http://ns.adobe.com/xap/1.0/mm/RenditionClass",
  trapped: "http://ns.adobe.com/pdf/1.3/Trapped",
} as const;

/** `D:20000101000000+00'00'` and `2000-01-01T00:00:00+00:00` as the moment they name. */
const moment = (date: string | undefined): number =>
  Date.parse(
    (date ?? "").replace(/^D:(\d{4})(\d\d)(\d\d)(\d\d)(\d\d)(\d\d)([+-]\d\d)'(\d\d)'?$/, "$1-$2-$3T$4:$5:$6$7:$8"),
  );

const intents = (f: File): PDFDict[] => {
  const array = f.catalog.lookup(n("OutputIntents"));
  if (!(array instanceof PDFArray)) return [];
  return array
    .asArray()
    .map((o) => f.document.context.lookup(o))
    .filter((o): o is PDFDict => o instanceof PDFDict && nameAt(o, "S") === "/GTS_PDFX");
};

const profileOf = (f: File): { header: string; channels: number } | undefined => {
  const stream = intents(f)[0]?.lookup(n("DestOutputProfile"));
  if (!(stream instanceof PDFRawStream)) return undefined;
  const header = Buffer.from(decodePDFRawStream(stream).decode().subarray(0, 40)).toString("latin1");
  return { header, channels: Number(stream.dict.lookup(n("N"))?.toString()) };
};

const CHANNELS: Readonly<Record<string, number>> = { GRAY: 1, "RGB ": 3, CMYK: 4 };

/** Names of colour spaces that a content stream or a resource uses. */
const usesDeviceRgb = (f: File): boolean =>
  f.streams.some((s) => / (rg|RG)\s/.test(` ${s.text} `)) ||
  f.dicts.some((d) => nameAt(d, "ColorSpace") === "/DeviceRGB" || nameAt(d, "CS") === "/DeviceRGB");
const usesDeviceCmyk = (f: File): boolean =>
  f.streams.some((s) => / (k|K)\s/.test(` ${s.text} `)) ||
  f.dicts.some((d) => nameAt(d, "ColorSpace") === "/DeviceCMYK");

const arraysOf = (f: File): PDFArray[] =>
  f.dicts.flatMap((d) =>
    d
      .values()
      .map((v) => (v instanceof PDFRef ? f.document.context.lookup(v) : v))
      .filter((v): v is PDFArray => v instanceof PDFArray),
  );
const headOf = (array: PDFArray): string | undefined => {
  const head = array.size() > 0 ? array.get(0) : undefined;
  return head instanceof PDFName ? head.asString() : undefined;
};
const colorants = (f: File): PDFArray[] => arraysOf(f).filter((a) => headOf(a) === "/Separation");

const SPACES = ["ICCBased", "CalRGB", "CalGray", "Lab", "Separation", "DeviceN", "Indexed", "Pattern"].map(
  (s) => `/${s}`,
);
const DEVICE = ["/DeviceGray", "/DeviceRGB", "/DeviceCMYK"];

const FORBIDDEN_KEYS = ["JS", "AA", "OPI", "TR", "TR2", "HTP", "Ref", "XFA", "SeparationInfo", "EncryptMetadata"];

const optional = (f: File): PDFDict | undefined => dictAt(f.catalog, "OCProperties");
const config = (f: File): PDFDict | undefined => {
  const properties = optional(f);
  return properties && dictAt(properties, "D");
};

/** One function a letter. */
const CHECKS: readonly (readonly [letter: string, holds: (file: File) => boolean])[] = [
  ["a", (f) => Buffer.from(f.bytes.subarray(0, 8)).toString("latin1") === "%PDF-1.6"],
  [
    "b",
    ({ document: { context } }) => {
      const id = context.trailerInfo.ID;
      const strings = id instanceof PDFArray ? id.asArray() : [];
      const enough = strings.filter((s) => s instanceof PDFHexString && s.asBytes().length === 16).length === 2;
      return enough && context.trailerInfo.Encrypt === undefined;
    },
  ],
  ["c", (f) => f.xmp.get(XMP.version) === "PDF/X-4" && f.metadata?.dict.has(n("Filter")) === false],
  [
    "d",
    (f) =>
      Object.values(XMP).every((p) => p === XMP.version || p === XMP.trapped || f.xmp.has(p)) &&
      textAt(f.info, "Title") === f.xmp.get(XMP.title) &&
      moment(textAt(f.info, "CreationDate")) === moment(f.xmp.get(XMP.created)) &&
      moment(textAt(f.info, "ModDate")) === moment(f.xmp.get(XMP.modified)),
  ],
  [
    "e",
    (f) =>
      ["/True", "/False"].includes(nameAt(f.info, "Trapped") ?? "") &&
      `/${f.xmp.get(XMP.trapped)}` === nameAt(f.info, "Trapped"),
  ],
  ["f", (f) => [undefined, "PDF/X-4"].includes(textAt(f.info, "GTS_PDFXVersion"))],
  [
    "g",
    (f) => {
      const [intent, ...more] = intents(f);
      return (
        intent !== undefined &&
        more.length === 0 &&
        !!textAt(intent, "OutputConditionIdentifier") &&
        !!textAt(intent, "Info")
      );
    },
  ],
  [
    "h",
    (f) => {
      const profile = profileOf(f);
      return profile?.header.slice(12, 16) === "prtr" && CHANNELS[profile.header.slice(16, 20)] === profile.channels;
    },
  ],
  [
    "i",
    (f) => {
      const channels = CHANNELS[profileOf(f)?.header.slice(16, 20) ?? ""];
      return !(usesDeviceRgb(f) && channels !== 3) && !(usesDeviceCmyk(f) && channels !== 4);
    },
  ],
  [
    "j",
    (f) =>
      f.dicts
        .filter((d) => nameAt(d, "Subtype") === "/Image")
        .every((d) => {
          const space = d.lookup(n("ColorSpace"));
          if (space instanceof PDFName) return DEVICE.includes(space.asString());
          return space instanceof PDFArray && SPACES.includes(headOf(space) ?? "");
        }),
  ],
  [
    "k",
    (f) =>
      f.dicts
        .filter(
          (d) =>
            nameAt(d, "Type") === "/Font" && nameAt(d, "Subtype") !== "/Type0" && nameAt(d, "Subtype") !== "/Type3",
        )
        .every((d) => ["FontFile", "FontFile2", "FontFile3"].some((key) => dictAt(d, "FontDescriptor")?.has(n(key)))),
  ],
  [
    "l",
    (f) =>
      f.dicts.every((d) =>
        [
          undefined,
          "/Normal",
          "/Compatible",
          "/Multiply",
          "/Screen",
          "/Overlay",
          "/Darken",
          "/Lighten",
          "/ColorDodge",
          "/ColorBurn",
          "/HardLight",
          "/SoftLight",
          "/Difference",
          "/Exclusion",
          "/Hue",
          "/Saturation",
          "/Color",
          "/Luminosity",
        ].includes(nameAt(d, "BM")),
      ) &&
      [undefined, "/DeviceCMYK"].includes(dictAt(f.page, "Group") && nameAt(dictAt(f.page, "Group") as PDFDict, "CS")),
  ],
  [
    "m",
    (f) =>
      f.dicts.every(
        (d) =>
          FORBIDDEN_KEYS.every((key) => !d.has(n(key))) &&
          !["/JavaScript", "/Launch"].includes(nameAt(d, "S") ?? "") &&
          !(nameAt(d, "Subtype") === "/PS") &&
          !(d.lookup(n("Filter"))?.toString() ?? "").includes("LZWDecode"),
      ) && !f.page.has(n("Annots")),
  ],
  [
    "n",
    (f) => {
      const byName = new Map<string, Set<string>>();
      for (const array of colorants(f)) {
        const name = array.get(1).toString();
        const rest = [array.get(2), array.get(3)].map((o) =>
          String(o instanceof PDFRef ? f.document.context.lookup(o) : o),
        );
        byName.set(name, (byName.get(name) ?? new Set()).add(rest.join(" ")));
      }
      return [...byName.values()].every((ways) => ways.size === 1);
    },
  ],
  [
    "o",
    (f) =>
      colorants(f).every((array) => {
        const raw = (array.get(1) as PDFName).asString().slice(1);
        const bytes = Uint8Array.from(
          raw.replace(/#([0-9a-fA-F]{2})/g, (_, hex: string) => String.fromCharCode(Number.parseInt(hex, 16))),
          (c) => c.charCodeAt(0),
        );
        try {
          new TextDecoder("utf-8", { fatal: true }).decode(bytes);
          return true;
        } catch {
          return false;
        }
      }),
  ],
  [
    "p",
    (f) =>
      f.dicts.every((d) => !d.has(n("AS")) || nameAt(d, "Type") === "/Annot") &&
      (!optional(f) || !!textAt(config(f) as PDFDict, "Name")),
  ],
  [
    "q",
    (f) => {
      const groups = optional(f)?.lookup(n("OCGs"));
      if (!(groups instanceof PDFArray)) return true;
      const order = config(f)?.lookup(n("Order"));
      const base = nameAt(config(f) as PDFDict, "BaseState");
      return base === "/ON" && order instanceof PDFArray && groups.asArray().every((g) => order.asArray().includes(g));
    },
  ],
];

export const LETTERS = CHECKS.map(([letter]) => letter);
