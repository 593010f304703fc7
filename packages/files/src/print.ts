// One sheet to its print PDF, in the order in which the file is built: resources, layers, pages, dictionaries.
import { createHash } from "node:crypto";
import { type Matrix, multiply } from "@kitforme/geometry";
import type { Press } from "@kitforme/kit";
import { BLACK, type Layer, type SetPicture, type SetText } from "@kitforme/prepress";
import type { Sheet, SheetInk } from "@kitforme/sheet";
import { PDFContext, PDFName, type PDFObject, type PDFRef, PDFString } from "./pdf-lib.ts";
import { decimal } from "./decimal.ts";
import { filling, markPath, operands, pathOperators, placing, pt, ring } from "./pdf/content.ts";
import { type Condition, identify, isOutputProfile, outputIntent, serialise } from "./pdf/identify.ts";
import { embedProfile, embedRaster, flateStream, type Profiles } from "./pdf/image.ts";
import { fillWith, isBlackOnly, strokeWith } from "./pdf/ink.ts";
import { spotSpace } from "./pdf/spot-space.ts";
import { PackedPictures } from "./pdf/packed-pictures.ts";
import { Pages } from "./pdf/page.ts";

/** What a print PDF needs beside its sheet. */
export interface PrintOptions {
  /** Title of the document, as a person would name it. */
  readonly title: string;
  /** Pictures that other sheets of the job have packed; left out, none. */
  readonly pictures?: PackedPictures;
  /** Printing condition; `null`, or a profile that is no output profile (sRGB): no output intent and no PDF/X identification. */
  readonly profile: Condition | null;
}

/** What of a sheet is printed. */
export type PrintedSheet = Pick<Sheet, "width" | "height" | "placed" | "inks" | "marks" | "back"> & {
  readonly stock: Pick<Sheet["stock"], "stock" | "press">;
};

/**
 * The print PDF of a sheet: a page of the sheet's size, and a second for its back where a piece has one, built to the checklist of PDF/X-4 when there is a printing
 * condition. Artwork is embedded once however often it is placed; texts, code, slug and marks are shapes. No line of any
 * operation is ever written.
 *
 * @throws when the stock has no press: unprinted sheets have no print PDF
 */
export const writePrint = async (
  sheet: PrintedSheet,
  { title, profile, pictures = new PackedPictures() }: PrintOptions,
): Promise<Uint8Array> => {
  const { press } = sheet.stock;
  if (!press) throw new Error(`stock ${sheet.stock.stock} is not printed`);
  const condition = profile && isOutputProfile(profile.bytes) ? profile : null;
  const context = PDFContext.create();
  const pen: Pen = {
    context,
    colour: press.colour,
    profiles: { intent: condition?.bytes ?? null, known: new Map() },
    pages: new Pages(context),
    pictures,
    drawn: new Map(),
    rasters: new Map(),
    spots: new Map(),
    transparent: false,
  };
  const intent =
    condition && outputIntent(context, condition, await embedProfile(context, condition.bytes, pen.profiles));

  const pages: object[] = [];
  for (const side of sidesOf(sheet)) {
    const { program, forms } = await drawSide(side, pen);
    const contents = context.register(await flateStream(context, Buffer.from(program.join("\n"), "latin1"), {}));
    pages.push({
      Type: "Page",
      ...boxes(context, sheet),
      Resources: {
        XObject: Object.fromEntries([...forms].map(([ref, name]) => [name, ref])),
        ExtGState: { Over: { Type: "ExtGState", OP: true, op: true, OPM: 1 } },
        // The RGB of texts means the same as the RGB of pictures.
        ...spacesOf(
          pen,
          profile && profile.channels === 3 && !intent
            ? { DefaultRGB: ["ICCBased", await embedProfile(context, profile.bytes, pen.profiles)] }
            : {},
        ),
      },
      Contents: contents,
      ...(pen.transparent ? { Group: { S: "Transparency", CS: BLENDING[press.colour], I: true } } : {}),
    });
  }
  // Only now all artwork is in the document, and with it what stands for its spot inks.
  for (const [name, ref] of pen.spots) context.assign(ref, spotSpace(context, name));
  const refs = pages.map(() => context.nextRef());
  const tree = context.register(context.obj({ Type: "Pages", Kids: refs, Count: refs.length }));
  for (const [i, ref] of refs.entries()) context.assign(ref, context.obj({ ...pages[i], Parent: tree }));
  const { info, metadata } = identify(context, title, intent !== null);
  context.trailerInfo.Info = info;
  context.trailerInfo.Root = context.register(
    context.obj({
      Type: "Catalog",
      Pages: tree,
      Metadata: metadata,
      ...(intent ? { OutputIntents: [intent] } : {}),
      ...optionalContent(pen.pages),
    }),
  );
  return serialise(context);
};

/** What is needed, and what is already in the document, while pieces are drawn. */
interface Pen {
  readonly context: PDFContext;
  readonly colour: Press["colour"];
  readonly profiles: Profiles;
  readonly pages: Pages;
  readonly pictures: PackedPictures;
  readonly drawn: Map<string, PDFRef | undefined>;
  readonly rasters: Map<string, PDFRef>;
  /** Spot inks that the sheet itself prints, and where their colour spaces will stand. */
  readonly spots: Map<string, PDFRef>;
  transparent: boolean;
}

const spacesOf = ({ spots }: Pen, more: Record<string, unknown[]>): object => {
  const all = { ...more, ...Object.fromEntries([...spots.values()].map((ref, i) => [`S${i + 1}`, ref])) };
  return Object.keys(all).length > 0 ? { ColorSpace: all } : {};
};

/** Makes an ink of the sheet the fill colour. */
const inkWith = (ink: SheetInk["ink"], { context, spots, colour }: Pen): string => {
  if (ink.space !== "spot") return fillWith(ink, colour);
  if (!spots.has(ink.name)) spots.set(ink.name, context.nextRef());
  return `/S${[...spots.keys()].indexOf(ink.name) + 1} cs ${decimal(ink.tint, 4)} scn`;
};

/** What one page of the sheet shows. */
interface Side extends Pick<PrintedSheet, "inks" | "marks"> {
  readonly placed: readonly {
    readonly layers: readonly Layer[];
    /** Layers are drawn turned over, left for right: their x is this less the drawing's. */
    readonly mirror?: number;
    readonly texts: readonly SetText[];
    readonly pictures: readonly SetPicture[];
    /** Drawing to page. */
    readonly matrix: Matrix;
  }[];
}

/** The front, and the back as it lies when the sheet has been turned over; marks are for the cutter, which sees the front. */
const sidesOf = ({ placed, inks, marks, back }: PrintedSheet): Side[] => [
  {
    placed: placed.map(({ prepared, texts, pictures = [], matrix }) => ({
      layers: prepared.layers,
      texts: texts.filter(({ side }) => side !== "back"),
      pictures: pictures.filter(({ side }) => side !== "back"),
      matrix,
    })),
    inks,
    marks,
  },
  ...(back
    ? [
        {
          placed: placed
            .filter(({ prepared }) => prepared.piece.back)
            .map(({ prepared: { back: face }, texts, pictures = [], matrix }) => ({
              layers: face?.layers ?? [],
              ...(face?.mirror === undefined ? {} : { mirror: face.mirror }),
              texts: texts.filter(({ side }) => side === "back"),
              pictures: pictures.filter(({ side }) => side === "back"),
              matrix: multiply(back.matrix, matrix),
            })),
          inks: back.inks,
          marks: [],
        },
      ]
    : []),
];

const drawSide = async (
  { placed, inks, marks }: Side,
  pen: Pen,
): Promise<{ readonly program: readonly string[]; readonly forms: ReadonlyMap<PDFRef, string> }> => {
  const { colour } = pen;
  const forms = new Map<PDFRef, string>();
  const program: string[] = [];
  for (const piece of placed) {
    const form = await formOf(piece.layers, pen);
    if (form && !forms.has(form)) forms.set(form, `P${forms.size + 1}`);
    const pictures: string[] = [];
    for (const { layer } of piece.pictures) pictures.push(...(await pictured(layer, forms, pen)));
    program.push(...place(piece, form && forms.get(form), pictures, colour));
  }
  for (const { outlines, ink } of inks) program.push(inkWith(ink, pen), pathOperators(outlines), "f");
  // One ink for marks, not all of them: cameras see black, and four solid plates would be 400 % of toner.
  if (marks.length > 0) program.push(fillWith(BLACK, colour), ...marks.flatMap((mark) => [markPath(mark), "f"]));
  return { program, forms };
};

const BLENDING = { cmyk: "DeviceCMYK", rgb: "DeviceRGB", grey: "DeviceGray" } as const;

/** Every box is the sheet: a gang sheet has no single trim (the pieces' are in job.json). No ArtBox, which ISO 15930 forbids beside a TrimBox. */
const boxes = (context: PDFContext, sheet: PrintedSheet): Record<string, PDFObject> => {
  const box = [0, 0, Number(pt(sheet.width)), Number(pt(sheet.height))];
  return Object.fromEntries(["MediaBox", "CropBox", "BleedBox", "TrimBox"].map((name) => [name, context.obj(box)]));
};

/** Customers' layers stay as they were. No /AS: PDF/X-4 forbids it. */
const optionalContent = ({ layers }: Pages): Record<string, PDFObject | object> =>
  layers.all.length === 0
    ? {}
    : {
        OCProperties: {
          OCGs: layers.all,
          D: { Name: PDFString.of("Layers"), BaseState: "ON", Order: layers.all, OFF: layers.hidden },
        },
      };

/** A piece and its texts at their place. */
const place = (
  { matrix, mirror, texts }: Side["placed"][number],
  form: string | undefined,
  pictures: readonly string[],
  colour: Press["colour"],
): string[] => [
  "q",
  `${operands(placing(matrix))} cm`,
  ...(form && mirror !== undefined ? ["q", `-1 0 0 1 ${pt(mirror)} 0 cm`, `/${form} Do`, "Q"] : []),
  ...(form && mirror === undefined ? [`/${form} Do`] : []),
  ...pictures,
  ...texts.flatMap((text) => words(text, colour)),
  "Q",
];

/** A picture of a buyer's in its frame, in the drawing's points. */
const pictured = async (layer: Layer, forms: Map<PDFRef, string>, pen: Pen): Promise<string[]> => {
  const [ref, matrix] = await embed(layer, pen);
  const name = forms.get(ref) ?? `P${forms.size + 1}`;
  forms.set(ref, name);
  const clip = layer.clip ? [layer.clip.map(ring).join("\n"), "W n"] : [];
  return ["q", ...clip, `${operands(matrix)} cm`, `/${name} Do`, "Q"];
};

/** Letters: the paper under them, the line around them, and themselves. */
const words = ({ outlines, ink, rim, ground }: SetText, colour: Press["colour"]): string[] => {
  const path = pathOperators(outlines);
  if (path === "") return [];
  const under = [
    ...(ground ? [fillWith(ground.ink, colour), pathOperators(ground.outlines), "f"] : []),
    // Half of a stroke lies under the letters.
    ...(rim ? [`${strokeWith(rim.ink, colour)} ${pt(2 * rim.width)} w 1 j`, path, "S"] : []),
  ];
  const fill = [fillWith(ink, colour), path, "f"];
  return [...under, ...(colour === "cmyk" && isBlackOnly(ink) ? ["q", "/Over gs", ...fill, "Q"] : fill)];
};

/** The form of a prepared piece in its drawing's points, y down; nothing for a piece without a picture. */
const formOf = async (layers: readonly Layer[], pen: Pen): Promise<PDFRef | undefined> => {
  if (layers.length === 0) return undefined;
  const id = identityOf(layers);
  if (pen.drawn.has(id)) return pen.drawn.get(id);
  const inside = new Map<PDFRef, string>();
  const program: string[] = [];
  // A ring comes in tiles under one outline: a press's RIP works out each clip anew, so it is set once for them all.
  let clip: Layer["clip"] = null;
  for (const layer of layers) {
    if (program.length === 0 || !sameClip(layer.clip, clip)) {
      if (program.length > 0) program.push("Q");
      clip = layer.clip;
      program.push("q", ...(clip ? [clip.map(ring).join("\n"), "W n"] : []));
    }
    const [ref, matrix] = await embed(layer, pen);
    if (!inside.has(ref)) inside.set(ref, `L${inside.size + 1}`);
    program.push("q", `${operands(matrix)} cm`, `/${inside.get(ref)} Do`, "Q");
  }
  program.push("Q");
  const ref = pen.context.register(
    await flateStream(pen.context, Buffer.from(program.join("\n"), "latin1"), {
      Type: PDFName.of("XObject"),
      Subtype: PDFName.of("Form"),
      BBox: pen.context.obj(boundsOf(layers)),
      Resources: pen.context.obj({ XObject: Object.fromEntries([...inside].map(([r, name]) => [name, r])) }),
    }),
  );
  pen.drawn.set(id, ref);
  return ref;
};

const sameClip = (a: Layer["clip"], b: Layer["clip"]): boolean => a === b || JSON.stringify(a) === JSON.stringify(b);

/** A layer's object, and the matrix from its own space to the drawing's points. */
const embed = async (layer: Layer, pen: Pen) => {
  const fill = filling(layer.box);
  if (layer.kind === "page") {
    const { ref, toUnit, transparent } = await pen.pages.embed(layer.page);
    pen.transparent ||= transparent;
    return [ref, multiply(fill, toUnit)] as const;
  }
  const known = pen.rasters.get(layer.raster.id);
  const ref = known ?? (await embedRaster(pen.context, layer.raster, pen.profiles, pen.pictures));
  pen.rasters.set(layer.raster.id, ref);
  return [ref, fill] as const;
};

/** Equal pictures are one form, whichever piece or thread they came from. */
const identityOf = (layers: readonly Layer[]): string => {
  const known = identities.get(layers);
  if (known) return known;
  // A ring's tiles have one outline of thousands of points: it is written out once.
  const clips = new Map<Layer["clip"], string>();
  const clipOf = ({ clip }: Layer): string => {
    const text = clips.get(clip) ?? JSON.stringify(clip);
    clips.set(clip, text);
    return text;
  };
  const hash = createHash("sha256");
  for (const l of layers)
    hash.update(`${JSON.stringify([l.kind, l.kind === "page" ? l.page.id : l.raster.id, l.box])} ${clipOf(l)}\n`);
  const id = hash.digest("hex");
  identities.set(layers, id);
  return id;
};
/** Layers are never changed: what many sheets print is named once. */
const identities = new WeakMap<readonly Layer[], string>();

/** Bounds of all layers, in points. */
const boundsOf = (layers: readonly Layer[]): number[] => {
  const low = (pick: (l: Layer) => number): number => Number(pt(Math.min(...layers.map(pick)))) - 1;
  const high = (pick: (l: Layer) => number): number => Number(pt(Math.max(...layers.map(pick)))) + 1;
  return [
    low((l) => l.box.x),
    low((l) => l.box.y),
    high((l) => l.box.x + l.box.width),
    high((l) => l.box.y + l.box.height),
  ];
};
