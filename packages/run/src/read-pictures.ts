import { createHash } from "node:crypto";
import { type BuyersPicture, type Finding, orderNamedIn, type Order, type Wording } from "@kitforme/kit";
import { sayOutside } from "./outside/words.ts";
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
    const known = new Map<string, string | undefined>();
    const contentOf = async (file: string, line: number, copy: number): Promise<string | undefined> => {
      if (known.has(file)) return known.get(file);
      const bytes = door?.read && (await door.read(file).catch(unfit));
      const where = { order: order.order, ...(door ? { file: door.file } : {}), line, copy };
      if (bytes instanceof Unfit) {
        findings.push(sayOutside("file-unfit", where, { path: file, why: bytes.why }));
        known.set(file, undefined);
        return undefined;
      }
      if (!bytes) findings.push(say("picture-missing", where, { file, reachable: door?.read !== undefined }));
      else if (bytes.length > LARGEST)
        findings.push(say("picture-too-large", where, { file, bytes: bytes.length, most: LARGEST }));
      const good = bytes && bytes.length <= LARGEST ? bytes : undefined;
      const content = good && createHash("sha256").update(good).digest("hex").slice(0, 32);
      if (content && good) pictures.set(content, good);
      known.set(file, content);
      return content;
    };
    const lines: Order["lines"][number][] = [];
    for (const [l, line] of order.lines.entries()) {
      const texts: Wording[] = [];
      for (const [i, wording] of (line.texts ?? []).entries()) {
        const said: Record<string, string | BuyersPicture> = {};
        for (const [slot, one] of Object.entries(wording)) {
          const content = typeof one === "string" ? undefined : await contentOf(one.file, l + 1, i + 1);
          said[slot] = typeof one === "string" || content === undefined ? one : { ...one, content };
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

const unfit = (error: unknown): Unfit => {
  if (error instanceof Unfit) return error;
  throw error;
};
