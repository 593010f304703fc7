import { readdir, readFile, rm, stat } from "node:fs/promises";
import { basename, join } from "node:path";
import { layWhole, makeFolder, type Sharing } from "@kitforme/run";
import type { ObjectStore } from "./object-store.ts";

const PARTS = "parts/";
/** Objects that are sent or fetched at the same time. */
const TOGETHER = 4;
/** What makers who were killed left is removed when it is so old, ms: longer than any gang takes. */
const AGE = 24 * 3600_000;

/** What an attempt hands over lies in the store under the name of its folder, which is the attempt's. */
const placeOf = (folder: string): string => `${PARTS}${basename(folder)}/`;

/**
 * Others who may do parts of a gang, and who see the store instead of the folder: what a maker has laid into it is put into the
 * store before it is offered, and what others did is fetched before it is taken over.
 */
export const throughStore = (
  sharing: Omit<Sharing, "folder" | "turn">,
  store: ObjectStore,
  folder: string,
): Omit<Sharing, "folder" | "turn"> => {
  const sent = new Set<string>();
  return {
    wanted: () => sharing.wanted(),
    async offer(stage, numbers) {
      // While the store is away nobody can have what is offered: whoever tries gives it back, and it is done here.
      await sendNew(store, folder, sent).catch(() => undefined);
      await sharing.offer(stage, numbers);
    },
    async take() {
      const taken = await sharing.take();
      for (const { part } of taken.done) {
        sent.add(part);
        // What is not there is not whole, and is done here.
        await fetchOne(store, folder, part).catch(() => undefined);
      }
      return taken;
    },
  };
};

/** Fetches what a helper needs for parts that were handed over: all that lies there and is not in its folder yet. */
export const fetchParts = async (store: ObjectStore, folder: string): Promise<void> => {
  await makeFolder(folder);
  const here = new Set(await readdir(folder));
  const listed = await store.list(placeOf(folder));
  const names = listed.map(({ key }) => basename(key)).filter((name) => !here.has(name) && !IS_PART.test(name));
  await together(names, (name) => fetchOne(store, folder, name));
};

/** Puts a part that was done into the store. */
export const sendPart = async (store: ObjectStore, folder: string, part: string): Promise<void> => {
  await store.put(placeOf(folder) + part, await readFile(join(folder, part)));
  await rm(join(folder, part), { force: true });
};

/** Removes all that an attempt handed over. */
export const dropParts = async (store: ObjectStore, folder: string): Promise<void> => {
  const listed = await store.list(placeOf(folder));
  await together(listed, ({ key }) => store.remove(key));
};

/** Removes what attempts handed over that ended with their processes. */
export const sweepParts = async (store: ObjectStore, age = AGE): Promise<void> => {
  const listed = await store.list(PARTS);
  await together(
    listed.filter(({ at }) => Date.now() - at > age),
    ({ key }) => store.remove(key),
  );
};

/** Parts that others did, of no use to a helper; and files that are not whole yet. */
const IS_PART = /^part-|\.part$/;

const sendNew = async (store: ObjectStore, folder: string, sent: Set<string>): Promise<void> => {
  const names = (await readdir(folder)).filter((name) => !sent.has(name) && !IS_PART.test(name));
  await together(names, async (name) => {
    await store.put(placeOf(folder) + name, await readFile(join(folder, name)));
    sent.add(name);
  });
};

const fetchOne = async (store: ObjectStore, folder: string, name: string): Promise<void> => {
  const file = join(folder, name);
  if (await stat(file).catch(() => undefined)) return;
  const bytes = await store.get(placeOf(folder) + name);
  // Two parts of one gang may be in hand here and want the same file.
  if (bytes) await layWhole(file, bytes);
};

const together = async <T>(things: readonly T[], work: (thing: T) => Promise<unknown>): Promise<void> => {
  const left = [...things];
  const lane = async (): Promise<void> => {
    for (let thing = left.shift(); thing !== undefined; thing = left.shift()) await work(thing);
  };
  await Promise.all(Array.from({ length: TOGETHER }, lane));
};
