import { kitsNamedIn } from "@kitforme/kit";
import { byName, type Effort, type Finding, shelve } from "@kitforme/run";
import type { Redis } from "ioredis";
import { join } from "node:path";
import { freezeKit, freezePictures, freezeShop, picturesNamedIn } from "./freeze.ts";
import { HouseMemory } from "./house-memory.ts";
import { kitsOnShare, shopOnShare } from "./jobs/share.ts";
import { digestOf, type Keys } from "./keys.ts";
import { script } from "./scripts.ts";
import { type Frozen, sendFrozen } from "./store/frozen-in-store.ts";
import type { ObjectStore } from "./store/object-store.ts";
import { say } from "./words.ts";

/** An order as it is handed in. */
export interface Submission {
  readonly name: string;
  readonly file: string;
  readonly text: string;
  /** The file that its pictures lie beside; left out, `file`. */
  readonly beside?: string;
  /** Parsed content, as far as JSON goes. */
  readonly content: unknown;
}

/** How orders of one call are treated. */
export interface SubmitHow {
  readonly effort: Effort;
  /** Made at once, those of this call together, without waiting for a gang to fill. */
  readonly now?: boolean;
  /** An order of the same name that is not ganged yet is replaced. */
  readonly change?: boolean;
  /** Where shop, kits and jobs are, when the submitter can see them: then kits and shop are frozen here, else by the first worker. */
  readonly house?: House;
  /** Freezes in the house's place, for who submits often: see `freezeTogether`. Undefined: the first worker freezes. */
  readonly freeze?: (orders: readonly { readonly text: string }[]) => Promise<FrozenHouse | undefined>;
}

/** Paths of a shop's file, its folder of kits and its folder of jobs. */
export interface House {
  readonly shop: string;
  readonly kits: string;
  readonly out: string;
  /** Where what was frozen goes for workers that do not see the folder of jobs. */
  readonly store?: ObjectStore;
  /** What the process remembers of these folders, for who submits often. */
  readonly memory?: HouseMemory;
}

/** What shop and kits are at one moment: their ids in the store, kits by their names. */
export interface FrozenHouse {
  readonly shop: string;
  readonly kits: ReadonlyMap<string, string>;
}

/** What came of handing in: orders, or the findings that kept all of them off the queue. */
export interface Submitted {
  readonly findings: readonly Finding[];
  /** Every order, and whether this call put it there. */
  readonly orders: readonly { readonly order: string; readonly fresh: boolean }[];
}

/**
 * Puts orders on the queue, all of them or none. The same order with the same content is one order, however often and by
 * whomever it is submitted. Throws environment faults of Redis, and of the disk where it freezes.
 */
export const submitOrders = async (
  redis: Redis,
  keys: Keys,
  submissions: readonly Submission[],
  how: SubmitHow,
): Promise<Submitted> => {
  const unique = new Map<string, Submission & { readonly digest: string; readonly pictures: string }>();
  const twice = new Set<string>();
  const unseen: Finding[] = [];
  const memory = how.house?.memory ?? new HouseMemory();
  for (const one of submissions) {
    const paths = picturesNamedIn(one.content);
    if (paths.length > 0 && !how.house)
      unseen.push(say("order-pictures-unseen", { order: one.name, file: one.file }, { order: one.name }));
    const pictures =
      paths.length > 0 && how.house ? await freezePictures(how.house.out, one.beside ?? one.file, paths, memory) : "";
    if (pictures !== "" && how.house?.store)
      await sendFrozen(how.house.store, how.house.out, [["pictures", pictures]], memory);
    // Another picture under the same name is another order.
    const digest = digestOf(pictures === "" ? one.content : [one.content, pictures]);
    const known = unique.get(one.name);
    if (known && known.digest !== digest) twice.add(one.name);
    if (!known) unique.set(one.name, { ...one, digest, pictures });
  }
  if (unseen.length > 0) return { orders: [], findings: unseen };
  if (twice.size > 0) return changed(twice, submissions, "comes twice in this submission, with different content");
  if (unique.size === 0) return { orders: [], findings: [] };
  const all = [...unique.values()];
  const frozen = await (how.freeze ? how.freeze(all) : how.house && freezeFor(all, { ...how.house, memory }));
  const args: string[] = [how.effort, how.now ? "1" : "", how.change ? "1" : "", frozen?.shop ?? ""];
  for (const { name, digest, file, text, content, pictures } of unique.values()) {
    const { due, rush } = content as { due?: unknown; rush?: unknown };
    const day = typeof due === "string" ? Date.parse(`${due}T00:00:00Z`) : Number.NaN;
    const kits = frozen ? kitsNamedIn(text).flatMap((kit) => frozen.kits.get(kit) ?? []) : [];
    args.push(
      name,
      digest,
      file,
      text,
      Number.isNaN(day) ? "" : String(day),
      rush === true ? "1" : "",
      kits.join("\n"),
      pictures,
      "",
    );
  }
  const [verdict, ...names] = (await script(redis, keys, "submit", ...args)) as string[];
  if (verdict === "clash") return changed(names, submissions, "is on the queue, or made, with other content");
  const fresh = new Set(names);
  return { findings: [], orders: [...unique.keys()].map((order) => ({ order, fresh: fresh.has(order) })) };
};

/**
 * Freezes a shop and the kits that orders name: `kits` by their names. A kit that is not on the shelf is left out; the check of
 * the order says so. Throws environment faults.
 */
export const freezeFor = async (
  orders: readonly { readonly text: string }[],
  { shop, kits, out, store: sentTo, memory = new HouseMemory() }: House,
): Promise<FrozenHouse> => {
  const { text } = await shopOnShare(shop);
  const store = kitsOnShare(kits);
  const shelf = byName(await shelve(store, await store.folders()));
  const wanted = new Set(orders.flatMap((o) => kitsNamedIn(o.text)));
  const frozen = new Map<string, string>();
  for (const kit of [...wanted].sort()) {
    const shelved = shelf.get(kit);
    if (shelved) frozen.set(kit, await freezeKit(out, join(kits, shelved.folder), memory));
  }
  const id = await freezeShop(out, shop, text, memory);
  const all = [["shop", id], ...[...frozen.values()].map((kit): Frozen => ["kit", kit])] as const;
  if (sentTo) await sendFrozen(sentTo, out, all, memory);
  return { shop: id, kits: frozen };
};

const changed = (names: Iterable<string>, submissions: readonly Submission[], how: string): Submitted => ({
  orders: [],
  findings: [...names].map((order) =>
    say("order-changed", { order, file: submissions.findLast((s) => s.name === order)?.file ?? order }, { order, how }),
  ),
});
