import type { Redis } from "ioredis";
import type { Keys } from "./keys.ts";
import type { GangRules, Waiting } from "./plan-gangs.ts";

/** Fields of many orders in one round trip per thousand. */
export const fieldsOf = async (
  redis: Redis,
  keys: Keys,
  names: readonly string[],
  ...fields: string[]
): Promise<(string | null)[][]> => {
  const rows: (string | null)[][] = [];
  for (let i = 0; i < names.length; i += 1_000) {
    const batch = redis.pipeline();
    for (const name of names.slice(i, i + 1_000)) batch.hmget(`${keys.prefix}-order:${name}`, ...fields);
    for (const [error, row] of (await batch.exec()) ?? []) {
      if (error) throw error;
      rows.push(row as (string | null)[]);
    }
  }
  return rows;
};

/** Every order that waits to be ganged. */
export const readWaiting = async (redis: Redis, keys: Keys): Promise<Waiting[]> => {
  const names = await redis.zrange(`${keys.prefix}-in:waiting`, "0", "-1");
  const fields = ["state", "call", "effort", "shop", "kits", "sheets", "due", "rush", "now", "at:received"];
  const rows = await fieldsOf(redis, keys, names, ...fields);
  return rows.flatMap(([state, call, effort, shop, kits, sheets, due, rush, now, since], i): Waiting[] =>
    state !== "waiting"
      ? []
      : [
          {
            name: names[i] as string,
            call: call ?? "",
            effort: effort ?? "normal",
            shop: shop ?? "",
            kits: (kits ?? "").split("\n").filter(Boolean),
            sheets: JSON.parse(sheets ?? "{}") as Record<string, number>,
            ...(due ? { due: Number(due) } : {}),
            rush: rush === "1",
            now: now === "1",
            since: Number(since),
          },
        ],
  );
};

/** The gang rules of some frozen shops. */
export const readRules = async (
  redis: Redis,
  keys: Keys,
  shops: Iterable<string>,
): Promise<ReadonlyMap<string, GangRules>> => {
  const ids = [...new Set(shops)];
  if (ids.length === 0) return new Map();
  const texts = await redis.mget(ids.map((id) => `${keys.prefix}-rules:${id}`));
  return new Map(ids.flatMap((id, i) => (texts[i] ? [[id, JSON.parse(texts[i] as string) as GangRules]] : [])));
};

/** `gang` of a shop's text; undefined when it has none. What is left out of it takes its usual value. */
export const rulesIn = (text: string): GangRules | undefined => {
  const { gang } = JSON.parse(text) as { gang?: Partial<Record<keyof GangRules, unknown>> };
  if (typeof gang !== "object" || gang === null) return undefined;
  const number = (value: unknown, usual: number): number =>
    typeof value === "number" && Number.isFinite(value) && value >= 0 ? value : usual;
  return { fill: Math.min(1, number(gang.fill, 0.6)), wait: number(gang.wait, 240), lead: number(gang.lead, 24) };
};
