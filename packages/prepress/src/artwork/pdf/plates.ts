// A page of CMYK colours drawn into exact inks by a renderer that knows only RGB: the page is rewritten twice so that its RGB
// are inks. In one pass red, green and blue are paper less cyan, magenta and yellow; in the other grey is paper less black.
// Solid colours change operators; pictures and shadings get a DeviceN space whose function does the same. Transparency comes
// out as it mixes in CMYK, for both passes see the same alpha.
//
// Without it the page's 80 % cyan came back from RGB as other inks, and the bleed around it showed: see the tests.
import {
  PDFArray,
  PDFDocument,
  PDFName,
  PDFNumber,
  type PDFObject,
  PDFRawStream,
  PDFRef,
  PDFStream,
  PDFWriter,
} from "pdf-lib";
import type { Press } from "@kitforme/kit";
import type { Samples } from "../../colour/samples.ts";
import { samplesToPress } from "../../colour/to-press.ts";
import { drawPage, type RenderOptions } from "../render-page.ts";
import { type Operation, rewritten } from "./content.ts";
import { packed, repacked } from "./pack.ts";
import { withPage } from "./pdfium.ts";
import { type Scope, Walk } from "./walk.ts";

type Pass = "cmy" | "k";

const name = (key: string): PDFName => PDFName.of(key);

/** Steps of each axis of the table that takes sRGB to inks: with 17 single inks were 9 of 255 off, PDFium interpolates simply. */
const GRID = 33;

/** A page ready to be drawn in CMYK. */
export interface Plates {
  /** CMYK with alpha; undefined when the renderer refuses the page. */
  readonly draw: (options: RenderOptions) => Promise<Samples | undefined>;
}

/**
 * Makes the plates of a kept page; undefined where its colours are of kinds that have no fixed inks (spot colours, Lab) or
 * hide from rewriting (inline pictures, soft masks, JPEG 2000).
 */
export async function platesOf(bytes: Uint8Array, press: Pick<Press, "colour">): Promise<Plates | undefined> {
  const table = await inkTable(press);
  const cmy = await platePage(bytes, "cmy", table);
  const k = await platePage(bytes, "k", table);
  return cmy && k ? { draw: (options) => drawBoth(cmy, k, options) } : undefined;
}

const drawBoth = async (
  cmyPage: Uint8Array,
  kPage: Uint8Array,
  options: RenderOptions,
): Promise<Samples | undefined> => {
  const one = (page: Uint8Array) => withPage(page, 0, (open) => drawPage(open, { ...options, transparent: true }));
  const [first, second] = [await one(cmyPage), await one(kPage)];
  if ("refusal" in first || "refusal" in second) return undefined;
  const [cmy, k] = [first.value.data, second.value.data];
  const { width, height } = first.value;
  const data = new Uint8Array(width * height * 5);
  for (let from = 0, to = 0; from < cmy.length; from += 4, to += 5) {
    const alpha = cmy[from + 3] as number;
    if (alpha === 0) continue;
    data[to] = 255 - (cmy[from] as number);
    data[to + 1] = 255 - (cmy[from + 1] as number);
    data[to + 2] = 255 - (cmy[from + 2] as number);
    data[to + 3] = 255 - (k[from] as number);
    data[to + 4] = alpha;
  }
  return { width, height, space: "cmyk", alpha: true, data };
};

const inkTable = async (press: Pick<Press, "colour">): Promise<Uint8Array> => {
  const data = new Uint8Array(GRID ** 3 * 3);
  const step = 255 / (GRID - 1);
  // ISO 32000, 7.10.2: the first input varies fastest.
  for (let at = 0; at < GRID ** 3; at++)
    data.set(
      [at % GRID, Math.floor(at / GRID) % GRID, Math.floor(at / GRID ** 2)].map((v) => Math.round(v * step)),
      3 * at,
    );
  return (await samplesToPress({ width: GRID ** 3, height: 1, space: "rgb", alpha: false, data }, press)).data;
};

const platePage = async (bytes: Uint8Array, pass: Pass, table: Uint8Array): Promise<Uint8Array | undefined> => {
  const document = await PDFDocument.load(bytes, { updateMetadata: false, parseSpeed: Number.POSITIVE_INFINITY });
  const { context } = document;
  const { node } = document.getPage(0);
  // One stream of ours, behind a reference: see keep.ts.
  const contents = node.get(name("Contents"));
  const stream = node.lookup(name("Contents"));
  if (!(contents instanceof PDFRef) || !(stream instanceof PDFRawStream)) throw new Error("not a page that was kept");
  const walk = new Walk(context);
  walk.scope(node.Resources() ?? context.obj({}), walk.unpacked(stream) ?? new Uint8Array());
  const spaces = new Spaces(walk, pass, table);
  if (walk.obstacles.size > 0 || walk.masks || walk.inlinePictures || !(await spaces.replaceAll())) return undefined;
  for (const scope of walk.scopes) {
    const content = plated(scope, pass);
    if (!scope.ref) context.assign(contents, await packed(context, content, {}));
    else context.assign(scope.ref, await repacked(context, scope.ref, content));
  }
  for (const { dict } of walk.groups) dict.delete(name("CS"));
  return PDFWriter.forContext(context, Number.POSITIVE_INFINITY).serializeToBuffer();
};

const paper = (ink: number | string | undefined): string => Number((1 - Number(ink)).toFixed(5)).toString();

/** Operators that set solid device colours, as the pass sees them. Pages and patterns begin in black, which is an ink. */
const plated = ({ operations, content, begins }: Scope, pass: Pass): Uint8Array => {
  const solid = (operands: Operation["operands"], stroke: boolean): string => {
    const [rgb, grey] = stroke ? ["RG", "G"] : ["rg", "g"];
    if (operands.length === 4)
      return pass === "cmy" ? `${operands.slice(0, 3).map(paper).join(" ")} ${rgb}` : `${paper(operands[3])} ${grey}`;
    return pass === "cmy" ? `1 1 1 ${rgb}` : `${operands[0]} ${grey}`;
  };
  let device = { fill: false, stroke: false };
  const saved: (typeof device)[] = [];
  const anew = rewritten(content, operations, ({ operator, operands }) => {
    if (operator === "q") saved.push(device);
    else if (operator === "Q") device = saved.pop() ?? { fill: false, stroke: false };
    else if (operator === "k" || operator === "g") return solid(operands, false);
    else if (operator === "K" || operator === "G") return solid(operands, true);
    else if (operator === "cs" || operator === "CS") {
      const chosen = operands[0] === "/DeviceCMYK" || operands[0] === "/DeviceGray";
      device = operator === "cs" ? { ...device, fill: chosen } : { ...device, stroke: chosen };
      // Both spaces begin in black.
      if (chosen) return solid([0, 0, 0, 1], operator === "CS");
    } else if (/^scn?$/.test(operator) && device.fill) return solid(operands, false);
    else if (/^SCN?$/.test(operator) && device.stroke) return solid(operands, true);
    return undefined;
  });
  return begins && pass === "cmy" ? Buffer.concat([Buffer.from("1 1 1 rg 1 1 1 RG "), anew]) : anew;
};

/** The colour spaces of a page, each replaced by one that shows the inks of a pass. */
class Spaces {
  private readonly walk: Walk;
  private readonly pass: Pass;
  private readonly table: Uint8Array;
  private readonly made = new Map<number, PDFArray>();

  constructor(walk: Walk, pass: Pass, table: Uint8Array) {
    this.walk = walk;
    this.pass = pass;
    this.table = table;
  }

  /** False when a space has no fixed inks. */
  async replaceAll(): Promise<boolean> {
    for (const { owner, key } of this.walk.slots) {
      const anew = await this.replacement(owner.lookup(key));
      if (!anew) return false;
      owner.set(key, anew);
    }
    return true;
  }

  private async replacement(space: PDFObject | undefined): Promise<PDFObject | undefined> {
    if (space === name("Pattern")) return space;
    const count = componentsOf(space);
    if (count !== undefined) return this.inks(count);
    if (!(space instanceof PDFArray)) return undefined;
    const kind = space.lookup(0);
    if (kind !== name("Indexed") && kind !== name("Pattern")) return undefined;
    if (space.size() === 1) return space;
    const base = await this.replacement(space.lookup(1));
    if (!base) return undefined;
    const anew = space.clone(this.walk.context);
    anew.set(1, base);
    return anew;
  }

  private async inks(count: number): Promise<PDFArray> {
    const known = this.made.get(count);
    if (known) return known;
    const { context } = this.walk;
    const alternate = this.pass === "cmy" ? "DeviceRGB" : "DeviceGray";
    const range = this.pass === "cmy" ? [0, 1, 0, 1, 0, 1] : [0, 1];
    const domain = Array.from({ length: count }, () => [0, 1]).flat();
    const inks = Array.from({ length: count }, (_, at) => name(`Ink${at + 1}`));
    const common = { Domain: context.obj(domain), Range: context.obj(range) };
    const code = PROGRAMS[this.pass][count];
    const tint = code
      ? await packed(context, Buffer.from(code), { ...common, FunctionType: context.obj(4) })
      : await packed(context, this.samples(), {
          ...common,
          FunctionType: context.obj(0),
          Size: context.obj([GRID, GRID, GRID]),
          BitsPerSample: context.obj(8),
        });
    const space = context.obj([name("DeviceN"), inks, name(alternate), context.register(tint)]) as PDFArray;
    this.made.set(count, space);
    return space;
  }

  private samples(): Uint8Array {
    const channels = this.pass === "cmy" ? [0, 1, 2] : [3];
    const data = new Uint8Array(GRID ** 3 * channels.length);
    for (let at = 0; at < GRID ** 3; at++)
      data.set(
        channels.map((ink) => 255 - (this.table[4 * at + ink] as number)),
        at * channels.length,
      );
    return data;
  }
}

/** By components of the space: grey is paper less black, CMYK is itself; RGB goes by the table. */
const PROGRAMS: Readonly<Record<Pass, Readonly<Record<number, string>>>> = {
  cmy: {
    1: "{ pop 1 1 1 }",
    4: "{ pop 1 exch sub 3 1 roll 1 exch sub 3 1 roll 1 exch sub 3 1 roll }",
  },
  k: { 1: "{ }", 4: "{ 1 exch sub 4 1 roll pop pop pop }" },
};

const componentsOf = (space: PDFObject | undefined): number | undefined => {
  const one = space instanceof PDFArray && space.size() === 1 ? space.lookup(0) : space;
  if (one === name("DeviceGray")) return 1;
  if (one === name("DeviceRGB")) return 3;
  if (one === name("DeviceCMYK")) return 4;
  if (!(space instanceof PDFArray)) return undefined;
  if (space.lookup(0) === name("CalGray")) return 1;
  if (space.lookup(0) === name("CalRGB")) return 3;
  const profile = space.lookup(0) === name("ICCBased") ? space.lookup(1) : undefined;
  const count = profile instanceof PDFStream ? profile.dict.lookup(name("N")) : undefined;
  return count instanceof PDFNumber ? count.asNumber() : undefined;
};
