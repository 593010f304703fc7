import {
  type Answer,
  checkKit,
  fieldOf,
  type Finding,
  hasErrors,
  type Kit,
  kitsNamedIn,
  type Order,
  readKit,
  readOrders,
  readShop,
  say,
  type Shop,
} from "@kitforme/kit";
import { sheetFaults } from "@kitforme/sheet";
import { JobName } from "./job-name.ts";
import { VERSIONS } from "./versions.ts";
import { checkpoint, type Watch } from "./watch.ts";
import type { KitStore } from "./world.ts";

/** A text file of the input; `file` is how findings name it. */
export interface Named {
  readonly file: string;
  readonly text: string;
}

export interface Input {
  readonly shop: Named;
  readonly orders: readonly Named[];
}

/** All that a run is made of, believed from here on. */
export interface Commission {
  readonly shop: Shop;
  readonly kits: ReadonlyMap<string, Kit>;
  readonly orders: readonly Order[];
  /** Name of the job: the same input has the same. */
  readonly job: string;
}

/** Reads shop, kits and orders; every fault of all of them comes back at once. Only kits that an order names are read whole. */
export const readAll = async (
  input: Input,
  store: KitStore,
  settings: { readonly effort: string },
  watch: Watch,
): Promise<Answer<Commission>> => {
  const name = new JobName()
    .add("versions", JSON.stringify(VERSIONS))
    .add("effort", settings.effort)
    .add("shop", input.shop.text);
  await checkpoint(watch, { phase: "read", done: 0, of: 0, what: "" });
  const shop = readShop(input.shop.text);
  const folders = await foldersByKit(store);
  const wanted = [...new Set(input.orders.flatMap(({ text }) => kitsNamedIn(text)))].sort();
  const here = wanted.filter((kit) => folders.has(kit));
  const kits = new Map<string, Kit>();
  const atFault = new Set<string>();
  const findings: Finding[] = [...inFile(shop.findings, input.shop.file), ...faultsOfSheets(shop.value)];
  for (const [i, kit] of here.entries()) {
    await checkpoint(watch, { phase: "read", done: i, of: here.length, what: kit });
    const answer = await readKitAt(folders.get(kit) as string, store, shop.value, name);
    findings.push(...answer.findings);
    if (answer.value) kits.set(kit, answer.value);
    else atFault.add(kit);
  }
  // Kits that no order of this run names are on hand too, so that "unknown kit" can list what there is.
  const others = [...folders.keys()].filter((kit) => !wanted.includes(kit)).map((kit) => ({ kit, pieces: [] }));
  const orders = readOrders(input.orders, { kits: [...kits.values(), ...others], atFault: [...atFault] });
  findings.push(...orders.findings);
  if (!shop.value || !orders.value || hasErrors(findings)) return { findings };
  // In whatever sequence the orders were named, they are the same job.
  const sorted = [...orders.value].sort((a, b) => (a.order < b.order ? -1 : 1));
  for (const order of sorted) name.add("order", JSON.stringify(order));
  return { value: { shop: shop.value, kits, orders: sorted, job: name.value() }, findings };
};

/** One kit, read whole; its files' bytes go into the job's name. */
export const readKitAt = async (
  folder: string,
  store: KitStore,
  shop: Shop | undefined,
  name: JobName,
): Promise<Answer<Kit>> => {
  const bytes = await store.read(folder, "kit.json");
  const text = bytes ? new TextDecoder().decode(bytes) : "";
  name.add("kit", text);
  const kit = await readKit({
    folder: lastOf(folder),
    text,
    async read(path) {
      const file = await store.read(folder, path);
      if (file) name.add(path, file);
      return file;
    },
  });
  if (!shop) return kit;
  if (!kit.value) return { findings: [...kit.findings, ...unknownStocks(text, shop)] };
  const findings = [...kit.findings, ...checkKit(kit.value, shop)];
  return hasErrors(findings) ? { findings } : { value: kit.value, findings };
};

/** Which folder holds which kit: the name in `kit.json` counts, not the folder's. A folder whose kit.json cannot be read goes by its own. */
const foldersByKit = async (store: KitStore): Promise<Map<string, string>> => {
  const found = new Map<string, string>();
  for (const folder of await store.folders()) {
    const bytes = await store.read(folder, "kit.json");
    const name = fieldOf(bytes ? new TextDecoder().decode(bytes) : "", "kit");
    const kit = typeof name === "string" ? name.normalize("NFC") : lastOf(folder);
    if (!found.has(kit)) found.set(kit, folder);
  }
  return found;
};

/** A kit folder's own name, when it is known by a whole path. */
const lastOf = (folder: string): string => folder.split(/[\\/]/).findLast((part) => part !== "") ?? folder;

/** A kit with faults is not held against the shop whole, but a stock that is not there can be told with them. */
const unknownStocks = (text: string, shop: Shop): Finding[] => {
  const listed = fieldOf(text, "pieces");
  const pieces: { piece?: unknown; stock?: unknown }[] = Array.isArray(listed) ? listed : [];
  return pieces.flatMap((each) => {
    const { piece, stock } = each ?? {};
    if (typeof stock !== "string" || typeof piece !== "string" || Object.hasOwn(shop.stocks, stock)) return [];
    const known = Object.keys(shop.stocks);
    return [say("stock-unknown", { kit: String(fieldOf(text, "kit")), piece, stock }, { stock, known })];
  });
};

/** Sheets too small for the marks of their cutter. */
export const faultsOfSheets = (shop: Shop | undefined): Finding[] =>
  Object.values(shop?.stocks ?? {}).flatMap(sheetFaults);

/** Findings about the shop name its file as the caller knows it. */
export const inFile = (findings: readonly Finding[], file: string): Finding[] =>
  findings.map((f) => ({ ...f, where: { ...f.where, file } }));
