import { type Finding, kitNamedIn, say } from "@kitforme/kit";
import { type KitStore, Unfit } from "./world.ts";

/** A kit as it stands in its folder; nobody has judged it yet. */
export interface Shelved {
  /** The name that orders call it by: the one in kit.json, else the folder's. */
  readonly kit: string;
  readonly folder: string;
  /** The text of kit.json; undefined when there is none. */
  readonly text: string | undefined;
  /** Why kit.json is not read, though it is there. */
  readonly why?: string;
}

/**
 * The kits of some folders, each kit.json opened once.
 *
 * @example
 * const store = kitsIn("kits");
 * for (const { kit, folder } of await shelve(store, await store.folders())) console.log(kit, "lies in", folder);
 */
export const shelve = async (store: KitStore, folders: readonly string[]): Promise<Shelved[]> => {
  const shelf: Shelved[] = [];
  for (const folder of folders) {
    const bytes = await store.read(folder, "kit.json").catch((error: unknown) => {
      if (error instanceof Unfit) return error;
      throw error;
    });
    if (bytes instanceof Unfit) {
      shelf.push({ kit: nameOf(folder), folder, text: undefined, why: bytes.why });
      continue;
    }
    const text = bytes && new TextDecoder().decode(bytes);
    shelf.push({ kit: (text && kitNamedIn(text)) || nameOf(folder), folder, text });
  }
  return shelf;
};

/** A kit folder's own name, when it is known by a whole path. */
export const nameOf = (folder: string): string => folder.split(/[\\/]/).findLast((part) => part !== "") ?? folder;

/**
 * One folder for each name: the one that is called so, else the first. A second one is reported by `namesTwice`, and nothing is made.
 *
 * @example
 * const store = kitsIn("kits");
 * const lantern = byName(await shelve(store, await store.folders())).get("harbour-lantern");
 */
export const byName = (shelf: readonly Shelved[]): Map<string, Shelved> => {
  const chosen = new Map<string, Shelved>();
  for (const one of shelf) if (!chosen.has(one.kit) || nameOf(one.folder) === one.kit) chosen.set(one.kit, one);
  return chosen;
};

/** A name that leads to two kits leads to the wrong one: reported for each that is wanted. */
export const namesTwice = (shelf: readonly Shelved[], wanted: ReadonlySet<string>): Finding[] => {
  const folders = new Map<string, string[]>();
  for (const { kit, folder } of shelf) if (wanted.has(kit)) folders.set(kit, [...(folders.get(kit) ?? []), folder]);
  return [...folders].flatMap(([kit, all]) =>
    all.length > 1 ? [say("kit-twice", { kit }, { kit, folders: all })] : [],
  );
};
