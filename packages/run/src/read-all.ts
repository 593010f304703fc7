import {
  type Answer,
  type Finding,
  hasErrors,
  type Kit,
  type KitAnswer,
  kitsNamedIn,
  type Maker,
  type Order,
  type Piece,
  readKit,
  readOrders,
  readShop,
  say,
  type Shop,
  withinMargins,
} from "@kitforme/kit";
import { bothSides, fieldOf, sheetFaults } from "@kitforme/sheet";
import { JobName } from "./job-name.ts";
import { sayOutside } from "./outside/words.ts";
import { type BuyersPictures, readPictures } from "./read-pictures.ts";
import { byName, nameOf, namesTwice, shelve, type Shelved } from "./shelf.ts";
import { versions } from "./versions.ts";
import { checkpoint, type Work } from "./watch.ts";
import { profilesBeside } from "./profiles-beside.ts";
import { holdAgainstSums } from "./sums/hold-against-sums.ts";
import { type KitStore, type Named, Unfit } from "./world.ts";

/** The text of a shop and of the orders that are made together. */
export interface Input {
  readonly shop: Named;
  readonly orders: readonly Named[];
}

/** All that a run is made of, believed from here on. */
export interface Commission {
  readonly shop: Shop;
  readonly kits: ReadonlyMap<string, Kit>;
  readonly orders: readonly Order[];
  readonly pictures: BuyersPictures;
  /** Name of the job: the same input has the same. */
  readonly job: string;
}

/** What was read. Without a `value` what holds of it is here all the same, so that the rest can be looked at too. */
export interface Read extends Answer<Commission> {
  readonly shop: Shop | undefined;
  /** Pieces that have no fault of their own and can lie on a sheet of their stock, of every ordered kit. */
  readonly pieces: readonly Piece[];
  /** Of the pieces on hand, what the orders want. */
  readonly orders: readonly Order[];
  readonly kits: ReadonlyMap<string, Kit>;
  /** Pictures of buyers, as far as they could be read. */
  readonly pictures: BuyersPictures;
}

/** Kits that are read although no order names them, wherever they lie. */
export interface Beside {
  readonly folders: readonly string[];
  /** Hears of what is wrong with shop and shelf, before the first kit is read. */
  readonly met: (findings: readonly Finding[]) => void;
  /**
   * Looks at the sound pieces of one and gets what reading it found; neither is kept here, so that memory does not grow with the
   * number of kits.
   */
  readonly looked: (pieces: readonly Piece[], shop: Shop | undefined, findings: readonly Finding[]) => Promise<void>;
}

/** Effort of a reading of which nothing is made: nobody sees the job's name, and no engine is loaded to say its version. */
export const UNNAMED = "none";

/**
 * Reads shop, kits and orders, each file once; every fault of all of them comes back at once. Only kits that an order names
 * are read whole, and those of the folders in `also`.
 */
export const readAll = async (
  input: Input,
  store: KitStore,
  settings: { readonly effort: string; readonly also?: Beside },
  work: Work,
): Promise<Read> => {
  const name = new JobName();
  if (settings.effort !== UNNAMED) name.add("versions", JSON.stringify(await versions()));
  name.add("effort", settings.effort).add("shop", input.shop.text);
  const profiles = await profilesBeside(input.shop);
  for (const [file, bytes] of Object.entries(profiles).sort(([a], [b]) => (a < b ? -1 : 1)))
    name.add("profile", file).add("profile bytes", bytes);
  await checkpoint(work, { phase: "read", done: 0, of: 0, what: "" });
  const { value: shop, findings: shopFindings } = readShop(input.shop.text, profiles);
  const maker = shop && makerOf(shop);
  const also = settings.also?.folders ?? [];
  const onShelf = await store.folders();
  const shelf = await shelve(store, onShelf);
  const beside = await shelve(
    store,
    also.filter((folder) => !onShelf.includes(folder)),
  );
  const wanted = new Set(input.orders.flatMap(({ text }) => kitsNamedIn(text)));
  const chosen = byName(shelf);
  const ordered = [...chosen.values()].filter(({ kit }) => wanted.has(kit)).sort((a, b) => (a.kit < b.kit ? -1 : 1));
  const named = shelf.filter((kit) => also.includes(kit.folder) && !ordered.includes(kit));
  const kits = new Map<string, Kit>();
  const atFault = new Set<string>();
  const pieces: Piece[] = [];
  const findings: Finding[] = [
    ...inFile(shopFindings, input.shop.file),
    ...(maker?.findings ?? []),
    ...namesTwice(shelf, new Set([...wanted, ...named.map(({ kit }) => kit)])),
  ];
  settings.also?.met(findings);
  const toRead = [...ordered, ...named, ...beside];
  for (const [i, shelved] of toRead.entries()) {
    await checkpoint(work, { phase: "read", done: i, of: toRead.length, what: shelved.kit });
    const isOrdered = ordered.includes(shelved);
    const open = async (): Promise<KitAnswer> => {
      const answer = await readShelved(shelved, store, maker, name, work);
      const sound = answer.pieces.filter((piece) => !hasNoPlace(piece, answer.findings));
      if (isOrdered) pieces.push(...sound);
      else await settings.also?.looked(sound, shop, answer.findings);
      return answer;
    };
    const answer = await (isOrdered ? open() : work.openers.passing(open));
    if (!isOrdered) continue;
    findings.push(...answer.findings);
    if (answer.value) kits.set(shelved.kit, answer.value);
    else atFault.add(shelved.kit);
  }
  // Kits that no order of this run names are on hand too, so that "unknown kit" can list what there is.
  const others = [...chosen.keys()].filter((kit) => !wanted.has(kit)).map((kit) => ({ kit, pieces: [] }));
  const answer = readOrders(input.orders, { kits: [...kits.values(), ...others], atFault: [...atFault] });
  findings.push(...answer.findings);
  // In whatever sequence the orders were named, they are the same job.
  const sorted = [...answer.orders].sort((a, b) => (a.order < b.order ? -1 : 1));
  const { orders, pictures, findings: unseen } = await readPictures(sorted, input.orders);
  findings.push(...unseen);
  const read = { shop, pieces, orders, kits, pictures, findings };
  if (!shop || !answer.value || hasErrors(findings)) return read;
  for (const order of orders) name.add("order", JSON.stringify(order));
  return { ...read, value: { shop, kits, orders, pictures, job: name.value() } };
};

/** Whether a piece has been found to lie on no sheet at all: its picture may be as large as a wall and is not opened. */
export const hasNoPlace = ({ kit, piece }: Piece, findings: readonly Finding[]): boolean =>
  findings.some((f) => NO_PLACE.has(f.rule) && f.where.kit === kit && f.where.piece === piece);
const NO_PLACE = new Set(["stock-unknown", "piece-too-large", "grain-forbids-all-turns"]);

/** The shop with the room its sheets really have beside marks, code and slug. Sheets too small for their marks are reported once, as such. */
export const makerOf = (shop: Shop): Maker & { readonly findings: readonly Finding[] } => {
  const faults = new Map(Object.values(shop.stocks).map((stock) => [stock, sheetFaults(stock)]));
  return {
    shop,
    findings: [...faults.values()].flat(),
    roomOf(stock, size, sides) {
      if (faults.get(stock)?.length !== 0) return withinMargins(stock, size);
      const { bounds, coreBounds } = fieldOf(sides === 2 ? bothSides(stock, size) : stock, size);
      return { print: bounds, cut: coreBounds };
    },
  };
};

/** One kit, read whole; its files' bytes go into the job's name. */
export const readShelved = async (
  { kit, folder, text, why }: Shelved,
  store: KitStore,
  maker: Maker | undefined,
  name: JobName,
  { openers, signal }: Work,
): Promise<KitAnswer> => {
  if (why !== undefined)
    return {
      findings: [sayOutside("file-unfit", { kit, file: "kit.json" }, { path: "kit.json", why })],
      pieces: [],
      drawn: [],
    };
  if (text === undefined) return { findings: [say("kit-missing", { kit }, { folder })], pieces: [], drawn: [] };
  name.add("kit", text);
  const unfit = new Map<string, Finding>();
  const read = async (path: string): Promise<Uint8Array | undefined> => {
    try {
      const file = await store.read(folder, path);
      if (file) name.add(path, file);
      return file;
    } catch (error) {
      if (!(error instanceof Unfit)) throw error;
      unfit.set(path, sayOutside("file-unfit", { kit, file: path }, { path, why: error.why }));
      return undefined;
    }
  };
  const held = await holdAgainstSums(kit, read);
  if (held.read !== read) await held.read("kit.json");
  const answer = await readKit(
    {
      folder: nameOf(folder),
      text,
      read: held.read,
      open: openers.opener(signal),
      openAssembly: openers.assemblyOpener(signal),
    },
    maker,
  );
  // What is there and is not read is not missing.
  const others = answer.findings.filter(({ rule, where }) => !(MISSING.has(rule) && unfit.has(where.file ?? "")));
  const findings = [...others, ...unfit.values(), ...held.findings()];
  if (!hasErrors(held.findings())) return { ...answer, findings };
  return { pieces: answer.pieces, drawn: answer.drawn, findings };
};
const MISSING = new Set(["file-missing", "artwork-missing"]);

/** Findings about the shop name its file as the caller knows it. */
const inFile = (findings: readonly Finding[], file: string): Finding[] =>
  findings.map((f) => ({ ...f, where: { ...f.where, file } }));
