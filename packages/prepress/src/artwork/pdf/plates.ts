// A page of CMYK colours drawn into exact inks by a renderer that knows only RGB: the page is rewritten twice so that its RGB
// are inks. In one pass red, green and blue are paper less cyan, magenta and yellow; in the other grey is paper less black.
// Solid colours change operators; pictures and shadings get a DeviceN space whose function does the same. Transparency comes
// out as it mixes in CMYK, for both passes see the same alpha.
//
// Without it the page's 80 % cyan came back from RGB as other inks, and the bleed around it showed: see the tests.
import { PDFDict, PDFDocument, PDFName, PDFRawStream, PDFRef, PDFWriter } from "../../pdf-lib.ts";
import type { PressColour } from "../../colour/profile.ts";
import type { Samples } from "../../colour/samples.ts";
import { drawPage, type RenderOptions } from "../render-page.ts";
import { inlineSpaceOf, type Operation, rewritten } from "./content.ts";
import { packed, repacked } from "./pack.ts";
import { withPage } from "./pdfium.ts";
import { inkTable, type Pass, PlateSpaces, type Shown } from "./plate-spaces.ts";
import type { Scope } from "./anatomy.ts";
import { Walk } from "./walk.ts";

const name = (key: string): PDFName => PDFName.of(key);

/** A page ready to be drawn in CMYK. */
export interface Plates {
  /** CMYK with alpha; undefined when the renderer refuses the page. */
  readonly draw: (options: RenderOptions) => Promise<Samples | undefined>;
}

/**
 * Makes the plates of a kept page; undefined where its colours are of kinds that have no fixed inks (Lab itself, spot mixtures
 * of more than six) or hide from rewriting (colour spaces written out in inline pictures, masks that share what is painted).
 *
 * @param shown left out, spot inks are drawn by what stands for them
 */
export async function platesOf(bytes: Uint8Array, press: PressColour, shown?: "process"): Promise<Plates | undefined> {
  const table = await inkTable(press);
  const cmy = await platePage(bytes, "cmy", { table, press, shown });
  const k = await platePage(bytes, "k", { table, press, shown });
  return cmy && k ? { draw: (options) => drawBoth(cmy, k, options) } : undefined;
}

/**
 * Draws the plate of one spot ink of a kept page: how much of it lies on every pixel, 0 to 255. Undefined where plates cannot be made
 * (see `platesOf`) or the renderer refuses the page.
 */
export async function spotPlate(
  bytes: Uint8Array,
  spot: string,
  press: PressColour,
  options: RenderOptions,
): Promise<Uint8Array | undefined> {
  const page = await platePage(bytes, "spot", { table: await inkTable(press), press, shown: { spot } });
  const drawn = page && (await withPage(page, 0, (open) => drawPage(open, { ...options, transparent: true })));
  if (!drawn || "refusal" in drawn) return undefined;
  const { data } = drawn.value;
  return Uint8Array.from({ length: data.length / 4 }, (_, i) =>
    Math.round(((255 - (data[4 * i] as number)) * (data[4 * i + 3] as number)) / 255),
  );
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

const platePage = async (
  bytes: Uint8Array,
  pass: Pass,
  {
    table,
    press,
    shown,
  }: { readonly table: Uint8Array; readonly press: PressColour; readonly shown?: Shown | undefined },
): Promise<Uint8Array | undefined> => {
  const document = await PDFDocument.load(bytes, { updateMetadata: false, parseSpeed: Number.POSITIVE_INFINITY });
  const { context } = document;
  const { node } = document.getPage(0);
  // One stream of ours, behind a reference: see keep.ts.
  const contents = node.get(name("Contents"));
  const stream = node.lookup(name("Contents"));
  if (!(contents instanceof PDFRef) || !(stream instanceof PDFRawStream)) throw new Error("not a page that was kept");
  const walk = new Walk(context);
  walk.page(node.Resources() ?? context.obj({}), walk.unpacked(stream) ?? new Uint8Array());
  const spaces = new PlateSpaces(walk, pass, table, press, shown);
  if (walk.faults.size > 0 || walk.masksShare || walk.inlinePictures || !(await spaces.replaceAll())) return undefined;
  for (const scope of walk.scopes) {
    for (const [title, count] of INLINE) {
      if (!scope.operations.some(({ inline }) => inline && inlineCount(inline) === count)) continue;
      const named = scope.resources.lookupMaybe(name("ColorSpace"), PDFDict) ?? context.obj({});
      named.set(name(title), await spaces.inks(count));
      scope.resources.set(name("ColorSpace"), named);
    }
    const content = plated(scope, pass);
    if (!scope.ref) context.assign(contents, await packed(context, content, {}));
    else context.assign(scope.ref, await repacked(context, scope.ref, content));
  }
  for (const { dict } of walk.groups) dict.delete(name("CS"));
  return PDFWriter.forContext(context, Number.POSITIVE_INFINITY).serializeToBuffer();
};

/** Names under which the spaces of inline pictures are put, by their components. */
const INLINE = [
  ["KitformeGrey", 1],
  ["KitformeRgb", 3],
  ["KitformeCmyk", 4],
] as const;
const COUNTS: Readonly<Record<string, number>> = {
  "/G": 1,
  "/DeviceGray": 1,
  "/RGB": 3,
  "/DeviceRGB": 3,
  "/CMYK": 4,
  "/DeviceCMYK": 4,
};
const inlineCount = (inline: readonly (number | string)[]): number | undefined => COUNTS[inlineSpaceOf(inline) ?? ""];

/** An inline picture in the space of its kind, its data as they are. */
const inlinePlated = (content: Uint8Array, { inline, from, to }: Operation): string | undefined => {
  const title = INLINE.find(([, count]) => inline && inlineCount(inline) === count)?.[0];
  if (title === undefined) return undefined;
  const text = Buffer.from(content.subarray(from, to)).toString("latin1");
  const head = text.search(/\sID\s/);
  return text.slice(0, head).replace(/\/(CS|ColorSpace)\s*\/\w+/, `/$1 /${title}`) + text.slice(head);
};

const paper = (ink: number | string | undefined): string => Number((1 - Number(ink)).toFixed(5)).toString();

/** Operators that set solid device colours, as the pass sees them. Pages and patterns begin in black, which is an ink. */
const plated = ({ operations, content, begins }: Scope, pass: Pass): Uint8Array => {
  const solid = (operands: Operation["operands"], stroke: boolean): string => {
    const [rgb, grey] = stroke ? ["RG", "G"] : ["rg", "g"];
    if (pass === "spot") return `1 ${grey}`;
    if (operands.length === 4)
      return pass === "cmy" ? `${operands.slice(0, 3).map(paper).join(" ")} ${rgb}` : `${paper(operands[3])} ${grey}`;
    return pass === "cmy" ? `1 1 1 ${rgb}` : `${operands[0]} ${grey}`;
  };
  let device = { fill: false, stroke: false };
  const saved: (typeof device)[] = [];
  const anew = rewritten(content, operations, (operation) => {
    const { operator, operands } = operation;
    if (operator === "BI") return inlinePlated(content, operation);
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
  if (!begins || pass === "k") return anew;
  return Buffer.concat([Buffer.from(pass === "cmy" ? "1 1 1 rg 1 1 1 RG " : "1 g 1 G "), anew]);
};
