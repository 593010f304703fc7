// oxlint-disable-next-line typescript/triple-slash-reference -- the only way the types reach programs that read these sources
/// <reference path="./lcms-wasm.d.ts" />
import { createHash } from "node:crypto";
import {
  cmsFLAGS_BLACKPOINTCOMPENSATION,
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
/** Transforms kept ready; a shop has a handful, but every picture may bring a profile of its own. */
const MOST_READY = 64;

const kindOf = (space: Space, fine = false) => {
  const name = space === "lab" ? space : Buffer.from(space.subarray(16, 20)).toString("latin1");
  const kind = KINDS[fine ? `${name} 16` : name];
  if (!kind) throw new Error(`no colours of ${name.trim()} are converted`);
  return kind;
};

const keyOf = (space: Space): string => (space === "lab" ? space : createHash("sha256").update(space).digest("base64"));

/** LittleCMS, and the transforms that it has ready. */
class Engine {
  readonly #cms: Awaited<ReturnType<typeof instantiate>>;
  /** By what they are made of, the one that was used last at the end. */
  readonly #ready = new Map<string, number>();

  constructor(cms: Awaited<ReturnType<typeof instantiate>>) {
    this.#cms = cms;
  }

  convert(data: Uint8Array | Uint16Array, from: Space, to: Space, intent: Intent): Uint8Array {
    const fine = data instanceof Uint16Array;
    const { channels } = kindOf(from, fine);
    const transform = this.#transform(from, fine, to, intent);
    const pixels = data.length / channels;
    const target = kindOf(to).channels;
    const out = new Uint8Array(pixels * target);
    for (let at = 0; at < pixels; at += BLOCK) {
      const count = Math.min(BLOCK, pixels - at);
      const block = data.subarray(at * channels, (at + count) * channels);
      out.set(this.#cms.cmsDoTransform(transform, block, count), at * target);
    }
    return out;
  }

  #transform(from: Space, fine: boolean, to: Space, intent: Intent): number {
    const key = [keyOf(from), fine, keyOf(to), intent].join(" ");
    const transform = this.#ready.get(key) ?? this.#make(from, fine, to, intent);
    this.#ready.delete(key);
    this.#ready.set(key, transform);
    for (const [eldest, old] of this.#ready) {
      if (this.#ready.size <= MOST_READY) break;
      this.#ready.delete(eldest);
      this.#cms.cmsDeleteTransform(old);
    }
    return transform;
  }

  #make(from: Space, fine: boolean, to: Space, intent: Intent): number {
    const cms = this.#cms;
    const [source, target] = [kindOf(from, fine), kindOf(to)];
    const [a, b] = [from, to].map((space) =>
      space === "lab" ? cms.cmsCreateLab4Profile() : cms.cmsOpenProfileFromMem(space, space.length),
    ) as [number, number];
    // With the engine's memory of the last pixel: in drawings most are like the one before.
    const flags = cmsFLAGS_BLACKPOINTCOMPENSATION;
    const transform = a && b ? cms.cmsCreateTransform(a, source.format, b, target.format, INTENTS[intent], flags) : 0;
    for (const profile of [a, b]) if (profile) cms.cmsCloseProfile(profile);
    if (!transform) throw new Error("LittleCMS cannot make a transform of these profiles");
    return transform;
  }
}

let loaded: Promise<Engine> | undefined;

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
  loaded ??= instantiate().then((cms) => new Engine(cms));
  return (await loaded).convert(data, from, to, intent);
}
