import type { Redis } from "ioredis";
import { ENDS, type Keys, type State } from "./keys.ts";

/** An order came into a state. */
export interface Change {
  /** Grows with time; names the change for `after`. */
  readonly id: string;
  readonly order: string;
  readonly state: State;
  /** ISO time. */
  readonly at: string;
}

/**
 * Changes of orders' states as they happen, those of one order until its end when it is named. Needs a connection of its
 * own, which it keeps waiting. Ends with the signal.
 */
export async function* watchOrders(
  redis: Redis,
  keys: Keys,
  order: string | undefined,
  signal: AbortSignal,
): AsyncGenerator<Change> {
  let last = await newestChange(redis, keys);
  if (order !== undefined) {
    const [state, since] = await redis.hmget(`${keys.prefix}-order:${order}`, "state", "since");
    if (!state) return;
    yield { id: last, order, state: state as State, at: new Date(Number(since)).toISOString() };
    if (ENDS.includes(state as State)) return;
  }
  while (!signal.aborted) {
    for (const change of await nextChanges(redis, keys, last)) {
      last = change.id;
      if (order !== undefined && change.order !== order) continue;
      yield change;
      if (order !== undefined && ENDS.includes(change.state)) return;
    }
  }
}

/** An entry of the stream of changes. */
export const changeOf = (id: string, fields: readonly string[]): Change => ({
  id,
  order: fields[1] as string,
  state: fields[3] as State,
  at: new Date(Number(id.split("-")[0])).toISOString(),
});

/** Name of the newest change there is, "0" when there is none. */
export const newestChange = async (redis: Redis, keys: Keys): Promise<string> =>
  (await redis.xrevrange(`${keys.prefix}-events`, "+", "-", "COUNT", 1))[0]?.[0] ?? "0";

/** Changes after the one named, at most so many, the oldest first. What is older than the last 20,000 is forgotten. */
export const changesAfter = async (redis: Redis, keys: Keys, after: string, most = 20_000): Promise<Change[]> =>
  (await redis.xrange(`${keys.prefix}-events`, `(${after}`, "+", "COUNT", most)).map(([id, fields]) =>
    changeOf(id, fields),
  );

/** As `changesAfter`, but waits up to 500 ms for one; needs a connection of its own. */
export const nextChanges = async (redis: Redis, keys: Keys, after: string): Promise<Change[]> => {
  const read = await redis.xread("COUNT", 500, "BLOCK", 500, "STREAMS", `${keys.prefix}-events`, after);
  return (read?.[0]?.[1] ?? []).map(([id, fields]) => changeOf(id, fields));
};
