// Gradients of a page that are RGB or Lab, in the inks of a CMYK press: a RIP would convert them by an intent of its own and past the press's
// ink limit, as it would pictures.
import { PDFArray, PDFDict, PDFName, PDFNumber, type PDFObject, type PDFRef } from "../../pdf-lib.ts";
import type { PressColour } from "../../colour/profile.ts";
import type { Scope } from "./anatomy.ts";
import { inlineSpaceOf } from "./content.ts";
import { evaluator } from "./evaluate.ts";
import type { Inked } from "./ink-pictures.ts";
import { inksOfLight, type Meanings, sharesOf } from "./meaning.ts";
import { packed } from "./pack.ts";
import type { Walk } from "./walk.ts";

const name = (key: string): PDFName => PDFName.of(key);
/** Samples of a gradient: steps of its colours are no wider than a thousandth of its length. */
export const SHADING_STEPS = 1024;

/** Plans the inks of every such gradient along a line or between circles; meshes and such pictures in the content are reasons to raster. */
export const inkShadings = async (walk: Walk, meanings: Meanings, press: PressColour): Promise<Inked> => {
  const changes: (() => void)[] = [];
  const reasons = new Set<string>();
  for (const { owner } of walk.slots) {
    const meaning = owner.has(name("ShadingType")) ? await meanings(owner.lookup(name("ColorSpace"))) : undefined;
    if (meaning === undefined) continue;
    if (meaning === "unreadable") {
      reasons.add("colours whose profile cannot be read");
      continue;
    }
    const values = valuesAlong(owner);
    if (!values || owner.has(name("Background"))) {
      reasons.add("a gradient of RGB colours that follows no line or circle");
      continue;
    }
    if (values.colours.some((colour) => colour.length !== 3)) {
      reasons.add("a gradient of RGB colours that has not three values for each");
      continue;
    }
    const table = await inkRamp(
      walk,
      await inksOfLight(meaning, sharesOf(meaning, values.colours), press),
      values.domain,
    );
    changes.push(() => {
      owner.set(name("ColorSpace"), name("DeviceCMYK"));
      owner.set(name("Function"), table);
    });
  }
  for (const scope of walk.scopes)
    if (await inlineLight(scope, meanings)) reasons.add("an RGB picture inside the page's content");
  return {
    apply: () => {
      for (const change of changes) change();
    },
    reasons: [...reasons],
  };
};

/** Values of a gradient's own space, evenly along it; undefined for those of other kinds. */
export const valuesAlong = (
  owner: PDFDict,
): { readonly domain: readonly [number, number]; readonly colours: readonly number[][] } | undefined => {
  const type = owner.lookup(name("ShadingType"));
  if (!(type instanceof PDFNumber) || (type.asNumber() !== 2 && type.asNumber() !== 3)) return undefined;
  const stored = owner.lookup(name("Function"));
  const functions = (stored instanceof PDFArray ? stored.asArray().map((_, i) => stored.lookup(i)) : [stored]).map(
    (one: PDFObject | undefined) => evaluator(one),
  );
  const domain = owner.lookup(name("Domain"));
  const [from, to] = domain instanceof PDFArray ? domain.asArray().map((one) => Number(String(one))) : [0, 1];
  if (functions.some((one) => !one) || from === undefined || to === undefined || !(to > from)) return undefined;
  const colours = Array.from({ length: SHADING_STEPS }, (_, i) => {
    const at = from + ((to - from) * i) / (SHADING_STEPS - 1);
    return functions.flatMap((one) => one?.([at]) ?? []);
  });
  return colours.every((values) => values.every(Number.isFinite)) ? { domain: [from, to], colours } : undefined;
};

/** Inks along a gradient as a function of it: four bytes a step. */
export const inkRamp = async (
  { context }: Walk,
  inks: Uint8Array,
  domain: readonly [number, number],
): Promise<PDFRef> =>
  context.register(
    await packed(context, inks, {
      FunctionType: context.obj(0),
      Domain: context.obj([...domain]),
      Range: context.obj([0, 1, 0, 1, 0, 1, 0, 1]),
      Size: context.obj([inks.length / 4]),
      BitsPerSample: context.obj(8),
    }),
  );

/** A picture written out in a content stream, in RGB by its device's name or in a space of light by a name of the resources. */
const inlineLight = async ({ operations, resources }: Scope, meanings: Meanings): Promise<boolean> => {
  for (const { inline } of operations) {
    const space = inline && inlineSpaceOf(inline);
    if (!space) continue;
    if (space === "/RGB" || space === "/DeviceRGB") return true;
    const named = resources.lookupMaybe(name("ColorSpace"), PDFDict)?.lookup(name(space.slice(1)));
    const base = named instanceof PDFArray && named.lookup(0) === name("Indexed") ? undefined : named;
    if ((await meanings(base)) !== undefined) return true;
  }
  return false;
};
