import type { Redis } from "ioredis";
import { ENDS, type Keys, type State } from "./keys.ts";

/** An order came into a state. */
export interface Change {
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
  const stream = `${keys.prefix}-events`;
  let last = (await redis.xrevrange(stream, "+", "-", "COUNT", 1))[0]?.[0] ?? "0";
  if (order !== undefined) {
    const [state, since] = await redis.hmget(`${keys.prefix}-order:${order}`, "state", "since");
    if (!state) return;
    yield { order, state: state as State, at: new Date(Number(since)).toISOString() };
    if (ENDS.includes(state as State)) return;
  }
  while (!signal.aborted) {
    const read = await redis.xread("COUNT", 500, "BLOCK", 500, "STREAMS", stream, last);
    for (const [id, fields] of read?.[0]?.[1] ?? []) {
      last = id;
      const name = fields[1] as string;
      const state = fields[3] as State;
      if (order !== undefined && name !== order) continue;
      yield { order: name, state, at: new Date(Number(id.split("-")[0])).toISOString() };
      if (order !== undefined && ENDS.includes(state)) return;
    }
  }
}
