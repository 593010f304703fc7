// Colour spaces of a page that a RIP would convert by a profile of its own, as the inks of a CMYK press: solids chosen in RGB of any
// profile, CalRGB and Lab change their operators, palettes their tables. Greys of a profile are black ink, CMYK of a profile is the
// press's: their values stay.
import { PDFArray, PDFDict, PDFName, type PDFObject, PDFRawStream } from "../../pdf-lib.ts";
import type { PressColour } from "../../colour/profile.ts";
import type { Scope } from "./anatomy.ts";
import { componentsOf } from "./components-of.ts";
import type { Operation } from "./content.ts";
import { type Inked, inkedPalette } from "./ink-pictures.ts";
import { inksOfLight, type Meaning, type Meanings, sharesOf } from "./meaning.ts";
import type { Walk } from "./walk.ts";

const name = (key: string): PDFName => PDFName.of(key);
const UNREADABLE = "colours whose profile cannot be read";
const INHERITED = "a form that goes on in the RGB or Lab colours it is met in";
const MISWRITTEN = "an RGB or Lab colour that has not three values";

/** The device space with the same values: grey and CMYK of a profile. */
const device = (space: PDFObject | undefined): PDFName | undefined => {
  if (!(space instanceof PDFArray)) return undefined;
  const count = componentsOf(space);
  return count === 1 ? name("DeviceGray") : count === 4 ? name("DeviceCMYK") : undefined;
};

/** Plans the named spaces, palettes and patterns of a page; solids are planned by `solidsOfLight`. */
export const inkSpaces = async (walk: Walk, meanings: Meanings, press: PressColour): Promise<Inked> => {
  const changes: (() => void)[] = [];
  const reasons = new Set<string>();
  for (const { owner, key } of walk.slots) {
    const image = owner.lookup(name("Subtype")) === name("Image");
    const shading = owner.has(name("ShadingType"));
    if (/^\/Default(?:Gray|RGB|CMYK)$/.test(key.toString()) && !image && !shading) {
      // Device colours are the press's own by now.
      changes.push(() => owner.delete(key));
      continue;
    }
    const space = owner.lookup(key);
    const same = device(space);
    if (same) changes.push(() => owner.set(key, same));
    if (same || !(space instanceof PDFArray) || space.size() === 0) continue;
    const kind = space.lookup(0);
    const within =
      kind === name("Indexed") || (kind === name("Pattern") && space.size() > 1) ? space.lookup(1) : undefined;
    const meaning = await meanings(within ?? space);
    const base = device(within);
    if (base) changes.push(() => owner.set(key, withBase(space, base)));
    else if (meaning === "unreadable" && !(within === undefined && (image || shading))) reasons.add(UNREADABLE);
    else if (meaning === undefined || meaning === "unreadable") continue;
    else if (kind === name("Indexed")) {
      const mask = image ? owner.lookup(name("SMask")) : undefined;
      const matte = mask instanceof PDFRawStream && mask.dict.has(name("Matte"));
      const palette = matte ? undefined : await inkedPalette(walk.context, space, meaning, press, !image);
      if (palette) changes.push(() => owner.set(key, palette));
      else
        reasons.add(matte ? "an RGB or Lab picture mixed with a colour beforehand" : "a palette that cannot be read");
    } else if (kind === name("Pattern")) changes.push(() => owner.set(key, withBase(space, name("DeviceCMYK"))));
    // What a mask draws may share the page's names, and keeps its operators.
    else if (!image && !shading && !walk.masked) changes.push(() => owner.set(key, name("DeviceCMYK")));
  }
  const chosen = await Promise.all(walk.scopes.map((scope) => solidsIn(scope, meanings)));
  const any =
    chosen.some(({ solids }) => solids.length > 0) || walk.scopes.some(({ operations }) => operations.some(isDevice));
  for (const { miswritten, inherits } of chosen) {
    if (miswritten) reasons.add(MISWRITTEN);
    if (inherits && any) reasons.add(INHERITED);
  }
  return {
    apply: () => {
      for (const change of changes) change();
    },
    reasons: [...reasons],
  };
};

const isDevice = ({ operator, operands }: Operation): boolean => /^cs$/i.test(operator) && operands[0] === "/DeviceRGB";

const withBase = (space: PDFArray, base: PDFName): PDFArray => {
  const anew = space.clone();
  anew.set(1, base);
  return anew;
};

/** The operators that choose RGB or Lab by a name of the resources, as those that set CMYK. Call it before `inkSpaces` is applied. */
export const solidsOfLight = async (
  scope: Scope,
  meanings: Meanings,
  press: PressColour,
): Promise<ReadonlyMap<Operation, string>> => {
  const { solids } = await solidsIn(scope, meanings);
  const anew = new Map<Operation, string>();
  const together = new Map<Meaning, Solid[]>();
  for (const solid of solids) together.set(solid.meaning, [...(together.get(solid.meaning) ?? []), solid]);
  for (const [meaning, all] of together) {
    const colours = all.map(({ operation }) => operation.operands.slice(0, 3).map(Number));
    const inks = await inksOfLight(meaning, sharesOf(meaning, colours), press, { pureBlack: true });
    for (const [i, { operation, as }] of all.entries()) {
      const four = [...inks.subarray(4 * i, 4 * i + 4)].map((ink) => String(Number((ink / 255).toFixed(4)))).join(" ");
      const [, , , pattern] = operation.operands;
      if (as === "cs" || as === "CS") anew.set(operation, `/DeviceCMYK ${as}`);
      else anew.set(operation, pattern === undefined ? `${four} ${as}` : `${four} ${pattern} ${operation.operator}`);
    }
  }
  return anew;
};

interface Solid {
  readonly operation: Operation;
  readonly meaning: Meaning;
  readonly as: "k" | "K" | "cs" | "CS";
}

/** What of a scope chooses such colours; a choice of the space itself sets black. `inherits`: some colour is of a space chosen elsewhere. */
const solidsIn = async (
  { operations, resources, begins }: Scope,
  meanings: Meanings,
): Promise<{ readonly solids: readonly Solid[]; readonly miswritten: boolean; readonly inherits: boolean }> => {
  const solids: Solid[] = [];
  let [miswritten, inherits] = [false, false];
  type Chosen = { readonly meaning: Meaning; readonly patterns: boolean } | "other" | "unknown";
  const known = new Map<string, Chosen>();
  const named = async (operand: number | string | undefined): Promise<Chosen> => {
    const key = String(operand);
    const before = known.get(key);
    if (before) return before;
    const space = resources.lookupMaybe(name("ColorSpace"), PDFDict)?.lookup(name(key.slice(1)));
    const patterns = space instanceof PDFArray && space.size() > 1 && space.lookup(0) === name("Pattern");
    const meaning = await meanings(patterns ? space.lookup(1) : space);
    const found = meaning === undefined || meaning === "unreadable" ? "other" : { meaning, patterns };
    known.set(key, found);
    return found;
  };
  const start: Chosen = begins ? "other" : "unknown";
  let now: { readonly fill: Chosen; readonly stroke: Chosen } = { fill: start, stroke: start };
  const saved: (typeof now)[] = [];
  for (const operation of operations) {
    const { operator, operands } = operation;
    if (operator === "q") saved.push(now);
    else if (operator === "Q") now = saved.pop() ?? now;
    else if (/^(?:k|g|rg)$/.test(operator)) now = { ...now, fill: "other" };
    else if (/^(?:K|G|RG)$/.test(operator)) now = { ...now, stroke: "other" };
    else if (operator === "cs" || operator === "CS") {
      const chosen = await named(operands[0]);
      now = operator === "cs" ? { ...now, fill: chosen } : { ...now, stroke: chosen };
      if (typeof chosen !== "string" && !chosen.patterns)
        solids.push({ operation, meaning: chosen.meaning, as: operator });
    } else if (/^scn?$/i.test(operator)) {
      const fill = operator.startsWith("s");
      const chosen = fill ? now.fill : now.stroke;
      if (chosen === "unknown") inherits = true;
      if (typeof chosen === "string") continue;
      const [pattern] = operands.slice(3);
      const three = operands.slice(0, 3).every((one) => typeof one === "number") && operands.length >= 3;
      const wanted = chosen.patterns ? operands.length === 4 && typeof pattern === "string" : operands.length === 3;
      // A pattern with colours of its own may be chosen in any space of patterns.
      if (chosen.patterns && operands.length === 1) continue;
      if (three && wanted) solids.push({ operation, meaning: chosen.meaning, as: fill ? "k" : "K" });
      else miswritten = true;
    }
  }
  return { solids, miswritten, inherits };
};
