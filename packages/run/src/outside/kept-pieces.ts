import { createHash } from "node:crypto";
import { deserialize, serialize } from "node:v8";
import type { Press } from "@kitforme/kit";
import type { FolderCache } from "../folder-cache.ts";
import { hashProgram } from "../hash-program.ts";
import { ownCopy } from "./own-copy.ts";
import type { Answers, SpooledLayer, SpooledPiece, Want } from "./tasks.ts";

type Answer = Answers["prepare"];

/** The spool that pieces lie in. */
interface Bytes {
  get(at: SpooledLayer["bytes"]): Uint8Array;
  put(bytes: Uint8Array): SpooledLayer["bytes"];
}

/** An answer with the bytes of its layers in it. */
interface Whole {
  readonly answer: Answer;
  readonly bytes: readonly { readonly bytes: Uint8Array; readonly profile: Uint8Array | undefined }[];
}

/**
 * Plain data as text, the same for the same values. Not v8's form: that tells apart how values happen to be held in memory, so
 * that the second job did not find what the first had kept.
 */
const spelled = (value: unknown): string =>
  JSON.stringify(value, function (this: Record<string, unknown>, key: string, shown: unknown): unknown {
    const raw = this[key];
    if (raw instanceof Uint8Array) return `bytes ${createHash("sha256").update(raw).digest("hex")}`;
    if (raw instanceof Map || raw instanceof Set) throw new Error(`${key} of a piece or a press cannot be hashed`);
    if (typeof raw === "number" && (Object.is(raw, -0) || !Number.isFinite(raw)))
      return `number ${Object.is(raw, -0) ? "-0" : raw}`;
    return shown;
  });

/** A hash of all that a piece is prepared from: its artwork, what is known of it, the press, and the program. Equal hashes mean equal answers. */
export const keyOf = async (piece: SpooledPiece, press: Press, want: Want, bytes: Bytes): Promise<string> => {
  const hash = createHash("sha256");
  // Without the places in the spool: where the bytes lie is arbitrary, what they are is hashed behind it.
  hash.update(spelled([await hashProgram(), want, piece.piece, press]));
  if (piece.artwork) hash.update(bytes.get(piece.artwork));
  return hash.digest("hex");
};

/** What was kept under the key; its layers are put into the spool. */
export const keptPiece = async (cache: FolderCache, key: string, spool: Bytes): Promise<Answer | undefined> => {
  const kept = await cache.get(key);
  if (!kept) return undefined;
  const { answer, bytes } = deserialize(kept) as Whole;
  const { value } = answer;
  if (!value) return answer;
  const layers = value.layers.map((layer, i): SpooledLayer => {
    const own = bytes[i];
    if (!own) throw new Error("a kept piece has fewer bytes than layers");
    return {
      layer: layer.layer,
      bytes: spool.put(own.bytes),
      profile: own.profile && spool.put(own.profile),
    };
  });
  return ownCopy({ ...answer, value: { ...value, layers } });
};

export const keepPiece = (cache: FolderCache, key: string, answer: Answer, spool: Bytes): Promise<void> => {
  const bytes = (answer.value?.layers ?? []).map(({ bytes: at, profile }) => ({
    bytes: spool.get(at),
    profile: profile && spool.get(profile),
  }));
  return cache.put(key, serialize({ answer, bytes } satisfies Whole));
};
