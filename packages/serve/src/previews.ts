import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { freezeKit, kitOf, kitsOnShare } from "@kitforme/queue";
import { besideFile, byName, type Finding, kitsAt, openPreviews, type Previews, shelve } from "@kitforme/run";
import { Problem } from "./problem.ts";
import type { Context } from "./settings.ts";

interface Held {
  /** What the kit and the shop were when it was opened. */
  readonly seen: string;
  readonly opened: Promise<{ readonly value?: Previews; readonly findings: readonly Finding[] }>;
  users: number;
  used: number;
  old: boolean;
}

/** Kits held open at once; each has processes of its own. */
const MOST_KITS = 4;
/** Milliseconds after which a kit that nobody looks at is shut. */
const IDLE = 300_000;
/** Questions that wait for a picture at once; more are asked to come again. */
const MOST_WAITING = 64;

export interface OpenKits {
  list(): Promise<readonly { readonly kit: string; readonly title?: string }[]>;
  /** Uses a kit as it lies on the shelf now. Throws 404, 422 and, where the shop's own file is at fault, 503. */
  use<T>(kit: string, look: (previews: Previews) => Promise<T>): Promise<T>;
  close(): Promise<void>;
}

/** Kits held open for previews, by copies of their folders: what is changed under way is opened anew. */
export const openKits = ({ house, events }: Context): OpenKits => {
  const held = new Map<string, Held>();
  let waiting = 0;
  let stopped = false;
  const shelf = async () => {
    const store = kitsOnShare(house.kits);
    return byName(await shelve(store, await store.folders()));
  };
  const shut = async (one: Held): Promise<void> => {
    one.old = true;
    if (one.users === 0) await (await one.opened.catch(() => undefined))?.value?.close();
  };
  const put = (kit: string, why: Held): void => {
    held.delete(kit);
    void shut(why).catch((error: unknown) => events.onTrouble?.("a kit's previews", error as Error));
  };
  const timer = setInterval(() => {
    for (const [kit, one] of held) if (one.users === 0 && Date.now() - one.used > IDLE) put(kit, one);
  }, 30_000);
  timer.unref();

  const open = async (kit: string): Promise<Held> => {
    const shelved = (await shelf()).get(kit);
    if (!shelved) throw new Problem(404, "There is no such kit.");
    const id = await freezeKit(house.out, join(house.kits, shelved.folder), house.memory);
    const text = await readFile(house.shop, "utf8");
    const seen = `${id}\n${text}`;
    const known = held.get(kit);
    if (known?.seen === seen) return known;
    if (known) put(kit, known);
    if (stopped) throw new Problem(503, "The server stops.");
    const shop = { file: house.shop, text, read: besideFile(house.shop) };
    const opened = openPreviews({ shop, kits: kitsAt([kitOf(house.out, id)]), kit });
    const one: Held = { seen, opened, users: 0, used: Date.now(), old: false };
    held.set(kit, one);
    opened.then(
      // Nothing was kept open: the next one looks again.
      ({ value }) => void (value ?? (held.get(kit) === one && held.delete(kit))),
      () => held.get(kit) === one && held.delete(kit),
    );
    for (const [eldest, other] of held) {
      if (held.size <= MOST_KITS) break;
      if (other !== one) put(eldest, other);
    }
    return one;
  };

  return {
    list: async () =>
      [...(await shelf()).values()]
        .filter(({ text }) => text !== undefined)
        .map(({ kit, text }) => ({ kit, ...titleIn(text ?? "") }))
        .sort((a, b) => (a.kit < b.kit ? -1 : 1)),
    async use(kit, look) {
      if (waiting >= MOST_WAITING) throw new Problem(503, "Too many previews are being made; come again.");
      waiting++;
      try {
        const one = await open(kit.normalize("NFC"));
        one.users++;
        one.used = Date.now();
        // The eldest in use goes first when there are too many.
        if (held.get(kit) === one) held.set(kit, (held.delete(kit), one));
        try {
          const { value, findings } = await one.opened;
          if (value) return await look(value);
          if (findings.some((f) => f.level === "error" && f.where.file === house.shop))
            throw new Problem(503, "The shop's own file cannot be used; come again.");
          throw new Problem(422, "The kit cannot be used.", { findings });
        } finally {
          one.users--;
          if (one.old) await shut(one);
        }
      } finally {
        waiting--;
      }
    },
    async close() {
      stopped = true;
      clearInterval(timer);
      await Promise.all([...held.values()].map(shut));
      held.clear();
    },
  };
};

const titleIn = (text: string): { readonly title?: string } => {
  try {
    const { title } = JSON.parse(text) as { title?: unknown };
    return typeof title === "string" ? { title } : {};
  } catch {
    return {};
  }
};
