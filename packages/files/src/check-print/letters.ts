// The checklist, a letter after the other: one list that is read beside the standard.
import { decodePDFRawStream, PDFArray, PDFDict, PDFHexString, PDFName, PDFRawStream } from "../pdf-lib.ts";
import { colours } from "./colours.ts";
import type { Fault } from "./fault.ts";
import { sameInk } from "./same-ink.ts";
import { dictAt, nameAt, name, type PrintFile, textAt } from "./read-print.ts";

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

const intentsOf = ({ catalog, document }: PrintFile): PDFDict[] => {
  const array = catalog.lookup(name("OutputIntents"));
  if (!(array instanceof PDFArray)) return [];
  return array
    .asArray()
    .map((one) => document.context.lookup(one))
    .filter((one): one is PDFDict => one instanceof PDFDict && nameAt(one, "S") === "/GTS_PDFX");
};

const CHANNELS: Readonly<Record<string, number>> = { GRAY: 1, "RGB ": 3, CMYK: 4 };

/** The profile of the output intent: its class, its space, the channels that the file says it has. */
const profileOf = (
  file: PrintFile,
): { readonly kind: string; readonly space: string; readonly n: number } | undefined => {
  const stream = intentsOf(file)[0]?.lookup(name("DestOutputProfile"));
  if (!(stream instanceof PDFRawStream)) return undefined;
  // ICC.1: device class in bytes 12 to 15 of the header, colour space in 16 to 19.
  const header = Buffer.from(decodePDFRawStream(stream).decode().subarray(0, 40)).toString("latin1");
  return {
    kind: header.slice(12, 16),
    space: header.slice(16, 20),
    n: Number(stream.dict.lookup(name("N"))?.toString()),
  };
};

/** Colour channels of the printing condition; undefined when there is none. */
const channelsOf = (file: PrintFile): number | undefined => CHANNELS[profileOf(file)?.space ?? ""];

const SPACES = ["ICCBased", "CalRGB", "CalGray", "Lab", "Separation", "DeviceN", "Indexed", "Pattern"].map(
  (s) => `/${s}`,
);
const DEVICE = ["/DeviceGray", "/DeviceRGB", "/DeviceCMYK"];
const BLENDING: Readonly<Record<number, string>> = { 1: "/DeviceGray", 3: "/DeviceRGB", 4: "/DeviceCMYK" };
const BLENDS = new Set(
  (
    "Normal Compatible Multiply Screen Overlay Darken Lighten ColorDodge ColorBurn HardLight SoftLight Difference " +
    "Exclusion Hue Saturation Color Luminosity"
  )
    .split(" ")
    .map((mode) => `/${mode}`),
);

const FORBIDDEN = ["JS", "AA", "OPI", "HTP", "XFA", "SeparationInfo"];

const headOf = (array: PDFArray): string | undefined => {
  const head = array.size() > 0 ? array.get(0) : undefined;
  return head instanceof PDFName ? head.asString() : undefined;
};

/** The optional-content dictionary and its configurations. */
const layersOf = ({ catalog, document }: PrintFile) => {
  const properties = dictAt(catalog, "OCProperties");
  const main = dictAt(properties, "D");
  const others = properties?.lookup(name("Configs"));
  const configs = [
    ...(main ? [main] : []),
    ...(others instanceof PDFArray ? others.asArray().map((one) => document.context.lookup(one)) : []),
  ].filter((one): one is PDFDict => one instanceof PDFDict);
  return { properties, main, configs };
};

const when = (broken: boolean, says: string): Fault[] => (broken ? [{ says }] : []);

/** Every letter that speaks of PDF/X only: asked where the file has, or should have, a printing condition. */
export const OF_PDFX: readonly (readonly [letter: string, faults: (file: PrintFile) => readonly Fault[]])[] = [
  [
    "a",
    ({ bytes }) =>
      when(Buffer.from(bytes.subarray(0, 8)).toString("latin1") !== "%PDF-1.6", "The header is not %PDF-1.6."),
  ],
  [
    "c",
    ({ xmp, metadata }) => [
      ...when(xmp.get(XMP.version) !== "PDF/X-4", "The XMP does not say PDF/X-4."),
      ...when(metadata?.dict.has(name("Filter")) !== false, "The XMP is missing, or packed."),
    ],
  ],
  [
    "d",
    ({ xmp, info }) => [
      ...Object.values(XMP).flatMap((property) =>
        when(property !== XMP.version && property !== XMP.trapped && !xmp.has(property), `The XMP has no ${property}.`),
      ),
      ...when(textAt(info, "Title") !== xmp.get(XMP.title), "The title differs between Info and XMP."),
      ...when(
        moment(textAt(info, "CreationDate")) !== moment(xmp.get(XMP.created)),
        "The date of creation differs between Info and XMP.",
      ),
      ...when(
        moment(textAt(info, "ModDate")) !== moment(xmp.get(XMP.modified)),
        "The date of change differs between Info and XMP.",
      ),
    ],
  ],
  [
    "e",
    ({ xmp, info }) => {
      const trapped = nameAt(info, "Trapped") ?? "";
      return when(
        !["/True", "/False"].includes(trapped) || `/${xmp.get(XMP.trapped)}` !== trapped,
        "Trapped is not said alike in Info and XMP.",
      );
    },
  ],
  [
    "f",
    ({ info }) =>
      when(![undefined, "PDF/X-4"].includes(textAt(info, "GTS_PDFXVersion")), "Info names another version of PDF/X."),
  ],
  [
    "g",
    (file) => {
      const [intent, ...more] = intentsOf(file);
      if (!intent || more.length > 0) return [{ says: "There is not exactly one output intent of PDF/X." }];
      return when(
        !textAt(intent, "OutputConditionIdentifier") || !textAt(intent, "Info"),
        "The output intent does not name its condition.",
      );
    },
  ],
  [
    "h",
    (file) => {
      const profile = profileOf(file);
      return when(
        profile?.kind !== "prtr" || CHANNELS[profile.space] !== profile.n,
        "The output intent has no output profile of its own number of channels.",
      );
    },
  ],
  ["i", (file) => colours(file, channelsOf(file))],
  [
    "l",
    (file) =>
      file.pages.flatMap((page) => {
        const group = dictAt(page, "Group");
        const space = group && nameAt(group, "CS");
        return when(
          space !== undefined && space !== BLENDING[channelsOf(file) ?? 0],
          `The page blends in ${space}, which is not the space of the printing condition.`,
        );
      }),
  ],
  [
    "n",
    (file) =>
      sameInk(
        file.arrays.filter(({ array }) => headOf(array) === "/Separation"),
        file.document.context,
      ),
  ],
];

/** Letters that every print PDF keeps, with a printing condition or without. */
export const OF_ALL: readonly (readonly [letter: string, faults: (file: PrintFile) => readonly Fault[]])[] = [
  [
    "b",
    ({ document: { context } }) => {
      const id = context.trailerInfo.ID;
      const strings = id instanceof PDFArray ? id.asArray() : [];
      const enough = strings.filter((s) => s instanceof PDFHexString && s.asBytes().length === 16).length === 2;
      return [
        ...when(!enough, "The trailer has no /ID of two strings."),
        ...when(context.trailerInfo.Encrypt !== undefined, "The file is encrypted."),
      ];
    },
  ],
  [
    "j",
    ({ dicts }) =>
      dicts.flatMap(({ dict, object, stream }) => {
        if (!stream || nameAt(dict, "Subtype") !== "/Image") return [];
        const space = dict.lookup(name("ColorSpace"));
        // A stencil is painted in the colour of the moment, and a JPEG 2000 picture carries its own space.
        if (space === undefined)
          return dict.lookup(name("ImageMask"))?.toString() === "true" || nameAt(dict, "Filter") === "/JPXDecode"
            ? []
            : [{ says: "A picture has no colour space.", object }];
        const known =
          space instanceof PDFName
            ? DEVICE.includes(space.asString())
            : space instanceof PDFArray && SPACES.includes(headOf(space) ?? "");
        return known ? [] : [{ says: `A picture is in a colour space that PDF/X does not know.`, object }];
      }),
  ],
  [
    "k",
    (file) =>
      file.programs.flatMap(({ operations, resources, object }) => {
        const used = new Set(
          operations.flatMap(({ operator, operands }) => (operator === "Tf" ? [String(operands.at(-2))] : [])),
        );
        return [...used].flatMap((font) => {
          const dict = dictAt(dictAt(resources, "Font"), font.slice(1));
          return dict && embedded(dict)
            ? []
            : [{ says: `The font ${font.slice(1)} is used and not embedded.`, object }];
        });
      }),
  ],
  [
    "l",
    ({ dicts, document }) =>
      dicts.flatMap(({ dict, object }) => {
        const mode = dict.lookup(name("BM"));
        const modes = mode instanceof PDFArray ? mode.asArray().map((one) => document.context.lookup(one)) : [mode];
        return modes.flatMap((one) =>
          one instanceof PDFName && !BLENDS.has(one.asString())
            ? [{ says: `${one.asString()} is no standard blend mode.`, object }]
            : [],
        );
      }),
  ],
  [
    "m",
    ({ dicts, pages }) => [
      ...pages.flatMap((page) => when(page.has(name("Annots")), "A page has annotations.")),
      ...dicts.flatMap(({ dict, object, stream }) => {
        const type = nameAt(dict, "Subtype");
        const action = nameAt(dict, "S") ?? "";
        const mask = ["/Alpha", "/Luminosity"].includes(action);
        const transfer = ["TR", "TR2"].some((key) => {
          const value = dict.get(name(key));
          return value !== undefined && !mask && !["/Identity", "/Default"].includes(value.toString());
        });
        const wrong = [
          ...FORBIDDEN.filter((key) => dict.has(name(key))),
          ...(["/JavaScript", "/Launch"].includes(action) ? [action] : []),
          ...(type === "/PS" ? ["PostScript"] : []),
          ...(stream && type === "/Form" && dict.has(name("Ref")) ? ["Ref"] : []),
          ...(stream && dict.has(name("F")) ? ["F"] : []),
          ...(transfer ? ["TR"] : []),
          ...((dict.lookup(name("Filter"))?.toString() ?? "").includes("LZWDecode") ? ["LZWDecode"] : []),
        ];
        return wrong.map((key) => ({ says: `${key.replace("/", "")} is not allowed.`, object }));
      }),
    ],
  ],
  [
    "o",
    ({ arrays }) =>
      arrays.flatMap(({ array, object }) => {
        if (headOf(array) !== "/Separation") return [];
        const ink = array.get(1);
        return ink instanceof PDFName && isUtf8(ink) ? [] : [{ says: "The name of an ink is not UTF-8.", object }];
      }),
  ],
  [
    "p",
    (file) => {
      const { main, configs } = layersOf(file);
      return [
        ...configs.flatMap((config) => when(config.has(name("AS")), "Layers are switched by event (/AS).")),
        ...when(main !== undefined && !textAt(main, "Name"), "The layers' configuration has no name."),
      ];
    },
  ],
  [
    "q",
    (file) => {
      const { properties, main } = layersOf(file);
      const groups = properties?.lookup(name("OCGs"));
      if (!(groups instanceof PDFArray)) return [];
      const order = main?.lookup(name("Order"));
      const listed = order instanceof PDFArray ? order.asArray() : [];
      return [
        ...when(!main || nameAt(main, "BaseState") !== "/ON", "Layers are not on by default."),
        ...when(!groups.asArray().every((one) => listed.includes(one)), "A layer is missing in the order of layers."),
      ];
    },
  ],
];

/** Type 3 fonts are drawn by the file itself; of composite fonts the descendant carries the file. */
const embedded = (font: PDFDict): boolean => {
  if (nameAt(font, "Subtype") === "/Type3") return true;
  const below = font.lookup(name("DescendantFonts"));
  const first = below instanceof PDFArray ? below.lookup(0) : undefined;
  const descriptor = dictAt(first instanceof PDFDict ? first : font, "FontDescriptor");
  return ["FontFile", "FontFile2", "FontFile3"].some((key) => descriptor?.has(name(key)));
};

const isUtf8 = (ink: PDFName): boolean => {
  const raw = ink.asString().slice(1);
  const text = raw.replace(/#([0-9a-fA-F]{2})/g, (_, hex: string) => String.fromCharCode(Number.parseInt(hex, 16)));
  try {
    new TextDecoder("utf-8", { fatal: true }).decode(Uint8Array.from(text, (c) => c.charCodeAt(0)));
    return true;
  } catch {
    return false;
  }
};
