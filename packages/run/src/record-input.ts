import { createHash } from "node:crypto";
import { kitNamedIn, type Order } from "@kitforme/kit";
import { strToU8, type Zippable, zipSync } from "fflate";
import type { Input } from "./read-all.ts";
import { nameOf } from "./shelf.ts";
import type { KitStore, Named } from "./world.ts";

/** The input of a job while it is read, and afterwards as one file: what a remake is made from, however kits change later. */
export interface Recorded {
  readonly input: Input;
  readonly kits: KitStore;
  /**
   * `job.input.zip`: shop, orders and, of the ordered kits, every file that was read, each at a fixed place and without a
   * date, so that the same job has the same bytes.
   */
  readonly zip: (orders: readonly Order[], kits: ReadonlySet<string>) => Promise<Uint8Array>;
}

/** The earliest day that the format knows: the same input gives the same bytes at any time. */
const NO_DATE = "1980-01-01T00:00:00";

const hashOf = (bytes: Uint8Array): string => createHash("sha256").update(bytes).digest("hex");

/** Wraps an input so that what is read of it is known afterwards. Bytes are not held: the files are read once more. */
export const recordInput = (input: Input, kits: KitStore): Recorded => {
  /** Folders by the place that stands for them: a store may call one by a whole path. */
  const folders: string[] = [];
  const placeOfFolder = (folder: string): string => {
    if (!folders.includes(folder)) folders.push(folder);
    return `kits/${folders.indexOf(folder)}`;
  };
  const read = new Map<string, { readonly hash: string; readonly again: () => Promise<Uint8Array | undefined> }>();
  const noting = async (
    at: string,
    reading: () => Promise<Uint8Array | undefined>,
  ): Promise<Uint8Array | undefined> => {
    const bytes = await reading();
    if (bytes) read.set(at, { hash: hashOf(bytes), again: reading });
    return bytes;
  };
  const named = (one: Named, at: string): Named => {
    const { read: beside } = one;
    return beside ? { ...one, read: (path) => noting(`${at}/${path}`, () => beside(path)) } : one;
  };
  const placeOf = new Map(input.orders.map(({ text }, i) => [orderNamedIn(text), `order ${i}`]));
  return {
    input: {
      shop: named(input.shop, "shop"),
      orders: input.orders.map((order, i) => named(order, `order ${i}`)),
    },
    kits: {
      ...kits,
      folders: () => kits.folders(),
      read: (folder, path) => noting(`${placeOfFolder(folder)}/${path}`, () => kits.read(folder, path)),
    },
    async zip(orders, wanted) {
      const files: Zippable = { "shop/shop.json": strToU8(input.shop.text) };
      const put = async (from: string, to: string): Promise<void> => {
        const { hash, again } = read.get(from) as { hash: string; again: () => Promise<Uint8Array | undefined> };
        const bytes = await again();
        if (!bytes || hashOf(bytes) !== hash) throw new Error(`${from} changed while the job was made`);
        files[to] = bytes;
      };
      const under = (prefix: string): string[] => [...read.keys()].filter((at) => at.startsWith(prefix)).sort();
      for (const at of under("shop/")) await put(at, at);
      for (const [i, order] of orders.entries()) {
        const folder = `orders/${String(i + 1).padStart(4, "0")}`;
        files[`${folder}/order.json`] = strToU8(JSON.stringify(asWritten(order)));
        const from = placeOf.get(order.order);
        for (const at of from ? under(`${from}/`) : []) await put(at, `${folder}/${at.slice(at.indexOf("/") + 1)}`);
      }
      for (const folder of folders) {
        const place = placeOfFolder(folder);
        // Of the other kits on the shelf only kit.json was looked at, to learn their names.
        const text = new TextDecoder().decode(await read.get(`${place}/kit.json`)?.again());
        const kit = kitNamedIn(text) ?? nameOf(folder);
        // By the kit's name: its folder is called otherwise where a queue keeps a copy of it.
        if (wanted.has(kit))
          for (const at of under(`${place}/`)) await put(at, `kits/${kit}/${at.slice(place.length + 1)}`);
      }
      const sorted = Object.fromEntries(Object.entries(files).sort(([a], [b]) => (a < b ? -1 : 1)));
      return zipSync(sorted, { level: 6, mtime: NO_DATE, os: 3, attrs: 0 });
    },
  };
};

/** The name that an order's text gives it; undefined when it gives none. */
export const orderNamedIn = (text: string): string | undefined => {
  try {
    const { order } = JSON.parse(text.replace(/^\uFEFF/, "")) as { order?: unknown };
    return typeof order === "string" ? order.normalize("NFC") : undefined;
  } catch {
    return undefined;
  }
};

/** An order as its file has it: what was found out about its pictures is found out again. */
const asWritten = ({ lines, ...rest }: Order): object => ({
  ...rest,
  lines: lines.map(({ texts, ...line }) => ({
    ...line,
    ...(texts
      ? {
          texts: texts.map((copy) =>
            Object.fromEntries(
              Object.entries(copy).map(([slot, said]) => {
                if (typeof said === "string") return [slot, said];
                const { file, crop, sha256 } = said;
                return [slot, { file, ...(crop ? { crop } : {}), ...(sha256 ? { sha256 } : {}) }];
              }),
            ),
          ),
        }
      : {}),
  })),
});
