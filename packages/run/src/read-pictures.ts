import { type BuyersPicture, type Finding, orderNamedIn, type Order, type Place, type Wording } from "@kitforme/kit";
import { sayOutside } from "./outside/words.ts";
import { sumOf } from "./sums/sums-in.ts";
import { saySums } from "./sums/words.ts";
import { say } from "./words.ts";
import { type Named, Unfit } from "./world.ts";

/** Bytes of buyers' pictures by the hash of their content. */
export type BuyersPictures = ReadonlyMap<string, Uint8Array>;

/** A picture larger than this is not read. Bytes. */
const LARGEST = 64 * 1024 * 1024;

/**
 * Reads the pictures that orders name, each once, through the door of the order's own file. Orders come back with the hash
 * of each picture's content in its place: two orders may mean two pictures by one name, and a job is named for what it shows.
 */
export const readPictures = async (
  orders: readonly Order[],
  files: readonly Named[],
): Promise<{ orders: readonly Order[]; pictures: BuyersPictures; findings: readonly Finding[] }> => {
  const doors = new Map<string, Named>();
  for (const file of files) {
    const order = orderNamedIn(file.text);
    if (order !== undefined && !doors.has(order)) doors.set(order, file);
  }
  const pictures = new Map<string, Uint8Array>();
  const findings: Finding[] = [];
  const read = async (order: Order): Promise<Order> => {
    const door = doors.get(order.order);
    /** Sums of the pictures by their files. */
    const known = new Map<string, string | undefined>();
    const sumOfPicture = async (file: string, where: Place): Promise<string | undefined> => {
      if (known.has(file)) return known.get(file);
      const bytes = door?.read && (await door.read(file).catch(unfit));
      if (bytes instanceof Unfit) {
        findings.push(sayOutside("file-unfit", where, { path: file, why: bytes.why }));
        known.set(file, undefined);
        return undefined;
      }
      if (!bytes) findings.push(say("picture-missing", where, { file, reachable: door?.read !== undefined }));
      else if (bytes.length > LARGEST)
        findings.push(say("picture-too-large", where, { file, bytes: bytes.length, most: LARGEST }));
      const good = bytes && bytes.length <= LARGEST ? bytes : undefined;
      const sum = good && sumOf(good);
      if (sum && good) pictures.set(contentOf(sum), good);
      known.set(file, sum);
      return sum;
    };
    const lines: Order["lines"][number][] = [];
    for (const [l, line] of order.lines.entries()) {
      const texts: Wording[] = [];
      for (const [i, wording] of (line.texts ?? []).entries()) {
        const said: Record<string, string | BuyersPicture> = {};
        for (const [slot, one] of Object.entries(wording)) {
          said[slot] = one;
          if (typeof one === "string") continue;
          const where = { order: order.order, ...(door ? { file: door.file } : {}), line: l + 1, copy: i + 1 };
          const sum = await sumOfPicture(one.file, where);
          if (sum === undefined) continue;
          said[slot] = { ...one, content: contentOf(sum) };
          if (one.sha256 !== undefined && one.sha256 !== sum)
            findings.push(saySums("picture-changed", { ...where, slot }, { path: one.file }));
        }
        texts.push(said);
      }
      lines.push({ ...line, ...(line.texts ? { texts } : {}) });
    }
    return { ...order, lines };
  };
  const named = ({ lines }: Order): boolean =>
    lines.some(({ texts }) => texts?.some((one) => Object.values(one).some((said) => typeof said !== "string")));
  const done: Order[] = [];
  for (const order of orders) done.push(named(order) ? await read(order) : order);
  return { orders: done, pictures, findings };
};

/** The name that a picture's content goes by. */
const contentOf = (sum: string): string => sum.slice(0, 32);

const unfit = (error: unknown): Unfit => {
  if (error instanceof Unfit) return error;
  throw error;
};
