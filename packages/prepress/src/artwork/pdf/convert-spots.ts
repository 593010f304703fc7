// Spot inks of a kept page as process inks: solids change operators, pictures get a palette, gradients a table. All or nothing: what
// cannot be told exactly leaves the page as it is, and it is printed as pixels.
import {
  PDFArray,
  PDFDict,
  PDFHexString,
  PDFName,
  PDFNumber,
  type PDFObject,
  PDFRawStream,
  PDFString,
} from "../../pdf-lib.ts";
import type { PressColour } from "../../colour/profile.ts";
import type { Scope } from "./anatomy.ts";
import { inlineSpaceOf, type Operation, operationsOf, rewritten } from "./content.ts";
import { type Evaluate, evaluator } from "./evaluate.ts";
import { inksOfTints } from "./inks-of-tints.ts";
import { inkRamp, valuesAlong } from "./ink-shadings.ts";
import { unpack } from "./unpack.ts";
import type { Walk } from "./walk.ts";

const name = (key: string): PDFName => PDFName.of(key);
/** Inks that are on the press anyway, and none. */
const PROCESS = new Set(["Cyan", "Magenta", "Yellow", "Black", "None"]);

export type Inks = readonly [c: number, m: number, y: number, k: number];

/** A page without spot inks. */
export interface Converted {
  readonly scopes: readonly Scope[];
  /** What each ink by itself became at full strength, shares from 0 to 1. */
  readonly as: ReadonlyMap<string, Inks>;
}

/** A space of spot inks: how many, and what stands for them. */
interface Mix {
  readonly names: readonly string[];
  readonly alternate: PDFObject | undefined;
  readonly evaluate: Evaluate;
}

/** What cannot be converted exactly. */
class Beyond extends Error {}

/**
 * @param walk the page taken apart; its dictionaries are changed only when all of it can be
 * @returns undefined where something on it cannot be: shaded meshes, JPEGs or depths of 16 bits in a spot ink, patterns coloured by one
 */
export const convertSpots = async (walk: Walk, press: PressColour): Promise<Converted | undefined> => {
  const changes: (() => void)[] = [];
  const as = new Map<string, Inks>();
  try {
    for (const { owner, key } of walk.slots) {
      const space = owner.lookup(key);
      const mix = mixOf(space);
      if (mix?.names.length === 1)
        as.set(mix.names[0] as string, (await inksOf(mix, [[1]], press))[0] as unknown as Inks);
      const change = await changed(owner, key, space, walk, press);
      if (change) changes.push(change);
    }
    const scopes: Scope[] = [];
    for (const scope of walk.scopes) {
      const anew = await operatorsOf(scope, press);
      const content =
        anew.size > 0 ? rewritten(scope.content, scope.operations, (one) => anew.get(one)) : scope.content;
      const operations = anew.size > 0 ? operationsOf(content) : scope.operations;
      if (!operations) throw new Beyond();
      scopes.push({ ...scope, content, operations, changed: scope.changed || anew.size > 0 });
    }
    for (const change of changes) change();
    return { scopes, as };
  } catch (error) {
    if (error instanceof Beyond) return undefined;
    throw error;
  }
};

const mixOf = (space: PDFObject | undefined): Mix | undefined => {
  if (!(space instanceof PDFArray) || space.size() < 4) return undefined;
  const [kind, named] = [space.lookup(0), space.lookup(1)];
  const names =
    kind === name("Separation") && named instanceof PDFName
      ? [named.decodeText()]
      : kind === name("DeviceN") && named instanceof PDFArray
        ? named.asArray().map((one) => (one instanceof PDFName ? one.decodeText() : ""))
        : [];
  if (names.every((one) => PROCESS.has(one))) return undefined;
  const evaluate = evaluator(space.lookup(3));
  if (!evaluate) throw new Beyond();
  return { names, alternate: space.lookup(2), evaluate };
};

/** Inks of tints, shares from 0 to 1: CMYK that stands for a spot stays what it is, other colours go through the press's profile. */
const inksOf = async (
  { alternate, evaluate, names }: Mix,
  tints: readonly (readonly number[])[],
  press: PressColour,
): Promise<number[][]> => {
  if (tints.some((one) => one.length !== names.length)) throw new Beyond();
  if (alternate === name("DeviceCMYK"))
    return tints.map((one) => {
      const inks = evaluate(one).slice(0, 4);
      if (inks.length < 4 || !inks.every(Number.isFinite)) throw new Beyond();
      return inks.map((ink) => Math.min(1, Math.max(0, ink)));
    });
  const bytes = await inksOfTints(alternate, evaluate, tints, press);
  if (!bytes) throw new Beyond();
  return tints.map((_, i) => [...bytes.subarray(4 * i, 4 * i + 4)].map((ink) => ink / 255));
};

const hexOf = (inks: readonly (readonly number[])[]): PDFHexString =>
  PDFHexString.of(Buffer.from(inks.flatMap((one) => one.map((ink) => Math.round(ink * 255)))).toString("hex"));

/** How a place that names a space changes; undefined where it stays. */
const changed = async (
  owner: PDFDict,
  key: PDFName,
  space: PDFObject | undefined,
  walk: Walk,
  press: PressColour,
): Promise<(() => void) | undefined> => {
  const { context } = walk;
  const kind = space instanceof PDFArray && space.size() > 1 ? space.lookup(0) : undefined;
  const base = space instanceof PDFArray && space.size() > 1 ? mixOf(space.lookup(1)) : undefined;
  if (kind === name("Pattern") && base) throw new Beyond();
  if (kind === name("Indexed") && base) {
    const table = await paletteOf(space as PDFArray, base, press);
    return () => owner.set(key, table);
  }
  const mix = mixOf(space);
  if (!mix) return undefined;
  if (owner.lookup(name("Subtype")) === name("Image")) {
    const bits = owner.lookup(name("BitsPerComponent"));
    const depth = bits instanceof PDFNumber ? bits.asNumber() : 0;
    const filter = String(owner.lookup(name("Filter")) ?? "");
    const mask = owner.lookup(name("SMask"));
    const decode = owner.lookup(name("Decode"));
    const range = decode instanceof PDFArray ? decode.asArray().map((one) => Number(String(one))) : [0, 1];
    const plain = range.length === 2 && ((range[0] === 0 && range[1] === 1) || (range[0] === 1 && range[1] === 0));
    if (
      mix.names.length !== 1 ||
      ![1, 2, 4, 8].includes(depth) ||
      /DCT|JPX/.test(filter) ||
      !plain ||
      (mask instanceof PDFRawStream && mask.dict.has(name("Matte")))
    )
      throw new Beyond();
    const most = 2 ** depth - 1;
    const tints = Array.from({ length: most + 1 }, (_, i) => [(range[0] === 1 ? most - i : i) / most]);
    const palette = context.obj([name("Indexed"), name("DeviceCMYK"), most, hexOf(await inksOf(mix, tints, press))]);
    return () => {
      owner.set(key, palette);
      owner.delete(name("Decode"));
    };
  }
  if (owner.has(name("ShadingType"))) return gradient(owner, mix, walk, press);
  return () => owner.set(key, name("DeviceCMYK"));
};

/** An indexed space over spot inks as one over CMYK. */
const paletteOf = async (space: PDFArray, mix: Mix, press: PressColour): Promise<PDFArray> => {
  const stored = space.lookup(3);
  const bytes =
    stored instanceof PDFRawStream
      ? unpack(stored)
      : stored instanceof PDFHexString || stored instanceof PDFString
        ? stored.asBytes()
        : undefined;
  const inputs = mix.names.length;
  if (!bytes || bytes.length < inputs) throw new Beyond();
  const tints = Array.from({ length: Math.floor(bytes.length / inputs) }, (_, i) =>
    [...bytes.subarray(i * inputs, (i + 1) * inputs)].map((value) => value / 255),
  );
  const anew = space.clone();
  anew.set(1, name("DeviceCMYK"));
  anew.set(3, hexOf(await inksOf(mix, tints, press)));
  return anew;
};

/** A gradient along a line or between circles: its colours as a table of inks. */
const gradient = async (owner: PDFDict, mix: Mix, walk: Walk, press: PressColour): Promise<() => void> => {
  const values = valuesAlong(owner);
  if (!values || owner.has(name("Background"))) throw new Beyond();
  const inks = await inksOf(mix, values.colours, press);
  const bytes = Uint8Array.from(inks.flat(), (ink) => Math.round(ink * 255));
  const table = await inkRamp(walk, bytes, values.domain);
  return () => {
    owner.set(name("ColorSpace"), name("DeviceCMYK"));
    owner.set(name("Function"), table);
  };
};

/** The operators of a stream that choose spot inks, as those that set CMYK. Forms that go on in the colour they are met in may meet a spot. */
const operatorsOf = async (
  { operations, resources, begins }: Scope,
  press: PressColour,
): Promise<ReadonlyMap<Operation, string>> => {
  const spaces = resources.lookupMaybe(name("ColorSpace"), PDFDict);
  const known = new Map<string, Mix | undefined>();
  const named = (operand: number | string | undefined): Mix | undefined => {
    const key = String(operand);
    if (!known.has(key)) known.set(key, mixOf(spaces?.lookup(name(key.slice(1)))));
    return known.get(key);
  };
  type Chosen = Mix | "other" | "unknown";
  let now: { readonly fill: Chosen; readonly stroke: Chosen } = {
    fill: begins ? "other" : "unknown",
    stroke: begins ? "other" : "unknown",
  };
  const saved: (typeof now)[] = [];
  const anew = new Map<Operation, string>();
  const write = async (operation: Operation, mix: Mix, tints: readonly number[], as: "k" | "K"): Promise<void> => {
    const [inks] = await inksOf(mix, [tints], press);
    anew.set(operation, `${inks?.map((ink) => String(Number(ink.toFixed(4)))).join(" ")} ${as}`);
  };
  for (const operation of operations) {
    const { operator, operands, inline } = operation;
    if (inline && named(inlineSpaceOf(inline))) throw new Beyond();
    if (operator === "q") saved.push(now);
    else if (operator === "Q") now = saved.pop() ?? now;
    else if (/^(?:k|g|rg)$/.test(operator)) now = { ...now, fill: "other" };
    else if (/^(?:K|G|RG)$/.test(operator)) now = { ...now, stroke: "other" };
    else if (operator === "cs" || operator === "CS") {
      const mix = named(operands[0]);
      now = operator === "cs" ? { ...now, fill: mix ?? "other" } : { ...now, stroke: mix ?? "other" };
      // Spot inks begin at full strength (ISO 32000, 8.6.6.4).
      if (mix)
        await write(
          operation,
          mix,
          mix.names.map(() => 1),
          operator === "cs" ? "k" : "K",
        );
    } else if (/^scn?$/i.test(operator)) {
      const fill = operator.startsWith("s");
      const chosen = fill ? now.fill : now.stroke;
      if (chosen === "unknown") throw new Beyond();
      if (chosen !== "other") await write(operation, chosen, operands.map(Number), fill ? "k" : "K");
    }
  }
  return anew;
};
