import { createHash, randomUUID } from "node:crypto";
import { lstat, mkdir, readdir, rename, rm, utimes, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { uploadsIn } from "@kitforme/queue";
import { Problem } from "../problem.ts";
import type { Context } from "../settings.ts";

/** Bytes of one picture: a photograph of 100 million pixels as JPEG. */
export const MOST_PICTURE = 32 << 20;
/** Bytes of all pictures that no order has fetched yet. */
const MOST_TOGETHER = 4 * 2 ** 30;
/** How long a picture waits for its order, ms. */
const KEPT = 24 * 3600_000;
/** How often old ones are looked for, ms. */
const SWEPT = 60_000;
const PATH = /^pictures\/([0-9a-f]{64})$/;
const HASH = /^[0-9a-f]{64}$/;

/**
 * Buyers' pictures that a store sends ahead of the order that names them: each a file by the hash of its bytes. They are copied to
 * their order when it is put on the queue, and dropped a day after they were last sent or named.
 */
export const picturesOf = (at: Context) => {
  const folder = join(uploadsIn(at.settings.house.out), "pictures");
  let swept = 0;
  let together = 0;

  /** Drops what nobody came for, and counts the rest. */
  const sweep = async (): Promise<void> => {
    const now = Date.now();
    if (now - swept < SWEPT) return;
    swept = now;
    let bytes = 0;
    for (const name of await readdir(folder)) {
      const facts = await lstat(join(folder, name)).catch(() => undefined);
      if (!facts) continue;
      if (now - facts.mtimeMs > KEPT) await rm(join(folder, name), { force: true });
      else bytes += facts.size;
    }
    together = bytes;
  };
  const isHere = async (hash: string): Promise<boolean> => {
    const path = join(folder, hash);
    const facts = await lstat(path).catch((error: unknown) => {
      if (error instanceof Error && "code" in error && error.code === "ENOENT") return undefined;
      throw error;
    });
    if (!facts?.isFile()) return false;
    const now = new Date();
    await utimes(path, now, now);
    return true;
  };

  return {
    /** Keeps a picture. Throws 400 where its bytes have another hash. */
    take: async (hash: string, bytes: Uint8Array): Promise<{ readonly file: string; readonly bytes: number }> => {
      const is = createHash("sha256").update(bytes).digest("hex");
      if (!HASH.test(hash) || is !== hash)
        throw new Problem(400, `The address is to be the SHA-256 of the bytes, which is ${is}.`);
      const answer = { file: `pictures/${hash}`, bytes: bytes.length };
      await mkdir(folder, { recursive: true });
      await sweep();
      if (await isHere(hash)) return answer;
      if (together + bytes.length > MOST_TOGETHER) throw new Problem(503, "There is no room for more pictures now.");
      together += bytes.length;
      const part = join(folder, `part-${randomUUID()}`);
      try {
        await writeFile(part, bytes, { flag: "wx" });
        await rename(part, join(folder, hash));
      } catch (error) {
        await rm(part, { force: true });
        throw error;
      }
      return answer;
    },
    /** Whether a path in an order's texts is a picture that was sent: nothing else of the shop's disk is read for whoever asks by HTTP. */
    has: async (file: string): Promise<boolean> => {
      const [, hash] = PATH.exec(file) ?? [];
      return hash !== undefined && (await isHere(hash));
    },
    /** What the paths in orders are beside. */
    beside: join(uploadsIn(at.settings.house.out), "order"),
  };
};
