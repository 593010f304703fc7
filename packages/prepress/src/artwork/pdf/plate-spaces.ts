// The colour spaces of a page, each replaced by one that a renderer of RGB shows as inks: see plates.ts.
import { PDFArray, PDFDict, PDFName, PDFNumber, type PDFObject, PDFRawStream } from "../../pdf-lib.ts";
import type { PressColour } from "../../colour/profile.ts";
import { samplesToPress } from "../../colour/to-press.ts";
import { componentsOf } from "./components-of.ts";
import { evaluator } from "./evaluate.ts";
import { gridOfTints, inksOfTints } from "./inks-of-tints.ts";
import { packed } from "./pack.ts";
import { unpack } from "./unpack.ts";
import type { Walk } from "./walk.ts";

/** Which inks are drawn: cyan, magenta and yellow as RGB, black as grey, or a spot ink as grey. */
export type Pass = "cmy" | "k" | "spot";

/**
 * What is shown of spot inks: left out, the process inks that stand for them; `process`, nothing, as on the plates of a press that prints
 * them from cans of their own; a name, that ink alone.
 */
export type Shown = "process" | { readonly spot: string };

const name = (key: string): PDFName => PDFName.of(key);

/** Steps of each axis of the table that takes sRGB to inks: with 17 single inks were 9 of 255 off, PDFium interpolates simply. */
const GRID = 33;

/** Inks of a grid of sRGB colours, for pictures and shadings that are RGB. */
export const inkTable = async (press: PressColour): Promise<Uint8Array> => {
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

/** Steps of each axis of a grid of tints, by the number of inks: none for more inks than these. */
const STEPS: Readonly<Record<number, number>> = { 1: 256, 2: 52, 3: 18, 4: 10, 5: 7, 6: 5 };

/** Inks of one DeviceN that are told apart: a table of 256 entries. */
const MOST_INKS = 8;
const CMY = ["Cyan", "Magenta", "Yellow"];

/** The colour spaces of a page, for one pass. */
export class PlateSpaces {
  private readonly walk: Walk;
  private readonly pass: Pass;
  private readonly table: Uint8Array;
  private readonly made = new Map<number, PDFArray>();

  private readonly press: PressColour;
  private readonly shown: Shown | undefined;

  constructor(walk: Walk, pass: Pass, table: Uint8Array, press: PressColour, shown?: Shown) {
    this.press = press;
    this.shown = shown;
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
    if (kind === name("Separation") || kind === name("DeviceN")) return this.spot(space);
    if (kind !== name("Indexed") && kind !== name("Pattern")) return undefined;
    if (space.size() === 1) return space;
    const base = await this.replacement(space.lookup(1));
    if (!base) return undefined;
    const anew = space.clone(this.walk.context);
    anew.set(1, base);
    return anew;
  }

  /** Spot colours that say which CMYK stands for them: the function that does so is made to show the pass's inks. */
  private async spot(space: PDFArray): Promise<PDFArray | undefined> {
    if (this.shown) return this.separated(space, this.shown);
    const formula = space.lookup(2) === name("DeviceCMYK") ? await this.tint(space.lookup(3)) : undefined;
    const tint = formula ?? (await this.sampled(space));
    const alternate = name(this.pass === "cmy" ? "DeviceRGB" : "DeviceGray");
    const { context } = this.walk;
    return tint
      ? (context.obj([space.get(0), space.get(1), alternate, context.register(tint)]) as PDFArray)
      : undefined;
  }

  /** Each ink on its own plate: a function that is straight in every tint, so two steps of each are enough. */
  private async separated(space: PDFArray, shown: Shown): Promise<PDFArray | undefined> {
    const named = space.lookup(1);
    const inks = (named instanceof PDFArray ? named.asArray() : [named]).map((one) =>
      one instanceof PDFName ? one.decodeText() : "",
    );
    if (inks.length > MOST_INKS) return undefined;
    const wanted = shown === "process" ? (this.pass === "cmy" ? CMY : ["Black"]) : [shown.spot];
    const data = new Uint8Array(2 ** inks.length * wanted.length);
    for (let at = 0; at < 2 ** inks.length; at++)
      for (const [out, ink] of wanted.entries()) {
        const inked = inks.some((one, bit) => (one === ink || one === "All") && (at >> bit) % 2 === 1);
        data[at * wanted.length + out] = inked ? 0 : 255;
      }
    const { context } = this.walk;
    const ends = (count: number): PDFObject => context.obj(Array.from({ length: 2 * count }, (_, i) => i % 2));
    const tint = await packed(context, data, {
      FunctionType: context.obj(0),
      Domain: ends(inks.length),
      Range: ends(wanted.length),
      Size: context.obj(inks.map(() => 2)),
      BitsPerSample: context.obj(8),
    });
    const alternate = name(this.pass === "cmy" ? "DeviceRGB" : "DeviceGray");
    return context.obj([space.get(0), space.get(1), alternate, context.register(tint)]) as PDFArray;
  }

  /** Any other spot colour: what stands for it is worked out at a grid of tints, and taken to inks as it would be printed. */
  private async sampled(space: PDFArray): Promise<PDFRawStream | undefined> {
    const names = space.lookup(1);
    const inputs = names instanceof PDFArray ? names.size() : 1;
    const steps = STEPS[inputs];
    const evaluate = evaluator(space.lookup(3));
    const inks =
      steps && evaluate && (await inksOfTints(space.lookup(2), evaluate, gridOfTints(inputs, steps), this.press));
    if (!inks) return undefined;
    const outputs = this.pass === "cmy" ? 3 : 1;
    const data = new Uint8Array(steps ** inputs * outputs);
    for (let at = 0; at < steps ** inputs; at++)
      for (let out = 0; out < outputs; out++)
        data[at * outputs + out] = 255 - (inks[4 * at + (this.pass === "cmy" ? out : 3)] as number);
    const { context } = this.walk;
    return packed(context, data, {
      FunctionType: context.obj(0),
      Domain: context.obj(Array.from({ length: 2 * inputs }, (_, i) => i % 2)),
      Range: context.obj(Array.from({ length: 2 * outputs }, (_, i) => i % 2)),
      Size: context.obj(Array.from({ length: inputs }, () => steps)),
      BitsPerSample: context.obj(8),
    });
  }

  /** A function with four inks as its result; those that are tables of samples are left alone. */
  private async tint(tint: PDFObject | undefined): Promise<PDFDict | PDFRawStream | undefined> {
    const { context } = this.walk;
    const range = this.pass === "cmy" ? [0, 1, 0, 1, 0, 1] : [0, 1];
    if (tint instanceof PDFRawStream && isNumber(tint.dict.lookup(name("FunctionType")), 4)) {
      const program = Buffer.from(unpack(tint)).toString("latin1").trim();
      const domain = tint.dict.lookup(name("Domain"));
      if (!domain || !program.startsWith("{") || !program.endsWith("}")) return undefined;
      const [, then = ""] = /^\{(.*)\}$/.exec(PROGRAMS[this.pass === "cmy" ? "cmy" : "k"][4] as string) ?? [];
      const entries = { FunctionType: context.obj(4), Domain: domain, Range: context.obj(range) };
      return packed(context, Buffer.from(`${program.slice(0, -1)} ${then} }`), entries);
    }
    if (!(tint instanceof PDFDict)) return undefined;
    const anew = tint.clone(context);
    anew.delete(name("Range"));
    if (isNumber(tint.lookup(name("FunctionType")), 2)) {
      // C0 + x^N (C1 - C0): taking both ends from paper takes the whole from paper.
      for (const end of ["C0", "C1"]) {
        const inks = tint.lookupMaybe(name(end), PDFArray);
        if (inks?.size() !== 4) return undefined;
        const papers = inks.asArray().map((_, at) => 1 - inks.lookup(at, PDFNumber).asNumber());
        anew.set(name(end), context.obj(this.pass === "cmy" ? papers.slice(0, 3) : papers.slice(3)));
      }
      return anew;
    }
    if (!isNumber(tint.lookup(name("FunctionType")), 3)) return undefined;
    const parts = tint.lookup(name("Functions"), PDFArray);
    const made: PDFObject[] = [];
    for (let at = 0; at < parts.size(); at++) {
      const part = await this.tint(parts.lookup(at));
      if (!part) return undefined;
      made.push(context.register(part));
    }
    anew.set(name("Functions"), context.obj(made));
    return anew;
  }

  /** The space of pictures and shadings of so many device components. */
  async inks(count: number): Promise<PDFArray> {
    const known = this.made.get(count);
    if (known) return known;
    const { context } = this.walk;
    const alternate = this.pass === "cmy" ? "DeviceRGB" : "DeviceGray";
    const range = this.pass === "cmy" ? [0, 1, 0, 1, 0, 1] : [0, 1];
    const domain = Array.from({ length: count }, () => [0, 1]).flat();
    const inks = Array.from({ length: count }, (_, at) => name(`Ink${at + 1}`));
    const common = { Domain: context.obj(domain), Range: context.obj(range) };
    // Seen for a spot ink, process inks hide what lies under them and leave nothing.
    const code = this.pass === "spot" ? `{ ${"pop ".repeat(count)}1 }` : PROGRAMS[this.pass][count];
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

const isNumber = (object: PDFObject | undefined, value: number): boolean =>
  object instanceof PDFNumber && object.asNumber() === value;

/** By components of the space: grey is paper less black, CMYK is itself; RGB goes by the table. */
const PROGRAMS: Readonly<Record<Exclude<Pass, "spot">, Readonly<Record<number, string>>>> = {
  cmy: {
    1: "{ pop 1 1 1 }",
    4: "{ pop 1 exch sub 3 1 roll 1 exch sub 3 1 roll 1 exch sub 3 1 roll }",
  },
  k: { 1: "{ }", 4: "{ 1 exch sub 4 1 roll pop pop pop }" },
};
