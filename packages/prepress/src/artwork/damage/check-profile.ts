import { createHash } from "node:crypto";
import { Broken } from "./damage.ts";

/**
 * Throws `Broken` where an ICC profile is damaged (ICC.1, 7.2 and 7.3): colour engines pass over a profile that they cannot
 * read, and the picture's colours become others. The check sum is looked at where the profile has one.
 */
export const checkProfile = (bytes: Uint8Array): void => {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const text = (at: number): string => Buffer.from(bytes.subarray(at, at + 4)).toString("latin1");
  if (bytes.length < 132 || text(36) !== "acsp") throw new Broken("its colour profile is no profile");
  const size = view.getUint32(0);
  // Padding behind the profile is common.
  if (size > bytes.length || size < 132) throw new Broken("its colour profile is cut off");
  const count = view.getUint32(128);
  if (count === 0 || 132 + 12 * count > size) throw new Broken("the table of its colour profile is damaged");
  for (let i = 0; i < count; i++) {
    const [at, length] = [view.getUint32(136 + 12 * i), view.getUint32(140 + 12 * i)];
    if (at + length > size) throw new Broken("its colour profile is damaged: a tag lies beyond its end");
  }
  const sum = Buffer.from(bytes.subarray(84, 100));
  if (sum.every((byte) => byte === 0)) return;
  const copy = Buffer.from(bytes.subarray(0, size));
  // Flags, intent and the sum itself count as 0 (7.2.18).
  copy.fill(0, 44, 48).fill(0, 64, 68).fill(0, 84, 100);
  if (!createHash("md5").update(copy).digest().equals(sum))
    throw new Broken("the check sum of its colour profile is wrong");
};
