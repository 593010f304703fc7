import { strFromU8, unzipSync } from "fflate";
import type { Input } from "./read-all.ts";
import type { KitStore, Named } from "./world.ts";

/** A job's recorded input (`job.input.zip`) as an input again. Only our own files are read: the caller has compared the hash. */
export const readRecorded = (zip: Uint8Array): { readonly input: Input; readonly kits: KitStore } => {
  const files = new Map(Object.entries(unzipSync(zip)));
  const named = (folder: string, file: string): Named => ({
    file,
    text: strFromU8(files.get(`${folder}/${file}`) ?? new Uint8Array()),
    read: (path) => Promise.resolve(files.get(`${folder}/${path}`)),
  });
  const foldersOf = (room: string): string[] => [
    ...new Set([...files.keys()].filter((at) => at.startsWith(`${room}/`)).map((at) => at.split("/")[1] as string)),
  ];
  const kits = foldersOf("kits").sort();
  return {
    input: {
      shop: named("shop", "shop.json"),
      orders: foldersOf("orders")
        .sort()
        .map((folder) => named(`orders/${folder}`, "order.json")),
    },
    kits: {
      folders: () => Promise.resolve(kits),
      read: (folder, path) => Promise.resolve(files.get(`kits/${folder}/${path}`)),
    },
  };
};
