// oxlint-disable-next-line typescript/triple-slash-reference -- the only way the types reach programs that read these sources
/// <reference path="./lcms-wasm.d.ts" />
import { createHash } from "node:crypto";
import {
  cmsFLAGS_BLACKPOINTCOMPENSATION,
  cmsFLAGS_NOCACHE,
  instantiate,
  INTENT_PERCEPTUAL,
  INTENT_RELATIVE_COLORIMETRIC,
  INTENT_SATURATION,
  TYPE_CMYK_8,
  TYPE_GRAY_8,
  TYPE_Lab_16,
  TYPE_Lab_8,
  TYPE_RGB_16,
  TYPE_RGB_8,
} from "lcms-wasm";

export type Intent = "perceptual" | "relative" | "saturation";

/** A colour space of 8-bit values: by its profile, or CIE L*a*b* (L* from 0 to 100 as 0 to 255, a* and b* from -128 as 0). */
export type Space = Uint8Array | "lab";

const INTENTS: Readonly<Record<Intent, number>> = {
  perceptual: INTENT_PERCEPTUAL,
  relative: INTENT_RELATIVE_COLORIMETRIC,
  saturation: INTENT_SATURATION,
};
const KINDS: Readonly<Record<string, { readonly format: number; readonly channels: number }>> = {
  "RGB ": { format: TYPE_RGB_8, channels: 3 },
  "RGB  16": { format: TYPE_RGB_16, channels: 3 },
  CMYK: { format: TYPE_CMYK_8, channels: 4 },
  GRAY: { format: TYPE_GRAY_8, channels: 1 },
  lab: { format: TYPE_Lab_8, channels: 3 },
  "lab 16": { format: TYPE_Lab_16, channels: 3 },
};

/** Pixels at a time: the engine copies what it is given. */
const BLOCK = 300_000;

let loaded: ReturnType<typeof instantiate> | undefined;
/** Transforms by what they are made of; a shop has a handful. */
const made = new Map<string, number>();

const kindOf = (space: Space, fine = false) => {
  const name = space === "lab" ? space : Buffer.from(space.subarray(16, 20)).toString("latin1");
  const kind = KINDS[fine ? `${name} 16` : name];
  if (!kind) throw new Error(`no colours of ${name.trim()} are converted`);
  return kind;
};

const keyOf = (space: Space): string => (space === "lab" ? space : createHash("sha256").update(space).digest("base64"));

/**
 * Converts 8-bit values, interleaved, from one space to another by LittleCMS, with black-point compensation. Where sharp
 * fixes the intent to perceptual without it, this takes what the press asks for.
 *
 * @param data RGB and Lab may come in 16 bits too: in 8 the steps of Lab are whole units, and dark ones are 3 % of an ink apart
 * @throws when a profile cannot be used: check it first
 */
export async function convert(
  data: Uint8Array | Uint16Array,
  from: Space,
  to: Space,
  intent: Intent,
): Promise<Uint8Array> {
  loaded ??= instantiate();
  const cms = await loaded;
  const fine = data instanceof Uint16Array;
  const [source, target] = [kindOf(from, fine), kindOf(to)];
  const key = [keyOf(from), fine, keyOf(to), intent].join(" ");
  let transform = made.get(key);
  if (transform === undefined) {
    const [a, b] = [from, to].map((space) =>
      space === "lab" ? cms.cmsCreateLab4Profile() : cms.cmsOpenProfileFromMem(space, space.length),
    ) as [number, number];
    const flags = cmsFLAGS_BLACKPOINTCOMPENSATION | cmsFLAGS_NOCACHE;
    transform = a && b ? cms.cmsCreateTransform(a, source.format, b, target.format, INTENTS[intent], flags) : 0;
    for (const profile of [a, b]) if (profile) cms.cmsCloseProfile(profile);
    if (!transform) throw new Error("LittleCMS cannot make a transform of these profiles");
    made.set(key, transform);
  }
  const pixels = data.length / source.channels;
  const out = new Uint8Array(pixels * target.channels);
  for (let at = 0; at < pixels; at += BLOCK) {
    const count = Math.min(BLOCK, pixels - at);
    const block = data.subarray(at * source.channels, (at + count) * source.channels);
    out.set(cms.cmsDoTransform(transform, block, count), at * target.channels);
  }
  return out;
}
